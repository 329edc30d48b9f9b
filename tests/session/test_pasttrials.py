"""Earlier trials: what is pooled and what never is, how it is said, how it is found, and what broken files do to it."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from builders import COLOUR, ONE_PART_PROMOTER, PROMOTER, JobBuilder
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from pasttrials_folder import ABS, NOBODY_KNOWS, many, shelf, three, trial_job, written
from trialbuilder import FINE, STICK, TAPE, aged, choose, graded, judged, planned, prepared, rested, shell, sprayed

from benchtool.job import events as ev
from benchtool.session import jobreading, pasttrials
from benchtool.session.demo import TRIAL_DEMO, demo_job
from benchtool.session.pastfound import PastTrial, trials_of
from benchtool.session.pastpools import Pool, answers, how_to_search, line_of, once, pools_of, read_query, row_words
from benchtool.session.pasttrials import Past, PastTrials
from benchtool.session.session import NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures

TABLES = load_tables()
PROMOTED = "Two-part promoter with Rigid activator + Base colour"


@pytest.fixture
def session(clock: Any) -> Iterator[Session]:
    made = Session(clock, TABLES, Measures())
    yield made
    made.close_all()


def read(past: PastTrials) -> Past:
    for _ in past.reading():
        pass
    return past.past


def found(*jobs: JobBuilder) -> tuple[PastTrial, ...]:
    return tuple(t for i, b in enumerate(jobs) for t in trials_of(b.job, b.state, TABLES, Path(f"/jobs/{i}.json")))


def pools(*jobs: JobBuilder, stack: str = PROMOTED) -> list[Pool]:
    return [p for p in pools_of(found(*jobs)) if p.first.stack == stack]


def tape(pool: Pool):
    return next(s for s in pool.statements if s.test == (TAPE, ()))


def two(**second: Any) -> tuple[JobBuilder, JobBuilder]:
    """Two jobs with the same trial, but for what is told of the second."""
    return trial_job(job="job-a"), trial_job(**({"job": "job-b", "days": 9} | second))


# --- what one trial says of itself ------------------------------------------------------------------------


def test_a_trial_is_told_with_all_that_decides_how_paint_holds() -> None:
    bench = shell(trial_job("Mudguard", batch=" roll  7", prep=("wash", "abrade")))
    choose(bench, "a")
    (trial,) = found(bench)
    group = trial.groups[0]
    assert (trial.job, trial.name, trial.demo, trial.newer) == ("Mudguard", "Trial", False, False)
    assert trial.last == max(e.at for e in bench.job.events if isinstance(e, ev.Graded))
    assert (group.system, group.stack, group.coats) == ("Two-part", PROMOTED, "2 + 1")
    assert (group.substrate, group.material, group.sure, group.lot) == ("abs", "ABS", True, "roll 7")
    assert group.prep == (ev.Prep.WASH, ev.Prep.ABRADE)
    assert group.chosen == ("Shell",)
    assert [g.control for g in trial.groups] == [False, False, True]
    assert {g.test[0] for g in group.strips[0].grades} == set(FINE["a"])


def test_a_grade_given_again_counts_once() -> None:
    bench = graded(trial_job(), "t1-1", TAPE, "2")
    (pool,) = pools(bench)
    assert tape(pool).codes == ("2",)


def test_a_strip_prepared_otherwise_than_its_like_stands_apart() -> None:
    bench = planned(JobBuilder(), each=2, **ABS)
    prepared(prepared(bench, "degrease"), "abrade", only=["t1-1"])
    judged(rested(sprayed(bench)), three())
    assert sorted(p.strips for p in pools(bench)) == [1, 1]
    assert [p.strips for p in pools(bench, stack=COLOUR.name)] == [2]


# --- what is pooled ---------------------------------------------------------------------------------------


def test_the_same_system_on_the_same_known_material_is_pooled_across_lots_and_told_lot_by_lot() -> None:
    one = trial_job(job="job-a", each=2, grades=three(), batch="roll 7")
    other = trial_job(job="job-b", days=9, each=2, grades=three("2"), batch="Roll 9")
    (pool,) = pools(one, other)
    said = tape(pool)
    assert (said.kept, said.strips, said.trials, said.codes) == (3, 4, 2, ("5", "5", "5", "2"))
    assert "held on 3 of 4 strips in 2 trials" in said.words
    assert "Grades: 5, 5, 5, 2." in said.words
    assert [lot for lot, _ in pool.lots] == ["Roll 9", "roll 7"]
    assert [(s.kept, s.strips) for _, (s, *_) in pool.lots] == [(1, 2), (2, 2)]


def test_no_average_is_told_where_no_limit_is_usual() -> None:
    (pool,) = pools(trial_job(each=2, grades=three()))
    stick = next(s for s in pool.statements if s.test == (STICK, ()))
    assert stick.kept is None
    assert stick.words == "Stick scratch: graded on 2 strips in 1 trial. Grades: 5, 4."


@pytest.mark.parametrize(
    "second",
    [
        pytest.param({"substrate": "pp"}, id="another material"),
        pytest.param({"known": "guessed"}, id="only guessed"),
        pytest.param({"prep": ("wash",)}, id="another prep"),
        pytest.param({"prep": ("degrease", "abrade")}, id="more prep"),
        pytest.param({"prep": ()}, id="no prep"),
        pytest.param(
            {"stacks": {"Two-part": [(PROMOTER, None), COLOUR], "x": [COLOUR], "None": [COLOUR]}}, id="no activator"
        ),
        pytest.param(
            {"stacks": {"Two-part": [COLOUR, (PROMOTER, "rigid")], "x": [COLOUR], "None": [COLOUR]}}, id="another order"
        ),
        pytest.param(
            {
                "stacks": {
                    "Two-part": [(replace(PROMOTER, id="another"), "rigid"), COLOUR],
                    "x": [COLOUR],
                    "None": [COLOUR],
                }
            },
            id="another card of the same name",
        ),
    ],
)
def test_what_is_not_comparable_is_never_pooled(second: dict[str, Any]) -> None:
    jobs = two(**second)
    together = [p for p in pools_of(found(*jobs)) if p.trials > 1 and PROMOTER.name in p.first.stack]
    assert together == []
    assert len([p for p in pools_of(found(*two())) if p.trials > 1]) == 3


def test_other_wording_of_the_same_is_pooled() -> None:
    stacks = {"Mine": [(PROMOTER, "rigid"), COLOUR], "Other": [ONE_PART_PROMOTER, COLOUR], "None": [COLOUR]}
    assert [p.trials for p in pools(*two(stacks=stacks, known="marked"))] == [2]


@pytest.mark.parametrize(
    ("one", "other", "trials"),
    [("roll 7", "Roll  7", [2]), ("roll 7", "roll 8", [1, 1]), ("", "", [1, 1]), ("", "roll 7", [1, 1])],
)
def test_an_unknown_material_is_pooled_within_its_own_lot_only(one: str, other: str, trials: list[int]) -> None:
    jobs = (
        trial_job(job="job-a", batch=one, **NOBODY_KNOWS),
        trial_job(job="job-b", days=9, batch=other, **NOBODY_KNOWS),
    )
    assert [p.trials for p in pools(*jobs)] == trials


def test_early_grades_are_left_out_and_told() -> None:
    (pool,) = pools(*two(early=True))
    assert (tape(pool).strips, tape(pool).early, tape(pool).codes) == (1, 1, ("5",))
    assert "1 grade given before the paint had rested is left out." in tape(pool).words
    assert any("(5 early)" in b.grades_words for b in pool.behind)
    (alone,) = pools(trial_job(early=True))
    assert "no grade can be counted yet" in tape(alone).words


def test_ageing_makes_another_test() -> None:
    bench = aged(trial_job(), ["t1-1"])
    graded(bench.wait(hours=30), "t1-1", TAPE, "1")
    (pool,) = pools(bench)
    assert [(s.test, s.codes) for s in pool.statements if s.test[0] is TAPE] == [
        ((TAPE, ()), ("5",)),
        ((TAPE, (ev.AgeingKind.WATER,)), ("1",)),
    ]


@given(st.lists(st.sampled_from("012345"), min_size=1, max_size=6))
@settings(max_examples=12, deadline=None)
def test_every_grade_is_told_once_however_the_trials_are_cut(codes: list[str]) -> None:
    jobs = [
        trial_job(job=f"job-{i}", days=i, grades={"a": {TAPE: [code]}, "b": {}, "c": {}})
        for i, code in enumerate(codes)
    ]
    (pool,) = pools(*jobs)
    said = tape(pool)
    assert list(said.codes) == sorted(codes, reverse=True)
    assert said.kept == sum(code in "45" for code in codes)
    assert said.strips == said.trials == len(codes)


def test_the_copy_of_a_job_counts_once_the_fuller_one() -> None:
    job = trial_job(grades={})
    fuller = trial_job()
    kept, copies = once((*found(job), *found(fuller), *found(job)))
    assert copies == 2
    assert [t.graded for t in kept] == [9]


# --- searching --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "count"),
    [
        ("", 12), ("ABS", 6), ("abs two-part", 2), ("substrate:abs product:promoter", 4), ("product:rigid", 4),
        ("material:ABS prep", 0), ("job:mirror", 3), ('job:"mirror cap" substrate:abs', 3), ("lot:may", 3),
        ("lot:roll", 3), ("zebra", 0), ("abrade", 3), ("mirror two-part", 1),
    ],
)  # fmt: skip
def test_words_and_named_words_find_what_holds_all_of_them(
    session: Session, tmp_path: Path, typed: str, count: int
) -> None:
    session.open(shelf(tmp_path))
    past = PastTrials(session)
    read(past)
    assert len(past.find(typed).pools) == count


def test_a_pool_that_answers_is_shown_whole(session: Session, tmp_path: Path) -> None:
    session.open(shelf(tmp_path))
    past = PastTrials(session)
    read(past)
    assert {p.trials for p in past.find("job:mirror").pools} == {3}


def test_what_cant_be_understood_is_told_and_narrows_nothing(session: Session, tmp_path: Path) -> None:
    session.open(shelf(tmp_path))
    past = PastTrials(session)
    read(past)
    asked = past.find("substrate:")
    assert "asks for a word" in asked.wrong
    assert asked.pools == past.past.pools
    assert past.find("substrate:abs").told == "substrate abs"
    assert how_to_search()


LINES = [line_of(b, lambda _: ("ABS",)) for b in pools(trial_job())[0].behind]


@given(st.text(max_size=60))
@settings(max_examples=60, deadline=None)
def test_whatever_is_typed_a_word_that_is_nowhere_finds_nothing(typed: str) -> None:
    assert not answers(read_query(f"{typed[:50]} zebra"), LINES)
    assert answers(read_query("promoter abs"), LINES)


# --- reading ----------------------------------------------------------------------------------------------


def test_the_folders_of_the_open_and_of_the_recent_jobs_are_read(session: Session, tmp_path: Path) -> None:
    session.open(shelf(tmp_path / "a"))
    other = written(tmp_path / "b", "far", trial_job("Far away", job="job-z", days=90))
    assert {t.job for t in read(PastTrials(session)).trials} == {
        "Mudguard", "Mirror cap", "Dashboard", "Clear shell", "Camera case", "Hasty bracket",
    }  # fmt: skip
    past = PastTrials(session, lambda: [str(other)])
    assert "Far away" in {t.job for t in read(past).trials}
    assert [t.open for t in past.past.trials if t.job == "Mudguard"] == [True]


def test_broken_files_and_lost_folders_are_told_and_hide_nothing(session: Session, tmp_path: Path) -> None:
    session.open(shelf(tmp_path))
    torn = tmp_path / "torn.json"
    torn.write_bytes((tmp_path / "dash.json").read_bytes()[:6_000])
    (tmp_path / "odd.json").write_bytes(
        (tmp_path / "dash.json").read_bytes().replace(b'"trial planned"', b'"trial planned", "x": 1', 1)
    )
    past = read(PastTrials(session, lambda: [str(tmp_path / "lost" / "job.json")]))
    assert len(past.trials) == 6
    told = {f.path.name: f.words for f in past.faults}
    assert set(told) == {"torn.json", "odd.json", "lost"}
    assert "line" in told["torn.json"]
    assert "$.events[" in told["odd.json"]
    assert "is gone" in told["lost"]
    assert "2 more could not be read." in past.fault_words


def test_a_newer_job_is_read_as_far_as_it_is_understood_and_marked(session: Session, tmp_path: Path) -> None:
    path = written(tmp_path, "newer", trial_job("From tomorrow", job="job-n"))
    plain = json.loads(path.read_bytes())
    plain["schema"] += 1
    plain["events"].append({"type": "trial adored", "id": "e999", "at": plain["events"][-1]["at"]})
    path.write_text(json.dumps(plain))
    session.open(written(tmp_path, "mine", trial_job("Mine", days=3)))
    past = PastTrials(session)
    read(past)
    assert {t.job: t.newer for t in past.past.trials} == {"From tomorrow": True, "Mine": False}
    (trial,) = [t for t in past.past.trials if t.newer]
    assert "Two-part" in past.text_of(trial)


def test_the_demo_is_there_only_while_it_is_open_and_says_so(session: Session, tmp_path: Path) -> None:
    demo = tmp_path / "demo-trial.json"
    jobfile.save(demo, demo_job(session.now(), TRIAL_DEMO))
    mine = written(tmp_path, "mine", trial_job())
    session.open(mine)
    past = PastTrials(session)
    assert [t.demo for t in read(past).trials] == [False]
    session.open(demo)
    assert sorted(t.demo for t in read(past).trials) == [False, True]


def test_a_file_is_read_again_only_when_it_changed(
    session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session.open(shelf(tmp_path))
    looked: list[str] = []
    real = pasttrials.read_trials
    monkeypatch.setattr(pasttrials, "read_trials", lambda path: looked.append(path.name) or real(path))
    past = PastTrials(session)
    read(past)
    assert len(looked) == 6
    looked.clear()
    written(tmp_path, "dash", trial_job("Dashboard, sanded", job="job-c", days=41, prep=("wash", "scuff")))
    (tmp_path / "case.json").unlink()
    again = read(past)
    assert looked == ["dash.json"]
    assert {"Dashboard, sanded"} == {t.job for t in again.trials if "Dashboard" in t.job}
    assert "Camera case" not in {t.job for t in again.trials}


@pytest.mark.parametrize("gone", [True, False])
def test_a_share_that_was_not_there_for_a_moment_is_read_when_it_is_back(
    session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, gone: bool
) -> None:
    session.open(shelf(tmp_path))
    past = PastTrials(session)
    real, away = pasttrials.read_trials, tmp_path.with_name(f"{tmp_path.name}-away")

    def falls_off(path: Path) -> Any:
        if path.name != "case.json":
            return real(path)
        if not gone:
            raise pasttrials.JobFileFault(path, "You may not read this file: have its rights changed, or copy it")
        tmp_path.rename(away)
        return real(path)

    with monkeypatch.context() as patch:
        patch.setattr(pasttrials, "read_trials", falls_off)
        assert "Camera case" not in {t.job for t in read(past).trials}
    if gone:
        away.rename(tmp_path)
    assert "Camera case" in {t.job for t in read(past).trials}


def test_an_act_in_an_open_job_shows_without_reading(session: Session, tmp_path: Path) -> None:
    session.open(shelf(tmp_path))
    past = PastTrials(session)
    read(past)
    session.undo()
    mudguard = next(t for t in past.gather().trials if t.job == "Mudguard")
    assert mudguard.graded == 17


def test_three_hundred_jobs_are_read_in_steps_and_can_be_stopped(
    session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    paths = list(many(tmp_path, 300, with_trial=5))
    session.open(paths[1])
    past, gate, real = PastTrials(session), Event(), pasttrials.read_trials
    looked: list[Path] = []

    def held_up(path: Path) -> Any:
        looked.append(path)
        if len(looked) > 50:
            gate.wait(20)
        return real(path)

    monkeypatch.setattr(pasttrials, "read_trials", held_up)
    work = past.reading()
    for told in work:
        if told.read == 50:
            break
    assert told.words == "Read 50 of 300 jobs."
    work.close()
    gate.set()
    stopped = past.gather()
    assert not stopped.whole
    assert "Stopped: 50 of 300 job files looked at." in stopped.words
    assert 0 < len(stopped.trials) < 60
    whole = read(past)
    assert whole.whole
    assert (len(whole.trials), whole.files, whole.of) == (60, 300, 300)
    assert [p.trials for p in whole.pools] == [60, 60, 60]


def test_a_thread_that_breaks_off_is_told(session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session.open(shelf(tmp_path))

    def breaks(_: object) -> None:
        raise MemoryError

    monkeypatch.setattr(jobreading, "job_files", breaks)
    past = read(PastTrials(session))
    assert "MemoryError" in past.fault_words
    assert [t.job for t in past.trials] == ["Mudguard"]


def test_one_odd_file_hides_no_other(session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    session.open(shelf(tmp_path))
    real: Callable[..., Any] = pasttrials.trials_of

    def odd(job: Any, *args: Any, **told: Any) -> Any:
        if job.id == "job-c":
            raise RecursionError
        return real(job, *args, **told)

    monkeypatch.setattr(pasttrials, "trials_of", odd)
    past = read(PastTrials(session))
    assert len(past.trials) == 5
    assert "dash.json" in past.fault_words


# --- what is done with one --------------------------------------------------------------------------------


def test_a_trial_is_written_out_whole_and_one_that_went_says_so(session: Session, tmp_path: Path) -> None:
    session.open(shelf(tmp_path))
    past = PastTrials(session)
    read(past)
    mirror = next(t for t in past.past.trials if t.job == "Mirror cap")
    assert past.text_of(mirror).startswith("Trial: Mirror trial\n")
    mirror.path.unlink()
    with pytest.raises(NotNow, match="no such file"):
        past.text_of(mirror)


@pytest.mark.parametrize("job", ["Mudguard", "Mirror cap"])
def test_its_systems_can_be_set_up_anew(session: Session, tmp_path: Path, job: str) -> None:
    session.open(shelf(tmp_path))
    past = PastTrials(session)
    read(past)
    systems = past.like(next(t for t in past.past.trials if t.job == job))
    assert [(name, control, [r.card.id for r in rows]) for name, control, rows in systems] == [
        ("Two-part", False, [PROMOTER.id, COLOUR.id]),
        ("One-part", False, [ONE_PART_PROMOTER.id, COLOUR.id]),
        ("None", True, [COLOUR.id]),
    ]
    assert systems[0][2][0].plan.activator == "rigid"


def test_a_row_says_on_what_and_how_many_stand_behind_it() -> None:
    (pool,) = pools(*two())
    assert row_words(pool) == "ABS; 2 strips in 2 trials; Plain tape held on 2 of 2; Degrease"
    (unknown,) = pools(trial_job(batch="roll 7", prep=(), **NOBODY_KNOWS))
    assert row_words(unknown).startswith("Unknown material, lot roll 7; 1 strip in 1 trial")
    assert ABS["substrate"] == "abs"
