"""Where one layer lies on another: what is on, and what is planned, with their cards as they were. Worked out once."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from benchtool.job.cards import Card, CardTime, Carrier, Chemistry, Trait
from benchtool.job.state import Coat, LayerState, PieceState
from benchtool.job.windows import recoat_span
from benchtool.rules.finding import Cause, Facts, Finding, Pairing, Severity, While, cause, key
from benchtool.trade.windows import FOR_GOOD

CURES = {Chemistry.ENAMEL: timedelta(days=28)}
CURES_ELSE = timedelta(days=7)
"""How long a film is taken to cure where its card gives no time: common practice, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Meeting:
    """A layer and the one it lies on or will lie on. `last` is the newest coat that is done of the one below.

    `began` is when the upper one went on, None where it is only planned; `due` says that its piece takes it next and
    the lower one is on.
    """

    piece: PieceState
    over: LayerState
    under: LayerState
    card: Card
    below: Card
    last: Coat | None
    began: datetime | None
    due: bool

    @property
    def chemistries(self) -> tuple[Chemistry | None, Chemistry | None]:
        """What film goes over what."""
        return self.card.chemistry, self.below.chemistry

    @property
    def done_at(self) -> datetime | None:
        """When the newest coat below was done."""
        return self.last.done_at if self.last is not None else None

    def cured_at(self) -> datetime | None:
        """Give when the one below is cured in the air and the heat; None where no coat of it is done."""
        if self.last is None or self.last.done_at is None:
            return None
        cure = self.below.cure or CURES.get(self.below.chemistry or Chemistry.OTHER, CURES_ELSE)
        return self.under.ends(self.last.done_at, cure, self.below, CardTime.CURE, self.last)

    def opens_at(self, otherwise: timedelta) -> datetime | None:
        """Give when the one below opens for recoat, `otherwise` where its card gives no time; None as above."""
        if self.last is None or self.last.done_at is None:
            return None
        span = recoat_span(self.below, self.under)
        return span.opens_at if span is not None else self.last.done_at + otherwise

    def closes_at(self, otherwise: timedelta) -> datetime | None:
        """Give when the one below closes, whatever was scuffed since; `otherwise` where its card gives no time."""
        if self.last is None or self.last.done_at is None:
            return None
        wait = self.below.recoat_closes or otherwise
        return self.under.ends(self.last.done_at, wait, self.below, CardTime.RECOAT_CLOSES, self.last)

    def allowed(self) -> bool:
        """Whether the card of the upper one names the lower one among what it goes over."""
        return self.below.id in self.card.only_over

    def finding(
        self,
        rule: str,
        severity: Severity,
        message: str,
        remedy: str,
        what: Cause = Cause.PAIRING,
        clears_at: datetime | None = None,
    ) -> Finding:
        """Say something of this meeting; a stop holds back the coat where that is due."""
        stop = severity is Severity.STOP
        return Finding(
            rule=rule,
            severity=severity,
            piece=self.piece.id,
            layer=self.over.id,
            message=message,
            remedy=remedy,
            key=key(rule, self.under.id, self.over.id),
            cause=cause(what, self.over.id),
            clears_at=clears_at if clears_at is not None and clears_at < FOR_GOOD else None,
            forbids_coat=stop and self.due and self.began is None,
        )


def meetings(facts: Facts) -> list[Meeting]:
    """Give each layer with the one that it lies on, or is planned to, where the cards tell anything of it."""
    return facts.settled("meetings", lambda: list(_meetings(facts)))


def _meetings(facts: Facts) -> Iterator[Meeting]:
    following = facts.next_layers()
    for piece in facts.state.pieces.values():
        under: LayerState | None = None
        left_out = next((i for i in range(len(piece.layers) - 1, -1, -1) if piece.layers[i].coats), -1)
        for place, layer in enumerate(piece.layers):
            if not layer.coats and place < left_out:
                continue  # planned and passed over: nothing lies on it
            if under is not None:
                met = _meeting(facts, piece, layer, under, due=layer is following[piece.id])
                if met is not None:
                    yield met
            under = layer


def _meeting(facts: Facts, piece: PieceState, over: LayerState, under: LayerState, *, due: bool) -> Meeting | None:
    card = over.coats[0].card if over.coats else facts.state.card_of(over)
    below = under.coats[-1].card if under.coats else facts.state.card_of(under)
    if card is None or below is None or not (_telling(below) or card.only_over):
        return None
    return Meeting(
        piece=piece,
        over=over,
        under=under,
        card=card,
        below=below,
        last=under.last_done,
        began=over.coats[0].started_at if over.coats else None,
        due=due and under.started,
    )


def _telling(card: Card) -> bool:
    """Say whether the card tells anything of what may go over and under it."""
    return bool(card.chemistry or card.carrier or card.traits)


def ends_at(met: Meeting, pairing: Pairing) -> datetime | None:
    """Give when the pairing is to be feared no longer; None where that is never, or nothing below is on yet."""
    if pairing.during is While.ALWAYS:
        return None
    return met.cured_at() if pairing.during is While.UNTIL_CURED else met.opens_at(timedelta(hours=24))


def zinc_rich(card: Card) -> bool:
    """Say whether its film is full of zinc dust."""
    return Trait.ZINC_RICH in card.traits


def in_solvent(card: Card) -> bool:
    """Say whether solvent leaves its wet film, as far as the card says."""
    return card.carrier is Carrier.SOLVENT or (card.carrier is None and card.chemistry is Chemistry.LACQUER)
