"""The calendar file of a job: written whole or not at all, and never over something else."""

from datetime import timedelta
from pathlib import Path

from benchtool.session.session import Document, NotNow, Session
from benchtool.sheets.calendar import LEAST, PRODID, calendar_text, entries
from benchtool.store import atomic
from benchtool.store.faults import SaveFault, cant_save
from benchtool.trade.numbers import span_words

__all__ = ["SaveFault", "nothing_to_tell", "save_calendar", "suggested_name", "write_calendar"]

_LONGEST_TITLE = 50
"""Four octets a character at the most, and the end of the name: still within the 255 of most disks."""
_NOT_IN_NAMES = frozenset('<>:"/\\|?*')
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
    if not _ours(path):
        raise SaveFault(path, "This file holds something else and is left as it is: choose another name")
    try:
        atomic.write(path, text.encode(), keep=0)
    except (OSError, ValueError) as fault:
        raise cant_save(path, fault) from None


def _ours(path: Path) -> bool:
    """Whether nothing is lost by writing here; what is no file at all is for the writing to refuse."""
    if not path.is_file():
        return True
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
    except OSError:
        return False  # nobody can tell what would be lost
    return not head or f"PRODID:{PRODID}\r\n".encode() in head


def suggested_name(document: Document) -> str:
    """Suggest a file name that every system takes: `Name plate calendar.ics`."""
    kept = "".join(" " if c in _NOT_IN_NAMES or not c.isprintable() else c for c in document.title)
    stem = " ".join(kept.split())[:_LONGEST_TITLE].strip(" .-~")
    return f"{stem or 'Job'} calendar.ics"
