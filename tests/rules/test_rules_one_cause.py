"""One cause shows once: what several rules of one matter say is one finding, and the worst of them leads."""

from builders import CLEAR, FILLER, METALLIC, UV_CLEAR, WATERBORNE, JobBuilder, minutes
from msgspec.structs import replace

from benchtool.job.cards import AirRange
from benchtool.trade.saying import speak


def shown(bench: JobBuilder) -> list[tuple[str, set[str]]]:
    """Each finding that is shown, with the rules of its echoes."""
    return [(f.rule, {e.rule for e in f.echoes}) for f in bench.shown()]


def over(card) -> JobBuilder:
    bench = (
        JobBuilder()
        .card(card, CLEAR)
        .piece(substrate="paint-urethane")
        .prep("wash", "abrade", "degrease")
        .layer("metallic", card, 2)
    )
    bench.layer("clear", CLEAR, activator="slow").ready("metallic")
    return bench.coats(2, apart=minutes(10)).empty()


def test_a_closed_window_over_a_metallic_is_one_finding_and_asks_for_no_scuff() -> None:
    bench = over(METALLIC).wait(hours=30)
    assert shown(bench) == [("timing.recoat-closed", {"layering.clear-over-metallic"})]
    assert "Do not scuff" in bench.one("timing.recoat-closed").remedy


def test_a_window_that_is_not_open_yet_is_one_finding() -> None:
    assert shown(over(METALLIC).wait(minutes=5)) == [("timing.recoat-early", {"layering.clear-over-metallic"})]


def test_a_card_that_gives_only_its_dust_time_is_one_finding() -> None:
    card = replace(METALLIC, id="dusty", flash=None, recoat_opens=None, recoat_closes=None, dust_free=minutes(20))
    found = shown(over(card).wait(minutes=5))
    assert len(found) == 1
    assert {found[0][0], *found[0][1]} == {"layering.clear-over-metallic", "timing.dust-free", "card.no-recoat-time"}


def test_a_heavy_coat_under_a_lamp_is_one_finding() -> None:
    bench = (
        JobBuilder()
        .card(UV_CLEAR)
        .piece(substrate="paint-urethane")
        .prep("wash", "abrade", "degrease")
        .layer("clear", UV_CLEAR)
        .ready()
        .coat()
        .film(80)
    )
    assert shown(bench) == [("film.heavy-coat", {"film.uv-thick"})]


def test_damp_air_is_one_finding_however_much_it_breaks() -> None:
    card = replace(WATERBORNE, air=AirRange(least_degC=15))
    bench = (
        JobBuilder()
        .card(card)
        .piece(substrate="paint-urethane")
        .prep("wash", "abrade", "degrease")
        .layer("colour", card)
        .read_air(12, 95, surface_degC=12)
    )
    assert shown(bench) == [("air.dew-point", {"air.range", "air.waterborne-damp"})]


def test_two_coats_that_went_wrong_are_two_findings() -> None:
    bench = (
        JobBuilder()
        .card(CLEAR)
        .piece(substrate="paint-urethane")
        .prep("wash", "abrade", "degrease")
        .layer("clear", CLEAR, 3, activator="slow")
        .ready()
    )
    bench.coats(3, apart=minutes(5)).empty()
    assert [rule for rule, _ in shown(bench)] == ["timing.flash", "timing.flash"]


def test_a_cup_past_its_pot_life_and_topped_up_is_one_finding() -> None:
    bench = (
        JobBuilder()
        .card(CLEAR)
        .piece(substrate="paint-urethane")
        .prep("wash", "abrade", "degrease")
        .layer("clear", CLEAR, activator="slow")
        .ready()
        .coat()
    )
    bench.wait(minutes=90).pour("base", 20).pour("activator", 10).stir("activated").wait(minutes=40)
    assert shown(bench) == [("timing.pot-life", {"mixing.topped-up"})]


def test_what_a_rule_says_is_said_in_the_painters_language() -> None:
    bench = JobBuilder().card(FILLER).piece("bumper", "tpo", flex="flexible").prep("mould-release wash", "degrease")
    bench.layer("filler", FILLER, activator="peroxide")
    speak(
        {"{layer} does not bend, and {piece} does: it cracks when that is bent.": "{piece} biegt sich, {layer} nicht."}
    )
    try:
        assert bench.one("film.brittle-on-flexible").message == "Bumper biegt sich, Polyester spray filler nicht."
    finally:
        speak({})
