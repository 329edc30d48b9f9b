"""`benchtool prep`: the plan of a job's pieces, or of a material alone, and input that is no use."""

import json
import shlex

import pytest
from cli.asking import ask, minutes, tank

from benchtool.job import events as ev


def prep(words, job=None):
    return ask("prep", *shlex.split(words), job=(lambda name: job) if job is not None else None, now=minutes(120))


def values(words, status=0, job=None):
    said = prep(f"{words} --json", job)
    assert said.status == status, said.err
    assert said.values.keys() >= {"pieces", "caution", "notes"}
    return said.values


def states(piece):
    return {step["part"]: step["state"] for step in piece["steps"]}


def test_a_material_alone_gets_its_plan():
    [piece] = values("--substrate abs")["pieces"]
    assert piece["material"] == "ABS"
    assert states(piece)["wash"] == "next"
    assert states(piece)["release wash"] == "later"
    assert all(step["reason"] and step["source"] for step in piece["steps"])
    assert piece["next"].startswith("Wash it")


def test_the_text_has_each_step_with_its_reason_and_the_caution_once():
    said = prep("--substrate abs --nooks")
    assert said.status == 0
    assert "Prep plan: ABS" in said.out
    assert said.out.count("Why:") == said.out.count("Source:") == len(values("--substrate abs")["pieces"][0]["steps"])
    assert said.out.count("The product's safety data sheet") == 1
    # 29 CFR 1910.242(b): less than 30 psi
    assert "30 psi" in said.out


def test_what_is_unknown_is_told_to_be_proved():
    [piece] = values("--substrate unknown")["pieces"]
    assert states(piece)["trial"] == "later"
    assert states(piece)["abrade"] == "not for this piece"


def test_a_clear_face_is_not_abraded():
    [piece] = values("--substrate abs --behind-clear")["pieces"]
    assert states(piece)["abrade"] == "not for this piece"


def test_a_job_shows_what_is_done_and_what_is_on():
    [piece] = values("tank.json", job=tank())["pieces"]
    assert piece["piece"] == "Fuel tank"
    assert states(piece) == {"scuff": "only if it needs it"}  # its first layer is half on
    [bare] = values("tank.json", job=_bare())["pieces"]
    assert states(bare)["release wash"] == states(bare)["degrease"] == "done"
    assert [s["done_at"] for s in bare["steps"] if s["part"] == "degrease"] == ["2026-11-25T13:02:00+00:00"]


def _bare(*more, piece="Fuel tank"):
    job = tank()
    events = tuple(e for e in job.events if isinstance(e, (ev.JobDescribed, ev.PieceAdded, ev.PrepDone)))
    from msgspec.structs import replace

    named = tuple(replace(e, piece=replace(e.piece, name=piece)) if isinstance(e, ev.PieceAdded) else e for e in events)
    return replace(job, events=(*named, *more))


def test_one_piece_is_found_by_its_name():
    assert len(values("tank.json --piece 'fuel  TANK'", job=_bare())["pieces"]) == 1
    said = prep("tank.json --piece lid", _bare())
    assert said.status == 2
    assert "Fuel tank" in said.err


def test_a_scratched_clear_shell_is_trouble():
    shell = ev.Piece(
        id="p1", name="Shell", substrate="abs", known=ev.Known.TOLD, flex="rigid", face=ev.Face.BEHIND_CLEAR
    )
    told = ev.PieceChanged(id="x1", at=minutes(3), piece=shell)
    scratched = ev.PrepDone(id="x2", at=minutes(4), piece="p1", step=ev.Prep.ABRADE)
    [piece] = values("tank.json", status=1, job=_bare(told, scratched))["pieces"]
    assert "scratches" in piece["troubles"][0]
    assert "Mind:" in prep("tank.json", _bare(told, scratched)).out
    assert values("tank.json", job=_bare(told))["pieces"][0]["troubles"] == []


def test_a_name_from_a_file_moves_nothing_in_a_terminal():
    said = prep("tank.json", _bare(piece="Tank\x1b[2J\nnext"))
    assert "\x1b" not in said.out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("", "missing"),
        ("tank.json --substrate abs", "not both"),
        ("tank.json --nooks", "go with --substrate"),
        ("--substrate abs --piece lid", "goes with a job"),
        ("--substrate unobtainium", "unobtainium"),
        ("--substrate ''", "no material"),
        ("--substrate '><'", "no material"),
    ],
)
def test_bad_input_is_one_line_that_says_what_to_write(words, told):
    said = prep(words)
    assert said.status == 2
    assert told in said.err


def test_a_job_that_cannot_be_read_and_one_without_a_piece():
    def gone(name):
        raise FileNotFoundError(2, "No such file")

    assert ask("prep", "x.json", job=gone).status == 2
    from msgspec.structs import replace

    assert "no piece" in prep("tank.json", replace(tank(), events=tank().events[:1])).err


def test_the_json_is_one_object():
    assert json.loads(prep("--substrate abs --json").out)["pieces"]
