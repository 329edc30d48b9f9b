"""How old a cup is: which can still be used, and what is said of one that was mixed long ago."""

from datetime import datetime, timedelta

from benchtool.job.state import LayerState, Mix, State
from benchtool.job.windows import pot_life_span
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say

OLD = timedelta(days=1)
"""A cup that stands for longer is not the one just mixed: how old it is, is said beside it (judgement)."""


def is_over(mix: Mix, state: State, at: datetime) -> bool:
    """Whether the pot life of this cup is over by then."""
    card = mix.card or state.cards.get(mix.made.card)
    life = pot_life_span(card, mix) if card is not None else None
    return life is not None and life.closes_at is not None and at >= life.closes_at


def to_share(state: State, layer: LayerState, now: datetime) -> list[Mix]:
    """Give the cups of other layers that this one can be sprayed from: what it takes, and inside its pot life."""
    return [mix for mix in state.cups_to_share(layer) if not is_over(mix, state, now)]


def age_words(mix: Mix, now: datetime) -> str:
    """Say how long ago a cup was mixed, where that is more than a day; "" for a fresh one."""
    mixed = max((p.at for p in mix.pours), default=mix.made.at)
    age = now - mixed
    if age < OLD:
        return ""
    return say("mixed {long} ago", long=span_words(age // timedelta(days=1) * 86_400))
