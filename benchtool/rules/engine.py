"""Runs every rule over a job at a moment and sorts what they say."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import Any

from benchtool.job.record import Job
from benchtool.job.state import State
from benchtool.rules import air, cleaning, cups, layering, lots, mixing, promoter, record, timing
from benchtool.rules.finding import RANK, Facts, Finding, Rule, Tables

ALL: tuple[Rule, ...] = tuple(
    rule
    for family in (
        promoter.FAMILY,
        mixing.FAMILY,
        cups.FAMILY,
        lots.FAMILY,
        timing.FAMILY,
        layering.FAMILY,
        cleaning.FAMILY,
        air.FAMILY,
        record.FAMILY,
    )
    for rule in family.rules
)


class Review:
    """All rules over one state of a job. What time can't change is looked at once; the rest at each moment."""

    def __init__(self, job: Job, state: State, tables: Tables) -> None:
        self._job, self._state, self._tables = job, state, tables
        self._memo: dict[str, Any] = {}
        self._lasting: dict[str, list[Finding]] | None = None
        self._waived = {w.key for w in state.waivers}

    def at(self, now: datetime) -> tuple[Finding, ...]:
        """Give what all rules say at `now`, worst first; a finding that the record waives is marked so.

        One matter shows once: where it stands in the way now and also went wrong before, the worse is given.
        """
        facts = Facts(self._job, self._state, now, self._tables, self._memo)
        if self._lasting is None:
            self._lasting = {r.id: list(r.check(facts)) for r in ALL if not r.timed}
        lasting = self._lasting
        found = [f for rule in ALL for f in (rule.check(facts) if rule.timed else lasting[rule.id])]
        marked = [replace(f, waived=True) if f.key in self._waived else f for f in found]
        once: dict[str, Finding] = {}
        for finding in sorted(marked, key=lambda f: (f.waived, RANK[f.severity], f.clears_at is not None)):
            once.setdefault(finding.key, finding)
        return tuple(once.values())


def findings(job: Job, state: State, now: datetime, tables: Tables) -> tuple[Finding, ...]:
    """Give what all rules say of `state` at `now`, as `Review.at`."""
    return Review(job, state, tables).at(now)


def in_the_way(found: Iterable[Finding], piece: str) -> tuple[Finding, ...]:
    """Pick the stops that stand in the way of a coat on `piece` now, those of the whole job among them."""
    return tuple(f for f in found if f.blocks and f.piece in (piece, None))


BY_ID = {rule.id: rule for rule in ALL}


def rule_of(finding: Finding) -> Rule:
    """Find the rule that made this finding."""
    return BY_ID[finding.rule]
