"""Laws of a job done again, over any job: a touch-up has the same paint on its pieces, a repeat the same plan."""

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from conftest import StillClock
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples, jobs

from benchtool.job import events as ev
from benchtool.job.events import Again
from benchtool.job.record import Job
from benchtool.job.stack import PieceState
from benchtool.job.state import State, fold
from benchtool.job.validate import faults
from benchtool.job.window import Window
from benchtool.job.windows import all_windows
from benchtool.rules.engine import every, findings
from benchtool.session.again import Asked, Earlier, build
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures
from benchtool.trade.windows import WindowKind

TABLES = load_tables()
IN_A_CUP = (WindowKind.STAND, WindowKind.POT_LIFE)


def again(job: Job, how: Again, pieces: tuple[str, ...], **asked: Any) -> Job:
    """Build the new job a day after all that is in the record."""
    newest = max(e.at for e in job.events)
    session = Session(StillClock(newest), TABLES, Measures())
    earlier = Earlier(path=Path("job.json"), job=job, state=fold(job))
    return build(session, earlier, Asked(how=how, title="Again", pieces=pieces, **asked))


def stack(state: State, piece: PieceState) -> Any:
    """All that is known of a piece, but for where in the record it stands."""
    return (
        piece.piece,
        [
            (
                x.plan,
                state.card_of(x),
                [(c.number, c.started_at, c.done_at, c.mix, c.card, c.film and c.film.um) for c in x.coats],
                set(x.mixes),
                mix.id if (mix := state.mix_for(x)) is not None else None,
                x.scuffed_at,
                x.film and (x.film.um, x.film.at),
            )
            for x in piece.layers
        ],
        [(s.step, s.at, s.on_layer, s.agent, s.grit, s.passed) for s in piece.steps],
        [(t.at, t.held, t.cards, t.note) for t in piece.trials],
        piece.heat.stretches,
        piece.heat.on is None,
    )


def cups(state: State, piece: PieceState) -> Any:
    """What is in the cups of a piece."""
    used = {m for x in piece.layers for m in x.mixes}
    return {
        m: (
            x.poured_mL,
            x.parts,
            x.stirred,
            x.first_stirred,
            x.emptied_at,
            x.left_mL,
            x.card,
            [(p.at, p.lot and state.lots[p.lot]) for p in x.pours],
        )
        for m, x in state.mixes.items()
        if m in used
    }


def on_the_piece(state: State, piece: str) -> list[Window]:
    return [w for w in all_windows(state) if w.piece == piece and w.kind not in IN_A_CUP]


@given(data=st.data(), job=jobs())
@examples(60)
def test_a_touch_up_has_the_same_paint_and_windows_and_is_a_sound_file(data: st.DataObject, job: Job) -> None:
    before = fold(job)
    own = [p.id for p in before.painted]
    assume(own)
    pieces = tuple(data.draw(st.lists(st.sampled_from(own), min_size=1, unique=True)))
    made = again(job, Again.TOUCH_UP, pieces)
    assert list(faults(made)) == []
    assert made.created <= min(e.at for e in made.events)
    after = fold(made)
    assert list(after.pieces) == [p for p in before.pieces if p in pieces]
    for piece in pieces:
        assert stack(after, after.pieces[piece]) == stack(before, before.pieces[piece])
        assert cups(after, after.pieces[piece]) == cups(before, before.pieces[piece])
        assert on_the_piece(after, piece) == on_the_piece(before, piece)
    assert [(r.at, r.air_degC) for r in after.readings] == [(r.at, r.air_degC) for r in before.readings]
    with TemporaryDirectory() as folder:
        path = Path(folder) / "again.json"
        jobfile.save(path, made)
        assert jobfile.load(path).job == made


@given(job=jobs())
@examples(25)
def test_a_touch_up_of_a_touch_up_is_the_same_again(job: Job) -> None:
    pieces = tuple(p.id for p in fold(job).painted)
    assume(pieces)
    once = again(job, Again.TOUCH_UP, pieces)
    twice = again(once, Again.TOUCH_UP, pieces)
    first, second = fold(once), fold(twice)
    for piece in pieces:
        assert stack(second, second.pieces[piece]) == stack(first, first.pieces[piece])
    assert twice.id != once.id


@given(job=jobs(most_acts=15))
@examples(25)
def test_what_was_waived_of_all_pieces_stays_waived(job: Job) -> None:
    before = fold(job)
    pieces = tuple(p.id for p in before.painted)
    assume(pieces and len(pieces) == len(before.pieces))
    made = again(job, Again.TOUCH_UP, pieces)
    at = max(e.at for e in made.events)
    here = {f.message for f in every(findings(job, before, at, TABLES)) if f.waived}
    there = {f.message for f in every(findings(made, fold(made), at, TABLES)) if f.waived}
    assert here == there


@given(job=jobs(most_acts=15))
@examples(40)
def test_a_repeat_has_the_plan_and_nothing_that_was_done(job: Job) -> None:
    before = fold(job)
    pieces = tuple(p.id for p in before.painted)
    assume(pieces)
    made = again(job, Again.REPEAT, pieces, areas=dict.fromkeys(pieces, 2.0))
    assert list(faults(made)) == []
    after = fold(made)
    assert list(after.pieces) == list(pieces)
    for piece in pieces:
        layers = [x for x in before.pieces[piece].layers if before.card_of(x) is not None]
        amounts_aside = [replace(x.plan, make_mL=None) for x in layers]
        assert [replace(x.plan, make_mL=None) for x in after.pieces[piece].layers] == amounts_aside
        unmixed = [(i, x.plan.make_mL) for i, x in enumerate(layers) if not x.mixes]
        assert [(i, after.pieces[piece].layers[i].plan.make_mL) for i, _ in unmixed] == unmixed
        assert after.pieces[piece].piece.area_m2 == 2.0
    used = {x.plan.card for p in after.pieces.values() for x in p.layers}
    assert after.cards == {k: v for k, v in before.cards.items() if k in used}
    done = [
        e
        for e in made.events
        if not isinstance(e, ev.JobDescribed | ev.TakenFrom | ev.CardCopied | ev.PieceAdded | ev.LayerAdded)
    ]
    assert done == []
    assert {e.at for e in made.events} == {made.created}
