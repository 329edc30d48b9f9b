"""`benchtool trial`: the trials of a job, and the places of a plan."""

import json
from datetime import timedelta
from pathlib import Path

import pytest
from builders import JobBuilder
from cli.asking import Said, ask, tank
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples
from trialbuilder import FINE, TAPE, choose, graded, judged, planned, prepared, ran, shell, sprayed, tried

from benchtool.job import events as ev
from benchtool.store import jobfile
from benchtool.store.jobfile import JobFileFault

PLAN = {"systems": ["Two-part", "One-part", {"name": "None", "control": True}], "replicates": 3, "seed": 1}


def told(bench: JobBuilder, *more: str) -> Said:
    return ask("trial", "demo", *more, now=bench.now, job=lambda _: bench.job)


def one(bench: JobBuilder) -> dict:
    (trial,) = told(bench, "--json").values["trials"]
    return trial


# --- a job -------------------------------------------------------------------------------------------


def test_it_tells_systems_strips_and_grades() -> None:
    trial = one(choose(tried(batch="Sheet 3")))
    assert [s["name"] for s in trial["systems"]] == ["Two-part", "One-part", "None"]
    assert [s["place_in_order"] for s in trial["systems"]] == [1, 2, 3]
    assert trial["systems"][0]["stack"][0] == {
        "card": "promoter-2k", "name": "Two-part promoter", "coats": 2, "gun": "airbrush",
        "activator": "Rigid activator", "additives": [],
    }  # fmt: skip
    assert [s["control"] for s in trial["systems"]] == [False, False, True]
    assert [(s["number"], s["panel"], s["place"], s["system_name"]) for s in trial["strips"]] == [
        (1, 1, 0, "Two-part"),
        (2, 1, 1, "One-part"),
        (3, 1, 2, "None"),
    ]
    assert (trial["batch"], trial["substrate"], trial["piece_name"]) == ("Sheet 3", "unknown", "Shell")
    assert [g["grade"] for g in trial["grades"]] == ["5", "5", "5", "4", "3", "3", "1", "1", "0"]
    assert {g["held"] for g in trial["grades"] if g["method"] == "plain tape"} == {True, False}
    assert {g["held"] for g in trial["grades"] if g["method"] != "plain tape"} == {None}
    assert trial["still_to_grade"] == []
    assert "With one strip of each" in trial["words"]
    (chosen,) = trial["chosen"]
    assert (chosen["system_name"], chosen["piece_name"], chosen["proves"]) == ("Two-part", "Shell", True)
    assert {f["rule"] for f in trial["findings"]} == {"trial.one-strip", "trial.prep-to-do"}


def test_an_early_grade_is_kept_and_flagged() -> None:
    bench = graded(sprayed(prepared(planned(shell(JobBuilder()), piece="shell"))), "t1-1", TAPE, "5")
    trial = one(bench)
    assert [(g["grade"], g["rested"], g["counts"]) for g in trial["grades"]] == [("5", "early", False)]
    assert "trial.too-early" in {f["rule"] for f in trial["findings"]}
    said = told(bench)
    assert "Tested before the paint had rested: Strip 1" in said.out
    assert said.status == 0


def test_it_says_what_comes_next_for_each_strip() -> None:
    bench = planned(shell(JobBuilder()), piece="shell")
    assert {s["next"] for s in one(bench)["strips"]} == {"Wash it in water detergent, rinse it well and let it dry"}
    bench = ran()
    nexts = {s["next"] for s in one(bench)["strips"]}
    assert nexts == {"It has rested: test it. Tests: Plain tape, no cuts, Stick scratch, Fingernail."}
    judged(bench, FINE)
    assert {s["next"] for s in one(bench)["strips"]} == {"All tests are graded."}
    bench.add(ev.TrialEnded, trial="t1")
    assert {s["next"] for s in one(bench)["strips"]} == {"It is put away."}
    assert "Strips 1, 2 and 3: It is put away." in told(bench).out


def test_it_says_which_ageing_is_next_and_what_is_left_to_grade() -> None:
    soak = ev.Ageing(kind=ev.AgeingKind.WATER, lasts=timedelta(hours=24))
    bench = judged(ran(ageing=(soak,)), FINE)
    trial = one(bench)
    assert {s["next"] for s in trial["strips"]} == {"Age it: water soak."}
    assert {left["test"] for left in trial["still_to_grade"]} == {
        "Plain tape, no cuts, after water", "Stick scratch, after water", "Fingernail, after water",
    }  # fmt: skip


def test_the_text_never_takes_the_tape_for_a_proof_that_no_promoter_is_needed() -> None:
    bench = judged(ran(), {s: {TAPE: ["5"]} for s in "abc"})
    out = " ".join(told(bench).out.split())
    assert "held the tape as well as the rest" in out
    assert "no proof that no promoter is needed" in out


def test_a_stop_on_a_strip_is_trouble_and_one_on_a_piece_is_not() -> None:
    bench = tried()
    assert "promoter.unknown-untried" in bench.rules()
    assert told(bench).status == 0
    bench.change_layer("t1-1-a", activator="flexible", coats=3)
    assert told(bench).status == 1


def test_what_is_said_of_several_strips_is_told_once() -> None:
    bench = prepared(planned(shell(JobBuilder()), piece="shell", each=2)).wait(days=2)
    out = " ".join(told(bench).out.split())
    assert out.count("Degrease it once more") == 1
    assert "The same of strips 2, 3, 4, 5 and 6." in out
    assert len([f for f in one(bench)["findings"] if f["rule"] == "cleaning.cleaned-long-ago"]) == 6


def test_at_looks_back() -> None:
    bench = ran()
    then = bench.now.isoformat()
    bench.wait(hours=1)
    judged(bench, FINE)
    values = told(bench, "--json", "--at", then).values
    assert values["trials"][0]["grades"] == []
    assert told(bench, "--json").values["trials"][0]["grades"] != []


def test_a_job_without_a_trial_says_so() -> None:
    said = ask("trial", "demo", job=lambda _: tank())
    assert said.status == 0
    assert said.out == "There is no trial in this job.\n"
    assert ask("trial", "demo", "--json", job=lambda _: tank()).values["trials"] == []


def test_a_job_file_is_read_as_a_job(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    jobfile.save(path, tried().job)
    said = ask("trial", str(path), job=lambda name: jobfile.load(Path(name)))
    assert "Trial: Trial" in said.out
    assert "1. Two-part: " in said.out


def test_what_a_job_says_can_move_no_cursor() -> None:
    bench = tried(name="Bad\x1b[2Jname", note="and\x07this")
    assert not {c for c in told(bench).out if not c.isprintable() and c != "\n"}


# --- a plan ------------------------------------------------------------------------------------------


def laid(plan: object, *more: str) -> Said:
    return ask("trial", "-", *more, stdin=json.dumps(plan))


def test_a_plan_gives_places_and_how_many_strips_it_takes() -> None:
    values = laid(PLAN, "--json").values
    assert values["strips_in_all"] == 9
    assert [s["number"] for s in values["strips"]] == list(range(1, 10))
    of = [s["system"] for s in values["strips"]]
    assert {name: of.count(name) for name in of} == {"Two-part": 3, "One-part": 3, "None": 3}
    assert values == laid(PLAN, "--json").values
    assert values["strips"] != laid(PLAN | {"seed": 2}, "--json").values["strips"]
    assert values["panels"] == [{"panel": 1, "strips": 9, "width_mm": 293.0, "height_mm": 145.0}]
    assert "as clearly in at least 10 of 100 such trials (exact p 0.10)" in values["words"]


def test_without_a_seed_they_lie_in_order_the_control_last() -> None:
    systems = [{"name": "None", "control": True}, "A", "B"]
    values = laid({"systems": systems, "replicates": 1}, "--json").values
    assert [s["system"] for s in values["strips"]] == ["A", "B", "None"]
    assert "seed" in values["why"]
    assert "1  A\n" in laid({"systems": systems, "replicates": 1}).out


def test_more_than_a_panel_holds_go_on_several() -> None:
    values = laid(PLAN | {"replicates": 5}, "--json").values
    assert [p["strips"] for p in values["panels"]] == [8, 7]


def test_a_plan_without_a_control_is_laid_out_with_the_reason() -> None:
    assert laid({"systems": ["A", "B"]}, "--json").values["words"].startswith("No system is the control: ")


def test_a_plan_lies_in_a_file_too(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(PLAN), encoding="utf-8")
    assert ask("trial", str(path)).out.startswith("9 strips: 3 systems, 3 of each, places by chance.\n")


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        ({}, "systems"),
        ([], "systems"),
        ({"systems": "A, B"}, "list of 2 to 12"),
        ({"systems": ["A"]}, "list of 2 to 12"),
        ({"systems": [f"S{i}" for i in range(13)]}, "list of 2 to 12"),
        ({"systems": ["A", "a"]}, "twice"),
        ({"systems": ["A", 2]}, "System 2"),
        ({"systems": ["A", ""]}, "System 2"),
        ({"systems": ["A", {"name": "B", "control": "yes"}]}, "System 2"),
        ({"systems": ["A", "B"], "replicates": 0}, "replicates"),
        ({"systems": ["A", "B"], "replicates": 9}, "replicates"),
        ({"systems": ["A", "B"], "replicates": 2.5}, "replicates"),
        ({"systems": ["A", "B"], "replicates": True}, "replicates"),
        ({"systems": ["A", "B"], "seed": "x"}, "seed"),
        ({"systems": ["A", "B"], "seed": -1}, "seed"),
        ({"systems": ["A", "B"], "strip_width_mm": 0}, "strip_width_mm"),
        ({"systems": ["A", "B"], "strip_length_mm": 1e9}, "strip_length_mm"),
        ({"systems": ["A", "B"], "stripes": 3}, "stripes"),
        ({"systems": ["A", "B"], "name": 5}, "name"),
        ({"systems": ["A", "B"], "name": "x" * 201}, "name"),
        ({"format": "x", "events": []}, "standard input takes a plan"),
    ],
)
def test_bad_plans_are_one_clear_line(plan: object, said: str) -> None:
    answer = laid(plan)
    assert answer.status == 2
    assert said in answer.err


def test_without_a_control_none_is_said_to_lie_last() -> None:
    assert "control last" not in laid({"systems": ["A", "B"]}).out


@pytest.mark.parametrize("text", ["", "{", "[[[", '{"systems": ["A", "B"], "systems": ["C", "D"]}', "nan", '"x"', "7"])
def test_what_is_no_plan_is_one_clear_line(text: str) -> None:
    assert ask("trial", "-", stdin=text).status == 2


def test_a_file_that_is_neither_is_one_clear_line(tmp_path: Path) -> None:
    def broken(name: str) -> object:
        raise JobFileFault(f"{name}: this is no job")

    path = tmp_path / "x.json"
    for content in (b"", b"\xff\xfe", b"{", b"no json"):
        path.write_bytes(content)
        assert ask("trial", str(path), job=broken).status == 2
    path.write_text('{"name": "x"}', encoding="utf-8")
    assert "neither a job nor a plan" in ask("trial", str(path)).err
    assert ask("trial", str(tmp_path / "gone.json"), job=broken).status == 2
    assert "--at" in ask("trial", "-", "--at", "2026-01-01", stdin=json.dumps(PLAN)).err


LEAF = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5)
NEST = st.lists(LEAF, max_size=4) | st.dictionaries(st.text(max_size=5), LEAF, max_size=3)
JSON = LEAF | NEST | st.lists(NEST, max_size=3) | st.dictionaries(st.text(max_size=5), NEST, max_size=3)


@examples(60)
@given(systems=JSON, replicates=JSON, seed=JSON)
def test_no_plan_breaks_it(systems: object, replicates: object, seed: object) -> None:
    said = laid({"systems": systems, "replicates": replicates, "seed": seed})
    assert said.status in (0, 2)


def test_a_strip_of_old_is_called_by_the_letter_in_its_name() -> None:
    bench = tried()
    for piece in [p for p in bench.state.pieces.values() if p.piece.strip_of]:
        renamed = replace(piece.piece, name=piece.piece.name.replace("Strip ", "Strip B"))
        bench.add(ev.PieceChanged, piece=renamed)
    assert [s["number"] for s in one(bench)["strips"]] == ["B1", "B2", "B3"]
    assert [s["strips"] for s in one(bench)["systems"]] == [["B1"], ["B2"], ["B3"]]
    assert "strip B1." in told(bench).out
