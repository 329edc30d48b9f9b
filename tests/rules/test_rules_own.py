"""Rules of the painter's own: what they may look at, when they speak, and in whose words."""

from dataclasses import replace as with_fields
from datetime import timedelta
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER, JobBuilder, minutes
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples

from benchtool.job.cards import Carrier, Chemistry, Trait
from benchtool.job.shoprules import Condition, ShopRule, SkippedRule, Weight
from benchtool.rules.engine import rule_of
from benchtool.rules.finding import Finding, Severity
from benchtool.rules.ownfacts import READERS
from benchtool.rules.ownterms import TERMS, Kind, NotUnderstood, faults, noun, rule_words, understood
from benchtool.session.tables import load_tables
from benchtool.trade.numbers import clock_words

TABLES = load_tables()
NAMES = {s.id: s.name for s in TABLES.substrates.values()}
BASE = replace(
    COLOUR,
    maker="Corner Shop",
    chemistry=Chemistry.LACQUER,
    carrier=Carrier.SOLVENT,
    traits=(Trait.DARK,),
    film_um=15.0,
)
PRIMED = replace(PROMOTER, film_um=5.0)


def where(of: str, how: str = "is", value: Any = "") -> Condition:
    return Condition(of=of, is_=how, value=value)


def rule(*when: Condition, require: tuple[Condition, ...] = (), weight: str = "stop", **more: Any) -> ShopRule:
    fields = {"id": "mine", "name": "Mine", "words": "Not like this", **more}
    return ShopRule(when=when, require=require, weight=Weight(weight), **fields)


PLASTIC = where("substrate", "one of", ("pp", "tpo"))


def bench_of(*rules: ShopRule, skipped: tuple[SkippedRule, ...] = ()) -> JobBuilder:
    """A metal panel, cleaned and abraded, its two-part promoter and a lacquer colour planned."""
    tables = with_fields(TABLES, shop_rules=rules, skipped=skipped)
    bench = JobBuilder(tables=tables).card(PRIMED, BASE).piece(substrate="aluminium").prep("wash", "abrade")
    return bench.layer("first", PRIMED, activator="rigid").layer("colour", BASE, 2)


def own(bench: JobBuilder) -> list[Finding]:
    return [f for f in bench.findings() if f.rule.startswith("shop.")]


# --- what may be looked at ---------------------------------------------------------------------------

HOLDS: list[tuple[str, str, Any, Any]] = [
    ("substrate", "is", "aluminium", "steel"),
    ("substrate", "one of", ("steel", "aluminium"), ("steel", "glass")),
    ("substrate", "is not", "steel", "aluminium"),
    ("material", "is", "metal", "glass"),
    ("known", "is", "told", "guessed"),
    ("flex", "is", "Rigid", "flexible"),
    ("face", "is", "outside", "behind clear"),
    ("shape", "is not", "textured", None),
    ("layer", "is", "promoter", "clear"),
    ("goes on", "is", "the bare piece", "primer"),
    ("card", "is", "two-part promoter", "two-part"),
    ("card", "is", "promoter-2k", "promoter"),
    ("card", "contains", "part Promo", "clear"),
    ("gun", "is", "airbrush", "mini gun"),
    ("coats", "is", "2", 3),
    ("coats", "at least", 2, "3"),
    ("coats", "at most", 2, 1),
    ("film", "at most", "40 µm", "39 um"),
    ("film", "at least", "1.5 mil", "1.6 mil"),
    ("air temperature", "at least", "20 °C", "20.5C"),
    ("air temperature", "at most", "68 °F", "67 F"),
    ("air humidity", "at most", "50 %", "49%"),
    ("dew margin", "at least", "3 °C", "9 °C"),
    ("abraded", "at most", "1 h", "29 min"),
    ("abraded", "at least", "30 min", "31 min"),
    ("cleaned", "at most", "30 min", "29 min 59 s"),
]


@pytest.mark.parametrize(("of", "how", "yes", "no"), HOLDS)
def test_a_condition_holds_or_does_not(of: str, how: str, yes: Any, no: Any) -> None:
    for value, holds in ((yes, True), (no, False)):
        if value is None:
            continue
        asked = bench_of(rule(where(of, how, value))).wait(minutes=30).read_air(20, 50, surface_degC=16)
        assert [f.layer for f in own(asked) if f.layer == "first"] == (["first"] if holds else [])
        required = bench_of(rule(require=(where(of, how, value),))).wait(minutes=30).read_air(20, 50, surface_degC=16)
        assert [f.layer for f in own(required) if f.layer == "first"] == ([] if holds else ["first"])


OF_COLOUR = [
    ("maker", "contains", "corner"),
    ("maker", "is", "Corner  SHOP"),
    ("chemistry", "is", "lacquer"),
    ("chemistry", "one of", ("enamel", "lacquer")),
    ("carrier", "is", "solvent"),
    ("trait", "is", "dark"),
    ("trait", "is not", "metallic"),
    ("goes on", "is", "promoter"),
    ("goes on", "is not", "the bare piece"),
]


@pytest.mark.parametrize(("of", "how", "value"), OF_COLOUR)
def test_what_the_card_says_of_a_layer_holds(of: str, how: str, value: Any) -> None:
    assert "colour" in [f.layer for f in own(bench_of(rule(where(of, how, value))))]


@pytest.mark.parametrize("term", TERMS.values(), ids=lambda t: t.id)
def test_each_term_has_its_words_and_what_reads_it(term) -> None:
    assert term.id in READERS
    assert noun(term)
    assert term.compares
    assert (term.kind in (Kind.CHOICE, Kind.SUBSTRATE, Kind.TEXT)) == (not term.hint)


def test_what_the_cup_and_the_coat_under_say_counts_from_then() -> None:
    fresh = rule(require=(where("stirred", "at most", "1 h"),), id="cup")
    soft = rule(require=(where("coat under", "at least", "2 h"),), id="under", weight="caution")
    bench = bench_of(fresh, soft).ready("first")
    assert own(bench) == []
    bench.coats(2, apart=minutes(15)).wait(minutes=30).ready("colour")
    assert [f.rule for f in own(bench)] == ["shop.under"]
    assert own(bench)[0].message == "Your rule: Not like this. The last coat under it was 30 min ago."
    bench.wait(hours=1, minutes=30)
    assert [f.rule for f in own(bench)] == ["shop.cup"]
    assert own(bench)[0].message == "Your rule: Not like this. The stirring was 1 h 30 min ago."


# --- when it speaks ----------------------------------------------------------------------------------

ABRADED = rule(
    where("material", "is", "metal"), where("goes on", "is", "the bare piece"),
    require=(where("abraded", "at most", "4 h"),), words="Metal skins over: abrade it again", remedy="Abrade and wipe",
)  # fmt: skip


def test_a_rule_speaks_where_it_holds_and_what_it_requires_does_not() -> None:
    bench = bench_of(ABRADED).wait(hours=4)
    assert own(bench) == []
    bench.wait(seconds=1)
    [found] = own(bench)
    assert (found.rule, found.severity, found.layer) == ("shop.mine", Severity.STOP, "first")
    assert found.message == "Your rule: Metal skins over: abrade it again. The abrading was 4 h ago."
    assert found.remedy == "Abrade and wipe."
    assert rule_of(found).reason == (
        "Where the kind of material is metal and what the layer goes on is the bare piece, the abrading must be at "
        "most 4 h ago; else: stop."
    )
    assert rule_of(found).source == "your own rule"
    assert (rule_of(found).title, rule_of(found).remedy) == (ABRADED.name, "Abrade and wipe.")
    assert bench.in_the_way("first") == {"shop.mine"}
    assert own(bench.prep("abrade")) == []


def test_what_was_never_done_was_not_done_in_time() -> None:
    tables = with_fields(TABLES, shop_rules=(ABRADED,))
    bench = JobBuilder(tables=tables).card(PROMOTER).piece().prep("wash").layer("first", PROMOTER, activator="rigid")
    [found] = own(bench)
    assert found.message == "Your rule: Metal skins over: abrade it again. The abrading is not logged."


def test_only_what_was_done_to_the_face_that_the_layer_goes_on_counts() -> None:
    scuffed = rule(where("layer", "is", "base"), require=(where("abraded", "at most", "4 h"),))
    bench = bench_of(scuffed).ready("first").coats(2, apart=minutes(15)).wait(minutes=30)
    assert [f.message for f in own(bench)] == ["Your rule: Not like this. The abrading is not logged."]
    assert own(bench.prep("scuff")) == []


def test_a_wait_that_is_required_says_when_it_is_over() -> None:
    dry = rule(require=(where("cleaned", "at least", "30 min"),), words="Let the cleaner leave")
    bench = bench_of(dry).wait(minutes=10)
    [found] = own(bench)
    assert found.clears_at == bench.now + minutes(20)
    assert own(bench.wait(minutes=20)) == []


def test_what_went_on_against_it_stays_a_caution_and_is_not_asked_of_the_next_coat() -> None:
    bench = bench_of(ABRADED).wait(hours=5).ready("first")
    before = own(bench)[0]
    bench.coat()
    [after] = own(bench)
    assert (after.severity, after.key, after.forbids_coat) == (Severity.CAUTION, before.key, False)
    assert "It was not kept for Two-part promoter." in after.message
    assert "shop.mine" not in bench.in_the_way("first")
    bench.waive(before)
    assert own(bench)[0].waived


def test_a_rule_on_the_air_is_asked_of_each_coat_as_the_air_was_then() -> None:
    damp = rule(where("air humidity", "at least", "70 %"), words="Too damp for me", weight="caution")
    bench = bench_of(damp).ready("first").read_air(20, 80)
    assert [f.message for f in own(bench)] == ["Your rule: Too damp for me. The humidity is 80 %."]
    bench.coat().wait(minutes=1).read_air(20, 50).wait(minutes=14).coat()
    assert [(f.key, f.severity) for f in own(bench)] == [("shop.mine|first|1", Severity.CAUTION)]


def test_a_note_says_nothing_of_the_past() -> None:
    damp = rule(where("air humidity", "at least", "70 %"), weight="note")
    bench = bench_of(damp).ready("first").read_air(20, 80).coat().read_air(20, 50)
    assert own(bench) == []


def test_what_nobody_can_tell_stops_nobody() -> None:
    bench = bench_of(rule(require=(where("air humidity", "at most", "70 %"),)))
    [found] = own(bench)
    assert (found.severity, found.forbids_coat) == (Severity.CAUTION, False)
    assert found.message == "Your rule: Not like this. The humidity is not known."
    assert own(bench.read_air(20, 60)) == []
    assert own(bench.wait(hours=5))  # too old to speak for now
    assert own(bench_of(rule(where("chemistry", "is not", "enamel"), where("layer", "is", "promoter")))) == []


def test_a_rule_on_the_plan_is_asked_of_every_layer_and_only_the_next_is_held_up() -> None:
    bench = bench_of(rule(where("layer", "one of", ("promoter", "base"))))
    assert [(f.layer, f.severity, f.forbids_coat) for f in own(bench)] == [
        ("first", Severity.STOP, True), ("colour", Severity.STOP, False),
    ]  # fmt: skip
    [shown] = [f for f in bench.shown() if f.rule == "shop.mine"]
    assert [e.layer for e in shown.echoes] == ["colour"]


def test_a_waiver_of_a_rule_on_the_plan_holds_for_the_whole_layer() -> None:
    bench = bench_of(rule(where("layer", "is", "promoter"))).ready("first")
    bench.waive(own(bench)[0]).coat()
    assert [f.waived for f in own(bench)] == [True]
    assert "shop.mine" not in bench.in_the_way("first")


def test_a_coat_that_is_being_sprayed_is_past_asking() -> None:
    bench = bench_of(rule(where("air humidity", "at least", "70 %"))).ready("first").read_air(20, 60).start()
    assert own(bench.wait(minutes=1).read_air(20, 80)) == []


@pytest.mark.parametrize("weight", list(Weight))
def test_a_rule_is_as_grave_as_it_says(weight: Weight) -> None:
    bench = bench_of(rule(where("layer", "is", "promoter"), weight=weight.value))
    assert [f.severity.value for f in own(bench)] == [weight.value]
    assert bench.in_the_way("first") == ({"shop.mine"} if weight is Weight.STOP else set())


def test_the_words_are_shown_as_they_are_and_as_the_painters_own() -> None:
    [found] = own(bench_of(rule(where("layer", "is", "promoter"), words="{piece} <b>no</b>!", remedy="{0} %s")))
    assert found.message == "Your rule: {piece} <b>no</b>!"
    assert found.remedy == "{0} %s."


# --- what can't be understood --------------------------------------------------------------------------

WRONG: list[tuple[Condition, str, str]] = [
    (where("moon", "is", "full"), "when[0].of", "“moon” is nothing that a rule can look at."),
    (where("layer", "at least", "primer"), "when[0].is", "“layer” can't be compared by “at least”: write one of is, "),
    (where("layer", "is", "varnish"), "when[0].value", "“varnish” is none of what “layer” can be: "),
    (where("layer", "is", ("primer", "base")), "when[0].value", "“is” takes one value, not several."),
    (where("layer", "is"), "when[0].value", "Say with what “layer” is compared."),
    (where("layer", "one of", ()), "when[0].value", "Say with what “layer” is compared."),
    (where("substrate", "is", "cheese"), "when[0].value", "“cheese” is no substrate of this tool's table."),
    (where("abraded", "at most", 4), "when[0].value", "“4” of what? Write 4 min, 4 h or 4 d."),
    (where("abraded", "at most", "-4 h"), "when[0].value", "“-4 h” is below zero."),
    (where("air temperature", "at most", "15"), "when[0].value", "“15” has no unit for this: write 15 °C."),
    (where("air humidity", "at most", "110 %"), "when[0].value", "“110 %” is more, or less, than it can be."),
    (where("air temperature", "at least", "warm"), "when[0].value", "“warm” does not start with a number."),
    (where("coats", "at most", "many"), "when[0].value", "“many” is no number of coats: write 1 to 50."),
]  # fmt: skip


@pytest.mark.parametrize(("condition", "path", "message"), WRONG, ids=lambda x: str(x)[:30])
def test_what_can_t_be_understood_is_named_with_its_place(condition: Condition, path: str, message: str) -> None:
    [(place, said)] = faults(rule(condition), TABLES.substrates)
    assert place == path
    assert said.startswith(message)
    assert own(bench_of(rule(condition, require=(condition,)))) == []


def test_a_rule_without_any_condition_is_at_fault() -> None:
    assert [place for place, _ in faults(rule(), TABLES.substrates)] == [""]


def test_a_rule_that_is_skipped_is_told_among_the_findings() -> None:
    gone = SkippedRule(name="Mine", why="“moon” is nothing that a rule can look at.", place="$.rules[2].when[0].of")
    bench = bench_of(skipped=(gone, SkippedRule(name="", why="Your rules can't be read: mend the file.")))
    assert [f.message for f in bench.of("own.skipped")] == [
        "Your rule “Mine” is skipped: “moon” is nothing that a rule can look at (at $.rules[2].when[0].of).",
        "Your rules can't be read: mend the file.",
    ]
    assert {f.severity for f in bench.of("own.skipped")} == {Severity.NOTE}


# --- in words ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (
            ABRADED,
            (
                "Where the kind of material is metal and what the layer goes on is the bare piece, the abrading must "
                "be at most 4 h ago; else: stop."
            ),
        ),
        (rule(where("air humidity", "at least", "85 %"), weight="note"), "Where the humidity is at least 85 %: note."),
        (
            rule(require=(where("gun", "is not", "airbrush"), where("coats", "at most", 3)), weight="caution"),
            "In any job, the gun must not be an airbrush and the number of coats must be at most 3; else: caution.",
        ),
        (
            rule(PLASTIC, where("layer", "is", "primer"), where("card", "contains", "x")),
            (
                "Where the substrate is polypropylene (PP) or TPO (PP+EPDM), the layer is a primer and the card "
                "contains “x”: stop."
            ),
        ),
    ],
    ids=lambda x: getattr(x, "id", ""),
)  # fmt: skip
def test_a_rule_reads_back_in_words(made: ShopRule, words: str) -> None:
    assert rule_words(made, NAMES) == words


def values(of: str, how: str) -> st.SearchStrategy[Any]:
    term = TERMS[of]
    one = {
        Kind.CHOICE: st.sampled_from(term.choices or ("",)),
        Kind.SUBSTRATE: st.sampled_from(sorted(TABLES.substrates)),
        Kind.TEXT: st.text(min_size=1, max_size=9).filter(lambda t: bool(t.strip())),
        Kind.COUNT: st.integers(1, 50),
        Kind.SPAN: st.integers(0, 5_000).map(lambda n: f"{n} min"),
        Kind.DEGC: st.integers(-40, 100).map(lambda n: f"{n} °C"),
        Kind.KELVIN: st.integers(0, 100).map(lambda n: f"{n} °C"),
        Kind.PERCENT: st.integers(0, 100).map(lambda n: f"{n} %"),
        Kind.MICRONS: st.integers(0, 500).map(lambda n: f"{n} µm"),
    }[term.kind]
    return st.lists(one.map(str), min_size=1, max_size=3).map(tuple) if how == "one of" else one


CONDITIONS = (
    st.sampled_from([(t.id, c.value) for t in TERMS.values() for c in t.compares])
    .flatmap(lambda pair: st.tuples(st.just(pair[0]), st.just(pair[1]), values(*pair)))
    .map(lambda x: where(*x))
)
RULES = st.tuples(st.lists(CONDITIONS, max_size=3), st.lists(CONDITIONS, max_size=3)).filter(any)


@examples(150)
@given(RULES, st.sampled_from([0, 20, 300]), st.booleans())
def test_any_rule_that_is_understood_reads_back_and_can_be_asked(parts: Any, wait: int, sprayed: bool) -> None:
    made = rule(*parts[0], require=tuple(parts[1]))
    assert list(faults(made, TABLES.substrates)) == []
    assert rule_words(made, NAMES).endswith(": stop.")
    bench = bench_of(made).wait(minutes=wait)
    if sprayed:
        bench.ready("first").read_air(20, 60).coat().wait(minutes=15).coat().wait(minutes=wait)
    for found in own(bench):
        assert found.message.startswith("Your rule: Not like this.")
        if found.clears_at is not None:
            late = {f.key for f in own(bench.at(found.clears_at))}
            assert found.key not in late


@examples(60)
@given(CONDITIONS)
def test_where_a_condition_holds_its_opposite_does_not(condition: Condition) -> None:
    """Of two rules, one where it is so and one that requires it to be so, at most one speaks of any coat."""
    bench = bench_of(rule(condition, id="so"), rule(require=(condition,), id="must"))
    bench.ready("first").read_air(20, 60).coat().wait(minutes=15).coat().wait(minutes=30)
    both = [f.key.partition("|")[2] for f in own(bench)]
    assert len(both) == len(set(both))


def test_a_length_of_time_is_read_as_everywhere() -> None:
    assert understood(where("abraded", "at most", "1 h 30")).values == (timedelta(minutes=90),)
    assert clock_words(5_400) == "1:30:00"
    with pytest.raises(NotUnderstood, match="two ways"):
        understood(where("abraded", "at most", "1:30"))


def test_degrees_are_converted_as_published() -> None:
    """NIST SP 811, appendix B.8: t(°C) = (t(°F) - 32)/1.8, and 1 mil is 25.4 µm."""
    assert understood(where("air temperature", "at least", "68 °F")).values == pytest.approx((20.0,))
    assert understood(where("dew margin", "at least", "5 °F")).values == pytest.approx((2.7778,), abs=1e-4)
    assert understood(where("film", "at most", "2 mil")).values == pytest.approx((50.8,))


def test_a_later_clear_over_the_lacquer_is_told_by_what_is_under_it() -> None:
    over = rule(where("chemistry under", "is", "lacquer"), where("layer", "is", "clear"))
    bench = bench_of(over).card(CLEAR).layer("clear", CLEAR, activator="slow")
    assert [f.layer for f in own(bench)] == ["clear"]
