"""What is told once paint is on a piece, and before and after a coat: no wet paint is washed."""

from builders import CLEAR, COLOUR, JobBuilder

from benchtool.rules.finding import Severity


def test_a_piece_with_paint_on_is_not_told_to_be_washed() -> None:
    for steps, rule in ((("degrease",), "cleaning.mould-release"), ((), "cleaning.not-cleaned")):
        bench = JobBuilder().card(COLOUR).piece(substrate="abs").prep(*steps).layer("base", COLOUR, 2).mix("base")
        before = bench.one(rule)
        assert before.remedy.startswith("Wash")
        after = bench.coat("base").one(rule)
        assert after.remedy == "The paint is on: prove it on a test strip (tape), or strip it and wash first."


def test_a_water_test_that_failed_under_paint_asks_for_no_rinsing() -> None:
    bench = JobBuilder().card(COLOUR).piece(substrate="steel").prep("wash", "degrease")
    bench.prep("water-break test", passed=False).prep("degrease").layer("base", COLOUR, 2).mix("base").coat("base")
    assert "Rinse" not in bench.one("cleaning.water-break").remedy


def test_bare_wood_is_told_to_be_brushed_as_its_prep_plan_says() -> None:
    bench = JobBuilder().card(COLOUR).piece(substrate="plywood-birch").layer("base", COLOUR, 2)
    assert bench.one("cleaning.not-cleaned").remedy == "Brush it off and vacuum it, degrease it, and log both."


def late_coat() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, 2, activator="slow").ready().coat()
    return bench.wait(hours=25).ready().start()


def test_a_coat_that_is_only_asked_about_did_not_go_on() -> None:
    bench = late_coat()
    asked = bench.one("timing.recoat-closed")
    assert "Coat 2 of Two-part clear would go on" in asked.message
    assert asked.remedy.startswith("Scuff")
    sprayed = bench.wait(minutes=1).one("timing.recoat-closed")
    assert "Coat 2 of Two-part clear went on" in sprayed.message


def cup() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece().prep("wash").layer("base", COLOUR, 2).mix("base").pour("base", 40)


def test_a_coat_from_a_cup_that_was_poured_and_not_stirred_is_told() -> None:
    found = cup().start("base").one("mixing.not-stirred")
    assert found.severity is Severity.CAUTION
    assert found.remedy.startswith("Stir it well")
    assert cup().coat("base").one("mixing.not-stirred").remedy.startswith("Look at the coat")


def test_a_stirred_cup_is_not_told_of() -> None:
    assert "mixing.not-stirred" not in cup().stir("base").coat("base").rules()


def test_coat_two_with_its_cup_emptied_has_no_mix_logged() -> None:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, 2, activator="slow").ready().coat()
    bench.wait(minutes=30).empty().start(mix=None)
    assert "Coat 2 of Two-part clear has no mix logged" in bench.one("mixing.not-logged").message
