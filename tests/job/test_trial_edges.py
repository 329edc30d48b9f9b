"""Trials at their edges: what must not count as a proof, and what a hand-made record may hold."""

from datetime import datetime, timedelta
from functools import partial

from builders import COLOUR, JobBuilder
from msgspec.structs import replace
from trialbuilder import (
    TAPE,
    choose,
    graded,
    judged,
    planned,
    prepared,
    ran,
    rested,
    shell,
    sprayed,
    strips_of,
)

from benchtool.job import events as ev
from benchtool.job.trialproof import Proof, proof_of
from benchtool.job.validate import faults
from benchtool.job.windows import all_windows
from benchtool.trade.windows import WindowKind

CROSS_CUT = ev.Method.ISO_2409


def proof(bench: JobBuilder, piece: str = "shell") -> Proof:
    state = bench.state
    found = proof_of(state, state.pieces[piece], bench.tables.cleaners)
    assert found is not None
    return found


def bare(bench: JobBuilder) -> JobBuilder:
    """Bring in a shell of which nobody knows the material, with a colour alone planned on it."""
    return bench.card(COLOUR).piece("shell", "unknown", known="unknown").layer("colour", COLOUR)


def bare_trial(method: ev.Method = TAPE) -> JobBuilder:
    """Every strip holds the tape, and the bare control is chosen."""
    bench = planned(bare(JobBuilder()), piece="shell")
    rested(sprayed(prepared(bench)))
    grade = "0" if method is CROSS_CUT else "5"
    return choose(judged(bench, {s: {method: [grade]} for s in "abc"}), "c")


def test_plain_tape_on_the_control_is_no_proof_that_no_promoter_is_needed() -> None:
    found = proof(bare_trial())
    assert not found.holds
    assert not found.failed
    assert "no promoter" in found.against[0]
    assert proof(bare_trial(CROSS_CUT)).holds


def test_a_strip_that_let_go_speaks_though_its_coats_were_not_logged() -> None:
    bench = prepared(planned(shell(JobBuilder()), each=2, piece="shell"))
    first, second = (s.piece for s in bench.state.trials["t1"].strips_of("a"))
    rested(sprayed(bench, only=[s for s in strips_of(bench) if s != second]))
    graded(bench, first, TAPE, "5")
    graded(bench, second, TAPE, "0")
    found = proof(choose(bench, "a"))
    assert found.failed
    assert not found.holds


def test_a_correction_of_the_ageing_moves_the_grades_after_it() -> None:
    """The strip was graded after it came out of the water, and that it came out was logged later."""
    bench = ran()
    strip = bench.state.trials["t1"].strips_of("a")[0].piece
    step = ev.Ageing(kind=ev.AgeingKind.WATER, lasts=timedelta(hours=24))
    bench.add(ev.AgeingBegun, trial="t1", strips=(strip,), ageing=step).wait(hours=24)
    out = bench.now
    bench.wait(hours=1)
    graded(bench, strip, TAPE, "5").wait(hours=1)
    out_of_it = partial(ev.AgeingOver, kind=ev.AgeingKind.WATER)
    over = bench.add(out_of_it, trial="t1", strips=(strip,)).job.events[-1]  # type: ignore[arg-type]
    assert bench.state.trials["t1"].tests() == ((TAPE, ()),)
    bench.add(ev.Corrected, event=over.id, really_at=out)
    assert list(faults(bench.job)) == []
    assert bench.state.trials["t1"].tests() == ((TAPE, (ev.AgeingKind.WATER,)),)


def test_an_additive_that_the_strips_had_belongs_to_their_stack() -> None:
    bench = ran()
    strip = bench.state.trials["t1"].strips_of("a")[0].piece
    judged(bench, {"a": {TAPE: ["5"]}})
    assert proof(choose(bench, "a")).holds
    layer = bench.state.pieces[strip].layers[0]
    bench.add(ev.LayerChanged, layer=replace(layer.plan, additives=("grip",)))
    assert not proof(bench).holds


def test_a_piece_that_only_says_it_is_a_strip_is_a_piece_of_somebody() -> None:
    for trial in ("t1", "nowhere"):
        bench = planned(shell(JobBuilder()))
        bench.add(ev.PieceChanged, piece=replace(bench.state.pieces["shell"].piece, strip_of=trial))
        assert list(faults(bench.job)) == []
        assert [p.id for p in bench.state.painted] == ["shell"]
        assert "promoter.unknown-untried" in bench.rules()


def said(bench: JobBuilder) -> str:
    return next(faults(bench.job)).message


def test_a_fault_is_told_by_its_cause_and_once() -> None:
    bench = graded(planned(shell(JobBuilder())), "t1-1", TAPE, "7")
    assert said(bench).endswith("only whole steps")  # what to do is said after a colon
    bench = planned(shell(JobBuilder()))
    plan = bench.state.trials["t1"].plan
    twice = (replace(plan.strips[0], piece="t1-2"), *plan.strips[1:])
    events = (*bench.job.events[:-1], replace(bench.job.events[-1], trial=replace(plan, strips=twice)))
    job = replace(bench.job, events=events)
    bench.job = job
    graded(bench, "t1-1", TAPE, "5")
    assert said(bench) == "one piece stands for two strips"


def test_a_grade_in_a_record_is_written_as_its_scale_writes_it() -> None:
    """Else one strip would stand beside the others as if it had another grade, and in no plot."""
    bench = graded(planned(shell(JobBuilder())), "t1-1", CROSS_CUT, "class 1")
    assert said(bench) == "the grade “class 1” is written “1” in a record"


def test_what_was_graded_before_a_bend_of_the_same_instant_is_not_after_it() -> None:
    bench = ran()
    graded(bench, "t1-1", TAPE, "5")
    bend = ev.Ageing(kind=ev.AgeingKind.FLEX, mandrel_mm=10)
    bench.add(ev.AgeingBegun, trial="t1", strips=("t1-1",), ageing=bend)
    bench.add(partial(ev.AgeingOver, kind=ev.AgeingKind.FLEX), trial="t1", strips=("t1-1",))  # type: ignore[arg-type]
    assert bench.state.trials["t1"].tests() == ((TAPE, ()),)
    graded(bench, "t1-1", TAPE, "4")
    assert bench.state.trials["t1"].tests() == ((TAPE, ()), (TAPE, (ev.AgeingKind.FLEX,)))


def test_a_second_tape_on_a_strip_leaves_the_first_its_time() -> None:
    """Plain tape lies for ten minutes, and an X-cut is taped beside it meanwhile."""
    xcut = ev.Method.D3359_A
    bench = ran(methods=(TAPE, xcut), tape_stays=timedelta(minutes=10))
    start = bench.now
    press(bench, TAPE).wait(minutes=1)
    press(bench, xcut)
    assert pulls(bench) == {TAPE: start + timedelta(minutes=10), xcut: start + timedelta(minutes=2)}
    trial = bench.state.trials["t1"]
    first = trial.tape_on("t1-1")
    assert first is not None
    assert first.method is xcut  # it is to be pulled first
    graded(bench.wait(minutes=1), "t1-1", xcut, "5A")
    assert pulls(bench) == {TAPE: start + timedelta(minutes=10)}
    graded(bench.wait(minutes=8), "t1-1", TAPE, "5")
    assert pulls(bench) == {}


def press(bench: JobBuilder, method: ev.Method) -> JobBuilder:
    return bench.add(ev.TapePressed, trial="t1", strip="t1-1", method=method)


def pulls(bench: JobBuilder) -> dict[str, datetime]:
    return {w.mark: w.span.opens_at for w in all_windows(bench.state) if w.kind is WindowKind.TAPE_ON}
