"""One cause shows once, and nothing is let through for it."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from builders import JobBuilder
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples, jobs, moments

from benchtool.job.record import Job
from benchtool.job.state import fold
from benchtool.rules.engine import ALL, BY_ID, FAMILIES, Review, every, grouped, in_the_way, rule_of, signed_by
from benchtool.rules.finding import RANK, Cause, Finding, Severity, cause
from benchtool.session.tables import load_tables

STOP, CAUTION, NOTE = Severity.STOP, Severity.CAUTION, Severity.NOTE
SOON = datetime(2026, 3, 2, 9, tzinfo=UTC)


def said(key: str, severity: Severity = CAUTION, *, rule: str = "", **more: object) -> Finding:
    """A finding of a rule that is no graver than it is, about one piece."""
    usual = {STOP: "timing.flash", CAUTION: "air.range", NOTE: "air.old-reading"}
    fields = {"piece": "p", "layer": "l", "cause": "c", **more}
    return Finding(
        rule=rule or usual[severity], severity=severity, message="M.", remedy="R.", key=key, **fields  # type: ignore[arg-type]
    )  # fmt: skip


def keys(found: tuple[Finding, ...]) -> list[tuple[str, list[str]]]:
    return [(f.key, [e.key for e in f.echoes]) for f in found]


# --- which one speaks --------------------------------------------------------------------------------


def test_the_worst_of_one_cause_is_shown_and_carries_the_others() -> None:
    found = (said("note", NOTE), said("caution"), said("stop", STOP))
    assert keys(grouped(found)) == [("stop", ["caution", "note"])]


def test_of_two_stops_the_one_that_forbids_the_coat_speaks() -> None:
    found = (said("looks", STOP), said("forbids", STOP, forbids_coat=True))
    assert keys(grouped(found)) == [("forbids", ["looks"])]


def test_what_time_does_not_settle_speaks_before_what_it_does() -> None:
    found = (said("waits", STOP, clears_at=SOON), said("stays", STOP))
    assert keys(grouped(found)) == [("stays", ["waits"])]


def test_findings_without_a_cause_and_of_other_causes_stand_alone() -> None:
    found = (said("a", cause=""), said("b", cause=""), said("c"), said("d", cause="d"))
    assert keys(grouped(found)) == [("a", []), ("b", []), ("c", []), ("d", [])]


def test_a_cause_names_what_it_is_about() -> None:
    assert cause(Cause.WINDOW, "l1") != cause(Cause.WINDOW, "l2") != cause(Cause.AIR, "l2")
    assert cause(Cause.AIR)


# --- waivers -----------------------------------------------------------------------------------------


def test_a_waived_one_takes_what_is_no_worse_with_it() -> None:
    [shown] = grouped((said("caution", waived=True), said("other"), said("note", NOTE)))
    assert shown.waived
    assert [e.waived for e in shown.echoes] == [True, True]


def test_a_waived_caution_hides_no_stop() -> None:
    [shown] = grouped((said("caution", waived=True), said("stop", STOP, forbids_coat=True)))
    assert (shown.key, shown.waived, shown.blocks) == ("stop", False, True)


def test_a_waived_note_hides_no_caution() -> None:
    [shown] = grouped((said("note", NOTE, waived=True), said("caution")))
    assert (shown.key, shown.waived) == ("caution", False)


def test_a_second_stop_asks_for_its_own_waiver() -> None:
    [shown] = grouped((said("a", STOP, forbids_coat=True, waived=True), said("b", STOP, forbids_coat=True)))
    assert (shown.key, shown.blocks) == ("b", True)


def test_what_a_rule_that_stops_says_of_the_past_is_not_waived_with_a_caution() -> None:
    [shown] = grouped((said("caution", waived=True), said("went on", rule="timing.flash")))
    assert (shown.key, shown.waived) == ("went on", False)


def test_a_waiver_for_one_piece_says_nothing_for_another() -> None:
    [shown] = grouped((said("here", waived=True), said("there", piece="q")))
    assert (shown.key, shown.waived) == ("there", False)


def test_a_waiver_of_the_whole_job_speaks_for_every_piece() -> None:
    [shown] = grouped((said("job", waived=True, piece=None, layer=None), said("there", piece="q")))
    assert shown.waived


def test_who_waives_what_is_shown_waives_the_stops_it_carries_and_no_more() -> None:
    [shown] = grouped(
        (said("a", STOP, forbids_coat=True), said("b", STOP, forbids_coat=True), said("went", rule="timing.flash"),
         said("caution"), said("signed", STOP, waived=True))
    )  # fmt: skip
    assert [f.key for f in signed_by(shown)] == ["a", "b", "went"]


# --- in the way --------------------------------------------------------------------------------------


def test_an_echo_stands_in_the_way_of_its_own_piece() -> None:
    shown = grouped((said("here", STOP, forbids_coat=True), said("there", STOP, forbids_coat=True, piece="q")))
    assert keys(shown) == [("here", ["there"])]
    assert keys(in_the_way(shown, "p")) == [("here", [])]
    assert keys(in_the_way(shown, "q")) == [("there", [])]


def test_stops_of_one_cause_stand_in_the_way_once() -> None:
    shown = grouped((said("a", STOP, forbids_coat=True), said("b", STOP, forbids_coat=True), said("caution")))
    assert keys(in_the_way(shown, "p")) == [("a", ["b"])]


# --- laws --------------------------------------------------------------------------------------------

FOUND = st.lists(
    st.builds(
        said,
        st.uuids().map(str),
        st.sampled_from(list(Severity)),
        rule=st.sampled_from(["timing.flash", "air.range", "air.old-reading", "shop.mine"]),
        piece=st.sampled_from(["p", "q", None]),
        cause=st.sampled_from(["", "a", "b"]),
        alike=st.sampled_from(["", "", "x", "y"]),
        waived=st.booleans(),
        forbids_coat=st.booleans(),
        clears_at=st.sampled_from([None, SOON]),
    ),
    max_size=12,
).map(tuple)


def hold_laws(raw: tuple[Finding, ...]) -> None:
    shown = grouped(raw)
    flat = list(every(shown))
    assert sorted(f.key for f in flat) == sorted(f.key for f in raw)
    causes = [f.cause for f in shown if f.cause]
    assert len(causes) == len(set(causes))
    for finding in shown:
        like = [finding, *(e for e in finding.echoes if e.alike and e.alike == finding.alike)]
        assert all(e.cause in {f.cause for f in like} and not e.echoes for e in finding.echoes)
        unwaived = [e for e in finding.echoes if not e.waived]
        assert not finding.waived or not unwaived
        assert all(RANK[finding.severity] <= RANK[e.severity] for e in unwaived)
    before = {f.key: f for f in raw}
    for finding in flat:
        was = before[finding.key]
        assert replace(finding, waived=was.waived) == was
        assert finding.waived >= was.waived
        assert finding.blocks == was.blocks
    for piece in ("p", "q", "panel"):
        blocking = {f.key for f in raw if f.blocks and f.piece in (piece, None)}
        assert {f.key for f in every(in_the_way(shown, piece))} == blocking
    assert grouped(shown) == shown


@examples(300)
@given(FOUND)
def test_grouping_loses_nothing_and_lets_nothing_through(raw: tuple[Finding, ...]) -> None:
    hold_laws(raw)


@examples(60)
@given(st.data())
def test_it_holds_for_what_the_rules_say_of_any_job(data: st.DataObject) -> None:
    job: Job = data.draw(jobs())
    review = Review(job, fold(job), load_tables())
    now = data.draw(moments(job))
    hold_laws(review.raw(now))
    assert review.at(now) == grouped(review.raw(now))


@examples(100)
@given(FOUND)
def test_who_waives_all_that_is_shown_is_asked_no_more(raw: tuple[Finding, ...]) -> None:
    signed = {s.key for f in grouped(raw) for s in signed_by(f)}
    again = grouped(tuple(replace(f, waived=f.waived or f.key in signed) for f in raw))
    stops = [f for f in every(again) if not f.waived and STOP in (f.severity, rule_of(f).severity)]
    assert stops == []
    about_one = len({f.piece for f in raw}) <= 1
    assert not about_one or all(f.waived for f in again)


# --- the families ------------------------------------------------------------------------------------


def test_there_are_as_many_rules_as_a_bench_needs_each_in_the_family_it_is_named_by() -> None:
    assert len(ALL) >= 60
    assert len(BY_ID) == len(ALL)
    for family in FAMILIES:
        assert all(rule.family == family.name for rule in family.rules)


def test_a_builder_sees_each_finding_by_itself() -> None:
    bench = JobBuilder().piece(substrate="pp")
    assert sorted(f.key for f in bench.findings()) == sorted(f.key for f in every(bench.shown()))


@pytest.mark.parametrize("rule", ALL, ids=lambda r: r.id)
def test_the_rule_of_a_finding_is_found(rule) -> None:
    assert rule_of(said("k", rule=rule.id)) is rule
