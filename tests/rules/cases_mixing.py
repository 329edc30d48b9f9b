"""Cases for the rules of mixing."""

from builders import CLEAR, FILLER, ONE_PART_PROMOTER, PROMOTER, URETHANE, JobBuilder
from msgspec.structs import replace
from rules.case_book import fails, panel, passes, promoted

from benchtool.job.cards import Gun, Trait


@fails("mixing.no-activator")
def none_is_chosen() -> JobBuilder:
    return panel(None)


@fails("mixing.no-activator")
def only_base_in_the_cup() -> JobBuilder:
    return panel().mix("promoter").pour("base", 25)


@fails("mixing.no-activator")
def reduced_and_stirred_without_it() -> JobBuilder:
    return panel().mix("promoter").pour("base", 25).pour("reducer", 25).stir("reduced")


@fails("mixing.no-activator")
def the_cup_was_begun_before_one_was_chosen() -> JobBuilder:
    return panel(None).mix("promoter").change_layer("promoter", activator="rigid")


@fails("mixing.no-activator")
def sprayed_without_it_and_poured_too_late() -> JobBuilder:
    bench = panel().mix("promoter").pour("base", 25).stir("base").coat().wait(minutes=1)
    return bench.pour("activator", 0.5).stir("activated").wait(hours=1)


@fails("mixing.no-activator")
def sprayed_from_a_cup_with_nothing_logged() -> JobBuilder:
    return panel().mix("promoter").coat()


@fails("mixing.no-activator")
def a_coat_begun_from_an_empty_cup() -> JobBuilder:
    return panel().mix("promoter").start()


@passes("mixing.no-activator")
def the_cup_is_only_begun() -> JobBuilder:
    return panel().mix("promoter")


@passes("mixing.no-activator")
def the_activator_is_in() -> JobBuilder:
    return panel().mix("promoter").pour("base", 25).pour("activator", 0.5)


@passes("mixing.no-activator")
def stirred_and_no_pour_on_record() -> JobBuilder:
    bench = panel().mix("promoter").stir("activated").wait(minutes=5).stir("reduced").wait(minutes=10)
    return bench.coat()


@passes("mixing.no-activator")
def one_part_products_have_none() -> JobBuilder:
    return JobBuilder().card(ONE_PART_PROMOTER).piece().layer("promoter", ONE_PART_PROMOTER).ready().coat()


@fails("mixing.off-ratio")
def a_millilitre_of_activator_in_an_ounce() -> JobBuilder:
    return panel().mix("promoter").pour("base", 29.5735).pour("activator", 1)


@fails("mixing.off-ratio")
def half_of_the_activator() -> JobBuilder:
    return panel().mix("promoter").pour("base", 50).pour("activator", 0.5)


@fails("mixing.off-ratio")
def it_went_on_so_and_the_cup_is_empty() -> JobBuilder:
    bench = panel().mix("promoter").pour("base", 50).pour("activator", 2).stir("activated").wait(minutes=5)
    return bench.coat().empty()


@passes("mixing.off-ratio")
def mended_with_more_base() -> JobBuilder:
    return panel().mix("promoter").pour("base", 29.5735).pour("activator", 1).pour("base", 20.4265)


@passes("mixing.off-ratio")
def activator_a_tenth_over() -> JobBuilder:
    return panel().mix("promoter").pour("base", 50).pour("activator", 1.1)


@fails("mixing.reduction")
def too_thin_for_an_airbrush() -> JobBuilder:
    return panel().mix("promoter").pour("base", 25).pour("activator", 0.5).pour("reducer", 40)


@fails("mixing.reduction")
def too_thick_for_an_airbrush() -> JobBuilder:
    return panel().mix("promoter").pour("base", 25).pour("activator", 0.5).pour("reducer", 15).stir("reduced")


@fails("mixing.reduction")
def mixed_for_the_airbrush_and_the_full_gun_taken() -> JobBuilder:
    return panel().ready("promoter").change_layer(gun=Gun.FULL)


@fails("mixing.reduction")
def sprayed_unreduced() -> JobBuilder:
    bench = panel().mix("promoter").pour("base", 25).pour("activator", 0.5).stir("activated").wait(minutes=5)
    return bench.coat()


@passes("mixing.reduction")
def inside_the_range_of_the_card() -> JobBuilder:
    return panel().mix("promoter").pour("base", 25).pour("activator", 0.5).pour("reducer", 23.2).stir("reduced")


@passes("mixing.reduction")
def still_pouring_the_reducer() -> JobBuilder:
    bench = panel().mix("promoter").pour("base", 25).pour("activator", 0.5).stir("activated").wait(minutes=5)
    return bench.pour("reducer", 12)


@passes("mixing.reduction")
def no_reduction_on_the_card_and_none_in_the_cup() -> JobBuilder:
    return JobBuilder().card(PROMOTER).piece().layer("p", PROMOTER, activator="rigid", gun=Gun.FULL).ready().coat()


@fails("mixing.hard-to-measure")
def a_thimble_of_promoter() -> JobBuilder:
    return panel().mix("promoter", make_mL=10)


@passes("mixing.hard-to-measure")
def a_cup_of_promoter() -> JobBuilder:
    return panel().mix("promoter", make_mL=60)


@passes("mixing.hard-to-measure")
def a_thimble_already_poured() -> JobBuilder:
    return panel().mix("promoter", make_mL=10).pour("base", 4.9)


def dropped(mL: float = 0.5) -> JobBuilder:
    """A cup whose activator was counted in drops of a dropper that nobody has measured."""
    return panel().mix("promoter").pour("base", 25).pour("activator", mL, typed="10 drops", guess=True)


@fails("mixing.guessed")
def activator_in_drops_that_nobody_counted() -> JobBuilder:
    return dropped()


@fails("mixing.guessed")
def a_guess_and_then_a_measured_pour_of_the_same_part() -> JobBuilder:
    return dropped(0.25).pour("activator", 0.25)


@fails("mixing.guessed")
def sprayed_from_it_and_one_coat_to_go() -> JobBuilder:
    return dropped().stir("activated").wait(minutes=5).coat()


@passes("mixing.guessed")
def activator_from_a_syringe() -> JobBuilder:
    return panel().mix("promoter").pour("base", 25).pour("activator", 0.5, typed="0.5 mL")


@passes("mixing.guessed")
def a_guess_taken_back() -> JobBuilder:
    return dropped().undo()


@passes("mixing.guessed")
def a_guess_of_nothing() -> JobBuilder:
    return dropped(0)


@passes("mixing.guessed")
def a_guess_emptied_out_and_mixed_anew() -> JobBuilder:
    return dropped().empty().mix("promoter").pour("base", 25).pour("activator", 0.5)


@fails("mixing.not-logged")
def sprayed_from_a_cup_that_nobody_logged() -> JobBuilder:
    return panel().start("promoter", mix=None)


@passes("mixing.not-logged")
def sprayed_from_a_cup_on_record() -> JobBuilder:
    return panel().ready("promoter").coat()


@passes("mixing.not-logged")
def a_one_part_product_straight_from_the_can() -> JobBuilder:
    return promoted().wait(minutes=30).start("colour", mix=None)


@fails("mixing.not-stirred")
def sprayed_from_a_cup_poured_and_never_stirred() -> JobBuilder:
    return promoted().wait(minutes=30).mix("colour").pour("base", 30).start("colour")


@passes("mixing.not-stirred")
def sprayed_from_a_cup_poured_and_stirred() -> JobBuilder:
    return promoted().wait(minutes=30).mix("colour").pour("base", 30).stir("base").start("colour")


FLEXED = replace(URETHANE, coats_least=1)
ACID = replace(CLEAR, id="acid", traits=(Trait.ACID_CATALYSED,))


def cup_of(card, activator: str, *, metal: bool = True) -> JobBuilder:
    bench = JobBuilder().card(card).piece(substrate="steel").prep("wash").layer("layer", card, activator=activator)
    return bench.mix(metal=metal)


@fails("mixing.metal-cup")
def peroxide_in_a_metal_cup() -> JobBuilder:
    return cup_of(FILLER, "peroxide")


@fails("mixing.metal-cup")
def an_acid_catalyst_in_a_metal_cup() -> JobBuilder:
    return cup_of(ACID, "slow").pour("base", 40)


@passes("mixing.metal-cup")
def peroxide_in_a_plastic_cup() -> JobBuilder:
    return cup_of(FILLER, "peroxide", metal=False)


@passes("mixing.metal-cup")
def a_urethane_in_a_metal_cup() -> JobBuilder:
    return cup_of(CLEAR, "slow")


def half_used() -> JobBuilder:
    bench = cup_of(CLEAR, "slow", metal=False).pour("base", 40).pour("activator", 20).stir("activated")
    return bench.coat().wait(minutes=59)


@fails("mixing.topped-up")
def topped_up_past_half_its_pot_life() -> JobBuilder:
    return half_used().wait(minutes=1).pour("base", 20).pour("activator", 10).stir("activated")


@passes("mixing.topped-up")
def topped_up_before_half_its_pot_life() -> JobBuilder:
    return half_used().pour("base", 20).pour("activator", 10).stir("activated")


@passes("mixing.topped-up")
def a_fresh_cup_instead() -> JobBuilder:
    return half_used().wait(minutes=30).empty().mix().pour("base", 20).pour("activator", 10).stir("activated")


def flexible(*additives: str) -> JobBuilder:
    bench = JobBuilder().card(FLEXED).piece("bumper", "tpo", flex="flexible").prep("wash")
    return bench.layer("clear", FLEXED, activator="hard", additives=additives)


@fails("mixing.additive")
def planned_after_the_cup_was_begun() -> JobBuilder:
    return flexible().mix().change_layer(additives=("flex",))


@fails("mixing.additive")
def stirred_without_it() -> JobBuilder:
    return flexible("flex").mix().pour("base", 40).pour("activator", 20).stir("activated")


@passes("mixing.additive")
def poured_with_it() -> JobBuilder:
    return flexible("flex").mix().pour("base", 40).pour("additive", 4).pour("activator", 20).stir("activated")


@passes("mixing.additive")
def still_to_be_poured() -> JobBuilder:
    return flexible("flex").mix().pour("base", 40)


@passes("mixing.additive")
def none_planned() -> JobBuilder:
    return flexible().mix().pour("base", 40).pour("activator", 20).stir("activated")
