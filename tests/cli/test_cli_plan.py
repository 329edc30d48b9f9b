"""`benchtool plan`: the plan of one or more jobs as text and as values."""

import os
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from builders import CLEAR, COLOUR, ONE_PART_PROMOTER, JobBuilder, hours
from cli.asking import Said, ask
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.record import Job
from benchtool.job.shop import Shop
from benchtool.job.shophours import Opening, Weekday
from benchtool.store.jobfile import JobFileFault

MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
WEEK = "Mon-Fri 8:00-18:00"


@pytest.fixture(autouse=True)
def in_utc(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let this computer's clock be that of UTC."""
    if not hasattr(time, "tzset"):
        pytest.skip("this system has no tzset")
    before = os.environ.get("TZ")
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    if before is None:
        monkeypatch.delenv("TZ")
    else:
        monkeypatch.setenv("TZ", before)
    time.tzset()


def panel(*, wait_h: float = 0.0, title: str = "Panel job", name: str = "Panel") -> JobBuilder:
    bench = JobBuilder(MONDAY).add(ev.JobDescribed, title=title).card(COLOUR, CLEAR)
    bench.piece("panel", "abs", name=name).layer("c", COLOUR).layer("k", CLEAR, activator="slow")
    bench.prep("mould-release wash", "degrease")
    return bench.wait(hours=wait_h)


def told(bench: JobBuilder, *more: str, hours_: str = WEEK) -> Said:
    return ask("plan", "demo", "--hours", hours_, *more, now=bench.now, job=lambda _: bench.job)


def test_the_plan_as_text_is_a_table_by_day() -> None:
    said = told(panel())
    assert said.status == 0
    assert "Plan of Panel job, as of Mon 02 Mar 2026, 08:00" in said.out
    assert "Mon 2 Mar" in said.out
    assert "Panel  Spray coat 1 of Base colour" in said.out
    assert "Panel: Two-part clear cures, until Mon 9 Mar" in said.out
    assert "(closes Tue" in said.out
    assert max(map(len, said.out.splitlines())) <= 92


def test_the_plan_as_values_has_its_keys() -> None:
    values = told(panel(), "--json").values
    for key in ("at", "until", "by", "proved", "steps", "waits", "night", "missed", "cant", "latest", "order"):
        assert key in values
    coats = [s for s in values["steps"] if s["work"] == "coat"]
    assert [(s["layer"], s["coat"], s["layer_name"]) for s in coats] == [
        ("c", 1, "Base colour"), ("k", 1, "Two-part clear"), ("k", 2, "Two-part clear"),
    ]  # fmt: skip
    assert all(s["piece"] == "panel" and s["booth"] == 1 for s in coats)
    assert values["order"] == [{"job": "demo", "piece": "panel", "piece_name": "Panel"}]
    recoat = next(w for w in values["waits"] if w["kind"] == "recoat")
    assert recoat["words"] == "Base colour before Two-part clear"
    assert values["latest"][0]["piece"] == "panel"
    assert values["proved"] is True


def test_a_window_that_can_not_be_kept_is_missed_and_the_status_is_1() -> None:
    bench = panel().ready("c").coat()  # Mon 08:00: recoat from 08:20 to Tue 08:00
    said = ask("plan", "demo", "--hours", "Wed 8-18", "--json", now=bench.now + hours(1), job=lambda _: bench.job)
    assert said.status == 1
    (missed,) = said.values["missed"]
    assert missed["closes_at"] == "2026-03-03T08:00:00Z"
    scuff = next(s for s in said.values["steps"] if s["work"] == "scuff")
    assert scuff["starts_at"] == "2026-03-04T08:00:00Z"
    text = ask("plan", "demo", "--hours", "Wed 8-18", now=bench.now + hours(1), job=lambda _: bench.job).out
    assert "closes Tue 08:00, before the next can go on: scuff Base colour at Wed 08:00." in " ".join(text.split())


def test_what_falls_into_the_night_is_told() -> None:
    slow = replace(COLOUR, recoat_opens=hours(10), recoat_closes=hours(40))
    bench = JobBuilder(MONDAY).card(slow, CLEAR).piece("panel", "abs").layer("c", slow)
    bench.layer("k", CLEAR, activator="slow").ready("c").coat()
    said = told(bench, "--json")
    (night,) = [n for n in said.values["night"] if n["kind"] == "recoat"]
    assert night["opens_at"] == "2026-03-02T18:00:00Z"
    assert night["goes_on_at"] == "2026-03-03T08:10:00Z"  # the clear is mixed as the shop opens
    assert said.status == 0


@pytest.mark.parametrize("typed", ["closed", ""])
def test_a_shop_that_never_opens_can_fit_nothing_and_says_why(typed: str) -> None:
    said = told(panel(), "--json", hours_=typed)
    assert said.status == 1
    (cant,) = said.values["cant"]
    assert cant["piece_name"] == "Panel"
    assert cant["because"]
    assert said.values["steps"] == []
    assert "Can't fit: Panel:" in told(panel(), hours_=typed).out


def test_a_stack_that_can_not_be_done_in_any_order_says_why() -> None:
    short = replace(CLEAR, pot_life=timedelta(minutes=8))  # mixing alone takes 10
    bench = JobBuilder(MONDAY).card(short).piece("panel", "abs").layer("k", short, activator="slow")
    said = told(bench.prep("mould-release wash", "degrease"), "--json")
    assert said.status == 1
    assert "Pot life of Two-part clear" in said.values["cant"][0]["because"]


def test_a_job_of_finished_pieces_has_no_step_and_says_until_when_they_cure() -> None:
    bench = panel().ready("c").coat().wait(minutes=20).ready("k").coats(2, apart=timedelta(minutes=15)).empty()
    said = told(bench, "--json")
    assert (said.status, said.values["steps"]) == (0, [])
    assert [w["kind"] for w in said.values["waits"]] == ["tape", "cure"]
    assert "No work is left: it dries until Mon 9 Mar" in told(bench).out
    assert "Nothing is left to do." in told(bench.wait(days=9)).out


def test_two_files_of_one_job_are_planned_and_told_apart(tmp_path: Path) -> None:
    bench = panel()
    names = []
    for folder in "ab":
        (tmp_path / folder).mkdir()
        names.append(str(tmp_path / folder / "tank.json"))
    said = ask("plan", *names, "--hours", WEEK, "--no-solver", "--json", now=MONDAY, job=lambda _: bench.job)
    assert [j["title"] for j in said.values["jobs"]] == ["Panel job (a/tank)", "Panel job (b/tank)"]
    assert {s["job"] for s in said.values["steps"]} == {str(Path(n).resolve()) for n in names}
    assert any("hold the same job" in note for note in said.values["notes"])
    text = ask("plan", *names, "--hours", WEEK, "--no-solver", now=MONDAY, job=lambda _: bench.job).out
    assert "Panel (Panel job (a/tank))" in text or "Panel (Panel job (a/t…" in text
    once = ask("plan", names[0], names[0], "--hours", WEEK, "--json", now=MONDAY, job=lambda _: bench.job)
    assert len(once.values["jobs"]) == 1


def test_it_plans_as_the_job_stood_then() -> None:
    bench = panel().wait(hours=1).ready("c").coat()
    said = told(bench, "--at", "2026-03-02T08:30:00Z", "--json")
    assert said.values["at"] == "2026-03-02T08:30:00Z"
    assert "Spray coat 1 of Base colour" in [s["words"] for s in said.values["steps"]]
    assert any("left out" in note for note in said.values["notes"])


def test_hours_booths_and_hands_are_the_shops_where_they_are_not_said() -> None:
    bench = panel()
    night = tuple(Opening(day=day, opens="20:00", closes="24:00") for day in Weekday)
    said = ask("plan", "demo", "--json", now=MONDAY, job=lambda _: bench.job, shop=Shop(hours=night))
    assert said.values["steps"][0]["starts_at"] == "2026-03-02T20:00:00Z"
    none = told(bench, "--booths", "0", "--json")
    assert none.status == 1
    assert "booth" in none.values["cant"][0]["because"]
    closed = told(bench, "--closed", "2 Mar to 4 Mar", "--json")
    assert closed.values["steps"][0]["starts_at"] == "2026-03-05T08:00:00Z"


def test_a_second_pair_of_hands_is_never_later() -> None:
    bench = JobBuilder(MONDAY).card(ONE_PART_PROMOTER, COLOUR)
    for piece in ("p1", "p2", "p3"):
        bench.piece(piece, "abs").layer(f"{piece}-a", ONE_PART_PROMOTER).layer(f"{piece}-b", COLOUR)
        bench.prep("mould-release wash", "degrease")
    one, two = (told(bench, "--hands", n, "--booths", n, "--no-solver", "--json").values for n in "12")
    assert two["cost"]["last_s"] <= one["cost"]["last_s"]
    assert one["cost"]["last_s"] <= one["as_they_came"]["last_s"]


@pytest.mark.parametrize(
    ("more", "word"),
    [
        (("--hours", "Mun 8-12"), "no day"),
        (("--closed", "31 Feb"), "no day"),
        (("--booths", "-1"), "no number"),
        (("--hands", "21"), "no number"),
        (("--at", "soon"), "no time"),
    ],
)
def test_what_can_not_be_used_is_told_in_a_line(more: tuple[str, ...], word: str) -> None:
    said = ask("plan", "demo", *more, now=MONDAY, job=lambda _: panel().job)
    assert said.status == 2
    assert word in said.err


def test_a_job_that_can_not_be_read_is_told_in_a_line() -> None:
    def gone(name: str) -> Job:
        raise JobFileFault(Path(name), "it is not there")

    assert ask("plan", "gone.json", now=MONDAY, job=gone).status == 2
    assert ask("plan", now=MONDAY).status == 2


def test_names_from_files_are_text_and_stay_in_their_line() -> None:
    out = told(panel(title="Tank\n\x1b[31mred", name="<b>P</b>\nx")).out
    assert "\x1b" not in out
    assert "<b>P</b> x" in out


@pytest.mark.parametrize("typed", ["0021", "00201", "9" * 30])
def test_noughts_before_a_number_let_no_more_booths_in(typed: str) -> None:
    said = told(panel(), "--booths", typed)
    assert (said.status, said.out) == (2, "")
    assert "is no number of them" in said.err


def test_a_plan_of_nothing_is_not_called_the_best_order() -> None:
    bench = panel().piece("lid", "abs", name="Lid").layer("l", COLOUR)
    said = told(bench, hours_="closed")
    assert said.status == 1
    assert said.out.endswith("\n\n2 pieces have work left.\n")


SATURDAY = datetime(2026, 3, 7, 9, 0, tzinfo=UTC)


def test_who_is_here_on_a_closed_day_has_a_plan_for_it() -> None:
    bench = panel()

    def plan(*more: str) -> Said:
        return ask("plan", "demo", "--hours", WEEK, *more, "--json", now=SATURDAY, job=lambda _: bench.job)

    usual, here = plan(), plan("--here-until", "6 pm")
    assert min(step["starts_at"] for step in usual.values["steps"]).startswith("2026-03-09T08:00")
    assert min(step["starts_at"] for step in here.values["steps"]).startswith("2026-03-07T09:00")
    assert "Open today until 18:00, as you said for this plan." in here.values["notes"]
    assert not usual.values["notes"]


@pytest.mark.parametrize(("typed", "word"), [("06:00", "write 18:00"), ("late", "no time of day"), ("", "say when")])
def test_a_time_to_stay_until_that_can_not_be_used_is_told_in_a_line(typed: str, word: str) -> None:
    said = ask("plan", "demo", "--here-until", typed, now=SATURDAY, job=lambda _: panel().job)
    assert said.status == 2
    assert said.err.count("\n") == 1
    assert "--here-until" in said.err
    assert word in said.err
