"""What is told of a test strip: each rule is silent on strips, with a reason, or speaks of them as of a piece."""

import pytest
from builders import COLOUR, ONE_PART_PROMOTER, JobBuilder
from msgspec.structs import replace
from rules import test_rules_each
from rules.case_book import FAILING, Case
from trialbuilder import STACKS, planned, prepared, shell, sprayed

from benchtool.job import events as ev
from benchtool.job.record import Job
from benchtool.job.trialnumbers import StripNumber
from benchtool.rules.engine import ALL, BY_ID, every, signed_by
from benchtool.rules.finding import Cause
from benchtool.rules.onstrips import SILENT, STAYS, _runs, is_strip, told_of

assert test_rules_each  # importing it fills the book
ABOUT = (Cause.MATERIAL.value, Cause.HOLD.value)


def as_strips(bench: JobBuilder) -> JobBuilder:
    """Make every piece of a job a strip of one trial."""
    events: list[ev.Event] = []
    pieces: list[str] = []
    for event in bench.job.events:
        if isinstance(event, ev.PieceAdded | ev.PieceChanged):
            pieces += [event.piece.id] if isinstance(event, ev.PieceAdded) else []
            event = replace(event, piece=replace(event.piece, strip_of="tx"))
        events.append(event)
    systems = tuple(ev.System(id=f"s{i}", name=f"S{i}", control=not i) for i in range(2))
    strips = tuple(ev.Strip(piece=p, system="s0", place=i) for i, p in enumerate(pieces))
    more = ev.Strip(piece="nobody", system="s1", place=len(pieces))
    trial = ev.Trial(id="tx", name="T", systems=systems, strips=(*strips, more, more)[: max(2, len(strips) + 1)])
    at = bench.job.events[0].at
    planned_ = ev.TrialPlanned(id="tx-1", at=at, trial=trial)
    bench.job = Job(**{f: getattr(bench.job, f) for f in bench.job.__struct_fields__} | {"events": (*events, planned_)})
    return bench


FALLING = [(rule, case) for rule, case in FAILING if not rule.startswith(("trial.", "record.", "own."))]


@pytest.mark.parametrize(("rule", "case"), FALLING, ids=lambda v: getattr(v, "__name__", str(v)))
def test_each_rule_is_silent_on_strips_or_speaks_as_ever(rule: str, case: Case) -> None:
    bench = as_strips(case())
    assert (rule in bench.rules()) is (rule not in SILENT)


def test_every_decision_is_about_a_rule_and_has_a_reason() -> None:
    assert set(SILENT).isdisjoint(STAYS)
    assert {*SILENT, *STAYS} <= set(BY_ID)
    assert all(reason.endswith(".") for reason in (*SILENT.values(), *STAYS.values()))


@pytest.mark.parametrize(("rule", "case"), FALLING, ids=lambda v: getattr(v, "__name__", str(v)))
def test_what_speaks_of_the_material_or_of_the_hold_was_decided_on(rule: str, case: Case) -> None:
    for finding in case().of(rule):
        if finding.cause.startswith(ABOUT):
            assert rule in SILENT or rule in STAYS


def test_there_is_a_case_for_each_of_them() -> None:
    assert {*SILENT, *STAYS} <= {rule for rule, _ in FALLING}
    assert {r.id for r in ALL} - {rule for rule, _ in FALLING} == {
        r.id for r in ALL if r.family in ("trial", "record", "own")
    }


def test_a_strip_of_a_trial_that_was_taken_back_is_a_piece_as_any() -> None:
    bench = JobBuilder().card(COLOUR).piece("p", "pp").layer("colour", COLOUR, 1)
    bench.add(ev.PieceChanged, piece=replace(bench.state.pieces["p"].piece, strip_of="gone"))
    assert not is_strip(bench.state, "p")
    assert "promoter.paint-refused" in bench.rules()


@pytest.mark.parametrize("substrate", ["unknown", "pp", "pe-hd", "ptfe", "glass", "steel", "abs", "pc"])
def test_no_strip_of_a_trial_run_by_the_book_has_anything_in_its_way(substrate: str) -> None:
    bench = shell(JobBuilder(), substrate=substrate, known="unknown" if substrate == "unknown" else "told")
    planned(bench, each=2, substrate=substrate, piece="shell")
    prepared(bench)
    for strip in bench.state.trials["t1"].plan.strips:
        layers = bench.state.pieces[strip.piece].layers
        assert bench.in_the_way(layers[0].id) == set()
    sprayed(bench)
    strips = {s.piece for s in bench.state.trials["t1"].plan.strips}
    assert {f.rule for f in bench.findings() if f.piece in strips} == set()


def test_what_hurts_or_spoils_a_strip_is_told_as_on_any_piece() -> None:
    bench = shell(JobBuilder())
    planned(bench, stacks={"Wrong": [(STACKS["Two-part"][0][0], "flexible"), COLOUR], "None": [ONE_PART_PROMOTER]})
    assert "promoter.activator-type" in bench.in_the_way("t1-1-a")
    prepared(bench).ready("t1-2-a").coat().coat()
    assert "timing.flash" in bench.rules()


# --- what several strips have alike, and strips that were put away ---------------------------------------


def of_strips(bench: JobBuilder) -> list:
    return [f for f in bench.shown() if f.piece != "shell" and f.piece is not None]


def warned() -> JobBuilder:
    """Nine strips whose colour was sprayed without a cup on record."""
    bench = prepared(planned(shell(JobBuilder()), each=3))
    for strip in [s.piece for s in bench.state.trials["t1"].plan.strips]:
        bench.coat(bench.state.pieces[strip].layers[0].id, mix=None)
    return bench.wait(minutes=1)


def test_what_strips_of_a_trial_have_alike_is_told_once() -> None:
    bench = warned()
    told = [f for f in of_strips(bench) if f.rule == "mixing.not-logged"]
    assert len(told) == 1
    two_part = [s.piece for s in bench.state.trials["t1"].strips_of("a")]
    assert sorted(told[0].told_of) == sorted(two_part)
    assert len(two_part) == 3
    assert all(o.alike != told[0].alike for o in told[0].others)
    assert told_of(bench.state, told[0]) == f"Strips {', '.join(_numbers(bench)[:2])} and {_numbers(bench)[2]}"


def _numbers(bench: JobBuilder) -> list[str]:
    return [bench.state.pieces[s.piece].piece.name.split()[-1] for s in bench.state.trials["t1"].strips_of("a")]


def test_strips_are_named_in_short() -> None:
    assert _runs([StripNumber(n) for n in (1, 2, 3, 5, 7, 8)]) == ["1 to 3", "5", "7", "8"]


def test_one_waiver_speaks_for_all_strips_that_have_it_alike() -> None:
    bench = warned()
    told = next(f for f in of_strips(bench) if f.rule == "mixing.not-logged")
    for finding in signed_by(told):
        bench.waive(finding)
    signed = [f for f in every(of_strips(bench)) if f.rule == "mixing.not-logged"]
    assert [f.waived for f in signed] == [True, True, True]


def test_of_strips_that_were_put_away_nothing_is_told_any_more() -> None:
    bench = warned()
    assert of_strips(bench)
    of_shell = [f for f in bench.shown() if f.piece == "shell" and not f.rule.startswith("trial.")]
    bench.add(ev.TrialEnded, trial="t1")
    assert of_strips(bench) == []
    assert [f for f in bench.shown() if f.piece == "shell" and not f.rule.startswith("trial.")] == of_shell
    assert not [f for f in bench.findings() if f.rule.startswith("trial.") and "|t1" in f.key and f.piece != "shell"]


def test_a_piece_that_somebody_waits_for_stands_before_strips() -> None:
    shown = [f for f in warned().shown() if not f.waived]
    order = [(f.severity, f.clears_at is not None, bool(f.alike)) for f in shown]
    for severity in {s for s, _, _ in order}:
        of_it = [strip for s, clears, strip in order if s is severity and not clears]
        assert of_it == sorted(of_it)
