"""Cards on their way out of the library and into it: where to, from where, and what of two that differ is kept."""

from collections.abc import Generator, Sequence
from enum import StrEnum
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Qt, QUrl, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench import controls
from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.librarysteps import Steps
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Typed
from benchtool.job.cards import Card
from benchtool.session import cardmoving
from benchtool.session.carddiff import differences_words
from benchtool.session.cardmoving import Brought, Choice, Incoming
from benchtool.session.library import CardLibrary, NotKept, Progress
from benchtool.session.librarypage import short_name, soft
from benchtool.trade.saying import say, say_n

MOST_LINES = 12


def documents() -> Path:
    """Give the folder in which the painter looks for files: that for documents if it is there, or home."""
    told = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
    return Path(told) if told and Path(told).is_dir() else Path.home()


def typed_path(typed: str) -> Path | None:
    """Read a path as typed or pasted: with quotes, with ~, or as the file address that a file manager copies."""
    text = typed.strip().strip("\"'").strip()
    if not text:
        return None
    if text.startswith("file:"):
        text = QUrl(text).toLocalFile()
    try:
        return Path(text).expanduser()
    except RuntimeError:  # a home of nobody
        return Path(text)


class _Panel(QWidget):
    """A panel beside the list: its title, what it asks, its buttons."""

    left = Signal()

    def __init__(self, look: Look, title: str, name: str) -> None:
        super().__init__()
        self.look = look
        self.setObjectName(name)
        self.title = Words(look, "title", "ink")
        self.title.say(title)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, GRID)
        self.column.setSpacing(GRID + GRID // 2)
        self.column.addWidget(self.title)
        self._dialog: QFileDialog | None = None

    def open_dialog(self, title: str, name: str) -> QFileDialog:
        """Make the system's window for files; it stands beside ours, where the countdowns go on."""
        if self._dialog is not None:
            self._dialog.close()
        dialog = self._dialog = QFileDialog(self.window(), title, "", say("Cards (*.json)"))
        dialog.setObjectName(name)
        dialog.setModal(False)
        dialog.finished.connect(self._dialog_done)
        return dialog

    def _dialog_done(self) -> None:
        if self._dialog is not None:
            self._dialog.deleteLater()
            self._dialog = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.accept()  # the field or button has done what it does: it is not the page's key as well
        else:
            super().keyPressEvent(event)

    def buttons(self, *buttons: BenchButton) -> None:
        """Put these side by side."""
        row = QHBoxLayout()
        row.setSpacing(GRID)
        for button in buttons:
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            row.addWidget(button)
        row.addStretch(1)
        self.column.addLayout(row)


class Scope(StrEnum):
    """Which cards are written to a file."""

    ONE = "one"
    SHOWN = "shown"
    ALL = "all"


class ExportPanel(_Panel):
    """Where the cards are to be written, and which of them."""

    said = Signal(str)

    def __init__(self, look: Look) -> None:
        super().__init__(look, say("Write cards to a file"), "library-export")
        self.folder = documents()
        self.cards: dict[Scope, Sequence[Card]] = {}
        self.scope = Scope.ONE
        self.which = controls.Choice(look, "library-scope", say("Which cards"))
        self.which.chosen.connect(self._choose)
        self.path = Typed(look, say("File"), "library-export-path")
        self.path.entered.connect(lambda _: self.write())
        go = BenchButton(look, say("Write the file"), "Enter", name="library-export-go", primary=True)
        choose = BenchButton(look, say("Choose"), "Ctrl+O", name="library-export-choose")
        choose.clicked.connect(self.choose)
        back = BenchButton(look, say("Not now"), "Esc", name="library-export-back")
        go.clicked.connect(self.write)
        back.clicked.connect(self.left)
        self.column.addWidget(self.which)
        self.column.addWidget(self.path)
        self.buttons(go, choose, back)
        self.column.addStretch(1)

    def choose(self) -> None:
        """Choose the name of the file in the system's window; it goes into the field, and nothing is written yet."""
        dialog = self.open_dialog(say("Write cards to a file"), "library-export-dialog")
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("json")
        dialog.setOption(QFileDialog.Option.DontConfirmOverwrite)  # a file that is there is never written over
        path = typed_path(self.path.text()) or self.folder / "cards.json"
        dialog.setDirectory(str(path.parent if path.parent.is_dir() else documents()))
        dialog.selectFile(path.name)
        dialog.fileSelected.connect(self._chosen)
        dialog.show()

    def _chosen(self, path: str) -> None:
        self.path.fill(path)
        self.path.take_focus()

    def ask(self, one: Card | None, shown: Sequence[Card], every: Sequence[Card]) -> None:
        """Ask where this card goes, or those shown, or all."""
        if not self.folder.is_dir():
            self.folder = documents()
        self.cards = {Scope.ONE: (one,) if one is not None else (), Scope.SHOWN: shown, Scope.ALL: every}
        options = [(Scope.ONE.value, say("This card"))] if one is not None else []
        if 0 < len(shown) < len(every):
            options.append((Scope.SHOWN.value, say_n("The {n:,} shown", "The {n:,} shown", len(shown))))
        if every:
            options.append((Scope.ALL.value, say_n("All of them", "All {n:,}", len(every))))
        self._options = options
        self._choose(options[0][0] if options else Scope.ALL.value)
        self.path.take_focus()

    def _choose(self, scope: str) -> None:
        self.scope = Scope(scope)
        self.which.offer(self._options, scope)
        cards = self.cards[self.scope]
        self.path.fill(str(self.folder / cardmoving.file_name(cards)) if cards else "")

    def write(self) -> None:
        """Write the file, or say why not."""
        path = typed_path(self.path.text())
        if path is None:
            self.path.complain(say("Write the name of the file to make."))
            return
        if not path.suffix:
            path = path.with_name(f"{path.name}.json")
        try:
            words = cardmoving.export(self.cards[self.scope], path)
        except NotKept as no:
            self.path.complain(str(no))
            self.path.take_focus()
            return
        self.folder = path.parent
        self.said.emit(words)
        self.left.emit()


class ImportPanel(_Panel):
    """From which file or folder cards come in; and after that, what came of it."""

    asked = Signal(object)

    def __init__(self, look: Look) -> None:
        super().__init__(look, say("Bring cards in"), "library-import")
        self.path = Typed(look, say("File or folder of cards"), "library-import-path")
        self.path.entered.connect(lambda _: self._enter())
        self.how = Words(look, "small", "quiet")
        self.how.say(say("Or drop files on this page, or paste the text of a card with Ctrl+V."))
        self.told = Words(look, "body", "ink")
        go = BenchButton(look, say("Read it"), "Enter", name="library-import-go", primary=True)
        choose = BenchButton(look, say("Choose"), "Ctrl+O", name="library-import-choose")
        choose.clicked.connect(self.choose)
        back = BenchButton(look, say("Back to the cards"), "Esc", name="library-import-back")
        go.clicked.connect(self._enter)
        back.clicked.connect(self.left)
        for part in (self.path, self.how):
            self.column.addWidget(part)
        self.buttons(go, choose, back)
        self.column.addWidget(self.told)
        self.column.addStretch(1)

    def choose(self) -> None:
        """Choose files in the system's window; they are read at once."""
        dialog = self.open_dialog(say("Bring cards in"), "library-import-dialog")
        dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
        path = typed_path(self.path.text())
        near = documents() if path is None else path if path.is_dir() else path.parent
        dialog.setDirectory(str(near if near.is_dir() else documents()))
        dialog.filesSelected.connect(lambda paths: self.asked.emit(tuple(Path(p) for p in paths)))
        dialog.show()

    def ask(self) -> None:
        """Ask which file."""
        self.told.say("")
        self.path.fill("")
        self.path.take_focus()

    def tell(self, lines: Sequence[str]) -> None:
        """Say what came of it, a line for each matter."""
        rest = len(lines) - MOST_LINES
        more = [say_n("And one more.", "And {n} more.", rest)] if rest > 0 else []
        self.told.say(soft("\n".join([*lines[:MOST_LINES], *more])))

    def _enter(self) -> None:
        path = typed_path(self.path.text())
        if path is None:
            self.path.complain(say("Write the name of a file or folder."))
        else:
            self.asked.emit((path,))


class ClashPanel(_Panel):
    """A card that is here already and differs: how, and which of the two is kept."""

    chosen = Signal(object, bool)

    def __init__(self, look: Look) -> None:
        super().__init__(look, "", "library-clash")
        self.which = Words(look, "body", "quiet")
        self.found = Words(look, "body", "ink")
        self.rest = BenchButton(look, "", "4", name="library-clash-rest")
        self.rest.setCheckable(True)
        rows = (
            (Choice.MINE, say("Keep mine"), "1", "mine"),
            (Choice.NEW, say("Take the new"), "2", "new"),
            (Choice.BOTH, say("Keep both"), "3", "both"),
        )
        self.choices: dict[str, BenchButton] = {}
        for choice, words, key, name in rows:
            button = BenchButton(look, words, key, name=f"library-clash-{name}")
            button.clicked.connect(lambda _=False, c=choice: self.chosen.emit(c, self.rest.isChecked()))
            self.choices[key] = button
        note = Words(look, "small", "quiet")
        note.say(say("What is replaced stays among the earlier versions of its file. Open jobs keep their own copy."))
        leave = BenchButton(look, say("Bring nothing of this file in"), "Esc", name="library-clash-leave")
        leave.clicked.connect(self.left)
        self.column.addWidget(self.which)
        self.column.addWidget(self.found)
        self.buttons(*self.choices.values())
        self.buttons(self.rest, leave)
        self.column.addWidget(note)
        self.column.addStretch(1)

    def show_clash(self, incoming: Incoming) -> None:
        """Show the first card of this file that is undecided."""
        clash = incoming.undecided
        if clash is None:
            return
        left = sum(c.choice is None for c in incoming.clashes)
        name = short_name(clash.mine)
        self.title.say(say("{name} is here already, and the new one differs.", name=name))
        self.which.say(say("{n} of {of} in {file}. What the two say:", n=len(incoming.clashes) - left + 1,
                           of=len(incoming.clashes), file=soft(incoming.name)))  # fmt: skip
        self.found.say(differences_words(clash.found, MOST_LINES, "\n", soft, compared=True))
        self.rest.setChecked(False)
        self.rest.setVisible(left > 1)
        self.rest.say(say_n("The same for the other one", "The same for the other {n}", left - 1))
        self.choices["1"].setFocus()


class Bringing(QObject):
    """Brings files of cards in, one after the other, without holding the window up; asks where cards clash."""

    clashed = Signal(object)
    progressed = Signal(str)
    finished = Signal(object, object)

    def __init__(self, parent: QObject, library: CardLibrary) -> None:
        super().__init__(parent)
        self.library = library
        self.incoming: Incoming | None = None
        self._work: cardmoving.Work = iter(())
        self._words: list[str] = []
        self._broken: list[str] = []
        self.steps = Steps(self)
        self.steps.stepped.connect(lambda p: self.progressed.emit(p.words) if isinstance(p, Progress) else None)
        self.steps.done.connect(self._went_on)
        self.steps.failed.connect(self._failed)
        self.busy = False

    def begin(self, work: cardmoving.Work) -> bool:
        """Bring in what `work` reads; False where something else is still coming in."""
        if self.busy:
            return False
        self.busy, self._work, self._words, self._broken = True, work, [], []
        self.steps.start(self._reading())
        return True

    def decide(self, choice: Choice, *, all_left: bool) -> None:
        """Keep one of the two, or both."""
        if self.incoming is None:
            return
        self.incoming.choose(choice, all_left=all_left)
        self._weigh(self.incoming)

    def leave(self) -> None:
        """Bring nothing of the file in hand in."""
        incoming, self.incoming = self.incoming, None
        if incoming is not None:
            self._words.append(say("{name}: nothing was brought in.", name=incoming.name))
            self.steps.start(self._reading())

    def _reading(self) -> Generator[Progress, None, Brought | None]:
        """Read on, to what the next file brings; None after the last."""
        for step in self._work:
            if not isinstance(step, Progress):
                return step
            yield step
        return None

    def _went_on(self, came: object) -> None:
        if isinstance(came, str):
            self.incoming = None
            self._words.append(came)
            self.steps.start(self._reading())
        elif isinstance(came, Brought):
            incoming = cardmoving.held_against(self.library, came)
            self._broken += incoming.broken
            self._weigh(incoming)
        else:
            self.busy = False
            self.finished.emit(tuple(self._words), tuple(self._broken))

    def _weigh(self, incoming: Incoming) -> None:
        self.incoming = incoming
        if incoming.undecided is not None:
            self.clashed.emit(incoming)
        else:
            self.steps.start(cardmoving.taking_in(self.library, incoming))

    def _failed(self, fault: Exception) -> None:
        if not isinstance(fault, NotKept):
            raise fault
        self._went_on(str(fault))
