"""When a painted piece may be used: by its real last coats, its cards, the air and the heat; never sooner."""

from datetime import timedelta

import pytest
from builders import CLEAR, COLOUR, START, JobBuilder, hours, minutes
from hypothesis import given
from msgspec.structs import replace
from strategies import examples, jobs

from benchtool.job import events as ev
from benchtool.job.cardpaces import CardTime, DoublingPacing, ForcedDry
from benchtool.job.cards import Card, Care
from benchtool.job.care import CareTimes, Use, Whence, care_times, finished_at
from benchtool.job.record import Job
from benchtool.job.state import fold
from benchtool.job.windows import all_windows
from benchtool.trade.windows import WindowKind

WEEK = timedelta(days=7)


def painted(*cards: Card, air: float | None = None) -> JobBuilder:
    """Paint a panel with one coat of each card, half an hour apart, the last one done at START + 30 min * (n - 1)."""
    bench = JobBuilder().card(*cards).piece("panel")
    for i, card in enumerate(cards):
        bench.layer(f"l{i}", card, 1)
    if air is not None:
        bench.read_air(air)
    for i in range(len(cards)):
        bench.wait(minutes=30 if i else 0).coat(f"l{i}", mix=None)
    return bench


def times(bench: JobBuilder) -> CareTimes:
    return care_times(bench.state, bench.state.pieces["panel"])


def at(bench: JobBuilder, use: Use) -> timedelta | None:
    """How long after START this use is allowed."""
    allowed = times(bench).uses.get(use)
    return allowed.at - START if allowed is not None else None


def test_without_a_word_on_use_it_is_washed_waxed_bent_and_posted_once_it_is_cured() -> None:
    bench = painted(CLEAR)  # tape 24 h, cure 7 days
    for use in (Use.POST, Use.WASH, Use.BEND, Use.WAX):
        assert at(bench, use) == WEEK
        assert times(bench).uses[use].by is Whence.CURE
    assert at(bench, Use.TAPE) == hours(24)
    assert at(bench, Use.TOUCH) == hours(24)  # what tape may be stuck to, a hand may touch


def test_what_the_card_says_of_a_use_goes_before_its_cure() -> None:
    bench = painted(replace(CLEAR, care={Care.WASH: hours(48), Care.TOUCH: hours(6)}))
    assert (at(bench, Use.WASH), at(bench, Use.TOUCH)) == (hours(48), hours(6))
    assert (at(bench, Use.WAX), at(bench, Use.TAPE)) == (WEEK, hours(24))
    assert times(bench).uses[Use.WASH].by is Whence.CARD


def test_the_latest_of_all_layers_counts() -> None:
    slow = replace(COLOUR, cure=timedelta(days=28))
    bench = painted(slow, CLEAR)
    assert at(bench, Use.WASH) == timedelta(days=28)
    assert times(bench).uses[Use.WASH].layer == "l0"
    assert at(bench, Use.TAPE) == minutes(30) + hours(24)  # the clear went on half an hour later


def test_what_is_known_of_a_layer_below_says_nothing_of_an_outermost_one_that_is_silent() -> None:
    silent = replace(CLEAR, id="silent", cure=None, tape=None)
    assert times(painted(CLEAR, silent)).uses == {}


def test_dust_free_and_the_next_coat_say_nothing_of_a_hand() -> None:
    card = replace(CLEAR, dust_free=minutes(10), recoat_opens=minutes(20), tape=None)
    assert at(painted(card), Use.TOUCH) == WEEK
    assert times(painted(replace(card, cure=None))).uses == {}


def test_no_use_is_told_for_sooner_than_the_touch_it_takes() -> None:
    card = replace(CLEAR, care={Care.TOUCH: hours(60), Care.WASH: hours(48)})
    assert at(painted(card), Use.WASH) == hours(60)
    assert at(painted(card), Use.TAPE) == hours(60)


def test_the_touch_of_a_covered_layer_counts_only_where_its_card_says_so() -> None:
    quick = replace(CLEAR, care={Care.TOUCH: hours(6)})
    below = replace(COLOUR, tape=hours(40))
    assert at(painted(below, quick), Use.TOUCH) == minutes(30) + hours(6)
    told = replace(below, care={Care.TOUCH: hours(40)})
    assert at(painted(told, quick), Use.TOUCH) == hours(40)


def test_cold_makes_it_later_and_warmth_never_sooner() -> None:
    doubling = {CardTime.CURE: DoublingPacing(factor=2.0, reference_degC=20.0)}
    card = replace(CLEAR, paces=doubling, care={Care.WASH: hours(48)})
    # twice as long for 10 °C less: the law of the card itself
    assert at(painted(card, air=10.0), Use.WAX) == 2 * WEEK
    assert at(painted(card, air=10.0), Use.WASH) == hours(96)
    assert at(painted(card, air=35.0), Use.WAX) == WEEK
    assert at(painted(card, air=35.0), Use.WASH) == hours(48)


def test_heat_cuts_the_cure_short_by_the_card_and_never_what_it_says_of_a_use() -> None:
    forced = {CardTime.CURE: ForcedDry(degC=60.0, wait=minutes(30))}
    bench = painted(replace(CLEAR, forced=forced, care={Care.WASH: hours(48)}))
    bench.heat(60.0, "panel").wait(hours=1).heat_off("panel")
    assert at(bench, Use.WAX) == hours(24)  # cured after 30 min of heat; and not before it may be touched
    assert at(bench, Use.WASH) == hours(48)


def test_a_use_written_on_the_card_after_the_coats_counts_too() -> None:
    bench = painted(CLEAR)
    bench.wait(days=1).card(replace(CLEAR, care={Care.WASH: hours(72)}))
    assert at(bench, Use.WASH) == hours(72)


def test_of_two_copies_of_a_card_the_more_careful_one_counts() -> None:
    bench = painted(replace(CLEAR, care={Care.WASH: hours(72)}))
    bench.wait(days=1).card(replace(CLEAR, care={Care.WASH: hours(24)}))
    assert at(bench, Use.WASH) == hours(72)


@pytest.mark.parametrize("short_of", ["nothing on", "a coat", "a layer", "an end"])
def test_while_a_coat_is_missing_there_are_no_times(short_of: str) -> None:
    bench = JobBuilder().card(CLEAR).piece("panel").layer("l0", CLEAR, 2)
    if short_of != "nothing on":
        bench.coat("l0", mix=None)
    if short_of in ("a layer", "an end"):
        bench.wait(minutes=15).start("l0", mix=None)
    if short_of == "a layer":
        bench.done("l0").layer("l1", CLEAR, 1)
    assert times(bench) == CareTimes()
    assert not times(bench).all_on


def test_a_layer_that_was_covered_before_all_its_coats_were_on_holds_nothing_up() -> None:
    bench = JobBuilder().card(COLOUR, CLEAR).piece("panel").layer("l0", COLOUR, 3).layer("l1", CLEAR, 1)
    bench.coat("l0", mix=None).wait(minutes=30).coat("l1", mix=None)
    assert finished_at(bench.state.pieces["panel"]) == START + minutes(30)


def test_a_piece_without_a_layer_is_not_finished() -> None:
    bench = JobBuilder().piece("panel")
    assert finished_at(bench.state.pieces["panel"]) is None


CURED = (Use.POST, Use.WASH, Use.BEND, Use.WAX)


@examples(150)
@given(jobs())
def test_no_use_comes_sooner_than_the_windows_of_the_job_say(job: Job) -> None:
    state = fold(job)
    windows = all_windows(state)
    for piece in state.pieces.values():
        care = care_times(state, piece)
        mine = [w for w in windows if w.piece == piece.id]
        assert care.all_on or not care.uses
        for use, allowed in care.uses.items():
            assert piece.top is not None
            last = piece.top.last_done
            assert last is not None
            assert last.done_at is not None
            assert allowed.at >= last.done_at
            for window in mine:
                if window.kind is WindowKind.TAPE and use is Use.TAPE:
                    assert allowed.at >= window.span.opens_at
                if window.kind is WindowKind.CURE and allowed.by is Whence.CURE and use in CURED:
                    assert allowed.at >= window.span.opens_at


@examples(100)
@given(jobs())
def test_no_use_comes_sooner_than_a_card_says(job: Job) -> None:
    state = fold(job)
    for piece in state.pieces.values():
        for use, allowed in care_times(state, piece).uses.items():
            if use is Use.TAPE:
                continue
            for layer in piece.layers:
                for coat in layer.coats:
                    wait = coat.card.care.get(Care(use.value)) if coat.card is not None else None
                    if wait is not None and coat.done_at is not None:
                        assert allowed.at >= coat.done_at + wait


def test_a_moved_coat_moves_its_times() -> None:
    bench = painted(CLEAR)
    done = next(e for e in bench.job.events if isinstance(e, ev.CoatDone))
    bench.wait(hours=2).correct(done.id, START + hours(1))
    assert at(bench, Use.WAX) == hours(1) + WEEK
