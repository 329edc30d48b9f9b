"""Cases for the rules of timing."""

from builders import CLEAR, COLOUR, METALLIC, ONE_PART_PROMOTER, JobBuilder, minutes
from msgspec.structs import replace
from rules.case_book import clear_coated, coloured, fails, panel, passes, promoted

from benchtool.job.cards import CardTime, ForcedDry


@fails("timing.stand")
def stirred_a_moment_ago() -> JobBuilder:
    return panel().mix("promoter").pour("base", 25).pour("activator", 0.5).stir("activated").wait(minutes=4)


@fails("timing.stand")
def activated_and_never_stirred() -> JobBuilder:
    return panel().mix("promoter").pour("base", 25).pour("activator", 0.5).wait(hours=1)


@fails("timing.stand")
def reduced_and_not_stirred_again() -> JobBuilder:
    bench = panel().mix("promoter").pour("base", 25).pour("activator", 0.5).stir("activated").wait(minutes=5)
    return bench.pour("reducer", 25.5).wait(hours=1)


@fails("timing.stand")
def mended_and_not_stirred_again() -> JobBuilder:
    bench = panel().mix("promoter").pour("base", 25).pour("activator", 0.8).stir("activated").wait(minutes=5)
    return bench.pour("base", 15)


@fails("timing.stand")
def reduced_before_the_first_stand_was_over() -> JobBuilder:
    bench = panel().mix("promoter").pour("base", 25).pour("activator", 0.5).stir("activated").wait(minutes=1)
    return bench.pour("reducer", 25.5).stir("reduced").wait(hours=1)


@fails("timing.stand")
def a_fresh_cup_for_coat_2_sprayed_too_soon() -> JobBuilder:
    bench = panel().ready("promoter").coat().empty().mix("promoter").pour("base", 25).pour("activator", 0.5)
    return bench.stir("activated").wait(minutes=1).coat().wait(hours=1)


@fails("timing.stand")
def sprayed_and_never_stirred() -> JobBuilder:
    return panel().mix("promoter").pour("base", 25).pour("activator", 0.5).wait(hours=1).coat().wait(hours=1)


@passes("timing.stand")
def stood_and_sprayed() -> JobBuilder:
    return panel().ready("promoter").coat()


@passes("timing.stand")
def mended_stirred_and_stood_again() -> JobBuilder:
    bench = panel().mix("promoter").pour("base", 25).pour("activator", 0.8).stir("activated").wait(minutes=5)
    return bench.pour("base", 15).stir("activated").wait(minutes=5)


@passes("timing.stand")
def stirred_again_between_two_coats() -> JobBuilder:
    return panel().ready("promoter").coat().wait(minutes=15).stir("reduced")


@passes("timing.stand")
def stirred_again_after_both_coats() -> JobBuilder:
    return promoted().wait(minutes=1).stir("reduced")


@passes("timing.stand")
def reduced_only_for_the_second_coat() -> JobBuilder:
    bench = panel().mix("promoter").pour("base", 25).pour("activator", 0.5).stir("activated").wait(minutes=5).coat()
    return bench.pour("reducer", 25.5).wait(minutes=5).stir("reduced").wait(minutes=10)


@passes("timing.stand")
def a_card_without_stand_time() -> JobBuilder:
    return clear_coated()


@fails("timing.pot-life")
def the_cup_is_dead() -> JobBuilder:
    return clear_coated().wait(hours=3)


@fails("timing.pot-life")
def the_coats_left_take_longer() -> JobBuilder:
    return clear_coated().wait(hours=1, minutes=50).change_layer(coats=3)


@fails("timing.pot-life")
def too_short_before_the_first_coat() -> JobBuilder:
    card = replace(CLEAR, pot_life=minutes(29))
    return JobBuilder().card(card).piece().prep("wash").layer("clear", card, 3, activator="slow").ready()


@fails("timing.pot-life")
def too_short_with_the_stand_that_still_runs() -> JobBuilder:
    card = replace(CLEAR, pot_life=minutes(30), stand=minutes(20))
    bench = JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow").mix()
    return bench.pour("base", 40).pour("activator", 20).stir("activated").wait(minutes=1)


@fails("timing.pot-life")
def sprayed_past_it_and_emptied() -> JobBuilder:
    return clear_coated().wait(hours=2).coat().empty()


@passes("timing.pot-life")
def long_enough_before_the_first_coat() -> JobBuilder:
    card = replace(CLEAR, pot_life=minutes(30))
    return JobBuilder().card(card).piece().prep("wash").layer("clear", card, 3, activator="slow").ready()


@passes("timing.pot-life")
def coats_inside_the_pot_life() -> JobBuilder:
    return clear_coated().wait(minutes=15).coat()


@passes("timing.pot-life")
def a_dead_cup_was_emptied() -> JobBuilder:
    return clear_coated().wait(hours=3).empty()


@fails("timing.flash")
def second_coat_too_soon() -> JobBuilder:
    return clear_coated().wait(minutes=14)


@fails("timing.flash")
def second_coat_went_on_too_soon() -> JobBuilder:
    return clear_coated().wait(minutes=5).coat().wait(hours=1)


@fails("timing.flash")
def second_coat_is_late_for_a_wet_on_wet_card() -> JobBuilder:
    bench = JobBuilder().card(ONE_PART_PROMOTER).piece().layer("promoter", ONE_PART_PROMOTER).ready()
    return bench.coat().wait(minutes=20)


@fails("timing.flash")
def second_coat_went_on_late() -> JobBuilder:
    bench = JobBuilder().card(ONE_PART_PROMOTER).piece().layer("promoter", ONE_PART_PROMOTER).ready()
    return bench.coat().wait(minutes=20).coat().wait(hours=1)


@fails("timing.flash")
def late_by_a_card_that_gives_no_least_flash() -> JobBuilder:
    card = replace(ONE_PART_PROMOTER, flash=None)
    return JobBuilder().card(card).piece().layer("promoter", card).ready().coat().wait(minutes=20)


@passes("timing.flash")
def second_coat_in_time() -> JobBuilder:
    return clear_coated().wait(minutes=15).coat()


@passes("timing.flash")
def a_layer_of_one_coat_has_no_flash() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece().layer("colour", COLOUR, 1).ready().coat()


@passes("timing.flash")
def late_and_scuffed() -> JobBuilder:
    bench = JobBuilder().card(ONE_PART_PROMOTER).piece().layer("promoter", ONE_PART_PROMOTER).ready()
    return bench.coat().wait(hours=20).prep("scuff").coat().wait(hours=20).prep("scuff")


@fails("timing.recoat-early")
def colour_too_soon_over_the_promoter() -> JobBuilder:
    return promoted().wait(minutes=29)


@fails("timing.recoat-early")
def colour_went_on_too_soon() -> JobBuilder:
    return promoted().ready("colour").wait(minutes=5).coat().wait(hours=5)


@fails("timing.recoat-early")
def too_soon_over_what_is_under_a_layer_passed_over() -> JobBuilder:
    bench = promoted().card(CLEAR).layer("clear", CLEAR, activator="slow").ready("clear")
    return bench.wait(minutes=5).coat().wait(hours=1)


@passes("timing.recoat-early")
def colour_in_time() -> JobBuilder:
    return promoted().wait(minutes=30).ready("colour").coat()


@fails("timing.recoat-closed")
def the_clear_is_a_day_late() -> JobBuilder:
    return coloured().wait(hours=24)


@fails("timing.recoat-closed")
def the_clear_went_on_a_day_late() -> JobBuilder:
    return coloured().wait(hours=25).ready("clear").coat()


@fails("timing.recoat-closed")
def scuffed_after_it_was_covered() -> JobBuilder:
    return coloured().wait(hours=25).ready("clear").coat().wait(hours=24).prep("scuff")


@passes("timing.recoat-closed")
def scuffed_then_recoated() -> JobBuilder:
    return coloured().wait(hours=25).prep("scuff", "tack").ready("clear").coat()


@passes("timing.recoat-closed")
def recoated_inside_the_window() -> JobBuilder:
    return coloured().wait(hours=23).ready("clear").coats(2, apart=minutes(15)).wait(hours=48)


@fails("timing.tape")
def taped_the_same_day() -> JobBuilder:
    return promoted().wait(hours=2).mask()


@fails("timing.tape")
def taped_early_on_a_card_that_gives_no_time() -> JobBuilder:
    return coloured().wait(hours=23).mask()


@fails("timing.tape")
def taped_while_the_coat_is_being_sprayed() -> JobBuilder:
    return coloured().start("colour").mask()


@fails("timing.tape")
def taped_while_the_coat_was_wet_and_done_since() -> JobBuilder:
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("colour", COLOUR, 1).ready().start().mask()
    return bench.wait(minutes=3).done()


@fails("timing.tape")
def taped_in_the_time_of_the_colour_and_not_of_the_promoter_under_it() -> JobBuilder:
    quick = replace(COLOUR, id="quick", tape=minutes(10))
    bench = promoted().card(quick).layer("quick", quick).wait(minutes=30).ready("quick").coat("quick")
    return bench.wait(minutes=10).mask()


@fails("timing.tape")
def a_second_tape_in_time_and_the_first_still_there() -> JobBuilder:
    return coloured().wait(hours=23).mask().wait(hours=2).mask()


@passes("timing.tape")
def taped_the_next_day() -> JobBuilder:
    return promoted().wait(hours=24).mask()


@passes("timing.tape")
def taped_when_both_layers_had_their_time() -> JobBuilder:
    quick = replace(COLOUR, id="quick", tape=minutes(10))
    bench = promoted().card(quick).layer("quick", quick).wait(hours=23).ready("quick").coat("quick")
    return bench.wait(hours=1).mask()


@passes("timing.tape")
def sprayed_after_it_was_taped_in_time() -> JobBuilder:
    return promoted().wait(hours=24).mask().ready("colour").coat()


@passes("timing.tape")
def taped_early_and_lifted() -> JobBuilder:
    return promoted().wait(hours=2).mask().unmask().wait(hours=22).mask()


@passes("timing.tape")
def masked_before_any_paint() -> JobBuilder:
    return panel().mask().ready("promoter").coats(2, apart=minutes(15))


UNTIMED = replace(COLOUR, id="untimed", flash=None, recoat_opens=None, recoat_closes=None, dust_free=minutes(20))


def under_clear(card) -> JobBuilder:
    bench = JobBuilder().card(card, CLEAR).piece().prep("wash").layer("colour", card, 1)
    return bench.layer("clear", CLEAR, activator="slow").ready("colour").coat()


@fails("timing.dust-free")
def free_of_dust_and_taken_for_ready() -> JobBuilder:
    return under_clear(UNTIMED).wait(minutes=30)


@fails("timing.dust-free")
def the_clear_went_on_when_it_was_free_of_dust() -> JobBuilder:
    return under_clear(UNTIMED).wait(hours=2).ready("clear").coat()


@passes("timing.dust-free")
def left_overnight() -> JobBuilder:
    return under_clear(UNTIMED).wait(hours=24)


@passes("timing.dust-free")
def a_card_that_gives_its_recoat_time_too() -> JobBuilder:
    return under_clear(replace(UNTIMED, recoat_opens=minutes(30))).wait(minutes=30)


@fails("timing.heat-too-soon")
def heat_five_minutes_after_the_coat() -> JobBuilder:
    return clear_coated().wait(minutes=5).heat(60)


@fails("timing.heat-too-soon")
def heat_too_soon_and_off_again() -> JobBuilder:
    return clear_coated().wait(minutes=5).heat(60).wait(minutes=30).heat_off()


@passes("timing.heat-too-soon")
def heat_when_it_had_flashed() -> JobBuilder:
    return clear_coated().wait(minutes=15).heat(60)


@passes("timing.heat-too-soon")
def a_piece_that_is_only_kept_warm() -> JobBuilder:
    return clear_coated().wait(minutes=5).heat(30)


@passes("timing.heat-too-soon")
def heat_before_the_first_coat() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").heat(60).wait(hours=1).heat_off()
    return bench.layer("clear", CLEAR, activator="slow").ready().coat()


@passes("timing.heat-too-soon")
def a_card_that_asks_for_heat_at_once() -> JobBuilder:
    card = replace(CLEAR, forced={CardTime.FLASH: ForcedDry(degC=60.0, wait=minutes(5))})
    bench = JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow").ready().coat()
    return bench.wait(minutes=1).heat(60)


@fails("timing.recoat-closed")
def the_second_coat_is_due_after_the_first_one_closed() -> JobBuilder:
    return clear_coated().wait(hours=24)


@fails("timing.recoat-closed")
def the_second_coat_went_on_after_the_first_one_closed() -> JobBuilder:
    return clear_coated().wait(hours=25).ready("clear").coat()


@fails("timing.recoat-closed")
def scuffed_before_it_closed_and_late_for_the_second_coat() -> JobBuilder:
    return clear_coated().wait(hours=23).prep("scuff").wait(hours=2)


@passes("timing.recoat-closed")
def the_second_coat_is_due_inside_the_window() -> JobBuilder:
    return clear_coated().wait(hours=23, minutes=59)


@passes("timing.recoat-closed")
def the_second_coat_went_on_a_scuffed_first_one() -> JobBuilder:
    return clear_coated().wait(hours=25).prep("scuff", "tack").ready("clear").coat()


@passes("timing.recoat-closed")
def a_longest_flash_of_the_card_is_what_a_second_coat_goes_by() -> JobBuilder:
    card = replace(CLEAR, flash_most=minutes(60))
    bench = JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow")
    return bench.ready().coat().wait(hours=25)


@passes("timing.recoat-closed")
def one_more_coat_of_a_metallic_that_closed() -> JobBuilder:
    bench = JobBuilder().card(METALLIC).piece().prep("wash").layer("colour", METALLIC, 2)
    return bench.ready().coat().wait(hours=30).coat()
