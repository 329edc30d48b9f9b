"""The job sheet: all that stands in the record of a job, for the shop's own file and for whoever repairs it later.

What was taken back is left out, and nothing is made up: what nobody entered is said to be not logged. A job of many
layers is written in tables, with the same in them.
"""

from collections.abc import Collection, Iterator
from datetime import datetime, tzinfo

from benchtool.job import events as ev
from benchtool.job.record import Job, withdrawn_ids
from benchtool.job.state import PieceState, State
from benchtool.rules.engine import findings
from benchtool.rules.finding import Finding, Severity, Tables
from benchtool.rules.onstrips import told_of
from benchtool.sheets.blocks import Block, Caution, Facts, Grid, Heading, Sheet, Words
from benchtool.sheets.jobsheet_layers import NONE, cups_in_tables, layers_in_full, layers_in_tables
from benchtool.sheets.jobsheet_piece import about, photos, prep, stack, trial, trial_at_large
from benchtool.sheets.jobsheet_told import Told, tell
from benchtool.sheets.sheetwords import joined, moment, not_logged
from benchtool.trade.identify import ClueTable
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

MOST_IN_FULL = 12
"""So many layers are written each by itself; in a longer job tables are easier to find one's way in (judgement)."""


def job_sheet(
    job: Job,
    state: State,
    tables: Tables,
    now: datetime,
    *,
    pieces: Collection[str] | None = None,
    zone: tzinfo | None = None,
    clues: ClueTable | None = None,
) -> Sheet:
    """Make the job sheet of `job` as it stands at `now`.

    `pieces` are the ids of those to be written, None for all with the test strips last; `clues` is the table that says
    in words what was found of a material. Times are those of `zone`, None for this computer's own.
    """
    told = tell(job, state, tables, now, zone, clues)
    title = state.title.strip() or say("A job without a name")
    return Sheet(
        title=say("Job sheet: {title}", title=title),
        under=joined((_for(state), say("as it stands on {when}", when=moment(now, zone)))),
        blocks=tuple(_blocks(told, pieces)),
        foot=say("{title}, as of {when}", title=shorten(title), when=moment(now, zone)),
    )


def _for(state: State) -> str:
    customer = state.customer.strip()
    return say("For {customer}", customer=customer) if customer else ""


def _blocks(told: Told, chosen: Collection[str] | None) -> Iterator[Block]:
    every = list(told.state.pieces.values())
    shown = [p for p in every if chosen is None or p.id in chosen]
    painted = [p for p in shown if not told.state.is_strip(p)]
    strips = [p for p in shown if told.state.is_strip(p)]
    yield from _head(told)
    if not shown:
        yield Words(say("There is no piece in this job yet."))
    in_full = sum(len(p.layers) for p in painted) <= MOST_IN_FULL
    cups: set[str] = set()
    for piece in painted:
        yield from _piece(told, piece, cups, in_full=in_full)
    tried = {trial.id: trial for p in strips if (trial := told.state.trial_of(p.id)) is not None}
    for trial_state in tried.values():
        yield from trial_at_large(told, trial_state)
    for piece in strips:
        yield from _piece(told, piece, cups, in_full=False)
    yield from _other_cups(told, shown, cups, everything=chosen is None)
    found = findings(told.job, told.state, told.now, told.tables)
    ids = {p.id for p in shown} if chosen is not None else None
    yield from _findings(told, found, ids)
    yield from _waivers(told, found, ids)
    yield from _put_right(told)


def _head(told: Told) -> Iterator[Block]:
    state, job = told.state, told.job
    if job.demo:
        yield Caution(say("These numbers are not a data sheet."), say("Demo"))
    rows = [
        (say("Customer"), state.customer.strip() or not_logged()),
        (say("Begun"), moment(job.created, told.zone)),
        (say("Promised"), moment(state.promised, told.zone) if state.promised is not None else ""),
        (say("Taken from"), _taken(state)),
        (say("Note"), state.note.strip()),
        (say("On the file"), job.note.strip()),
        (say("Job"), job.id),
    ]
    yield Facts(tuple(row for row in rows if row[1]))


def _taken(state: State) -> str:
    taken = state.taken_from
    return (
        say("{how} of {title}", how=say(taken.how.value), title=taken.title or taken.job) if taken is not None else ""
    )


def _piece(told: Told, piece: PieceState, cups: set[str], *, in_full: bool) -> Iterator[Block]:
    yield Heading(piece.piece.name)
    yield about(told, piece)
    if piece.layers:
        yield stack(told, piece)
    yield from prep(told, piece)
    yield from trial(told, piece)
    if not piece.layers:
        yield Words(say("No layer is planned."))
    elif in_full:
        yield from layers_in_full(told, piece, cups)
    else:
        yield from layers_in_tables(told, piece)
    yield from photos(told, piece)


def _other_cups(told: Told, shown: list[PieceState], written: set[str], *, everything: bool) -> Iterator[Block]:
    """Write the cups that no layer above shows: all of a job in tables, and those whose layer was taken out."""
    if everything:
        cups = list(told.state.mixes)
    else:
        cups = [mix.id for piece in shown for layer in piece.layers for mix in told.cups_of(layer)]
    left = sorted({mix for mix in cups if mix not in written}, key=lambda mix: told.cups[mix])
    yield from cups_in_tables(told, [told.state.mixes[mix] for mix in left])


# --- what the rules say, and what was signed ----------------------------------------------------------------


def _findings(told: Told, found: tuple[Finding, ...], pieces: set[str] | None) -> Iterator[Block]:
    stand = [f for f in found if not f.waived and _concerns(told, f, pieces)]
    yield Heading(say("Findings that stand"))
    if not stand:
        yield Words(say("None."))
        return
    yield Grid((say("Where"), say("How grave"), say("What"), say("What to do")), tuple(_row(told, f) for f in stand))


def _concerns(told: Told, finding: Finding, pieces: set[str] | None) -> bool:
    about = set(finding.told_of) & set(told.state.pieces)
    return pieces is None or not about or bool(about & pieces)


def _row(told: Told, finding: Finding) -> tuple[str, ...]:
    also = [say("Also: {message}", message=echo.message) for echo in finding.others if not echo.waived]
    return _where(told, finding), _severity(finding), " ".join([finding.message, *also]), finding.remedy


def _where(told: Told, finding: Finding) -> str:
    if len(finding.told_of) > 1:
        return told_of(told.state, finding)
    piece = told.state.pieces.get(finding.piece or "")
    layer = told.state.layers.get(finding.layer or "")
    names = (piece.piece.name if piece is not None else "", told.state.layer_name(layer) if layer is not None else "")
    return joined(names) or say("the record")


def _severity(finding: Finding) -> str:
    return {
        Severity.STOP: say("Stop"),
        Severity.CAUTION: say("Caution"),
        Severity.NOTE: say("Note"),
    }[finding.severity]


def _waivers(told: Told, found: tuple[Finding, ...], pieces: set[str] | None) -> Iterator[Block]:
    """Write every waiver, but for those known to be of a piece that is not on this sheet."""
    keys = {f.key: f for each in found for f in (each, *each.echoes)}
    signed = [w for w in told.state.waivers if w.key not in keys or _concerns(told, keys[w.key], pieces)]
    if not signed:
        return
    yield Heading(say("Gone on with in spite of a finding"))
    rows = tuple((moment(w.at, told.zone), w.message or NONE, w.reason) for w in sorted(signed, key=lambda w: w.at))
    yield Grid((say("Signed"), say("What was found"), say("Why the work went on")), rows)


# --- times put right -------------------------------------------------------------------------------------------


def _put_right(told: Told) -> Iterator[Block]:
    """Say which times were corrected later, and what was answered where the clock was in doubt."""
    gone = withdrawn_ids(told.job.events)
    entered = {e.id: e for e in told.job.events}
    moved: dict[str, ev.Corrected] = {}
    for event in told.job.events:
        if isinstance(event, ev.Corrected) and event.id not in gone and event.event in told.by_id:
            moved[event.event] = event
    rows = [
        (_what(told, told.by_id[of]), moment(entered[of].at, told.zone), moment(told.by_id[of].at, told.zone))
        for of in moved
    ]
    answers = [(i, e) for i, e in told.events if isinstance(e, ev.ClockAnswered) and (e.by_s or e.words)]
    if not rows and not answers:
        return
    yield Heading(say("Times put right"))
    if rows:
        yield Grid((say("What"), say("Entered as"), say("Really at")), tuple(rows))
    for _, answer in answers:
        yield Words(
            say("The clock was in doubt on {when}: {words}",
                when=moment(answer.at, told.zone), words=answer.words.strip() or NONE)
        )  # fmt: skip


def _what(told: Told, event: ev.Event) -> str:
    layer, piece = getattr(event, "layer", None), getattr(event, "piece", None)
    on = told.state.layers.get(layer) if isinstance(layer, str) else None
    of = told.state.pieces.get(on.piece if on is not None else piece if isinstance(piece, str) else "")
    names = (of.piece.name if of is not None else "", told.state.layer_name(on) if on is not None else "")
    return (
        say("{where}: {what}", where=joined(names), what=ev.event_words(event)) if any(names) else ev.event_words(event)
    )
