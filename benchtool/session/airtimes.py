"""The times of a card in the air from now on, for planning a cup: what its sums go by, and why that is not the card."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from benchtool.job.cards import Card, CardTime
from benchtool.job.state import LayerState
from benchtool.trade.durations import write_span
from benchtool.trade.windows import FOR_GOOD

_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class AirTimes:
    """What a cup that is begun now is planned by; None where the card is silent. `stand` is of both stand times.

    Waits may be longer and the pot life shorter than on the card, by whole minutes on the careful side. `why` says so
    in a sentence, "" where the card's own times stand; `never` says that a wait does not end in this air.
    """

    pot_life: timedelta | None
    stand: timedelta | None
    flash: timedelta | None
    why: str = ""
    never: str = ""


def times_in_air(card: Card, layer: LayerState, now: datetime) -> AirTimes:
    """Reckon the times that a cup of this card, for this layer, would have in the air as it is and is expected.

    The flash counts where more than one coat is left.
    """
    told: list[str] = []
    never: list[str] = []

    def takes(name: str, time: CardTime, wait: timedelta | None, since: datetime) -> timedelta | None:
        """How long one time of the card takes; the card's own where its end can't be told."""
        if wait is None or since >= FOR_GOOD:
            return wait
        ending = layer.ending(since, wait, card, time)
        if ending is None or ending.at == since + wait:
            return wait
        why = ending.why(now)
        if ending.at >= FOR_GOOD:
            never.append(f"It does not get past its {name} in this air{f': {why}' if why else ''}.")
            return wait
        whole, part = divmod(ending.at - since, _MINUTE)
        long = whole * _MINUTE + (_MINUTE if part and time is not CardTime.POT_LIFE else timedelta(0))
        long = long or ending.at - since
        told.append(f"{name} {write_span(long)}, not the {write_span(wait)} of the card")
        if why:
            told[-1] += f" ({why[:1].lower()}{why[1:]})"
        return long

    first = takes("stand time", CardTime.STAND, card.stand, now)
    then = now + first if first is not None else now
    second = takes("second stand time", CardTime.STAND_REDUCED, card.stand_reduced, then)
    stands = [wait for wait in (first, second) if wait is not None]
    life = takes("pot life", CardTime.POT_LIFE, card.pot_life, now)
    more_coats = layer.plan.coats - layer.coats_done > 1
    flash = takes("flash", CardTime.FLASH, card.flash, now) if more_coats else card.flash
    return AirTimes(
        pot_life=life,
        stand=sum(stands[1:], stands[0]) if stands else None,
        flash=flash,
        why=f"In this air: {'; '.join(told)}." if told else "",
        never=" ".join(never),
    )
