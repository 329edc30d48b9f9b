"""Opening, beginning and leaving jobs, and what to do about a file that can't be read."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog

from benchtool.bench.window import BenchWindow
from benchtool.session.session import Document, NotNow, Session

SUFFIX = ".json"


class Jobs(QObject):
    """Answers the window's wish for another job."""

    def __init__(
        self, window: BenchWindow, session: Session, folder: Path, recent: tuple[str, ...], demo: Callable[[], Path]
    ) -> None:
        super().__init__(window)
        self.window, self.session, self.folder, self.demo = window, session, folder / "jobs", demo
        self._recent = list(recent)
        self._dialog_open: QFileDialog | None = None
        window.job_asked.connect(self.ask)
        window.job_fault.connect(self.tell)

    def recent(self) -> tuple[str, ...]:
        """The job files last open, newest first."""
        opened = [str(d.path) for d in reversed(self.session.documents)]
        return tuple(dict.fromkeys([*opened, *self._recent]))

    def ask(self, what: str) -> None:
        """Ask which job to go to (`job`), for a new one (`new`), or where to put a copy (`copy`)."""
        if what in ("new", "copy"):
            self._new() if what == "new" else self._save_copy()
            return
        current = self.session.current
        answers: list[tuple[str, Callable[[], None]]] = [("New job", self._new), ("Open a file", self._open_dialog)]
        if current is not None and (current.read_only or current.unsaved):
            answers.append(("Save a copy", self._save_copy))
        names = {d.path for d in self.session.documents}
        answers += [(d.title, partial(self._go, d)) for d in self.session.documents if d is not current][:3]
        known = [Path(p) for p in self._recent if Path(p) not in names]
        answers += [(p.stem, partial(self.open, p)) for p in known if p.exists()][:3]
        answers.append(("New demo", self._open_demo))
        if self.session.clock.stepped():
            answers.append(("Go by the laptop's new time", self.session.clock.take_wall_clock))
        if current is not None:
            answers.append((f"Close {current.title}", partial(self._close, current)))
        self.window.doing.pick.ask("Which job?", answers)

    def open(self, path: Path) -> None:
        """Open a job file; a fault is told in the window, and nothing else changes."""
        try:
            self.session.open(path)
            self.window.say("")
        except Exception as fault:  # noqa: BLE001 - a file must never take the bench down
            self.tell(fault)

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
        try:
            self.session.open(version, look_only=why)
        except Exception as fault:  # noqa: BLE001 - a file must never take the bench down
            self.tell(fault)

    def _save_copy(self) -> None:
        dialog = self._dialog("Save a copy", QFileDialog.AcceptMode.AcceptSave)
        dialog.setFileMode(QFileDialog.FileMode.AnyFile)
        dialog.setDefaultSuffix("json")
        dialog.fileSelected.connect(lambda name: self.copy_to(Path(name)))
        dialog.show()

    def copy_to(self, path: Path) -> None:
        """Write the job in hand to another file, and go on with that one."""
        try:
            self.session.save_copy(path)
            self.session.open(path)
        except Exception as fault:  # noqa: BLE001 - said in the window, whatever it is
            self.tell(fault)

    def _go(self, document: Document) -> None:
        self.session.pick_document(document)

    def _close(self, document: Document) -> None:
        path = str(document.path)
        try:
            self.session.close(document)
        except NotNow as no:
            self.tell(no)
            return
        self._recent = [path, *(p for p in self._recent if p != path)]

    def _open_demo(self) -> None:
        try:
            self.open(self.demo())
        except Exception as fault:  # noqa: BLE001 - a full disk must not take the bench down
            self.tell(fault)

    def _folder(self) -> str:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            return str(Path.home())
        return str(self.folder)

    def _open_dialog(self) -> None:
        dialog = self._dialog("Open a job", QFileDialog.AcceptMode.AcceptOpen)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(lambda name: self.open(Path(name)))
        dialog.show()

    def _new(self) -> None:
        dialog = self._dialog("Begin a job: where shall it be kept?", QFileDialog.AcceptMode.AcceptSave)
        dialog.setFileMode(QFileDialog.FileMode.AnyFile)
        dialog.setDefaultSuffix("json")
        dialog.fileSelected.connect(lambda name: self._create(Path(name)))
        dialog.show()

    def _dialog(self, title: str, mode: QFileDialog.AcceptMode) -> QFileDialog:
        if self._dialog_open is not None:
            self._dialog_open.close()
        dialog = self._dialog_open = QFileDialog(self.window, title, self._folder(), f"Jobs (*{SUFFIX})")
        dialog.setAcceptMode(mode)
        dialog.setModal(False)
        dialog.finished.connect(self._dialog_done)
        return dialog

    def _dialog_done(self) -> None:
        if self._dialog_open is not None:
            self._dialog_open.deleteLater()
            self._dialog_open = None

    def _create(self, path: Path) -> None:
        try:
            self.session.create(path, path.stem.replace("-", " ").replace("_", " "))
        except Exception as fault:  # noqa: BLE001 - said in the window, whatever it is
            self.tell(fault)
            return
        self.window.do("piece")
