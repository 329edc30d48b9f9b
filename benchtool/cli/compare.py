"""`benchtool compare`: which of a few systems sticks best, and what so few strips prove."""

import argparse
from collections.abc import Mapping
from typing import TYPE_CHECKING

from benchtool.cli.common import FINE, Answer, Commands, Means, Parser, Unusable, printable, short
from benchtool.cli.textin import read_text

if TYPE_CHECKING:
    from fractions import Fraction

    from benchtool.trade.rankingparts import PairFound, Ranking, TestFound
    from benchtool.trade.rankingread import TestRead, TrialRead


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    compare: Parser = commands.add_parser(
        "compare",
        help="rank the systems of a trial by their grades, and say what so few strips prove",
        description="Rank the systems of a trial by their grades, and say what so few strips prove.",
        epilog=(
            "FILE is JSON, - for standard input: one list of grades for each system, one grade a strip,\n"
            '  {"groups": {"two-part": [5, 5, 4], "none": [3, 2, 3]}, "control": "none"}\n'
            '  {"scale": "ISO 2409", "groups": [[0, 1, 0], [2, 3, 2]]}\n'
            "or several tests on the same strips:\n"
            '  {"tests": {"plain tape": {"groups": {"two-part": [5], "none": [5]}},\n'
            '             "stick scratch": {"groups": {"two-part": [5], "none": [1]}}}}\n\n'
            'Grades: figures, higher is better (or "best": "low"), or as a standard writes them, with "scale":\n'
            "ISO 2409, ASTM D3359 A, ASTM D3359 B, ISO 15184 pencil, ASTM D3363 gouge, ASTM D3363 scratch, plain\n"
            "tape, stick scratch, fingernail.\n\n"
            "p is exact: for two systems two-sided, of all ways of dealing out the grades by their ranks; for more,\n"
            "Kruskal and Wallis' H over all of them. Where there are too many to count, no p is given.\n"
            "Exit status: 0 fine, 2 the input can't be used."
        ),
    )
    compare.add_argument("file", metavar="FILE", help="the grades as JSON, or - for standard input")
    return compare


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Rank the systems."""
    from benchtool.trade.exact import NotGrades
    from benchtool.trade.ranking import rank
    from benchtool.trade.rankingread import read_trial

    value = _decoded(args.file, means)
    try:
        trial = read_trial(value)
        ranking = rank(trial.systems, [test.graded for test in trial.tests])
    except NotGrades as fault:
        raise Unusable(str(fault)) from None
    sentences = (*ranking.words, *_read_words(trial))
    return Answer(FINE, _values(trial, ranking, sentences), lambda: _text(trial, ranking, sentences))


# --- the answer -----------------------------------------------------------------------------------------------


def _values(trial: "TrialRead", ranking: "Ranking", sentences: tuple[str, ...]) -> dict[str, object]:
    p, smallest, table_p, why = _overall(ranking)
    return {
        "order": list(ranking.names),
        "p_exact": p,
        "smallest_possible_p": smallest,
        "words": " ".join(sentences),
        "sentences": list(sentences),
        "levels": [list(level) for level in ranking.order],
        "unplaced": list(ranking.unplaced),
        "control": [s.name for s in ranking.systems if s.control],
        "freeman_halton_p": table_p,
        "tests": [_test(*both, ranking) for both in zip(trial.tests, ranking.tests, strict=True)],
        "pairs": [
            {
                "first": pair.first,
                "second": pair.second,
                "relation": pair.relation.value,
                "first_better_in": list(pair.better_on),
                "second_better_in": list(pair.worse_on),
                "overlap_in": list(pair.crossed_on),
                "missing_in": list(pair.missing_on),
            }
            for pair in ranking.pairs
        ],
        "pair_tests": [_pair_test(pair) for pair in ranking.pair_tests],
        "why": why,
    }


def _overall(ranking: "Ranking") -> "tuple[float | None, float | None, float | None, str]":
    """Give the p over all systems where there is one test; several have each their own."""
    if len(ranking.tests) > 1:
        sizes = {test.sizes for test in ranking.tests}
        smallest = float(ranking.tests[0].smallest) if len(sizes) == 1 and len(ranking.tests[0].sizes) > 1 else None
        return None, smallest, None, "Several tests have no p in common: each has its own under tests."
    test = ranking.tests[0]
    smallest = float(test.smallest) if len(test.sizes) > 1 else None
    return _float(test.p), smallest, _float(test.freeman_halton), _why(test.why)


def _test(read: "TestRead", found: "TestFound", ranking: "Ranking") -> dict[str, object]:
    shown = dict(_shown(read))
    return {
        "test": found.label,
        "scale": read.method.value if read.method is not None else "figures",
        "best": "high" if read.high else "low",
        "p_exact": _float(found.p),
        "p_adjusted": _float(found.adjusted),
        "smallest_possible_p": float(found.smallest) if len(found.sizes) > 1 else None,
        "freeman_halton_p": _float(found.freeman_halton),
        "tells_apart": found.apart,
        "control_as_good": found.control_as_good,
        "groups": [
            {
                "name": cell.system,
                "grades": list(read.written.get(cell.system, ())),
                "median": shown.get(cell.median),
                "lowest": shown.get(cell.lowest),
                "why": "null where no strip was graded",
            }
            for cell in ranking.cells
            if cell.label == found.label
        ],
        "why": _why(found.why) + " p_adjusted is null where the strips can't reach less than 1 or have one grade.",
    }


def _shown(read: "TestRead") -> "Mapping[object, str]":
    """Give each score as a grade: as its strip was written."""
    return {
        score: text
        for name, scores in read.graded.scores.items()
        for score, text in zip(scores, read.written[name], strict=True)
    }


def _pair_test(pair: "PairFound") -> dict[str, object]:
    return {
        "test": pair.label,
        "first": pair.first,
        "second": pair.second,
        "p_exact": _float(pair.p),
        "p_adjusted": _float(pair.adjusted),
        "smallest_possible_p": float(pair.smallest),
        "why": "null where there are too many strips to count",
    }


def _float(p: "Fraction | None") -> float | None:
    return float(p) if p is not None else None


def _why(why: str) -> str:
    return why or "A value is null where it can't be given."


def _read_words(trial: "TrialRead") -> tuple[str, ...]:
    """Say which way plain figures were taken, for the other way turns the order round."""
    ways = {test.high for test in trial.tests if test.method is None}
    if len(ways) > 1:
        return ("Of plain figures the better ones are taken as each test says under best.",)
    return tuple(f"A {'higher' if high else 'lower'} figure was taken as the better grade." for high in ways)


def _text(trial: "TrialRead", ranking: "Ranking", sentences: tuple[str, ...]) -> str:
    wide = max(len(printable(name)) for name in ranking.names)
    lines = [printable(sentence) for sentence in sentences]
    for test in trial.tests:
        lines += ["", f"{printable(test.graded.label)}:"]
        lines += [
            f"  {printable(name):<{wide}}  {printable('  '.join(test.written.get(name, ()))) or 'not graded'}"
            for name in ranking.names
        ]
    return "\n".join(lines) + "\n"


# --- the file -------------------------------------------------------------------------------------------------


def _decoded(name: str, means: Means) -> object:
    import json

    said = "standard input" if name == "-" else f"“{short(name)}”"
    data = read_text(name, means, "the grades of a trial")
    try:
        return json.loads(data.removeprefix("\ufeff"), object_pairs_hook=_once, parse_constant=_no_number)
    except json.JSONDecodeError as fault:
        place = f"line {fault.lineno}, column {fault.colno}"
        raise Unusable(f"{said} is no JSON: {fault.msg} at {place}. Write groups of grades, see --help.") from None
    except RecursionError:
        raise Unusable(f"{said} is nested too deep. Write groups of grades, see --help.") from None
    except ValueError:  # a whole number of thousands of digits
        raise Unusable(f"{said} holds a number too long to be a grade.") from None


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found: dict[str, object] = {}
    for name, value in pairs:
        if name in found:
            raise Unusable(f"“{short(name)}” is there twice: put its grades into one list.")
        found[name] = value
    return found


def _no_number(text: str) -> object:
    raise Unusable(f"{text} is no grade: leave out a strip that was not graded.")
