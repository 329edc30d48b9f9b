"""The page on which the stack of a piece is built: pick products, look at the order, put it on in one act."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QBoxLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Rule, Words, scrolled
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.stackdraw import LayerBand
from benchtool.bench.stackpick import CardPicker
from benchtool.bench.stacksaid import SaidPanel
from benchtool.bench.stacktools import StackTools
from benchtool.bench.stackview import StackView
from benchtool.bench.typedkeys import LETTERS, keeps
from benchtool.job.cards import Card
from benchtool.job.state import PieceState
from benchtool.session import stackagainst, stackbuilding
from benchtool.session.cardreading import Wrong
from benchtool.session.session import NotNow, Session
from benchtool.session.stackagainst import Judged
from benchtool.session.stackbuilding import Build
from benchtool.trade.saying import say

_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class StackBuildPage(QWidget):
    """Left the cards to pick from, right the stack as it would be, and what speaks against it."""

    letters = LETTERS
    left = Signal()
    said = Signal(str)
    card_asked = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("build-page")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.build: Build | None = None
        self.key = ""
        self._kept: dict[tuple[object, str], Build] = {}
        self._document: object = None
        self.wide = False
        self._judged = Judged(said=())
        self._acting = False
        self.picker = CardPicker(look, session)
        self.picker.picked.connect(self._add)
        self.picker.card_asked.connect(self.card_asked)
        for watched in (self.picker.list.search.edit, self.picker.list.list):
            watched.installEventFilter(self)
        self._make_stack()
        self._lay_out()
        session.subscribe(self._follow)
        look.changed.connect(self._entitle)

    # --- making ------------------------------------------------------------------------------------

    def _make_stack(self) -> None:
        look = self.look
        self.title = Words(look, "title", "ink", wrap=False)
        self.title.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.view = StackView(look)
        self.view.picked.connect(self._pick)
        self.tools = StackTools(look)
        self.order = BenchButton(look, say("In the order offered"), "Ctrl+R", name="build-order")
        self.panel = SaidPanel(look)
        self.panel_area = scrolled(self.panel)
        self.go = BenchButton(look, say("Put this stack on the piece"), "Ctrl+Enter", name="build-go", primary=True)
        self.back = BenchButton(look, say("Back to the bench"), "Esc", name="build-back")
        self.tools.moved.connect(lambda up: self._move(up=up))
        self.tools.coated.connect(self._coats)
        self.tools.out.clicked.connect(self._take_out)
        self.tools.colour.clicked.connect(self._ask_colour)
        self.tools.coloured.connect(self._colour)
        self.tools.noted.connect(self._note)
        self.tools.opened.connect(self._fit_panel)
        self.tools.closed.connect(self._fit_panel)
        self.tools.closed.connect(lambda: self.view.take_focus(self.key))
        self.order.clicked.connect(self._in_order)
        self.panel.wanted.connect(self._help)
        self.go.clicked.connect(self._put)
        self.back.clicked.connect(self.left)

    def _lay_out(self) -> None:
        look = self.look
        self.stack = QVBoxLayout()
        self.stack.addWidget(self.view, 1)
        self.stack.addWidget(self.tools)
        self.sides = QBoxLayout(QBoxLayout.Direction.TopToBottom)
        self.sides.setSpacing(GRID)
        self.sides.addLayout(self.stack, 3)
        self.sides.addWidget(self.panel_area, 2)
        columns = QHBoxLayout()
        columns.setSpacing(2 * GRID)
        columns.addWidget(self.picker, 2)
        columns.addWidget(Rule(look, upright=True))
        columns.addLayout(self.sides, 3)
        self.columns = columns
        foot = QHBoxLayout()
        foot.setSpacing(GRID)
        for button in (self.go, self.order, self.back):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            foot.addWidget(button)
        foot.insertStretch(2, 1)
        self.column = column = QVBoxLayout(self)
        column.addWidget(self.title)
        column.addLayout(columns, 1)
        column.addLayout(foot)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.take_focus()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.wide = self.width() >= 190 * GRID
        self.sides.setDirection(QBoxLayout.Direction.LeftToRight if self.wide else QBoxLayout.Direction.TopToBottom)
        self.sides.setSpacing(2 * GRID if self.wide else GRID // 2)
        self.columns.setStretch(2, 5 if self.wide else 3)
        low = self.height() < 50 * GRID
        gap = GRID // 2 if low else GRID
        self.title.setVisible(not low)  # the header names the piece too
        self.column.setContentsMargins(2 * GRID, gap, 2 * GRID, gap)
        self.column.setSpacing(gap)
        self.stack.setSpacing(gap)
        self._entitle()
        self._fit_panel()

    def _fit_panel(self) -> None:
        """Beside the stack the words take its height; under it what they need, and what the stack does not."""
        least, most = 0, 0x00FF_FFFF
        if not self.wide:
            title = self.title.sizeHint().height() + GRID if self.title.isVisibleTo(self) else 0
            tools = max(self.look.target, self.tools.sizeHint().height())
            room = self.height() - title - self.look.target - tools - 3 * GRID
            wished = max(0.22 * self.height(), min(room - self.view.needed, 0.45 * self.height()))
            # Two rows of colours in a low window leave the words no room: they come back with the buttons.
            fewest = 0.0 if self.tools.asking else 3.5 * GRID
            share = max(fewest, min(wished, room - self.view.least))
            least = most = min(self.panel.needed(self.panel_area.viewport().width()), int(share))
        self.panel_area.setMinimumHeight(least)
        self.panel_area.setMaximumHeight(most)
        QTimer.singleShot(0, self, lambda: self.view.roll_to(self.key))

    # --- what it is about --------------------------------------------------------------------------

    def ask(self, piece: PieceState) -> None:
        """Build the stack of this piece. What was built of it before and not put on yet is still there.

        Raises:
            NotNow: no job is open, or it is read-only.
        """
        self._keep()
        self.tools.leave_colour()
        self.build = self._taken_up(piece)
        self.key = self.build.rows[-1].key if self.build.rows else ""
        self.picker.gather()
        self._aim()
        self._show()
        self.take_focus()

    def _taken_up(self, piece: PieceState) -> Build:
        before = self._kept.pop((self.session.current, piece.id), None)
        if before is None:
            return stackbuilding.begin(self.session, piece)
        return stackbuilding.again(self.session, piece, before)

    def _keep(self) -> None:
        if self.build is not None and self.build.rows != self.build.taken_up:
            self._kept[self._document, self.build.piece.id] = self.build
        self.build = None
        open_ = self.session.documents
        self._kept = {key: build for key, build in self._kept.items() if key[0] in open_}
        self._document = self.session.current

    def take_card(self, card: Card) -> None:
        """Take a card that was asked for and made: it goes into the stack."""
        self.picker.take(card)
        self._aim()
        if self.build is not None:
            self.build, self.key = stackbuilding.take(self.build, card, self.session.tables)
            self._show()
        self.take_focus()

    def _aim(self) -> None:
        """Let the page hand its focus to the field, where there is anything to pick from."""
        proxy = self.picker.list.search.edit if self.picker.cards else None
        self.setFocusProxy(proxy)  # type: ignore[arg-type]  # None takes it away: only the stubs don't know

    def take_focus(self) -> None:
        """Put the cursor where the next product is typed."""
        if not self.picker.take_focus():
            self.setFocus(Qt.FocusReason.OtherFocusReason)

    def _follow(self) -> None:
        """The job has changed: what was built is taken up over what it has now."""
        if not self.isVisible() or self._acting or self.build is None:
            return
        document = self.session.current
        piece = document.state.pieces.get(self.build.piece.id) if document is self._document and document else None
        if piece is None or document is None or document.read_only:
            self.left.emit()
            return
        self.build = stackbuilding.again(self.session, piece, self.build)
        self._show()

    # --- the stack ---------------------------------------------------------------------------------

    def _show(self) -> None:
        """Draw the stack as it would be, and say what speaks against it."""
        build = self.build
        if build is None:
            return
        if build.row(self.key) is None:
            self.key = build.rows[-1].key if build.rows else ""
        try:
            self._judged = stackagainst.against(self.session, build)
        except (NotNow, Wrong) as wrong:
            self._judged = Judged(said=())
            self.said.emit(str(wrong))
        self._entitle()
        self._draw()
        cards = self.picker.cards
        helping = [
            (m.words, under, stackagainst.what_helps(build, m, under, cards, self.session.tables))
            for m, under in self._judged.missing
        ]
        self.panel.show_said(
            stackagainst.total_words(build.rows),
            stackagainst.order_words(build, self.session.tables),
            helping,
            self._judged.said,
        )
        self.panel_area.verticalScrollBar().setValue(0)
        self.panel_area.setVisible(bool(build.rows))
        self._fit_panel()
        self._enable()

    def _enable(self) -> None:
        build = self.build
        self.tools.enable(build.row(self.key) if build is not None else None)
        offered = stackbuilding.in_order(build, self.session.tables) if build is not None else None
        self.order.setEnabled(build is not None and offered is not None and offered.rows != build.rows)
        self.tools.setVisible(build is not None and bool(build.rows))

    def _draw(self) -> None:
        if self.build is not None:
            self.view.show_stack(self.build, self._judged, self.key, self.session.tables)

    def _entitle(self) -> None:
        if self.build is None:
            return
        heading = say("The stack of {piece}", piece=self.build.piece.name)
        self.title.say(elided(heading, self.look.title, max(self.width() - 4 * GRID, 40 * GRID)))
        self.title.setToolTip(heading)

    # --- acts --------------------------------------------------------------------------------------

    def _add(self, card: Card) -> None:
        if self.build is not None:
            self.build, self.key = stackbuilding.pick(self.build, card, self.session.tables)
            self._show()

    def _help(self, card: Card, under: str) -> None:
        if self.build is not None:
            self.build, self.key = stackbuilding.pick(self.build, card, self.session.tables, under)
            self._show()
            self.take_focus()

    def _pick(self, key: str) -> None:
        self.tools.leave_colour()
        self.key = key
        self._draw()
        self._enable()

    def _step(self, *, up: bool) -> None:
        """Take the layer drawn above or below in hand."""
        self._pick(self.view.beside(self.key, up=up))
        self.view.take_focus(self.key)

    def _change(self, build: Build) -> None:
        self.build = build
        self._show()

    def _move(self, *, up: bool) -> None:
        if self.build is not None and self.key:
            later = up is not self.view.behind
            self._change(stackbuilding.move(self.build, self.key, 1 if later else -1))

    def _coats(self, by: int) -> None:
        if self.build is not None and self.key:
            self._change(stackbuilding.coats(self.build, self.key, by))

    def _ask_colour(self) -> None:
        self.tools.ask_colour(self.build.row(self.key) if self.build is not None else None)

    def _colour(self, colour: str | None) -> None:
        if self.build is not None and self.key:
            self._change(stackbuilding.colour(self.build, self.key, colour))

    def _note(self, typed: str) -> None:
        if self.build is not None and self.key:  # it changes nothing of what is drawn or said
            self.build = stackbuilding.note(self.build, self.key, typed)

    def _take_out(self) -> None:
        if self.build is not None and self.key:
            keys = [r.key for r in self.build.rows]
            at = keys.index(self.key)
            changed = stackbuilding.take_out(self.build, self.key)
            left = [r.key for r in changed.rows]
            self.key = left[min(at, len(left) - 1)] if left else ""
            self._change(changed)

    def _in_order(self) -> None:
        if self.build is not None:
            self._change(stackbuilding.in_order(self.build, self.session.tables))

    def _put(self) -> None:
        """Put the stack on the piece: one act, which one undo takes back."""
        build = self.build
        if build is None or (self.tools.asking and not self.tools.close_colour()):
            return
        self._acting = True
        try:
            drafts = stackbuilding.drafts(self.session, build)
            made = self.session.apply(*drafts) if drafts else ()
        except (NotNow, Wrong) as wrong:
            self.said.emit(str(wrong))
            return
        finally:
            self._acting = False
        self.build = None
        if self.session.piece_id is not None:
            self.session.pick(build.piece.id)
        self.left.emit()
        self.said.emit(stackbuilding.done_words(build, bool(made)))

    # --- the keyboard ------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Keep for the page its own keys, and all that is typed: elsewhere in the window they are other acts."""
        return keeps(event, self._act) or super().event(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take from the field and the list of cards what is an act on the stack."""
        if not isinstance(event, QKeyEvent) or event.type() is not QEvent.Type.KeyPress:
            return False
        ctrl = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        plain = event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down) and not ctrl
        act = self._act(event)
        if act is None or plain:
            return False
        act()
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        act = self._act(event)
        if act is None:
            super().keyPressEvent(event)
            return
        act()
        event.accept()

    def _act(self, event: QKeyEvent) -> Callable[[], None] | None:
        """Give what a key does here; None where it is text, or nothing."""
        key = Qt.Key(event.key())
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            return {
                Qt.Key.Key_Up: lambda: self._move(up=True), Qt.Key.Key_Down: lambda: self._move(up=False),
                Qt.Key.Key_Return: self._put, Qt.Key.Key_Enter: self._put, Qt.Key.Key_R: self._in_order,
                Qt.Key.Key_N: lambda: self.card_asked.emit(None),
            }.get(key)  # fmt: skip
        if key in _ENTER:
            return self._enter
        if key == Qt.Key.Key_Escape:
            return self.tools.leave_colour if self.tools.asking else self.left.emit
        if self.picker.typing(key):
            return None
        acts: dict[Qt.Key, Callable[[], None]] = {
            Qt.Key.Key_Up: lambda: self._step(up=True), Qt.Key.Key_Down: lambda: self._step(up=False),
            Qt.Key.Key_Plus: lambda: self._coats(1), Qt.Key.Key_Equal: lambda: self._coats(1),
            Qt.Key.Key_Minus: lambda: self._coats(-1), Qt.Key.Key_Delete: self._take_out,
            Qt.Key.Key_Backspace: self._take_out, Qt.Key.Key_PageUp: lambda: self._roll(-1),
            Qt.Key.Key_PageDown: lambda: self._roll(1), Qt.Key.Key_C: self._ask_colour,
        }  # fmt: skip
        if key == Qt.Key.Key_N and not self.picker.cards:
            return lambda: self.card_asked.emit(None)
        return acts.get(key)

    def _roll(self, by: int) -> None:
        bar = self.panel_area.verticalScrollBar()
        bar.setValue(bar.value() + by * bar.pageStep())

    def _enter(self) -> None:
        """Enter adds the card in the field or the list, clicks a button, and else puts the stack on the piece."""
        here = QApplication.focusWidget()
        if here in (self.picker.list.search.edit, self.picker.list.list):
            self.picker.pick()
        elif here in (self.tools.field.edit, self.tools.note.edit):
            self.tools.close_colour()
        elif isinstance(here, QAbstractButton) and not isinstance(here, LayerBand):
            here.click()
        else:
            self._put()
