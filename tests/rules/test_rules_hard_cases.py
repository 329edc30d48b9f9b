"""Cases that a rule could easily get wrong, each told as it happens in a shop."""

from builders import ADHESIVE_CLEAR, CLEAR, COLOUR, ONE_PART_PROMOTER, PRACTICE, PROMOTER, JobBuilder, hours, minutes
from msgspec.structs import replace

from benchtool.job.cards import Activator, Card, Duty, Gun, Reduction, Trait
from benchtool.rules.finding import Severity
from benchtool.trade.substrates import Suits


def promoter(**piece: str) -> JobBuilder:
    """A clean piece with a two-part promoter planned and a cup of it begun."""
    bench = JobBuilder().card(PROMOTER, COLOUR).piece(**piece).prep("mould-release wash")
    return bench.layer("promoter", PROMOTER, activator="rigid").layer("colour", COLOUR).mix("promoter")


def test_at_each_moment_of_pouring_the_cup_says_one_thing_and_the_right_one() -> None:
    bench = promoter()
    assert bench.rules() - {"mixing.hard-to-measure"} == set()
    bench.pour("base", 25)
    assert bench.rules() == {"mixing.no-activator"}
    assert bench.one("mixing.no-activator").remedy == "Pour it in and stir before you spray."
    bench.pour("activator", 0.5)
    assert bench.rules() == {"timing.stand"}
    assert "no stirring" in bench.one("timing.stand").message
    bench.stir("activated")
    assert "5:00 more before you reduce it" in bench.one("timing.stand").message
    bench.wait(minutes=5)
    assert bench.rules() == set()
    bench.pour("reducer", 25.5)
    assert "10 min after stirring" in bench.one("timing.stand").message
    bench.stir("reduced")
    assert "10:00 more before you spray" in bench.one("timing.stand").message
    assert bench.wait(minutes=10).rules() == set()


def test_the_ounce_with_a_millilitre_in_it_is_told_in_numbers() -> None:
    """3.38 %, 69 % over, 20.4 mL more base: common practice, no source; the arithmetic is in the tests of mixing."""
    finding = promoter().pour("base", 29.5735295625).pour("activator", 1).one("mixing.off-ratio")
    assert finding.message == "Rigid activator is 69 % over: 3.38 % of the base, and the card says 2 % of the base."
    assert finding.remedy.startswith("Add 20.4 mL ")
    assert "that makes 51 mL." in finding.remedy


def test_no_activator_at_all_is_not_also_a_wrong_ratio() -> None:
    bench = promoter().pour("base", 25).pour("activator", 0).pour("reducer", 25)
    assert bench.rules() == {"mixing.no-activator"}


def test_a_reducer_off_the_usual_share_and_inside_the_range_is_no_matter() -> None:
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("colour", COLOUR).mix()
    assert bench.pour("base", 20).pour("reducer", 12).stir("reduced").rules() == set()  # usual 20, least 10 mL
    assert bench.pour("reducer", 31).stir("reduced").rules() == {"mixing.reduction"}  # most 40 mL


def test_a_gun_with_no_reduction_on_the_card() -> None:
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("colour", COLOUR, gun=Gun.FULL).mix()
    assert bench.pour("base", 20).stir("base").rules() == set()
    reduced = JobBuilder().card(COLOUR).piece().prep("wash").layer("colour", COLOUR).ready()
    finding = reduced.change_layer(gun=Gun.FULL).one("mixing.reduction")
    assert finding.message == "It is reduced, and the card gives no reduction for a full-size gun."


def test_a_reduction_in_plain_parts_is_judged_as_one_in_percent() -> None:
    for share in ("50", "50 % of base"):
        card = replace(COLOUR, reductions=(Reduction(gun=Gun.AIRBRUSH, least=share, usual=share, most=share),))
        bench = JobBuilder().card(card).piece().prep("wash").layer("colour", card).mix()
        bench.pour("base", 20)
        assert bench.pour("reducer", 10).stir("reduced").rules() == set()
        assert bench.pour("reducer", 5).stir("reduced").rules() == {"mixing.reduction"}


def test_the_recoat_of_a_piece_painted_from_behind_is_scuffed_on_its_paint_alone() -> None:
    bench = JobBuilder().card(COLOUR, CLEAR).piece("shell", "pc", face="behind clear").prep("mould-release wash")
    bench.layer("colour", COLOUR).layer("clear", CLEAR, activator="slow").ready("colour").coat().wait(hours=25)
    finding = bench.one("timing.recoat-closed")
    assert "back of the paint only, never the shell" in finding.remedy
    assert finding.forbids_coat
    assert "never the shell" in bench.windows()["recoat|colour|1|"]
    bench.prep("scuff")
    assert bench.rules() == set()
    assert "may go on now" in bench.windows()["recoat|colour|1|"]


def test_a_coat_taken_back_is_as_if_it_had_never_been() -> None:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, 3, activator="slow").ready().coat()
    bench.wait(minutes=5).start().undo()
    assert bench.one("timing.flash").clears_at == bench.now + minutes(10)
    bench.start().done().undo().undo()  # done, then started: two acts
    assert bench.one("timing.flash").clears_at == bench.now + minutes(10)
    assert bench.rules() == {"timing.flash"}


def test_a_layer_of_one_coat_waits_for_its_recoat_and_for_no_flash() -> None:
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("wash").layer("colour", COLOUR, 1)
    bench.layer("clear", CLEAR, activator="slow").ready("colour").coat()
    assert bench.rules() == {"timing.recoat-early"}
    assert bench.change_layer("colour", coats=2).rules() == {"timing.flash"}


def test_a_scuff_opens_a_closed_recoat_at_once_and_stays_good_after_the_coat() -> None:
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("wash").layer("colour", COLOUR, 1)
    bench.layer("clear", CLEAR, activator="slow").ready("colour").coat().wait(days=3)
    assert bench.in_the_way("clear") == {"timing.recoat-closed"}
    bench.prep("scuff").ready("clear")
    assert bench.in_the_way("clear") == set()
    bench.coats(2, "clear", apart=minutes(15))
    assert "timing.recoat-closed" not in bench.rules(bench.now + hours(100))


def test_tape_lifted_and_put_on_again_is_judged_by_the_tape_that_is_there() -> None:
    bench = JobBuilder().card(ONE_PART_PROMOTER).piece().prep("wash").layer("promoter", ONE_PART_PROMOTER).ready()
    bench.coats(2, apart=minutes(12)).wait(hours=5).mask()
    assert "24 h, since its card gives none" in bench.one("timing.tape").message
    assert bench.unmask().rules() == set()
    assert bench.wait(hours=1).mask().rules() == {"timing.tape"}
    assert bench.unmask().wait(hours=18).mask().rules() == set()


def test_tape_waived_is_waived_for_this_tape_only() -> None:
    bench = JobBuilder().card(ONE_PART_PROMOTER).piece().prep("wash").layer("promoter", ONE_PART_PROMOTER).ready()
    bench.coats(2, apart=minutes(12)).wait(hours=5).mask()
    bench.waive(bench.one("timing.tape"))
    assert bench.rules() == set()
    assert bench.unmask().mask().rules() == {"timing.tape"}


def test_a_cup_stirred_only_after_its_first_coat_may_be_sprayed_once_it_has_stood() -> None:
    bench = promoter().pour("base", 25).pour("activator", 0.5).coat().wait(minutes=15)
    assert bench.in_the_way() == {"timing.stand"}
    bench.stir("activated").wait(minutes=4)
    assert bench.in_the_way() == {"timing.stand"}
    assert bench.wait(minutes=1).in_the_way() == set()
    assert bench.one("timing.stand").severity is Severity.CAUTION


def test_a_cup_for_two_pieces_stands_for_both() -> None:
    bench = promoter().pour("base", 25).pour("activator", 0.5).stir("activated").wait(minutes=1)
    bench.piece("lid").prep("wash").layer("lid-promoter", PROMOTER, activator="rigid").share("lid-promoter")
    assert bench.in_the_way("promoter") == bench.in_the_way("lid-promoter") == {"timing.stand"}


def test_a_cup_without_activator_is_in_the_way_of_both_pieces() -> None:
    bench = promoter().pour("base", 25)
    bench.piece("lid").prep("wash").layer("lid-promoter", PROMOTER, activator="rigid").share("lid-promoter")
    assert bench.in_the_way("promoter") == bench.in_the_way("lid-promoter") == {"mixing.no-activator"}


def test_what_is_on_the_piece_stays_a_finding_when_the_cup_is_empty_and_clean() -> None:
    bench = promoter().pour("base", 50).pour("activator", 2).stir("activated").wait(minutes=5).coat()
    assert bench.in_the_way() == {"mixing.off-ratio", "timing.flash"}
    bench.empty().wait(minutes=15)
    finding = bench.one("mixing.off-ratio")
    assert finding.severity is Severity.CAUTION
    assert finding.message.startswith("Coat 1 of Two-part promoter went on so: Rigid activator is 100 % over")


def test_a_material_of_low_surface_energy_is_named_in_plain_words() -> None:
    bench = JobBuilder().card(COLOUR).piece("bumper", "tpo").prep("mould-release wash").layer("colour", COLOUR)
    assert bench.one("promoter.paint-refused").message == (
        "Bumper is TPO (PP+EPDM): paint does not hold on it without a promoter."
    )


def test_no_activator_on_the_card_suits_the_piece() -> None:
    card = Card(
        id="hard", name="Hard primer", duty=Duty.PRIMER, origins=PRACTICE, two_part=True,
        activators=(Activator(id="hard", name="Hard activator", suits=Suits.RIGID, share="10 % of base"),),
    )  # fmt: skip
    bench = JobBuilder().card(card).piece(flex="flexible").prep("wash").layer("hard", card, activator="hard")
    assert bench.one("promoter.activator-type").remedy == "This card has none that suits: choose another product."


def test_a_trial_that_did_not_hold_is_told() -> None:
    bench = JobBuilder().card(COLOUR).piece("cap", "unknown").prep("wash").layer("colour", COLOUR).trial(held=False)
    assert bench.one("promoter.unknown-untried").message.endswith("The trial on record did not hold.")
    assert bench.in_the_way("colour") == {"promoter.unknown-untried"}


def test_the_last_trial_decides() -> None:
    bench = JobBuilder().card(COLOUR).piece("cap", "unknown").prep("wash").layer("colour", COLOUR).trial(held=True)
    bench.wait(hours=1).trial(held=False)
    assert bench.one("promoter.unknown-untried").message == (
        "Nobody knows what Cap is made of, and the last test strip did not hold."
    )
    assert bench.wait(hours=1).trial(held=True).rules() == set()


def test_a_pot_life_too_short_for_the_coats_is_told_before_the_first() -> None:
    card = replace(CLEAR, pot_life=minutes(40), stand=minutes(15))
    bench = JobBuilder().card(card).piece().prep("wash").layer("clear", card, 3, activator="slow").mix()
    bench.pour("base", 40).pour("activator", 20)
    said = bench.one("timing.pot-life")
    assert said.message == (
        "The stand time and the 3 coats left and their flash take longer than the 40:00 this cup has left."
    )
    assert said.severity is Severity.CAUTION
    bench.stir("activated").wait(minutes=15)
    assert bench.one("timing.pot-life").message == (
        "The 3 coats left and their flash take longer than the 25:00 this cup has left."
    )
    assert "timing.pot-life" not in bench.change_layer(coats=2).rules()


def test_the_stand_of_a_mix_still_to_be_reduced_counts_to_its_end() -> None:
    """5 min activated and 10 min reduced, two coats 15 min apart: 30 min from the stirring."""
    for life, raised in ((30, False), (29, True)):
        card = replace(PROMOTER, pot_life=minutes(life))
        bench = JobBuilder().card(card).piece().prep("wash").layer("promoter", card, activator="rigid").mix()
        bench.pour("base", 25).pour("activator", 0.5).stir("activated")
        assert ("timing.pot-life" in bench.rules()) is raised
        bench.wait(minutes=5).pour("reducer", 25.5)
        assert ("timing.pot-life" in bench.rules()) is raised
        bench.stir("reduced")
        assert ("timing.pot-life" in bench.rules()) is raised


def test_tape_names_the_layer_that_needs_the_longest() -> None:
    quick = replace(COLOUR, id="quick", tape=minutes(10))
    bench = JobBuilder().card(ADHESIVE_CLEAR, quick).piece(substrate="wood-solid").prep("wash")
    bench.layer("primer", ADHESIVE_CLEAR, 3).layer("quick", quick).ready("primer").coats(3, apart=minutes(12))
    bench.wait(minutes=30).coat("quick", mix=None).wait(minutes=10).mask()
    said = bench.one("timing.tape")
    assert (said.layer, said.message) == ("primer", "Tape on Adhesive clear 23:20:00 before its tape time.")


def test_tape_on_a_coat_that_is_being_sprayed_is_told_as_that() -> None:
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("colour", COLOUR).start(mix=None).mask()
    assert bench.one("timing.tape").message == "Tape on Base colour while a coat of it is being sprayed."


def test_a_card_corrected_later_makes_nothing_wrong_that_went_by_the_card_of_its_day() -> None:
    """Each work kept to the card that it began by; the stricter card is for the work still to come."""
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("wash").layer("colour", COLOUR, 2)
    bench.layer("clear", CLEAR, activator="slow").ready("colour").coats(2, apart=minutes(10)).empty()
    bench.wait(minutes=20).ready("clear").coats(2, apart=minutes(15)).empty().wait(hours=24).mask()
    assert bench.rules() == set()
    slow = {"flash": hours(1), "recoat_opens": hours(2), "tape": hours(90)}
    bench.card(replace(COLOUR, coats_least=3, **slow), replace(CLEAR, stand=hours(1), pot_life=minutes(5), **slow))
    assert bench.rules() == set()
    one_part = JobBuilder().card(replace(CLEAR, two_part=False)).piece().prep("wash").layer("clear", CLEAR, 2)
    one_part.coats(2, "clear", apart=minutes(15)).card(CLEAR)
    assert one_part.of("mixing.not-logged") == ()


def test_a_small_part_is_told_without_guessing_at_the_tools_of_the_bench() -> None:
    bench = JobBuilder().card(PROMOTER).piece().prep("wash").layer("promoter", PROMOTER, activator="flexible")
    note = bench.mix(make_mL=12).one("mixing.hard-to-measure")
    assert note.message == "Only 0.12 mL Flexible activator in this cup."
    assert note.remedy == (
        "Measure it with the finest marks you own, or on a scale; the mix says how far off it may come out."
    )


def test_a_guessed_part_is_named_once_however_many_guesses_went_in() -> None:
    bench = JobBuilder().card(PROMOTER).piece().prep("wash").layer("promoter", PROMOTER, activator="rigid")
    bench.mix().pour("base", 25).pour("activator", 0.25, guess=True).pour("activator", 0.25, guess=True)
    note = bench.one("mixing.guessed")
    assert (note.severity, note.forbids_coat) == (Severity.NOTE, False)
    assert note.message == (
        "How much Rigid activator is in this cup is a guess: it was counted in drops of an uncounted dropper."
    )


def test_a_card_with_none_that_suits_is_told_while_it_is_planned_and_once():
    hard = replace(PROMOTER, id="hard", activators=(PROMOTER.activators[0],))
    bench = JobBuilder().card(hard, COLOUR).piece("bumper", "tpo", flex="flexible").prep("mould-release wash")
    bench.layer("hard", hard).layer("colour", COLOUR)
    [shown] = [f for f in bench.shown() if f.layer == "hard" and f.severity is Severity.STOP]
    assert shown.message == "Two-part promoter has no activator for a flexible piece."
    assert [e.rule for e in shown.echoes] == ["mixing.no-activator"]
    assert shown.forbids_coat
    late = JobBuilder().card(hard, COLOUR).piece("bumper", "tpo", flex="flexible").layer("colour", COLOUR)
    [ahead] = [f for f in late.layer("hard", hard).shown() if f.rule == "promoter.activator-type"]
    assert (ahead.layer, ahead.severity, ahead.forbids_coat) == ("hard", Severity.STOP, False)


def test_too_much_film_says_what_is_counted():
    stiff = replace(COLOUR, id="stiff", name="Stiff", film_um=102.0, coats_least=2)
    bends = replace(COLOUR, id="bends", name="Bends", film_um=50.0, coats_least=1, traits=(Trait.FLEXIBLE,))
    bench = JobBuilder().card(stiff, bends).piece("bumper", "tpo", flex="flexible").layer("stiff", stiff, 2)
    [alone] = [f for f in bench.findings() if f.rule == "film.too-much-on-flexible"]
    assert alone.message.startswith("204 µm of film on Bumper, which bends:")
    [both] = [f for f in bench.layer("bends", bends, 1).findings() if f.rule == "film.too-much-on-flexible"]
    assert both.message.startswith("204 of the 254 µm of film on Bumper are not made to bend:")
