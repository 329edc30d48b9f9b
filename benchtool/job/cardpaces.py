"""What a product card says of air, heat and film: how they change its times."""

from datetime import timedelta
from enum import StrEnum
from functools import lru_cache
from typing import Annotated

from msgspec import Meta

from benchtool.job.fields import AirDegC, DegC, Humidity, MetresPerSecond, Percent, Record
from benchtool.trade import pace


class CardTime(StrEnum):
    """The times of a card that the air can change; `EVERY` stands for all that nothing else is said of."""

    STAND = "stand"
    STAND_REDUCED = "stand reduced"
    POT_LIFE = "pot life"
    FLASH = "flash"
    FLASH_CLOSES = "flash closes"
    RECOAT_OPENS = "recoat opens"
    RECOAT_CLOSES = "recoat closes"
    TAPE = "tape"
    CURE = "cure"
    EVERY = "*"

    @property
    def kind(self) -> pace.Kind:
        """Whether it is a wait that must be over, or a deadline."""
        return pace.Kind.DEADLINE if self in _DEADLINES else pace.Kind.WAIT

    @property
    def in_cup(self) -> bool:
        """Whether it runs in the cup, which does not feel the surface of the piece."""
        return self in _IN_CUP


_DEADLINES = {CardTime.POT_LIFE, CardTime.FLASH_CLOSES, CardTime.RECOAT_CLOSES}
_IN_CUP = {CardTime.STAND, CardTime.STAND_REDUCED, CardTime.POT_LIFE}
LIKE = {CardTime.STAND_REDUCED: CardTime.STAND, CardTime.FLASH_CLOSES: CardTime.FLASH}


class Paced(Record, frozen=True, kw_only=True, tag_field="model"):
    """The base of what a card may say about pace; see `trade.pace` for what each means.

    `reference_degC` is the temperature its printed times hold at; below `least_degC` nothing counts toward a wait.
    """

    reference_degC: DegC = 23.0
    least_degC: DegC | None = None


class TablePacing(Paced, frozen=True, kw_only=True, tag="table"):
    """The card's own table of one time: rows of (degC, time), from cold to warm."""

    points: Annotated[tuple[tuple[DegC, timedelta], ...], Meta(min_length=1, max_length=50)]


class ArrheniusPacing(Paced, frozen=True, kw_only=True, tag="arrhenius"):
    """A cure of one activation energy (kJ/mol)."""

    energy_kJ_mol: Annotated[float, Meta(gt=0, le=300)]


class DoublingPacing(Paced, frozen=True, kw_only=True, tag="doubling"):
    """The time grows by `factor` for each 10 degC colder."""

    factor: Annotated[float, Meta(ge=1, le=10)] = 2.0


class EvaporationPacing(Paced, frozen=True, kw_only=True, tag="evaporation"):
    """A waterborne layer dries as its water leaves; `reference_m_s` is the speed of the air in the card's times."""

    reference_percent: Percent = 50.0
    reference_m_s: MetresPerSecond = 0.1


Pacing = TablePacing | ArrheniusPacing | DoublingPacing | EvaporationPacing


@lru_cache(maxsize=512)
def pace_model(pacing: Pacing) -> pace.Model:
    """Turn what the card says into what `trade.pace` reckons with.

    Raises:
        NotAPace: no product dries or cures like that.
    """
    reference, least = pacing.reference_degC, pacing.least_degC
    match pacing:
        case TablePacing():
            rows = tuple((degC, wait.total_seconds()) for degC, wait in pacing.points)
            return pace.TimesTable(rows, reference, least)
        case ArrheniusPacing():
            return pace.Arrhenius(pacing.energy_kJ_mol, reference, least)
        case DoublingPacing():
            return pace.Doubling(reference, pacing.factor, least)
        case EvaporationPacing():
            return pace.Evaporation(reference, pacing.reference_percent, pacing.reference_m_s, least)


class AirRange(Record, frozen=True, kw_only=True):
    """The air that a card may be sprayed in: temperature (degC) and relative humidity (%), None where it is silent."""

    least_degC: AirDegC | None = None
    most_degC: AirDegC | None = None
    least_percent: Humidity | None = None
    most_percent: Humidity | None = None


class ForcedDry(Record, frozen=True, kw_only=True):
    """A forced dry that the sheet allows: at `degC` (of the surface) or more, one time of the card is over in `wait`.

    Heat counts only where a card gives this; it is for flash, recoat opens, tape and cure.
    """

    degC: DegC
    wait: timedelta


FORCEABLE = (CardTime.FLASH, CardTime.RECOAT_OPENS, CardTime.TAPE, CardTime.CURE)
"""The waits that heat on the piece can cut short: those that run on the piece."""

LEAST_FORCED_DEGC = 30.0
"""Colder is no heat: a shop in summer is as warm (judgement, no source)."""
