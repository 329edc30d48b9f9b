"""Runs every rule over a job at a moment, sorts what they say, and shows each cause once."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from benchtool.job.record import Job
from benchtool.job.state import State
from benchtool.rules import (
    air,
    card,
    chemistry,
    cleaning,
    cups,
    film,
    layering,
    lots,
    mixing,
    own,
    promoter,
    record,
    safety,
    surface,
    tape,
    timing,
    trials,
)
from benchtool.rules.finding import RANK, Facts, Family, Finding, Rule, Severity, Tables
from benchtool.rules.onstrips import of_strips

FAMILIES: tuple[Family, ...] = (
    promoter.FAMILY,
    surface.FAMILY,
    cleaning.FAMILY,
    chemistry.FAMILY,
    mixing.FAMILY,
    cups.FAMILY,
    lots.FAMILY,
    timing.FAMILY,
    layering.FAMILY,
    film.FAMILY,
    tape.FAMILY,
    air.FAMILY,
    card.FAMILY,
    safety.FAMILY,
    trials.FAMILY,
    record.FAMILY,
    own.FAMILY,
)

ALL: tuple[Rule, ...] = tuple(rule for family in FAMILIES for rule in family.rules)

BY_ID = {rule.id: rule for rule in ALL}


class Review:
    """All rules over one state of a job. What time can't change is looked at once; the rest at each moment."""

    def __init__(self, job: Job, state: State, tables: Tables) -> None:
        self._job, self._state, self._tables = job, state, tables
        self._memo: dict[str, Any] = {}
        self._lasting: dict[str, list[Finding]] | None = None
        self._waived = {w.key for w in state.waivers}

    @property
    def tables(self) -> Tables:
        """The tables that the rules look things up in."""
        return self._tables

    def at(self, now: datetime) -> tuple[Finding, ...]:
        """Give what all rules say at `now`, worst first; a finding that the record waives is marked so.

        One matter shows once: where it stands in the way now and also went wrong before, the worse is given. One cause
        shows once too, and what several strips of a trial have alike, as `grouped`.
        """
        return grouped(self.raw(now))

    def raw(self, now: datetime) -> tuple[Finding, ...]:
        """Give the same with each finding by itself, none of them an echo of another."""
        facts = Facts(self._job, self._state, now, self._tables, self._memo)
        if self._lasting is None:
            self._lasting = {r.id: list(r.check(facts)) for r in ALL if not r.timed}
        lasting = self._lasting
        found = [f for rule in ALL for f in (rule.check(facts) if rule.timed else lasting[rule.id])]
        found = of_strips(facts.state, [*found, *own.broken(facts)])
        marked = [replace(f, waived=True) if f.key in self._waived else f for f in found]
        once: dict[str, Finding] = {}
        for finding in sorted(marked, key=_order):
            once.setdefault(finding.key, finding)
        return tuple(once.values())


def _order(finding: Finding) -> tuple[bool, int, bool, bool]:
    # What is told of strips stands behind what is told as gravely of the pieces that somebody waits for.
    return finding.waived, RANK[finding.severity], finding.clears_at is not None, bool(finding.alike)


def _worst(finding: Finding) -> tuple[bool, int, bool, bool]:
    return finding.waived, RANK[finding.severity], not finding.forbids_coat, finding.clears_at is not None


def findings(job: Job, state: State, now: datetime, tables: Tables) -> tuple[Finding, ...]:
    """Give what all rules say of `state` at `now`, as `Review.at`."""
    return Review(job, state, tables).at(now)


# --- one cause once --------------------------------------------------------------------------------


def grouped(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Give of all findings with one cause the worst, with the others as its echoes; worst first, as they came.

    What is told alike of several strips of one trial is one finding too, with those of the other strips as echoes.

    Where one of a cause is waived, the cautions and notes about the same piece that are no worse are waived with it. A
    stop, and what a rule that stops says of the past, asks for a waiver of its own.
    """
    causes: dict[str, list[Finding]] = {}
    for finding in every(found):
        causes.setdefault(finding.cause or f"={finding.key}", []).append(finding)
    shown = [members[0] if len(members) == 1 else _led(members) for members in causes.values()]
    return tuple(sorted(_strips_once(shown), key=_order))


def _strips_once(shown: Iterable[Finding]) -> Iterator[Finding]:
    """Let the first strip of those that have the same alike, as grave and as urgent, speak for the others."""
    alike: dict[object, list[Finding]] = {}
    for finding in shown:
        same = (finding.alike, finding.severity, finding.waived, finding.blocks, finding.routine)
        alike.setdefault(same if finding.alike else f"={finding.key}", []).append(finding)
    for first, *others in alike.values():
        yield replace(first, echoes=(*first.echoes, *every(others))) if others else first


def _led(members: Sequence[Finding]) -> Finding:
    """Let the worst of one cause speak for them all."""
    signed = [f for f in members if f.waived]
    if signed:
        members = [replace(f, waived=True) if any(_covers(s, f) for s in signed) else f for f in members]
    lead, *echoes = sorted(members, key=_worst)
    return replace(lead, echoes=tuple(echoes))


def _covers(signed: Finding, other: Finding) -> bool:
    """Say whether a waiver of `signed` speaks for `other`, which has the same cause."""
    if other.waived or _stops(other) or signed.piece not in (other.piece, None):
        return other.waived
    return RANK[signed.severity] <= RANK[other.severity]


def _stops(finding: Finding) -> bool:
    return Severity.STOP in (finding.severity, rule_of(finding).severity)


def every(found: Iterable[Finding]) -> Iterator[Finding]:
    """Give each finding by itself: those shown, and after each of them its echoes."""
    for finding in found:
        if not finding.echoes:
            yield finding
            continue
        yield replace(finding, echoes=())
        yield from finding.echoes


def signed_by(finding: Finding) -> tuple[Finding, ...]:
    """Give what the painter waives who waives this one: itself, and what of its echoes would stop them next.

    What other strips of the trial have alike is waived with it.
    """
    same = (f for f in finding.echoes if _stops(f) or (finding.alike and f.alike == finding.alike))
    return (finding, *(f for f in same if not f.waived))


def in_the_way(found: Iterable[Finding], piece: str) -> tuple[Finding, ...]:
    """Pick the stops that stand in the way of a coat on `piece` now, those of the whole job among them.

    A stop that is an echo, even of one about another piece, is as much in the way as one that is shown.
    """
    return grouped(f for f in every(found) if f.blocks and f.piece in (piece, None))


def rule_of(finding: Finding) -> Rule:
    """Find the rule that made this finding; one of the painter's own is told by the finding itself."""
    return BY_ID.get(finding.rule) or own.rule_of(finding)
