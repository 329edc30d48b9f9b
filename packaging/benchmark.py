"""How fast and how light the tool is, each figure beside another of the same run.

    .venv/bin/python packaging/benchmark.py [--quick] [--json]

Prints a table, or one JSON object with `--json`; `--quick` looks less often and for shorter. It judges by
ratios and aims and never fails: a figure of one moment on one machine is news, not a test. All that it writes
lies in a temporary folder (`--folder` says where that is made), which is gone when it ends.
"""

import argparse
import contextlib
import json
import os
import platform
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

if TYPE_CHECKING:
    from benchtool.job.record import Job

ROOT = Path(__file__).resolve().parents[1]
WINDOW = Path(__file__).with_name("benchmark_window.py")
EVENTS = 2_000


@dataclass(frozen=True)
class Line:
    """One line of the table. `most` is the aim: of the ratio where there is something to compare with by it."""

    what: str
    value: float | None
    unit: str
    against: str = ""
    other: float | None = None
    most: float | None = None
    by_ratio: bool = False

    @property
    def ratio(self) -> float | None:
        """The figure over the one it is measured against."""
        return self.value / self.other if self.value is not None and self.other else None

    @property
    def met(self) -> bool | None:
        """Whether the aim is met; None where there is none, or nothing could be measured."""
        figure = self.ratio if self.by_ratio else self.value
        return figure <= self.most if figure is not None and self.most is not None else None

    def cells(self) -> tuple[str, ...]:
        """The line as it is printed."""
        aim = "" if self.most is None else f"{self.most:g} times" if self.by_ratio else f"{self.most:g} {self.unit}"
        ratio = "" if self.ratio is None else f"{self.ratio:.2f}"
        word = {True: "yes", False: "NO", None: ""}[self.met]
        return self.what, _said(self.value, self.unit), self.against, _said(self.other, self.unit), ratio, aim, word


def _said(value: float | None, unit: str) -> str:
    return "" if value is None else f"{value:.3g} {unit}" if value < 100 else f"{value:.0f} {unit}"


# --- windows, each in a process of its own --------------------------------------------------------


class Child:
    """A process with one window; `cpu` is the core to keep it on."""

    running: ClassVar[list[subprocess.Popen[str]]] = []

    def __init__(self, role: str, folder: Path, environ: dict[str, str], *rest: object, cpu: int | None = None) -> None:
        self.begun = time.perf_counter()
        command = [sys.executable, "-P", str(WINDOW), role, str(folder), *(str(x) for x in rest)]
        self.process = subprocess.Popen(
            command, env=environ, stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8"
        )
        self.running.append(self.process)
        if cpu is not None:
            os.sched_setaffinity(self.process.pid, {cpu})

    def painted(self) -> float:
        """Wait for the first paint; gives how long after the start it came (ms)."""
        line = self.process.stdout.readline() if self.process.stdout is not None else ""
        took = (time.perf_counter() - self.begun) * 1_000
        if line.strip() != "painted":
            raise RuntimeError(f"The window did not open:\n{self.process.communicate()[1]}")
        return took

    def figures(self) -> dict[str, float | None]:
        """Wait for the end; gives what was measured."""
        said, faults = self.process.communicate(timeout=300)
        if self.process.returncode:
            raise RuntimeError(f"The window broke:\n{faults}")
        figures: dict[str, float | None] = json.loads(said.strip().rpartition("\n")[2] or "{}")
        return figures

    @classmethod
    def end_all(cls) -> None:
        """End what an interruption left."""
        for process in cls.running:
            if process.poll() is None:
                process.kill()
                process.wait()


def environment(folder: Path, installed: bool, **more: str) -> dict[str, str]:
    """What the processes see: this checkout, and folders that are not the user's.

    Compiled modules go into the folder too, so that they are there at every start but the first.
    """
    dropped = ("PYTHONPATH", "PYTHONDONTWRITEBYTECODE", "DISPLAY", "WAYLAND_DISPLAY")
    kept = {k: v for k, v in os.environ.items() if k not in dropped}
    kept |= {"PYTHONPYCACHEPREFIX": str(folder / "compiled")}
    kept |= {f"XDG_{name}_HOME": str(folder / "xdg" / name) for name in ("DATA", "CONFIG", "CACHE", "STATE")}
    return kept | ({} if installed else {"PYTHONPATH": str(ROOT)}) | more


@contextlib.contextmanager
def screen() -> Iterator[str | None]:
    """A screen of an X server that nobody sees; None where there is no such server."""
    server = shutil.which("Xvfb")
    if server is None:
        yield None
        return
    read, write = os.pipe()
    command = [server, "-displayfd", str(write), "-screen", "0", "1600x1000x24", "-nolisten", "tcp"]
    process = subprocess.Popen(command, pass_fds=(write,), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    os.close(write)
    try:
        with os.fdopen(read, encoding="ascii") as answer:
            number = answer.readline().strip()
        yield f":{number}" if number else None
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait()


def start_lines(folder: Path, environ: dict[str, str], where: str, rounds: int) -> Iterator[Line]:
    """From the start of the process to the first paint, in turns."""
    took: dict[str, list[float]] = {"bare": [], "bench": []}
    for i in range(rounds + 1):
        for role, times in took.items():
            # The first turn stays a while: it fills the caches of Python, of the disk and of the tool.
            child = Child(role, folder, environ, 0 if i else 3, 0)
            painted = child.painted()
            child.figures()
            if i:
                times.append(painted)
    value, other = (statistics.median(took[role]) for role in ("bench", "bare"))
    yield Line(f"Start to first paint{where}", value, "ms", "bare window", other, 2.5, by_ratio=True)


def memory_lines(folder: Path, environ: dict[str, str], where: str, settle: float) -> Iterator[Line]:
    """The memory some time after the start, one after the other: what is shared would else count half."""
    held = {}
    for role in ("bare", "bench"):
        child = Child(role, folder, environ, settle, 0)
        child.painted()
        held[role] = child.figures()
    names = {"peak": "most ever resident", "pss": "its fair share", "uss": "its alone"}
    for name, words in names.items():
        value, other = held["bench"][name], held["bare"][name]
        most = 2.0 if name == "peak" else None
        yield Line(f"Memory, {words}{where}", value, "MB", "bare window", other, most, by_ratio=most is not None)


def cpu_lines(
    folder: Path, environ: dict[str, str], where: str, jobs: dict[str, Path], span: float, rounds: int
) -> Iterator[Line]:
    """The processor time over a span, side by side on a core each, the cores exchanged from round to round."""
    cores: list[int | None] = [None, None]
    if hasattr(os, "sched_setaffinity"):
        free = sorted(os.sched_getaffinity(0))
        cores = [free[0], free[-1]]
    for name, job in jobs.items():
        used = {"labels": 0.0, "bench": 0.0}
        for i in range(rounds):
            order = cores if i % 2 == 0 else cores[::-1]
            children = {}
            for role, cpu in zip(used, order, strict=True):
                children[role] = Child(role, folder, environ, 3, span, str(job), cpu=cpu)
            for child in children.values():
                child.painted()
            for role, child in children.items():
                used[role] += (child.figures()["cpu"] or 0.0) / rounds / span * 1_000
        what = f"Processor time each second, {name}{where}"
        most = 2.0 if job is next(iter(jobs.values())) else None
        yield Line(what, used["bench"], "ms", "60 labels", used["labels"], most, by_ratio=True)


def act_lines(folder: Path, environ: dict[str, str], where: str, job: Path) -> Iterator[Line]:
    """What the whole window does in one beat and after one act, on the large job."""
    child = Child("acts", folder, environ, 0, 0, str(job))
    child.painted()
    figures = child.figures()
    yield Line(f"One beat of the window: look, show, paint{where}", figures["beat"], "ms")
    yield Line(f"One act: fold, save, show, paint{where}", figures["act"], "ms")


# --- the record and the rules ---------------------------------------------------------------------


def median_ms(run: Callable[[int], object], times: int) -> float:
    """The usual time of a run (ms); the first is not counted."""
    took = []
    for i in range(times + 1):
        begun = time.perf_counter()
        run(i)
        took.append((time.perf_counter() - begun) * 1_000)
    return statistics.median(took[1:])


def record_lines(folder: Path, job: "Job", now: datetime, times: int) -> Iterator[Line]:
    """The rules, the fold and the save, without a window."""
    from benchtool.job.state import fold
    from benchtool.job.windows import all_windows
    from benchtool.rules.engine import findings
    from benchtool.session.session import Document
    from benchtool.session.tables import load_tables
    from benchtool.store import jobfile

    tables, state, path = load_tables(), fold(job), folder / "saved.json"
    document = Document(path, job)

    def at(i: int) -> datetime:
        return now + timedelta(seconds=i)

    def bare_save(_: int) -> None:
        with open(folder / "bare.tmp", "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(folder / "bare.tmp", folder / "bare.json")

    folding = median_ms(lambda _: all_windows(fold(job)), times)
    rules = median_ms(lambda i: findings(job, state, at(i), tables), times)
    yield Line(f"All rules ({len(state.pieces)} pieces, {len(job.events):,} events)", rules, "ms",
               "fold and windows", folding, 10.0)  # fmt: skip
    yield Line("All rules, each second after", median_ms(lambda i: document.findings(at(i), tables), times), "ms")
    anew = median_ms(lambda i: Document(path, job).findings(at(i), tables), times)
    yield Line("Fold, windows and all rules, after an act", anew, "ms")
    data = jobfile.dump(job)
    saving = median_ms(lambda _: jobfile.save(path, job), times)
    against = f"write, fsync, rename of {len(data) / 1_000:.0f} kB"
    yield Line("Save of that job", saving, "ms", against, median_ms(bare_save, times), 20.0)


def air_lines(folder: Path, now: datetime, times: int) -> Iterator[Line]:
    """The windows of three jobs that follow the air: replayed, and after one more reading."""
    from benchmark_job import air_of, aired_job

    from benchtool.job.events import ReadingTaken
    from benchtool.job.state import fold, grow
    from benchtool.job.validate import faults
    from benchtool.job.windows import all_windows
    from benchtool.store import jobfile

    month = [aired_job(now, i, 4_320, timedelta(minutes=10)) for i in range(3)]
    if wrong := [fault for job in month for fault in faults(job)]:
        raise RuntimeError(f"The made-up month is wrong: {wrong[0]}")
    for i, job in enumerate(month):
        jobfile.save(folder / f"month-{i}.json", job)

    def load(_: int) -> None:
        for i in range(3):
            jobfile.load(folder / f"month-{i}.json")

    def replay(_: int) -> int:
        return sum(len(all_windows(fold(job))) for job in month)

    count, few = replay(0), max(3, times // 10)
    yield Line(f"A month of readings, 3 jobs, {count} windows, replayed", median_ms(replay, few), "ms",
               "reading their files", median_ms(load, few), 2_000.0)  # fmt: skip
    every = timedelta(minutes=5)
    jobs = [aired_job(now, i, 10_000, every) for i in range(3)]
    states = [fold(job) for job in jobs]

    def one_more(i: int) -> None:
        for number, (job, state) in enumerate(zip(jobs, states, strict=True)):
            air = air_of((10_000 + i) * every, number)
            grow(state, len(job.events) + i, ReadingTaken(id=f"n{i}", at=now + i * every, **air))
            all_windows(state)

    anew = median_ms(lambda _: [all_windows(fold(job)) for job in jobs], few)
    yield Line(f"Due times of {count} windows over 10,000 readings, after one more", median_ms(one_more, times), "ms",
               "folded anew", anew, 10.0)  # fmt: skip


CARDS = 5_000
SOUGHT = ("two-part clear", "flash<10min", "pot life>1h epoxy", "maker 31", "nothing of this")
"""What is typed into the search, letter by letter."""


def card_lines(folder: Path) -> Iterator[Line]:
    """A library of many cards: read, and searched at each stroke of a key."""
    from benchmark_job import many_cards

    from benchtool.session.library import CardLibrary
    from benchtool.store.cards import dump

    cards = folder / "cards"
    cards.mkdir()
    for card in many_cards(CARDS):
        (cards / f"{card.id}.json").write_bytes(dump(card))
    begun = time.perf_counter()
    bare = sum(len(path.read_bytes()) for path in cards.iterdir())
    reading = (time.perf_counter() - begun) * 1_000
    library = CardLibrary(cards)
    begun = time.perf_counter()
    for _ in library.reading():
        pass
    took = (time.perf_counter() - begun) * 1_000
    yield Line(f"{CARDS:,} cards read and made ready", took, "ms", f"their {bare / 1e6:.0f} MB read", reading)
    shelf, strokes = library.look(), []
    for words in SOUGHT:
        for n in range(1, len(words) + 1):
            begun = time.perf_counter()
            library.find_among(words[:n], shelf)
            strokes.append((time.perf_counter() - begun) * 1_000)
    yield Line(f"Search of {CARDS:,} cards, the slowest of {len(strokes)} strokes", max(strokes), "ms",
               "the usual stroke", statistics.median(strokes), 16.0)  # fmt: skip


# --- photos ----------------------------------------------------------------------------------------


def photo_lines() -> Iterator[Line]:
    """A photo of 12 megapixels of a cross-cut: opened, its lattice found, measured, against opening it alone."""
    sys.path.insert(0, str(ROOT / "tests" / "trade"))
    from crosscut_pictures import Scene, shoot

    from benchtool.trade.crosscut import measure as measured
    from benchtool.trade.crosscutfind import find_grid
    from benchtool.trade.crosscutphoto import open_photo

    data = shoot(Scene(size=(4000, 3000), tilt=10, roll=4, gradient=0.2)).data
    whole, opening = [], []
    for _ in range(6):
        begun = time.perf_counter()
        photo = open_photo(data)
        opened = time.perf_counter()
        grid = find_grid(photo, 6)
        if grid is None:
            yield Line("A 12 megapixel photo: its lattice was not found", None, "ms", most=1_000.0)
            return
        measured(photo, grid)
        whole.append((time.perf_counter() - begun) * 1_000)
        opening.append((opened - begun) * 1_000)
    middle = statistics.median(whole[1:])  # the first one loads what it takes
    yield Line("A 12 megapixel photo of a cross-cut measured", middle, "ms", "opened alone",
               statistics.median(opening[1:]), 1_000.0)  # fmt: skip


# --- the plan before and the record after -----------------------------------------------------------


def record_of_all_lines(quick: bool) -> Iterator[Line]:
    """A large plan against the same pieces as they came in, and a folder of jobs that is searched."""
    from benchmark_record import find_figures, plan_figures

    for what, value, against, other, most in plan_figures():
        yield Line(what, value, "s", against, other, most)
    for what, value, unit, against, other, most in find_figures(1_000 if quick else 10_000):
        yield Line(what, value, unit, against, other, most)


# --- all of it -------------------------------------------------------------------------------------


def measure(folder: Path, installed: bool, quick: bool) -> Iterator[Line]:
    """Look at everything, one line after the other."""
    from benchmark_job import large_job

    from benchtool.job.validate import faults
    from benchtool.store import jobfile

    now = datetime.now(UTC)
    large = large_job(now, 7, EVENTS)
    wrong = [*faults(large), *faults(large_job(now, 1))]
    if wrong:
        raise RuntimeError(f"The made-up job is wrong: {wrong[0]}")
    yield from record_lines(folder, large, now, 20 if quick else 100)
    yield from air_lines(folder, now, 20 if quick else 100)
    yield from card_lines(folder)
    yield from photo_lines()
    yield from record_of_all_lines(quick)
    jobs = {"60 windows": folder / "small.json", f"60 windows, {EVENTS:,} events": folder / "large.json"}
    rounds, span = (3, 5.0) if quick else (9, 20.0)
    with screen() as display:
        places = {", offscreen": {"QT_QPA_PLATFORM": "offscreen"}}
        if display is not None:
            places[", on X"] = {"QT_QPA_PLATFORM": "xcb", "DISPLAY": display}
        for where, more in places.items():
            environ = environment(folder, installed, **more)
            yield from start_lines(folder, environ, where, rounds)
            yield from memory_lines(folder, environ, where, 3.0 if quick else 10.0)
            now = datetime.now(UTC)  # made anew, so that their windows are still running
            for path, job in zip(jobs.values(), (large_job(now, 1), large_job(now, 7, EVENTS)), strict=True):
                jobfile.save(path, job)
            yield from cpu_lines(folder, environ, where, jobs, span, 1 if quick else 2)
            yield from act_lines(folder, environ, where, folder / "large.json")


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description="How fast and how light the tool is on this computer.")
    parser.add_argument("--quick", action="store_true", help="look less often and for shorter")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--folder", type=Path, help="where to make the temporary folder (on the disk to be measured)")
    parser.add_argument("--installed", action="store_true", help="measure the installed tool, not this checkout")
    asked = parser.parse_args()
    sys.dont_write_bytecode = True
    if not asked.installed:
        sys.path.insert(0, str(ROOT))
    try:
        import PySide6

        import benchtool
    except ImportError as missing:
        parser.error(f"this Python has no {missing.name}: take the one of .venv, which packaging/start.py makes")

    head = f"benchtool {benchtool.__version__} in {Path(benchtool.__file__).parent}, Qt {PySide6.__version__}, "
    head += f"Python {platform.python_version()}, {platform.system()} {platform.machine()}, {os.cpu_count()} cores"
    lines = []
    with tempfile.TemporaryDirectory(dir=asked.folder, prefix="benchmark-") as folder:
        try:
            for line in measure(Path(folder), asked.installed, asked.quick):
                lines.append(line)
                print(f"{line.what}: {_said(line.value, line.unit)}", file=sys.stderr, flush=True)
        finally:
            Child.end_all()
    if asked.json:
        shown = [asdict(line) | {"ratio": line.ratio, "met": line.met} for line in lines]
        print(json.dumps({"measured": head, "lines": shown}, indent=2))
        return
    rows = [("", "here", "against", "there", "ratio", "aim", "met"), *(line.cells() for line in lines)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    print(head)
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


if __name__ == "__main__":
    main()
