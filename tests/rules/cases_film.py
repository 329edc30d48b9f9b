"""Cases for the rules of film, and for those of what lies on what."""

from builders import (
    CLEAR,
    COLOUR,
    EPOXY,
    FILLER,
    LACQUER,
    METALLIC,
    ONE_PART_PROMOTER,
    PROMOTER,
    URETHANE,
    UV_CLEAR,
    JobBuilder,
    minutes,
)
from msgspec.structs import replace
from rules.case_book import fails, panel, passes

from benchtool.job.cards import Duty, Trait

CANDY = replace(LACQUER, id="candy", name="Candy", traits=(Trait.TRANSLUCENT,))
BLACK = replace(LACQUER, id="black", name="Black", traits=(Trait.DARK,))
SILVER = replace(LACQUER, id="silver", name="Silver")
FLEXIBLE_FILLER = replace(FILLER, id="flex-filler", name="Flexible filler", traits=(Trait.FLEXIBLE,))


def filmed(um: float, card=CLEAR, **more):
    """A card that says how thick a coat of it comes."""
    return replace(card, id=f"{card.id}-filmed", film_um=um, **more)


def bumper() -> JobBuilder:
    return JobBuilder().piece("bumper", "tpo", flex="flexible", known="marked").prep("mould-release wash", "degrease")


def stack(*cards, coats: int = 1, piece: str = "panel", **told) -> JobBuilder:
    """A piece with these layers planned, named after their cards."""
    bench = JobBuilder().card(*cards).piece(piece, **told).prep("wash")
    for card in cards:
        bench.layer(card.id, card, max(coats, card.coats_least))
    return bench


# --- too much, too little -------------------------------------------------------------------------


@fails("film.too-much-on-flexible")
def five_heavy_coats_on_a_bumper() -> JobBuilder:
    card = filmed(50)
    return bumper().card(card).layer("clear", card, 5, activator="slow")


@fails("film.too-much-on-flexible")
def measured_too_thick_on_a_bumper() -> JobBuilder:
    bench = bumper().card(CLEAR).layer("clear", CLEAR, activator="slow").ready().coat().film(110)
    return bench.wait(minutes=15).coat()


@passes("film.too-much-on-flexible")
def as_much_as_a_bumper_carries() -> JobBuilder:
    card = filmed(50)
    return bumper().card(card).layer("clear", card, 4, activator="slow")


@passes("film.too-much-on-flexible")
def much_of_a_film_that_bends() -> JobBuilder:
    card = filmed(50, URETHANE)
    return bumper().card(card).layer("clear", card, 5, activator="hard", additives=("flex",))


@passes("film.too-much-on-flexible")
def the_same_on_a_rigid_panel() -> JobBuilder:
    return stack(filmed(50), coats=5)


@fails("film.total-thick")
def six_heavy_coats_on_a_panel() -> JobBuilder:
    return stack(filmed(51), coats=6)


@passes("film.total-thick")
def a_usual_stack() -> JobBuilder:
    return stack(filmed(30, EPOXY), filmed(15, COLOUR), filmed(50), coats=2)


@passes("film.total-thick")
def a_thick_filler_under_it() -> JobBuilder:
    return stack(filmed(300, FILLER), filmed(15, COLOUR))


@fails("film.over-most")
def more_coats_than_the_film_allows() -> JobBuilder:
    return stack(filmed(40, film_most_um=100), coats=3)


@fails("film.over-most")
def measured_over_the_most() -> JobBuilder:
    card = filmed(40, film_most_um=100)
    bench = JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow").ready()
    return bench.coat().film(55).wait(minutes=15).coat()


@passes("film.over-most")
def just_the_most() -> JobBuilder:
    return stack(filmed(40, film_most_um=80), coats=2)


@passes("film.over-most")
def a_card_that_gives_no_film_of_a_coat() -> JobBuilder:
    return stack(replace(CLEAR, film_most_um=10), coats=3)


def measured(um: float, card=None) -> JobBuilder:
    """A layer of clear that is finished, its coats measured."""
    card = card or filmed(50)
    bench = JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow").ready()
    return bench.coat().film(um).wait(minutes=15).coat()


@fails("film.thin")
def measured_far_under_the_card() -> JobBuilder:
    return measured(39)


@passes("film.thin")
def measured_within_the_slack() -> JobBuilder:
    return measured(41)


@passes("film.thin")
def thin_coats_and_one_more_of_them() -> JobBuilder:
    return measured(39).change_layer(coats=3).wait(minutes=15).coat()


@passes("film.thin")
def thin_and_not_finished() -> JobBuilder:
    card = filmed(50)
    return JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow").ready().coat().film(20)


@fails("film.heavy-coat")
def measured_twice_the_card() -> JobBuilder:
    return measured(100)


@passes("film.heavy-coat")
def a_little_over_the_card() -> JobBuilder:
    return measured(70)


@passes("film.heavy-coat")
def nothing_measured() -> JobBuilder:
    card = filmed(50)
    return JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow").ready().coat()


# --- what bends -----------------------------------------------------------------------------------


@fails("film.brittle-on-flexible")
def spray_filler_on_a_bumper() -> JobBuilder:
    return bumper().card(FILLER).layer("filler", FILLER, activator="peroxide")


@fails("film.brittle-on-flexible")
def a_brittle_lacquer_on_a_bumper() -> JobBuilder:
    card = replace(LACQUER, traits=(Trait.BRITTLE,))
    return bumper().card(card).layer("lacquer", card)


@passes("film.brittle-on-flexible")
def a_filler_that_bends() -> JobBuilder:
    return bumper().card(FLEXIBLE_FILLER).layer("filler", FLEXIBLE_FILLER, activator="peroxide")


@passes("film.brittle-on-flexible")
def spray_filler_on_steel() -> JobBuilder:
    return stack(FILLER, substrate="steel")


# --- what a lamp cures ----------------------------------------------------------------------------


@fails("film.uv-thick")
def a_lamp_coat_measured_too_thick() -> JobBuilder:
    return stack(UV_CLEAR).ready("uv-clear").coat().film(61)


@fails("film.uv-thick")
def a_lamp_coat_of_a_card_that_gives_none() -> JobBuilder:
    card = replace(UV_CLEAR, film_um=None)
    return stack(card).ready("uv-clear").coat().film(110)


@passes("film.uv-thick")
def a_lamp_coat_by_the_card() -> JobBuilder:
    return stack(UV_CLEAR).ready("uv-clear").coat().film(58)


@passes("film.uv-thick")
def as_thick_and_cured_by_no_lamp() -> JobBuilder:
    return measured(70)


@fails("film.uv-dark")
def a_dark_colour_under_a_lamp() -> JobBuilder:
    return stack(replace(UV_CLEAR, duty=Duty.BASE, traits=(Trait.DARK,)))


@fails("film.uv-dark")
def black_by_the_painters_own_choice() -> JobBuilder:
    return stack(replace(UV_CLEAR, duty=Duty.BASE)).change_layer("uv-clear", colour="#101418")


@passes("film.uv-dark")
def a_light_colour_under_a_lamp() -> JobBuilder:
    return stack(replace(UV_CLEAR, duty=Duty.BASE)).change_layer("uv-clear", colour="#e8e4d0")


@passes("film.uv-dark")
def dark_and_very_thin() -> JobBuilder:
    return stack(replace(UV_CLEAR, duty=Duty.BASE, traits=(Trait.DARK,), film_um=12.0))


@passes("film.uv-dark")
def a_clear_drawn_in_a_dark_colour() -> JobBuilder:
    return stack(UV_CLEAR).change_layer("uv-clear", colour="#000000")


@passes("film.uv-dark")
def dark_and_cured_by_no_lamp() -> JobBuilder:
    return stack(replace(LACQUER, traits=(Trait.DARK,)))


# --- clear over a metallic ------------------------------------------------------------------------

UNTIMED = replace(METALLIC, id="untimed", flash=None, recoat_opens=None, recoat_closes=None)


def silvered(card=METALLIC) -> JobBuilder:
    """A panel with its metallic on and the clear planned."""
    bench = JobBuilder().card(card, CLEAR).piece().prep("wash").layer("metallic", card, 2)
    bench.layer("clear", CLEAR, activator="slow").ready("metallic").coats(2, apart=minutes(10))
    return bench.empty()


@fails("layering.clear-over-metallic")
def clear_at_once() -> JobBuilder:
    return silvered(UNTIMED).wait(minutes=14)


@fails("layering.clear-over-metallic")
def clear_went_on_at_once() -> JobBuilder:
    return silvered(UNTIMED).ready("clear").wait(minutes=5).coat().wait(hours=1)


@fails("layering.clear-over-metallic")
def clear_two_days_later() -> JobBuilder:
    return silvered(UNTIMED).wait(hours=48)


@fails("layering.clear-over-metallic")
def clear_went_on_two_days_later() -> JobBuilder:
    return silvered(UNTIMED).wait(hours=48).ready("clear").coat()


@fails("layering.clear-over-metallic")
def a_scuffed_metallic() -> JobBuilder:
    return silvered().wait(hours=30).prep("scuff", "tack")


@fails("layering.clear-over-metallic")
def clear_over_a_scuffed_metallic() -> JobBuilder:
    return silvered().wait(hours=30).prep("scuff", "tack").ready("clear").coat()


@passes("layering.clear-over-metallic")
def clear_inside_the_window() -> JobBuilder:
    return silvered().wait(minutes=25).ready("clear").coat()


@passes("layering.clear-over-metallic")
def clear_an_hour_later_without_times() -> JobBuilder:
    return silvered(UNTIMED).wait(hours=1)


@passes("layering.clear-over-metallic")
def scuffed_and_one_more_coat_of_it() -> JobBuilder:
    bench = silvered().wait(hours=30).prep("scuff", "tack").change_layer("metallic", coats=3)
    return bench.ready("metallic").coat().wait(minutes=25)


@passes("layering.clear-over-metallic")
def a_solid_colour_scuffed() -> JobBuilder:
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("wash").layer("colour", COLOUR, 1)
    return bench.layer("clear", CLEAR, activator="slow").ready("colour").coat().wait(hours=30).prep("scuff")


@passes("layering.clear-over-metallic")
def a_metallic_seen_from_its_other_side() -> JobBuilder:
    bench = JobBuilder().card(METALLIC, CLEAR).piece("shell", "pc", face="behind clear").prep("mould-release wash")
    bench.layer("metallic", METALLIC, 2).layer("clear", CLEAR, activator="slow")
    return bench.ready("metallic").coats(2, apart=minutes(10)).wait(hours=30).prep("scuff", "tack")


# --- what shows, and what lies where --------------------------------------------------------------


def shell(*cards) -> JobBuilder:
    """A clear shell with these planned behind it."""
    return stack(*cards, piece="shell", substrate="pc", flex="flexible", face="behind clear")


@fails("layering.shows-through")
def a_candy_first_behind_clear() -> JobBuilder:
    return shell(ONE_PART_PROMOTER, CANDY, SILVER)


@fails("layering.shows-through")
def a_candy_over_primer_outside() -> JobBuilder:
    return stack(EPOXY, CANDY, CLEAR)


@fails("layering.shows-through")
def a_candy_on_the_bare_panel() -> JobBuilder:
    return stack(CANDY, CLEAR)


@passes("layering.shows-through")
def solid_details_first_behind_clear() -> JobBuilder:
    return shell(ONE_PART_PROMOTER, SILVER, CANDY)


@passes("layering.shows-through")
def a_candy_over_a_metallic_outside() -> JobBuilder:
    return stack(EPOXY, METALLIC, CANDY, CLEAR)


@passes("layering.shows-through")
def a_second_candy_over_clear_over_silver() -> JobBuilder:
    return stack(SILVER, CLEAR, CANDY, CLEAR)


@passes("layering.shows-through")
def a_candy_that_is_on_already() -> JobBuilder:
    return shell(CANDY, SILVER).ready("candy").coat()


@fails("layering.no-backing")
def nothing_but_candies_behind_clear() -> JobBuilder:
    return shell(ONE_PART_PROMOTER, CANDY)


@passes("layering.no-backing")
def a_candy_with_a_backing() -> JobBuilder:
    return shell(CANDY, SILVER)


@passes("layering.no-backing")
def nothing_but_the_promoter_planned_yet() -> JobBuilder:
    return shell(ONE_PART_PROMOTER)


@passes("layering.no-backing")
def a_candy_outside() -> JobBuilder:
    return stack(METALLIC, CANDY)


@fails("layering.hidden")
def black_before_silver_behind_clear() -> JobBuilder:
    return shell(ONE_PART_PROMOTER, BLACK, SILVER)


@fails("layering.hidden")
def the_black_is_on_already() -> JobBuilder:
    return shell(BLACK, CANDY).ready("black").coat()


@passes("layering.hidden")
def black_last_behind_clear() -> JobBuilder:
    return shell(CANDY, SILVER, BLACK)


@passes("layering.hidden")
def black_masked_to_its_lines() -> JobBuilder:
    return shell(BLACK, SILVER).prep("mask")


@passes("layering.hidden")
def a_smoke_that_lets_through() -> JobBuilder:
    return shell(replace(BLACK, traits=(Trait.DARK, Trait.TRANSLUCENT)), SILVER)


@passes("layering.hidden")
def black_under_silver_outside() -> JobBuilder:
    return stack(BLACK, SILVER)


@fails("layering.order")
def promoter_over_primer() -> JobBuilder:
    return stack(EPOXY, ONE_PART_PROMOTER, COLOUR)


@fails("layering.order")
def filler_over_colour() -> JobBuilder:
    return stack(COLOUR, FILLER)


@fails("layering.order")
def primer_over_clear() -> JobBuilder:
    return stack(COLOUR, CLEAR, EPOXY)


@passes("layering.order")
def in_the_usual_order() -> JobBuilder:
    return stack(ONE_PART_PROMOTER, EPOXY, FILLER, COLOUR, CLEAR)


@passes("layering.order")
def a_primer_as_backing_behind_clear() -> JobBuilder:
    return shell(ONE_PART_PROMOTER, COLOUR, EPOXY)


@passes("layering.order")
def two_promoters() -> JobBuilder:
    return stack(PROMOTER, ONE_PART_PROMOTER)


@passes("layering.order")
def a_stripe_over_clear() -> JobBuilder:
    return panel().card(CLEAR).layer("clear", CLEAR, activator="slow").layer("stripe", COLOUR)
