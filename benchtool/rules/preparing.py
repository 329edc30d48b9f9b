"""What a piece asks for next, by the trade's tables: its prep plan, and the next step at the bench."""

from datetime import datetime

from benchtool.job.nextstep import NextStep, next_step
from benchtool.job.prepplan import PlannedStep, next_of, over_plan, prep_plan
from benchtool.job.state import PieceState, State
from benchtool.job.trialproof import proof_of
from benchtool.rules.finding import Tables


def plan_of(state: State, piece: PieceState, tables: Tables, now: datetime) -> tuple[PlannedStep, ...]:
    """Plan the preparing of a piece: of its bare material, or, once paint is on, of the layer on top."""
    if piece.top is not None:
        name, substrate = state.layer_name(piece.top), tables.substrate_of(piece.piece)
        return over_plan(piece, name, now, substrate, tables.cleaners, strip=state.is_strip(piece))
    first = piece.layers[0] if piece.layers else None
    return prep_plan(
        piece,
        tables.substrate_of(piece.piece),
        state.card_of(first) if first is not None else None,
        first_name=state.layer_name(first) if first is not None else "",
        cleaners=tables.cleaners,
        proof=proof_of(state, piece, tables.cleaners),
        strip=state.is_strip(piece),
    )


def step_of(state: State, piece: PieceState, tables: Tables, now: datetime) -> NextStep:
    """Say what `piece` asks for at `now`; before its first cup, and between coats with no cup, by its prep plan."""
    bare = piece.top is None and bool(piece.layers) and not piece.layers[0].mixes
    following = piece.current
    between = piece.top is not None and following is not None and state.mix_for(following) is None
    planned = plan_of(state, piece, tables, now) if bare or between else ()
    return next_step(state, piece, now, next_of(planned))
