"""`benchtool grade`: the class of a cross-cut by what came off, the steps of a scale, and how a test is done."""

import argparse
from typing import TYPE_CHECKING

from benchtool.cli.common import FINE, Answer, Commands, Means, Parser, Unusable, about, percent, printable, short

if TYPE_CHECKING:
    from benchtool.trade.grademethods import Told
    from benchtool.trade.grades import Method, Scale

_HARD = {"hard": True, "soft": False}


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    grade: Parser = commands.add_parser(
        "grade",
        help="grade a cross-cut by what came off, or tell how a test is done",
        description="Grade a cross-cut by the percent that came off; show the steps of a scale, or how a test is done.",
        epilog=(
            "examples:\n"
            "  benchtool grade --removed 12.5\n"
            "  benchtool grade --removed 12.5% --uncertainty 4\n"
            "  benchtool grade --scale 'stick scratch'\n"
            "  benchtool grade --method 'ISO 2409' --film 80um --substrate hard\n\n"
            "Tests: ISO 2409, ASTM D3359 B, ASTM D3359 A, plain tape, stick scratch, fingernail, ISO 15184 pencil,\n"
            "ASTM D3363 gouge, ASTM D3363 scratch. A film without a unit is in um. Hard is metal, glass or stiff\n"
            "plastic; soft is wood, plaster, leather, foam or plastic that bends.\n"
            "Exit status: 0 fine, 2 the input can't be used."
        ),
    )
    grade.add_argument("--removed", metavar="PERCENT", help="of the cut area that came off, such as 12.5")
    grade.add_argument(
        "--uncertainty", metavar="POINTS", help="with --removed: how far off it may be either way, such as 2"
    )
    grade.add_argument("--scale", metavar="TEST", help="show the steps of this test")
    grade.add_argument("--method", metavar="TEST", help="tell how this test is done")
    grade.add_argument("--film", metavar="T", help="with --method: the dry film in all, such as 80um or 3mil")
    grade.add_argument("--substrate", metavar="hard|soft", help="with --method: what lies under the film")
    return grade


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Give classes, a scale or instructions."""
    asked = [option for option in ("removed", "scale", "method") if getattr(args, option) is not None]
    if not asked:
        raise Unusable("Say what came off, as --removed 12.5, or name a test, as --method 'ISO 2409' or --scale tape.")
    if len(asked) > 1:
        raise Unusable(f"Give --{asked[0]} or --{asked[1]}, not both.")
    for option, owner in (("uncertainty", "removed"), ("film", "method"), ("substrate", "method")):
        if getattr(args, option) is not None and asked != [owner]:
            raise Unusable(f"--{option} goes with --{owner}.")
    if args.removed is not None:
        return _classes(args)
    return _steps(args) if args.scale is not None else _told(args, means)


def _classes(args: argparse.Namespace) -> Answer:
    from benchtool.trade.grades import Method, NotAGrade, astm_d3359_b, classes_of, doubt, held, iso_2409, scale

    removed = percent("--removed", args.removed)
    with about("--removed", NotAGrade):
        iso, astm = iso_2409(removed), astm_d3359_b(removed)
    points = percent("--uncertainty", args.uncertainty) if args.uncertainty is not None else 0.0
    with about("--uncertainty", NotAGrade):
        of_iso, of_astm = (classes_of(m, removed, points) for m in (Method.ISO_2409, Method.D3359_B))
    words = {m: {step.code: step.words for step in scale(m).steps} for m in (Method.ISO_2409, Method.D3359_B)}
    doubts = [doubt(Method.ISO_2409, removed, points), doubt(Method.D3359_B, removed, points)]
    values: dict[str, object] = {
        "iso_2409": int(iso),
        "astm_d3359_b": astm,
        "removed_percent": removed,
        "uncertainty_points": points,
        "iso_2409_candidates": [int(code) for code in of_iso],
        "astm_d3359_b_candidates": list(of_astm),
        "iso_2409_words": words[Method.ISO_2409][iso],
        "astm_d3359_b_words": words[Method.D3359_B][astm],
        "iso_2409_held": held(Method.ISO_2409, iso),
        "astm_d3359_b_held": held(Method.D3359_B, astm),
        "iso_2409_why": doubts[0],
        "astm_d3359_b_why": doubts[1],
    }
    lines = [
        f"ISO 2409: class {iso}. {words[Method.ISO_2409][iso]}",
        *([f"  {doubts[0]}"] if doubts[0] else []),
        f"ASTM D3359 B: {astm}. {words[Method.D3359_B][astm]}",
        *([f"  {doubts[1]}"] if doubts[1] else []),
    ]
    return Answer(FINE, values, lambda: "\n".join(lines))


def _steps(args: argparse.Namespace) -> Answer:
    from benchtool.sheets.values import with_why
    from benchtool.trade.grades import held, scale, score

    found = scale(_test("--scale", args.scale))
    steps: list[dict[str, object]] = []
    for step in found.steps:
        values: dict[str, object] = {"code": step.code, "words": step.words, "score": score(found.method, step.code)}
        values |= {"least_percent": step.least, "most_percent": step.most, "held": held(found.method, step.code)}
        gaps = ["the test gives no percent of area"] if step.least is None else []
        gaps += ["no limit is agreed on"] if values["held"] is None else []
        steps.append(with_why(values, gaps))
    answered = {"test": str(found.method), "title": found.title, "source": found.source, "steps": steps}
    return Answer(FINE, answered, lambda: _scale_text(found))


def _scale_text(found: "Scale") -> str:
    wide = max(len(step.code) for step in found.steps)
    lines = [f"  {step.code:<{wide}}  {step.words}" for step in found.steps]
    return "\n".join([f"{found.title}, the best first:", *lines, f"Source: {found.source}."])


def _told(args: argparse.Namespace, means: Means) -> Answer:
    from benchtool.sheets.values import with_why
    from benchtool.trade.grademethods import instructions, tape_window
    from benchtool.trade.grades import BY_TAPE, title
    from benchtool.trade.quantities import NotAnAmount

    method = _test("--method", args.method)
    film_um = None
    if args.film is not None:
        with about("--film", NotAnAmount):
            film_um = means.measures().length_um(args.film, unit="um")
            if not film_um > 0:
                raise NotAnAmount("A film of nothing is none. Type a thickness such as 80 um or 3 mil.")
    hard = None
    if args.substrate is not None:
        hard = _HARD.get(printable(args.substrate).lower())
        if hard is None:
            raise Unusable(f"--substrate “{short(args.substrate)}” is not known here. Write hard or soft.")
    told = instructions(method, film_um, hard)
    values: dict[str, object] = {
        "test": str(method),
        "title": title(method),
        "fits": told.fits,
        "why_not": told.why_not,
    }
    values |= {"cuts": told.cuts, "spacing_mm": told.spacing_mm, "pull_from_s": None, "pull_until_s": None}
    gaps = [] if told.spacing_mm is not None else ["spacing or number of cuts is none, or hangs on film and substrate"]
    if method in BY_TAPE:
        earliest, latest = tape_window(method)
        values["pull_from_s"] = earliest.total_seconds()
        values["pull_until_s"] = latest.total_seconds() if latest is not None else None
        gaps += ["the tape may stay on as long as the trial says"] if latest is None else []
    else:
        gaps.append("no tape is pulled")
    values |= {"lines": list(told.lines), "caution": told.caution, "sources": list(told.sources)}
    return Answer(FINE, with_why(values, gaps), lambda: _told_text(title(method), told))


def _told_text(name: str, told: "Told") -> str:
    lines = [f"{name}:"]
    lines += [f"It is not meant for this: {told.why_not}"] if told.why_not else []
    lines += [f"Caution: {told.caution}", *(f"  {n}. {line}" for n, line in enumerate(told.lines, 1))]
    return "\n".join([*lines, f"Source: {'; '.join(told.sources)}."])


def _test(option: str, text: str) -> "Method":
    from benchtool.trade.grades import NotAMethod, read_method

    with about(option, NotAMethod):
        return read_method(printable(text))
