"""Every wait and every deadline: a second before, to the second, a second after."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from builders import ADHESIVE_CLEAR, CLEAR, COLOUR, ONE_PART_PROMOTER, PROMOTER, JobBuilder, hours, minutes

from benchtool.job.cards import Gun

SECOND = timedelta(seconds=1)


def promoter_poured() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER, COLOUR).piece().prep("wash").layer("promoter", PROMOTER, activator="rigid")
    return bench.layer("colour", COLOUR).mix("promoter").pour("base", 25).pour("activator", 0.5)


def promoter_stirred() -> JobBuilder:
    return promoter_poured().stir("activated")


def promoter_reduced() -> JobBuilder:
    return promoter_stirred().wait(minutes=5).pour("reducer", 25.5).stir("reduced")


def promoter_first_coat() -> JobBuilder:
    return promoter_reduced().wait(minutes=10).coat()


def promoter_on() -> JobBuilder:
    return promoter_first_coat().wait(minutes=15).coat()


def adhesive_clear_on() -> JobBuilder:
    bench = JobBuilder().card(ADHESIVE_CLEAR, COLOUR).piece("shelf", "wood-solid").prep("wash")
    bench.layer("primer", ADHESIVE_CLEAR, gun=Gun.MINI).layer("colour", COLOUR)
    return bench.ready("primer").coats(3, apart=minutes(12))


def clear_first_coat() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, activator="slow")
    return bench.mix().pour("base", 40).pour("activator", 20).stir("activated").coat()


def one_part_first_coat() -> JobBuilder:
    bench = JobBuilder().card(ONE_PART_PROMOTER).piece().prep("wash").layer("promoter", ONE_PART_PROMOTER)
    return bench.ready().coat()


def colour_on() -> JobBuilder:
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("wash").layer("colour", COLOUR)
    return bench.layer("clear", CLEAR, activator="slow").ready("colour").coat()


WAITS = [
    ("timing.stand", promoter_stirred, "promoter", minutes(5)),
    ("timing.stand", promoter_reduced, "promoter", minutes(10)),
    ("timing.flash", promoter_first_coat, "promoter", minutes(15)),
    ("timing.flash", one_part_first_coat, "promoter", minutes(10)),
    ("timing.flash", clear_first_coat, "clear", minutes(15)),
    ("timing.recoat-early", promoter_on, "colour", minutes(30)),
    ("timing.recoat-early", adhesive_clear_on, "colour", hours(48)),
    ("timing.recoat-early", colour_on, "clear", minutes(20)),
]
"""Rule, the job at the start of the wait, the layer that waits, and the card's time: common practice, no source."""


def _name(value: object) -> str:
    return getattr(value, "__name__", str(value))


@pytest.mark.parametrize(("rule", "build", "layer", "wait"), WAITS, ids=_name)
def test_a_wait_stands_in_the_way_up_to_its_last_second(
    rule: str, build: Callable[[], JobBuilder], layer: str, wait: timedelta
) -> None:
    bench = build()
    due = bench.now + wait
    assert rule in bench.in_the_way(layer)
    assert rule in bench.in_the_way(layer, due - SECOND)
    assert bench.one(rule, due - SECOND).clears_at == due
    assert "0:01" in bench.one(rule, due - SECOND).message
    assert rule not in bench.rules(due)
    assert rule not in bench.rules(due + SECOND)


@pytest.mark.parametrize(("rule", "build", "layer", "wait"), WAITS, ids=_name)
@pytest.mark.parametrize(("off", "raised"), [(-SECOND, True), (timedelta(0), False), (SECOND, False)], ids=str)
def test_a_coat_a_second_early_is_in_the_record(
    rule: str, build: Callable[[], JobBuilder], layer: str, wait: timedelta, off: timedelta, raised: bool
) -> None:
    bench = build()
    due = bench.now + wait
    if bench.state.mix_for(bench.layer_state(layer)) is None:
        bench.ready(layer)  # the cup stands ready before the wait is over
    bench.at(due + off).coat(layer)
    long_after = due + hours(200)
    assert (rule in bench.rules(long_after)) is raised
    if raised:
        gap = "14:59" if wait == minutes(15) else "9:59"
        assert (gap if rule == "timing.flash" else "0:01") in bench.one(rule, long_after).message


def clear_activated() -> JobBuilder:
    """A clear for one coat, activated at this moment and not on yet."""
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, 1, activator="slow")
    return bench.mix().pour("base", 40).pour("activator", 20).stir("activated")


DEADLINES = [
    ("timing.pot-life", clear_activated, hours(2), True),
    ("timing.recoat-closed", colour_on, hours(24), True),
    ("timing.flash", one_part_first_coat, minutes(15), False),
]


@pytest.mark.parametrize(("rule", "build", "limit", "stops"), DEADLINES, ids=_name)
def test_a_deadline_is_kept_to_the_second(
    rule: str, build: Callable[[], JobBuilder], limit: timedelta, stops: bool
) -> None:
    bench = build()
    layer = bench.state.pieces["panel"].current
    assert layer is not None
    end = bench.now + limit
    assert rule not in bench.rules(end - SECOND)
    for late in (end, end + SECOND):
        assert rule in bench.rules(late)
        assert (rule in bench.in_the_way(layer.id, late)) is stops
        assert bench.one(rule, late).clears_at is None


def test_a_coat_begun_in_the_last_second_of_the_pot_life_is_in_time() -> None:
    ends = clear_activated().now + hours(2)
    assert "timing.pot-life" not in clear_activated().at(ends - SECOND).coat().empty().rules()
    assert "timing.pot-life" in clear_activated().at(ends).coat().empty().rules()


@pytest.mark.parametrize(("early", "raised"), [(SECOND, True), (timedelta(0), False), (-SECOND, False)], ids=str)
def test_tape_to_the_second(early: timedelta, raised: bool) -> None:
    bench = promoter_on()
    bench.at(bench.now + hours(24) - early).mask()
    assert ("timing.tape" in bench.rules()) is raised
    # What was taped too early stays so until the tape is lifted, however long it waits.
    assert ("timing.tape" in bench.rules(bench.now + hours(100))) is raised


@pytest.mark.parametrize(("ahead", "raised"), [(60, False), (61, True)])
def test_the_record_ahead_of_the_clock_by_more_than_a_minute(ahead: int, raised: bool) -> None:
    bench = promoter_on()
    assert ("record.clock-behind" in bench.rules(bench.now - timedelta(seconds=ahead))) is raised


def test_the_words_of_a_wait_never_say_zero() -> None:
    bench = promoter_first_coat()
    due = bench.now + minutes(15)
    assert "Wait 0:01 " in bench.one("timing.flash", due - timedelta(microseconds=1)).message


def test_waits_count_from_the_end_of_the_coat_not_its_start() -> None:
    bench = promoter_reduced().wait(minutes=10).coat(takes=minutes(4))
    assert bench.one("timing.flash").clears_at == bench.now + minutes(15)


def test_no_wait_is_asked_for_while_a_coat_is_being_sprayed() -> None:
    bench = promoter_first_coat().wait(minutes=15).start().wait(minutes=3)
    assert bench.rules() == set()


def test_the_pot_life_counts_from_the_first_activator_poured_not_from_the_stirring() -> None:
    bench = clear_activated()
    poured = bench.now
    assert bench.wait(minutes=30).stir("activated").one("timing.pot-life", poured + hours(2)).layer == "clear"


def test_a_late_coat_moves_the_recoat_window() -> None:
    bench = promoter_first_coat().wait(hours=3).coat()
    assert bench.one("timing.recoat-early").clears_at == bench.now + minutes(30)
