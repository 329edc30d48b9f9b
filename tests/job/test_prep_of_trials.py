"""The prep plan of a test strip, and of a piece that a trial proves."""

from builders import COLOUR, JobBuilder
from trialbuilder import TAPE, choose, graded, planned, shell, tried

from benchtool.job.prepplan import Part, PlannedStep, Standing
from benchtool.rules.preparing import plan_of


def step(bench: JobBuilder, part: Part, piece: str = "shell") -> PlannedStep | None:
    state = bench.state
    plan = plan_of(state, state.pieces[piece], bench.tables, bench.now)
    return next((s for s in plan if s.part is part), None)


def test_an_unknown_piece_wants_a_strip_until_a_trial_proves_it() -> None:
    bench = tried()
    before = step(bench, Part.TRIAL)
    assert before is not None
    assert before.state is Standing.LATER
    choose(bench)
    proved = step(bench, Part.TRIAL)
    assert proved is not None
    assert (proved.state, proved.done_at) == (Standing.DONE, bench.now)
    assert proved.words == "Proved: Two-part held in the trial Trial."
    assert "still to be degreased, as the strips were" in proved.reason


def test_the_plan_says_why_a_trial_does_not_speak_for_it() -> None:
    bench = choose(tried())
    graded(bench.wait(hours=1), "t1-1", TAPE, "1")
    trial = step(bench, Part.TRIAL)
    assert trial is not None
    assert trial.state is not Standing.DONE
    assert trial.words == "Prove it on a test strip beside a bare control."
    assert trial.reason == "The trial of Two-part does not speak for it. Strip 1 did not hold. Plain tape, no cuts: 1."


def test_a_known_material_tells_of_the_trial_too_and_asks_for_none() -> None:
    bench = shell(JobBuilder(), substrate="abs", known="told")
    assert step(bench, Part.TRIAL) is None
    planned(bench, substrate="abs", piece="shell")
    trial = step(choose(bench), Part.TRIAL)
    assert trial is not None
    assert trial.state is Standing.IF_NEEDED


def test_a_quick_log_after_the_trial_decides_in_the_plan_too() -> None:
    bench = choose(tried()).wait(hours=1).trial(held=False, piece="shell")
    trial = step(bench, Part.TRIAL)
    assert trial is not None
    assert trial.state is not Standing.DONE
    assert "does not speak" not in trial.reason


def test_a_strip_wants_no_strip_and_no_promoter_that_its_system_has_not() -> None:
    unknown = planned(shell(JobBuilder()))
    assert step(unknown, Part.TRIAL) is not None
    assert [step(unknown, Part.TRIAL, strip) for strip in ("t1-1", "t1-2", "t1-3")] == [None, None, None]
    bench = planned(shell(JobBuilder(), substrate="pp", known="told"), substrate="pp")
    promoted, bare = step(bench, Part.PROMOTE, "t1-1"), step(bench, Part.PROMOTE, "t1-3")
    assert promoted is not None
    assert promoted.state is Standing.LATER
    assert bare is not None
    assert bare.state is Standing.NOT_HERE
    assert bare.reason == "Its system has none: the strip shows what that does."
    alone = JobBuilder().card(COLOUR).piece("p", "pp").layer("colour", COLOUR, 1)
    asked = step(alone, Part.PROMOTE, "p")
    assert asked is not None
    assert asked.state is Standing.LATER
