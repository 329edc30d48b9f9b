"""Cases for the rules of safety: each at its step, and quiet at all others."""

from dataclasses import replace as changed

from builders import CLEAR, COLOUR, ENAMEL, EPOXY, LACQUER, URETHANE, UV_CLEAR, WATERBORNE, JobBuilder, minutes
from msgspec.structs import replace
from rules.case_book import fails, passes

from benchtool.job.cards import Hazard
from benchtool.job.events import Shape
from benchtool.rules.finding import Tables
from benchtool.session.tables import load_tables
from benchtool.trade.substrates import Nature

SILENT = replace(URETHANE, id="silent", hazards=())
CHROMATE = replace(EPOXY, id="chromate", hazards=(Hazard.CHROMATE, Hazard.EPOXY))
LAMPLESS = replace(UV_CLEAR, hazards=())
RAGLESS = replace(ENAMEL, hazards=(Hazard.SOLVENT,))


def old_paint() -> Tables:
    """The tables with an old paint that may hold lead."""
    tables = load_tables()
    row = changed(tables.substrates["paint-enamel"], natures=frozenset({Nature.MAY_HOLD_LEAD}))
    return changed(tables, substrates={**tables.substrates, "paint-enamel": row})


def planned(card, coats: int | None = None, **told) -> JobBuilder:
    return JobBuilder().card(card).piece().prep("wash").layer("first", card, coats, **told)


def sprayed(card, coats: int = 1, **told) -> JobBuilder:
    return planned(card, coats, **told).ready().coats(coats, apart=minutes(20))


@fails("safety.isocyanates-not-named")
def a_urethane_whose_card_names_none() -> JobBuilder:
    return planned(SILENT, activator="hard")


@passes("safety.isocyanates-not-named")
def a_urethane_that_names_them() -> JobBuilder:
    return planned(URETHANE, activator="hard")


@passes("safety.isocyanates-not-named")
def a_two_part_epoxy() -> JobBuilder:
    return planned(EPOXY, activator="epoxy-b")


@passes("safety.isocyanates-not-named")
def a_card_that_says_nothing_of_its_chemistry() -> JobBuilder:
    return planned(replace(CLEAR, hazards=()), activator="slow")


@passes("safety.isocyanates-not-named")
def all_of_it_is_on() -> JobBuilder:
    return sprayed(SILENT, 2, activator="hard").empty()


@fails("safety.old-paint-dust")
def old_paint_before_it_is_sanded() -> JobBuilder:
    return JobBuilder(tables=old_paint()).piece("tank", "paint-enamel").prep("wash")


@passes("safety.old-paint-dust")
def old_paint_that_was_sanded() -> JobBuilder:
    return JobBuilder(tables=old_paint()).piece("tank", "paint-enamel").prep("wash", "abrade")


@passes("safety.old-paint-dust")
def bare_metal() -> JobBuilder:
    return JobBuilder(tables=old_paint()).piece("tank", "aluminium").prep("wash")


@fails("safety.chromate-dust")
def a_chromate_primer_lies_bare() -> JobBuilder:
    bench = planned(CHROMATE, 1, activator="epoxy-b").card(COLOUR).layer("colour", COLOUR)
    return bench.ready("first").coat()


@passes("safety.chromate-dust")
def it_is_covered() -> JobBuilder:
    bench = planned(CHROMATE, 1, activator="epoxy-b").card(COLOUR).layer("colour", COLOUR)
    return bench.ready("first").coat().wait(hours=2).ready("colour").coat()


@passes("safety.chromate-dust")
def a_primer_without_chromate() -> JobBuilder:
    return sprayed(EPOXY, activator="epoxy-b")


@fails("safety.uv-lamp")
def a_lamp_coat_just_put_on() -> JobBuilder:
    return sprayed(LAMPLESS)


@passes("safety.uv-lamp")
def a_card_that_names_the_lamp() -> JobBuilder:
    return sprayed(UV_CLEAR)


@passes("safety.uv-lamp")
def a_lamp_coat_of_this_morning() -> JobBuilder:
    return sprayed(LAMPLESS).wait(hours=3)


@passes("safety.uv-lamp")
def a_lacquer_just_put_on() -> JobBuilder:
    return sprayed(LACQUER)


@fails("safety.oily-rags")
def enamel_of_this_morning() -> JobBuilder:
    return sprayed(RAGLESS).wait(hours=4)


@passes("safety.oily-rags")
def enamel_of_yesterday() -> JobBuilder:
    return sprayed(RAGLESS).wait(hours=24)


@passes("safety.oily-rags")
def a_card_that_names_the_rags() -> JobBuilder:
    return sprayed(ENAMEL).wait(hours=4)


@fails("safety.heat-and-vapour")
def the_heater_on_a_wet_lacquer() -> JobBuilder:
    """For a flash of two hours, so that an hour later it is still true."""
    card = replace(LACQUER, flash=minutes(120))
    return sprayed(card).heat(60)


@fails("safety.heat-and-vapour")
def sprayed_under_the_heater() -> JobBuilder:
    return planned(LACQUER, 1).ready().heat(60).start()


@passes("safety.heat-and-vapour")
def the_heater_on_what_has_flashed() -> JobBuilder:
    return sprayed(LACQUER).wait(minutes=10).heat(60)


@passes("safety.heat-and-vapour")
def the_heater_on_a_waterborne() -> JobBuilder:
    return sprayed(WATERBORNE).heat(60)


@passes("safety.heat-and-vapour")
def the_heater_is_off_again() -> JobBuilder:
    return sprayed(LACQUER).heat(60).wait(minutes=1).heat_off()


@fails("safety.compressed-air")
def nooks_just_degreased() -> JobBuilder:
    return JobBuilder().piece("grille", shape=(Shape.NOOKS,)).prep("wash", "degrease")


@passes("safety.compressed-air")
def nooks_that_are_tacked_off() -> JobBuilder:
    return JobBuilder().piece("grille", shape=(Shape.NOOKS,)).prep("wash", "degrease", "tack")


@passes("safety.compressed-air")
def a_plain_panel_just_degreased() -> JobBuilder:
    return JobBuilder().piece().prep("wash", "degrease")
