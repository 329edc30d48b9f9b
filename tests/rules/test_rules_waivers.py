"""A waiver names one matter: it holds before the act and after it, and for nothing else."""

from collections.abc import Callable

import pytest
from builders import CLEAR, COLOUR, ONE_PART_PROMOTER, PROMOTER, JobBuilder, minutes

from benchtool.rules.engine import rule_of
from benchtool.rules.finding import Severity

Case = Callable[[], JobBuilder]


def first_coat() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER, COLOUR).piece().prep("wash").layer("promoter", PROMOTER, activator="rigid")
    return bench.layer("colour", COLOUR).ready("promoter").coat()


def waiting_to_stand() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER).piece().prep("wash").layer("promoter", PROMOTER, activator="rigid")
    return bench.mix().pour("base", 25).pour("activator", 0.5).stir("activated").wait(minutes=1)


def never_stirred() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER).piece().prep("wash").layer("promoter", PROMOTER, activator="rigid")
    return bench.mix().pour("base", 25).pour("activator", 0.5).wait(minutes=30)


def promoter_just_on() -> JobBuilder:
    return first_coat().wait(minutes=15).coat().ready("colour")


def dead_cup() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, activator="slow").ready()
    return bench.wait(hours=3)


def recoat_closed() -> JobBuilder:
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("wash").layer("colour", COLOUR)
    return bench.layer("clear", CLEAR, activator="slow").ready("colour").coat().wait(hours=25).ready("clear")


def too_much_activator() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, activator="slow")
    return bench.mix().pour("base", 40).pour("activator", 30).stir("activated")


def no_activator() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, activator="slow")
    return bench.mix().pour("base", 40)


def wrong_activator() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER).piece(flex="flexible").prep("wash")
    return bench.layer("promoter", PROMOTER, activator="rigid").ready()


def no_promoter() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece(substrate="pp").prep("mould-release wash").layer("colour", COLOUR).ready()


def untried() -> JobBuilder:
    return JobBuilder().card(COLOUR).piece(substrate="unknown").prep("wash").layer("colour", COLOUR).ready()


def scratched_shell() -> JobBuilder:
    bench = JobBuilder().card(COLOUR).piece(substrate="glass", face="behind clear").prep("wash", "abrade")
    return bench.layer("colour", COLOUR).ready()


STOPS: list[tuple[str, Case]] = [
    ("timing.flash", first_coat),
    ("timing.stand", waiting_to_stand),
    ("timing.stand", never_stirred),
    ("timing.recoat-early", promoter_just_on),
    ("timing.pot-life", dead_cup),
    ("timing.recoat-closed", recoat_closed),
    ("mixing.off-ratio", too_much_activator),
    ("mixing.no-activator", no_activator),
    ("promoter.activator-type", wrong_activator),
    ("promoter.paint-refused", no_promoter),
    ("promoter.unknown-untried", untried),
    ("cleaning.viewed-side-scratched", scratched_shell),
]


def _name(value: object) -> str:
    return getattr(value, "__name__", str(value))


def _layer(bench: JobBuilder) -> str:
    layer = bench.state.pieces["panel"].current
    assert layer is not None
    return layer.id


@pytest.mark.parametrize(("rule", "build"), STOPS, ids=_name)
def test_a_stop_stands_in_the_way_of_this_piece_and_of_no_other(rule: str, build: Case) -> None:
    bench = build()
    bench.piece("other").prep("wash").layer("other", CLEAR, activator="slow").card(CLEAR)
    layer = _layer(bench)
    assert bench.in_the_way(layer) == {rule}
    assert bench.one(rule).severity is Severity.STOP
    for other in bench.state.layers:
        assert bench.in_the_way(other) == (set() if other == "other" else {rule})


@pytest.mark.parametrize(("rule", "build"), STOPS, ids=_name)
def test_waived_before_the_coat_it_stays_waived_after_it(rule: str, build: Case) -> None:
    bench = build()
    layer = _layer(bench)
    before = bench.one(rule)
    bench.waive(before, "The customer waits.")
    assert bench.in_the_way(layer) == set()
    assert rule not in bench.rules()
    bench.coat(layer)
    after = bench.of(rule)
    assert [f.waived for f in after if f.key == before.key] == [True]
    assert before.rule in {w.rule for w in bench.state.waivers}


@pytest.mark.parametrize(("rule", "build"), STOPS, ids=_name)
def test_gone_on_without_a_waiver_it_stays_a_finding(rule: str, build: Case) -> None:
    bench = build()
    key = bench.one(rule).key
    bench.coat(_layer(bench)).wait(hours=24)
    (finding,) = [f for f in bench.findings() if f.key == key]
    assert not finding.waived
    assert finding.clears_at is None


@pytest.mark.parametrize(("rule", "build"), STOPS, ids=_name)
def test_a_waiver_taken_back_waives_nothing(rule: str, build: Case) -> None:
    bench = build()
    bench.waive(bench.one(rule)).undo()
    assert bench.in_the_way(_layer(bench)) == {rule}


@pytest.mark.parametrize(("rule", "build"), STOPS, ids=_name)
def test_a_coat_undone_is_waiting_again(rule: str, build: Case) -> None:
    bench = build()
    wanted = bench.findings()
    bench.start(_layer(bench)).undo()
    assert bench.findings() == wanted


def test_coat_2_early_with_a_waiver_says_nothing_for_coat_3() -> None:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, 3, activator="slow").ready().coat()
    bench.waive(bench.one("timing.flash")).coat()
    assert bench.in_the_way() == {"timing.flash"}
    assert "coat 3" in next(f for f in bench.of("timing.flash") if not f.waived).message
    bench.coat()
    assert [f.waived for f in sorted(bench.of("timing.flash"), key=lambda f: f.message)] == [True, False]


def test_a_dead_cup_waived_for_one_coat_is_not_waived_for_the_next() -> None:
    bench = dead_cup()
    bench.waive(bench.one("timing.pot-life")).coat().wait(minutes=15)
    assert bench.in_the_way() == {"timing.pot-life"}


def test_reducing_too_soon_with_a_waiver_does_not_waive_the_stand_before_spraying() -> None:
    bench = waiting_to_stand()
    bench.waive(bench.one("timing.stand")).pour("reducer", 25.5).stir("reduced")
    assert bench.in_the_way() == {"timing.stand"}
    bench.wait(minutes=10)
    assert bench.rules() == set()
    assert [f.waived for f in bench.of("timing.stand")] == [True]


def test_a_waiver_for_one_piece_says_nothing_for_the_other_sprayed_from_the_same_cup() -> None:
    bench = too_much_activator().piece("lid").prep("wash").layer("lid-clear", CLEAR, activator="slow")
    bench.share("lid-clear")
    assert bench.in_the_way("clear") == bench.in_the_way("lid-clear") == {"mixing.off-ratio"}
    bench.waive(next(f for f in bench.of("mixing.off-ratio") if f.layer == "clear"))
    assert bench.in_the_way("clear") == set()
    assert bench.in_the_way("lid-clear") == {"mixing.off-ratio"}


def test_a_caution_and_a_note_stand_in_nobodys_way() -> None:
    bench = JobBuilder().card(PROMOTER).piece(substrate="abs").layer("promoter", PROMOTER, activator="rigid")
    bench.mix(make_mL=10)
    assert {f.severity for f in bench.findings()} == {Severity.CAUTION, Severity.NOTE}
    assert bench.in_the_way() == set()


def test_an_off_reducer_is_a_caution_and_stands_in_nobodys_way() -> None:
    bench = JobBuilder().card(PROMOTER).piece().prep("wash").layer("promoter", PROMOTER, activator="rigid")
    bench.mix().pour("base", 25).pour("activator", 0.5).stir("activated").wait(minutes=5)
    bench.pour("reducer", 50).stir("reduced").wait(minutes=10)
    assert bench.rules() == {"mixing.reduction"}
    assert bench.in_the_way() == set()


def test_what_never_cures_stands_in_the_way_of_what_goes_over_it() -> None:
    bench = JobBuilder().card(PROMOTER, COLOUR).piece().prep("wash")
    bench.layer("promoter", PROMOTER, activator="rigid").layer("colour", COLOUR).mix("promoter").pour("base", 25)
    bench.coats(2, "promoter", apart=minutes(15)).wait(hours=1)
    assert bench.in_the_way("colour") == {"mixing.no-activator"}


def test_two_causes_are_two_findings() -> None:
    bench = JobBuilder().card(ONE_PART_PROMOTER).piece(substrate="unknown").layer("promoter", ONE_PART_PROMOTER).ready()
    bench.coat()
    assert bench.in_the_way() == {"timing.flash", "promoter.unknown-untried"}
    assert bench.rules() == {"timing.flash", "promoter.unknown-untried", "cleaning.not-cleaned"}


def test_a_clock_set_back_stands_in_the_way_of_every_piece() -> None:
    bench = first_coat().piece("lid").prep("wash").layer("lid", COLOUR).wait(hours=-2)
    assert bench.in_the_way("promoter") >= {"record.clock-behind"}
    assert bench.in_the_way("lid") == {"record.clock-behind"}
    bench.waive(bench.one("record.clock-behind"))
    assert bench.in_the_way("lid") == set()


def test_what_is_mixed_ahead_for_a_later_layer_is_not_in_the_way_of_this_one() -> None:
    bench = first_coat().card(CLEAR).layer("clear", CLEAR, activator="slow").wait(minutes=15)
    bench.mix("clear").pour("base", 40)
    assert bench.one("mixing.no-activator").severity is Severity.STOP
    assert bench.in_the_way("promoter") == set()
    bench.pour("activator", 30).stir("activated")
    assert bench.one("mixing.off-ratio").severity is Severity.STOP
    assert bench.in_the_way("promoter") == set()


def test_a_wrong_activator_planned_for_a_later_layer_is_not_in_the_way_of_this_one() -> None:
    bench = JobBuilder().card(PROMOTER, COLOUR).piece().prep("wash").layer("colour", COLOUR)
    bench.layer("promoter", PROMOTER, activator="flexible").ready("colour")
    assert bench.one("promoter.activator-type").severity is Severity.STOP
    assert bench.in_the_way("colour") == set()
    bench.coat("colour").wait(minutes=20)
    assert bench.in_the_way("promoter") == {"promoter.activator-type"}


def new_stops(bench: JobBuilder, layer: str) -> set[str]:
    """What the record would hold against a coat begun now, by rules whose word is stop, as an act is previewed."""
    known = {f.key for f in bench.findings()}
    bench.start(layer)
    found = {f.key for f in bench.findings() if f.key not in known and rule_of(f).severity is Severity.STOP}
    bench.undo()
    return found


def test_each_coat_from_an_empty_cup_asks_anew() -> None:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, 3, activator="slow").mix()
    for _ in range(2):
        [key] = new_stops(bench, "clear")
        bench.start()
        bench.waive(next(f for f in bench.findings() if f.key == key)).done().wait(minutes=15)


def test_each_coat_without_activator_asks_anew() -> None:
    bench = no_activator()
    bench.waive(bench.one("mixing.no-activator"))
    assert bench.in_the_way() == set()
    bench.coat().wait(minutes=15)
    assert bench.in_the_way() == {"mixing.no-activator"}
    [waived, ahead] = sorted(bench.of("mixing.no-activator"), key=lambda f: f.key)
    assert (waived.waived, waived.message) == (
        True,
        "Coat 1 of Two-part clear went on without its activator: it will not cure.",
    )
    assert not ahead.waived


def test_a_coat_out_of_turn_asks_once_and_not_for_the_coats_after_it() -> None:
    bench = first_coat().wait(hours=1).ready("colour")
    bench.change_layer("colour", coats=2)
    assert new_stops(bench, "colour") == {"layering.out-of-turn|colour|1"}
    bench.start("colour")
    bench.waive(bench.one("layering.out-of-turn")).done().wait(minutes=10)
    assert new_stops(bench, "colour") == set()
    assert "layering.out-of-turn" not in bench.coat("colour").rules()


def test_out_of_turn_is_said_as_a_painter_would() -> None:
    bench = first_coat().wait(hours=1).ready("colour").start("colour")
    said = bench.one("layering.out-of-turn")
    assert said.message == "Coat 1 of Base colour is out of turn: Two-part promoter is not finished (1 of 2 coats)."
    assert said.severity is Severity.STOP
    left_out = JobBuilder().card(PROMOTER, COLOUR).piece().prep("wash").layer("promoter", PROMOTER, activator="rigid")
    left_out.layer("colour", COLOUR).ready("colour").start()
    assert left_out.one("layering.out-of-turn").message == (
        "Coat 1 of Base colour is out of turn: Two-part promoter, which goes under it, is not on."
    )
    wet = first_coat().wait(minutes=15).start("promoter").ready("colour").start("colour")
    assert wet.one("layering.out-of-turn").message == (
        "Coat 1 of Base colour is out of turn: a coat of Two-part promoter is still being sprayed."
    )
    back = promoter_just_on().wait(minutes=30).coat("colour").coat("promoter")
    assert back.one("layering.out-of-turn").message == (
        "Coat 3 of Two-part promoter is out of turn: Base colour is over it already."
    )
