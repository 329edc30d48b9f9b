"""The composition root: arguments, log, clock, store, session, window. The only place that knows all."""

import logging
import os
import signal
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from benchtool import __version__, cli
from benchtool.job.record import Job
from benchtool.session.clock import Clock, SystemClock
from benchtool.session.demo import DEMO, DEMOS, demo_job, is_fresh, new_demo, place_demo
from benchtool.session.languages import catalogue, language_of
from benchtool.session.tables import load_tables
from benchtool.store import jobfile, settings
from benchtool.trade.quantities import Measures
from benchtool.trade.saying import speak

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

    from benchtool.bench.desktop import Desktop
    from benchtool.bench.window import BenchWindow
    from benchtool.job.shop import Shop
    from benchtool.rules.finding import Tables
    from benchtool.session.drafts import CardDrafts
    from benchtool.session.jobsearch import JobSearch
    from benchtool.session.library import CardLibrary
    from benchtool.session.loggerkeeper import LoggerKeeper
    from benchtool.session.papers import Renderer
    from benchtool.session.session import Session

USAGE = """benchtool [JOB]              open the bench, on JOB or on a demo (demo, demo-trial, demo-finished)
benchtool check JOB          say how a job stands, without a window
benchtool mix --part ...     work out a mix: tools, scale, cup, a wrong pour
benchtool size --area ...    work out how much to mix, and its films
benchtool flow CUP SECONDS   turn a flow cup's seconds into viscosity
benchtool voc FILE           add up the emissions of a mix
benchtool air ...            work out dew point and margin of a surface
benchtool pace --model ...   say how many times as long it takes in this air
benchtool convert ...        turn an amount into another unit
benchtool mark TEXT          read the mark moulded on a part
benchtool identify ...       say what a part without a mark may be made of
benchtool substrate WORDS    say what is known of a material
benchtool prep JOB           plan how a piece is cleaned and prepared
benchtool stack JOB          say in which order products go on, and the film
benchtool trial JOB          tell a trial of test strips: what is next, what it found
benchtool grade --removed P  turn what came off a cross-cut into its class
benchtool compare FILE       compare the grades of a few strips, exactly
benchtool card FILE          check the values of product cards
benchtool cards WORDS        search, write out or bring in product cards
benchtool plan JOB...        say what is done when, and what does not fit
benchtool sheet JOB          write the job sheet, a care sheet, or tables
benchtool find WORDS         find earlier jobs by customer, product, lot ...
benchtool rules WORDS        list the rules with their reasons
benchtool COMMAND --help     say what a command takes
benchtool --version"""

DEMO_USAGE = """benchtool {name}: opens the bench on a demo job.
demo           made-up pieces in the middle of being painted
demo-trial     a trial of adhesion on four test strips
demo-finished  a made-up job that is done: its sheets, its times, what comes after
These words stand for a job in the commands too: benchtool check demo, benchtool sheet demo-finished"""

log = logging.getLogger("benchtool")


@dataclass(frozen=True)
class Folders:
    """Where this person's things lie: data (demo, jobs), settings, and what may be thrown away."""

    data: Path
    config: Path
    cache: Path
    state: Path

    @classmethod
    def usual(cls) -> "Folders":
        """The folders that the system keeps for a program of this name."""
        import platformdirs

        dirs = platformdirs.PlatformDirs("benchtool", appauthor=False)
        return cls(dirs.user_data_path, dirs.user_config_path, dirs.user_cache_path, dirs.user_state_path)


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command that the arguments name, else the window; gives the exit status."""
    args = list(sys.argv[1:] if argv is None else argv)
    if args[:1] == ["--version"]:
        print(f"benchtool {__version__}")
        return 0
    if args[:1] in (["--help"], ["-h"]):
        print(USAGE)
        return 0
    folders = Folders.usual()
    speak_as_here(folders)
    if args and args[0] in cli.COMMANDS:
        clock = SystemClock(folders.state / "clock.json")
        if args[0] == "sheet":
            from benchtool.session.papers import draw_with

            draw_with(draws_sheets)
        return cli.run(
            args,
            now=clock.now,
            tables=lambda: with_own_rules(folders),
            measures=lambda: measures(folders),
            open_job=lambda name: opened_job(name, clock),
            shop=lambda: shop_of(folders),
            library=lambda: library_of(folders),
            search=lambda where: search_of(
                folders,
                lambda: with_own_rules(folders),
                clock.now,
                lambda: where or job_folders(folders, last_jobs(folders)),
            ),
            stdin=sys.stdin,
            out=sys.stdout,
            err=sys.stderr,
        )
    if args[:1] in [[name] for name in DEMOS] and args[1:] in (["--help"], ["-h"]):
        print(DEMO_USAGE.format(name=args[0]))
        return 0
    if len(args) > 1 or (args and args[0].startswith("-") and not Path(args[0]).exists()):
        print(f"benchtool: {args[0]} is neither a command nor a job file. Try: benchtool --help", file=sys.stderr)
        return 2
    return run_window(args[0] if args else None, folders, SystemClock(folders.state / "clock.json"))


def speak_as_here(folders: Folders) -> None:
    """Say everything in the language of the system, where the painter has a catalogue of it."""
    words, wrong = catalogue(folders.config, language_of(os.environ))
    speak(words)
    if wrong:
        log.warning("%s", wrong)


def library_of(folders: Folders) -> "CardLibrary":
    """Give the painter's product cards; nothing is read before it is asked for."""
    from benchtool.session.library import CardLibrary

    return CardLibrary(folders.data / "cards")


def drafts_of(folders: Folders) -> "CardDrafts":
    """Give what is half typed of product cards; a start needs none of it."""
    from benchtool.session.drafts import CardDrafts

    return CardDrafts(folders.state)


def job_folders(folders: Folders, names: Sequence[str]) -> list[Path]:
    """Give the folders that hold this painter's jobs: the one for jobs, and those of the jobs named."""
    from benchtool.session.jobsearch import usual_folders

    return list(usual_folders(folders.data, names))


def last_jobs(folders: Folders) -> tuple[str, ...]:
    """Give the job files that were last open, as the settings have them."""
    chosen = settings.load(folders.config)
    return (*chosen.open, *chosen.recent)


def search_of(
    folders: Folders, tables: "Callable[[], Tables]", now: Callable[[], datetime], where: Callable[[], Sequence[Path]]
) -> "JobSearch":
    """Give what finds earlier jobs; its index lies in the cache."""
    from benchtool.session.jobsearch import JobSearch

    return JobSearch(tables, now, where, folders.cache)


def draws_sheets() -> "Renderer":
    """Give what draws a sheet as PDF for a command: the window's toolkit does it, and no window is opened."""
    from benchtool.bench.sheetpdf import pdf_of

    return pdf_of


def is_demo(name: str) -> bool:
    """Whether this word stands for a demo job, where no file has that name."""
    return name in DEMOS and not Path(name).exists()


def measures(folders: Folders) -> Measures:
    """Make what reads amounts, with its definitions kept parsed in the cache."""
    try:
        folders.cache.mkdir(parents=True, exist_ok=True)
    except OSError:
        return Measures()
    return Measures(str(folders.cache / "units"))


def with_own_rules(folders: Folders) -> "Tables":
    """Read the trade's tables, with the painter's own rules in them."""
    from benchtool.session.shoprules import own_rules

    tables = load_tables()
    return own_rules(folders.data, tables.substrates).into(tables)


def shop_of(folders: Folders) -> "Shop":
    """Read the painter's own tools and cups; the usual ones where nothing is kept.

    Raises:
        Unusable: there is something in their place that can't be read.
    """
    from benchtool.store.shop import shop_file

    file = shop_file(folders.data)
    kept = file.read()
    if file.fault:
        from benchtool.cli.common import Unusable

        raise Unusable(file.fault)
    return kept.shop


def opened_job(name: str, clock: Clock) -> Job | jobfile.Opened:
    """Read the job of this file, or a demo where no file is named so."""
    if is_demo(name):
        return demo_job(clock.now(), name)
    return jobfile.load(Path(name))


def run_window(job: str | None, folders: Folders, clock: Clock) -> int:
    """Open the bench and stay until it is closed."""
    # Before Qt: once it is there, it looks into the source of every module that is imported after it.
    import benchtool.session.cupview
    import benchtool.session.due
    import benchtool.session.handsfree
    import benchtool.session.shop  # noqa: F401

    start_log(folders.state)
    from PySide6.QtWidgets import QApplication

    # By argument: naming the style in code would load Qt's whole style class, a tenth of the start.
    app = QApplication([*sys.argv[:1], "-style", "Fusion"])
    window, session = build(app, folders, clock)
    open_first(job, folders, session, window)
    if clock.last_seen is not None:
        session.alarms.wake(clock.last_seen, session.now())
    window.come_up()
    window.begin()
    signal.signal(signal.SIGINT, lambda *_: window.close())
    signal.signal(signal.SIGTERM, lambda *_: window.close())
    return app.exec()


def build(app: "QApplication", folders: Folders, clock: Clock) -> "tuple[BenchWindow, Session]":
    """Make the session and the window over it; tests make the same with a clock and folders of their own."""
    from PySide6.QtCore import QTimer

    from benchtool.bench.jobs import Jobs
    from benchtool.bench.look import Look
    from benchtool.bench.sound import Voice
    from benchtool.bench.window import BenchWindow
    from benchtool.session.alarms import something_runs
    from benchtool.session.library import CardLibrary
    from benchtool.session.resources import resource
    from benchtool.session.session import Session
    from benchtool.session.shop import ShopKeeper
    from benchtool.session.shoprules import RuleKeeper

    app.setApplicationName("benchtool")
    app.setApplicationDisplayName("Bench")
    app.setApplicationVersion(__version__)
    app.setDesktopFileName("org.example.Benchtool")
    chosen = settings.load(folders.config)
    library, shop = CardLibrary(folders.data / "cards"), ShopKeeper(folders.data)
    tables = load_tables()
    rules = RuleKeeper(folders.data, tables.substrates)
    session = Session(clock, rules.own.into(tables), measures(folders), library, shop, rules)
    session.drafts = lambda: drafts_of(folders)
    look = Look(app)
    voice = Voice(resource("sounds"), volume=chosen.sound_volume, speak=chosen.speak, parent=app)

    def text() -> str:
        from benchtool.sheets.state_text import state_text

        document = session.current
        if document is None:
            return ""
        return state_text(document.job, document.state, session.findings(), session.now(), session.tables)

    def remember(choice: "settings.LoggerChoice | None") -> None:
        settings.save(folders.config, replace(settings.load(folders.config), logger=choice))

    def keeper() -> "LoggerKeeper":
        from benchtool.session.loggerkeeper import LoggerKeeper

        return LoggerKeeper(session, chosen.logger, remember)

    window = BenchWindow(look, session, voice, text, keeper)
    if chosen.logger is not None:
        window.logger()
    jobs = Jobs(window, session, folders.data, chosen.recent, lambda name: new_demo(folders.data, session.now(), name))
    session.recent = jobs.recent

    window.pages.record.make_search = lambda: search_of(
        folders, lambda: session.tables, session.now, lambda: job_folders(folders, jobs.recent())
    )
    window.pages.record.paper = chosen.paper
    look.choose(chosen.theme)
    window.take_next_key(chosen.next_key)
    window.resize(1280, 720)
    window.put_at(chosen.window)

    def warm() -> None:  # a function: the timer keeps no reference to the object of a bare method
        session.measures.warm()

    window.painted.connect(lambda: QTimer.singleShot(400, window, warm))

    desktops: list[Desktop] = []  # none before something runs or calls: it is loaded well after the first paint

    def desktop() -> "Desktop":
        if not desktops:
            from benchtool.bench.desktop import Desktop

            desktops.append(Desktop(parent=app))
        return desktops[0]

    def keep_awake() -> None:
        runs = something_runs(session, session.now())
        if runs or desktops:
            desktop().keep_awake(runs)

    def clear() -> None:
        for made in desktops:
            made.clear()

    window.called.connect(lambda ring: desktop().notify(ring.heading, ring.words, ring.grave))
    window.doing.hushed.connect(clear)
    window.beaten.connect(keep_awake)

    kept: list[object] = [None]

    def jobs_open() -> tuple[str, ...]:
        """Give the files that are open, the one in hand last."""
        return tuple(str(d.path) for d in sorted(session.documents, key=lambda d: d is session.current))

    def keep() -> None:
        """Write down what the painter chose and which jobs are open, whenever that is another: a crash loses none."""
        chosen_now = (jobs_open(), look.choice, window.pedal.key)
        if chosen_now != kept[0]:
            kept[0] = chosen_now
            write(open=jobs_open())

    def write(**more: object) -> None:
        now = settings.load(folders.config)
        theme = look.choice if look.choice is not None else now.theme
        recent = jobs.recent()[: settings.MOST_RECENT]
        paper = window.pages.record.paper
        made = replace(now, theme=theme, recent=recent, next_key=window.pedal.key, paper=paper, **more)
        if not settings.save(folders.config, made):
            log.warning("the settings could not be kept in %s", folders.config)

    def close() -> None:
        write(window=window.place(), open=jobs_open())
        stop()
        session.close_all()
        voice.hush()
        for made in desktops:
            made.close()

    stop = session.subscribe(keep)
    look.changed.connect(keep)
    window.pedal.chosen.connect(keep)
    window.closing.connect(close)
    return window, session


def open_first(job: str | None, folders: Folders, session: "Session", window: "BenchWindow") -> None:
    """Open the job named, else those that were open last, else the demo; what is wrong is said in the window."""
    names: list[Path | None] = [Path(job) if job is not None and not is_demo(job) else None]
    demo = job if job is not None and is_demo(job) else DEMO
    if job is None:
        last = [Path(p) for p in settings.load(folders.config).open]
        now = session.now()
        names = [p for p in last if _is_there(p) and (p.parent != folders.data or is_fresh(p, now))] or names
    for name in names:
        try:
            session.open(name if name is not None else place_demo(folders.data, session.now(), demo))
        except Exception as fault:  # noqa: BLE001 - whatever is wrong with a file, the window opens and says so
            window.job_fault.emit(fault)


def _is_there(path: Path) -> bool:
    """Whether there is a file, or something that can't be looked at: to open that says what is wrong with it."""
    try:
        return path.is_file()
    except OSError:
        return True


def start_log(folder: Path) -> None:
    """Send the log to a file: where there is no terminal, an error would else vanish."""
    handlers: list[logging.Handler] = [logging.StreamHandler()]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        file = folder / "benchtool.log"
        if file.exists() and file.stat().st_size > 1_000_000:
            file.replace(folder / "benchtool.old.log")
        handlers.append(logging.FileHandler(file, encoding="utf-8", delay=True))
    except OSError:
        pass
    logging.basicConfig(level=logging.WARNING, format="%(asctime)s %(levelname)s %(message)s", handlers=handlers)
    sys.excepthook = _log_uncaught


def _log_uncaught(kind: type[BaseException], fault: BaseException, trace: object) -> None:
    log.critical("uncaught", exc_info=(kind, fault, trace))  # type: ignore[arg-type]
