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
BEGUN = re.compile(rf"\d|\b(?:noon|midnight)\b|{CLOSED.pattern}", re.IGNORECASE)
"""Where hours begin in a part."""


def parts_of(text: str) -> Iterator[str]:
    """Part what is typed by its days; hours before their days, `8-6 on weekdays`, are put behind them."""
    for line in re.split(r"[;\n]", text.replace("a.m.", "am").replace("p.m.", "pm")):
        said = list(_days_and_hours(line))
        turned = bool(said) and not said[0][0]
        while said:
            days, hours = said.pop(0)
            if not days and said and said[0][0] and (turned or not said[0][1]):
                days, after = said.pop(0)
                said[:0] = [("", after)] * bool(after)
            yield f"{days} {hours}".strip()


def _days_and_hours(line: str) -> Iterator[tuple[str, str]]:
    for part in _NEXT_PART.split(line):
        tidy = " ".join(part.split()).strip(" ,.")
        begun = BEGUN.search(tidy)
        at = begun.start() if begun is not None else len(tidy)
        if tidy:
            yield tidy[:at].strip(" ,"), tidy[at:]
