"""The page of a piece."""

from dataclasses import replace

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.planparts import FieldRow, Options, Typed
from benchtool.bench.plansheet import Done, Section, Sheet, Unfinished
from benchtool.job.events import Clue, Face, Known, Shape
from benchtool.job.state import PieceState
from benchtool.session import materials, planning
from benchtool.session.areas import area_told
from benchtool.session.drafts import PieceDrafts
from benchtool.session.planning import PieceText
from benchtool.session.session import NotNow, Session
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex, Substrate

DRAFT_MS = 1_500
"""So long (ms) after a key what is half typed of a piece is on disk (judgement)."""


class PieceForm(Sheet):
    """A piece: its name, what it is made of, how that is known, whether it bends, the painted face, its shape."""

    identify_asked = Signal()

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "plan-piece", least=45 * GRID, most=70 * GRID)
        self.session = session
        self._drafts = PieceDrafts(session.drafts().file) if session.drafts is not None else None
        self._draft: tuple[str, str] | None = None
        self._fresh, self._on_disk = PieceText(), PieceText()
        self._saver = QTimer(self)
        self._saver.setObjectName("piece-draft")
        self._saver.setSingleShot(True)
        self._saver.setInterval(DRAFT_MS)
        self._saver.timeout.connect(self.save_draft)
        self._clues: tuple[Clue, ...] = ()
        self.piece_id: str | None = None
        self.unfinished = Unfinished[PieceText]()
        self._told_flex = self._told_known = False
        self.mark = self._mark_before = ""
        self.name = Typed(look, "What do you call it?", "piece-name", "Left side panel")
        self.material = PickList(look, "Made of", "piece-material", search="Type to narrow: polypropylene, >PP<, steel")
        self.known = Options(look, "How do you know?", "piece-known")
        self.flex = Options(look, "In use it is", "piece-flex")
        self.face = Options(look, "Painted", "piece-face")
        self.shape = Options(look, say("Its face and shape"), "piece-shape", several=True)
        self.joined = Typed(
            look, say("Other materials on it"), "piece-joined", say("Steel screws, brass insert"), self._told_joined
        )
        self.batch = Typed(look, say("Lot of the material"), "piece-batch", say("Sheet 3, bought in March"))
        self.surface = Typed(
            look,
            say("Area, if you know it"),
            "piece-area",
            say("0.8 m2 or 30 x 40 cm"),
            lambda typed: area_told(session.measures, typed),
        )
        self.add_button(say("Find out what it is made of"), "piece-identify", "F6").clicked.connect(self.identify_asked)
        first, second, third = Section(look, "", stretch=True), Section(look, ""), Section(look, "")
        first.add(self.name)
        first.add(self.material, stretch=1)
        fields = FieldRow(look, (self.batch, self.surface))
        first.add(fields)
        same_lot = Words(look, "small", "quiet")
        same_lot.say(say("A test strip speaks for its own lot only: write the same on what was cut from one."))
        first.add(same_lot)
        second.add(self.known, self.flex)
        third.add(self.face, self.shape, self.joined)
        self.asks = {
            "name": self.name, "substrate": self.material, "batch": self.batch, "area": self.surface,
            "known": self.known, "flex": self.flex, "face": self.face, "shape": self.shape, "joined": self.joined,
        }  # fmt: skip
        for ask in (self.name, self.known, self.flex):
            ask.keep_room()
        fields.keep_room()
        self.lay_out((first, second, third), {1: ((0, 1, 2),), 2: ((0,), (1, 2))})
        self.known.offer(
            [(Known.MARKED.value, "Marked on it"), (Known.TOLD.value, "I was told"), (Known.GUESSED.value, "Guessed")]
        )
        self.flex.offer([(Flex.RIGID.value, "Rigid"), (Flex.FLEXIBLE.value, "Flexible")])
        self.face.offer([(Face.OUTSIDE.value, "Outside"), (Face.BEHIND_CLEAR.value, "Behind clear")])
        self.shape.offer([(Shape.TEXTURED.value, say("Textured")), (Shape.NOOKS.value, say("Deep nooks"))])
        self.material.searched.connect(self._search)
        self.material.chosen.connect(lambda _: self._follow())
        self.flex.chosen.connect(self._flex_told)
        self.known.chosen.connect(self._known_told)
        self.face.chosen.connect(lambda _: self._explain_face())
        for line in (self.name, self.joined, self.batch, self.surface):
            line.edit.textChanged.connect(self._save_soon)
        for choice in (self.material, self.known, self.flex, self.face, self.shape):
            choice.chosen.connect(self._save_soon)

    def ask(self, piece: PieceState | None) -> None:
        """Ask for a new piece, or for what is different about this one. What was half typed is still there."""
        self.unfinished.leave(self.text())
        self.save_draft()
        self._draft = None
        self.piece_id = piece.id if piece is not None else None
        if piece is None:
            self.head("New piece", "Add the piece")
            self._fill(PieceText())
        else:
            self.head(f"Change {piece.piece.name}", "Save the piece")
            self._fill(planning.write_piece(self.session, piece.piece))
        self._told_flex = self._told_known = piece is not None
        self._fresh = self._on_disk = self.text()
        kept = self._take_up()
        half = self.unfinished.come(self.piece_id or "", self._fresh) or kept
        if half is not None:
            self._fill(half)
            self._told_flex, self._told_known = half.flex is not None, half.known is not None

    # --- what is half typed is on disk too: a crash loses none of it ---------------------------------

    def _take_up(self) -> PieceText | None:
        """Begin to keep what is typed; gives what was, in a window that ended."""
        document = self.session.current
        if self._drafts is None or document is None:
            return None
        self._draft = document.job.id, self.piece_id or ""
        half = self._drafts.find(*self._draft)
        if half is not None:
            self._on_disk = half
        return half

    def _save_soon(self, _: object = None) -> None:
        if self._draft is not None and self.isVisible() and not self._saver.isActive():
            self._saver.start()  # not put off by the next key: whoever types on and on loses no more than this

    def save_draft(self) -> None:
        """Keep what is typed now on disk, where it has changed; where it is as it began, forget what was."""
        self._saver.stop()
        typed = self.text()
        if self._drafts is None or self._draft is None or typed == self._on_disk:
            return
        self._on_disk = typed
        if typed == self._fresh:
            self._drafts.forget(*self._draft)
        else:
            self._drafts.keep(*self._draft, typed)

    def _done(self) -> None:
        """What is typed is in the job."""
        self.unfinished.done()
        self._saver.stop()
        if self._drafts is not None and self._draft is not None and self._on_disk != self._fresh:
            self._drafts.forget(*self._draft)
        self._draft = None

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.save_draft()

    def _fill(self, text: PieceText) -> None:
        self.complain(())
        self.name.fill(text.name)
        self.material.search.fill("")
        self._list("", text.substrate)
        self.known.choose(text.known.value if text.known is not None else None)
        self._told_flex = True
        self.flex.choose(text.flex.value if text.flex is not None else None)
        self.face.choose(text.face.value)
        self.mark, self._clues = text.mark, text.clues
        self._mark_before = text.mark
        self.shape.choose(s.value for s in text.shape)
        self.joined.fill(text.joined)
        self.batch.fill(text.batch)
        self.surface.fill(text.area)
        self._follow()
        self._explain_face()

    def text(self) -> PieceText:
        """Give what is typed and chosen."""
        substrate = self._substrate()
        known = self.known.value if substrate is None or substrate.known else Known.UNKNOWN.value
        return PieceText(
            name=self.name.text(),
            substrate=self.material.value,
            known=Known(known) if known is not None else None,
            flex=Flex(self.flex.value) if self.flex.value is not None else None,
            face=Face(self.face.value or Face.OUTSIDE.value),
            mark=self.mark,
            clues=self._clues,
            shape=frozenset(Shape(v) for v in self.shape.values),
            joined=self.joined.text(),
            batch=self.batch.text(),
            area=self.surface.text(),
        )

    def take_found(self, found: PieceText) -> None:
        """Take what the piece was found to be made of; what else is typed stays."""
        self._fill(
            replace(
                self.text(),
                substrate=found.substrate,
                known=found.known,
                flex=found.flex or self.text().flex,
                face=found.found_face or self.text().face,
                mark=found.mark,
                clues=found.clues,
            )
        )
        self._told_known = True
        self._told_flex = found.flex is not None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_F6:
            self.identify_asked.emit()
            event.accept()
        else:
            super().keyPressEvent(event)

    def _told_joined(self, typed: str) -> str:
        try:
            ids = materials.read_joined(self.session.tables, typed)
        except ValueError:
            return ""
        return ", ".join(self.session.tables.substrates[x].name for x in ids)

    def submit(self) -> Done:
        """Add or change the piece.

        Raises:
            Wrong: a field that can't be taken so.
            NotNow: the job can't be changed.
        """
        text = self.text()
        if self.piece_id is None:
            piece_id, draft = planning.add_piece(self.session, text)
            self.session.apply(draft)
            self._done()
            return Done(piece_id, None, f"{text.name.strip()} added. Plan its first layer: press L.")
        document = self.session.writable()
        if self.piece_id not in document.state.pieces:
            raise NotNow("This piece is gone from the job.")
        drafts = planning.change_piece(self.session, document.state.pieces[self.piece_id], text)
        if drafts:
            self.session.apply(*drafts)
        self._done()
        return Done(self.piece_id, None, f"{text.name.strip()} changed." if drafts else "Nothing was changed.")

    def _substrate(self) -> Substrate | None:
        return self.session.tables.substrates.get(self.material.value or "")

    def _list(self, words: str, chosen: str | None) -> None:
        found = materials.find_substrates(self.session.tables, words)
        rows = [PickRow(s.id, materials.substrate_name(s), materials.substrate_words(s)) for s in found]
        self.material.fill(rows, chosen)

    def _search(self, words: str) -> None:
        found = materials.find_substrates(self.session.tables, words)
        meant = materials.likeliest(found, words)
        chosen = self.material.value
        if words.strip():
            chosen = meant.id if meant is not None else None
        self._list(words, chosen)
        self._take_mark(words.strip(), found=any(s.known for s in found))
        self._follow()
        if meant is None:
            self.material.explain("Nothing in this list is called that. Try another word, or say that nobody knows.")

    def _take_mark(self, words: str, *, found: bool) -> None:
        """Take a mark typed to search by; taken back letter by letter, it is none, and what was there before counts."""
        read, taken_back = words.startswith(">") and words != ">", words in ("", ">")
        if not read and not taken_back:
            self._mark_before = self.mark  # other words are typed over it: it was read all the same
        if not read and not (taken_back and self.mark != self._mark_before):
            return
        self.mark = words if read else self._mark_before
        if not self._told_known:
            self.known.choose(Known.MARKED.value if read and found else None)

    def _follow(self) -> None:
        """Let the rest follow the material, as far as the painter has not said otherwise."""
        substrate = self._substrate()
        self.material.complain("")
        self.material.explain("")
        unknown = substrate is not None and not substrate.known
        self.known.setVisible(not unknown)
        if not self._told_flex:
            usual = substrate.flex if substrate is not None else None
            self.flex.choose(usual.value if usual is not None else None)
        if substrate is None:
            self.flex.explain("")
        elif unknown:
            self.flex.explain("Bend it a little: the activator depends on it.")
        elif substrate.flex is None:
            self.flex.explain("This material may be either: say which this piece is.")
        else:
            self.flex.explain(f"This material is usually {substrate.flex.value}.")

    def _flex_told(self) -> None:
        self._told_flex = True

    def _known_told(self) -> None:
        self._told_known = True

    def _explain_face(self) -> None:
        behind = self.face.value == Face.BEHIND_CLEAR.value
        self.face.explain(
            "Painted on the back of a clear shell: the first colour down is the one that shows."
            if behind
            else "The last layer on is the one that shows."
        )
