"""Windows that follow the air: what cold, damp, warmth and an expected night do to the times of a card."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER, START, JobBuilder, hours, minutes
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples, jobs, pauses, readings, without_air, without_drying, without_paces

from benchtool.job import events as ev
from benchtool.job.cards import (
    AirRange,
    ArrheniusPacing,
    Card,
    CardTime,
    DoublingPacing,
    EvaporationPacing,
    Pacing,
    TablePacing,
)
from benchtool.job.nextstep import Act, CupAct, cup_step, next_step
from benchtool.job.record import Job, shifted, with_events
from benchtool.job.state import State, fold, grow
from benchtool.job.validate import card_faults, faults
from benchtool.job.windows import FOR_GOOD, Window, all_windows
from benchtool.session.alarms import AlarmBoard
from benchtool.session.due import due_now
from benchtool.sheets.calendar import entries
from benchtool.sheets.state_answer import state_answer
from benchtool.sheets.state_text import state_text
from benchtool.store import cards as card_files
from benchtool.store import jobfile
from benchtool.trade.numbers import clock_words
from benchtool.trade.windows import Phase, WindowKind

WATERBORNE = replace(COLOUR, paces={CardTime.EVERY: EvaporationPacing()})
RULE_OF_THUMB = replace(COLOUR, paces={CardTime.EVERY: DoublingPacing(reference_degC=21)})


def paced(card: Card, time: CardTime, pacing: Pacing) -> Card:
    return replace(card, paces={**card.paces, time: pacing})


def bench(card: Card, coats: int = 2) -> JobBuilder:
    """A piece with one layer of `card`, and another over it."""
    made = JobBuilder().card(card, CLEAR).piece()
    return made.layer("over", CLEAR).insert_layer("layer", card, "over", coats)


def of(job: JobBuilder, kind: WindowKind) -> Window:
    (window,) = (w for w in job.all_windows() if w.kind is kind)
    return window


def expect(job: JobBuilder, *steps: tuple[float, float], percent: float | None = None) -> JobBuilder:
    """Expect an air (degC) from so many hours after now on."""
    points = (ev.CoursePoint(at=job.now + hours(h), air_degC=t, humidity_percent=percent) for h, t in steps)
    return job.add(ev.CourseExpected, points=tuple(points))


# --- a reading in the middle of an expected night -----------------------------------------------------


def test_one_warm_reading_after_the_heater_went_off_does_not_stand_for_the_night() -> None:
    job = expect(bench(RULE_OF_THUMB).read_air(21, 50), (1, 11), (14, 21))
    off, on = job.now + hours(1), job.now + hours(14)
    job.now = off + minutes(5)
    job.read_air(20, 50)  # the room is still warm: read five minutes after the heater went off
    air = job.state.air
    seen = {m: air.at(off + minutes(m)).air_degC for m in (-1, 1, 5, 64, 65, 300)}  # type: ignore[union-attr]
    assert seen == {-1: 21, 1: 11, 5: 20, 64: 20, 65: 11, 300: 11}
    assert air.at(on).air_degC == 21  # type: ignore[union-attr]
    assert air.expected[0][0] == off


def test_each_new_reading_puts_the_expected_step_off_and_what_came_to_pass_stays() -> None:
    job = expect(bench(RULE_OF_THUMB).read_air(21, 50), (1, 11))
    off = job.now + hours(1)
    for m in (5, 35, 65, 200):
        job.now = off + minutes(m)
        job.read_air(19 - m / 100, 50)
    air = job.state.air
    got = [air.at(off + minutes(m)).air_degC for m in (64, 124, 126, 199, 201, 261)]  # type: ignore[union-attr]
    assert got == [18.65, 18.35, 11, 11, 17, 11]


def test_a_course_that_was_cleared_does_not_come_back() -> None:
    job = expect(bench(RULE_OF_THUMB).read_air(21, 50), (1, 11))
    job.now += hours(2)
    job.add(ev.CourseExpected, points=())
    job.read_air(18, 50)
    assert job.state.air.at(job.now + hours(9)).air_degC == 18  # type: ignore[union-attr]


# --- what the air does -----------------------------------------------------------------------------


def test_ten_degrees_colder_doubles_a_flash_and_says_why() -> None:
    job = bench(RULE_OF_THUMB).read_air(11, 50).coat(mix=None)
    flash = of(job, WindowKind.FLASH)
    assert flash.span.opens_at == job.now + minutes(20)
    assert flash.card_ends_at == job.now + minutes(10)
    assert flash.words(job.now) == "Wait 20:00 before coat 2"
    assert flash.why(job.now) == "10 °C below the card's 21: takes 2 times as long"
    assert flash.span.progress(job.now + minutes(10)) == pytest.approx(0.5)
    assert next_step(job.state, job.state.pieces["panel"], job.now).due_at == flash.span.opens_at
    assert job.one("timing.flash").clears_at == flash.span.opens_at
    assert job.one("timing.flash").remedy == "Let coat 1 flash 20 min first."


def test_a_coat_in_cold_air_is_held_against_the_time_it_took_there() -> None:
    job = bench(RULE_OF_THUMB).read_air(11, 50).coat(mix=None).wait(minutes=15).coat(mix=None)
    told = job.one("timing.flash").message
    assert "15:00 after coat 1; the card asks for 10:00, and in that air it took 20:00." in told


def test_the_air_counts_its_seconds_from_the_beginning_of_the_job() -> None:
    assert bench(RULE_OF_THUMB).state.air.seconds(START + timedelta(microseconds=1)) == 1e-6


def test_without_a_reading_the_time_of_the_card_stands() -> None:
    job = bench(RULE_OF_THUMB).coat(mix=None)
    assert of(job, WindowKind.FLASH).span.opens_at == job.now + minutes(10)
    assert of(job, WindowKind.FLASH).why(job.now) == ""


def test_warmth_shortens_no_wait_and_brings_a_deadline_forward() -> None:
    job = bench(RULE_OF_THUMB, 1).read_air(31, 50).coat(mix=None)
    recoat = of(job, WindowKind.RECOAT)
    assert recoat.span.opens_at == job.now + minutes(20)
    assert recoat.span.closes_at == job.now + hours(12)
    assert recoat.why(job.now + hours(1)) == "10 °C above the card's 21: is over 2 times as soon"


def test_a_pot_life_in_the_cup_does_not_feel_the_surface_of_the_piece() -> None:
    clear = paced(CLEAR, CardTime.POT_LIFE, DoublingPacing(reference_degC=21))
    job = JobBuilder().card(clear).piece().layer("clear", clear, activator="slow")
    job.add(ev.ReadingTaken, air_degC=21, humidity_percent=50, surface_degC=41).mix().pour("base", 40)
    life = of(job.pour("activator", 20), WindowKind.POT_LIFE)
    assert life.span.closes_at == job.now + hours(2)
    job.wait(hours=1).read_air(31, 50)
    life = of(job, WindowKind.POT_LIFE)
    assert life.span.closes_at == job.now + minutes(30)
    assert life.card_ends_at == job.now + hours(1)
    assert life.span.progress(job.now) == pytest.approx(0.5)


def test_a_table_of_the_card_may_shorten_a_wait() -> None:
    table = TablePacing(points=((15.0, minutes(20)), (30.0, minutes(5))), reference_degC=15)
    job = bench(paced(COLOUR, CardTime.FLASH, table)).read_air(30, 50).coat(mix=None)
    assert of(job, WindowKind.FLASH).span.opens_at == job.now + minutes(5)
    assert "by the card's own table" in of(job, WindowKind.FLASH).why(job.now)


def test_what_was_over_by_the_card_before_the_air_was_read_stays_over() -> None:
    slower = paced(COLOUR, CardTime.FLASH, TablePacing(points=((20.0, minutes(40)),), reference_degC=20))
    job = bench(slower).coat(mix=None)
    opens = job.now + minutes(10)
    assert of(job.wait(minutes=10).read_air(20, 50), WindowKind.FLASH).span.opens_at == opens
    job = bench(slower).coat(mix=None)
    opens = job.now + minutes(40)
    assert of(job.wait(minutes=9).read_air(20, 50), WindowKind.FLASH).span.opens_at == opens


def test_a_table_that_asks_for_less_ends_no_wait_before_the_air_was_known() -> None:
    faster = paced(COLOUR, CardTime.FLASH, TablePacing(points=((20.0, minutes(5)),), reference_degC=20))
    job = bench(faster).coat(mix=None).wait(minutes=8).read_air(20, 50)
    assert of(job, WindowKind.FLASH).span.opens_at == job.now


def test_a_layer_whose_card_gives_no_recoat_opens_as_its_flash_does() -> None:
    card = replace(COLOUR, recoat_opens=None, recoat_closes=None, paces={CardTime.FLASH: DoublingPacing()})
    job = bench(card, 1).read_air(13, 50).coat(mix=None)
    assert of(job, WindowKind.RECOAT).span.opens_at == job.now + minutes(20)


def test_a_second_stand_time_may_have_a_pace_of_its_own() -> None:
    slow = replace(PROMOTER, paces={CardTime.STAND_REDUCED: DoublingPacing()})
    job = JobBuilder().card(slow).piece().layer("promoter", slow, activator="rigid").read_air(13, 50)
    job.mix().pour("base", 25).pour("activator", 0.5).stir("activated")
    assert of(job, WindowKind.STAND).span.opens_at == job.now + minutes(5)
    job.wait(minutes=5).pour("reducer", 25.5).stir("reduced")
    assert of(job, WindowKind.STAND).span.opens_at == job.now + minutes(20)


def test_a_night_that_will_stop_a_cure_for_good_is_told_while_it_is_still_warm() -> None:
    clear = replace(CLEAR, paces={CardTime.CURE: DoublingPacing(reference_degC=20, least_degC=10)})
    job = JobBuilder().card(clear).piece().layer("clear", clear, 1).read_air(20, 50).coat(mix=None)
    cure = of(expect(job, (9, 5)), WindowKind.CURE)
    assert cure.words(job.now).startswith("It does not cure in this air: at 5 °C, below the 10 °C the card asks for")


def test_an_equivalent_age_over_a_cold_night_as_worked_by_hand() -> None:
    """ASTM C1074: te = sum of exp(-Q (1/Ta - 1/Ts)) dt, with Q = E / R.

    E = 50 kJ/mol, so Q = 6013.6 K. At 8 degC (281.15 K) against 20 degC (293.15 K): exp(-0.8756) = 0.4166.
    Of 24 h at 20 degC, 9 h are over by 18:00; 13 h at 8 degC are 5.416 h; 9.584 h are left after 07:00.
    """
    clear = replace(CLEAR, cure=hours(24), paces={CardTime.CURE: ArrheniusPacing(energy_kJ_mol=50, reference_degC=20)})
    job = JobBuilder(datetime(2026, 3, 2, 9, tzinfo=UTC)).card(clear).piece().layer("clear", clear, 1)
    job.read_air(20, 50).coat(mix=None)
    expect(job, (9, 8), (22, 20))
    cure = of(job, WindowKind.CURE)
    late = cure.span.opens_at - job.now
    assert late.total_seconds() / 3600 == pytest.approx(9 + 13 + 9.584, abs=0.002)
    assert cure.card_ends_at == job.now + hours(24)
    assert cure.span.progress(job.now + hours(9)) == pytest.approx(9 / 24)
    assert cure.span.progress(job.now + hours(22)) == pytest.approx((9 + 5.416) / 24, abs=1e-4)
    assert cure.why(job.now + hours(10)) == "12 °C below the card's 20: takes 2.4 times as long"
    assert cure.why(job.now) == ""


def test_a_new_course_changes_nothing_that_came_before_it() -> None:
    clear = replace(CLEAR, cure=hours(24), paces={CardTime.CURE: DoublingPacing(reference_degC=20)})
    job = JobBuilder().card(clear).piece().layer("clear", clear, 1).read_air(20, 50).coat(mix=None)
    done = job.now
    expect(job, (4, 10), (12, 20))
    assert of(job, WindowKind.CURE).span.opens_at == done + hours(28)
    expect(job.wait(hours=13), (1, 10))
    cure = of(job, WindowKind.CURE)
    assert cure.span.progress(done + hours(12)) == pytest.approx(8 / 24)
    assert cure.span.opens_at == done + hours(14 + 28)
    expect(job.wait(hours=1))
    assert of(job, WindowKind.CURE).span.opens_at == done + hours(14 + 14)


def test_a_step_that_lies_a_little_back_counts_from_when_it_was_said_unless_the_air_was_read_since() -> None:
    clear = replace(CLEAR, cure=hours(24), paces={CardTime.CURE: DoublingPacing(reference_degC=20)})
    job = JobBuilder().card(clear).piece().layer("clear", clear, 1).read_air(20, 50).coat(mix=None)
    done = job.now
    expect(job.wait(hours=2), (-1, 10))
    assert of(job, WindowKind.CURE).span.opens_at == done + hours(2 + 44)
    expect(job.undo().read_air(20, 50).wait(hours=1), (-2, 10))
    assert of(job, WindowKind.CURE).span.opens_at == done + hours(24)


def test_air_that_is_heated_without_a_humidity_holds_the_same_water() -> None:
    job = expect(bench(WATERBORNE).read_air(20, 50), (1, 30), (2, 8))
    warm, cold = (air for _, air in job.state.air.expected)
    assert warm.humidity_percent == pytest.approx(27.6, abs=0.2)  # 1.170 kPa of 4.246 kPa, ASHRAE Fundamentals, table 3
    assert cold.humidity_percent == 100


def test_a_reading_that_no_air_can_be_is_passed_over() -> None:
    job = bench(RULE_OF_THUMB).read_air(11, 50).read_air(68, 50).coat(mix=None)
    assert of(job, WindowKind.FLASH).span.opens_at == job.now + minutes(20)
    job = bench(RULE_OF_THUMB).read_air(11, 0).coat(mix=None)
    assert of(job, WindowKind.FLASH).span.opens_at == job.now + minutes(20)


# --- what never comes, and what comes too late -----------------------------------------------------


def test_a_waterborne_layer_near_saturation_never_dries_and_all_say_so() -> None:
    job = bench(WATERBORNE).read_air(20, 99).coat(mix=None)
    flash = of(job, WindowKind.FLASH)
    assert flash.span.never
    assert flash.span.phase(job.now + timedelta(days=3_000)) is Phase.WAITING
    told = (
        "It does not dry in this air: at 99 % humidity a waterborne layer never dries: "
        "wait for drier air, or warm the shop, without a flame"
    )
    assert flash.words(job.now) == told
    assert flash.words_beside(job.now) == "it does not dry in this air"
    assert 0 <= flash.span.progress(job.now + hours(10)) < 1
    step = next_step(job.state, job.state.pieces["panel"], job.now)
    assert (step.act, step.words) == (Act.WAIT, "Wait until the air is better before coat 2")
    finding = job.one("timing.flash")
    assert finding.message.startswith("Wait until the air is better before coat 2 of ")
    assert finding.clears_at is None
    assert finding.forbids_coat
    answer = state_answer(job.job, job.state, job.findings(), job.now, job.tables)
    (window,) = answer["windows"]  # type: ignore[misc]
    assert (window["opens_at"], window["remaining_s"]) == (None, None)
    assert "never dries" in window["why"]
    text = " ".join(state_text(job.job, job.state, (), job.now, job.tables).split())
    assert told.split(":")[0] in text
    assert "9900" not in text
    assert " (Mon" not in text
    job.wait(hours=1).read_air(23, 50)
    assert of(job, WindowKind.FLASH).span.opens_at == job.now + minutes(10)


def test_a_layer_over_one_that_never_dried_is_a_caution_without_a_figure() -> None:
    job = bench(WATERBORNE, 1).read_air(20, 99).coat(mix=None)
    assert job.one("timing.recoat-early").clears_at is None
    job.wait(hours=5).coat("over", mix=None)
    assert " went on long before " in job.one("timing.recoat-early").message


def test_tape_on_what_never_dries_is_told_apart_from_tape_on_wet_paint() -> None:
    job = bench(WATERBORNE, 1).read_air(20, 99).coat(mix=None).wait(hours=30).mask()
    assert "long before its tape time" in job.one("timing.tape").message
    job = bench(WATERBORNE, 1).read_air(20, 99).start("layer", mix=None).mask()
    assert "while a coat of it is being sprayed" in job.one("timing.tape").message


def test_below_the_least_temperature_of_its_card_a_cup_does_not_get_ready() -> None:
    clear = replace(CLEAR, stand=minutes(5), paces={CardTime.STAND: DoublingPacing(least_degC=15)})
    job = JobBuilder().card(clear).piece().layer("clear", clear, 1, activator="slow").read_air(8, 50)
    job.ready(make_mL=30)
    assert of(job, WindowKind.STAND).words(job.now).startswith("It does not get ready in this air: at 8 °C, below the")
    waits = cup_step(clear, job.mix_state(), job.now)
    assert waits.act is CupAct.WAIT
    assert waits.until == FOR_GOOD  # a step without an end would be shown as ready
    assert clock_words((waits.until - job.now).total_seconds()) == "never"
    step = next_step(job.prep("wash").state, job.state.pieces["panel"], job.now)
    assert (step.words, step.due_at) == ("Let it stand until the air is better before you spray", None)
    assert "must stand until the air is better before you spray" in job.one("timing.stand").message
    assert job.one("timing.stand").clears_at is None
    job.coat()
    assert "went on long before its stand time was over" in job.one("timing.stand").message


def test_a_recoat_window_that_would_close_before_it_opens_says_so_and_a_scuff_shortens_no_wait() -> None:
    cold = paced(COLOUR, CardTime.RECOAT_OPENS, DoublingPacing(reference_degC=21, factor=10))
    job = bench(cold, 1).read_air(1, 50).coat(mix=None)
    done, opens = job.now, job.now + minutes(2_000)
    recoat = of(job, WindowKind.RECOAT)
    assert (recoat.span.opens_at, recoat.span.closes_at) == (opens, done + hours(24))
    assert recoat.words(done).endswith("It would close before it opens in this air: scuff before Two-part clear")
    assert recoat.words_beside(done) == "then Two-part clear, scuff first"
    assert recoat.phase(opens - minutes(1)) is Phase.WAITING
    assert recoat.phase(opens) is Phase.CLOSED
    job.wait(hours=25).prep("scuff")
    recoat = of(job, WindowKind.RECOAT)
    assert (recoat.span.opens_at, recoat.span.closes_at) == (opens, None)
    assert recoat.words(job.now) == "Wait 8:20:00 before Two-part clear"
    assert "timing.recoat-closed" not in job.rules()
    assert job.one("timing.recoat-early").clears_at == opens
    job.at(opens).prep("scuff")
    assert of(job, WindowKind.RECOAT).span.opens_at == opens


def test_a_flash_that_ends_too_late_for_its_card_says_so_while_it_runs() -> None:
    cold = replace(COLOUR, flash_most=minutes(15), paces={CardTime.FLASH: DoublingPacing(reference_degC=21)})
    job = bench(cold).read_air(11, 50).coat(mix=None)
    flash = of(job, WindowKind.FLASH)
    assert flash.words(job.now) == "Wait 20:00. In this air coat 2 will be late for the card by then"
    assert flash.words_beside(job.now) == "then coat 2, late by then"
    job.wait(minutes=20)
    assert of(job, WindowKind.FLASH).phase(job.now) is Phase.CLOSED


def test_warmth_makes_a_coat_late_sooner() -> None:
    warm = replace(COLOUR, flash_most=minutes(20), paces={CardTime.FLASH: DoublingPacing(reference_degC=21)})
    job = bench(warm).read_air(31, 50).coat(mix=None).wait(minutes=13)
    assert of(job, WindowKind.FLASH).phase(job.now) is Phase.CLOSED
    assert "3 min late" in job.one("timing.flash").message


def test_a_cup_is_planned_by_the_flash_and_the_stand_times_of_this_air() -> None:
    slow = replace(CLEAR, stand=minutes(30), pot_life=minutes(70), paces={CardTime.FLASH: DoublingPacing()})
    job = JobBuilder().card(slow).piece().layer("clear", slow, 3, activator="slow").read_air(23, 50)
    job.ready().coat().wait(minutes=5)
    assert "timing.pot-life" not in job.rules()
    job.read_air(13, 50)  # two flashes of 15 min take 25 and 30 min; with the 35 min that are over, the cup is dead
    assert job.one("timing.pot-life").message.startswith("The 2 coats left and their flash take longer than the 35:00")


def test_the_flash_that_runs_counts_against_the_cup_as_this_air_makes_it() -> None:
    slow = replace(CLEAR, pot_life=minutes(35), paces={CardTime.FLASH: DoublingPacing()})
    job = JobBuilder().card(slow).piece().layer("clear", slow, 2, activator="slow").read_air(23, 50)
    job.ready().coat().wait(minutes=1)
    assert "timing.pot-life" not in job.rules()
    job.read_air(3, 50)  # the 14 min that are left of the flash take 56
    assert job.one("timing.pot-life").message.startswith("The coat left and its flash take longer than the 34:00")


def test_a_job_that_is_shifted_takes_the_air_it_expects_along() -> None:
    job = expect(bench(RULE_OF_THUMB).read_air(21, 50).coat(mix=None), (0.1, 1))
    before, after = all_windows(job.state), all_windows(fold(shifted(job.job, timedelta(days=30))))
    assert before[0].span.opens_at > before[0].card_ends_at
    assert [w.span.opens_at for w in after] == [w.span.opens_at + timedelta(days=30) for w in before]


def test_a_stand_time_still_to_come_counts_as_this_air_makes_it() -> None:
    slow = replace(CLEAR, stand=minutes(30), pot_life=minutes(45), paces={CardTime.STAND: DoublingPacing()})
    job = JobBuilder().card(slow).piece().layer("clear", slow, 1, activator="slow").read_air(13, 50)
    job.mix().pour("base", 40).pour("activator", 20)
    assert job.one("timing.pot-life").message.startswith("The stand time takes longer than the 45:00 this cup")
    job.stir("activated")
    assert of(job, WindowKind.STAND).span.opens_at == job.now + hours(1)
    job.read_air(23, 50)
    assert of(job, WindowKind.STAND).span.opens_at == job.now + minutes(30)
    assert "timing.pot-life" not in job.rules()


def test_a_mix_reduced_too_soon_for_this_air_is_told() -> None:
    slow = replace(PROMOTER, paces={CardTime.STAND: DoublingPacing()})
    job = JobBuilder().card(slow).piece().layer("promoter", slow, activator="rigid").read_air(13, 50)
    job.mix().pour("base", 25).pour("activator", 0.5).stir("activated").wait(minutes=7)
    job.pour("reducer", 25.5).stir("reduced")
    told = {f.message for f in job.of("timing.stand")}
    assert "Two-part promoter was reduced 3:00 before its stand time was over." in told
    assert of(job, WindowKind.STAND).span.opens_at == job.now + minutes(20)  # the second stand goes as the first does


def test_the_watch_and_the_calendar_stand_a_window_that_never_opens() -> None:
    job = bench(replace(WATERBORNE, flash=hours(3))).read_air(20, 99).coat(mix=None)
    window = of(job, WindowKind.FLASH)
    assert entries((window,), job.now) == ()
    other = of(bench(RULE_OF_THUMB).coat(mix=None), WindowKind.FLASH)
    watch: Any = Watch((window, other))
    assert [line.numerals for line in due_now(watch, job.now)] == ["10:00", "never"]
    board = AlarmBoard()
    board.update([("a.json", window)], job.now)
    assert board.update([("a.json", window)], job.now + timedelta(days=300)) is None
    assert board.up() == ()


class Watch:
    """As much of a session as the watch looks at."""

    def __init__(self, windows: tuple[Window, ...]) -> None:
        self.documents = [SimpleNamespace(title="job")]
        self.windows = windows

    def watch(self, _: datetime) -> list[tuple[SimpleNamespace, Window]]:
        return [(self.documents[0], w) for w in self.windows]


# --- readings that can't be ---------------------------------------------------------------------------


ODD = [
    {"air_degC": 20, "humidity_percent": 130},
    {"air_degC": 20, "humidity_percent": -1},
    {"air_degC": 20, "humidity_percent": float("nan")},
    {"air_degC": float("nan"), "humidity_percent": 50},
    {"air_degC": 68, "humidity_percent": 60},
    {"air_degC": 400, "humidity_percent": 5},
    {"air_degC": 20, "humidity_percent": 50, "surface_degC": float("nan")},
    {"air_degC": 20, "humidity_percent": 50, "speed_m_s": 900},
]


@pytest.mark.parametrize("odd", ODD, ids=str)
def test_a_reading_that_no_air_can_be_leaves_the_windows_on_the_last_good_one_and_is_told(
    odd: dict[str, float],
) -> None:
    job = bench(RULE_OF_THUMB).read_air(11, 50).coat(mix=None)
    before = of(job, WindowKind.FLASH)
    job.wait(minutes=4).add(ev.ReadingTaken, **odd)
    after = of(job, WindowKind.FLASH)
    assert after == before
    assert after.why(job.now) == before.why(job.now) != ""
    assert job.state.air.age_s(job.now) == 240
    told = job.one("air.odd-reading")
    assert told.message == "The newest reading is none that air can have, so the last good one still holds."
    assert told.remedy.startswith("Read it again (R). ")
    assert list(faults(job.job)) == []


def test_what_is_wrong_with_an_odd_reading_is_told_in_the_words_of_its_field() -> None:
    job = bench(RULE_OF_THUMB).read_air(68, 60)
    told = job.one("air.odd-reading")
    assert told.message.endswith("so there is no good one before it.")
    assert "if that was 68 °F, it is 20 °C" in told.remedy
    job.add(ev.ReadingTaken, air_degC=20, humidity_percent=0, source="shop.csv")
    told = job.one("air.odd-reading")
    assert told.message.startswith("The newest reading from shop.csv is none that air can have, so it is taken as the ")
    assert "at most 100 %, and 0 % is not" in told.remedy
    assert job.state.air.at(job.now) is not None


@pytest.mark.parametrize("odd", [x for x in ODD if all(v == v for v in x.values())], ids=str)
def test_a_file_with_an_odd_reading_opens(tmp_path: Path, odd: dict[str, float]) -> None:
    job = bench(RULE_OF_THUMB).read_air(11, 50).add(ev.ReadingTaken, **odd).job
    jobfile.save(tmp_path / "job.json", job)
    assert jobfile.load(tmp_path / "job.json").job == job


# --- what a card may say ---------------------------------------------------------------------------


def test_what_is_said_of_one_time_goes_before_what_is_said_of_all() -> None:
    own, every, table = DoublingPacing(), ArrheniusPacing(energy_kJ_mol=50), TablePacing(points=((20.0, minutes(5)),))
    card = replace(COLOUR, paces={CardTime.FLASH: own, CardTime.EVERY: every})
    assert card.pacing(CardTime.FLASH) is own
    assert card.pacing(CardTime.FLASH_CLOSES) is own
    assert card.pacing(CardTime.CURE) is every
    assert replace(card, paces={CardTime.FLASH: table}).pacing(CardTime.FLASH_CLOSES) is None
    assert WATERBORNE.pacing(CardTime.POT_LIFE) is None
    assert WATERBORNE.pacing(CardTime.TAPE) is not None


@pytest.mark.parametrize(
    ("paces", "place", "told"),
    [
        ({CardTime.EVERY: TablePacing(points=((20.0, minutes(5)),))}, '["*"]', "one kind of time"),
        ({CardTime.FLASH: TablePacing(points=((20.0, minutes(5)), (10.0, minutes(9))))}, '["flash"]', "cold to warm"),
        ({CardTime.FLASH: TablePacing(points=((20.0, minutes(0)),))}, '["flash"]', "above zero"),
        ({CardTime.STAND: EvaporationPacing()}, '["stand"]', "does not dry"),
        ({CardTime.EVERY: EvaporationPacing(reference_percent=99)}, '["*"]', "below 98 %"),
        ({CardTime.FLASH: DoublingPacing(reference_degC=20, least_degC=25)}, '["flash"]', "least temperature"),
    ],
)
def test_what_no_product_does_is_a_fault_of_its_card(paces: dict[CardTime, Pacing], place: str, told: str) -> None:
    ((path, message),) = card_faults(replace(COLOUR, paces=paces))
    assert path == f".paces{place}"
    assert told in message


def test_a_range_of_air_goes_from_least_to_most() -> None:
    upside_down = AirRange(least_degC=30, most_degC=10, least_percent=80, most_percent=20)
    assert [path for path, _ in card_faults(replace(COLOUR, air=upside_down))] == [
        ".air.most_degC",
        ".air.most_percent",
    ]
    assert list(card_faults(replace(COLOUR, air=AirRange(least_degC=10, most_degC=30)))) == []


def test_an_expected_course_goes_from_early_to_late_through_air_that_can_be() -> None:
    job = expect(bench(COLOUR), (2, 20), (1, 20), (3, 68), percent=60)
    assert [f.path.partition("]")[2] for f in faults(job.job)] == [".points[1].at", ".points[2]"]
    far = ev.CoursePoint(at=datetime(9500, 1, 1, tzinfo=UTC), air_degC=20)
    (fault,) = faults(bench(COLOUR).add(ev.CourseExpected, points=(far,)).job)
    assert fault.path.endswith(".points[0].at")


def test_the_times_of_a_table_stand_in_files_as_on_a_sheet() -> None:
    card = paced(COLOUR, CardTime.FLASH, TablePacing(points=((10.0, minutes(40)), (20.0, minutes(20)))))
    job = JobBuilder().card(card).job
    for written in (jobfile.dump(job), card_files.dump(card)):
        assert b'"PT40M"' in written
        assert b'"model": "table"' in written


# --- laws ------------------------------------------------------------------------------------------


def by_key(job: Job) -> dict[str, Window]:
    return {w.key: w for w in all_windows(fold(job))}


@examples(150)
@given(jobs(30, table=False))
def test_without_a_table_no_wait_is_shorter_and_no_deadline_later_than_by_the_card(job: Job) -> None:
    as_aired, by_card = by_key(job), by_key(without_paces(job))
    assert list(as_aired) == list(by_card)
    for key, window in as_aired.items():
        span, plain = window.span, by_card[key].span
        assert span.opens_at >= plain.opens_at
        if plain.closes_at is not None and span.closes_at is not None:
            assert span.closes_at <= plain.closes_at
        if plain.closes_at is not None and span.closes_at is None:  # warmth had closed it, and a scuff opened it again
            scuffs = [e.at for e in job.events if isinstance(e, ev.PrepDone) and e.step is ev.Prep.SCUFF]
            assert window.kind is WindowKind.RECOAT
            assert any(at <= span.opens_at for at in scuffs)


@examples(80)
@given(jobs(30))
def test_without_pace_or_without_air_the_times_of_the_card_stand_to_the_last_digit(job: Job) -> None:
    plain = all_windows(fold(without_paces(without_air(job))))
    assert all_windows(fold(without_paces(job))) == plain
    unheated = without_drying(without_air(job))
    assert all_windows(fold(unheated)) == all_windows(fold(without_paces(unheated)))


@examples(150)
@given(jobs(20), readings, pauses, st.booleans())
def test_what_is_read_or_expected_later_changes_no_window_that_is_over(
    job: Job, reading: dict[str, float], pause: timedelta, expected: bool
) -> None:
    now = max(e.at for e in job.events) + pause
    course = (ev.CoursePoint(at=now - hours(1), air_degC=3), ev.CoursePoint(at=now + hours(1), air_degC=33))
    later: ev.Event = (
        ev.CourseExpected(id="later", at=now, points=course)
        if expected
        else ev.ReadingTaken(id="later", at=now, **reading)  # type: ignore[arg-type]
    )
    before, after = by_key(job), by_key(with_events(job, later))
    assert list(before) == list(after)
    for key, window in before.items():
        old, new = window.span, after[key].span
        if old.opens_at <= now:
            assert new.opens_at == old.opens_at
        else:
            assert new.opens_at >= now
        if old.closes_at is not None and old.closes_at <= now:
            assert new.closes_at == old.closes_at
        elif old.closes_at is None:
            assert new.closes_at is None


@examples(60)
@given(jobs(30))
def test_a_state_grown_event_by_event_is_the_one_folded_at_once(job: Job) -> None:
    grown = fold(replace(job, events=()))
    for place, event in enumerate(job.events):
        so_far = replace(job, events=job.events[: place + 1])
        if isinstance(event, ev.Withdrawn | ev.Corrected):
            with pytest.raises(ValueError, match="fold the job anew"):
                grow(grown, place, event)
            grown = fold(so_far)
        elif isinstance(event, ev.ClockAnswered):  # it moves what was entered before it
            grown = fold(so_far)
        else:
            grow(grown, place, event)
        assert told(grown) == told(fold(so_far))


def told(state: State) -> object:
    """All that a state says, what is worked out once and kept among it, in a form that `==` compares to the end."""
    cups = [(m.poured_mL, m.checks, m.activated_at, m.stood_from) for m in state.mixes.values()]
    return state, list(state.layers), cups, state.air.expected, all_windows(state)
