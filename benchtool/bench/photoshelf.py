"""The page of photos: those of a piece by the step they show; drop more anywhere on it, look at one, note, move it."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication, QHideEvent, QKeyEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QHBoxLayout,
    QLineEdit,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
)

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.photoshelfacts import ShelfActs
from benchtool.bench.photoshelfbig import BigView, EmptyShelf
from benchtool.bench.photoshelfdrop import ARROWS, DropPage
from benchtool.bench.photoshelffiles import PhotoFiles, sources_in
from benchtool.bench.photoshelfgrid import ShelfArea, ShelfGrid
from benchtool.bench.photoshelfnews import NewsBar
from benchtool.bench.photoshelfpreviews import Bell, Previews
from benchtool.bench.photoshelfside import NO_STEP, PhotoSide
from benchtool.bench.planlists import PickRow
from benchtool.job.record import Job
from benchtool.session.document import Document
from benchtool.session.due import clock_time
from benchtool.session.errands import Errands
from benchtool.session.photocopying import Source
from benchtool.session.photosteps import Group, Shown, taken_words
from benchtool.session.piecephotos import Added, PiecePhotos
from benchtool.session.session import Session
from benchtool.trade.saying import say, say_n

CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
LOOK_AGAIN = timedelta(seconds=5)
"""So often a photo that is not beside the job is looked for again (judgement)."""


class PhotoShelf(DropPage):
    """Shows the photos of the piece in hand."""

    letters = frozenset("O")
    left = Signal()
    said = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look)
        self.session = session
        self.setObjectName("photo-shelf")
        self.setAccessibleName(say("Photos"))
        bell = Bell()
        bell.rang.connect(self._poll, Qt.ConnectionType.QueuedConnection)
        self.photos = PiecePhotos(session, bell.ring)
        self.files = PhotoFiles(self)
        self.one = ShelfActs(session, self.photos, self.files, bell.ring)
        self.previews = Previews()
        for part in (self.photos, self.one.errands, self.previews):
            self.destroyed.connect(partial(_closed, part))
        self.picked: str | None = None
        self.groups: tuple[Group, ...] = ()
        self._job: Job | None = None
        self._piece: str | None = None
        self._looked_at: datetime | None = None
        self._document: Document | None = None
        self._build()
        self._show()

    def _build(self) -> None:
        look = self.look
        self.files.came.connect(self.take_drop)
        self.dropped.connect(self.take_drop)
        self.title, self.about = Words(look, "title", "ink", wrap=False), Words(look, "small", "quiet", wrap=False)
        self.buttons = {
            name: BenchButton(look, words, key, name=f"photos-{name}")
            for name, words, key in (
                ("choose", say("Choose photos"), "O"),
                ("folder", say("From a folder"), "Shift+O"),
                ("paste", say("Paste"), "Ctrl+V"),
                ("back", say("Back"), "Esc"),
            )
        }
        self.acts: dict[str, Callable[[], object]] = {
            "choose": self.files.choose, "folder": self.files.choose_folder, "paste": self.paste,
            "back": self.leave, "large": self.turn_large, "out": self.take_out,
            "copy": partial(self._with_picked, self.one.copy), "save": partial(self._with_picked, self.one.save),
        }  # fmt: skip
        self.news = NewsBar(look)
        self.news.stopped.connect(self.stop)
        self.news.seen.connect(self._seen_lines)
        for name, button in self.buttons.items():
            button.clicked.connect(lambda _=False, name=name: self._do(name))
        self.empty = EmptyShelf(look)
        self.held.connect(lambda over: self.empty.show_for(self.session, over=over))
        self.grid, self.big, self.side = ShelfGrid(look, self.previews), BigView(look, self.previews), PhotoSide(look)
        self.area = ShelfArea(self.grid)
        self.views = QStackedWidget()
        for view in (self.empty, self.area, self.big):
            self.views.addWidget(view)
        self._lay_out()
        self.grid.picked.connect(self.pick)
        self.grid.opened.connect(self.turn_large)
        self.big.turned.connect(lambda by: self.step(Qt.Key.Key_Right if by > 0 else Qt.Key.Key_Left))
        self.big.closed.connect(self.turn_large)
        self.side.acted.connect(self._do)
        self.side.noted.connect(self._note)
        self.side.moved.connect(self._move)
        self.one.said.connect(self.said)
        self.one.renamed.connect(self._renamed)
        self.previews.came.connect(self._came)

    def _lay_out(self) -> None:
        head, told = QHBoxLayout(), QVBoxLayout()
        told.setSpacing(0)
        told.addWidget(self.title)
        told.addWidget(self.about)
        head.setSpacing(GRID)
        head.addLayout(told, 1)
        for button in self.buttons.values():
            button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
            head.addWidget(button)
        middle = QHBoxLayout()
        middle.setSpacing(3 * GRID)
        middle.addWidget(self.views, 1)
        middle.addWidget(self.side)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.setSpacing(2 * GRID)
        column.addLayout(head)
        column.addWidget(self.news)
        column.addLayout(middle, 1)

    # --- coming and going --------------------------------------------------------------------------

    def ask(self, piece: str | None = None) -> None:
        """Show the photos of a piece, which is in hand from then on; else of the one in hand."""
        state = self.session.current.state if self.session.current is not None else None
        if piece is not None and state is not None and piece in state.pieces:
            self.session.pick(piece)
        self.previews.retry()
        self._large(on=False)
        self._show()
        self.take_focus()

    def take_focus(self) -> None:
        """Put the focus on the photo that is picked, else on the page itself."""
        tile = self.grid.tiles.get(self.picked or "")
        if self.views.currentWidget() is self.big:
            self.big.setFocus(Qt.FocusReason.OtherFocusReason)
        elif tile is not None:
            tile.setFocus(Qt.FocusReason.OtherFocusReason)
            self.grid.show_tile(self.area, tile.shown.event)
        else:
            self.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        """Go back to all photos, else to the bench; a photo that is being copied goes on."""
        if self.photos.progress is not None:
            self.stop()
        elif self.views.currentWidget() is self.big:
            self.turn_large()
        else:
            self.side.keep_note()
            self.left.emit()

    def hideEvent(self, event: QHideEvent) -> None:
        self.side.keep_note()
        super().hideEvent(event)

    def refresh(self, now: datetime) -> None:
        """Follow the record; look again for photos that were not beside the job, now and then."""
        if self._stale():
            here = QApplication.focusWidget()
            mine = here is not None and self.grid.isAncestorOf(here)
            self._show()
            if mine:
                self.take_focus()
        if self.previews.troubles and (self._looked_at is None or abs(now - self._looked_at) >= LOOK_AGAIN):
            self._looked_at = now
            self.previews.retry()

    def _stale(self) -> bool:
        document = self.session.current
        job = document.job if document is not None else None
        piece = self.session.piece
        return job is not self._job or (piece.id if piece is not None else None) != self._piece

    # --- adding ------------------------------------------------------------------------------------

    def take_drop(self, sources: Sequence[Source]) -> None:
        """Add photos to the piece in hand: files, folders, or what gives the bytes of one."""
        piece = self.session.piece
        self.one.guarded(lambda: self.photos.add(piece.id if piece is not None else "", sources))
        self.news.tell_lines(())
        self._show_progress()

    def paste(self) -> None:
        """Add what is on the clipboard."""
        found = sources_in(QGuiApplication.clipboard().mimeData())
        if found:
            self.take_drop(found)
        else:
            self.said.emit(say("There is no photo on the clipboard: copy one first."))

    def stop(self) -> None:
        """Copy no further photo."""
        self.said.emit(self.photos.cancel())
        self._show_progress()

    def _poll(self) -> None:
        self.one.errands.poll()
        added = self.photos.poll()
        if added is not None:
            self._added(added)
        self._show_progress()

    def _added(self, added: Added) -> None:
        self.previews.retry()
        self._show()
        if added.events:
            self.pick(added.events[0])
        self.news.tell_lines(added.lines)
        self.said.emit(added.words)

    def _show_progress(self) -> None:
        progress = self.photos.progress
        self.news.tell_progress(progress.words if progress is not None else "")
        self.buttons["back"].show_key("" if progress is not None else "Esc")  # it stops the copying first

    def _seen_lines(self) -> None:
        self.news.tell_lines(())
        self.take_focus()

    # --- what is shown -----------------------------------------------------------------------------

    def _show(self) -> None:
        document, piece = self.session.current, self.session.piece
        self._document, self._job = document, document.job if document is not None else None
        self._piece = piece.id if piece is not None else None
        self.previews.turn_to(document.path if document is not None else None)
        self.groups = self.photos.groups(piece.id) if piece is not None else ()
        now = self.session.now()
        times = [clock_time(g.step.at, now) if g.step is not None else "" for g in self.groups]
        self.grid.show_groups(self.groups, times)
        self.grid.put_between(self.buttons["back"], self.side.note.edit)
        order = self.grid.order
        if self.picked not in order:
            self.picked = order[0] if order else None
        self.grid.pick(self.picked)
        self.title.say(say("Photos of {piece}", piece=piece.piece.name) if piece is not None else say("Photos"))
        self.about.say(self._about(len(order)))
        free = document is not None and not document.read_only and piece is not None
        for name in ("choose", "folder", "paste"):
            self.buttons[name].setEnabled(free)
        self.buttons["choose"].say(say("Choose photos"), primary=free and not order)
        if not order:
            self.empty.show_for(self.session, over=self.held_over)
            self.views.setCurrentWidget(self.empty)
        elif self.views.currentWidget() is self.empty:
            self.views.setCurrentWidget(self.area)
        self._show_picked()

    def _about(self, count: int) -> str:
        read_only = self.session.current.read_only if self.session.current is not None else ""
        told = say_n("{n} photo, kept beside the job.", "{n} photos, kept beside the job.", count) if count else ""
        return " ".join(filter(None, (told, read_only)))

    def _shown(self) -> Shown | None:
        return next((p for group in self.groups for p in group.photos if p.event == self.picked), None)

    def _show_picked(self) -> None:
        shown, order = self._shown(), self.grid.order
        piece, document = self.session.piece, self.session.current
        rows: list[PickRow] = []
        facts, trouble, now = "", "", self.session.now()
        if shown is not None and piece is not None:
            steps = [step for step in self.photos.steps(piece.id) if step.own]
            rows = [PickRow(step.key, step.words, clock_time(step.at, now)) for step in steps]
            rows.append(PickRow(NO_STEP, say("No step")))
            when = say("Added {time}.", time=clock_time(shown.added, now))
            facts = say("Grade {grade}.", grade=shown.grade) if shown.grade else when
            taken = self.previews.taken.get(shown.picture.sha256)
            if taken is not None:
                facts = say("Taken {time}. {more}", time=taken_words(taken, now), more=facts)
            found = self.previews.troubles.get(shown.picture.sha256)
            trouble = found.words if found is not None else ""
        read_only = document is None or bool(document.read_only)
        self.side.show_photo(shown, facts, trouble, rows, read_only=read_only)
        large = self.views.currentWidget() is self.big
        self.side.buttons["large"].say(say("All photos") if large else say("Large"))
        place = order.index(self.picked) + 1 if self.picked in order else 0
        self.big.show_photo(shown, place, len(order))

    def _came(self, sha: str) -> None:
        shown = self._shown()
        if shown is not None and shown.picture.sha256 == sha:
            self._show_picked()

    # --- one photo ---------------------------------------------------------------------------------

    def pick(self, event: str) -> None:
        """Choose a photo."""
        self.side.keep_note()
        self.picked = event
        self.grid.pick(event)
        self._show_picked()
        here = QApplication.focusWidget()
        if here is None or here is self or self.grid.isAncestorOf(here):
            self.take_focus()

    def step(self, key: Qt.Key) -> None:
        """Go to the photo that an arrow key leads to."""
        there = self.grid.beside(self.picked, key)
        if there is not None:
            self.pick(there)

    def turn_large(self) -> None:
        """Show the photo large, or all of them again."""
        self._large(on=self.views.currentWidget() is not self.big)
        self.take_focus()

    def _large(self, *, on: bool) -> None:
        if self.grid.order:
            self.views.setCurrentWidget(self.big if on else self.area)
            self._show_picked()

    def _note(self, event: str, note: str) -> None:
        if self.session.current is self._document:  # else the same name may be another photo's there
            self.one.note(event, note)

    def _move(self, event: str, step: str) -> None:
        self.one.move(event, None if step == NO_STEP else step, self.side.steps.list.currentItem().text())

    def _renamed(self, before: str, after: str) -> None:
        self.picked = after if self.picked == before else self.picked
        self._show()

    def take_out(self) -> None:
        """Take the photo out of the record; its file stays."""
        shown = self._shown()
        if shown is None or shown.grade:
            return
        following = self.grid.following(shown.event)
        if self.one.take_out(shown.event):
            self.picked = following
            self._show()
            self.take_focus()

    def _with_picked(self, act: Callable[[Shown, Path], object]) -> None:
        shown, document = self._shown(), self.session.current
        if shown is not None and document is not None:
            act(shown, document.path)

    # --- undo, keys, drops ---------------------------------------------------------------------------

    def _turn_record(self, act: Callable[[], object]) -> None:
        act()
        self._show()
        self.take_focus()

    def _do(self, name: str) -> None:
        self.one.guarded(self.acts[name])

    def do_act(self, act: Callable[[], object]) -> None:
        """Do what a key asked for, or say why not now."""
        self.one.guarded(act)

    def act_of(self, event: QKeyEvent) -> Callable[[], object] | None:
        """Give what this key does here."""
        key, with_ = Qt.Key(event.key()), event.modifiers()
        here = QApplication.focusWidget()
        if isinstance(here, QLineEdit):
            return self.leave_field if key in (Qt.Key.Key_Escape, Qt.Key.Key_Return, Qt.Key.Key_Enter) else None
        undo, redo = partial(self._turn_record, self.one.undo), partial(self._turn_record, self.session.redo)
        if with_ & CTRL:
            held: dict[Qt.Key, Callable[[], object]] = {
                Qt.Key.Key_Z: redo if with_ & SHIFT else undo, Qt.Key.Key_Y: redo, Qt.Key.Key_V: self.paste,
                Qt.Key.Key_C: self.acts["copy"], Qt.Key.Key_S: self.acts["save"],
            }  # fmt: skip
            return held.get(key)
        if key in ARROWS and (here is self or here is self.big.photo or self.grid.isAncestorOf(here or self)):
            return partial(self.step, key)
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            on_button = isinstance(here, BenchButton) and self.isAncestorOf(here)
            return here.click if on_button and isinstance(here, QAbstractButton) else self.turn_large
        if key == Qt.Key.Key_U:
            return undo
        choose = "folder" if with_ & SHIFT else "choose"
        name = {Qt.Key.Key_O: choose, Qt.Key.Key_Delete: "out", Qt.Key.Key_Escape: "back"}.get(key)
        return self.acts[name] if name is not None else None

    def leave_field(self) -> None:
        """Keep the note that is typed, and go back to its photo."""
        self.side.keep_note()
        self.take_focus()


def _closed(part: PiecePhotos | Errands | Previews, _: object = None) -> None:
    part.close()
