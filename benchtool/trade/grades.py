"""Grades of adhesion and hardness: the scales of the standards and of the shop, read, compared and worked out.

Every scale runs **best first**, and `score` is higher for the better grade whichever way the standard counts.

Sources: ISO 2409 (classes 0 to 5; 0 to 3 read in a reprint of its table, 4 and 5 from memory), ASTM D3359 (methods A
and B, read in reprints of their scales; D3359-23 5.2: no values in between), ISO 15184 (pencils 9B to 9H), ASTM D3363
(pencils 6B to 6H, gouge and scratch apart), ASTM D4541-17 8.3 (letters for the place of a break). Plain tape, stick
and fingernail are common practice, no source.
"""

import math
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from benchtool.trade import gradewords as told
from benchtool.trade.numbers import figure, shorten
from benchtool.trade.saying import say


class Method(StrEnum):
    """How a strip is tested."""

    ISO_2409 = "ISO 2409"
    D3359_B = "ASTM D3359 B"
    D3359_A = "ASTM D3359 A"
    PLAIN_TAPE = "plain tape"
    STICK = "stick scratch"
    NAIL = "fingernail"
    PENCIL_ISO = "ISO 15184 pencil"
    PENCIL_GOUGE = "ASTM D3363 gouge"
    PENCIL_SCRATCH = "ASTM D3363 scratch"


class FailurePlace(StrEnum):
    """Where it let go."""

    NOTHING = "nothing came off"
    TAPE = "in the tape"
    LAYER = "in a layer"
    BETWEEN = "between two layers"
    SUBSTRATE = "to the substrate"
    IN_SUBSTRATE = "in the substrate"


class NotAGrade(ValueError):
    """The text or percentage is no grade of that scale; the message is one sentence that names what is."""


class NotAMethod(ValueError):
    """The text names no method; the message is one sentence that names them."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a scale.

    `words` is what is seen, in the painter's language. `least` and `most` bound the percent of area that has come
    off, None where the scale gives none; which of the two a limit belongs to says `classes_of`.
    """

    code: str
    words: str
    least: float | None = None
    most: float | None = None


@dataclass(frozen=True, slots=True)
class Scale:
    """The steps of a method, best first, its name for the painter, and where it comes from."""

    method: Method
    steps: tuple[Step, ...]
    title: str
    source: str


LIMITS = (5.0, 15.0, 35.0, 65.0)
"""Percent of the cut area at which the next class begins (ISO 2409 clause 9, ASTM D3359 method B)."""

PENCILS = ("9H", "8H", "7H", "6H", "5H", "4H", "3H", "2H", "H", "F",
           "HB", "B", "2B", "3B", "4B", "5B", "6B", "7B", "8B", "9B")  # fmt: skip
"""Hardest first (ISO 15184)."""

_PENCILS_US = PENCILS[PENCILS.index("6H") : PENCILS.index("6B") + 1]
_SHOP = ("5", "4", "3", "2", "1", "0")
_CODES: dict[Method, tuple[str, ...]] = {
    Method.ISO_2409: ("0", "1", "2", "3", "4", "5"),
    Method.D3359_B: ("5B", "4B", "3B", "2B", "1B", "0B"),
    Method.D3359_A: ("5A", "4A", "3A", "2A", "1A", "0A"),
    Method.PLAIN_TAPE: _SHOP,
    Method.STICK: _SHOP,
    Method.NAIL: _SHOP,
    Method.PENCIL_ISO: (*PENCILS, "below 9B"),
    Method.PENCIL_GOUGE: (*_PENCILS_US, "below 6B"),
    Method.PENCIL_SCRATCH: (*_PENCILS_US, "below 6B"),
}
_WORDS: dict[Method, Callable[[], tuple[str, ...]]] = {
    Method.ISO_2409: told.iso_2409,
    Method.D3359_B: told.d3359_b,
    Method.D3359_A: told.d3359_a,
    Method.PLAIN_TAPE: told.plain_tape,
    Method.STICK: told.stick,
    Method.NAIL: told.nail,
    Method.PENCIL_ISO: lambda: told.no_damage(PENCILS),
    Method.PENCIL_GOUGE: lambda: told.no_gouge(_PENCILS_US),
    Method.PENCIL_SCRATCH: lambda: told.no_scratch(_PENCILS_US),
}
_SOURCES = {
    Method.ISO_2409: "ISO 2409:2020, clause 9 (classes 4 and 5 from memory)",
    Method.D3359_B: "ASTM D3359, test method B",
    Method.D3359_A: "ASTM D3359, test method A",
    Method.PENCIL_ISO: "ISO 15184",
    Method.PENCIL_GOUGE: "ASTM D3363, gouge hardness",
    Method.PENCIL_SCRATCH: "ASTM D3363, scratch hardness",
}
BY_AREA = (Method.ISO_2409, Method.D3359_B)
"""Graded by the percent of area that has come off."""
BY_TAPE = (*BY_AREA, Method.D3359_A, Method.PLAIN_TAPE)
"""Graded after a tape has been pulled off."""
_HELD = {Method.ISO_2409: 2, Method.D3359_B: 2, Method.D3359_A: 2, Method.PLAIN_TAPE: 2}
_PICTURE = (0.0, 3.0, 10.0, 25.0, 50.0, 80.0)


def title(method: Method) -> str:
    """Name the method for the painter."""
    names = {
        Method.ISO_2409: say("Cross-cut, ISO 2409"),
        Method.D3359_B: say("Cross-cut with tape, ASTM D3359 B"),
        Method.D3359_A: say("X-cut with tape, ASTM D3359 A"),
        Method.PLAIN_TAPE: say("Plain tape, no cuts"),
        Method.STICK: say("Stick scratch"),
        Method.NAIL: say("Fingernail"),
        Method.PENCIL_ISO: say("Pencil hardness, ISO 15184"),
        Method.PENCIL_GOUGE: say("Pencil gouge, ASTM D3363"),
        Method.PENCIL_SCRATCH: say("Pencil scratch, ASTM D3363"),
    }
    return names[method]


def codes(method: Method) -> tuple[str, ...]:
    """Give the grades of a method as they are written and kept, best first."""
    return _CODES[method]


def scale(method: Method) -> Scale:
    """Give the scale of a method, its words in the painter's language of now."""
    bounds = [(None, None)] * len(_CODES[method]) if method not in BY_AREA else _BOUNDS
    steps = (
        Step(code, words, least, most)
        for code, words, (least, most) in zip(_CODES[method], _WORDS[method](), bounds, strict=True)
    )
    source = _SOURCES.get(method) or say("common practice, no source")
    return Scale(method, tuple(steps), title(method), source)


_BOUNDS: list[tuple[float | None, float | None]] = [
    (0.0, 0.0),
    *zip((0.0, *LIMITS), (*LIMITS, 100.0), strict=True),
]


def read_method(text: str) -> Method:
    """Read the name of a method, forgiving of case, spaces and a missing ASTM.

    Raises:
        NotAMethod: it names none, or more than one.
    """
    said = _squash(text)
    for method in Method:
        full = _squash(method)
        if said in (full, full.removeprefix("astm"), full.removesuffix("pencil")) or said in _SHORT[method]:
            return method
    raise NotAMethod(
        say("“{typed}” is no test known here. Write one of {tests}.", typed=shorten(text), tests=", ".join(Method))
    )


_SHORT: dict[Method, tuple[str, ...]] = {
    Method.ISO_2409: ("2409",),
    Method.D3359_B: ("3359b",),
    Method.D3359_A: ("3359a", "xcut"),
    Method.PLAIN_TAPE: ("tape",),
    Method.STICK: ("stick",),
    Method.NAIL: ("nail",),
    Method.PENCIL_ISO: ("15184",),
    Method.PENCIL_GOUGE: ("gouge",),
    Method.PENCIL_SCRATCH: (),
}
_LEAD = re.compile(
    r"^(?:iso|astm)?\s*(?:classification|class|grade|gt|step|pencil)?\s*[:=]?\s*(?=[\dbhf<]|below|under)"
)
_BELOW = re.compile(r"^(?:below|under|lessthan|softerthan|<)(?=\d)")
_BETWEEN = re.compile(
    r"^\d+[.,]\d+[abh]?$"  # 3.5B
    r"|^\d*[abhf]{0,2}[+\-−]$"  # 4B+
    r"|^(?:\d+[abh]?|[bhf]|hb)(?:[-–—/⁄&]|to|or|and)+(?:\d+[abh]?|[bhf]|hb)$"  # 1-2, 4B/5B, 3½
)


def read_grade(method: Method, text: str) -> str:
    """Read a grade and give it as `codes` writes it: `class 1` is `1`, `5 b` is `5B`, `1h` is `H`.

    A bare figure is refused where ASTM writes a letter: 1 is nearly the best of ISO 2409 and nearly the worst there.

    Raises:
        NotAGrade: outside the scale, or between two grades (ASTM D3359-23 5.2 allows none there, nor do the others).
    """
    bare = _LEAD.sub("", " ".join(unicodedata.normalize("NFKC", text).casefold().split())).replace(" ", "")
    bare = _BELOW.sub("below", re.sub(r"(?<![\d.,])(\d+)[.,]0+(?!\d)", r"\1", bare))
    known = {code.casefold().replace(" ", ""): code for code in _CODES[method]}
    if method not in BY_TAPE:
        known |= {f"1{code.casefold()}": code for code in ("B", "H") if code in _CODES[method]}
    if bare in known:
        return known[bare]
    typed, takes = shorten(text), _takes(method)
    if not bare:
        raise NotAGrade(say("No grade is written here. {test} takes {grades}.", test=title(method), grades=takes))
    if _BETWEEN.match(bare):
        raise NotAGrade(
            say(
                "“{typed}” lies between grades, and {test} allows none there: it takes {grades}.",
                typed=typed, test=title(method), grades=takes,
            )
        )  # fmt: skip
    letter = _CODES[method][0][-1]
    if method in (Method.D3359_A, Method.D3359_B) and f"{bare}{letter}".upper() in _CODES[method]:
        raise NotAGrade(
            say(
                "“{typed}” needs its letter: write {code} if you mean that; a bare figure is a class of ISO 2409, "
                "which counts the other way round.",
                typed=typed, code=f"{bare}{letter}",
            )
        )  # fmt: skip
    raise NotAGrade(
        say("“{typed}” is no grade of {test}, which takes {grades}.", typed=typed, test=title(method), grades=takes)
    )


def _takes(method: Method) -> str:
    """Say in few words which grades there are."""
    all_ = _CODES[method]
    if method in (Method.PENCIL_ISO, Method.PENCIL_GOUGE, Method.PENCIL_SCRATCH):
        return say("the pencils {softest} to {hardest}, or {below}", softest=all_[-2], hardest=all_[0], below=all_[-1])
    return say("{best} (the best) to {worst}, and only whole steps", best=all_[0], worst=all_[-1])


def score(method: Method, code: str) -> int:
    """Give the place of a grade, 0 for the worst of its scale and higher for each better one.

    Scores of two methods are not to be compared.

    Raises:
        NotAGrade: as `read_grade`.
    """
    all_ = _CODES[method]
    return len(all_) - 1 - all_.index(read_grade(method, code))


def held(method: Method, code: str) -> bool | None:
    """Say whether the paint held: ISO 0 or 1, ASTM 5 or 4 (A and B), the best two of plain tape.

    The limit is a judgement, widely asked for in paint specifications (common practice, no source); neither standard
    sets one. None for hardness, stick and fingernail, where none is agreed.

    Raises:
        NotAGrade: as `read_grade`.
    """
    place = _CODES[method].index(read_grade(method, code))
    return place < _HELD[method] if method in _HELD else None


def iso_2409(percent: float) -> str:
    """Give the class of ISO 2409 for the percent of the cut area that is affected.

    A limit belongs to the better class (“not greater than”): 5 is 1, 15 is 2, 35 is 3, 65 is 4. All flaking of the
    lattice counts, along the cuts and where they cross too.

    Raises:
        NotAGrade: no percentage from 0 to 100.
    """
    _check_percent(percent)
    return "0" if percent == 0 else str(1 + sum(percent > limit for limit in LIMITS))


def astm_d3359_b(percent: float) -> str:
    """Give the grade of ASTM D3359 method B for the percent of the lattice that has come off.

    4B is “less than 5 %”, so 5 is 3B; 0B is “greater than 65 %”, so 65 is 1B. The wording (“5 to 15”, “15 to 35”, “35
    to 65”) puts exactly 15 and 35 in two grades: the worse one is given, and `doubt` says so.

    Raises:
        NotAGrade: no percentage from 0 to 100.
    """
    _check_percent(percent)
    if percent == 0:
        return "5B"
    return f"{4 - sum(percent >= limit for limit in LIMITS[:3]) - (percent > LIMITS[3])}B"


def classes_of(method: Method, removed_percent: float, plus_minus: float = 0.0) -> tuple[str, ...]:
    """Give all classes, best first, that removed_percent +- plus_minus (points of area, cut to 0..100) may be.

    ISO: a limit belongs to the better class alone. ASTM D3359 B: exactly 15 and 35 belong to two, as its wording has
    it.

    Raises:
        NotAGrade: not from 0 to 100, an uncertainty below 0 or not finite, or a method that is not graded by area.
    """
    _check_percent(removed_percent)
    if not (math.isfinite(plus_minus) and plus_minus >= 0):
        raise NotAGrade(say("An uncertainty is a number of points of area from 0 on, such as 2."))
    if method not in BY_AREA:
        raise NotAGrade(say("{test} is not graded by the area that came off.", test=title(method)))
    low, high = max(0.0, removed_percent - plus_minus), min(100.0, removed_percent + plus_minus)
    worst = _CODES[method].index(iso_2409(high) if method is Method.ISO_2409 else astm_d3359_b(high))
    best = _CODES[method].index(iso_2409(low) if method is Method.ISO_2409 else astm_d3359_b(low))
    if method is Method.D3359_B and low in LIMITS[1:3]:
        best -= 1
    return _CODES[method][best : worst + 1]


def doubt(method: Method, removed_percent: float, plus_minus: float = 0.0) -> str:
    """Say why more than one class may be right, or "" where one is; errors as `classes_of`."""
    found = classes_of(method, removed_percent, plus_minus)
    if len(found) < 2:
        return ""
    if plus_minus == 0:
        return say(
            "The standard's wording puts exactly {percent} % in both {better} and {worse}; the worse one is given.",
            percent=figure(removed_percent), better=found[0], worse=found[1],
        )  # fmt: skip
    low, high = max(0.0, removed_percent - plus_minus), min(100.0, removed_percent + plus_minus)
    return say(
        "{low} to {high} % may be {classes}; no grade in between is allowed: look again and pick one.",
        low=figure(low), high=figure(high), classes=say("{some} or {last}", some=", ".join(found[:-1]), last=found[-1]),
    )  # fmt: skip


def flaked_squares(method: Method, code: str) -> float:
    """Give a percent of area that stands for a grade in our own drawing of it: 0, 3, 10, 25, 50 or 80.

    Drawn so for the scales of six steps; it is a picture and no measurement.

    Raises:
        NotAGrade: as `read_grade`, or a pencil, which has no such picture.
    """
    found = read_grade(method, code)
    if len(_CODES[method]) != len(_PICTURE):
        raise NotAGrade(say("{test} has no picture of squares.", test=title(method)))
    return _PICTURE[_CODES[method].index(found)]


def failure_code(place: FailurePlace, n_layer: int | None = None) -> str:
    """Give the letters of a pull-off test for the place where it let go; "" where the layer has to be known and isn't.

    ASTM D4541-17 8.3.1: A is the substrate, B, C, D ... the layers from the first coat up, Y the glue; ISO 4624 has
    the same letters and writes -/Y for the last layer and the glue (from memory). The tape stands here for the glue:
    if nothing came off it parted from the paint (-/Y), and if its own glue split it is Y. `n_layer` counts from the
    first coat, 1; between two layers it is the lower one.
    """
    fixed = {
        FailurePlace.NOTHING: "-/Y",
        FailurePlace.TAPE: "Y",
        FailurePlace.SUBSTRATE: "A/B",
        FailurePlace.IN_SUBSTRATE: "A",
    }
    if place in fixed:
        return fixed[place]
    most = ord("X") - ord("A")  # Y and Z are the glue and what is glued on
    if n_layer is None or not 1 <= n_layer <= most - (place is FailurePlace.BETWEEN):
        return ""
    layer = chr(ord("A") + n_layer)
    return layer if place is FailurePlace.LAYER else f"{layer}/{chr(ord(layer) + 1)}"


def _check_percent(percent: float) -> None:
    if not 0 <= percent <= 100:  # nan is neither
        raise NotAGrade(say("What came off is a percentage of the cut area from 0 to 100."))


def _squash(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", unicodedata.normalize("NFKC", text).casefold())
