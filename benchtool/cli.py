"""The same sums and rules without a window: `benchtool check` and `benchtool mix`.

Only argparse is imported here; what reads records, units and tables is imported by the command that needs
it, so that a wrong word on the command line is answered at once and the window starts no later for it.
"""

import argparse
import contextlib
import math
import os
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn, TextIO

if TYPE_CHECKING:
    from benchtool.job.record import Job
    from benchtool.rules.finding import Tables
    from benchtool.sheets.mix_sheet import MixSheet
    from benchtool.store.jobfile import Opened
    from benchtool.trade.mixing import Part
    from benchtool.trade.quantities import Amount, Measures

COMMANDS: frozenset[str] = frozenset({"check", "mix"})
"""The words that `run` answers to; anything else opens the window."""

FINE, TROUBLE, UNUSABLE, INTERRUPTED = 0, 1, 2, 130
"""Exit statuses; 130 is what a shell gives a program that Ctrl+C ended."""

MOST_PARTS = 20
"""A recipe in a job file holds no more parts than this."""

RATIO_NAMES = ("base", "activator", "reducer", "additive")

AT_TAKES = "Write 2026-11-25T14:30:00+01:00 or ...Z, or this computer's own time as 2026-11-25 14:30, or a date."

_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
    r"(?:[Tt ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,9})?)?(?:[Zz]|[+-][0-9]{2}:[0-9]{2})?)?"
)
_YEARS = range(1970, 3000)


class Unusable(Exception):
    """The input can't be used; the message is one sentence that says what to write instead."""


class _Help(Exception):
    """Help was asked for; the message is its text."""


class _Answer(NamedTuple):
    """What a command has to say: the exit status, the JSON object, and the text for a reader."""

    status: int
    values: Mapping[str, object]
    text: Callable[[], str]


def run(
    argv: Sequence[str],
    *,
    now: Callable[[], datetime],
    tables: Callable[[], "Tables"],
    measures: Callable[[], "Measures"],
    open_job: Callable[[str], "Job | Opened"],
    out: TextIO,
    err: TextIO,
) -> int:
    """Answer one command and give its exit status: 0 fine, 1 trouble found, 2 unusable input.

    `argv` begins with the command; `now` gives the present instant with its zone; `open_job` opens the job
    of that file name. Nothing is raised: whatever goes wrong is one line on `err`, and Ctrl+C gives 130.
    """
    try:
        try:
            args = _parser().parse_args(list(argv))
            answer = _check(args, now, tables, open_job) if args.command == "check" else _mix(args, measures)
            status, text = answer.status, _json(answer.values) if args.json else answer.text()
        except _Help as asked:
            status, text = FINE, str(asked)
        return _write(out, text, status)
    except KeyboardInterrupt:
        return INTERRUPTED
    except Unusable as fault:
        message = str(fault)
    except Exception as fault:  # noqa: BLE001 - a script is told in one line, whatever it was
        message = f"This can't be worked out ({type(fault).__name__}: {fault})."
    command = f" {argv[0]}" if argv and argv[0] in COMMANDS else ""
    _refuse(err, f"benchtool{command}: {message}")
    return UNUSABLE


# --- the command line ----------------------------------------------------------------------------------


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line, never by a page of usage, and leaves printing and leaving to `run`."""

    def __init__(self, **options: Any) -> None:
        super().__init__(allow_abbrev=False, formatter_class=argparse.RawDescriptionHelpFormatter, **options)
        self.color = False  # Python 3.14 would colour the help

    def error(self, message: str) -> NoReturn:
        raise Unusable(f"{message}. Try {self.prog} --help")

    def print_help(self, file: object = None) -> None:  # noqa: ARG002 - the shape that argparse calls
        raise _Help(self.format_help())


def _parser() -> _Parser:
    parser = _Parser(
        prog="benchtool",
        description="A bench companion for a custom painter, without its window.",
        epilog="benchtool JOB, or benchtool alone, opens the window.",
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=_Parser)
    check = commands.add_parser(
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
    check.add_argument("--json", action="store_true", help="answer with one JSON object, for scripts")
    mix = commands.add_parser(
        "mix",
        help="work out the parts of a mix, check what was poured, and mend it",
        description="Work out the parts of a mix, check what was poured, and mend it.",
        epilog=(
            "examples:\n"
            "  benchtool mix --ratio 4:1:1 --make 100mL\n"
            "  benchtool mix --part base=100 --part activator=2%base --part reducer=1xactivated --make 30mL\n"
            "  ... --poured base=1floz --poured activator=1mL\n\n"
            "A share is a plain number of parts, or of something: 2%base, 10%total, 1xactivated, 5%NAME.\n"
            "Amounts take any unit; a fluid ounce, pint or gallon is the US one unless you write imperial.\n"
            "Exit status: 0 fine, 1 a part as poured is out of tolerance, 2 the input can't be used."
        ),
    )
    mix.add_argument("--part", action="append", metavar="NAME=SHARE", help="one ingredient, in pour order")
    mix.add_argument("--ratio", metavar="A:B:C", help="instead of --part: base, activator, reducer, additive")
    mix.add_argument("--make", metavar="AMOUNT", help="how much to make; a weight where every part has a density")
    mix.add_argument("--poured", action="append", metavar="NAME=AMOUNT", help="what is in the cup already")
    mix.add_argument("--density", action="append", metavar="NAME=g/mL", help="density of a part, for weights")
    mix.add_argument("--json", action="store_true", help="answer with one JSON object, for scripts")
    return parser


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
        raise Unusable(f"--at “{_short(text)}” is no time. {AT_TAKES}") from None


# --- check ---------------------------------------------------------------------------------------------


def _check(
    args: argparse.Namespace,
    now: Callable[[], datetime],
    tables: Callable[[], "Tables"],
    open_job: Callable[[str], "Job | Opened"],
) -> _Answer:
    asked = read_moment(args.at) if args.at is not None else None
    whole, notes = _open(args.job, open_job)

    from benchtool.job.record import as_of
    from benchtool.job.state import fold
    from benchtool.rules.engine import findings
    from benchtool.rules.finding import Severity
    from benchtool.sheets.state_answer import state_answer
    from benchtool.sheets.state_text import state_text

    at = asked or now()
    job = as_of(whole, at) if asked is not None else whole
    left_out = len(whole.events) - len(job.events)
    if left_out:
        entries = "1 later entry is" if left_out == 1 else f"{left_out} later entries are"
        notes.append(f"This is how the job stood then: {entries} left out.")
    state, known = fold(job), tables()
    try:
        found = findings(job, state, at, known)
        values = state_answer(job, state, found, at) | {"left_out_events": left_out, "notes": notes}
    except OverflowError:
        raise Unusable("A card in this job holds a time so long that no calendar reaches its end.") from None
    stopped = any(f.severity is Severity.STOP and not f.waived for f in found)
    status = TROUBLE if stopped else FINE
    return _Answer(status, values, lambda: state_text(job, state, found, at, known, notes=notes))


def _open(name: str, open_job: Callable[[str], "Job | Opened"]) -> tuple["Job", list[str]]:
    from benchtool.job.record import SCHEMA, Job
    from benchtool.store.jobfile import JobFileFault

    try:
        opened = open_job(name)
    except JobFileFault as fault:
        raise Unusable(str(fault)) from None
    except OSError as fault:
        raise Unusable(f"“{_short(name)}” can't be read: {fault.strerror or fault}.") from None
    job, notes = (opened, []) if isinstance(opened, Job) else (opened.job, list(opened.notes))
    newer = job.schema > SCHEMA if isinstance(opened, Job) else opened.newer
    if newer and not notes:
        notes.append("This file was made by a newer version of this tool; what it added since is not looked at.")
    return job, notes


# --- mix -----------------------------------------------------------------------------------------------


def _mix(args: argparse.Namespace, measures: Callable[[], "Measures"]) -> _Answer:
    from benchtool.sheets.mix_sheet import mix_answer, mix_text
    from benchtool.trade.mixing import NotAShare

    try:
        sheet = _sheet(args, measures)
    except NotAShare as fault:
        raise Unusable(str(fault)) from None
    return _Answer(FINE if sheet.in_tolerance else TROUBLE, mix_answer(sheet), lambda: mix_text(sheet))


def _sheet(args: argparse.Namespace, measures: Callable[[], "Measures"]) -> "MixSheet":
    from benchtool.sheets.mix_sheet import MixSheet
    from benchtool.trade.mixing import amounts_mL, check_pours, fractions, size_in_cup

    parts = _parts(args)
    shares = fractions(parts)
    if not min(shares) > 0:
        raise Unusable("One part is so small beside the others that no cup could hold it.")
    units = measures()
    typed = _of_parts("--poured", args.poured, "base=29.6mL", (p.name for p in parts))
    poured = {
        p.name: _amount(units, "--poured", typed[p.name], p.density_g_mL, p.name) for p in parts if p.name in typed
    }
    in_cup_mL = size_in_cup(shares, [poured[p.name].mL if p.name in poured else None for p in parts])
    if not math.isfinite(in_cup_mL):
        raise Unusable("What was poured is so far off that no cup could mend it.")
    make = None
    if args.make is not None:
        densities = [p.density_g_mL for p in parts]
        known = [d for d in densities if d is not None]
        of_mix = sum(f * d for f, d in zip(shares, known, strict=True)) if len(known) == len(parts) else None
        make = _amount(units, "--make", _printable(args.make), of_mix, "every part")
    elif not poured:
        raise Unusable("Say how much to make, such as --make 30mL.")
    elif not in_cup_mL > 0:
        raise Unusable("Nothing is in the cup yet: say how much to make, such as --make 30mL.")
    want_mL = amounts_mL(parts, make.mL if make is not None else in_cup_mL)
    checks = check_pours(parts, {name: a.mL for name, a in poured.items()}) if poured else ()
    return MixSheet(parts=parts, make=make, want_mL=want_mL, poured=poured, checks=checks)


def _parts(args: argparse.Namespace) -> "tuple[Part, ...]":
    from benchtool.trade.mixing import NotAShare, Of, Part, Share, guess_kind, parse_ratio, parse_share

    shares: dict[str, Share] = {}
    if args.ratio is not None:
        if args.part:
            raise Unusable("Give --ratio or --part, not both.")
        for i, number in enumerate(parse_ratio(_printable(args.ratio))):
            name = RATIO_NAMES[i] if i < len(RATIO_NAMES) else f"additive {i - len(RATIO_NAMES) + 2}"
            shares[name] = Share(number, Of.PARTS)
    for name, text in _named("--part", args.part, "base=100").items():
        try:
            shares[name] = parse_share(text)
        except NotAShare as fault:
            raise Unusable(f"--part {_short(name)}: {fault}") from None
        if not 0 < shares[name].value < math.inf:
            raise Unusable(f"--part {_short(name)}: “{_short(text)}” is no amount of anything. Leave such a part out.")
    if not shares:
        raise Unusable("Say what goes into it: --part base=100 and so on for each part, or --ratio 4:1:1.")
    if len(shares) > MOST_PARTS:
        raise Unusable(f"A mix has at most {MOST_PARTS} parts.")
    typed = _of_parts("--density", args.density, "base=1.05", shares)
    densities = {name: _density(text) for name, text in typed.items()}
    return tuple(
        Part(name=name, kind=guess_kind(name, first=i == 0), share=share, density_g_mL=densities.get(name))
        for i, (name, share) in enumerate(shares.items())
    )


def _named(option: str, texts: Sequence[str] | None, example: str) -> dict[str, str]:
    given: dict[str, str] = {}
    for text in texts or ():
        name, _, value = (part.strip() for part in _printable(text).partition("="))
        if not name or not value:
            raise Unusable(f"{option} “{_short(text)}” is not of the form {option} {example}.")
        if name.lower() in (n.lower() for n in given):
            raise Unusable(f"{option} names “{_short(name)}” twice.")
        given[name] = value
    return given


def _of_parts(option: str, texts: Sequence[str] | None, example: str, names: Iterable[str]) -> dict[str, str]:
    spelled = {name.lower(): name for name in names}
    given = _named(option, texts, example)
    for name in given:
        if name.lower() not in spelled:
            raise Unusable(f"{option} names “{_short(name)}”, and the mix has no such part.")
    return {spelled[name.lower()]: value for name, value in given.items()}


def _density(text: str) -> float:
    from benchtool.trade.numbers import NotANumber, read_number

    try:
        value, unit = read_number(text)
    except NotANumber:
        value, unit = math.nan, ""
    if unit.lower() not in ("", "g/ml", "g/cm3", "g/cm³", "kg/l") or not 0.1 < value < 25:
        raise Unusable(f"--density “{_short(text)}” is no density. Write it in g/mL, such as 1.05.")
    return value


def _amount(units: "Measures", option: str, text: str, density_g_mL: float | None, of: str) -> "Amount":
    from benchtool.trade.quantities import NotAnAmount

    try:
        return units.volume(text, density_g_mL=density_g_mL)
    except NotAnAmount as fault:
        message = str(fault)
    if density_g_mL is None:
        try:
            units.volume(text, density_g_mL=1.0)
        except NotAnAmount:
            pass
        else:  # it failed for want of a density alone
            message = f"“{_short(text)}” is a weight: give --density for {_short(of)} too, or a volume such as 30 mL."
    raise Unusable(f"{option}: {message}")


# --- what goes out -------------------------------------------------------------------------------------


def _json(values: Mapping[str, object]) -> str:
    import json

    return json.dumps(values, allow_nan=False, indent=2) + "\n"


def _printable(text: str) -> str:
    return "".join(c if c.isprintable() else "\ufffd" for c in " ".join(text.split()))


def _short(text: str) -> str:
    flat = _printable(text)
    return flat if len(flat) <= 40 else flat[:39] + "…"


def _write(out: TextIO, text: str, status: int) -> int:
    try:
        _put(out, text)
    except BrokenPipeError:  # the reader had enough, as `| head` does
        _let_go(out)
    except OSError as fault:
        _let_go(out)
        raise Unusable(f"The answer can't be written: {fault.strerror or fault}.") from None
    return status


def _refuse(err: TextIO, message: str) -> None:
    flat = _printable(message)
    with contextlib.suppress(OSError, ValueError):
        _put(err, (flat if len(flat) <= 400 else flat[:399] + "…") + "\n")


def _put(stream: TextIO, text: str) -> None:
    try:
        stream.write(text)
    except UnicodeEncodeError:
        coding = stream.encoding or "ascii"
        stream.write(text.encode(coding, "replace").decode(coding))
    stream.flush()


def _let_go(out: TextIO) -> None:
    """Point a stream that can't be written at nothing: Python flushes it once more at its end."""
    with contextlib.suppress(OSError, ValueError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, out.fileno())
        os.close(nothing)
