"""Fields of a card one by one: what was typed becomes a value, or a sentence about what is wrong with it."""

import math
import re
import unicodedata
from collections.abc import Iterable, Mapping
from datetime import timedelta

from benchtool.trade.durations import NotASpan, read_span
from benchtool.trade.mixing import NotAShare, Share, parse_share
from benchtool.trade.numbers import NotANumber, read_number, shorten
from benchtool.trade.saying import say

LONGEST_NAME = 200
LONGEST_TEXT = 4_000
DENSITY = (0.1, math.nextafter(25, 0))
_NO_OTHER: Mapping[str, float] = {}


class Wrong(Exception):
    """What was typed can't be taken: each field at fault by its name, with a sentence about it."""

    def __init__(self, faults: Iterable[tuple[str, str]]) -> None:
        self.faults = tuple(faults)
        super().__init__(self.faults[0][1] if self.faults else "")


def clean(typed: str) -> str:
    """Make one line of what was typed or pasted; half characters, which no file can hold, are left out."""
    return " ".join("".join(c for c in typed if not "\ud800" <= c <= "\udfff").split())


def as_it_was(typed: str, before: str, most: int = LONGEST_TEXT) -> str:
    """Make one line of what was typed; what only lost its breaks and blanks on the way through a line stays whole."""
    said = clean(typed)
    return before if said == clean(before) else said[:most]


class Reader:
    """Reads fields one by one and writes down what is wrong with them."""

    def __init__(self, faults: list[tuple[str, str]]) -> None:
        self.faults = faults

    def text(self, key: str, typed: str, missing: str, most: int = LONGEST_TEXT) -> str:
        """Read one line of words; `missing` says what to write where there is none."""
        text = clean(typed)
        if not text:
            self.faults.append((key, missing))
        elif len(text) > most:
            self.faults.append((key, f"This is too long: {most} characters at most."))
        return text[:most]

    def name(self, key: str, typed: str, missing: str) -> str:
        """Read a name."""
        return self.text(key, typed, missing, LONGEST_NAME)

    def count(self, key: str, typed: str) -> int | None:
        """Read a number of coats."""
        text = typed.strip()
        if text.isdecimal() and 1 <= int(text[:4]) <= 50:
            return int(text)
        if text:
            self.faults.append((key, say("“{typed}” is no number of coats: write 1 to 50.", typed=shorten(text))))
        else:
            self.faults.append((key, say("Write how many coats, 1 to 50.")))
        return None

    def number(
        self, key: str, typed: str, unit: str, above: float, most: float, *, too: Mapping[str, float] = _NO_OTHER
    ) -> float | None:
        """Read a number in `unit`; `too` gives other units it may be in, with how many of `unit` one of them is."""
        if not typed.strip():
            return None
        try:
            value, rest = read_number(typed)
        except NotANumber as wrong:
            self.faults.append((key, f"{wrong} Write a number in {unit}, or leave it empty."))
            return None
        said = " ".join(rest.lower().replace("μ", "µ").split())
        value *= too.get(said, 1.0)
        if said not in ("", unit.lower(), "um" if unit == "µm" else "", *too):
            self.faults.append((key, f"“{shorten(typed)}”: this is in {unit}."))
            return None
        if not above < value <= most:
            low = f"more than {above:g}" if above >= 0 else "from 0"
            self.faults.append((key, f"This is in {unit}: {low}, up to {most:g}."))
            return None
        return value

    def time(self, key: str, typed: str, bare: str | None) -> timedelta | None:
        """Read a length of time; `bare` is the unit of a number alone, None where it must have one."""
        if not typed.strip():
            return None
        try:
            return read_span(typed, bare)
        except NotASpan as wrong:
            self.faults.append((key, str(wrong)))
            return None

    def share(self, key: str, typed: str) -> Share | None:
        """Read a share that says what it is of."""
        try:
            return parse_share(typed, plain=False)
        except NotAShare as wrong:
            self.faults.append((key, str(wrong)))
            return None


def figure_of(value: float | None) -> str:
    """Write a number so that the same one is read again; nothing where there is none."""
    return "" if value is None else repr(value).removesuffix(".0")


def free_slug(name: str, taken: Iterable[str]) -> str:
    """Make an id of a name that is none of `taken`, whatever their case."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii").lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or "card"
    low = {t.lower() for t in taken}
    number, slug = 1, stem
    while slug in low:
        number += 1
        slug = f"{stem}-{number}"
    return slug
