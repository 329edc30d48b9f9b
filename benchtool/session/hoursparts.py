"""The parts of a typed week: which hours belong to which days, in whatever order and with whatever between them."""

import re
from collections.abc import Iterator

from benchtool.session.hourspans import CLOSED

_DAY_WORD = (
    r"(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*|mo|tu|we|th|fr|sa|su|daily|every|everyday|all\s+(?:days|week)|week[a-z]+"
    r"|workdays)\b"
)
_NEXT_PART = re.compile(
    r"(?:(?<=\d)|(?<=\dh)|(?<=[ap]m)|(?<=noon)|(?<=night)|(?<=closed)|(?<=shut))\s*[,&+/]?\s*(?:\band\s+)?"
    rf"(?<![^\s,&+/])(?=(?:on\s+)?{_DAY_WORD}|(?:closed|shut)\b)",
    re.IGNORECASE,
)
"""Between hours and the days after them: `8am-5pm, Sat 9-12`, and not in `Sat, Sun 10-16` or `8-12, 1-5`."""
_BETWEEN = re.compile(r"\s*(?:,|&|\+|\band\b)\s*", re.IGNORECASE)
_RUN = re.compile(
    r"(?:on\s+)?(?:every\s+)?(?:week[a-z]+|workdays|[a-z]{2,9}\s*(?:-|–|\bto\b)\s*[a-z]{2,9})\s*(?:[,&+]|and\b)",
    re.IGNORECASE,
)
"""Days that stand for themselves before others: `weekdays, ...`, `Mon-Fri and ...`."""
BEGUN = re.compile(rf"\d|\b(?:noon|midnight)\b|{CLOSED.pattern}", re.IGNORECASE)
"""Where hours begin in a part."""


def parts_of(text: str) -> Iterator[str]:
    """Part what is typed by its days; hours before their days, `8-6 on weekdays`, are put behind them."""
    for line in re.split(r"[;\n]", text.replace("a.m.", "am").replace("p.m.", "pm")):
        said = _turned_back(list(_days_and_hours(line)))
        turned = bool(said) and not said[0][0]
        while said:
            days, hours = said.pop(0)
            if not days and said and said[0][0] and (turned or not said[0][1]):
                days, after = said.pop(0)
                said[:0] = [("", after)] * bool(after)
            yield f"{days} {hours}".strip()


def _turned_back(said: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Part the days where a line begins with hours and ends with them: `8-6 weekdays, Sat 9-1`.

    The first days are those of the hours before them, the others those of the hours behind: a run of days stands for
    itself, and else it is the last day that goes with what comes after it (judgement).
    """
    if len(said) < 2 or said[0][0] or not (said[-1][0] and said[-1][1]):
        return said
    for i, (days, hours) in enumerate(said[1:], 1):
        between = [m for m in _BETWEEN.finditer(days) if days[: m.start()] and days[m.end() :]]
        if between:
            cut = between[0] if _RUN.match(days) else between[-1]
            first, later = days[: cut.start()], days[cut.end() :]
            before = _hours_first(said[:i], first)
            return [*before, (later, hours), *said[i + 1 :]]
    return said


def _hours_first(said: list[tuple[str, str]], last: str) -> list[tuple[str, str]]:
    """Put hours behind the days that follow them; `last` are the days of the last hours."""
    days = [d for d, _ in said[1:]] + [last]
    return [(d, hours) for d, (_, hours) in zip(days, said, strict=True)]


def _days_and_hours(line: str) -> Iterator[tuple[str, str]]:
    for part in _NEXT_PART.split(line):
        tidy = " ".join(part.split()).strip(" ,.")
        begun = BEGUN.search(tidy)
        at = begun.start() if begun is not None else len(tidy)
        if tidy:
            yield re.sub(r"\s+and$", "", tidy[:at].strip(" ,"), flags=re.IGNORECASE), tidy[at:]
