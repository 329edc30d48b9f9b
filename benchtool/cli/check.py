"""`benchtool check`: how a job stands, what is wrong with it, and what to do next."""

import argparse
import os
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, printable, seconds, short

if TYPE_CHECKING:
    from benchtool.job.record import Job
    from benchtool.job.state import State
    from benchtool.store.jobfile import Opened

AT_TAKES = "Write 2026-11-25T14:30:00+01:00 or ...Z, or this computer's own time as 2026-11-25 14:30, or a date."

_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
    r"(?:[Tt ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,9})?)?(?:[Zz]|[+-][0-9]{2}:[0-9]{2})?)?"
)
_YEARS = range(1970, 3000)


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    check: Parser = commands.add_parser(
        "check",
        help="say how a job stands: what runs, what is wrong, what to do next",
        description="Say how a job stands: what runs, what is wrong, what to do next.",
        epilog="Exit status: 0 fine, 1 a stop that nobody signed off, 2 the job or the time can't be used, or no "
        "calendar can be written.",
    )
    check.add_argument("job", metavar="JOB", help="a job file, or the word demo")
    check.add_argument(
        "--at",
        metavar="TIME",
        help="look at the job as it stood then: 2026-11-25T14:30:00+01:00, or 2026-11-25 14:30 in this "
        "computer's own time, or a date for the start of that day",
    )
    check.add_argument(
        "--calendar",
        metavar="FILE",
        help="write the windows that end an hour or more from then into this file as iCalendar, for a phone; "
        "- writes them to standard output in place of the answer",
    )
    check.add_argument("--least", metavar="SPAN", help="with --calendar: windows that end so much later, as 30min")
    return check


def read_moment(text: str) -> datetime:
    """Read an instant: RFC 3339, or a local date and time, or a date for the start of that local day.

    Raises:
        Unusable: it is none of these, or no record reaches there.
    """
    found = _MOMENT.fullmatch(text.strip())
    try:
        if found is None:
            raise ValueError
        moment = datetime.fromisoformat(found[0].upper())
        if moment.year not in _YEARS:
            raise ValueError
        return moment.astimezone(UTC)  # a time without a zone is taken as this computer's own
    except (ValueError, OverflowError, OSError):
        raise Unusable(f"--at “{short(text)}” is no time. {AT_TAKES}") from None


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Say how the job stands."""
    asked = read_moment(args.at) if args.at is not None else None
    least = _least(args)
    whole, notes = _open(args.job, means.open_job)

    from benchtool.job.record import as_of
    from benchtool.job.state import fold
    from benchtool.rules.engine import findings
    from benchtool.rules.finding import Severity
    from benchtool.sheets.state_answer import state_answer
    from benchtool.sheets.state_text import state_text

    at = asked or means.now()
    job = as_of(whole, at) if asked is not None else whole
    left_out = len(whole.events) - len(job.events)
    if left_out:
        entries = "1 later entry is" if left_out == 1 else f"{left_out} later entries are"
        notes.append(f"This is how the job stood then: {entries} left out.")
    state, known = fold(job), means.tables()
    try:
        found = findings(job, state, at, known)
        values = state_answer(job, state, found, at, known) | {"left_out_events": left_out, "notes": notes}
        calendar = _calendar(job, state, at, least) if args.calendar is not None else ""
    except OverflowError:
        raise Unusable("A card in this job holds a time so long that no calendar reaches its end.") from None
    stopped = any(f.severity is Severity.STOP and not f.waived for f in found)
    status = TROUBLE if stopped else FINE
    if args.calendar == "-":
        # A text stream writes each newline as its system does: where that is CRLF, it makes the CR itself.
        return Answer(status, values, lambda: calendar.replace("\r\n", "\n") if os.linesep == "\r\n" else calendar)
    said = ""
    if args.calendar is not None:
        count = _save_calendar(args.calendar, calendar)
        values["calendar"] = {"file": args.calendar, "entries": count}
        said = f"\nThe calendar in {printable(args.calendar)} has {count} entr{'y' if count == 1 else 'ies'}.\n"
    return Answer(status, values, lambda: state_text(job, state, found, at, known, notes=notes) + said)


def _least(args: argparse.Namespace) -> timedelta | None:
    """Read how long a window must run to be told in a calendar; None for what is usual."""
    if args.calendar is None:
        if args.least is not None:
            raise Unusable("--least says which windows go into a calendar: write --calendar FILE too.")
        return None
    if not args.calendar:
        raise Unusable("--calendar names no file. Write a file name such as tank.ics, or - for standard output.")
    if args.calendar == "-" and args.json:
        raise Unusable("--calendar - and --json both want standard output: write the calendar to a file.")
    return timedelta(seconds=seconds("--least", args.least)) if args.least is not None else None


def _calendar(job: "Job", state: "State", at: datetime, least: timedelta | None) -> str:
    from benchtool.session.calendars import nothing_to_tell
    from benchtool.sheets.calendar import LEAST, calendar_text

    least = LEAST if least is None else least
    text = calendar_text(job, state, at, least=least)
    if not text:
        raise Unusable(nothing_to_tell(least))
    return text


def _save_calendar(name: str, text: str) -> int:
    from pathlib import Path

    from benchtool.session.calendars import SaveFault, save_calendar

    try:
        save_calendar(Path(name), text)
    except SaveFault as fault:
        raise Unusable(f"{fault}.") from None
    return text.count("\r\nBEGIN:VEVENT\r\n")


def _open(name: str, open_job: Callable[[str], "Job | Opened"]) -> tuple["Job", list[str]]:
    from benchtool.job.record import SCHEMA, Job
    from benchtool.store.jobfile import JobFileFault

    try:
        opened = open_job(name)
    except JobFileFault as fault:
        raise Unusable(str(fault)) from None
    except OSError as fault:
        raise Unusable(f"“{short(name)}” can't be read: {fault.strerror or fault}.") from None
    job, notes = (opened, []) if isinstance(opened, Job) else (opened.job, list(opened.notes))
    newer = job.schema > SCHEMA if isinstance(opened, Job) else opened.newer
    if newer and not notes:
        notes.append("This file was made by a newer version of this tool; what it added since is not looked at.")
    return job, notes
