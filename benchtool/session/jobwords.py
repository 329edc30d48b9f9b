"""Words as jobs are searched by them: small letters without accents, and what was typed to find them, understood.

A word is a run of letters and digits. `Müller` is found by muller and by mueller, whichever way it is typed.
"""

import re
import unicodedata
from calendar import monthrange
from datetime import date
from typing import NamedTuple

from benchtool.session.cardsearch import fold
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

MOST_TYPED = 400
"""Letters; what is typed after them is not looked at."""

FIELDS = ("customer", "job", "piece", "material", "product", "lot", "colour", "finding", "note")
"""What may be asked for by name."""

_SAME = {"color": "colour", "substrate": "material", "card": "product"}
_DATES = ("before", "after", "on")
_NAMES = (*FIELDS, *_SAME, *_DATES)
_FIELD = re.compile(
    rf"(?<!\S)(?P<name>{'|'.join(_NAMES)})\s*[:=]\s*(?P<value>\"[^\"]*\"?|\S*)",
    re.IGNORECASE,
)
_WORD = re.compile(r"[^\W_]+")
_DATE = re.compile(r"(?P<year>\d{4})(?:-(?P<month>\d{1,2}))?(?:-(?P<day>\d{1,2}))?", re.ASCII)
_DAY_WORD = re.compile(r"(?<![\w-])\d{4}-\d{1,2}(?:-\d{1,2})?(?![\w-])", re.ASCII)
_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue", "å": "aa", "Å": "Aa",
                          "ø": "oe", "Ø": "Oe", "æ": "ae", "Æ": "Ae"})  # fmt: skip
_PLAIN = str.maketrans({"ø": "o", "Ø": "O", "đ": "d", "Đ": "D", "ł": "l", "Ł": "L", "æ": "a", "Æ": "A"})


def words_of(text: str) -> tuple[str, ...]:
    """Cut a text into its words as they are compared, in order."""
    plain = text if text.isascii() else _composed(text).translate(_PLAIN)
    return tuple(_WORD.findall(fold(plain)))


def spelt_out(text: str) -> tuple[str, ...]:
    """Give the words of a text with its umlauts written as two letters; none where that changes nothing."""
    if text.isascii():
        return ()
    composed = _composed(text)
    told = composed.translate(_UMLAUTS)
    return words_of(told) if told != composed else ()


def indexed(text: str) -> str:
    """Give all the words by which a text is found, one blank between two."""
    return " ".join(dict.fromkeys((*words_of(text), *spelt_out(text))))


def lot_key(number: str) -> str:
    """Give a lot number as it is compared, whole: letters and digits alone, so that A-12 and “a 12” are one."""
    return "".join(words_of(number)) or fold(number).encode("utf-8", "replace").decode()


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", text)


# --- what was typed ------------------------------------------------------------------------------------


class Term(NamedTuple):
    """One word that must be there, in any of its spellings, in this field or (None) in any."""

    spellings: tuple[str, ...]
    field: str | None = None

    @property
    def match(self) -> str:
        """Write it for the full-text table: bare words alone come into it."""
        told = " OR ".join(f'"{word}" *' for word in self.spellings)
        told = f"({told})" if len(self.spellings) > 1 else told
        return f"{self.field} : {told}" if self.field is not None else told

    def answers(self, word: str) -> bool:
        """Say whether this word of a text is one that was asked for: it need only begin so."""
        return word.startswith(self.spellings)


class Query(NamedTuple):
    """What was typed, understood: the words, the days, how it reads, and what of it can't be understood."""

    terms: tuple[Term, ...] = ()
    since: int = 0
    until: int = 0
    told: str = ""
    wrong: str = ""

    @property
    def match(self) -> str:
        """Give the whole expression for the full-text table, "" for any piece."""
        return " AND ".join(term.match for term in self.terms)

    @property
    def empty(self) -> bool:
        """Whether nothing is asked for."""
        return not self.terms and not self.since and not self.until


class _Reading:
    """What was understood so far."""

    def __init__(self) -> None:
        self.terms: dict[Term, None] = {}
        self.told: list[str] = []
        self.wrong: list[str] = []
        self.since, self.until = 0, 99_999_999
        self.dated = False

    def take_field(self, name: str, value: str) -> None:
        """Take what was asked for by name."""
        value = value.strip('",; ')
        name = _SAME.get(name, name)
        if name in _DATES:
            self.take_date(name, value)
            return
        made = _terms(value, name)
        if not made:
            self.wrong.append(say("{name} asks for a word, such as {name}:{example}.", name=name,
                                  example=_EXAMPLES[name]))  # fmt: skip
            return
        self.terms.update(dict.fromkeys(made))
        self.told.append(say("{field} {words}", field=name, words=shorten(value)))

    def take_date(self, name: str, value: str) -> None:
        """Take a day, a month or a year that the work lies before, after or in."""
        span = _days(value)
        if span is None:
            self.wrong.append(say("{name} asks for a day, a month or a year, such as {name}:2026-03.", name=name))
            return
        first, last = span
        match name:
            case "before":
                self.until = min(self.until, _number(first) - 1)
                self.told.append(say("worked on before {day}", day=first.isoformat()))
            case "after":
                self.since = max(self.since, _number(last) + 1)
                self.told.append(say("worked on after {day}", day=last.isoformat()))
            case _:
                self.since, self.until = max(self.since, _number(first)), min(self.until, _number(last))
                self.told.append(say("worked on in {time}", time=shorten(value)))
        self.dated = True


_EXAMPLES = {
    "customer": "mill", "job": "doors", "piece": "tank", "material": "abs", "product": "clear", "lot": "A12",
    "colour": "red", "finding": "tape", "note": "scratch",
}  # fmt: skip


def read_query(typed: str) -> Query:
    """Understand what was typed; what can't be is told in `wrong` and narrows nothing."""
    reading = _Reading()

    def take(found: "re.Match[str]") -> str:
        reading.take_field(found["name"].lower(), found["value"])
        return " "

    def take_day(found: "re.Match[str]") -> str:
        if _days(found[0]) is None:
            return found[0]
        reading.take_date("on", found[0])
        return " "

    rest = _DAY_WORD.sub(take_day, _FIELD.sub(take, typed[:MOST_TYPED]))
    reading.terms.update(dict.fromkeys(_terms(rest, None)))
    since, until = (reading.since, reading.until) if reading.dated else (0, 0)
    if len(typed) > MOST_TYPED:
        reading.wrong.append(say("Only the first {n} letters are looked for.", n=MOST_TYPED))
    return Query(tuple(reading.terms), since, until, ", ".join(reading.told), " ".join(reading.wrong))


def _terms(text: str, field: str | None) -> list[Term]:
    """Make a term of each word; one with an umlaut may be spelt either way in the job."""
    made = []
    for piece in text.split():
        plain, long = words_of(piece), spelt_out(piece)
        if len(long) == len(plain):
            pairs = [tuple(dict.fromkeys(pair)) for pair in zip(plain, long, strict=True)]
        else:
            pairs = [(word,) for word in plain]
        made += [Term(pair, field) for pair in pairs]
    return made


def _days(value: str) -> tuple[date, date] | None:
    """Read a day, a month or a year as its first and its last day."""
    found = _DATE.fullmatch(value)
    if found is None:
        return None
    year, month, day = (int(part) if part is not None else 0 for part in found.groups())
    try:
        if found["day"] is not None:
            return date(year, month, day), date(year, month, day)
        if found["month"] is not None:
            return date(year, month, 1), date(year, month, monthrange(year, month)[1])
        return date(year, 1, 1), date(year, 12, 31)
    except ValueError:
        return None


def _number(day: date) -> int:
    return day.year * 10_000 + day.month * 100 + day.day


def lot_typed(typed: str) -> str:
    """Give the lot that was asked for by name in what was typed, "" for none."""
    named = [found["value"] for found in _FIELD.finditer(typed[:MOST_TYPED]) if found["name"].lower() == "lot"]
    return named[0].strip('",; ') if named else ""
