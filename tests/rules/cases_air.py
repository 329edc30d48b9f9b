"""Cases for the rules of air.

Margins of the surface over the dew point: ISO 8502-4's 3 °C, the dew points by psychrolib 2.5.0 (ASHRAE Handbook
Fundamentals, chapter 1): 20 °C 60 % 12.01 °C, 10 °C 70 % 4.79 °C, 22 °C 45 % 9.53 °C.
"""

from datetime import timedelta

from builders import COLOUR, EPOXY, LACQUER, URETHANE, JobBuilder, minutes
from builders import WATERBORNE as ACRYLIC
from msgspec.structs import replace
from rules.case_book import fails, passes

from benchtool.job import events as ev
from benchtool.job.cards import AirRange, CardTime, DoublingPacing, EvaporationPacing

FAST = replace(COLOUR, fast_solvent=True)
RANGED = replace(COLOUR, air=AirRange(least_degC=15, most_degC=30, least_percent=20, most_percent=80))
PACED = replace(COLOUR, paces={CardTime.EVERY: DoublingPacing()})


def to_colour(card=COLOUR) -> JobBuilder:
    return JobBuilder().card(card).piece().prep("wash", "degrease").layer("colour", card, 2)


@fails("air.dew-point")
def the_surface_is_two_and_a_half_degrees_above_the_dew_point() -> JobBuilder:
    return to_colour().read_air(20, 60, surface_degC=14.5)


@fails("air.dew-point")
def the_surface_is_below_the_dew_point() -> JobBuilder:
    return to_colour().read_air(22, 45, surface_degC=9)


@fails("air.dew-point")
def a_coat_went_on_a_damp_surface() -> JobBuilder:
    return (
        to_colour().ready().read_air(22, 45, surface_degC=12).coat().wait(minutes=5).read_air(22, 45, surface_degC=21)
    )


@passes("air.dew-point")
def the_surface_is_six_degrees_above_the_dew_point() -> JobBuilder:
    return to_colour().read_air(20, 60, surface_degC=18)


@passes("air.dew-point")
def three_degrees_and_a_fifth_are_enough() -> JobBuilder:
    return to_colour().read_air(10, 70, surface_degC=8)


@passes("air.dew-point")
def nobody_measured_the_surface() -> JobBuilder:
    return to_colour().read_air(20, 95)


@passes("air.dew-point")
def the_damp_reading_is_of_yesterday() -> JobBuilder:
    return to_colour().read_air(20, 60, surface_degC=14.5).wait(hours=24)


@passes("air.dew-point")
def a_newer_reading_is_dry() -> JobBuilder:
    return to_colour().read_air(20, 60, surface_degC=14.5).wait(minutes=30).read_air(20, 60, surface_degC=18)


@fails("air.range")
def colder_than_the_card_asks_for() -> JobBuilder:
    return to_colour(RANGED).read_air(14.9, 50)


@fails("air.range")
def a_cold_piece_in_a_warm_shop() -> JobBuilder:
    return to_colour(RANGED).read_air(22, 40, surface_degC=14)


@fails("air.range")
def damper_than_the_card_asks_for() -> JobBuilder:
    return to_colour(RANGED).read_air(20, 81)


@fails("air.range")
def warmer_than_the_card_asks_for() -> JobBuilder:
    return to_colour(RANGED).read_air(31, 40)


@fails("air.range")
def drier_than_the_card_asks_for() -> JobBuilder:
    return to_colour(RANGED).read_air(20, 19)


@passes("air.range")
def just_at_the_edges_of_the_card() -> JobBuilder:
    return to_colour(RANGED).read_air(15, 80)


@passes("air.range")
def the_card_names_no_air() -> JobBuilder:
    return to_colour().read_air(2, 98)


@fails("air.falling")
def the_shop_cools_toward_the_dew_point_before_the_coat_would_be_dry() -> JobBuilder:
    # 6 °C in half an hour, as much water in the air: from 5.4 °C above the dew point it needs minutes
    bench = to_colour().read_air(24, 45, surface_degC=24)
    return bench.wait(minutes=30).read_air(18, 66, surface_degC=15.2)


SLOW = replace(COLOUR, recoat_opens=minutes(30), paces={CardTime.EVERY: DoublingPacing(reference_degC=20)})


def cooling_at_ten_degrees(card=COLOUR) -> JobBuilder:
    """Three readings half an hour apart; by their trend the surface is near the dew point in 49 min."""
    bench = to_colour(card)
    for degC, percent in ((11.0, 74), (10.5, 76), (10.0, 78)):
        bench.wait(minutes=30).read_air(degC, percent, surface_degC=degC)
    return bench


@fails("air.falling")
def in_this_cold_the_coat_takes_longer_than_by_its_card() -> JobBuilder:
    # 30 min by the card are 60 at 10 °C, and the dew point comes after 49
    return cooling_at_ten_degrees(SLOW)


@passes("air.falling")
def the_card_has_it_dry_before_the_air_gets_there() -> JobBuilder:
    return cooling_at_ten_degrees(replace(SLOW, paces={}))


def heater_off(job: JobBuilder, degC: float = 13, **after: float) -> JobBuilder:
    """The heater is expected to go off; 20 °C and 60 % hold as much water as air of 12.0 °C can."""
    step = ev.CoursePoint(at=job.now + timedelta(**after), air_degC=degC)
    return job.read_air(20, 60).add(ev.CourseExpected, points=(step,))


@fails("air.falling")
def the_heater_goes_off_before_the_coat_is_dry() -> JobBuilder:
    return heater_off(to_colour(), minutes=19)


@fails("air.falling")
def the_heater_went_off_since_the_last_reading() -> JobBuilder:
    return heater_off(to_colour(), minutes=19).wait(minutes=25)


@passes("air.falling")
def the_heater_goes_off_when_the_coat_is_dry() -> JobBuilder:
    return heater_off(to_colour(), minutes=21)


@passes("air.falling")
def the_shop_cools_slowly() -> JobBuilder:
    bench = to_colour().read_air(20.1, 50, surface_degC=20.1)
    return bench.wait(minutes=40).read_air(20, 50.3, surface_degC=20)


@passes("air.falling")
def one_reading_is_no_trend() -> JobBuilder:
    return to_colour().read_air(18, 60, surface_degC=15)


WATERBORNE = replace(COLOUR, paces={CardTime.EVERY: EvaporationPacing()})
NO_COLDER = replace(COLOUR, paces={CardTime.EVERY: DoublingPacing(least_degC=10)})


@fails("air.near-dew")
def the_air_is_near_its_dew_point_and_nobody_measured_the_surface() -> JobBuilder:
    return to_colour().read_air(12, 85)  # dew point 9.6 degC by psychrolib


@passes("air.near-dew")
def the_air_is_far_from_its_dew_point() -> JobBuilder:
    return to_colour().read_air(12, 75)  # dew point 7.7 degC by psychrolib


@passes("air.near-dew")
def the_surface_was_measured() -> JobBuilder:
    return to_colour().read_air(12, 85, surface_degC=16)


@fails("air.never-dries")
def nothing_dries_in_saturated_air() -> JobBuilder:
    return to_colour(WATERBORNE).read_air(12, 100)


@fails("air.never-dries")
def it_is_colder_than_the_card_lets_it_dry() -> JobBuilder:
    return to_colour(NO_COLDER).read_air(9, 50)


@fails("air.never-dries")
def without_a_flash_its_recoat_never_opens() -> JobBuilder:
    return to_colour(replace(NO_COLDER, flash=None)).read_air(9, 50)


@fails("air.never-dries")
def the_heater_goes_off_for_good_before_it_is_dry() -> JobBuilder:
    return heater_off(to_colour(replace(WATERBORNE, flash=minutes(30))), minutes=19, degC=11)


@passes("air.never-dries")
def damp_air_dries_it_slowly() -> JobBuilder:
    return to_colour(WATERBORNE).read_air(12, 95)


@passes("air.never-dries")
def it_is_as_warm_as_the_card_lets_it_dry() -> JobBuilder:
    return to_colour(NO_COLDER).read_air(10, 50)


@passes("air.never-dries")
def it_is_expected_to_be_warm_again() -> JobBuilder:
    job = to_colour(WATERBORNE).read_air(12, 100)
    return job.add(ev.CourseExpected, points=(ev.CoursePoint(at=job.now + timedelta(hours=9), air_degC=21),))


@passes("air.never-dries")
def its_card_does_not_follow_the_air() -> JobBuilder:
    return to_colour().read_air(12, 100)


@fails("air.blush")
def a_fast_solvent_in_damp_air() -> JobBuilder:
    return to_colour(FAST).read_air(20, 75)


@passes("air.blush")
def a_slow_one_in_damp_air() -> JobBuilder:
    return to_colour().read_air(20, 75)


@passes("air.blush")
def a_fast_solvent_in_dry_air() -> JobBuilder:
    return to_colour(FAST).read_air(20, 35)


@fails("air.old-reading")
def five_hours_since_the_last_reading() -> JobBuilder:
    return to_colour(PACED).read_air().wait(hours=5)


@passes("air.old-reading")
def an_hour_since_the_last_reading() -> JobBuilder:
    return to_colour(PACED).read_air().wait(hours=1)


@passes("air.old-reading")
def no_card_follows_the_air() -> JobBuilder:
    return to_colour().read_air().wait(hours=5)


@fails("air.odd-reading")
def a_humidity_over_a_hundred() -> JobBuilder:
    return to_colour().read_air(20, 130)


@fails("air.odd-reading")
def a_humidity_of_nothing() -> JobBuilder:
    return to_colour().read_air(20, 0)


@fails("air.odd-reading")
def a_surface_hotter_than_any() -> JobBuilder:
    return to_colour().read_air(20, 50, surface_degC=400)


@fails("air.odd-reading")
def degrees_fahrenheit_taken_for_celsius() -> JobBuilder:
    return to_colour().read_air(68, 60)


@passes("air.odd-reading")
def a_reading_that_can_be() -> JobBuilder:
    return to_colour().read_air(20, 50, surface_degC=19)


@passes("air.odd-reading")
def a_good_reading_after_an_odd_one() -> JobBuilder:
    return to_colour().read_air(20, 130).read_air(20, 50)


# --- air that is too much for a kind of paint: 85 % beside ISO 8502-4, the rest is common practice ----------


def to_coat(card, activator: str | None = None) -> JobBuilder:
    return JobBuilder().card(card).piece().prep("wash").layer("layer", card, activator=activator)


@fails("air.waterborne-damp")
def a_waterborne_in_very_damp_air() -> JobBuilder:
    return to_coat(ACRYLIC).read_air(25, 86, surface_degC=27)


@passes("air.waterborne-damp")
def a_waterborne_at_the_usual_most() -> JobBuilder:
    return to_coat(ACRYLIC).read_air(25, 85, surface_degC=27)


@passes("air.waterborne-damp")
def a_waterborne_whose_card_allows_it() -> JobBuilder:
    card = replace(ACRYLIC, air=AirRange(most_percent=90))
    return to_coat(card).read_air(25, 86, surface_degC=27)


@passes("air.waterborne-damp")
def a_lacquer_in_very_damp_air() -> JobBuilder:
    return to_coat(LACQUER).read_air(25, 86, surface_degC=27)


@fails("air.hardener-damp")
def a_urethane_in_very_damp_air() -> JobBuilder:
    return to_coat(URETHANE, "hard").read_air(25, 90, surface_degC=28)


@passes("air.hardener-damp")
def a_urethane_in_usual_air() -> JobBuilder:
    return to_coat(URETHANE, "hard").read_air(25, 70)


@passes("air.hardener-damp")
def an_epoxy_in_very_damp_air() -> JobBuilder:
    return to_coat(EPOXY, "epoxy-b").read_air(25, 90, surface_degC=28)


@fails("air.too-cold")
def a_waterborne_in_a_cold_shop() -> JobBuilder:
    return to_coat(ACRYLIC).read_air(9, 50)


@fails("air.too-cold")
def an_epoxy_on_a_cold_piece() -> JobBuilder:
    return to_coat(EPOXY, "epoxy-b").read_air(16, 40, surface_degC=8)


@passes("air.too-cold")
def a_waterborne_in_a_cool_shop() -> JobBuilder:
    return to_coat(ACRYLIC).read_air(10, 50)


@passes("air.too-cold")
def a_lacquer_in_a_cold_shop() -> JobBuilder:
    return to_coat(LACQUER).read_air(6, 50)


@passes("air.too-cold")
def an_epoxy_whose_card_goes_down_to_five() -> JobBuilder:
    return to_coat(replace(EPOXY, air=AirRange(least_degC=5)), "epoxy-b").read_air(8, 50)


@fails("air.too-hot")
def a_piece_from_the_sun() -> JobBuilder:
    return to_coat(LACQUER).read_air(30, 40, surface_degC=42)


@passes("air.too-hot")
def a_warm_day() -> JobBuilder:
    return to_coat(LACQUER).read_air(33, 40)


@passes("air.too-hot")
def a_card_that_allows_it() -> JobBuilder:
    return to_coat(replace(LACQUER, air=AirRange(most_degC=45))).read_air(30, 40, surface_degC=42)
