"""Opening, beginning and leaving jobs, and what to do about a file that can't be read."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog

from benchtool.bench.window import BenchWindow
from benchtool.session.demo import DEMO, FINISHED_DEMO, TRIAL_DEMO
from benchtool.session.session import Document, NotNow, Session
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

if TYPE_CHECKING:
    from benchtool.bench.calendarsave import CalendarSave
    from benchtool.bench.jobform import JobForm

SUFFIX = ".json"


MOST_AT_ONCE = 4
"""So many jobs fit beside each other in one question."""


MOST_ANSWERS = 9
"""So many answers have a digit."""


class Jobs(QObject):
    """Answers the window's wish for another job."""

    def __init__(
        self, window: BenchWindow, session: Session, folder: Path, recent: tuple[str, ...], demo: Callable[[str], Path]
    ) -> None:
        super().__init__(window)
        self.window, self.session, self.folder, self.demo = window, session, folder / "jobs", demo
        self._recent = list(recent)
        self._dialog_open: QFileDialog | None = None
        window.job_asked.connect(self.ask)
        window.job_fault.connect(self.tell)
        window.found_asked.connect(self.open)

    @cached_property
    def calendar(self) -> "CalendarSave":
        """What writes calendar files, made when it is first asked for."""
        from benchtool.bench.beside import documents
        from benchtool.bench.calendarsave import CalendarSave

        save = CalendarSave(self.window, self.session, documents())
        save.said.connect(self.window.say)
        return save

    @cached_property
    def form(self) -> "JobForm":
        """The page of the job itself, made when it is first asked for."""
        from benchtool.bench.jobform import JobForm

        pages = self.window.near.pages
        made = JobForm(self.window.look, self.session)
        made.left.connect(lambda: self._described(made))
        made.said.connect(pages.said)
        pages.addWidget(made)
        return made

    def _described(self, form: "JobForm") -> None:
        """Leave the page of the job; of one that was just begun the first piece is asked next."""
        begun, form.begun = form.begun, None
        self.window.near.pages.left.emit()
        if begun is not None and begun is self.session.current and not begun.state.pieces:
            self.window.do("piece")

    def describe(self) -> None:
        """Ask what the job in hand is called, whose it is and when it is promised."""
        with self._telling():
            self.form.ask()
            self.window.near.pages.setCurrentWidget(self.form)

    def recent(self) -> tuple[str, ...]:
        """The job files last open, newest first."""
        opened = [str(d.path) for d in reversed(self.session.documents)]
        return tuple(dict.fromkeys([*opened, *self._recent]))

    def ask(self, what: str) -> None:
        """Ask which job to go to (`job`), for a new one (`new`), where to put a copy (`copy`) or its `calendar`."""
        if what == "calendar":
            self.calendar.ask()
            return
        if what in ("new", "copy"):
            self._new() if what == "new" else self._save_copy()
            return
        current, clock = self.session.current, ("The time is wrong", self.window.doing.clock.ask_by_hand)
        answers: list[tuple[str, Callable[[], None]]] = [("New job", self._new), ("Open a file", self._open_dialog)]
        # What is asked for by habit has the same digit whatever is open; what comes and goes stands behind it.
        if current is None:
            answers.append(clock)
        else:
            save = ("Save a copy", self._save_copy)
            answers.append(save if current.read_only else (say("Describe it"), self.describe))
        answers.append(("New demo", self._ask_which_demo))
        if current is not None:
            answers += [(f"Close {shorten(current.title, 24)}", partial(self._close, current)), clock]
            if current.unsaved and not current.read_only:
                answers.append(("Save a copy", self._save_copy))
        names = {d.path for d in self.session.documents}
        others = [d for d in self.session.documents if d is not current]
        answers += [(d.title, partial(self._go, d)) for d in others[:2]]
        if len(others) > 2:
            more = say("{n} more open", n=len(others) - 2)
            answers.append((more, partial(self._ask_which, others[2:])))
        known = [p for p in (Path(each) for each in self._recent) if p not in names]
        room = max(0, MOST_ANSWERS - len(answers))
        answers += [(p.stem, partial(self.open, p)) for p in known if p.exists()][: min(2, room)]
        self.window.doing.pick.ask("Which job?", answers)

    def _ask_which(self, others: list[Document]) -> None:
        """Ask which of these open jobs, a few at a time."""
        shown, rest = others[:MOST_AT_ONCE], others[MOST_AT_ONCE:]
        answers: list[tuple[str, Callable[[], None]]] = [(d.title, partial(self._go, d)) for d in shown]
        if rest:
            answers.append((say("Others"), partial(self._ask_which, rest)))
        self.window.doing.pick.ask(say("Which one?"), answers)

    @contextmanager
    def _telling(self) -> Iterator[None]:
        """Tell in the window whatever goes wrong inside: a file must never take the bench down."""
        try:
            yield
        except Exception as fault:  # noqa: BLE001 - any fault of a file or a disk ends here, in words
            self.tell(fault)

    def open(self, path: Path) -> None:
        """Open a job file; a fault is told in the window, and nothing else changes."""
        with self._telling():
            self.session.open(path)
            self.window.say("")

    def tell(self, fault: Exception) -> None:
        """Say what is wrong with a file, and offer its last good version where there is one."""
        last_good = getattr(fault, "last_good", None)
        answers: list[tuple[str, Callable[[], None]]] = []
        if isinstance(last_good, Path):
            answers.append(("Look at the last good version", partial(self._look_at, last_good)))
        if isinstance(fault, NotNow):
            answers.append(("Save a copy", self._save_copy))
        answers += [("Open another file", self._open_dialog), ("New job", self._new)]
        self.window.doing.pick.ask(str(fault), answers)
        self.window.refresh()

    def _look_at(self, version: Path) -> None:
        why = "An earlier version, read-only. J saves a copy of it to go on with."
        with self._telling():
            self.session.open(version, look_only=why)

    def copy_to(self, path: Path, document: Document | None = None) -> None:
        """Write a job (the one in hand) to another file, and go on with that one."""
        with self._telling():
            self.session.save_copy(path, document)
            self.session.open(path)

    def _go(self, document: Document) -> None:
        self.session.pick_document(document)

    def _close(self, document: Document) -> None:
        with self._telling():
            self.session.close(document)
            self.window.say(f"{document.title} is closed. J opens it again.")
            path = str(document.path)
            self._recent = [path, *(p for p in self._recent if p != path)]

    def _ask_which_demo(self) -> None:
        answers = [
            (say("Pieces on the bench"), partial(self._open_demo, DEMO)),
            (say("A trial of four strips"), partial(self._open_demo, TRIAL_DEMO)),
            (say("A finished job"), partial(self._open_demo, FINISHED_DEMO)),
        ]
        self.window.doing.pick.ask(say("Which demo?"), answers)

    def _open_demo(self, name: str) -> None:
        with self._telling():
            self.open(self.demo(name))

    def _folder(self) -> str:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            return str(Path.home())
        return str(self.folder)

    def _open_dialog(self) -> None:
        self._ask_for_file("Open a job", self.open, existing=True)

    def _new(self) -> None:
        self._ask_for_file("Begin a job: where shall it be kept?", self._create)

    def _save_copy(self) -> None:
        asked_for = self.session.current  # another may be in hand by the time the file is chosen
        self._ask_for_file("Save a copy", lambda path: self.copy_to(path, asked_for))

    def _ask_for_file(self, title: str, then: Callable[[Path], None], *, existing: bool = False) -> None:
        if self._dialog_open is not None:
            self._dialog_open.close()
        dialog = self._dialog_open = QFileDialog(self.window, title, self._folder(), f"Jobs (*{SUFFIX})")
        if existing:
            dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        else:
            dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
            dialog.setDefaultSuffix(SUFFIX[1:])
        dialog.setModal(False)
        dialog.fileSelected.connect(lambda name: then(Path(name)))
        dialog.finished.connect(self._dialog_done)
        dialog.show()

    def _dialog_done(self) -> None:
        if self._dialog_open is not None:
            self._dialog_open.deleteLater()
            self._dialog_open = None

    def _create(self, path: Path) -> None:
        with self._telling():
            self.session.create(path, path.stem.replace("-", " ").replace("_", " "))
            self.form.ask(begun=True)
            self.window.near.pages.setCurrentWidget(self.form)
