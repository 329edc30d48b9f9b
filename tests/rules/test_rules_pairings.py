"""The table of what may go over what: its file, and what the rules make of each row."""

import json
from pathlib import Path
from typing import Any

import pytest
from builders import COLOUR, ENAMEL, EPOXY, ETCH, LACQUER, URETHANE, WATERBORNE, JobBuilder, hours
from msgspec.structs import replace

from benchtool.job.cards import Card, Carrier, Chemistry, Duty
from benchtool.rules.chemistry import RULES, rule_for
from benchtool.rules.finding import Pairing, Severity, While
from benchtool.session.resources import resource
from benchtool.session.strictfile import TableFault
from benchtool.session.tables_pairings import load_pairings, read_pairings

TABLE = load_pairings()
ROWS = sorted(TABLE.values(), key=lambda p: (p.over.value, p.under.value))
ROW: dict[str, Any] = {
    "over": "lacquer", "under": "enamel", "severity": "stop", "during": "until it is cured", "what": "it lifts",
    "remedy": "Wait.", "source": "a test",
}  # fmt: skip


def _file(tmp_path: Path, *rows: dict[str, Any]) -> Path:
    path = tmp_path / "pairings.json"
    path.write_text(json.dumps({"about": {"what": "a test"}, "pairings": rows}), encoding="utf-8")
    return path


# --- the file --------------------------------------------------------------------------------------------


def test_the_table_is_read_once_and_says_where_each_row_comes_from() -> None:
    assert load_pairings() is load_pairings()
    whole = json.loads(resource("pairings.json").read_text(encoding="utf-8"))
    assert len(whole["pairings"]) == len(TABLE) >= 20
    assert all(row["source"].strip() for row in whole["pairings"])
    assert set().union(*whole["pairings"]) <= set(whole["about"])  # the header explains every field


PUBLISHED = {
    (Chemistry.LACQUER, Chemistry.ENAMEL): While.UNTIL_CURED,  # published defect guides, lifting: only while it cures
    (Chemistry.ENAMEL, Chemistry.ACRYLIC): While.ALWAYS,  # Master Painters Institute, alligatoring
    (Chemistry.EPOXY, Chemistry.ETCH): While.ALWAYS,  # published refinish procedures for bare aluminium
    (Chemistry.POLYESTER, Chemistry.ETCH): While.ALWAYS,  # the same: no body filler over etch primer
}


@pytest.mark.parametrize("pair", PUBLISHED)
def test_what_is_published_of_a_pair_stands_in_the_table(pair: tuple[Chemistry, Chemistry]) -> None:
    assert TABLE[pair].during is PUBLISHED[pair]
    assert "no source" not in TABLE[pair].source


BY_THE_BOOK = [
    (Chemistry.URETHANE, Chemistry.LACQUER),  # clear over a base colour
    (Chemistry.URETHANE, Chemistry.EPOXY),
    (Chemistry.POLYESTER, Chemistry.EPOXY),
    (Chemistry.LACQUER, Chemistry.EPOXY),
    (Chemistry.LACQUER, Chemistry.ETCH),
    (Chemistry.URETHANE, Chemistry.ACRYLIC),
    (Chemistry.URETHANE, Chemistry.URETHANE),
    (Chemistry.ENAMEL, Chemistry.EPOXY),
    (Chemistry.LACQUER, Chemistry.POLYOLEFIN),
]
"""Stacks that shops spray every day: common practice, no source."""


@pytest.mark.parametrize("pair", BY_THE_BOOK)
def test_what_shops_spray_every_day_is_no_row(pair: tuple[Chemistry, Chemistry]) -> None:
    assert pair not in TABLE


def test_each_row_has_one_rule_and_each_rule_a_row() -> None:
    spoken = {rule_for(p.over, p.under) for p in ROWS}
    assert None not in spoken
    assert spoken == set(RULES)


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"colour": "red"}, "colour"),
        ({"over": "oil"}, r"\$\.pairings\[1\]\.over"),
        ({"severity": "note"}, r"\$\.pairings\[1\]`\.severity"),
        ({"severity": "grave"}, r"\$\.pairings\[1\]\.severity"),
        ({"during": "for a while"}, r"\$\.pairings\[1\]\.during"),
        ({"what": "It lifts."}, r"\$\.pairings\[1\]`\.what"),
        ({"remedy": "wait"}, r"\$\.pairings\[1\]`\.remedy"),
        ({"source": ""}, r"\$\.pairings\[1\]\.source"),
        ({"over": "lacquer"}, "twice"),
    ],
)
def test_a_slip_is_told_with_file_and_place(tmp_path: Path, change: dict[str, Any], place: str) -> None:
    path = _file(tmp_path, ROW, {**ROW, "over": "urethane", **change})
    with pytest.raises(TableFault, match=place) as fault:
        read_pairings(path)
    assert str(fault.value).startswith("pairings.json: ")


@pytest.mark.parametrize("missing", sorted(ROW))
def test_no_field_may_be_missing(tmp_path: Path, missing: str) -> None:
    with pytest.raises(TableFault, match=missing):
        read_pairings(_file(tmp_path, {k: v for k, v in ROW.items() if k != missing}))


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"about": {}}', b"\xff\xfe"])
def test_a_broken_file_is_a_fault_that_names_it(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "pairings.json"
    path.write_bytes(content)
    with pytest.raises(TableFault, match=r"pairings\.json"):
        read_pairings(path)


# --- what the rules make of a row ------------------------------------------------------------------------


def _card(chemistry: Chemistry, name: str) -> Card:
    """A product of this film that opens for recoat at once, and cures within ten hours."""
    return Card(
        id=name, name=name.capitalize(), duty=Duty.PRIMER, origins={"*": "made up for a test"}, chemistry=chemistry,
        carrier=Carrier.WATER if chemistry is Chemistry.ACRYLIC else Carrier.NONE, recoat_opens=hours(0),
        cure=hours(10),
    )  # fmt: skip


def _stack(pairing: Pairing, *between: Card) -> JobBuilder:
    cards = (_card(pairing.under, "lower"), *between, _card(pairing.over, "upper"))
    bench = JobBuilder().card(*cards).piece(substrate="steel").prep("wash", "degrease", "abrade", "degrease")
    for card in cards:
        bench.layer(card.id, card)
    return bench


def _said(bench: JobBuilder, pairing: Pairing) -> list[tuple[str, Severity, bool]]:
    rule = f"chemistry.{rule_for(pairing.over, pairing.under)}"
    return [(f.rule, f.severity, f.forbids_coat) for f in bench.findings() if f.rule == rule]


def _name(pairing: Pairing) -> str:
    return f"{pairing.over.value} over {pairing.under.value}"


@pytest.mark.parametrize("pairing", ROWS, ids=_name)
def test_a_row_is_told_before_the_coat_and_held_against_it_after(pairing: Pairing) -> None:
    rule = f"chemistry.{rule_for(pairing.over, pairing.under)}"
    stop = pairing.severity is Severity.STOP
    bench = _stack(pairing).coat("lower", mix=None).wait(hours=1)
    assert _said(bench, pairing) == [(rule, pairing.severity, stop)]
    assert pairing.what in bench.one(rule).message
    assert (rule in bench.in_the_way("upper")) is stop
    bench.coat("upper", mix=None).wait(days=400)
    assert _said(bench, pairing) == [(rule, Severity.CAUTION, False)]


@pytest.mark.parametrize("pairing", ROWS, ids=_name)
def test_a_plan_alone_is_told_only_where_no_waiting_helps(pairing: Pairing) -> None:
    lasting = pairing.during is While.ALWAYS
    assert [s for _, s, _ in _said(_stack(pairing), pairing)] == [pairing.severity] * lasting
    assert not any(blocks for _, _, blocks in _said(_stack(pairing), pairing))


@pytest.mark.parametrize("pairing", ROWS, ids=_name)
def test_a_row_that_waiting_settles_is_settled_at_the_hour_of_the_card(pairing: Pairing) -> None:
    bench = _stack(pairing).coat("lower", mix=None)
    over = bench.now + hours(10)
    bench.at(over - hours(0.001))
    assert len(_said(bench, pairing)) == 1
    finding = next(f for f in bench.findings() if f.rule.startswith("chemistry.") and pairing.what in f.message)
    lasting = pairing.during is While.ALWAYS
    assert finding.clears_at == (None if lasting else over)
    assert len(_said(bench.at(over), pairing)) == int(lasting)


@pytest.mark.parametrize("pairing", ROWS, ids=_name)
def test_a_layer_of_something_else_between_them_takes_it_away(pairing: Pairing) -> None:
    neutral = _card(Chemistry.OTHER, "between")
    assert _said(_stack(pairing, neutral), pairing) == []
    passed_over = _stack(pairing, neutral).coat("lower", mix=None).wait(hours=1).coat("upper", mix=None)
    assert len(_said(passed_over, pairing)) == 1  # it was planned between them and left out


def test_a_card_that_does_not_say_what_its_film_is_is_left_alone() -> None:
    silent = replace(COLOUR, chemistry=None)
    for card in (LACQUER, ENAMEL, EPOXY, ETCH, URETHANE, WATERBORNE):
        for lower, upper in ((card, silent), (silent, card)):
            bench = JobBuilder().card(lower, upper).piece(substrate="steel").prep("wash", "abrade", "degrease")
            bench.layer("lower", lower).layer("upper", upper).coat("lower", mix=None).wait(days=2)
            assert {r for r in bench.rules() if r.startswith("chemistry.")} <= {"chemistry.only-over"}


def test_an_enamel_whose_card_gives_no_cure_counts_as_soft_for_four_weeks() -> None:
    """28 days, common practice, no source."""
    enamel = replace(ENAMEL, cure=None)
    bench = JobBuilder().card(enamel, LACQUER).piece(substrate="steel").prep("wash", "abrade", "degrease")
    bench.layer("enamel", enamel).layer("lacquer", LACQUER).coat("enamel", mix=None)
    done = bench.now
    assert bench.one("chemistry.lacquer-over-enamel", done + hours(24)).clears_at == done + hours(24 * 28)
    assert "chemistry.lacquer-over-enamel" not in bench.rules(done + hours(24 * 28))


def test_two_things_said_of_one_pair_are_shown_as_one() -> None:
    """A wet waterborne under lacquer is too early by its card, still wet, and soft: the wait is one cause."""
    bench = JobBuilder().card(WATERBORNE, LACQUER).piece(substrate="steel").prep("wash", "abrade", "degrease")
    bench.layer("water", WATERBORNE).layer("lacquer", LACQUER).coat("water", mix=None).wait(minutes=20)
    stops = [f for f in bench.shown() if f.severity is Severity.STOP]
    assert len(stops) == 1
    assert {f.rule for f in (*stops, *stops[0].echoes)} >= {"timing.recoat-early", "chemistry.solvent-over-waterborne"}
