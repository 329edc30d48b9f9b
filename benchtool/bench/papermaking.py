"""What a paper is made of, and how its sheet is made in a thread beside the window."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from benchtool.bench.sheetpdfpages import Pages
from benchtool.job.record import Job
from benchtool.job.state import fold
from benchtool.rules.finding import Tables
from benchtool.session.papers import Offer, job_photos, sheet_of
from benchtool.session.session import Document
from benchtool.sheets.blocks import Sheet


@dataclass(eq=False)
class Made:
    """What is shown: of which job, the sheet with its pages where it is one, else the text of the file."""

    document: Document
    offer: Offer
    sheet: Sheet | None = None
    pages: Pages | None = None
    text: str = ""


def sheet_made(offer: Offer, job: Job, tables: Tables, now: datetime) -> Sheet | str:
    """Make a sheet in the thread, from a state of its own: the one of the window goes on meanwhile.

    Gives what is wrong as text, where it can't be made.
    """
    try:
        return sheet_of(offer, job, fold(job), tables, now)
    except Exception as fault:  # noqa: BLE001 - whatever is wrong with a record, the page says so and stays
        return str(fault) or type(fault).__name__


def html_made(sheet: Sheet, path: Path) -> bytes:
    """Make the page of a sheet for a browser, with the photos of the job in this file."""
    from benchtool.sheets.sheethtml import html_of

    return html_of(sheet, job_photos(path, drawn_anew=False)).encode("utf-8", "replace")


def tried(make: Callable[[], bytes]) -> bytes | Exception:
    """Make a file in the thread; gives what went wrong, where something did."""
    try:
        return make()
    except Exception as fault:  # noqa: BLE001 - the page says what it was
        return fault


def text_of(made: Made) -> str:
    """Give what is shown as text."""
    from benchtool.sheets.sheettext import sheet_text

    return sheet_text(made.sheet) if made.sheet is not None else made.text
