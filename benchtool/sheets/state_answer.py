"""The state of a job as values for scripts: what runs, what is wrong, what each piece asks for."""

from collections.abc import Sequence
from datetime import UTC, datetime

from benchtool.job.record import Job
from benchtool.job.state import State
from benchtool.job.windows import Window, all_windows, listed
from benchtool.rules.engine import rule_of
from benchtool.rules.finding import Finding, Tables
from benchtool.rules.preparing import step_of
from benchtool.sheets.values import Values, with_why


def state_answer(job: Job, state: State, found: Sequence[Finding], now: datetime, tables: Tables) -> Values:
    """Give how a job stands at `now`: what runs, what is wrong, what each piece asks for. Times are RFC 3339, UTC."""
    return {
        "at": stamp(now),
        "title": state.title,
        "demo": job.demo,
        "windows": [_window(w, now) for w in listed(all_windows(state), now)],
        "findings": [_finding(f, state) for f in found],
        "pieces": [
            {
                "piece": p.id,
                "piece_name": p.piece.name,
                "batch": p.piece.batch,
                "next": step_of(state, p, tables, now).words,
            }
            for p in state.pieces.values()
        ],
    }


def stamp(when: datetime) -> str:
    """Write an instant as RFC 3339 in UTC."""
    return when.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _window(window: Window, now: datetime) -> Values:
    span = window.span
    why = []
    if window.coat is None:
        why.append("it is about the cup, not a coat")
    if span.never:
        why.append(f"it does not open in this air ({window.why(now)})")
    if span.closes_at is None:
        why.append("it does not close")
    values: Values = {
        "piece": window.piece,
        "piece_name": window.piece_name,
        "layer": window.layer,
        "layer_name": window.layer_name,
        "kind": window.kind.value,
        "coat": window.coat,
        "opens_at": stamp(span.opens_at) if not span.never else None,
        "closes_at": stamp(span.closes_at) if span.closes_at is not None else None,
        "remaining_s": span.remaining_s(now) if not span.never else None,
        "progress": span.progress(now),
        "state": window.phase(now).value,
        "words": window.words(now),
        "air_words": window.why(now),
        "card_ends_at": stamp(window.card_ends_at),
    }
    return with_why(values, why)


def _finding(finding: Finding, state: State) -> Values:
    rule = rule_of(finding)
    piece, layer = state.pieces.get(finding.piece or ""), state.layers.get(finding.layer or "")
    why = []
    if piece is None:
        why.append("it is about the record as a whole")
    elif layer is None:
        why.append("it is about the whole piece")
    if finding.clears_at is None:
        why.append("waiting alone does not settle it")
    values: Values = {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "piece": finding.piece,
        "piece_name": piece.piece.name if piece is not None else None,
        "layer": finding.layer,
        "layer_name": state.layer_name(layer) if layer is not None else None,
        "message": finding.message,
        "remedy": finding.remedy,
        "reason": rule.reason,
        "source": rule.source,
        "key": finding.key,
        "clears_at": stamp(finding.clears_at) if finding.clears_at is not None else None,
        "waived": finding.waived,
        "echoes": [_finding(echo, state) for echo in finding.echoes],
    }
    return with_why(values, why)
