"""Cases for the rules of promoter, cleaning, layering and the record."""

from builders import CLEAR, COLOUR, PROMOTER, URETHANE, JobBuilder, minutes
from msgspec.structs import replace
from rules.case_book import coloured, fails, panel, passes, promoted

from benchtool.job.cards import Card, Trait
from benchtool.trade.substrates import Suits


@fails("promoter.activator-type")
def rigid_activator_for_a_bumper() -> JobBuilder:
    return panel("rigid", substrate="abs", flex="flexible")


@fails("promoter.activator-type")
def flexible_activator_for_metal() -> JobBuilder:
    return panel("flexible")


@fails("promoter.activator-type")
def the_wrong_one_is_in_the_cup_and_the_plan_was_put_right() -> JobBuilder:
    return panel("flexible").mix("promoter").change_layer("promoter", activator="rigid")


@fails("promoter.activator-type")
def the_first_coat_was_sprayed_with_the_wrong_one() -> JobBuilder:
    bench = panel("flexible").ready("promoter").coat().empty()
    return bench.change_layer("promoter", activator="rigid").wait(minutes=15).ready()


@fails("promoter.activator-type")
def none_of_the_card_is_for_a_part_that_bends() -> JobBuilder:
    hard = replace(PROMOTER, id="hard", activators=(PROMOTER.activators[0],))
    assert hard.activators[0].suits is Suits.RIGID
    return JobBuilder().card(COLOUR, hard).piece("bumper", "tpo", flex="flexible").layer("colour", COLOUR).layer(
        "late", hard
    )  # fmt: skip


@passes("promoter.activator-type")
def one_of_the_card_suits_and_is_not_chosen_yet() -> JobBuilder:
    return JobBuilder().card(COLOUR, PROMOTER).piece("bumper", "tpo", flex="flexible").layer("promoter", PROMOTER)


@passes("promoter.activator-type")
def each_activator_where_it_belongs() -> JobBuilder:
    bench = panel("rigid").piece("bumper", "tpo", flex="flexible").prep("mould-release wash")
    return bench.layer("bumper-promoter", PROMOTER, activator="flexible").ready()


@passes("promoter.activator-type")
def an_activator_for_anything() -> JobBuilder:
    return JobBuilder().card(CLEAR).piece(flex="flexible").layer("clear", CLEAR, activator="slow")


@fails("promoter.paint-refused")
def colour_straight_on_polypropylene() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece(substrate="pp").layer("colour", COLOUR)


@fails("promoter.paint-refused")
def the_promoter_was_passed_over() -> JobBuilder:
    return panel(substrate="pp").ready("colour").coat()


@passes("promoter.paint-refused")
def promoter_first_on_polypropylene() -> JobBuilder:
    return panel(substrate="pp")


@passes("promoter.paint-refused")
def no_promoter_is_named_for_ptfe() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece(substrate="ptfe").layer("colour", COLOUR)


@passes("promoter.paint-refused")
def colour_straight_on_abs() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece(substrate="abs").layer("colour", COLOUR)


@fails("promoter.unknown-untried")
def nobody_knows_the_plastic() -> JobBuilder:
    return panel(substrate="unknown", known="unknown")


@fails("promoter.unknown-untried")
def a_guess_that_nobody_stands_by() -> JobBuilder:
    return panel(substrate="abs", known="unknown")


@fails("promoter.unknown-untried")
def the_strip_did_not_hold() -> JobBuilder:
    return panel(substrate="unknown", known="unknown").trial(held=False)


@fails("promoter.unknown-untried")
def a_material_that_the_table_does_not_have() -> JobBuilder:
    return panel(substrate="moon-rock")


@fails("promoter.unknown-untried")
def a_strip_held_and_the_next_one_did_not() -> JobBuilder:
    return panel(substrate="unknown", known="unknown").trial(held=True).wait(hours=1).trial(held=False)


@passes("promoter.unknown-untried")
def the_strip_held() -> JobBuilder:
    return panel(substrate="unknown", known="unknown").trial(held=False).trial(held=True)


@passes("promoter.unknown-untried")
def the_mark_was_read() -> JobBuilder:
    return panel(substrate="abs", known="marked")


@fails("layering.too-few-coats")
def one_coat_of_promoter_planned() -> JobBuilder:
    return panel().change_layer("promoter", coats=1)


@fails("layering.too-few-coats")
def covered_after_one_coat() -> JobBuilder:
    return panel().ready("promoter").coat().wait(hours=1).ready("colour").coat()


@fails("layering.too-few-coats")
def passed_over_altogether() -> JobBuilder:
    return panel().ready("colour").coat()


@passes("layering.too-few-coats")
def as_many_as_the_card_asks_for() -> JobBuilder:
    return promoted().wait(minutes=30).ready("colour").coat()


@passes("layering.too-few-coats")
def one_planned_and_two_on() -> JobBuilder:
    return promoted().change_layer("promoter", coats=1)


@fails("layering.too-many-coats")
def five_coats_of_colour_planned() -> JobBuilder:
    return panel().change_layer("colour", coats=5)


@fails("layering.too-many-coats")
def a_third_coat_of_promoter_is_on() -> JobBuilder:
    return promoted().wait(minutes=15).coat()


@passes("layering.too-many-coats")
def as_many_as_the_card_allows() -> JobBuilder:
    return panel().change_layer("colour", coats=4)


@fails("layering.out-of-turn")
def colour_over_one_coat_of_promoter() -> JobBuilder:
    return panel().ready("promoter").coat().wait(hours=1).ready("colour").coat()


@fails("layering.out-of-turn")
def colour_and_no_promoter() -> JobBuilder:
    return panel().ready("colour").start()


@fails("layering.out-of-turn")
def colour_while_the_promoter_is_being_sprayed() -> JobBuilder:
    return promoted().wait(minutes=15).start("promoter").wait(hours=1).ready("colour").start("colour")


@fails("layering.out-of-turn")
def colour_left_out_and_clear_put_on() -> JobBuilder:
    bench = promoted().card(CLEAR).layer("clear", CLEAR, activator="slow").wait(hours=1).ready("clear")
    return bench.coat("clear")


@fails("layering.out-of-turn")
def back_to_the_promoter_under_a_finished_colour() -> JobBuilder:
    bench = promoted().wait(minutes=30).ready("colour").coats(2, apart=minutes(10))
    return bench.wait(minutes=30).coat("promoter")


@fails("layering.out-of-turn")
def back_to_the_promoter_under_a_colour_just_begun() -> JobBuilder:
    return promoted().wait(minutes=30).ready("colour").coat().wait(minutes=10).coat("promoter")


@fails("layering.out-of-turn")
def put_right_too_late_by_a_change_of_the_plan() -> JobBuilder:
    return panel().ready("promoter").coat().wait(hours=1).ready("colour").coat().change_layer("promoter", coats=1)


@passes("layering.out-of-turn")
def layer_after_layer() -> JobBuilder:
    return promoted().wait(minutes=30).ready("colour").coats(2, apart=minutes(10))


@passes("layering.out-of-turn")
def left_at_the_least_of_the_card_though_more_were_planned() -> JobBuilder:
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("wash").layer("colour", COLOUR, 3)
    bench.layer("clear", CLEAR, activator="slow").ready("colour").coat().wait(minutes=20)
    return bench.ready("clear").coats(2, apart=minutes(15))


@passes("layering.out-of-turn")
def left_at_what_was_planned_though_the_card_asks_for_more() -> JobBuilder:
    bench = panel().change_layer("promoter", coats=1).ready("promoter").coat().wait(minutes=30)
    return bench.ready("colour").coat().change_layer("promoter", coats=2)


@passes("layering.out-of-turn")
def one_coat_more_on_the_top_layer() -> JobBuilder:
    bench = promoted().wait(minutes=30).ready("colour").coats(2, apart=minutes(10))
    return bench.wait(minutes=10).coat("colour")


@passes("layering.out-of-turn")
def one_coat_more_before_the_next_layer() -> JobBuilder:
    return promoted().wait(minutes=15).coat("promoter").wait(minutes=30).ready("colour").coat()


@passes("layering.out-of-turn")
def a_layer_planned_under_it_when_it_was_on() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER, COLOUR).piece().prep("wash").layer("colour", COLOUR).ready().coat()
    return bench.insert_layer("promoter", PROMOTER, "colour", activator="rigid")


@passes("layering.out-of-turn")
def two_pieces_side_by_side() -> JobBuilder:
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("colour", COLOUR)
    bench.piece("lid").prep("wash").layer("lid-colour", COLOUR)
    return bench.start("colour", mix=None).start("lid-colour", mix=None)


@passes("layering.out-of-turn")
def begun_out_of_turn_and_taken_back() -> JobBuilder:
    return panel().ready("promoter").coat().ready("colour").start("colour").undo()


@fails("cleaning.not-cleaned")
def nothing_logged() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece().layer("colour", COLOUR)


@fails("cleaning.not-cleaned")
def washed_after_the_first_coat() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece().layer("colour", COLOUR).ready().coat().prep("wash")


@passes("cleaning.not-cleaned")
def washed_before_the_first_coat() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece().prep("wash").layer("colour", COLOUR).ready().coat()


@passes("cleaning.not-cleaned")
def nothing_is_planned_yet() -> JobBuilder:
    return JobBuilder().piece()


@fails("cleaning.mould-release")
def a_moulding_only_degreased() -> JobBuilder:
    return panel(substrate="abs")


@passes("cleaning.mould-release")
def a_moulding_washed_of_its_release() -> JobBuilder:
    return panel(substrate="abs").prep("mould-release wash")


@passes("cleaning.mould-release")
def metal_has_no_release() -> JobBuilder:
    return panel(substrate="steel")


@fails("cleaning.viewed-side-scratched")
def a_clear_shell_scuffed() -> JobBuilder:
    return panel(face="behind clear", substrate="pc").prep("scuff")


@fails("cleaning.viewed-side-scratched")
def a_clear_shell_scuffed_and_painted() -> JobBuilder:
    return panel(face="behind clear", substrate="pc").prep("abrade").ready("promoter").coat()


@passes("cleaning.viewed-side-scratched")
def the_back_of_its_paint_scuffed() -> JobBuilder:
    return coloured("behind clear").wait(hours=25).prep("scuff")


@passes("cleaning.viewed-side-scratched")
def an_outside_face_abraded() -> JobBuilder:
    return panel().prep("abrade")


@fails("record.clock-behind")
def the_clock_was_set_back() -> JobBuilder:
    return promoted().wait(hours=-1)


@passes("record.clock-behind")
def a_minute_of_drift() -> JobBuilder:
    return promoted().wait(minutes=-1)


# --- makers, additives and promoters ---------------------------------------------------------------------

OTHERS = replace(CLEAR, maker="A maker", activators=(replace(CLEAR.activators[0], maker="Another maker"),))
THICK = replace(COLOUR, traits=(Trait.HIGH_SOLIDS,))


def flexible_clear(*additives: str, flex: str = "flexible", card: Card = URETHANE) -> JobBuilder:
    """A clear that may take a flex additive, on a part that bends."""
    bench = JobBuilder().card(card).piece(substrate="tpu", flex=flex).prep("mould-release wash", "scuff", "degrease")
    return bench.layer("clear", card, activator="hard", additives=additives)


@fails("promoter.other-maker")
def the_hardener_of_another_maker() -> JobBuilder:
    return JobBuilder().card(OTHERS).piece().prep("wash").layer("clear", OTHERS, activator="slow")


@fails("promoter.other-maker")
def sprayed_with_the_hardener_of_another_maker() -> JobBuilder:
    bench = JobBuilder().card(OTHERS).piece().prep("wash").layer("clear", OTHERS, activator="slow").ready()
    return bench.coat().wait(minutes=15).coat()


@passes("promoter.other-maker")
def the_hardener_of_the_same_maker() -> JobBuilder:
    card = replace(OTHERS, activators=(replace(CLEAR.activators[0], maker="a MAKER"),))
    return JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow")


@passes("promoter.other-maker")
def a_hardener_that_names_no_maker() -> JobBuilder:
    card = replace(OTHERS, activators=CLEAR.activators)
    return JobBuilder().card(card).piece().prep("wash").layer("clear", card, activator="slow")


@fails("promoter.flex-additive-missing")
def no_flex_additive_on_a_part_that_bends() -> JobBuilder:
    return flexible_clear()


@fails("promoter.flex-additive-missing")
def sprayed_without_the_flex_additive() -> JobBuilder:
    return flexible_clear().coat(mix=None).wait(minutes=15).coat(mix=None)


@passes("promoter.flex-additive-missing")
def the_flex_additive_planned() -> JobBuilder:
    return flexible_clear("flex")


@passes("promoter.flex-additive-missing")
def a_film_that_is_flexible_by_itself() -> JobBuilder:
    return flexible_clear(card=replace(URETHANE, traits=(Trait.FLEXIBLE,)))


@passes("promoter.flex-additive-missing")
def no_flex_additive_on_a_rigid_part() -> JobBuilder:
    return flexible_clear(flex="rigid")


@fails("promoter.flex-additive-on-rigid")
def a_flex_additive_on_a_rigid_part() -> JobBuilder:
    return flexible_clear("flex", flex="rigid")


@passes("promoter.flex-additive-on-rigid")
def a_flex_additive_where_it_belongs() -> JobBuilder:
    return flexible_clear("flex")


@fails("promoter.high-solids")
def a_thick_colour_on_bare_polypropylene() -> JobBuilder:
    return JobBuilder().card(THICK).piece(substrate="pp").layer("colour", THICK)


@passes("promoter.high-solids")
def a_thick_colour_over_a_promoter() -> JobBuilder:
    return panel(substrate="pp").card(THICK).layer("thick", THICK)


@passes("promoter.high-solids")
def a_thick_colour_on_abs() -> JobBuilder:
    return JobBuilder().card(THICK).piece(substrate="abs").layer("colour", THICK)


@fails("promoter.untested")
def a_promoter_on_polyethylene() -> JobBuilder:
    return panel(substrate="pe-hd")


@passes("promoter.untested")
def a_promoter_on_polyethylene_that_held() -> JobBuilder:
    return panel(substrate="pe-hd").trial()


@passes("promoter.untested")
def a_promoter_on_polypropylene_and_on_polyester() -> JobBuilder:
    bench = panel(substrate="pp").piece("sheet", "pet").prep("mould-release wash")
    return bench.layer("sheet-promoter", PROMOTER, activator="rigid")


@fails("promoter.unknown-untried")
def a_strip_that_held_with_another_product() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER, COLOUR).piece(substrate="unknown", known="unknown").prep("wash", "degrease")
    bench.layer("promoter", PROMOTER, activator="rigid").trial()
    return bench.layer("under", COLOUR, before="promoter")


@fails("promoter.strip-came-off")
def a_strip_on_abs_came_off() -> JobBuilder:
    return panel(substrate="abs").trial(held=False)


@passes("promoter.strip-came-off")
def a_second_strip_on_abs_held() -> JobBuilder:
    return panel(substrate="abs").trial(held=False).trial()


@passes("promoter.strip-came-off")
def another_product_goes_on_first_now() -> JobBuilder:
    return panel(substrate="abs").trial(held=False).layer("under", COLOUR, before="promoter")
