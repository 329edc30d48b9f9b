"""The calendar file of a job: written whole or not at all, and never over something else."""

from datetime import timedelta
from pathlib import Path

from benchtool.session.ownfile import file_stem, save_own
from benchtool.session.session import Document, NotNow, Session
from benchtool.sheets.calendar import LEAST, PRODID, calendar_text, entries
from benchtool.store.faults import SaveFault
from benchtool.trade.numbers import span_words

__all__ = ["SaveFault", "nothing_to_tell", "save_calendar", "suggested_name", "write_calendar"]

_HEAD = 512


def write_calendar(session: Session, path: Path, *, document: Document | None = None, least: timedelta = LEAST) -> int:
    """Write the windows of `document`, else of the job in hand, that end `least` or more from now into a file.

    Gives how many entries there are.

    Raises:
        NotNow: no job is open, or nothing in it runs that long.
        SaveFault: the file can't be written, or holds something else; it is as it was.
    """
    document, now = document or session.current, session.now()
    if document is None:
        raise NotNow("No job is open. Open one, then write its calendar.")
    text = calendar_text(document.job, document.state, now, title=document.title, least=least)
    if not text:
        raise NotNow(nothing_to_tell(least))
    save_calendar(path, text)
    return len(entries(document.windows, now, least=least))


def nothing_to_tell(least: timedelta) -> str:
    """Say why there is no calendar."""
    so_long = span_words(least.total_seconds())
    return f"No window of this job ends {so_long} or more from now: a calendar would be empty."


def save_calendar(path: Path, text: str) -> None:
    """Write a calendar, atomically and durably (see `store.atomic`), over nothing but an earlier one from here.

    Raises:
        SaveFault: it was not written; the message says why and what to do.
    """
    save_own(path, text.encode(), lambda head: f"PRODID:{PRODID}\r\n".encode() in head, _HEAD)


def suggested_name(document: Document) -> str:
    """Suggest a file name that every system takes: `Name plate calendar.ics`."""
    stem = file_stem(document.title)
    return f"{stem or 'Job'} calendar.ics"
