"""The state of a job as plain text, for a terminal: piece by piece, what is on it and what to do next."""

import textwrap
from collections.abc import Iterator, Sequence
from datetime import datetime, tzinfo

from benchtool.job.cautions import hazards_of
from benchtool.job.events import Face, Known
from benchtool.job.record import Job
from benchtool.job.state import LayerState, PieceState, State
from benchtool.job.windows import FOR_GOOD, Window, all_windows, listed
from benchtool.rules.finding import Finding, Severity, Tables
from benchtool.rules.onstrips import told_of
from benchtool.rules.preparing import step_of
from benchtool.sheets.values import plain
from benchtool.trade.saying import say

DEMO_WORDS = "Demo: these numbers are not a data sheet."
WIDTH = 92
"""Columns a line may take: an ordinary terminal at an ordinary size."""

_KNOWN = {
    Known.MARKED: "by its mark",
    Known.TOLD: "so we were told",
    Known.GUESSED: "a guess",
    Known.UNKNOWN: "not known for sure",
}
_SEVERITY = {Severity.STOP: "Stop", Severity.CAUTION: "Caution", Severity.NOTE: "Note"}


def state_text(
    job: Job,
    state: State,
    found: Sequence[Finding],
    now: datetime,
    tables: Tables,
    *,
    notes: Sequence[str] = (),
    zone: tzinfo | None = None,
) -> str:
    """Write how `job` stands at `now`, with `found` at the places they are about.

    `notes` are remarks about the file itself. Times are shown in `zone`, None for this computer's own.
    """
    return "\n".join(_lines(job, state, found, now.astimezone(zone), tables, notes, zone)) + "\n"


def tally(found: Sequence[Finding]) -> str:
    """Count the findings that are not signed off, in words: `1 stop and 2 cautions`."""
    counts = []
    for severity in Severity:
        n = sum(1 for f in found if f.severity is severity and not f.waived)
        if n:
            counts.append(f"{n} {severity.value}{'s' if n > 1 else ''}")
    return " and ".join([", ".join(counts[:-1]), counts[-1]] if len(counts) > 1 else counts)


def _lines(
    job: Job,
    state: State,
    found: Sequence[Finding],
    now: datetime,
    tables: Tables,
    notes: Sequence[str],
    zone: tzinfo | None,
) -> Iterator[str]:
    if job.demo:
        yield DEMO_WORDS
    for text in (job.note, *notes):
        if text.strip():
            yield from _wrapped(text, hang=0)
    customer = f", for {plain(state.customer)}" if state.customer.strip() else ""
    yield f"{plain(state.title) or 'A job without a name'}{customer}, as of {now:%a %d %b %Y, %H:%M}"
    about_all = [f for f in found if f.piece not in state.pieces]
    if about_all:
        yield ""
        yield "The record"
        for finding in about_all:
            yield from _finding_lines(finding, state)
    if not state.pieces:
        yield ""
        yield "There is no piece in this job yet."
    windows = listed(all_windows(state), now)
    for piece in state.pieces.values():
        yield ""
        yield from _piece_lines(state, piece, now, tables)
        mine = [w for w in windows if w.piece == piece.id]
        yield from _clock_lines(mine, now, zone)
        for finding in found:
            if finding.piece == piece.id:
                yield from _finding_lines(finding, state)
    yield ""
    counted = tally(found)
    yield f"In all: {counted}." if counted else "Nothing stands in the way."


def _piece_lines(state: State, piece: PieceState, now: datetime, tables: Tables) -> Iterator[str]:
    it = piece.piece
    substrate = tables.substrates.get(it.substrate)
    material = plain(substrate.name if substrate is not None else it.substrate)
    if substrate is None or substrate.known:
        material += f" ({_KNOWN[it.known]})"
    face = "painted behind clear" if it.face is Face.BEHIND_CLEAR else "painted outside"
    yield f"{plain(it.name)}: {material}, {it.flex.value}, {face}"
    if it.batch.strip():
        yield from _wrapped(say("Lot of the material: {lot}", lot=it.batch), "  ")
    step = step_of(state, piece, tables, now)
    yield from _wrapped(f"Next: {step.words}", "  ")
    layer = state.layers.get(step.layer or "")
    card = state.card_of(layer) if layer is not None else None
    if layer is not None and card is not None and step.hands:
        for hazard in hazards_of(card, layer, state.mix_for(layer)):
            yield from _wrapped(f"Take care: {tables.cautions[hazard]}", "  ")
    for number, each in enumerate(piece.layers, 1):
        yield from _wrapped(f"{number}. {_layer_words(state, each)}", "  ", hang=3)


def _layer_words(state: State, layer: LayerState) -> str:
    total, done = layer.plan.coats, layer.coats_done
    if layer.open_coat is not None:
        how = f"coat {layer.open_coat.number} of {total} is being sprayed"
    elif layer.finished:
        how = "its one coat is on" if done == 1 else f"all {done} coats are on"
    elif layer.started:
        how = f"{done} of {total} coats {'is' if done == 1 else 'are'} on"
    else:
        how = f"{total} coat{'' if total == 1 else 's'} planned"
    activator = state.activator_of(layer)
    with_what = f" with {activator.name}" if activator is not None else ""
    return f"{state.layer_name(layer)}{with_what}, {layer.plan.gun.value}: {how}"


def _clock_lines(windows: Sequence[Window], now: datetime, zone: tzinfo | None) -> Iterator[str]:
    wide = max((len(plain(w.layer_name)) for w in windows), default=0)
    for window in windows:
        span = window.span
        edge = span.opens_at if now < span.opens_at else span.closes_at
        when = f" ({_moment(edge, now, zone)})" if edge is not None and now < edge < FOR_GOOD else ""
        yield f"  {plain(window.layer_name):<{wide}}  {plain(window.words(now))}{when}"
        why = window.why(now)
        if why and not span.never:
            yield from _wrapped(why, " " * (wide + 4))


def _moment(when: datetime, now: datetime, zone: tzinfo | None) -> str:
    local = when.astimezone(zone)
    return f"{local:%H:%M}" if local.date() == now.date() else f"{local:%a %d %b %H:%M}"


def _finding_lines(finding: Finding, state: State) -> Iterator[str]:
    head = _SEVERITY[finding.severity] + (", signed off" if finding.waived else "")
    yield from _wrapped(f"{head}: {finding.message}", "  ")
    if not finding.waived:
        yield from _wrapped(finding.remedy, "    ", hang=0)
    if len(finding.told_of) > 1:
        yield from _wrapped(say("It is told of {strips}.", strips=told_of(state, finding)), "    ", hang=0)
    for echo in finding.others:
        if not echo.waived:
            yield from _wrapped(say("Also: {message}", message=echo.message), "    ", hang=0)


def _wrapped(text: str, indent: str = "", *, hang: int = 2) -> list[str]:
    return textwrap.wrap(
        plain(text),
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + " " * hang,
        break_on_hyphens=False,
    )
