"""Cases for the rules of cards that may not hold."""

from builders import CLEAR, COLOUR, JobBuilder
from msgspec.structs import replace
from rules.case_book import clear_coated, coloured, fails, passes

from benchtool.job.cards import Carrier, Chemistry, Origin, OriginKind

GUESS = Origin(kind=OriginKind.GUESS, words="like the last one")
SHEET = Origin(kind=OriginKind.SHEET, words="the sheet", page="2")


def coated(card) -> JobBuilder:
    """One coat of a clear on, another to come."""
    return JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow").ready().coat()


def colour_under_clear(card) -> JobBuilder:
    bench = JobBuilder().card(card, CLEAR).piece().prep("wash").layer("colour", card, 1)
    return bench.layer("clear", CLEAR, activator="slow").ready("colour").coat()


@fails("card.guess-relied-on")
def the_flash_is_a_guess() -> JobBuilder:
    return coated(replace(CLEAR, origins={"*": SHEET, "flash": GUESS}))


@fails("card.guess-relied-on")
def the_whole_card_is_a_guess() -> JobBuilder:
    return coated(replace(CLEAR, origins={"*": GUESS}))


@fails("card.guess-relied-on")
def the_recoat_time_under_it_is_a_guess() -> JobBuilder:
    return colour_under_clear(replace(COLOUR, origins={"*": SHEET, "recoat_opens": GUESS}))


@fails("card.guess-relied-on")
def the_share_of_the_activator_is_a_guess() -> JobBuilder:
    card = replace(CLEAR, origins={"*": SHEET, "activators[0].share": GUESS})
    return JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow").mix()


@passes("card.guess-relied-on")
def a_guess_that_nothing_hangs_on_yet() -> JobBuilder:
    return coated(replace(CLEAR, origins={"*": SHEET, "cure": GUESS, "recoat_closes": GUESS}))


@passes("card.guess-relied-on")
def a_guess_put_right_by_the_sheet() -> JobBuilder:
    named = ("flash", "pot_life", "activators", "stand", "reductions")
    return coated(replace(CLEAR, origins={"*": GUESS, **dict.fromkeys(named, SHEET)}))


@passes("card.guess-relied-on")
def the_word_guess_in_old_origins() -> JobBuilder:
    return coated(replace(CLEAR, origins={"*": "a guess"}))


@fails("card.no-recoat-time")
def nothing_says_when_the_clear_may_go_on() -> JobBuilder:
    return colour_under_clear(replace(COLOUR, flash=None, recoat_opens=None, recoat_closes=None))


@passes("card.no-recoat-time")
def at_least_a_flash_is_given() -> JobBuilder:
    return colour_under_clear(replace(COLOUR, recoat_opens=None, recoat_closes=None))


@passes("card.no-recoat-time")
def a_recoat_time_is_given() -> JobBuilder:
    return coloured()


@passes("card.no-recoat-time")
def nothing_is_planned_over_it() -> JobBuilder:
    return clear_coated()


@fails("card.checks-disagree")
def a_waterborne_acrylic_in_solvent() -> JobBuilder:
    card = replace(COLOUR, chemistry=Chemistry.ACRYLIC, carrier=Carrier.SOLVENT)
    return JobBuilder().card(card).piece().prep("wash").layer("colour", card)


@passes("card.checks-disagree")
def a_card_that_agrees() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece().prep("wash").layer("colour", COLOUR)


@passes("card.checks-disagree")
def it_disagrees_and_all_of_it_is_on() -> JobBuilder:
    card = replace(COLOUR, chemistry=Chemistry.ACRYLIC, carrier=Carrier.SOLVENT)
    return JobBuilder().card(card).piece().prep("wash").layer("colour", card, 1).ready().coat()
