"""`benchtool check`: how a job stands, what is wrong with it, and what to do next."""

import argparse
import re
from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, short

if TYPE_CHECKING:
    from benchtool.job.record import Job
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
        epilog="Exit status: 0 fine, 1 a stop that nobody signed off, 2 the job or the time can't be used.",
    )
    check.add_argument("job", metavar="JOB", help="a job file, or the word demo")
    check.add_argument(
        "--at",
        metavar="TIME",
        help="look at the job as it stood then: 2026-11-25T14:30:00+01:00, or 2026-11-25 14:30 in this "
        "computer's own time, or a date for the start of that day",
    )
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
        values = state_answer(job, state, found, at) | {"left_out_events": left_out, "notes": notes}
    except OverflowError:
        raise Unusable("A card in this job holds a time so long that no calendar reaches its end.") from None
    stopped = any(f.severity is Severity.STOP and not f.waived for f in found)
    status = TROUBLE if stopped else FINE
    return Answer(status, values, lambda: state_text(job, state, found, at, known, notes=notes))


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
