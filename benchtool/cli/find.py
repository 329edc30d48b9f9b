"""`benchtool find`: search all jobs for a piece, or list every piece that a recalled lot is on."""

import argparse
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, printable, short

if TYPE_CHECKING:
    from benchtool.session.jobfound import Found, Recall, Row
    from benchtool.session.jobsearch import JobSearch


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    find: Parser = commands.add_parser(
        "find",
        help="search all jobs for a piece, or for a recalled lot",
        description="Search all jobs for a piece: every word must be in its job, or begin a word of it. "
        "Or list every piece that a recalled lot is on.",
        epilog=(
            "examples:\n"
            "  benchtool find mill red\n"
            "  benchtool find customer:mill material:abs before:2026-03\n"
            "  benchtool find finding:tape note:scratch on:2025\n"
            "  benchtool find --lot A-12 --folder /media/old-jobs\n\n"
            "Words are looked for in the customer, job, piece, material, product, lot, colour note, finding (what was\n"
            "waived, what failed) and notes; one of these names and a colon asks there alone. before:, after: and on:\n"
            "take a year, a month or a day on which the piece was worked on. --lot takes the whole number on the can.\n"
            "The jobs are searched by an index, a cache that may be deleted at any time; --rebuild makes it anew.\n"
            "Exit status: 0 fine, 1 a job or a folder could not be read, 2 the input can't be used."
        ),
    )
    find.add_argument("words", nargs="*", metavar="WORDS", help="what to look for")
    find.add_argument("--lot", metavar="LOT", help="list every piece that this lot is on, or whose cup held it")
    find.add_argument("--folder", action="append", metavar="DIR", help="look in this folder instead of your usual ones")
    find.add_argument("--rebuild", action="store_true", help="read every job anew")
    return find


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Read what has changed, then look for the words or the lot."""
    search = _search(args, means)
    try:
        for _ in search.reading(rebuild=args.rebuild):
            pass
        if args.lot is not None:
            return _recalled(search.lots_of(args.lot), search)
        return _found(search.find(" ".join(args.words)), search)
    finally:
        search.close()


def _search(args: argparse.Namespace, means: Means) -> "JobSearch":
    from benchtool.session.jobwords import lot_key, read_query

    typed = " ".join(args.words)
    if args.lot is not None and args.words:
        raise Unusable("Give words, or --lot with a number, not both.")
    if args.lot is not None and not lot_key(args.lot).strip():
        raise Unusable("--lot takes the number that is on the can, such as A-12.")
    query = read_query(typed)
    if query.wrong:
        raise Unusable(printable(query.wrong))
    if args.lot is None and query.empty and not args.rebuild:
        raise Unusable("Say what to look for, such as a customer and a colour. Try benchtool find --help.")
    if means.search is None:
        raise Unusable("There are no folders of jobs here.")
    return means.search(_folders(args.folder or ()))


def _folders(names: Sequence[str]) -> list[Path]:
    for name in names:
        try:
            there = Path(name).is_dir()
        except (OSError, ValueError):
            there = False
        if not there:
            raise Unusable(f"--folder “{short(name)}” is no folder.")
    return [Path(name).absolute() for name in names]


def _found(found: "Found", search: "JobSearch") -> Answer:
    values = {
        "understood": found.told,
        "pieces": found.pieces,
        "jobs": found.jobs,
        "shown": len(found.rows),
        "results": [_row(row) for row in found.rows],
    }

    def lines() -> Iterator[str]:
        yield from _listed(found.rows)
        if found.asked:
            yield printable(found.count_words) + ("" if found.count_words.endswith(".") else ".")
        else:
            yield search.readiness.words
        if found.more:
            yield f"{found.more} more answer: add words to see them."

    return _answer(values, list(lines()), search, found.notes)


def _recalled(recall: "Recall", search: "JobSearch") -> Answer:
    values = {
        "lot": recall.number,
        "words": recall.words,
        "pieces": recall.pieces,
        "shown": len(recall.rows),
        "results": [_row(row) for row in recall.rows],
    }
    return _answer(values, [*_listed(recall.rows), printable(recall.words)], search, recall.notes)


def _answer(values: dict[str, Any], lines: list[str], search: "JobSearch", notes: Sequence[str]) -> Answer:
    faults = [{"file": str(path), "message": words} for path, words in search.faults()]
    values |= {
        "searched": [str(folder) for folder in search.folders()],
        "jobs_searched": search.readiness.jobs,
        "whole": search.whole and not faults,
        "same_job": [[str(path) for path in paths] for paths in search.twins()],
        "faults": faults,
        "notes": list(notes),
    }
    status = FINE if values["whole"] else TROUBLE
    return Answer(status, values, lambda: "\n".join([*lines, *(printable(note) for note in notes)]) + "\n")


def _row(row: "Row") -> dict[str, Any]:
    shown = row.shown
    told: dict[str, Any] = {
        "piece": shown.piece,
        "name": shown.name,
        "customer": shown.customer,
        "job": shown.job,
        "material": shown.material,
        "layers": [{"name": name, "coats": coats} for name, coats in shown.layers],
        "painted": shown.painted,
        "test_strip": shown.strip,
        "demo": shown.demo,
        "worked_on": row.day,
        "why": row.why,
        "as_of": row.as_of,
        "file": str(row.path),
    }
    if row.lot is not None:
        told |= {"use": row.lot.use.value, "lot": row.lot.number, "product": row.lot.product, "part": row.lot.part}
    return told


def _listed(rows: "Sequence[Row]") -> Iterator[str]:
    for row in rows:
        first, *rest = row.words.split("\n")
        yield printable(first)
        yield from (f"           {printable(line)}" for line in (*rest, str(row.path)))
        yield ""
