"""Runs one command of the command line.

Only argparse is imported here; what reads records, units and tables is imported by the command that needs
it, so that a wrong word on the command line is answered at once.
"""

from collections.abc import Callable, Sequence
from datetime import datetime
from importlib import import_module
from typing import TYPE_CHECKING, TextIO

from benchtool.cli import COMMANDS
from benchtool.cli.common import FINE, INTERRUPTED, UNUSABLE, Help, Means, Parser, Unusable
from benchtool.cli.streams import json_text, refuse, write

if TYPE_CHECKING:
    from pathlib import Path

    from benchtool.job.record import Job
    from benchtool.job.shop import Shop
    from benchtool.rules.finding import Tables
    from benchtool.session.jobsearch import JobSearch
    from benchtool.session.library import CardLibrary
    from benchtool.store.jobfile import Opened
    from benchtool.trade.quantities import Measures


def run(
    argv: Sequence[str],
    *,
    now: Callable[[], datetime],
    tables: "Callable[[], Tables]",
    measures: "Callable[[], Measures]",
    open_job: "Callable[[str], Job | Opened]",
    out: TextIO,
    err: TextIO,
    stdin: TextIO | None = None,
    shop: "Callable[[], Shop] | None" = None,
    library: "Callable[[], CardLibrary] | None" = None,
    search: "Callable[[Sequence[Path]], JobSearch] | None" = None,
) -> int:
    """Answer one command and give its exit status: 0 fine, 1 trouble found, 2 unusable input.

    `argv` begins with the command; `now` gives the present instant with its zone; `open_job` opens the job
    of that file name; `shop` reads the painter's own tools where there are any, `library` gives their cards, `search`
    what looks through folders of jobs, the usual ones where none is named. Nothing is raised: whatever goes wrong is
    one line on `err`, and Ctrl+C gives 130.
    """
    means = Means(
        now=now, tables=tables, measures=measures, open_job=open_job, stdin=stdin, shop=shop, library=library,
        search=search,
    )  # fmt: skip
    try:
        try:
            args = _parser().parse_args(list(argv))
            answer = args.answer(args, means)
            status, text = answer.status, json_text(answer.values) if args.json else answer.text()
        except Help as asked:
            status, text = FINE, str(asked)
        return write(out, text if text.endswith("\n") else f"{text}\n", status)
    except KeyboardInterrupt:
        return INTERRUPTED
    except Unusable as fault:
        message = str(fault)
    except Exception as fault:  # noqa: BLE001 - a script is told in one line, whatever it was
        message = f"This can't be worked out ({type(fault).__name__}: {fault})."
    command = f" {argv[0]}" if argv and argv[0] in COMMANDS else ""
    refuse(err, f"benchtool{command}: {message}")
    return UNUSABLE


def _parser() -> Parser:
    parser = Parser(
        prog="benchtool",
        description="A bench companion for a custom painter, without its window.",
        epilog="benchtool JOB, or benchtool alone, opens the window.",
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=Parser)
    for name in COMMANDS:
        module = import_module(f"benchtool.cli.{name}")
        command = module.add(commands)
        command.add_argument("--json", action="store_true", help="answer with one JSON object, for scripts")
        command.set_defaults(answer=module.answer)
    return parser
