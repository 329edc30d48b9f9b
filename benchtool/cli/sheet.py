"""`benchtool sheet`: what leaves the bench: the job sheet, a care sheet, tables, a calendar, a copy of the job."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from benchtool.cli.common import FINE, Answer, Commands, Means, Parser, Unusable, printable, short

if TYPE_CHECKING:
    from benchtool.job.record import Job
    from benchtool.job.state import State
    from benchtool.session.papers import Ending, Offer
    from benchtool.sheets.blocks import Paper

TABLES = ("events", "mixes", "readings")
_KINDS = "a sheet ends in .pdf, .html or .txt, a table in .csv, a calendar in .ics, a copy of the job in .json"


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    sheet: Parser = commands.add_parser(
        "sheet",
        help="make the job sheet or a care sheet, tables or a copy",
        description="Make the job sheet, or the care sheet of a piece for the customer, as text or as a file.",
        epilog=f"The kind of the file is told by its ending: {_KINDS}. No file of another kind is written over. "
        "Exit status: 0 fine, 2 the job can't be used, or the file can't be written.",
    )
    sheet.add_argument("job", metavar="JOB", help="a job file, or the word demo")
    sheet.add_argument(
        "--care",
        metavar="PIECE",
        nargs="?",
        const="",
        help="the care sheet of this piece: its name, or how that begins",
    )
    sheet.add_argument("-o", "--out", metavar="FILE", help="write it into this file; without it, as text here")
    sheet.add_argument("--paper", metavar="SIZE", default="A4", help="the paper of a PDF: A4 (the usual) or letter")
    sheet.add_argument("--csv", metavar="TABLE", help="the table of events, mixes or readings, in place of a sheet")
    return sheet


class _Asked(NamedTuple):
    """What is made, of which job, and into which file."""

    offer: "Offer"
    job: "Job"
    state: "State"
    path: Path | None
    """Where the job's own file lies; None for a demo."""


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Make the sheet."""
    paper, ending = _paper(args.paper), _ending(args)
    asked, notes = _asked(args, means, ending)
    if asked.offer.table is not None or (ending is not None and not asked.offer.is_sheet):
        return _file(args, means, asked, ending, notes)
    return _sheet(args, means, asked, ending, paper, notes)


def _asked(args: argparse.Namespace, means: Means, ending: "Ending | None") -> tuple[_Asked, list[str]]:
    from benchtool.job.state import fold
    from benchtool.session.papers import Ending, Kind, offers

    job, notes = _open(args.job, means)
    state = fold(job)
    found = offers(job, state, means.now())
    if args.csv is not None:
        table = args.csv.strip().lower()
        if table not in TABLES:
            raise Unusable(f"--csv “{short(args.csv)}” is no table. Write events, mixes or readings.")
        offer = next(o for o in found if o.table is not None and o.table.value == table)
    elif args.care is not None:
        offer = _care(args.care, found, state)
    else:
        kinds = {Ending.ICS: Kind.CALENDAR, Ending.JSON: Kind.FILE}
        kind = kinds.get(ending, Kind.JOB) if ending is not None else Kind.JOB
        offer = next(o for o in found if o.kind is kind)
    if ending is Ending.CSV and args.csv is None:
        raise Unusable(f"“{short(args.out)}” is a table: say which, as --csv events, mixes or readings.")
    if ending is not None and ending not in offer.endings:
        wanted = " or ".join(e.value for e in offer.endings)
        raise Unusable(f"“{short(args.out)}” ends in {ending.value}, and this is kept as {wanted}.")
    return _Asked(offer, job, state, _own(args.job)), notes


def _open(name: str, means: Means) -> tuple["Job", list[str]]:
    from benchtool.job.record import SCHEMA, Job
    from benchtool.store.jobfile import JobFileFault

    try:
        opened = means.open_job(name)
    except JobFileFault as fault:
        raise Unusable(str(fault)) from None
    except OSError as fault:
        raise Unusable(f"“{short(name)}” can't be read: {fault.strerror or fault}.") from None
    job, notes = (opened, []) if isinstance(opened, Job) else (opened.job, list(opened.notes))
    if job.schema > SCHEMA and not notes:
        notes.append("This file was made by a newer version of this tool; what it added since is not on the sheet.")
    return job, notes


def _own(name: str) -> Path | None:
    path = Path(name)
    try:
        return path if path.exists() else None
    except (OSError, ValueError):
        return None


def _care(text: str, found: "list[Offer]", state: "State") -> "Offer":
    care = [(state.pieces[o.piece].piece.name, o) for o in found if o.piece is not None]
    said = printable(text).casefold()
    same = [o for name, o in care if printable(name).casefold() == said or o.piece == text]
    begins = [o for name, o in care if said and printable(name).casefold().startswith(said)]
    match = same or begins
    if len(match) == 1:
        return match[0]
    names = ", ".join(short(name) for name, _ in care[:8]) or "none"
    if not said:
        raise Unusable(f"Write the name of a piece after --care. Its pieces: {names}.")
    why = "fits more than one piece" if match else "is no piece of this job"
    raise Unusable(f"--care “{short(text)}” {why}. Its pieces: {names}.")


def _paper(text: str) -> "Paper":
    from benchtool.sheets.blocks import Paper

    names = {"a4": Paper.A4, "letter": Paper.LETTER, "us letter": Paper.LETTER, "us-letter": Paper.LETTER}
    paper = names.get(printable(text).casefold())
    if paper is None:
        raise Unusable(f"--paper “{short(text)}” is not known here. Write A4 or letter.")
    return paper


def _ending(args: argparse.Namespace) -> "Ending | None":
    from benchtool.session.papers import Ending

    if args.out is None:
        return None
    suffix = Path(args.out).suffix.lower()
    ending = next((e for e in Ending if e.value in (suffix, f"{suffix}l")), None) if suffix else None
    if ending is None:
        raise Unusable(f"“{short(args.out)}” does not say what to make: {_KINDS}.")
    return ending


# --- a sheet ---------------------------------------------------------------------------------------------


def _sheet(
    args: argparse.Namespace, means: Means, asked: _Asked, ending: "Ending | None", paper: "Paper", notes: list[str]
) -> Answer:
    from benchtool.session.paperfiles import SaveFault, save_bytes
    from benchtool.session.papers import Ending, job_photos, renderer, sheet_of
    from benchtool.sheets.sheettext import sheet_text, sheet_values

    sheet = sheet_of(asked.offer, asked.job, asked.state, means.tables(), means.now())
    values: dict[str, object] = {"sheet": sheet_values(sheet), "file": args.out, "notes": notes}
    if ending is None:
        return Answer(FINE, values, lambda: sheet_text(sheet))
    if ending is Ending.PDF:
        try:
            draw = renderer()
        except LookupError as no:
            raise Unusable(str(no)) from None
        data = draw(sheet, paper, job_photos(asked.path, drawn_anew=True))
        values["paper"] = paper.value
    elif ending is Ending.HTML:
        from benchtool.sheets.sheethtml import html_of

        data = html_of(sheet, job_photos(asked.path, drawn_anew=False)).encode("utf-8", "replace")
    else:
        data = sheet_text(sheet).encode("utf-8", "replace")
    try:
        save_bytes(Path(args.out), data, ending)
    except SaveFault as fault:
        raise Unusable(f"{fault}.") from None
    return Answer(FINE, values, lambda: _written(args.out))


# --- a file for another program --------------------------------------------------------------------------


def _file(args: argparse.Namespace, means: Means, asked: _Asked, ending: "Ending | None", notes: list[str]) -> Answer:
    from benchtool.session.paperfiles import SaveFault, job_copy, save_calendar, save_copy, save_table
    from benchtool.session.papers import Kind
    from benchtool.sheets.tables_csv import table_csv, table_values

    offer, job, state = asked.offer, asked.job, asked.state
    values: dict[str, object] = {"file": args.out, "notes": notes}
    try:
        if offer.table is not None:
            values |= {"table": offer.table.value, "rows": table_values(offer.table, job, state)}
            data, table = table_csv(offer.table, job, state), offer.table
            if ending is None:
                return Answer(FINE, values, lambda: _as_text(data))
            save_table(Path(args.out), table, data)
        elif offer.kind is Kind.CALENDAR:
            save_calendar(Path(args.out), _calendar(job, state, means))
        else:
            save_copy(Path(args.out), job_copy(job, asked.path), job, asked.path)
    except SaveFault as fault:
        raise Unusable(f"{fault}.") from None
    except (OSError, ValueError) as fault:
        why = getattr(fault, "strerror", None) or fault
        raise Unusable(f"The job can't be copied: {why}.") from None
    return Answer(FINE, values, lambda: _written(args.out))


def _calendar(job: "Job", state: "State", means: Means) -> str:
    from benchtool.session.calendars import nothing_to_tell
    from benchtool.sheets.calendar import LEAST, calendar_text

    text = calendar_text(job, state, means.now())
    if not text:
        raise Unusable(nothing_to_tell(LEAST))
    return text


def _as_text(data: bytes) -> str:
    """Give a table for standard output: without the mark of its coding, and with the line ends of a stream."""
    return data.decode("utf-8-sig").replace("\r\n", "\n")


def _written(name: str) -> str:
    return f"Written to {printable(name)}.\n"
