"""Grades of a trial out of JSON: groups of figures or of grades as a standard writes them, of one test or several."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from benchtool.trade.exact import NotGrades
from benchtool.trade.grades import BY_TAPE, Method, NotAGrade, NotAMethod, codes, held, read_grade, read_method, score
from benchtool.trade.numbers import NotANumber, read_number, shorten
from benchtool.trade.rankingparts import Graded, System
from benchtool.trade.saying import say

Number = int | float
_OPTIONS = ("scale", "method", "best", "control", "title", "note")
_STANDARD = (Method.ISO_2409, Method.D3359_A, Method.D3359_B)
"""A test named so is read so, and a grade outside is refused; other names may stand over a shop's own figures."""
_BARE = ("none", "control", "bare", "bare control", "no promoter", "without promoter", "untreated")
"""Names by which a control is known where none is named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TestRead:
    """One test: what ranking takes, by which method it was read (None: plain figures), and the strips as written.

    `high` says that a higher figure is better.
    """

    __test__ = False  # no test of pytest's

    graded: Graded
    method: Method | None
    high: bool
    written: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialRead:
    """All systems and tests of a file."""

    systems: tuple[System, ...]
    tests: tuple[TestRead, ...]


class _Group(NamedTuple):
    name: str
    grades: Sequence[object]
    control: bool


def read_trial(value: object) -> TrialRead:
    """Read what a file of grades holds.

    Raises:
        NotGrades: no groups, a grade outside its scale or none at all, or a scale that is needed and not named.
    """
    options: dict[str, object] = {}
    if isinstance(value, dict) and "tests" in value:
        options = _options({k: v for k, v in value.items() if k != "tests"})
        parts = list(_named_tests(value["tests"]))
        if not parts:
            raise NotGrades(say("There are no tests here: write the grades of each test under its name."))
    else:
        parts = [("", value)]
    read = [_test(label, each, options) for label, each in parts]
    tests = [test for test, _ in read]
    groups = [group for _, found in read for group in found]
    names = list(dict.fromkeys(group.name for group in groups))
    wanted = {control for _, each in parts for control in [_control(each, options)] if control}
    for control in wanted:
        if control not in names:
            raise NotGrades(say("The control “{name}” is none of the groups.", name=shorten(control)))
    marked = wanted | {group.name for group in groups if group.control}
    if not marked:
        marked = {name for name in names if name.casefold() in _BARE}
    return TrialRead(systems=tuple(System(name, name in marked) for name in names), tests=tuple(tests))


# --- the shape ------------------------------------------------------------------------------------------------


def _named_tests(tests: object) -> Iterator[tuple[str, object]]:
    if isinstance(tests, dict):
        yield from tests.items()
        return
    for i, each in enumerate(tests if isinstance(tests, list) else (), 1):
        label = each.get("test") if isinstance(each, dict) else None
        if label is not None and not isinstance(label, str):
            raise NotGrades(say("The name of a test has to be a text."))
        yield label or say("test {n}", n=i), {k: v for k, v in each.items() if k != "test"} if label else each


def _options(given: Mapping[str, object]) -> dict[str, object]:
    for key, value in given.items():
        if key not in _OPTIONS:
            raise NotGrades(
                say("“{key}” is not known here; write groups, tests, scale, best or control.", key=shorten(key))
            )
        if not isinstance(value, str):
            raise NotGrades(say("“{key}” has to be a text.", key=key))
    return dict(given)


def _split(value: object) -> tuple[dict[str, object], object]:
    """Part the options of a test from its groups."""
    if not isinstance(value, dict):
        return {}, value
    if "groups" in value:
        return _options({k: v for k, v in value.items() if k != "groups"}), value["groups"]
    if "grades" in value and not set(value) - {"name", "grades", "control"}:
        return {}, [value]
    words: dict[str, object] = {k: v for k, v in value.items() if k in _OPTIONS and isinstance(v, str)}
    return words, {k: v for k, v in value.items() if k not in words}


def _control(value: object, options: Mapping[str, object]) -> str:
    return " ".join(str(_split(value)[0].get("control", options.get("control", ""))).split())


def _groups(value: object) -> list[_Group]:
    if isinstance(value, dict):
        found = [_group(name, each) for name, each in value.items()]
    elif isinstance(value, list):
        found = [_group("", each, i) for i, each in enumerate(value, 1)]
    else:
        found = []
    if not found:
        raise NotGrades(say("There are no groups of grades here: write one list of grades for each system."))
    names = [group.name for group in found]
    twice = next((n for n in names if names.count(n) > 1), None) if len(names) < 1000 else None
    if twice is not None:
        raise NotGrades(say("“{name}” is there twice: put its grades into one list.", name=shorten(twice)))
    return found


def _group(name: str, value: object, place: int = 0) -> _Group:
    control = False
    if isinstance(value, dict):
        if "grades" not in value or set(value) - {"name", "grades", "control"}:
            raise NotGrades(say("A group is a list of grades, or has a name and grades."))
        named = value.get("name", name)
        if not isinstance(named, str):
            raise NotGrades(say("The name of a group has to be a text."))
        name, control, value = named, value.get("control") is True, value["grades"]
    elif place and not isinstance(value, list):
        raise NotGrades(say("A list of groups holds one list of grades for each system."))
    name = " ".join(name.split()) or (say("group {n}", n=place) if place else "")
    if not name:
        raise NotGrades(say("A group without a name is there: name the system."))
    return _Group(name, value if isinstance(value, list) else [value], control)


# --- the grades -----------------------------------------------------------------------------------------------


def _test(label: str, value: object, usual: Mapping[str, object]) -> tuple[TestRead, list[_Group]]:
    own, body = _split(value)
    options = {**usual, **own}
    groups = _groups(body)
    grades = [grade for group in groups for grade in group.grades]
    for grade in grades:
        _check_kind(grade)
    method = _method(options, label, grades)
    high = _high(options, method)
    scores: dict[str, tuple[Number, ...]] = {}
    written: dict[str, tuple[str, ...]] = {}
    for group in groups:
        pairs = [_score(grade, method, high) for grade in group.grades]
        scores[group.name] = tuple(s for s, _ in pairs)
        written[group.name] = tuple(w for _, w in pairs)
    tape = method in BY_TAPE if method is not None else bool(re.search(r"tape|cross.?cut|x.?cut", label.casefold()))
    graded = Graded(
        label=" ".join(label.split()) or (method.value if method is not None else say("grades")),
        scores=scores,
        tape=tape,
        held_from=_held_from(method),
    )
    return TestRead(graded=graded, method=method, high=high, written=written), groups


def _check_kind(grade: object) -> None:
    if grade is None:
        raise NotGrades(say("A grade is null: leave out a strip that was not graded."))
    if isinstance(grade, bool) or not isinstance(grade, str | int | float):
        raise NotGrades(
            say("“{grade}” is no grade: write a number, or a grade as the standard does.", grade=shorten(repr(grade)))
        )
    if isinstance(grade, float) and not abs(grade) < float("inf"):
        raise NotGrades(say("A grade has to be a number."))


def _method(options: Mapping[str, object], label: str, grades: Sequence[object]) -> Method | None:
    named = options.get("scale", options.get("method"))
    if named is not None:
        return _method_named(str(named))
    if label:
        try:
            method = _method_named(label)
        except NotGrades:
            pass
        else:
            if method in _STANDARD or all(_fits(grade, method) for grade in grades):
                return method
    return _method_by_grades([g for g in grades if isinstance(g, str)])


def _method_named(text: str) -> Method:
    plain = re.sub(r"[^a-z0-9]", "", text.casefold())
    if plain in ("astmd3359", "d3359", "3359"):
        raise NotGrades(say("ASTM D3359 has method A, an X-cut, and method B, a cross-cut: write which."))
    if plain in ("crosscut", "crosshatch", "lattice"):
        raise NotGrades(say("A cross-cut goes by ISO 2409 or ASTM D3359 B, which count opposite ways: write which."))
    if plain in ("pencil", "pencilhardness"):
        return Method.PENCIL_ISO
    try:
        return read_method(text)
    except NotAMethod as fault:
        raise NotGrades(str(fault)) from None


def _fits(grade: object, method: Method) -> bool:
    try:
        read_grade(method, str(grade))
    except NotAGrade:
        return False
    return True


def _method_by_grades(texts: Sequence[str]) -> Method | None:
    """Recognise a scale by its grades; figures alone have none."""
    plain = ["".join(text.split()).upper() for text in texts]
    if any(re.search(r"CLASS|ISO|GT", text) for text in plain):
        return Method.ISO_2409
    if any(re.fullmatch(r"[0-5]A", text) for text in plain):
        return Method.D3359_A
    if any(re.fullmatch(r"[6-9]B|B|HB|F|H|[1-9]H", text) for text in plain):
        return Method.PENCIL_ISO
    if "0B" in plain:
        return Method.D3359_B
    lettered = next((text for text in plain if re.fullmatch(r"[1-5]B", text)), None)
    if lettered is not None:
        raise NotGrades(
            say(
                "“{grade}” is a cross-cut by ASTM D3359 B, or a pencil: name the scale, as \"scale\": \"ASTM D3359 B\" "
                "or \"ISO 15184 pencil\".",
                grade=lettered,
            )
        )  # fmt: skip
    return None


def _high(options: Mapping[str, object], method: Method | None) -> bool:
    best = str(options.get("best", "")).casefold().strip()
    if best not in ("", "high", "low"):
        raise NotGrades(say("“best” is high or low, not “{typed}”.", typed=shorten(best)))
    high = method is not Method.ISO_2409 if method is not None else best != "low"
    if best and high != (best == "high"):
        raise NotGrades(say("“best” is {typed}, and {test} counts the other way round.", typed=best, test=method))
    return high


def _score(grade: object, method: Method | None, high: bool) -> tuple[Number, str]:
    """Give a grade as higher is better, and as it is shown."""
    text = str(grade)
    if method is not None:
        if method in (Method.D3359_A, Method.D3359_B) and isinstance(grade, int):
            text += method.value[-1]  # a figure is no class of ISO 2409 where the scale is named
        try:
            code = read_grade(method, text)
        except NotAGrade as fault:
            raise NotGrades(str(fault)) from None
        return score(method, code), code
    if isinstance(grade, str):
        try:
            value, unit = read_number(grade)
        except NotANumber:
            unit, value = grade, 0.0
        if unit:
            raise NotGrades(
                say("“{grade}” is no grade known here: write numbers, or name the scale.", grade=shorten(grade))
            )
        return (value if high else -value), grade.strip()
    assert isinstance(grade, int | float)
    return (grade if high else -grade), f"{grade:g}" if isinstance(grade, float) else text


def _held_from(method: Method | None) -> int | None:
    if method is None or held(method, codes(method)[0]) is None:
        return None
    return min(score(method, code) for code in codes(method) if held(method, code))
