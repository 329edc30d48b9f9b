"""What all commands have in common: how a line is read, what an answer is, and the words for bad input."""

import argparse
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn, TextIO

if TYPE_CHECKING:
    from benchtool.job.record import Job
    from benchtool.job.shop import Shop
    from benchtool.rules.finding import Tables
    from benchtool.session.jobsearch import JobSearch
    from benchtool.session.library import CardLibrary
    from benchtool.store.jobfile import Opened
    from benchtool.trade.quantities import Measures

FINE, TROUBLE, UNUSABLE, INTERRUPTED = 0, 1, 2, 130
"""Exit statuses; 130 is what a shell gives a program that Ctrl+C ended."""

Commands = Any
"""What argparse's add_subparsers gives; its class has no public name."""


_NEGATIVE = re.compile(r"-[0-9.,]")


class Unusable(Exception):
    """The input can't be used; the message is one sentence that says what to write instead."""


class Help(Exception):
    """Help was asked for; the message is its text."""


class Answer(NamedTuple):
    """What a command has to say: the exit status, the JSON object, and the text for a reader."""

    status: int
    values: Mapping[str, object]
    text: Callable[[], str]


class Means(NamedTuple):
    """What the commands work with; each is made or read when a command asks for it, not before.

    `stdin` is None where there is no standard input, `shop` where no painter's own tools are known, `library` where
    there is no card library, `search` where there are no folders of jobs; it takes the folders to search, none for the
    usual ones.
    """

    now: Callable[[], datetime]
    tables: "Callable[[], Tables]"
    measures: "Callable[[], Measures]"
    open_job: "Callable[[str], Job | Opened]"
    stdin: TextIO | None = None
    shop: "Callable[[], Shop] | None" = None
    library: "Callable[[], CardLibrary] | None" = None
    search: "Callable[[Sequence[Path]], JobSearch] | None" = None


class _Help(argparse.RawDescriptionHelpFormatter):
    """Gives the names of commands room enough to stand beside what they do."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=26)
        self._action_max_length = 17


class Parser(argparse.ArgumentParser):
    """Says what is wrong in one line, never by a page of usage, and leaves printing and leaving to `run`."""

    def __init__(self, **options: Any) -> None:
        super().__init__(allow_abbrev=False, formatter_class=_Help, **options)
        self.color = False  # Python 3.14 would colour the help

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Take `-3mL` for an amount, which is below zero and told so, and not for an option."""
        spaced = [f" {arg}" if _NEGATIVE.match(arg) else arg for arg in args or ()]
        return super().parse_known_args(spaced, namespace)

    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the line."""
        raise Unusable(f"{message}. Try {self.prog} --help")

    def print_help(self, file: object = None) -> None:  # noqa: ARG002 - the shape that argparse calls
        """Give the help to `run`."""
        raise Help(self.format_help())


def printable(text: str) -> str:
    """Make what was typed harmless in a terminal: one line, nothing that moves the cursor."""
    return "".join(c if c.isprintable() else "\ufffd" for c in " ".join(text.split()))


def short(text: str) -> str:
    """Cut what was typed for a message."""
    flat = printable(text)
    return flat if len(flat) <= 40 else flat[:39] + "…"


def named(option: str, texts: Sequence[str] | None, example: str) -> dict[str, str]:
    """Read an option given once a name, as `--poured base=1floz`.

    Raises:
        Unusable: not of that form, or a name twice.
    """
    given: dict[str, str] = {}
    for text in texts or ():
        name, _, value = (part.strip() for part in printable(text).partition("="))
        if not name or not value:
            raise Unusable(f"{option} “{short(text)}” is not of the form {option} {example}.")
        if name.lower() in (n.lower() for n in given):
            raise Unusable(f"{option} names “{short(name)}” twice.")
        given[name] = value
    return given


def of_parts(option: str, texts: Sequence[str] | None, example: str, names: Iterable[str]) -> dict[str, str]:
    """Read an option given once a part of the mix; the keys are the names as the mix spells them.

    Raises:
        Unusable: as `named`, or a name that the mix does not have.
    """
    spelled = {name.lower(): name for name in names}
    given = named(option, texts, example)
    for name in given:
        if name.lower() not in spelled:
            raise Unusable(f"{option} names “{short(name)}”, and the mix has no such part.")
    return {spelled[name.lower()]: value for name, value in given.items()}


@contextmanager
def about(option: str, *faults: type[ValueError]) -> Iterator[None]:
    """Turn what the trade says of an option's value into the command's one line.

    Raises:
        Unusable: one of `faults`, which are ValueErrors whose message is a sentence.
    """
    try:
        yield
    except faults as fault:
        raise Unusable(f"{option}: {fault}") from None


def percent(option: str, text: str) -> float:
    """Read `30` or `30 %`.

    Raises:
        Unusable: no percentage.
    """
    value, unit = _number(option, text, "a percentage such as 30")
    if unit not in ("", "%", "percent"):
        raise Unusable(f"{option} “{short(text)}” is no percentage. Write it as 30 or 30%.")
    return value


def whole(option: str, text: str, most: int) -> int:
    """Read a whole number from 1 on.

    Raises:
        Unusable: none, or more than `most`.
    """
    value, unit = _number(option, text, "a whole number such as 2")
    if unit or value != value // 1 or not 1 <= value <= most:
        raise Unusable(f"{option} “{short(text)}”: write a whole number from 1 to {most}.")
    return int(value)


def seconds(option: str, text: str, bare: str | None = None) -> float:
    """Read a length of time in seconds; `bare` is the unit of a number alone.

    Raises:
        Unusable: no length of time.
    """
    from benchtool.trade.durations import NotASpan, read_span

    with about(option, NotASpan):
        return read_span(printable(text), bare).total_seconds()


def gun_named(text: str, guns: Iterable[str]) -> str:
    """Read the name of a gun; its first word, or `full`, will do.

    Raises:
        Unusable: it names none of `guns`.
    """
    known = list(guns)
    said = " ".join(printable(text).lower().replace("-", " ").split())
    for name in known:
        plain = name.replace("-", " ")
        if said and (said == plain or said == plain.removesuffix(" gun") or said == plain.split()[0]):
            return name
    raise Unusable(f"--gun “{short(text)}” is not known here. Write {', '.join(known[:-1])} or {known[-1]}.")


def _number(option: str, text: str, such_as: str) -> tuple[float, str]:
    from benchtool.trade.numbers import NotANumber, read_number

    try:
        value, unit = read_number(text)
    except NotANumber:
        raise Unusable(f"{option} “{short(text)}” is no number. Write {such_as}.") from None
    return value, unit.lower()
