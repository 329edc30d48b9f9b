"""The papers of a job: which there are, what stands on them, and their files, each whole or not at all.

How a PDF is drawn is a port: whoever has a toolkit says so once (`draw_with`), and nothing here knows of it.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path

from benchtool.job.care import finished_at
from benchtool.job.record import Job
from benchtool.job.state import State
from benchtool.job.windows import Window, all_windows
from benchtool.rules.finding import Tables
from benchtool.session.ownfile import file_stem
from benchtool.sheets.blocks import Paper, Sheet, Shown
from benchtool.sheets.calendar import entries
from benchtool.sheets.tables_csv import Table
from benchtool.trade.saying import say, say_n

__all__ = [
    "Ending", "Kind", "Offer", "Paper", "PhotoOf", "Renderer", "draw_with", "job_photos", "offers", "renderer",
    "sheet_of", "suggested_name",
]  # fmt: skip

PhotoOf = Callable[[Shown], bytes | None]
Renderer = Callable[[Sheet, Paper, PhotoOf], bytes]
"""Draws a sheet as a PDF."""


class Kind(StrEnum):
    """What a paper is, by the word for it in a script."""

    JOB = "job"
    CARE = "care"
    TABLE = "csv"
    CALENDAR = "calendar"
    FILE = "file"


class Ending(StrEnum):
    """What a file is, by how its name ends."""

    PDF = ".pdf"
    HTML = ".html"
    TEXT = ".txt"
    CSV = ".csv"
    ICS = ".ics"
    JSON = ".json"


SHEET_ENDINGS = (Ending.PDF, Ending.HTML, Ending.TEXT)


@dataclass(frozen=True, slots=True)
class Offer:
    """A paper of a job: `name` and `detail` tell the painter of it, `not_yet` why there is little on it so far."""

    key: str
    kind: Kind
    name: str
    detail: str
    piece: str | None = None
    table: Table | None = None
    not_yet: str = ""

    @property
    def endings(self) -> tuple[Ending, ...]:
        """What it can be kept as, the usual one first."""
        match self.kind:
            case Kind.TABLE:
                return (Ending.CSV,)
            case Kind.CALENDAR:
                return (Ending.ICS,)
            case Kind.FILE:
                return (Ending.JSON,)
            case _:
                return SHEET_ENDINGS

    @property
    def is_sheet(self) -> bool:
        """Whether it is printed, and not a file for another program."""
        return self.kind in (Kind.JOB, Kind.CARE)


# --- what there is ---------------------------------------------------------------------------------------


def offers(job: Job, state: State, now: datetime, windows: Sequence[Window] | None = None) -> list[Offer]:
    """List the papers of a job, those that are printed first; `windows` are its own, where they are known already."""
    found = [Offer("job", Kind.JOB, say("Job sheet"), say("All that was done, for your own records"))]
    found += [_care(state, piece.id) for piece in state.painted]
    counts = {
        Table.EVENTS: say_n("{n} entry, for a spreadsheet", "{n} entries, for a spreadsheet", len(job.events)),
        Table.MIXES: say_n("{n} cup, for a spreadsheet", "{n} cups, for a spreadsheet", len(state.mixes)),
        Table.READINGS: say_n("{n} reading, for a spreadsheet", "{n} readings, for a spreadsheet", len(state.readings)),
    }
    found += [Offer(f"csv-{table.value}", Kind.TABLE, table_name(table), counts[table], table=table) for table in Table]
    waits = len(entries(all_windows(state) if windows is None else windows, now))
    nothing = say("No wait of this job ends an hour or more from now.") if not waits else ""
    long = say_n("{n} long wait, for a phone", "{n} long waits, for a phone", waits)
    found.append(Offer("calendar", Kind.CALENDAR, say("Calendar"), long, not_yet=nothing))
    found.append(Offer("file", Kind.FILE, say("Copy of the job file"), say("The whole record, to open it elsewhere")))
    return found


def _care(state: State, piece: str) -> Offer:
    there = state.pieces[piece]
    ready = finished_at(there) is not None
    detail = say("For the customer, one page") if ready else say("For the customer; not all coats are on")
    not_yet = say("Not all coats of {piece} are on yet, so its care sheet gives no dates.", piece=there.piece.name)
    name = say("Care sheet, {piece}", piece=there.piece.name)
    return Offer(f"care-{piece}", Kind.CARE, name, detail, piece=piece, not_yet="" if ready else not_yet)


def table_name(table: Table) -> str:
    """Name a table on the list of papers."""
    match table:
        case Table.EVENTS:
            return say("Table of all entries")
        case Table.MIXES:
            return say("Table of the mixes")
        case _:
            return say("Table of the readings")


def suggested_name(title: str, offer: Offer, ending: Ending, state: State) -> str:
    """Suggest a file name that every system takes: `Name plate job sheet.pdf`."""
    if offer.kind is Kind.CARE and offer.piece in state.pieces:
        title = state.pieces[offer.piece].piece.name
    what = {
        "job": say("job sheet"), "care": say("care sheet"), "events": say("entries"), "mixes": say("mixes"),
        "readings": say("readings"), "calendar": say("calendar"), "file": say("copy"),
    }[offer.table.value if offer.table is not None else offer.kind.value]  # fmt: skip
    return f"{file_stem(title) or say('Job')} {file_stem(what)}{ending.value}"


# --- what stands on it -----------------------------------------------------------------------------------


def sheet_of(offer: Offer, job: Job, state: State, tables: Tables, now: datetime) -> Sheet:
    """Make the sheet of an offer that is one.

    Raises:
        KeyError: its piece is not in the job any more.
    """
    if offer.kind is Kind.CARE and offer.piece is not None:
        from benchtool.sheets.caresheet import care_sheet

        return care_sheet(job, state, tables, now, offer.piece)
    from benchtool.session.tables_identify import load_clues
    from benchtool.sheets.jobsheet import job_sheet

    return job_sheet(job, state, tables, now, clues=load_clues())


def photos_on(sheet: Sheet) -> Iterator[Shown]:
    """Give the photos of a sheet, each once."""
    from benchtool.sheets.blocks import Photos

    seen: set[tuple[str, str]] = set()
    for block in sheet.blocks:
        for shown in block.shown if isinstance(block, Photos) else ():
            if (shown.name, shown.sha256) not in seen:
                seen.add((shown.name, shown.sha256))
                yield shown


def job_photos(path: Path | None, *, drawn_anew: bool) -> PhotoOf:
    """Give what finds the photos of the job in this file, without the place and all else that a camera wrote in.

    One that can't be cleaned is left out, but where it is `drawn_anew`, as in a PDF: nothing of it but the picture
    goes on then. Nothing is raised: a photo that is gone is None, and so is each where no file is named; one that is
    there and damaged is empty.
    """
    from benchtool.store import photos
    from benchtool.store.photoclean import CantClean, cleaned

    def found(shown: Shown) -> bytes | None:
        if path is None:
            return None
        try:
            data = photos.read_kept(path, shown.name, shown.sha256)
        except photos.PhotoFault as fault:
            return b"" if fault.altered else None
        try:
            return cleaned(data)
        except CantClean:
            return data if drawn_anew else b""

    return found


# --- who draws a PDF -------------------------------------------------------------------------------------

_drawing: list[Callable[[], Renderer]] = []


def draw_with(make: Callable[[], Renderer]) -> None:
    """Say what draws PDFs; `make` is called when the first one is asked for."""
    _drawing[:] = [make]


def renderer() -> Renderer:
    """Give what draws PDFs.

    Raises:
        LookupError: nobody said what.
    """
    if not _drawing:
        raise LookupError("Nothing here draws a PDF.")
    return _drawing[0]()
