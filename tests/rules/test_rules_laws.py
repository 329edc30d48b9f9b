"""What holds for any job at all, not only for those that somebody thought of."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta

import msgspec
from builders import ADHESIVE_CLEAR, CLEAR, COLOUR, ONE_PART_PROMOTER, PROMOTER, JobBuilder
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from benchtool.job.cards import Gun
from benchtool.job.events import Face, Prep, Stirred, Withdrawn
from benchtool.job.record import Job, last_act
from benchtool.job.state import fold
from benchtool.job.validate import faults
from benchtool.rules.engine import ALL, Review, findings
from benchtool.rules.finding import Facts, Severity
from benchtool.session.tables import load_tables
from benchtool.trade.mixing import PartKind, amounts_mL
from benchtool.trade.windows import Phase, WindowKind

CARDS = (PROMOTER, ONE_PART_PROMOTER, ADHESIVE_CLEAR, COLOUR, CLEAR)
GAPS = st.one_of(
    st.sampled_from([0, 1, 60, 299, 300, 599, 600, 899, 900, 901, 1799, 1800]),
    st.sampled_from([7200, 86_399, 86_400, 172_800]),
    st.floats(0, 3_000),
)
OFTEN = st.integers(0, 9).map(lambda n: n > 0)
Draw = Callable[[st.SearchStrategy], object]


@st.composite
def benches(draw: Draw) -> JobBuilder:
    """A job of one or two pieces, worked on in any order by somebody in a hurry; always a valid record."""
    bench = JobBuilder().card(*CARDS)
    for piece in ("panel", "lid")[: draw(st.integers(1, 2))]:
        bench.piece(
            piece,
            draw(st.sampled_from(["aluminium", "abs", "pp", "unknown", "glass", "no-such-material"])),
            flex=draw(st.sampled_from(["rigid", "flexible"])),
            known=draw(st.sampled_from(["marked", "unknown"])),
            face=draw(st.sampled_from([f.value for f in Face])),
        )
        for number in range(draw(st.integers(1, 3)) if draw(OFTEN) else 0):
            card = draw(st.sampled_from(CARDS))
            bench.layer(
                f"{piece}-{number}",
                card,
                draw(st.integers(1, 4)),
                activator=draw(st.sampled_from([a.id for a in card.activators] * 3 + [None])),
                gun=draw(st.sampled_from(Gun)),
            )
    for _ in range(draw(st.integers(0, 16))):
        bench.wait(seconds=draw(GAPS))
        _act(draw, bench)
    return bench


def _act(draw: Draw, bench: JobBuilder) -> None:
    state = bench.state
    piece = draw(st.sampled_from(sorted(state.pieces)))
    act = draw(st.sampled_from(["prep", "trial", "air", "waive", "undo", "plan", *["cup"] * 4, *["coat"] * 8]))
    next_up = state.pieces[piece].current
    if act in ("plan", "cup", "coat") and not state.layers:
        return
    layer = next_up.id if next_up is not None and draw(OFTEN) else draw(st.sampled_from([*state.layers, None]))
    if act == "prep":
        bench.prep(draw(st.sampled_from([p.value for p in Prep])), piece=piece)
    elif act == "trial":
        bench.trial(held=draw(st.booleans()), piece=piece)
    elif act == "air":
        bench.read_air(draw(st.floats(-30, 70)), draw(st.floats(0, 100)))
    elif act == "waive":
        for finding in bench.findings()[: draw(st.integers(0, 2))]:
            bench.waive(finding)
    elif act == "undo":
        act_before = last_act(bench.job)
        if act_before and act_before[0].at > bench.job.created:  # never the plan itself
            bench.undo()
    elif layer is None:
        return
    elif act == "plan":
        bench.change_layer(layer, coats=draw(st.integers(1, 4)), gun=draw(st.sampled_from(Gun)))
    elif act == "coat":
        if state.layers[layer].open_coat is None:
            cups = [None, *state.mixes]
            bench.start(layer) if draw(OFTEN) else bench.start(layer, mix=draw(st.sampled_from(cups)))
        if draw(OFTEN):
            bench.wait(seconds=draw(st.floats(0, 300))).done(layer)
    elif draw(st.booleans()):
        _mix_and_stir(draw, bench, layer)
    elif not state.mixes or draw(st.booleans()):
        bench.mix(layer, make_mL=draw(st.floats(0.1, 5_000)))
    else:
        _work_on(draw, bench, layer, draw(st.sampled_from(sorted(state.mixes))))


def _mix_and_stir(draw: Draw, bench: JobBuilder, layer: str) -> None:
    """Mix a whole cup: by the book, or with a hand that slips and does not wait."""
    if draw(st.booleans()):
        bench.ready(layer, make_mL=draw(st.floats(5, 500)))
        return
    bench.mix(layer, make_mL=draw(st.floats(5, 500)))
    parts = bench.mix_state().parts
    for part, mL in zip(parts, amounts_mL(parts, bench.mix_state().made.make_mL), strict=True):
        bench.pour(part.name, mL * draw(st.sampled_from([1, 1, 0.5, 1.05, 1.2, 3])))
        if draw(st.booleans()):
            bench.stir("reduced" if part.kind is PartKind.REDUCER else "activated")


def _work_on(draw: Draw, bench: JobBuilder, layer: str, mix: str) -> None:
    work = draw(st.sampled_from(["pour", "pour", "stir", "stir", "share", "empty"]))
    if work == "pour":
        part = draw(st.sampled_from([p.name for p in bench.mix_state(mix).parts]))
        bench.pour(part, draw(st.one_of(st.just(0.0), st.floats(0.01, 500))), mix=mix)
    elif work == "stir":
        bench.stir(draw(st.sampled_from([s.value for s in Stirred])), mix=mix)
    elif work == "share":
        bench.share(layer, mix=mix)
    else:
        bench.empty(mix=mix)


MANY = settings(
    max_examples=120,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def after_each_act(bench: JobBuilder) -> Iterator[JobBuilder]:
    """The same job as it stood right after each of its acts, the plan left out."""
    for i, event in enumerate(bench.job.events):
        if event.at > bench.job.created:
            then = JobBuilder()
            then.job, then.now = replace(bench.job, events=bench.job.events[: i + 1]), event.at
            yield then


def _moments(bench: JobBuilder) -> list[datetime]:
    return [bench.now, bench.now + timedelta(seconds=1), bench.now + timedelta(hours=30), bench.job.created]


@MANY
@given(benches())
def test_rules_never_raise_and_always_speak_in_sentences(bench: JobBuilder) -> None:
    assert list(faults(bench.job)) == []
    for moment in _moments(bench):
        found = bench.findings(moment)
        assert len({f.key for f in found}) == len(found)
        for finding in found:
            for text in (finding.message, finding.remedy):
                assert text[:1].isupper() or text[:1].isdigit() or text[:1] == "“"
                assert text.endswith(".")
                assert "nan" not in text
                assert "None" not in text


@MANY
@given(benches())
def test_the_same_job_says_the_same_at_any_time_and_after_a_restart(bench: JobBuilder) -> None:
    again = msgspec.json.decode(msgspec.json.encode(bench.job), type=Job)
    for moment in _moments(bench):
        said = findings(again, fold(again), moment, load_tables())
        assert said == bench.shown(moment) == bench.shown(moment)


@MANY
@given(benches(), st.data())
def test_a_wait_never_ends_before_its_time_nor_outlives_it(bench: JobBuilder, data: st.DataObject) -> None:
    for then in after_each_act(bench):
        for finding in then.findings():
            if finding.clears_at is None:
                continue
            span = (finding.clears_at - then.now) // timedelta(microseconds=1)
            part = timedelta(microseconds=data.draw(st.integers(0, span - 1)))
            same = [f for f in then.findings(then.now + part) if f.key == finding.key]
            assert [(f.severity, f.clears_at, f.waived) for f in same] == [
                (finding.severity, finding.clears_at, finding.waived)
            ]
            over = [f for f in then.findings(finding.clears_at) if f.key == finding.key]
            # The same matter may go on as what went wrong before (coat 1 was early too), no longer as a wait.
            assert all(f.severity is not Severity.STOP and f.clears_at is None for f in over)


@MANY
@given(benches())
def test_every_flash_of_the_card_is_held_as_a_hand_count_of_the_coats_has_it(bench: JobBuilder) -> None:
    """Counts the waits again from the coats alone, with no window and no rule between."""
    for then in after_each_act(bench):
        state = then.state
        blocked = {f.layer: f.clears_at for f in then.of("timing.flash") if f.clears_at is not None}
        for layer in state.layers.values():
            stack = state.pieces[layer.piece].layers
            flash = state.cards[layer.plan.card].flash
            last = layer.coats[-1].done_at if layer.coats else None
            more = len(layer.coats) < layer.plan.coats
            covered = any(x.coats for x in stack[stack.index(layer) + 1 :])
            due = last + flash if last is not None and flash is not None and more and not covered else None
            assert blocked.get(layer.id) == (due if due is not None and then.now < due else None)


@MANY
@given(benches())
def test_every_wait_that_stands_in_the_way_has_its_countdown(bench: JobBuilder) -> None:
    for then in after_each_act(bench):
        shown = {(w.kind, w.span.opens_at, w.piece) for w in then.all_windows() if w.phase(then.now) is Phase.WAITING}
        for rule, kind in (("timing.flash", WindowKind.FLASH), ("timing.recoat-early", WindowKind.RECOAT)):
            waits = {(kind, f.clears_at, f.piece) for f in then.of(rule) if f.clears_at is not None}
            assert waits <= shown


@MANY
@given(benches())
def test_a_waiver_signed_for_all_that_is_said_leaves_nothing_in_the_way(bench: JobBuilder) -> None:
    for finding in bench.findings():
        bench.waive(finding)
    assert bench.rules() == set()
    for layer in bench.state.layers:
        assert bench.in_the_way(layer) == set()


@MANY
@given(benches())
def test_an_undo_and_its_undo_change_nothing(bench: JobBuilder) -> None:
    if not last_act(bench.job):
        return
    said = bench.findings()
    bench.undo()
    undo = bench.last_id
    bench.findings()
    bench.add(Withdrawn, events=(undo,))
    assert bench.findings() == said


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(benches(), st.lists(st.timedeltas(timedelta(0), timedelta(days=40)), min_size=2, max_size=4))
def test_what_is_looked_at_once_says_the_same_as_what_is_looked_at_anew(
    bench: JobBuilder, later: list[timedelta]
) -> None:
    """A rule that is not timed says the same at any moment, and one review asked again and again never goes stale."""
    state, tables = fold(bench.job), load_tables()
    review = Review(bench.job, state, tables)
    lasting = [r for r in ALL if not r.timed]
    first = [list(r.check(Facts(bench.job, state, bench.now, tables))) for r in lasting]
    for wait in later:
        now = bench.now + wait
        assert review.at(now) == findings(bench.job, state, now, tables)
        assert [list(r.check(Facts(bench.job, state, now, tables))) for r in lasting] == first
