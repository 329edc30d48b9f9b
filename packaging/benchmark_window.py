"""One window for benchmark.py to look at, in a process of its own: `ROLE FOLDER SETTLE SPAN [JOB]`.

The roles are `bare` (a window with one label), `labels` (one that redraws 60 labels once a second), `bench`
(the tool itself, started as it starts, all its folders in FOLDER) and `acts` (the tool, its clock driven as
fast as it goes). Says `painted`, then one line of JSON with what was measured, and closes. Everything is
imported where it is used, so that no role pays for another.
"""

import sys
import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from typing import Any

    from PySide6.QtCore import QEvent
    from PySide6.QtWidgets import QMainWindow

    from benchtool.bench.window import BenchWindow
    from benchtool.session.session import Session

LABELS = 60
TIMES = 60


def plain(settle_s: float, span_s: float, labels: int) -> int:
    """Show a window with so many labels; where there are more than one, each is redrawn once a second."""
    from PySide6.QtCore import QEvent, QTimer
    from PySide6.QtWidgets import QApplication, QGridLayout, QLabel, QMainWindow, QWidget

    class Plain(QMainWindow):
        """Says when it was first painted, at the same point where the bench says so."""

        painted_once = False

        def event(self, event: "QEvent") -> bool:
            done = super().event(event)
            if event.type() == QEvent.Type.Paint and not self.painted_once:
                self.painted_once = True
                QTimer.singleShot(0, self, lambda: settle(self, settle_s, span_s))
            return done

    app, left = QApplication(sys.argv[:1]), 3_600
    window, shown = Plain(), [QLabel("A label") for _ in range(labels)]
    window.resize(1280, 720)
    window.setCentralWidget(shown[0])
    if labels > 1:
        body = QWidget()
        grid = QGridLayout(body)
        for i, label in enumerate(shown):
            grid.addWidget(label, i // 4, i % 4)
        window.setCentralWidget(body)

    def beat() -> None:
        nonlocal left
        left -= 1
        for i, label in enumerate(shown):
            label.setText(f"Piece {i}: {left // 60}:{left % 60:02d}")

    timer = QTimer(window)
    timer.timeout.connect(beat)
    if labels > 1:
        beat()
        timer.start(1_000)
    window.show()
    return app.exec()


def bench(folder: str, job: "str | None", painted: "Callable[[BenchWindow, Session], None]") -> int:
    """Start the tool as its command does, with folders of its own."""
    from pathlib import Path

    from benchtool import app as tool
    from benchtool.session.clock import SystemClock

    build = tool.build

    def watched(*given: "Any") -> "tuple[BenchWindow, Session]":
        window, session = build(*given)
        window.painted.connect(lambda: painted(window, session))
        return window, session

    vars(tool)["build"] = watched
    folders = tool.Folders(*(Path(folder, name) for name in ("data", "config", "cache", "state")))
    return tool.run_window(job, folders, SystemClock(folders.state / "clock.json"))


def memory() -> "dict[str, float | None]":
    """What this process holds (MB): resident, its fair share of it, what is its own alone, the most it ever held."""
    from pathlib import Path

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


def tell(figures: "dict[str, float | None]") -> None:
    """Hand the figures to benchmark.py."""
    import json

    print(json.dumps(figures), flush=True)


def settle(window: "QMainWindow", settle_s: float, span_s: float) -> None:
    """Wait, look at the memory, then add up the processor time of the span, and close."""
    print("painted", flush=True)
    if not settle_s:
        window.close()
        return
    from PySide6.QtCore import QTimer

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


def act(window: "BenchWindow", session: "Session") -> None:
    """Time what the window does each second, and what one act costs from the key to the paint."""
    from datetime import timedelta
    from functools import partial

    from PySide6.QtCore import QCoreApplication

    from benchtool.job.events import ReadingTaken
    from benchtool.session.clock import Clock

    class Driven(Clock):
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

    def timed(run: "Callable[[], object]") -> float:
        took = []
        for _ in range(TIMES):
            clock.at += timedelta(seconds=1)
            begun = time.perf_counter()
            run()
            QCoreApplication.processEvents()
            took.append(time.perf_counter() - begun)
        return sorted(took)[len(took) // 2] * 1_000

    def beat() -> None:
        session.tick()
        window.refresh()

    session.measures.warm()  # now, and not in the middle of what is timed
    tell({"beat": timed(beat), "act": timed(lambda: session.apply(draft))})
    window.close()


def main(role: str, folder: str, settle_s: str, span_s: str, job: "str | None" = None) -> int:
    """Show the window of this role."""
    wait, span = float(settle_s), float(span_s)
    if role == "acts":
        return bench(folder, job, act)
    if role == "bench":
        return bench(folder, job, lambda window, _: settle(window, wait, span))
    return plain(wait, span, LABELS if role == "labels" else 1)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
