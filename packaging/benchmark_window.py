"""One window for benchmark.py to look at, in a process of its own: `ROLE FOLDER SETTLE SPAN [JOB]`.

The roles are `bare` (a window with one label), `labels` (one that redraws 60 labels once a second), `bench`
(the tool itself, all its folders in FOLDER) and `acts` (the tool, its clock driven as fast as it goes).
Says `painted`, then one line of JSON with what was measured, and closes.
"""

import sys
import time
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QTimer, Signal
from PySide6.QtWidgets import QApplication, QGridLayout, QLabel, QMainWindow, QWidget

if TYPE_CHECKING:
    from datetime import datetime

    from benchtool.bench.window import BenchWindow
    from benchtool.session.session import Session

LABELS = 60
TIMES = 60


class Bare(QMainWindow):
    """A window that says when it was first painted, at the same point where the bench says so."""

    painted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._painted_once = False
        self.resize(1280, 720)

    def event(self, event: QEvent) -> bool:
        done = super().event(event)
        if event.type() == QEvent.Type.Paint and not self._painted_once:
            self._painted_once = True
            QTimer.singleShot(0, self, self.painted.emit)
        return done


def bare() -> Bare:
    """A window with one label."""
    window = Bare()
    window.setCentralWidget(QLabel("A label"))
    return window


def labels() -> Bare:
    """A window with 60 countdowns, each redrawn once a second."""
    window, body = Bare(), QWidget()
    grid = QGridLayout(body)
    shown = [QLabel() for _ in range(LABELS)]
    for i, label in enumerate(shown):
        grid.addWidget(label, i // 4, i % 4)
    window.setCentralWidget(body)
    left = [3_600]

    def beat() -> None:
        left[0] -= 1
        for i, label in enumerate(shown):
            label.setText(f"Piece {i}: {left[0] // 60}:{left[0] % 60:02d}")

    timer = QTimer(window)
    timer.timeout.connect(beat)
    timer.start(1_000)
    beat()
    return window


def bench(app: QApplication, folder: Path, job: str | None) -> "tuple[BenchWindow, Session]":
    """The tool's own window, made as its start makes it."""
    from benchtool import app as root
    from benchtool.session.clock import SystemClock

    folders = root.Folders(folder / "data", folder / "config", folder / "cache", folder / "state")
    root.start_log(folders.state)
    window, session = root.build(app, folders, SystemClock(folders.state / "clock.json"))
    root.open_first(job, folders, session, window)
    return window, session


def memory() -> dict[str, float | None]:
    """What this process holds (MB): resident, its fair share of it, what is its own alone, the most it ever held."""
    held: dict[str, float | None] = {"rss": None, "pss": None, "uss": None, "peak": None}
    try:
        rollup = Path("/proc/self/smaps_rollup").read_text(encoding="ascii")
        kb = {x[0]: float(x[1]) for x in (line.split() for line in rollup.splitlines()[1:])}
        held |= {"rss": kb["Rss:"], "pss": kb["Pss:"], "uss": kb["Private_Clean:"] + kb["Private_Dirty:"]}
    except (OSError, KeyError, ValueError):
        pass
    try:
        import resource

        peak = float(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
        held["peak"] = peak / 1024 if sys.platform == "darwin" else peak  # bytes there, kB elsewhere
    except ImportError:
        pass
    return {name: value / 1024 if value is not None else None for name, value in held.items()}


def tell(figures: dict[str, float | None]) -> None:
    """Hand the figures to benchmark.py."""
    import json

    print(json.dumps(figures), flush=True)


def settle(window: QMainWindow, settle_s: float, span_s: float) -> None:
    """Wait, look at the memory, then add up the processor time of the span, and close."""
    print("painted", flush=True)
    if not settle_s:
        window.close()
        return
    figures: dict[str, float | None] = {}

    def start() -> None:
        figures.update(memory())
        figures["cpu"] = -time.process_time()
        QTimer.singleShot(round(span_s * 1_000), window, end)

    def end() -> None:
        figures["cpu"] = (figures["cpu"] or 0.0) + time.process_time()
        tell(figures)
        window.close()

    QTimer.singleShot(round(settle_s * 1_000), window, start)


def act(app: QApplication, window: "BenchWindow", session: "Session") -> None:
    """Time what the window does each second, and what one act costs from the key to the paint."""
    from benchtool.job.events import ReadingTaken

    class Driven:
        """A clock that a second is added to at each look of ours."""

        def __init__(self, at: "datetime") -> None:
            self.at = at

        def now(self) -> "datetime":
            return self.at

        def stepped(self) -> timedelta:
            return timedelta(0)

        def take_wall_clock(self) -> None:
            pass

    print("painted", flush=True)
    window.beat.stop()
    session.clock = clock = Driven(session.now())
    draft = partial(ReadingTaken, air_degC=21.0, humidity_percent=50.0)

    def timed(run: Callable[[], object]) -> float:
        took = []
        for _ in range(TIMES):
            clock.at += timedelta(seconds=1)
            begun = time.perf_counter()
            run()
            app.processEvents()
            took.append(time.perf_counter() - begun)
        return sorted(took)[len(took) // 2] * 1_000

    def beat() -> None:
        session.tick()
        window.refresh()

    beat()
    app.processEvents()
    tell({"beat": timed(beat), "act": timed(lambda: session.apply(draft))})
    window.close()


def main(role: str, folder: Path, settle_s: float, span_s: float, job: str | None = None) -> int:
    """Show the window of this role."""
    app = QApplication(sys.argv[:1])
    if role in ("bench", "acts"):
        window, session = bench(app, folder, job)
        run = partial(act, app, window, session) if role == "acts" else partial(settle, window, settle_s, span_s)
        window.painted.connect(run)
        window.show()
        window.begin()
        return app.exec()
    plain = labels() if role == "labels" else bare()
    plain.painted.connect(partial(settle, plain, settle_s, span_s))
    plain.show()
    return app.exec()


if __name__ == "__main__":
    words = sys.argv[1:]
    sys.exit(main(words[0], Path(words[1]), float(words[2]), float(words[3]), *words[4:]))
