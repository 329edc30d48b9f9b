"""The trials of a job as values for scripts: what is tried, where, what comes next, every grade, what they show."""

import textwrap
from collections.abc import Iterator, Sequence
from datetime import datetime

from benchtool.job import events as ev
from benchtool.job.record import Job
from benchtool.job.state import PieceState, State
from benchtool.job.trialcompared import Compared, Mark, compared, still_to_grade, strip_numbers
from benchtool.job.trialnumbers import StripNumber
from benchtool.job.trialproof import proof_of
from benchtool.job.trialrest import Test, still_to_test, title_of
from benchtool.job.trials import TrialState
from benchtool.job.windows import Window, all_windows, listed
from benchtool.rules.engine import every
from benchtool.rules.finding import Finding, Severity, Tables
from benchtool.rules.preparing import step_of
from benchtool.sheets.state_answer import stamp
from benchtool.sheets.trial_text import WIDTH, answer_of, doubts_of, strips_words, trial_text
from benchtool.sheets.values import Values, plain
from benchtool.trade.saying import say
from benchtool.trade.windows import WindowKind

_TESTING = frozenset({WindowKind.DWELL, WindowKind.TAPE_ON, WindowKind.AGEING})


def trials_answer(job: Job, state: State, found: Sequence[Finding], now: datetime, tables: Tables) -> Values:
    """Give every trial of a job as it stands at `now`. Times are RFC 3339, UTC; nulls have a `why` beside them."""
    trials = [_trial(state, trial, found, now, tables) for trial in state.trials.values()]
    return {"at": stamp(now), "title": state.title, "demo": job.demo, "trials": trials}


def about(state: State, found: Sequence[Finding]) -> tuple[Finding, ...]:
    """Pick what is said of the strips and of what the trials show."""
    return tuple(f for f in every(found) if _is_of(state, f))


def _is_of(state: State, finding: Finding) -> bool:
    return finding.rule.startswith("trial.") or state.trial_of(finding.piece or "") is not None


def _flagged(state: State, trial: TrialState, found: Sequence[Finding]) -> tuple[Finding, ...]:
    """Pick what is said of one trial and its strips."""

    def mine(finding: Finding) -> bool:
        if finding.rule.startswith("trial."):
            return finding.key.startswith(f"{finding.rule}|{trial.id}|") or finding.key == f"{finding.rule}|{trial.id}"
        return trial.strip(finding.piece or "") is not None

    return tuple(f for f in about(state, found) if mine(f))


def _trial(state: State, trial: TrialState, found: Sequence[Finding], now: datetime, tables: Tables) -> Values:
    plan, piece, numbers = trial.plan, state.pieces.get(trial.plan.piece or ""), strip_numbers(trial)
    side_by_side = compared(state, trial)
    marks = {(m.strip, test): m for _, test, m in side_by_side.marks()}
    windows = listed(all_windows(state), now)
    return {
        "trial": trial.id,
        "name": plan.name,
        "note": plan.note,
        "piece": piece.id if piece is not None else None,
        "piece_name": piece.piece.name if piece is not None else None,
        **_material(state, trial),
        "rest_s": plan.rest.total_seconds(),
        "tape_stays_s": plan.tape_stays.total_seconds(),
        "methods": [m.value for m in plan.methods],
        "ageing": [step.kind.value for step in plan.ageing],
        "randomised": plan.randomised,
        "ended_at": stamp(trial.ended_at) if trial.ended_at is not None else None,
        "systems": [_system(state, trial, s, side_by_side, numbers) for s in plan.systems],
        "strips": [
            _strip(state, trial, s, numbers, next_words(state, trial, s.piece, windows, tables, now))
            for s in sorted(plan.strips, key=lambda s: (s.panel, s.place))
        ],
        "grades": [_grade(grade.given, grade.test, numbers, marks) for grade in trial.grades],
        "still_to_grade": [
            {"test": title_of(test), "method": test[0].value, "strips": [numbers[s].value for s in strips]}
            for test, strips in still_to_grade(state, trial)
        ],
        **_shown(trial, side_by_side),
        "chosen": [_chosen(state, trial, event, tables) for event in trial.chosen],
        "findings": [_finding(f) for f in _flagged(state, trial, found)],
        "why": _trial_why(trial),
    }


def _trial_why(trial: TrialState) -> str:
    reasons = [] if trial.plan.piece is not None else [say("it is done for no piece in particular")]
    reasons += [] if trial.ended_at is not None else [say("the strips are not put away")]
    return say("A value is null where there is none: {reasons}.", reasons="; ".join(reasons or [say("it is unknown")]))


def _material(state: State, trial: TrialState) -> Values:
    """Say what the strips are of, as their first one has it."""
    strips = [p.piece for s in trial.plan.strips if (p := state.pieces.get(s.piece)) is not None]
    first = strips[0] if strips else None
    return {
        "substrate": first.substrate if first is not None else None,
        "known": first.known.value if first is not None else None,
        "flex": first.flex.value if first is not None else None,
        "face": first.face.value if first is not None else None,
        "batch": first.batch if first is not None else "",
    }


def _system(
    state: State, trial: TrialState, system: ev.System, found: Compared, numbers: dict[str, StripNumber]
) -> Values:
    strips = trial.strips_of(system.id)
    first = next((p for s in strips if (p := state.pieces.get(s.piece)) is not None and p.layers), None)
    return {
        "system": system.id,
        "name": system.name,
        "control": system.control,
        "stack": [_layer(state, x.plan) for x in first.layers] if first is not None else [],
        "strips": [numbers[s.piece].value for s in strips],
        "place_in_order": found.place(system.id),
        "why": say("place_in_order is null where no order can be given yet"),
    }


def _layer(state: State, plan: ev.Layer) -> Values:
    card = state.cards.get(plan.card)
    activator = card.activator(plan.activator) if card is not None else None
    return {
        "card": plan.card,
        "name": plan.name or (card.name if card is not None else plan.card),
        "coats": plan.coats,
        "gun": plan.gun.value,
        "activator": activator.name if activator is not None else "",
        "additives": list(plan.additives),
    }


def _strip(state: State, trial: TrialState, strip: ev.Strip, numbers: dict[str, StripNumber], following: str) -> Values:
    system, piece = trial.system(strip.system), state.pieces.get(strip.piece)
    return {
        "strip": strip.piece,
        "number": numbers[strip.piece].value,
        "name": piece.piece.name if piece is not None else strip.piece,
        "system": strip.system,
        "system_name": system.name if system is not None else strip.system,
        "replicate": strip.replicate,
        "panel": strip.panel,
        "place": strip.place,
        "coats_on": sum(x.coats_done for x in piece.layers) if piece is not None else 0,
        "next": following,
    }


def next_words(
    state: State, trial: TrialState, strip: str, windows: Sequence[Window], tables: Tables, now: datetime
) -> str:
    """Say what a strip asks for next: its prep, its coats, its waits, its tests, its ageing."""
    piece = state.pieces.get(strip)
    if piece is None:
        return say("It is gone from the job.")
    if trial.ended_at is not None:
        return say("It is put away.")
    if piece.current is not None or not piece.layers:
        return step_of(state, piece, tables, now).words
    mine = next((w for w in windows if w.piece == strip and w.kind in _TESTING), None)
    if mine is not None:
        tests = ", ".join(title_of(test) for test in _left_now(trial, piece))
        told = f"{mine.words(now)}."
        return f"{told} {say('Tests: {tests}.', tests=tests)}" if tests and mine.kind is WindowKind.DWELL else told
    aged = trial.aged(strip)
    if tests := ", ".join(title_of(test) for test in _left_now(trial, piece)):
        return say("Tests: {tests}.", tests=tests)
    ahead = trial.plan.ageing[len(aged) :]
    if ahead:
        return say("Age it: {kind}.", kind=ahead[0].kind.value)
    return say("All tests are graded.")


def _left_now(trial: TrialState, piece: PieceState) -> Iterator[Test]:
    aged = trial.aged(piece.id)
    yield from ((m, aged) for m in still_to_test(trial, piece))


def _grade(
    given: ev.Graded, test: Test, numbers: dict[str, StripNumber], marks: dict[tuple[str, Test], Mark]
) -> Values:
    mark, number = marks.get((given.strip, test)), numbers.get(given.strip)
    newest = mark is not None and mark.given is not None and mark.given.id == given.id
    return {
        "strip": given.strip,
        "number": number.value if number is not None else None,
        "test": title_of(test),
        "method": given.method.value,
        "aged": [kind.value for kind in test[1]],
        "grade": given.grade,
        "at": stamp(given.at),
        "removed_percent": given.removed_percent,
        "plus_minus": given.plus_minus,
        "let_go": given.place.value if given.place is not None else None,
        "note": given.note,
        "rested": mark.rested.value if mark is not None and newest else None,
        "counts": newest and mark is not None and mark.counts,
        "held": None if mark is None or not newest or mark.came_off is None else not mark.came_off,
        "why": say("null where nothing was noted, where no limit is usual, or where a newer grade took its place"),
    }


def _shown(trial: TrialState, found: Compared) -> Values:
    ranking = found.ranking
    tests = [] if ranking is None else [
        {
            "test": test.label,
            "tells_apart": test.apart,
            "p_exact": float(test.p) if test.p is not None else None,
            "smallest_possible_p": float(test.smallest) if len(test.sizes) > 1 else None,
            "why": test.why or say("null where there are too few or too many strips to count"),
        }
        for test in ranking.tests
    ]  # fmt: skip
    return {
        "order": [list(level) for level in ranking.order] if ranking is not None else [],
        "tests": tests,
        "words": " ".join(answer_of(trial, found)),
        "doubts": list(doubts_of(trial, found)),
    }


def _chosen(state: State, trial: TrialState, event: ev.SystemChosen, tables: Tables) -> Values:
    system, piece = trial.system(event.system), state.pieces.get(event.piece)
    proof = proof_of(state, piece, tables.cleaners) if piece is not None else None
    counts = proof is not None and proof.chosen.id == event.id
    return {
        "system": event.system,
        "system_name": system.name if system is not None else event.system,
        "piece": event.piece,
        "piece_name": piece.piece.name if piece is not None else event.piece,
        "at": stamp(event.at),
        "counts": counts,
        "proves": counts and proof is not None and proof.holds,
        "against": list(proof.against) if counts and proof is not None else [],
        "to_do": list(proof.to_do) if counts and proof is not None else [],
    }


def _finding(finding: Finding) -> Values:
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "piece": finding.piece,
        "message": finding.message,
        "remedy": finding.remedy,
        "waived": finding.waived,
        "why": say("piece is null where it is about the trial as a whole"),
    }


# --- for a reader ------------------------------------------------------------------------------------


def trials_text(job: Job, state: State, found: Sequence[Finding], tables: Tables, values: Values) -> Iterator[str]:
    """Write every trial in plain words, one block each; `values` is what `trials_answer` gave."""
    if job.demo:
        yield say("Demo: these numbers are not a data sheet.") + "\n"
    if not state.trials:
        yield say("There is no trial in this job.") + "\n"
    told = values["trials"]
    for trial, said in zip(state.trials.values(), told if isinstance(told, list) else [], strict=True):
        yield trial_text(state, trial, tables) + "".join(
            f"{line}\n" for line in (*_next_lines(said), *_flag_lines(trial, _flagged(state, trial, found)))
        )


def _next_lines(trial: Values) -> Iterator[str]:
    by_words: dict[str, list[int]] = {}
    strips = trial["strips"]
    for strip in strips if isinstance(strips, list) else []:
        by_words.setdefault(strip["next"], []).append(strip["number"])
    yield ""
    yield say("What comes next")
    for words, numbers in by_words.items():
        named = strips_words(numbers)
        yield from _wrapped(f"{named[:1].upper()}{named[1:]}: {words}")


def _flag_lines(trial: TrialState, found: Sequence[Finding]) -> Iterator[str]:
    """Tell what is flagged; what a rule says of several strips is told once, with the others named."""
    numbers = strip_numbers(trial)
    alike: dict[tuple[object, ...], list[Finding]] = {}
    for finding in found:
        if not finding.waived:
            strip = numbers.get(finding.piece or "")
            same = (finding.rule, finding.severity, finding.remedy) if strip is not None else (finding.key,)
            alike.setdefault(same, []).append(finding)
    if alike:
        yield ""
        yield say("What is flagged")
    words = {Severity.STOP: say("Stop"), Severity.CAUTION: say("Caution"), Severity.NOTE: say("Note")}
    for first, *others in alike.values():
        told = f"{words[first.severity]}: {first.message} {first.remedy}"
        more = sorted({numbers[f.piece] for f in others if f.piece in numbers})
        told += " " + say("The same of {strips}.", strips=strips_words(more)) if more else ""
        yield from _wrapped(told)


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(plain(text), WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)
