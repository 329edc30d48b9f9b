"""Keeping papers as files: written whole or not at all, and over nothing but an earlier one of the same kind."""

import re
from datetime import datetime
from pathlib import Path

from benchtool.job.record import SCHEMA, Job
from benchtool.session.calendars import save_calendar
from benchtool.session.document import Document
from benchtool.session.ownfile import save_own
from benchtool.session.papers import Ending, Kind, Offer
from benchtool.sheets.calendar import calendar_text
from benchtool.sheets.tables_csv import HEADS, LONGEST_HEAD, Table, is_table, table_csv, table_values
from benchtool.store import jobfile
from benchtool.store.faults import LARGEST, SaveFault
from benchtool.store.files import read_file, real_path
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

__all__ = ["TEXT_MARK", "SaveFault", "fault_words", "job_copy", "save_calendar", "save_copy", "save_html", "save_pdf",
           "save_table", "save_text"]  # fmt: skip

PDF_MARK = b"/benchtool-sheet"
"""Stands in the catalog of each PDF from here, which comes first in it."""
_PDF_HEAD = 4_096
_HTML_HEAD = 4_096
_LONGEST_CELL = 32
_GENERATOR = re.compile(rb'<meta name="generator" content="[^"]*benchtool[^"]*">', re.IGNORECASE)
TEXT_MARK = "-- benchtool sheet --"
"""The last line of a sheet that is kept as text: by it one of ours is known again."""


def save_pdf(path: Path, data: bytes) -> None:
    """Write a PDF of a sheet.

    Raises:
        SaveFault: it was not written; the message says why and what to do. So it is with all of these.
    """
    save_own(path, data, lambda head: head.startswith(b"%PDF") and PDF_MARK in head, _PDF_HEAD)


def save_html(path: Path, text: str) -> None:
    """Write a page of a sheet."""
    save_own(path, _utf8(text), lambda head: _GENERATOR.search(head) is not None, _HTML_HEAD)


def save_text(path: Path, text: str) -> None:
    """Write a sheet as text; a mark that it is one is its last line."""
    whole = f"{text.rstrip()}\n\n{TEXT_MARK}\n"
    mark = f"\n{TEXT_MARK}".encode()
    save_own(path, _utf8(whole), lambda there: mark in there[-64:].replace(b"\r\n", b"\n"), LARGEST)


def save_table(path: Path, table: Table, data: bytes) -> None:
    """Write a table."""
    save_own(path, data, lambda head: is_table(table, head), LONGEST_HEAD)


def fault_words(path: Path, fault: OSError | ValueError) -> str:
    """Say in words why what should be written to `path` could not be made; what fails in writing is a `SaveFault`."""
    why = (fault.strerror if isinstance(fault, OSError) else None) or str(fault)
    return say("{file} is not written: {why}.", file=path.name, why=why)


def job_copy(job: Job, path: Path | None) -> bytes:
    """Give the whole job file: as it stands, or where a newer version made it, as it lies at `path`.

    Raises:
        OSError, ValueError: it can't be read or written down.
    """
    if job.schema > SCHEMA and path is not None:
        return read_file(path, LARGEST)  # what that version added is in there, and not in what was understood of it
    return jobfile.dump(job)


def save_copy(path: Path, data: bytes, job: Job, own: Path | None) -> None:
    """Write a copy of a job file, over nothing but an earlier copy of the same job; never over the job's `own` file.

    A file in which this job goes on otherwise is no copy of it, and is left alone.
    """
    if own is not None and _same(path, own):
        raise SaveFault(path, say("This is the job's own file: choose another name for the copy"))
    known = {e.id: e for e in job.events}

    def earlier(_: bytes) -> bool:
        try:
            there = jobfile.load(path).job
        except jobfile.JobFileFault:
            return False
        return there.id == job.id and all(known.get(e.id) == e for e in there.events)

    save_own(path, data, earlier, 1)


def save_bytes(path: Path, data: bytes, ending: Ending) -> None:
    """Write a sheet that is made already, as what its ending says."""
    if ending is Ending.PDF:
        save_pdf(path, data)
    elif ending is Ending.HTML:
        save_html(path, data.decode())
    else:
        save_text(path, data.decode())


# --- what is no sheet ------------------------------------------------------------------------------------


def file_text(document: Document, offer: Offer, now: datetime) -> str:
    """Give what a file for another program holds, as a painter may read it.

    Raises:
        OSError, ValueError: it can't be read or written down.
    """
    if offer.table is not None:
        data = table_csv(offer.table, document.job, document.state)
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    if offer.kind is Kind.CALENDAR:
        return _calendar(document, now).replace("\r\n", "\n") or offer.not_yet
    return job_copy(document.job, document.path).decode("utf-8", "replace")


def table_shown(document: Document, offer: Offer) -> str:
    """Give a table with its columns straight, to look at; long cells are cut."""
    assert offer.table is not None
    rows = table_values(offer.table, document.job, document.state)
    cells = [[_cut(name) for name in HEADS[offer.table]], *([_cut(v) for v in row.values()] for row in rows)]
    widths = [max(len(row[n]) for row in cells) for n in range(len(cells[0]))]
    lines = ["  ".join(text.ljust(wide) for text, wide in zip(row, widths, strict=True)).rstrip() for row in cells]
    lines.insert(1, "  ".join("-" * wide for wide in widths))
    return "\n".join(lines)


def _cut(value: object) -> str:
    return shorten(" ".join(str(value if value is not None else "").split()), _LONGEST_CELL)


def save_file(path: Path, document: Document, offer: Offer, now: datetime) -> None:
    """Write a file for another program.

    Raises:
        SaveFault: it was not written; the message says why and what to do.
        OSError, ValueError: what it holds can't be read or written down.
    """
    if offer.table is not None:
        save_table(path, offer.table, table_csv(offer.table, document.job, document.state))
    elif offer.kind is Kind.CALENDAR:
        save_calendar(path, _calendar(document, now))
    else:
        save_copy(path, job_copy(document.job, document.path), document.job, document.path)


def _calendar(document: Document, now: datetime) -> str:
    return calendar_text(document.job, document.state, now, title=document.title)


def _utf8(text: str) -> bytes:
    return text.encode("utf-8", "replace")


def _same(one: Path, other: Path) -> bool:
    try:
        return real_path(one) == real_path(other)
    except (OSError, ValueError):
        return False
