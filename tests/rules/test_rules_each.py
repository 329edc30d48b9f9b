"""Each rule once at fault and once at peace; a rule without both has no test and fails here."""

import re
from collections import Counter
from datetime import timedelta

import pytest
from builders import hours
from rules import (
    cases_air,
    cases_card,
    cases_chemistry,
    cases_cleaning,
    cases_film,
    cases_lots,
    cases_material,
    cases_mixing,
    cases_own,
    cases_safety,
    cases_surface,
    cases_tape,
    cases_timing,
    cases_trial,
)
from rules.case_book import FAILING, PASSING, Case

from benchtool.rules.engine import ALL, rule_of
from benchtool.rules.finding import Severity

assert cases_air
assert cases_card
assert cases_chemistry
assert cases_cleaning
assert cases_film
assert cases_lots
assert cases_material
assert cases_mixing
assert cases_own
assert cases_safety
assert cases_surface
assert cases_tape
assert cases_timing
assert cases_trial  # importing them fills the book


def _name(value: object) -> str:
    return getattr(value, "__name__", str(value))


@pytest.mark.parametrize(("rule", "case"), FAILING, ids=_name)
def test_raises(rule: str, case: Case) -> None:
    assert rule in case().rules()


@pytest.mark.parametrize(("rule", "case"), PASSING, ids=_name)
def test_stays_quiet(rule: str, case: Case) -> None:
    assert rule not in case().rules()


@pytest.mark.parametrize("rule", ALL, ids=lambda r: r.id)
def test_every_rule_has_a_failing_and_a_passing_case(rule) -> None:
    assert rule.id in {r for r, _ in FAILING}
    assert rule.id in {r for r, _ in PASSING}


def test_there_are_as_many_rules_as_a_bench_needs() -> None:
    assert len(ALL) >= 60
    assert len({rule for rule, _ in FAILING}) >= 60


def test_no_case_speaks_of_a_rule_that_is_gone() -> None:
    assert {r for r, _ in FAILING + PASSING} == {r.id for r in ALL}
    assert len({r.id for r in ALL}) == len(ALL)


SENTENCE = re.compile(r"[A-Z0-9“][^\n]*[.!]")


@pytest.mark.parametrize("rule", ALL, ids=lambda r: r.id)
def test_every_rule_says_why_and_where_from(rule) -> None:
    assert SENTENCE.fullmatch(rule.reason)
    assert len(rule.source) > 5
    assert (rule.check.__doc__ or "").strip().endswith(".")


TITLE = re.compile(r"[A-Z][^\n{}]{5,58}[^\n{}.!?,:;]")
SENTENCES = re.compile(r"[A-Z][^\n{}]*[.]")


@pytest.mark.parametrize("rule", ALL, ids=lambda r: r.id)
def test_every_rule_has_a_title_and_says_what_to_do(rule) -> None:
    assert TITLE.fullmatch(rule.title), rule.title
    assert ". " not in rule.title
    assert SENTENCES.fullmatch(rule.remedy), rule.remedy
    sentences = rule.remedy.removesuffix(".").split(". ")
    assert len(sentences) <= 2, rule.remedy
    assert all(s[0].isupper() and len(s.split()) > 2 for s in sentences), rule.remedy
    assert "  " not in rule.title + rule.remedy


def test_no_two_rules_have_one_title() -> None:
    titles = Counter(rule.title.casefold() for rule in ALL)
    assert [title for title, n in titles.items() if n > 1] == []


@pytest.mark.parametrize(("rule", "case"), FAILING, ids=_name)
def test_findings_are_sentences_of_the_rule_that_made_them(rule: str, case: Case) -> None:
    bench = case()
    for finding in bench.findings():
        assert SENTENCE.fullmatch(finding.message), finding.message
        assert SENTENCE.fullmatch(finding.remedy), finding.remedy
        assert rule_of(finding).id == finding.rule
        assert finding.key.startswith(f"{finding.rule}|") or finding.rule.startswith("timing.")
        assert not finding.forbids_coat or finding.layer is not None or finding.rule == "record.clock-behind"
        assert finding.piece is None or finding.piece in bench.state.pieces
        assert finding.layer is None or finding.layer in bench.state.layers


@pytest.mark.parametrize(("rule", "case"), FAILING, ids=_name)
def test_one_matter_shows_once(rule: str, case: Case) -> None:
    bench = case()
    keys = [f.key for f in bench.findings()]
    assert len(keys) == len(set(keys))
    causes = [f.cause for f in bench.shown() if f.cause]
    assert len(causes) == len(set(causes))


@pytest.mark.parametrize(("rule", "case"), FAILING, ids=_name)
def test_worst_first_and_waived_last(rule: str, case: Case) -> None:
    bench = case()
    bench.waive(bench.findings()[0])
    ranks = [(f.waived, list(Severity).index(f.severity)) for f in bench.findings()]
    assert ranks == sorted(ranks)


@pytest.mark.parametrize(("rule", "case"), FAILING, ids=_name)
def test_time_alone_settles_what_says_so_and_not_a_second_before(rule: str, case: Case) -> None:
    bench = case()
    for finding in bench.findings():
        if finding.clears_at is not None:
            before = {f.key for f in bench.findings(finding.clears_at - timedelta(microseconds=1))}
            assert finding.key in before
            assert finding.key not in {f.key for f in bench.findings(finding.clears_at)}
        elif finding.rule != "record.clock-behind":
            assert rule in bench.rules(bench.now + hours(1)) or finding.rule != rule
