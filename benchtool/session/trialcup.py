"""How big a cup for test strips is to be: what the strips take, and no less than can be kept in ratio."""

from datetime import datetime
from math import ceil

from benchtool.job.state import LayerState
from benchtool.session import acts
from benchtool.session.cupview import measured
from benchtool.session.owned import shop_of
from benchtool.session.scaleview import least_weighed_mL, volume_tools
from benchtool.session.session import Document, Session
from benchtool.session.trialrun import Kind, next_acts
from benchtool.trade.mixing import NotAShare


def strips_take_mL(session: Session, document: Document, layer: LayerState, now: datetime) -> float | None:
    """Give how much to mix (mL) for the strips that take this layer next, in one cup with the one of this layer.

    It is a whole mL upwards, and at least the smallest cup that the painter's own tools can measure. None where the
    layer is on no strip of a trial that runs, or its card can't tell.
    """
    trial = document.state.trial_of(layer.piece)
    if trial is None or trial.ended_at is not None:
        return None
    mixes = (a for a in next_acts(session, document, trial, now) if a.kind is Kind.MIX and layer.piece in a.strips)
    act = next(mixes, None)
    if act is None or act.amount_mL is None:
        return None
    mL = float(max(1, ceil(act.amount_mL - 1e-9)))
    try:
        parts = acts.recipe_of(session, layer)
        shop = shop_of(session)
        tools = volume_tools(shop)
        if shop.by_weight:
            least = least_weighed_mL(parts, mL, shop)
        else:
            least = measured(parts, mL, tools).smallest_mL if tools else None
    except NotAShare:
        return mL
    return max(mL, least) if least is not None else mL
