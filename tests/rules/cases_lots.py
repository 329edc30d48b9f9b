"""Cases for the rules of lots."""

from datetime import timedelta

from builders import CLEAR, COLOUR, START, JobBuilder, hours, minutes
from msgspec.structs import replace
from rules.case_book import fails, passes

from benchtool.job.cards import Gun, Reduction

DAY = timedelta(days=1)
HARDENER = "Slow hardener"
KEEPS = replace(
    CLEAR,
    keeps=365 * DAY,
    keeps_opened=180 * DAY,
    activators=(replace(CLEAR.activators[0], keeps_opened=30 * DAY),),
)
"""The same clear, whose sheet says how long its cans keep."""


def to_clear(card=CLEAR) -> JobBuilder:
    return JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow")


def opened(days: float, part: str = HARDENER, card=CLEAR, **told) -> JobBuilder:
    """A can that was opened so many days ago is in hand."""
    return to_clear(card).take(card, part, number="7", opened_on=START - days * DAY, **told)


@fails("lots.past-date")
def the_date_on_the_can_is_over() -> JobBuilder:
    return to_clear().take(CLEAR, "Base", best_before=START - minutes(1))


@fails("lots.past-date")
def open_for_longer_than_it_keeps() -> JobBuilder:
    return opened(31, keeps_opened=30 * DAY)


@fails("lots.past-date")
def open_for_longer_than_its_card_says() -> JobBuilder:
    return opened(31, card=KEEPS)


@fails("lots.past-date")
def the_base_is_open_for_longer_than_its_card_says() -> JobBuilder:
    return opened(181, "Base", KEEPS)


@fails("lots.past-date")
def never_opened_and_past_its_shelf_life() -> JobBuilder:
    return to_clear(KEEPS).take(KEEPS, "Base", got_on=START - 366 * DAY)


THINNED = replace(
    CLEAR,
    reducer="Clear reducer",
    reductions=(Reduction(gun=Gun.AIRBRUSH, least="0 % of base", usual="10 % of base", most="20 % of base"),),
    reducer_keeps=1_000 * DAY,
    reducer_keeps_opened=500 * DAY,
    activators=(replace(CLEAR.activators[0], keeps=200 * DAY, keeps_opened=30 * DAY),),
)
"""The same clear, reduced; its sheet says how long each part keeps."""


@fails("lots.past-date")
def an_activator_never_opened_and_past_its_shelf_life() -> JobBuilder:
    return to_clear(THINNED).take(THINNED, HARDENER, got_on=START - 201 * DAY)


@fails("lots.past-date")
def a_reducer_open_for_longer_than_its_card_says() -> JobBuilder:
    return opened(501, "Clear reducer", THINNED)


@fails("lots.past-date")
def a_reducer_never_opened_and_past_its_shelf_life() -> JobBuilder:
    return to_clear(THINNED).take(THINNED, "Clear reducer", got_on=START - 1_001 * DAY)


@passes("lots.past-date")
def each_part_is_good_for_its_own_time() -> JobBuilder:
    bench = to_clear(THINNED).take(THINNED, HARDENER, "h", got_on=START - 200 * DAY)
    bench.take(THINNED, "Clear reducer", "r", got_on=START - 1_000 * DAY, opened_on=START - 500 * DAY)
    return bench.take(THINNED, "Base", "b", got_on=START - 3_000 * DAY, opened_on=START - 2_000 * DAY)


@fails("lots.past-date")
def opened_in_time_and_its_date_is_over() -> JobBuilder:
    return opened(1, keeps_opened=30 * DAY, best_before=START - DAY)


@fails("lots.past-date")
def it_went_into_the_cup_at_hand() -> JobBuilder:
    bench = to_clear().take(CLEAR, HARDENER, "old", best_before=START - DAY).mix().pour("base", 40)
    return bench.pour("activator", 20).stir("activated").take(CLEAR, HARDENER, "fresh")


@fails("lots.past-date")
def it_went_on_the_piece() -> JobBuilder:
    bench = to_clear().take(CLEAR, HARDENER, "old", best_before=START - DAY)
    return bench.ready().coats(2, apart=minutes(15)).empty().wait(hours=1)


@passes("lots.past-date")
def nothing_says_how_long_it_keeps() -> JobBuilder:
    return opened(3_000)


@passes("lots.past-date")
def good_to_this_very_moment() -> JobBuilder:
    return opened(30, keeps_opened=30 * DAY, best_before=START)


@passes("lots.past-date")
def the_can_knows_better_than_the_card() -> JobBuilder:
    return opened(31, card=KEEPS, keeps_opened=60 * DAY)


@passes("lots.past-date")
def the_date_on_the_can_counts_and_not_the_shelf_life() -> JobBuilder:
    return to_clear(KEEPS).take(KEEPS, "Base", got_on=START - 400 * DAY, best_before=START + DAY)


@passes("lots.past-date")
def the_shelf_life_on_the_card_is_that_of_the_base() -> JobBuilder:
    return to_clear(KEEPS).take(KEEPS, HARDENER, got_on=START - 400 * DAY)


@passes("lots.past-date")
def a_fresh_can_was_taken_before_anything_was_poured() -> JobBuilder:
    return opened(31, lot="old", keeps_opened=30 * DAY).take(CLEAR, HARDENER, "fresh").ready().coat()


@passes("lots.past-date")
def it_grew_old_after_it_was_poured_and_the_layer_is_done() -> JobBuilder:
    bench = to_clear().take(CLEAR, HARDENER, best_before=START + hours(1)).ready().coats(2, apart=minutes(15))
    return bench.empty().wait(hours=24)


@passes("lots.past-date")
def its_cup_was_thrown_away_unsprayed() -> JobBuilder:
    bench = to_clear().take(CLEAR, HARDENER, "old", best_before=START - DAY).mix().pour("base", 40)
    return bench.pour("activator", 20).empty().take(CLEAR, HARDENER, "fresh").ready().coat()


@passes("lots.past-date")
def no_layer_takes_what_is_in_it() -> JobBuilder:
    return to_clear().take(CLEAR, "Fast hardener", best_before=START - DAY)


@fails("lots.hardener-open")
def a_hardener_open_for_four_months() -> JobBuilder:
    return opened(120)


@passes("lots.hardener-open")
def a_hardener_open_for_two_months() -> JobBuilder:
    return opened(60)


@passes("lots.hardener-open")
def a_hardener_whose_card_says_how_long() -> JobBuilder:
    return opened(120, card=KEEPS)


@passes("lots.hardener-open")
def the_base_open_for_four_months() -> JobBuilder:
    return opened(120, "Base")


@passes("lots.hardener-open")
def a_hardener_that_was_never_opened() -> JobBuilder:
    return to_clear().take(CLEAR, HARDENER, got_on=START - 300 * DAY)


@fails("lots.short")
def too_little_left_for_the_cup() -> JobBuilder:
    return to_clear().take(CLEAR, "Base", counted_mL=20, counted_on=START).mix(make_mL=60)


@fails("lots.short")
def a_new_can_nearly_used_up_by_this_job() -> JobBuilder:
    bench = to_clear().take(CLEAR, "Base", full_mL=50).mix(make_mL=60).pour("base", 40).pour("activator", 20)
    return bench.stir("activated").coat().empty().mix(make_mL=60)


@passes("lots.short")
def enough_for_the_cup() -> JobBuilder:
    return to_clear().take(CLEAR, "Base", counted_mL=40, counted_on=START).mix(make_mL=60)


@passes("lots.short")
def poured_to_the_last_drop() -> JobBuilder:
    bench = to_clear().take(CLEAR, "Base", counted_mL=40, counted_on=START).mix(make_mL=60)
    return bench.wait(minutes=1).pour("base", 40)


def two_cups(second: str, card=COLOUR) -> JobBuilder:
    """A cup of a layer for each of its coats, the second from the can `second`."""
    bench = JobBuilder().card(card).piece().prep("wash").layer("layer", card, 2, activator="slow")
    bench.take(card, "Base", "can-1").ready().coat().empty().wait(minutes=15)
    return bench.take(card, "Base", second).ready().coat()


@fails("lots.two-lots")
def a_colour_out_of_two_cans() -> JobBuilder:
    return two_cups("can-2")


@passes("lots.two-lots")
def a_colour_out_of_one_can() -> JobBuilder:
    return two_cups("can-1")


@passes("lots.two-lots")
def a_clear_out_of_two_cans() -> JobBuilder:
    return two_cups("can-2", CLEAR)


@passes("lots.two-lots")
def one_cup_of_both_cans() -> JobBuilder:
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("layer", COLOUR, 2).mix()
    return bench.take(COLOUR, "Base", "a").pour("base", 15).take(COLOUR, "Base", "b").pour("base", 10)
