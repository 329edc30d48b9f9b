"""What a trial is for, and what its strips are made of: the top of the set-up."""

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.planparts import Ask, FieldRow, Options, Typed
from benchtool.job.events import Face, Known
from benchtool.job.state import PieceState
from benchtool.session import materials
from benchtool.session.session import Session
from benchtool.session.trialsetup import Setup
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex

NO_PIECE = "-"


class TrialFor(QWidget):
    """The name, the piece (or none), the material. `changed` tells of a change by hand, `piece_asked` of another piece.

    For a piece the material is its own and is only told; the lot can be told of the strips alone.
    """

    changed = Signal()
    piece_asked = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.session = session
        self.name = Typed(look, say("What do you call the trial?"), "trial-name")
        self.batch = Typed(look, say("Lot of the material"), "trial-batch", say("Offcut of May"))
        self.top = FieldRow(look, (self.name, self.batch), (3, 2))
        self.piece = Options(look, say("Done for"), "trial-piece")
        self.told = Words(look, "small", "quiet")
        self.material = PickList(
            look, say("Strips made of"), "trial-material", search=say("Type to narrow: polypropylene, >PP<"), rows=3
        )
        self.known = Options(look, say("How do you know?"), "trial-known")
        self.flex = Options(look, say("In use it is"), "trial-flex")
        self.face = Options(look, say("Painted"), "trial-face")
        self.known.offer(
            [
                (Known.MARKED.value, say("Marked on it")),
                (Known.TOLD.value, say("I was told")),
                (Known.GUESSED.value, say("Guessed")),
            ]
        )
        self.flex.offer([(Flex.RIGID.value, say("Rigid")), (Flex.FLEXIBLE.value, say("Flexible"))])
        self.face.offer([(Face.OUTSIDE.value, say("Outside")), (Face.BEHIND_CLEAR.value, say("Behind clear"))])
        self.chosen = (self.material, self.known, self.flex, self.face)
        self.asks: dict[str, Ask] = {
            "name": self.name, "batch": self.batch, "substrate": self.material, "known": self.known, "flex": self.flex,
        }  # fmt: skip
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        for part in (self.top, self.piece, self.told, *self.chosen):
            column.addWidget(part)
        for field in (self.name, self.batch):
            field.edit.textEdited.connect(lambda _: self.changed.emit())
        self.piece.chosen.connect(self._piece_chosen)
        self.material.searched.connect(lambda _: self._searched())
        for part in self.chosen:
            part.chosen.connect(lambda _: self.changed.emit())

    def fill(self, setup: Setup, pieces: list[PieceState]) -> None:
        """Show this."""
        for field, text in ((self.name, setup.name), (self.batch, setup.batch)):
            if field.text() != text:
                field.fill(text)
        for field in (self.batch,):
            field.edit.setEnabled(not setup.begun)
        self.piece.offer(
            [(p.id, p.piece.name) for p in pieces] + [(NO_PIECE, say("No piece"))], setup.piece or NO_PIECE
        )
        self.piece.setVisible(not setup.begun and bool(pieces))
        m = setup.material
        own = setup.piece is None and not setup.begun
        for part in self.chosen:
            part.setVisible(own)
        if own and self.material.value != m.substrate:
            self._search(m.substrate)
        substrate = self.session.tables.substrates.get(m.substrate or "")
        self.known.setVisible(own and (substrate is None or substrate.known))
        self.known.choose(m.known.value if m.known is not None else None)
        self.flex.choose(m.flex.value if m.flex is not None else None)
        self.face.choose(m.face.value)
        self.told.say(self._told(setup))
        self.told.setVisible(not own)

    def _told(self, setup: Setup) -> str:
        m = setup.material
        substrate = self.session.tables.substrates.get(m.substrate or "") or self.session.tables.substrates["unknown"]
        parts = [materials.substrate_name(substrate) if substrate.known else say("a material that nobody has named")]
        parts += [say(x.value) for x in (m.flex, m.face) if x is not None]
        return say(
            "The strips are of the same: {what}. What is found holds for this lot of it only.",
            what=", ".join(parts),
        )

    def _search(self, chosen: str | None = None) -> None:
        """List what the words typed may mean; they choose the likeliest."""
        words = self.material.search.text()
        found = materials.find_substrates(self.session.tables, words)
        meant = materials.likeliest(found, words)
        if chosen is None:
            chosen = (meant.id if meant is not None else None) if words.strip() else self.material.value
        rows = [PickRow(s.id, materials.short_name(s), materials.substrate_words(s)) for s in found]
        self.material.fill(rows, chosen)
        none = say("Nothing in this list is called that. Try another word, or say that nobody knows.")
        self.material.explain("" if meant is not None else none)

    def _searched(self) -> None:
        self._search()
        self.changed.emit()

    def take(self, setup: Setup) -> Setup:
        """Give the set-up with what is typed and chosen here."""
        made = replace(setup, name=self.name.text(), batch=self.batch.text())
        if setup.piece is not None or setup.begun:
            return made
        known, flex, face = self.known.value, self.flex.value, self.face.value
        material = replace(
            made.material,
            substrate=self.material.value or made.material.substrate,
            known=Known(known) if known else made.material.known,
            flex=Flex(flex) if flex else made.material.flex,
            face=Face(face) if face else made.material.face,
        )
        return replace(made, material=material)

    def _piece_chosen(self, key: str) -> None:
        self.piece_asked.emit(None if key == NO_PIECE else key)
