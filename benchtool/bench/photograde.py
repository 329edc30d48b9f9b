"""The page that measures a photo of a cross-cut: drop it, show its corners, look at the bare area, take the grade."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent, QKeyEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QHBoxLayout, QStackedWidget, QWidget

from benchtool.bench.look import GRID, Look
from benchtool.bench.photoin import PhotoIn
from benchtool.bench.photomask import STRENGTHS, MaskView
from benchtool.bench.photoside import EmptyView, PhotoSide
from benchtool.bench.photoview import WHOLE, CornerView
from benchtool.bench.typedkeys import keeps
from benchtool.job import events as ev
from benchtool.session import photohand
from benchtool.session.photohand import Answer, HandMask
from benchtool.session.photos import Doing, PhotoWork, Source, Taken
from benchtool.session.session import Session
from benchtool.trade.crosscut import Grid
from benchtool.trade.grades import title
from benchtool.trade.saying import say

CTRL = Qt.KeyboardModifier.ControlModifier
_Key = tuple[str, str, str, ev.Method]


class _Bell(QObject):
    """Rung by the worker, heard in the window's own thread."""

    rang = Signal()

    def ring(self) -> None:
        """Ring it; who holds this method keeps the bell."""
        self.rang.emit()


class PhotoPage(QWidget):
    """Measures one photo for one test of one strip. `measured` gives percent, plus-minus, grades, and the photo."""

    said = Signal(str)
    left = Signal()
    measured = Signal(float, float, object, object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("photo-page")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAcceptDrops(True)
        bell = _Bell()
        bell.rang.connect(self._poll, Qt.ConnectionType.QueuedConnection)
        self.work = PhotoWork(bell.ring)
        work = self.work
        self.destroyed.connect(lambda _=None: work.close())
        self.method = ev.Method.ISO_2409
        self.hand: HandMask | None = None
        self.answer: Answer | None = None
        self.cuts, self.placed, self.correcting = 6, False, False
        self._key: _Key | None = None
        self._left: dict[_Key, tuple[ev.Photo, HandMask | None]] = {}
        self._given: set[_Key] = set()
        self._picked = ""
        self._wanted: str | None = None
        self._seen: tuple[object, ...] = (None, None, None)
        self.way_in = PhotoIn(self)
        self.empty, self.corners, self.square = EmptyView(look), CornerView(look), MaskView(look)
        self.views = QStackedWidget()
        for view in (self.empty, self.corners, self.square):
            self.views.addWidget(view)
        self.side = PhotoSide(look)
        row = QHBoxLayout(self)
        row.setContentsMargins(GRID, GRID, 2 * GRID, GRID)
        row.setSpacing(2 * GRID)
        row.addWidget(self.views, 1)
        row.addWidget(self.side)
        self._connect()
        self._show()

    def _connect(self) -> None:
        self.acts: dict[str, Callable[[], object]] = {
            "open": self.way_in.choose, "paste": self.way_in.paste, "find": self.find_again, "corners": self.to_corners,
            "undo": self.undo, "strength": self.turn_strength, "smaller": lambda: self.square.resize_brush(-1),
            "larger": lambda: self.square.resize_brush(1), "go": self.go, "back": self.leave,
        }  # fmt: skip
        self.way_in.came.connect(self.open)
        self.way_in.said.connect(self.said)
        self.side.acted.connect(lambda name: self.acts[name]())
        self.side.graded.connect(self.take)
        self.side.cuts_chosen.connect(self.set_cuts)
        self.side.marks_chosen.connect(self._set_marks)
        self.corners.moved.connect(self._corner_moved)
        self.square.stroked.connect(self._recount)
        self.square.sized.connect(self._show)

    # --- coming and going --------------------------------------------------------------------------

    def ask(self, trial: str, strip: str, method: ev.Method, cuts: int = 6) -> None:
        """Measure a photo for this test; one that was measured or begun for it is taken up again."""
        document = self.session.current
        if document is None:
            return
        key = (str(document.path), trial, strip, method)
        state, piece = document.state.trials.get(trial), document.state.pieces.get(strip)
        self.side.entitle(piece.piece.name if piece is not None else strip, title(method))
        if key == self._key:
            self._show()
            return
        self._set_aside()
        self._key, self.method, self._picked = key, method, ""
        self.cuts = cuts
        aside = self._left.pop(key, None)
        graded = state.newest(strip) if state is not None else ()
        photo = next((g.given.photo for g in graded if g.given.method is method and g.given.photo is not None), None)
        self.hand = self.answer = self._wanted = None
        self.correcting = self.placed = False
        read_only = bool(document.read_only)
        if aside is not None:
            mask = aside[1].mask if aside[1] is not None else None
            self.work.again(document.path, aside[0], mask, read_only=read_only)
        elif photo is not None:
            self.work.again(document.path, photo, read_only=read_only)
        else:
            self.work.begin()
        self._seen = (None, None, None)
        self._show()

    def _set_aside(self) -> None:
        """Keep what was begun for the test before, to go on with when it is asked for again."""
        shot = self.work.shot
        if self._key is None or shot is None or self.work.job is None:
            return
        hand = self.hand if self.hand is not None and self.hand.corrected else None
        corners = self.corners.corners if self.placed else ()
        photo = ev.Photo(
            name=shot.name, sha256=shot.sha256, cuts=self.cuts, corners=corners, corrected=hand is not None
        )
        self._left[self._key] = (photo, hand)

    def let_go(self) -> None:
        """Free a photo that lies beside the job: where it is asked for again it is read again, and is as it was."""
        work = self.work
        if self.way_in.dialog is not None:
            self.way_in.dialog.close()
        if self._key is None or work.doing or work.shot is None or work.shot.unkept or work.job is None:
            return
        self._set_aside()
        self._key, self._seen = None, (None, None, None)
        work.begin()
        self.hand = self.answer = self._wanted = None
        self.correcting = self.placed = False
        self.corners.show_photo(None, None)
        self.square.show_nothing()
        self._show()

    @property
    def brushed(self) -> tuple[Path, str, str, ev.Method] | None:
        """The job, trial, strip and test of a photo that was corrected by hand and not taken yet."""
        keys = [k for k, (_, hand) in self._left.items() if hand is not None]
        if self._key is not None and self.hand is not None and self.hand.corrected:
            keys.append(self._key)
        found = next((k for k in keys if k not in self._given), None)
        return (Path(found[0]), *found[1:]) if found is not None else None

    def leave(self) -> None:
        """Stop what is under way; where nothing is, go back. What was begun stays."""
        if self.work.doing:
            self.work.cancel()
            self.said.emit(say("Stopped."))
            self._show()
        else:
            self.left.emit()

    # --- a photo comes in --------------------------------------------------------------------------

    def open(self, source: Source) -> None:
        """Read this photo."""
        document = self.session.current
        if self._key is not None:  # another job may be in hand by the time the file is chosen
            document = next((d for d in self.session.documents if str(d.path) == self._key[0]), None)
        job = document.path if document is not None and not document.read_only else None
        self.work.open(source, job, self.cuts)
        self._show()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls() or event.mimeData().hasImage():
            event.acceptProposedAction()
            self.empty.tell(self.work.doing.words, over=True)

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        self.empty.tell(self.work.doing.words)

    def dropEvent(self, event: QDropEvent) -> None:
        event.acceptProposedAction()
        self.empty.tell(self.work.doing.words)
        self.way_in.drop(event.mimeData())

    # --- the worker is done ------------------------------------------------------------------------

    def _poll(self) -> None:
        work = self.work
        if not work.poll():
            return
        if work.trouble:
            self.said.emit(work.trouble)
        shot, grid, first = work.shot, work.grid, work.measured
        before, self._seen = self._seen, (shot, grid, first)
        if shot is not None and shot is not before[0]:
            self.corners.show_photo(shot.preview, shot.photo.pixels)
            self.hand, self.correcting = None, False
            if shot.unkept:
                self.said.emit(shot.unkept)
        if grid is not before[1] or (shot is not before[0] and grid is None):
            self._lay_grid(grid)
        if first is not None and first is not before[2]:
            begun = work.counted if work.counted is not None else first
            self.hand = HandMask(begun.mask, first.counted, corrected=begun is not first)
            self.square.show_measured(first, self.hand)
            self.correcting = True
        if work.counted is not None:
            self.answer = photohand.answer(self.method, work.counted)
        if work.taken is not None:
            self._give(work.taken)
            return
        self._show()
        wanted, self._wanted = self._wanted, None
        if wanted is not None and self.answer is not None and not work.trouble:
            self.take(wanted) if wanted in self.answer.candidates else self.go()

    def _lay_grid(self, grid: Grid | None) -> None:
        self.placed = grid is not None
        self.corners.set_grid(grid.corners if grid is not None else WHOLE, grid.cuts if grid is not None else self.cuts)
        self.cuts = self.corners.cuts

    def _give(self, taken: Taken) -> None:
        answer = photohand.answer(self.method, taken.measured)
        grades = (self._picked,) if self._picked else answer.candidates
        if self._key is not None:
            self._given.add(self._key)
        self._show()
        self.measured.emit(answer.percent, answer.plus_minus, grades, taken.photo)
        if taken.unkept:  # last, so that no other word takes its place
            self.said.emit(taken.unkept)

    # --- acts --------------------------------------------------------------------------------------

    @property
    def step(self) -> str:
        """`empty`, `corners` or `mask`."""
        if self.work.shot is None:
            return "empty"
        return "mask" if self.correcting and self.hand is not None else "corners"

    def go(self) -> None:
        """Do the obvious next act; while it still counts, as soon as it is done."""
        if self.work.doing:
            self._wanted = "" if self.work.doing is Doing.COUNTING else None
            return
        if self.step == "empty":
            self.way_in.choose()
        elif self.step == "corners":
            self.measure()
        elif self.answer is not None:
            found = self.answer.candidates
            if self.answer.unknown or len(found) > 1:
                self.said.emit(self.answer.ask)
            else:
                self.take(found[0])

    def measure(self) -> None:
        """Measure inside the four corners; where they stand as they were measured, go back to what was found."""
        if not self.placed:
            self.said.emit(say("Put the four corners where the outermost cuts cross, then measure."))
            return
        grid = Grid(self.corners.corners, self.corners.cuts)
        if self.hand is not None and self.work.measured is not None and grid == self.work.measured.grid:
            self.correcting = True
        else:
            self.work.measure(grid)
        self._show()

    def take(self, grade: str) -> None:
        """Take this grade, with the photo and what was marked on it."""
        if self.work.doing is Doing.COUNTING:
            self._wanted = grade
            return
        if self.work.doing or self.hand is None:
            return
        self._picked = grade
        self.work.take(self.hand.mask, corrected=self.hand.corrected)
        self._show()

    def find_again(self) -> None:
        """Look for the lattice once more."""
        self.work.find(self.cuts)
        self._show()

    def set_cuts(self, cuts: int) -> None:
        """Take another number of cuts, and look for them where no hand has placed the corners."""
        if self.step != "corners" or cuts == self.corners.cuts:
            self._show()
            return
        self.cuts = cuts
        self.corners.set_grid(self.corners.corners, cuts)
        if self.work.grid is None or self.corners.corners == self.work.grid.corners:
            self.find_again()
        self._show()

    def to_corners(self) -> None:
        """Go back to the photo and its corners."""
        if self.step == "mask" and not self.work.doing:
            self.correcting = False
            self._show()

    def undo(self) -> None:
        """Take the last stroke back."""
        if self.step == "mask" and self.hand is not None and not self.square.frozen and self.hand.undo():
            self.square.update()
            self._recount()

    def turn_strength(self) -> None:
        """Show the mask stronger, not at all, or faintly."""
        self.square.turn_strength()
        self._show()

    def _set_marks(self, bare: bool) -> None:
        self.square.marks_bare = bare
        self._show()

    def _corner_moved(self) -> None:
        if not self.placed:
            self.placed = True
            self._show()

    def _recount(self) -> None:
        if self.hand is not None:
            if self._key is not None:
                self._given.discard(self._key)
            self.work.recount(self.hand.mask)
            self._show()

    # --- what is shown -----------------------------------------------------------------------------

    def _show(self) -> None:
        work, step = self.work, self.step
        view = {"empty": self.empty, "corners": self.corners, "mask": self.square}[step]
        if self.views.currentWidget() is not view or self.focusProxy() is not view:
            here = QApplication.focusWidget()
            mine = here is not None and (here is self or self.isAncestorOf(here))
            self.views.setCurrentWidget(view)
            self.setFocusProxy(view)
            if mine:
                view.setFocus(Qt.FocusReason.OtherFocusReason)
        self.square.frozen = work.doing not in (Doing.NOTHING, Doing.COUNTING)
        self.empty.tell(work.doing.words)
        doing = "" if work.doing is Doing.COUNTING else work.doing.words
        trouble = work.trouble or (work.shot.unkept if work.shot is not None else "")
        self.side.show_step(step, doing=doing, trouble=trouble, lead=self._lead())
        self.side.show_cuts(self.cuts)
        words = (say("Mask: none"), say("Mask: faint"), say("Mask: strong"))[self.square.strength % len(STRENGTHS)]
        strokes = self.hand.strokes if self.hand is not None else 0
        self.side.show_brush(bare=self.square.marks_bare, strokes=strokes, strength=words)
        if step == "mask":
            self.side.show_answer(self.answer)

    def _lead(self) -> str:
        if self.step == "empty":
            return say("Drop a photo of the cross-cut anywhere here, paste it, or choose its file.")
        if self.step == "mask":
            return say("Look whether the hatched area is what came off, and brush it right where it is not.")
        if not self.placed:
            return say("The lattice was not found. Drag the four corners to where the outermost cuts cross.")
        if self.hand is not None and self.hand.corrected:
            return say("Move a corner and measure anew: what you corrected by brush is then let go.")
        return say(
            "Look whether the lines lie on the cuts. Drag a corner where they don't, or Tab to it and use arrows."
        )

    # --- the keyboard ------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Keep what is typed for the page: elsewhere in the window these keys are other acts."""
        return keeps(event, self._act_of) or super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        act = self._act_of(event)
        if act is None:
            super().keyPressEvent(event)
            return
        event.accept()
        if not event.isAutoRepeat() or event.key() in (Qt.Key.Key_BracketLeft, Qt.Key.Key_BracketRight):
            act()

    def _act_of(self, event: QKeyEvent) -> Callable[[], object] | None:
        key, ctrl = event.key(), event.modifiers() == CTRL
        if ctrl:
            return {Qt.Key.Key_Z: self.undo, Qt.Key.Key_V: self.way_in.paste}.get(Qt.Key(key))
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            here = QApplication.focusWidget()
            return here.click if isinstance(here, QAbstractButton) and self.isAncestorOf(here) else self.go
        number = key - Qt.Key.Key_0
        if 0 <= number <= 9:
            return lambda: self._digit(number)
        names = {
            Qt.Key.Key_O: "open", Qt.Key.Key_F: "find", Qt.Key.Key_B: "corners", Qt.Key.Key_M: "strength",
            Qt.Key.Key_BracketLeft: "smaller", Qt.Key.Key_BracketRight: "larger", Qt.Key.Key_Escape: "back",
        }  # fmt: skip
        if key == Qt.Key.Key_C:
            return lambda: self.set_cuts(11 if self.cuts == 6 else 6)
        if key == Qt.Key.Key_X:
            return lambda: self._set_marks(not self.square.marks_bare)
        name = names.get(Qt.Key(key))
        return self.acts[name] if name is not None else None

    def _digit(self, number: int) -> None:
        if self.step == "mask" and self.answer is not None and not self.answer.unknown:
            # the figure of the grade itself: a place in the row would be taken for it
            grade = next((g for g in self.answer.candidates if g.startswith(str(number))), None)
            if grade is not None:
                self.take(grade)
