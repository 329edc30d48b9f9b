"""`benchtool trial`: how the adhesion trials of a job stand, or where the strips of one to come would lie."""

import argparse
import json
from typing import TYPE_CHECKING, Any

from benchtool.cli.check import read_moment
from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, printable, short

if TYPE_CHECKING:
    from benchtool.job.record import Job

MOST_BYTES = 1_000_000
"""A plan is a page at most."""

MOST_NAME = 200
"""Letters; so many a name has in a job."""

_KEYS = ("systems", "replicates", "seed", "name", "strip_width_mm", "strip_length_mm")


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    trial: Parser = commands.add_parser(
        "trial",
        help="say how the adhesion trials of a job stand, or lay out the strips of one to come",
        description="Say how the adhesion trials of a job stand: systems, strips, what comes next, grades, what they "
        "show. Or lay out the strips of a trial to come.",
        epilog=(
            "FILE is a job, the word demo-trial or demo, or a small plan in JSON (- for standard input):\n"
            '  {"systems": ["Two-part", "One-part", {"name": "None", "control": true}], "replicates": 3, "seed": 1}\n'
            "replicates: how many strips of each, 3 where it is not said. seed: deals the places out by chance, the\n"
            "same for the same seed; without one the strips lie in order. strip_width_mm and strip_length_mm are\n"
            "25 and 100 where they are not said.\n"
            "Exit status: 0 fine, 1 a stop on a strip that nobody signed off, 2 the input can't be used."
        ),
    )
    trial.add_argument(
        "file", metavar="FILE", help="a job file, the word demo-trial or demo, or a plan of a trial as JSON"
    )
    trial.add_argument("--at", metavar="TIME", help="look at the job as it stood then, as benchtool check takes it")
    return trial


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Tell of the trials of a job, or lay out a plan."""
    plan = _plan_in(args.file, means)
    if plan is None:
        return _of_job(args, means)
    if args.at is not None:
        raise Unusable("--at goes with a job: a plan has no time.")
    return _of_plan(plan)


# --- a job -------------------------------------------------------------------------------------------


def _of_job(args: argparse.Namespace, means: Means) -> Answer:
    from benchtool.job.record import as_of
    from benchtool.job.state import fold
    from benchtool.rules.engine import findings
    from benchtool.rules.finding import Severity
    from benchtool.sheets.trial_answer import about, trials_answer, trials_text
    from benchtool.trade.saying import say

    asked = read_moment(args.at) if args.at is not None else None
    job, notes = _open(args.file, means)
    at = asked or means.now()
    job = as_of(job, at) if asked is not None else job
    state, tables = fold(job), means.tables()
    try:
        found = findings(job, state, at, tables)
        values = trials_answer(job, state, found, at, tables) | {"notes": notes}
    except OverflowError:
        raise Unusable("A card in this job holds a time so long that no calendar reaches its end.") from None
    stopped = any(f.severity is Severity.STOP and not f.waived for f in about(state, found))
    lines = [printable(note) for note in notes]

    def text() -> str:
        told = [*lines, *trials_text(job, state, found, tables, values)]
        if job.demo and not state.trials:
            told.append(say("This demo has none. One with a trial: benchtool trial demo-trial") + "\n")
        return "\n".join(told)

    return Answer(TROUBLE if stopped else FINE, values, text)


def _open(name: str, means: Means) -> "tuple[Job, list[str]]":
    from benchtool.job.record import Job
    from benchtool.store.jobfile import JobFileFault

    try:
        opened = means.open_job(name)
    except JobFileFault as fault:
        raise Unusable(str(fault)) from None
    except OSError as fault:
        raise Unusable(f"“{short(name)}” can't be read: {fault.strerror or fault}.") from None
    return (opened, []) if isinstance(opened, Job) else (opened.job, list(opened.notes))


# --- a plan ------------------------------------------------------------------------------------------


def _plan_in(name: str, means: Means) -> dict[str, Any] | None:
    """Read a plan; None where the file is none, so that it is opened as a job."""
    if name in ("demo", "demo-trial") and _file(name) is None:
        return None
    text = _input(means) if name == "-" else _file(name)
    if text is None:
        return None
    try:
        value = json.loads(text.removeprefix("\ufeff"), object_pairs_hook=_once)
    except (ValueError, RecursionError):
        if name == "-":
            raise Unusable("Standard input is no JSON. Write a plan, see --help.") from None
        return None
    is_job = isinstance(value, dict) and ("format" in value or "events" in value)
    if is_job and name == "-":
        raise Unusable("A job is read from a file: standard input takes a plan.")
    if is_job:
        return None
    if not isinstance(value, dict) or "systems" not in value:
        raise Unusable(f"“{short(name)}” is neither a job nor a plan of a trial: a plan has systems, see --help.")
    return value


def _input(means: Means) -> str:
    if means.stdin is None:
        raise Unusable("There is no standard input to read.")
    text = means.stdin.read(MOST_BYTES + 1)
    if len(text) > MOST_BYTES:
        raise Unusable("Standard input is too long for a plan.")
    return text


def _file(name: str) -> str | None:
    """Read a small file; None where it can't be one that holds a plan: the reader of jobs says what is wrong."""
    from pathlib import Path

    path = Path(name)
    try:
        if path.stat().st_size > MOST_BYTES:
            return None
        return path.read_text(encoding="utf-8")
    except (OSError, ValueError):
        return None


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found and "systems" in (key, *found):
            raise Unusable(f"The plan has “{short(key)}” twice.")
        found[key] = value
    return found


def _of_plan(plan: dict[str, Any]) -> Answer:
    from benchtool.session.trialkinds import Candidate, Setup, with_replicates
    from benchtool.trade.exactwords import how_many_words
    from benchtool.trade.panel import USUAL_STRIP_MM

    unknown = [key for key in plan if key not in _KEYS]
    if unknown:
        raise Unusable(f"The plan has “{short(unknown[0])}”, which is none of {', '.join(_KEYS)}.")
    name, systems = _name(plan), _systems(plan["systems"])
    each = _whole(plan, "replicates", 3, least=1, most=_most(len(systems)))
    seed = _whole(plan, "seed", 0, least=0, most=2**63) if plan.get("seed") is not None else None
    width, length = (
        _side(plan, key, usual)
        for key, usual in zip(("strip_width_mm", "strip_length_mm"), USUAL_STRIP_MM, strict=True)
    )
    candidates = tuple(Candidate(key=f"s{i}", name=n, control=c) for i, (n, c) in enumerate(systems, 1))
    setup = Setup(systems=candidates, randomised=seed is not None, seed=seed or 0)
    setup = with_replicates(setup, each)
    names = {c.key: c.name for c in candidates}
    strips = [
        {"number": n, "panel": s.panel, "place": s.place, "system": names[s.key], "replicate": s.replicate}
        for n, s in setup.numbered()
    ]
    words = [*_control_words(systems), *how_many_words(len(systems), each)]
    values = {
        "name": name,
        "systems": [{"name": n, "control": c} for n, c in systems],
        "replicates": each,
        "strips_in_all": len(strips),
        "randomised": seed is not None,
        "seed": seed,
        "strips": strips,
        "panels": _panels(strips, width, length),
        "words": " ".join(words),
        "sentences": words,
        "why": "seed is null where the strips lie in order",
    }
    return Answer(FINE, values, lambda: _plan_text(values))


def _name(plan: dict[str, Any]) -> str:
    name = plan.get("name") or ""
    if not isinstance(name, str) or len(name) > MOST_NAME:
        raise Unusable(f"name of the plan: write a text of at most {MOST_NAME} letters.")
    return name


def _most(systems: int) -> int:
    from benchtool.job.trialplan import MOST_STRIPS
    from benchtool.session.trialkinds import MOST_REPLICATES

    return min(MOST_REPLICATES, MOST_STRIPS // systems)


def _systems(value: object) -> list[tuple[str, bool]]:
    from benchtool.job.trialplan import MOST_SYSTEMS

    if not isinstance(value, list) or not 2 <= len(value) <= MOST_SYSTEMS:
        raise Unusable(f"systems of the plan: write a list of 2 to {MOST_SYSTEMS} names.")
    found: list[tuple[str, bool]] = []
    for i, each in enumerate(value, 1):
        name, control = (each.get("name"), each.get("control", False)) if isinstance(each, dict) else (each, False)
        plain = printable(name) if isinstance(name, str) else ""
        if not plain or len(plain) > MOST_NAME or not isinstance(control, bool):
            raise Unusable(
                f'System {i} of the plan is no name: write "Two-part" or {{"name": "None", "control": true}}.'
            )
        if plain.casefold() in (n.casefold() for n, _ in found):
            raise Unusable(f"The plan has the system “{short(plain)}” twice: replicates say how many strips it has.")
        found.append((plain, control))
    return found


def _whole(plan: dict[str, Any], key: str, usual: int, *, least: int, most: int) -> int:
    value = plan.get(key, usual)
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise Unusable(f"{key} of the plan “{short(str(value))}”: write a whole number from {least} to {most}.")
    return value


def _side(plan: dict[str, Any], key: str, usual: float) -> float:
    value = plan.get(key, usual)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= 2_000:
        raise Unusable(f"{key} of the plan “{short(str(value))}”: write a length above 0 and up to 2000 mm.")
    return float(value)


def _control_words(systems: list[tuple[str, bool]]) -> list[str]:
    if any(control for _, control in systems):
        return []
    said = "No system is the control: without a bare strip beside them nobody can say that a promoter did anything, "
    return [said + "for on some plastics everything holds."]


def _panels(strips: list[dict[str, Any]], width: float, length: float) -> list[dict[str, Any]]:
    from benchtool.trade.panel import lay_out

    counts: dict[int, int] = {}
    for strip in strips:
        counts[strip["panel"]] = counts.get(strip["panel"], 0) + 1
    laid = {number: lay_out(count, width, length) for number, count in counts.items()}
    return [
        {"panel": n, "strips": counts[n], "width_mm": panel.width_mm, "height_mm": panel.height_mm}
        for n, panel in laid.items()
    ]


def _plan_text(values: dict[str, Any]) -> str:
    from textwrap import wrap

    from benchtool.sheets.trial_text import WIDTH

    lines = [printable(values["name"])] if values["name"] else []
    n, each = values["strips_in_all"], values["replicates"]
    last = ", the control last" if any(s["control"] for s in values["systems"]) else ""
    how = "places by chance" if values["randomised"] else f"places in order{last}"
    lines.append(f"{n} strips: {len(values['systems'])} systems, {each} of each, {how}.")
    for panel in values["panels"]:
        size = f"{panel['width_mm']:g} x {panel['height_mm']:g} mm"
        lines += ["", f"Panel {panel['panel']}, {size}, from the left:"]
        lines += [
            f"  {strip['number']:>2}  {strip['system']}"
            for strip in values["strips"]
            if strip["panel"] == panel["panel"]
        ]
    lines.append("")
    for sentence in values["sentences"]:
        lines += wrap(sentence, WIDTH, break_on_hyphens=False)
    return "\n".join(lines) + "\n"
