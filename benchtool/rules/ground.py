"""What the rules of surface, cleaning and promoter look at: each piece as it was before its first paint."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from benchtool.job.cards import Card, Carrier, Chemistry, Trait
from benchtool.job.events import Face, Known, Prep
from benchtool.job.state import LayerState, PieceState, Step
from benchtool.job.trialproof import Proof, proof_of, proved
from benchtool.rules.finding import Cause, Facts, Finding, Severity, cause, key
from benchtool.trade.saying import say
from benchtool.trade.substrates import Nature, Route, Substrate

CLEANED = frozenset({Prep.WASH, Prep.RELEASE_WASH, Prep.DEGREASE})
SCRATCHED = frozenset({Prep.ABRADE, Prep.SCUFF})
AT_A_BENCH = frozenset({Route.TOOTH, Route.PROMOTER, Route.PRIMER})
"""What makes paint hold and can be done in a shop; flame and plasma are named, not offered."""

HARSH = frozenset({Chemistry.LACQUER})
"""Films that go on in a solvent strong enough to dissolve what is soluble under them."""


def go_and_test() -> str:
    """Say what there is left to do once the paint is on."""
    return say("Test it for adhesion before anything goes over it.")


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """A piece that has layers: its material, its steps before the first paint (oldest first), and the layer on it.

    `first` is the lowest layer that has paint on, else the first planned, and `card` its card as it was then.
    `begun_at` is when the first paint went on, None where none has. `proof` is what the trial of the system chosen for
    it says, None where none was chosen.
    """

    piece: PieceState
    substrate: Substrate
    first: LayerState
    card: Card | None
    begun_at: datetime | None
    steps: tuple[Step, ...]
    done: frozenset[Prep]
    proof: Proof | None = None

    @property
    def name(self) -> str:
        """What the painter calls the piece."""
        return self.piece.piece.name

    @property
    def begun(self) -> bool:
        """Whether any paint is on it."""
        return self.begun_at is not None

    @property
    def open(self) -> bool:
        """Whether a layer is still to come: what is no more than a note is over when the piece is."""
        return self.piece.current is not None

    @property
    def left_to_do(self) -> Severity:
        """How grave a step is that is not logged: a note while the piece is being prepared, later a caution."""
        return Severity.CAUTION if self.begun or self.first.mixes else Severity.NOTE

    @property
    def behind_clear(self) -> bool:
        """Whether it is painted from behind."""
        return self.piece.piece.face is Face.BEHIND_CLEAR

    @property
    def named(self) -> bool:
        """Whether somebody says what it is made of."""
        return self.substrate.known and self.piece.piece.known is not Known.UNKNOWN

    @property
    def proved(self) -> bool:
        """Whether the last test strip of it held, with the product that goes on first, or its trial proves it."""
        return proved(self.piece, self.proof)

    @property
    def tried_in(self) -> Proof | None:
        """What the trial of its system says, where no strip was logged since."""
        return self.proof if self.proof is not None and self.proof.decides(self.piece) else None

    def last(self, *steps: Prep) -> int:
        """Give where among its steps the last of these kinds is, -1 for none."""
        return max((i for i, s in enumerate(self.steps) if s.step in steps), default=-1)

    def finding(
        self,
        rule: str,
        severity: Severity,
        message: str,
        remedy: str,
        why: Cause,
        *places: object,
        clears_at: datetime | None = None,
    ) -> Finding:
        """Say something of this piece; what is a stop before the first paint is a caution once that is on."""
        if self.begun and severity is Severity.STOP:
            severity, remedy = Severity.CAUTION, go_and_test()
        return Finding(
            rule=rule,
            severity=severity,
            piece=self.piece.id,
            layer=(self.piece.current or self.first).id,
            message=message,
            remedy=remedy,
            key=key(rule, self.piece.id, *places),
            cause=cause(why, self.piece.id),
            forbids_coat=severity is Severity.STOP,
            clears_at=clears_at,
        )


def grounds(facts: Facts) -> list[Ground]:
    """Give each piece that has a layer as it was before its first paint."""
    return facts.settled("grounds", lambda: list(_grounds(facts)))


def _grounds(facts: Facts) -> Iterator[Ground]:
    for piece in facts.state.pieces.values():
        if not piece.layers:
            continue
        first = next((x for x in piece.layers if x.coats), None)
        begun_at = min((x.coats[0].started_at for x in piece.layers if x.coats), default=None)
        steps = tuple(s for s in piece.steps if s.on_layer is None)
        yield Ground(
            piece=piece,
            substrate=facts.tables.substrate_of(piece.piece),
            first=first or piece.layers[0],
            # A promoter that is planned and was passed over holds nothing.
            card=first.coats[0].card if first is not None else facts.state.card_of(piece.layers[0]),
            begun_at=begun_at,
            steps=steps,
            done=frozenset(s.step for s in steps),
            proof=proof_of(facts.state, piece, facts.tables.cleaners),
        )


def hopeless(substrate: Substrate) -> bool:
    """Say whether nothing that can be done in a shop makes paint hold on it."""
    if Nature.NOTHING_HOLDS in substrate.natures:
        return True
    return bool(substrate.routes) and AT_A_BENCH.isdisjoint(substrate.routes)


def attacks(card: Card) -> bool:
    """Say whether what this card goes on in dissolves or swells what is soluble: a lacquer, or strong solvent."""
    if card.carrier in (Carrier.WATER, Carrier.NONE):
        return False
    return card.chemistry in HARSH or Trait.STRONG_SOLVENT in card.traits
