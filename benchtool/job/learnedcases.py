"""One case of what a record shows: a wait beside what the card asks for, a cup, a pour. They are values, no more."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from benchtool.job.cards import CardTime

TIMES = (
    CardTime.STAND, CardTime.STAND_REDUCED, CardTime.POT_LIFE, CardTime.FLASH, CardTime.RECOAT_OPENS, CardTime.TAPE,
    CardTime.CURE,
)  # fmt: skip
"""The times of a card of which a record shows what was really done, in the order in which they come up."""

IN_CUP = frozenset({CardTime.STAND, CardTime.STAND_REDUCED, CardTime.POT_LIFE})


class Kept(StrEnum):
    """How a wait lies to the window that was open in the air of then."""

    WITHIN = "within"
    EARLY = "early"
    LATE = "late"


class How(StrEnum):
    """How a part was measured, by the painter's own words in the record."""

    WEIGHED = "weighed"
    DROPS = "in drops"
    MEASURED = "by volume"
    AS_ASKED = "as asked"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where in a job a case lies: the ids of piece and layer, and their names. `strip` says that it is a test strip."""

    piece: str
    piece_name: str
    layer: str
    layer_name: str
    strip: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """One wait: what came before it at `since`, what was done at `until`, and when the window was open in that air.

    `by_card` is the time as the card had it then, `closes_by_card` its end where the card gives one; of a pot life the
    card gives only an end. `opens` and `closes` are these in the air of then; None where they never came.
    `scuffed` says that the layer was scuffed after its window had closed.
    """

    card: str
    card_name: str
    time: CardTime
    place: Place
    coat: int | None
    since: datetime
    until: datetime
    by_card: timedelta | None
    closes_by_card: timedelta | None = None
    opens: datetime | None = None
    closes: datetime | None = None
    scuffed: bool = False

    @property
    def took(self) -> timedelta:
        """What was really waited."""
        return self.until - self.since

    @property
    def asked(self) -> timedelta | None:
        """What the card asked for in the air of then; None where it asks for no wait."""
        return self.opens - self.since if self.opens is not None else None

    @property
    def kept(self) -> Kept:
        """Whether it was within the window, both its ends counted as within."""
        if self.by_card is not None and (self.opens is None or self.until < self.opens):
            return Kept.EARLY
        return Kept.LATE if self.closes is not None and self.until > self.closes else Kept.WITHIN

    @property
    def in_card_time(self) -> timedelta | None:
        """The wait as it would have been in the card's own air; None where that can't be said.

        What was waited because the air asked for it is no other wait than the card's.
        """
        if self.by_card is not None:
            return scaled(self.took, self.asked, self.by_card)
        closes = self.closes - self.since if self.closes is not None else None
        return scaled(self.took, closes, self.closes_by_card)

    @property
    def same(self) -> tuple[object, ...]:
        """What tells this wait from others, whichever file it is read from: a touch-up holds it once more.

        That of a cup is of no piece: the touch-up of one piece knows nothing of the other that shared the cup.
        """
        if self.time in IN_CUP:
            return (self.card, self.time, self.since, self.place.strip)
        return (self.card, self.time, self.since, self.until, self.place.piece_name, self.coat)


def scaled(took: timedelta, asked: timedelta | None, by_card: timedelta | None) -> timedelta | None:
    """Give a wait as its share of what was asked for, in the card's own time; None where nothing was."""
    if asked is None or by_card is None or asked <= timedelta(0) or took < timedelta(0):
        return None
    return by_card * (took / asked)


@dataclass(frozen=True, slots=True, kw_only=True)
class CupUse:
    """One cup that was sprayed from or emptied: what was wanted, poured and left over (mL; None where not said)."""

    card: str
    card_name: str
    place: Place
    at: datetime
    wanted_mL: float
    poured_mL: float
    left_mL: float | None = None

    @property
    def wasted(self) -> float | None:
        """The share of what was poured that was left over, 0 to 1; None where nobody said how much that was."""
        if self.left_mL is None or self.poured_mL <= 0:
            return None
        return min(1.0, self.left_mL / self.poured_mL)

    @property
    def same(self) -> tuple[object, ...]:
        """As that of a wait in a cup."""
        return (self.card, self.at, self.wanted_mL, self.poured_mL, self.place.strip)


@dataclass(frozen=True, slots=True, kw_only=True)
class PourOff:
    """How far one part of a cup was off its share: wanted beside what was poured of the rest, and poured (mL).

    `allowed_percent` is how far it may be off either way, and `within` whether it was not further.
    """

    card: str
    card_name: str
    place: Place
    at: datetime
    part: str
    how: How
    wanted_mL: float
    poured_mL: float
    off_percent: float
    allowed_percent: float
    within: bool

    @property
    def same(self) -> tuple[object, ...]:
        """As that of a wait in a cup."""
        return (self.card, self.at, self.part, self.poured_mL, self.place.strip)


@dataclass(frozen=True, slots=True)
class Learned:
    """All the cases of one job."""

    waits: tuple[Wait, ...] = ()
    cups: tuple[CupUse, ...] = ()
    pours: tuple[PourOff, ...] = ()
