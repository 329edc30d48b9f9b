"""Trials: what makes the result of a trial prove less than it seems to. Strips that were put away are left in peace."""

from collections.abc import Iterable, Iterator
from datetime import timedelta

from benchtool.job import events as ev
from benchtool.job.films import least_um
from benchtool.job.state import PieceState
from benchtool.job.trialproof import prep_alike
from benchtool.job.trialrest import Rested, Test, aged_words, rested, title_of
from benchtool.job.trials import TrialState
from benchtool.rules import trialshown
from benchtool.rules.finding import PRACTICE, Facts, Family, Finding, Severity
from benchtool.rules.trialfound import found, graded, running
from benchtool.trade.grademethods import MOST_B_UM, MOST_ISO_UM, tape_window
from benchtool.trade.grades import BY_AREA, classes_of, title
from benchtool.trade.numbers import figure, span_words
from benchtool.trade.saying import say

FAMILY = Family("trial", list(trialshown.FAMILY.rules))

LOOKING = timedelta(minutes=3)
"""How long it takes to look at a strip and write its grade down: so much later than its tape was pulled a grade may be
in the record (judgement)."""

WHOLE = 0.95
"""So much of the time that was asked for still counts as the whole of it (judgement)."""

MOST_UM = {ev.Method.ISO_2409: MOST_ISO_UM, ev.Method.D3359_B: MOST_B_UM}
"""um: the thickest film that a cross-cut is meant for (ISO 2409:2020, clause 1; ASTM D3359-09, 1.2)."""


def _names(pieces: Iterable[PieceState]) -> str:
    names = list(dict.fromkeys(p.piece.name for p in pieces))
    return say("{some} and {last}", some=", ".join(names[:-1]), last=names[-1]) if len(names) > 1 else names[0]


# --- how it is set up ----------------------------------------------------------------------------------


@FAMILY.rule(
    "no-control",
    Severity.CAUTION,
    timed=False,
    title="Trial without a control",
    reason="Without a bare strip beside them nobody can say that a promoter did anything: on some plastics "
    "everything holds.",
    source=PRACTICE,
    remedy="Add a system without a promoter as the control, on the same panel and with the same prep.",
)
def no_control(facts: Facts) -> Iterator[Finding]:
    """No system of a trial is its control."""
    for trial in running(facts):
        if not trial.controls:
            yield found(
                facts,
                "trial.no-control",
                Severity.CAUTION,
                trial,
                say("The trial {trial} has no control.", trial=trial.plan.name),
                say("Add a system without a promoter as the control, on the same panel and with the same prep."),
            )


@FAMILY.rule(
    "strips-differ",
    Severity.CAUTION,
    timed=False,
    title="Strips of one system that differ",
    reason="The strips of a system stand for one another: where one has another layer, coat or prep, nobody knows "
    "what made the difference.",
    source=PRACTICE,
    remedy="Give them the same layers and the same prep. Where paint is on, leave the odd one out, or try it as a "
    "system of its own.",
)
def strips_differ(facts: Facts) -> Iterator[Finding]:
    """The strips of a system do not have the same layers planned, or were not prepared alike before their paint."""
    for trial in running(facts):
        for system in trial.plan.systems:
            strips = [p for s in trial.strips_of(system.id) if (p := facts.state.pieces.get(s.piece)) is not None]
            odd = _odd(strips)
            if odd:
                yield found(
                    facts,
                    "trial.strips-differ",
                    Severity.CAUTION,
                    trial,
                    say("The strips of {system} are not alike any more.", system=system.name) + f" {odd}",
                    say("Give them the same layers and the same prep; leave out one that is painted otherwise."),
                    system.id,
                )


def _odd(strips: list[PieceState]) -> str:
    """Say which strip is not like the first one of its system; "" where all are alike."""
    for strip in strips[1:]:
        named = {"strip": strip.piece.name, "other": strips[0].piece.name}
        if _stack(strip) != _stack(strips[0]):
            return say("{strip} has other layers than {other}.", **named)
    painted = [p for p in strips if p.top is not None]
    for strip in painted[1:]:
        named = {"strip": strip.piece.name, "other": painted[0].piece.name}
        if not prep_alike(strip, painted[0]):
            return say("{strip} was prepared otherwise than {other}.", **named)
    return ""


def _stack(piece: PieceState) -> list[tuple[object, ...]]:
    return [(p.card, p.coats, p.activator, p.gun, frozenset(p.additives)) for p in (x.plan for x in piece.layers)]


# --- how it is tested ----------------------------------------------------------------------------------


@FAMILY.rule(
    "too-early",
    Severity.CAUTION,
    timed=False,
    title="Strip tested before its paint had rested",
    reason="Fresh paint is still gaining its hold: an early test tells neither that it will hold nor that it won't.",
    source=PRACTICE,
    remedy="Test it again once its rest is over. The early grade stays in the record and proves nothing.",
)
def too_early(facts: Facts) -> Iterator[Finding]:
    """A grade that counts was given before the rest of its strip was over, or while it was being aged."""
    for trial in running(facts):
        early: dict[Test, list[PieceState]] = {}
        for _, piece, grade in graded(facts, trial):
            if rested(trial, piece, grade.given.at) is Rested.EARLY:
                early.setdefault(grade.test, []).append(piece)
        for test, strips in early.items():
            named = {"strips": _names(strips), "test": title_of(test)}
            yield found(
                facts,
                "trial.too-early",
                Severity.CAUTION,
                trial,
                say("Tested before the paint had rested: {strips} ({test}). It is kept, and proves nothing.", **named),
                say("Test it again once the rest is over."),
                *test[1],
                test[0].value,
            )


@FAMILY.rule(
    "tape-late",
    Severity.NOTE,
    timed=False,
    title="Tape pulled outside its time",
    reason="The longer tape lies, the harder it holds: strips whose tape lay longer or shorter can't be compared.",
    source="ASTM D3359, 7.6 (60 to 120 s); ISO 2409 (5 min, from memory); plain tape: common practice, no source",
    remedy="Test a fresh place, and pull the tape in its time. Where that can't be, say so beside the grade.",
)
def tape_late(facts: Facts) -> Iterator[Finding]:
    """By the record the tape of a test was on for a shorter or much longer time than its method asks for."""
    for trial in running(facts):
        for _, piece, grade in graded(facts, trial):
            given = grade.given
            lay = _lay(trial, given)
            if lay is None:
                continue
            least, most = tape_window(given.method, trial.plan.tape_stays)
            if lay >= least and (most is None or lay <= most + LOOKING):
                continue
            named = {"strip": piece.piece.name, "test": title_of(grade.test), "time": _time(lay)}
            asked = {"least": _time(least), "most": _time(most or least)}
            yield found(
                facts,
                "trial.tape-late",
                Severity.NOTE,
                trial,
                say("By the record the tape was on {strip} for {time} ({test}).", **named),
                say("It is to lie {least} at least: test a fresh place.", **asked)
                if lay < least
                else say("It is to be off after {most} at most: test a fresh place.", **asked),
                given.strip,
                *grade.aged,
                given.method.value,
            )


def _lay(trial: TrialState, given: ev.Graded) -> timedelta | None:
    """Give how long the tape of a test was on; None where nobody logged it. A grade put right later pulls no tape."""
    same = (given.strip, given.method)
    tapes = [t.at for t in trial.tapes if (t.strip, t.method) == same and t.at <= given.at]
    if not tapes:
        return None
    on = max(tapes)
    judged = (g.given.at for g in trial.grades if (g.given.strip, g.given.method) == same)
    return min(at for at in judged if at >= on) - on


def _time(span: timedelta) -> str:
    return span_words(span.total_seconds())


@FAMILY.rule(
    "grade-disagrees",
    Severity.CAUTION,
    timed=False,
    title="Class that is not the one of the area",
    reason="A cross-cut is classed by the area that came off: where the two don't agree, one of them is a slip.",
    source="ISO 2409:2020, clause 9; ASTM D3359, test method B",
    remedy="Look at the squares again, and grade it once more: the class or the area.",
)
def grade_disagrees(facts: Facts) -> Iterator[Finding]:
    """A cross-cut has a class that its area, give or take what it may be off, can't have."""
    for trial in running(facts):
        for _, piece, grade in graded(facts, trial):
            given = grade.given
            if given.method not in BY_AREA or given.removed_percent is None:
                continue
            offered = classes_of(given.method, given.removed_percent, given.plus_minus or 0.0)
            if given.grade in offered:
                continue
            named = {"strip": piece.piece.name, "test": title_of(grade.test), "grade": given.grade}
            named |= {"area": figure(given.removed_percent), "classes": say(" or ").join(offered)}
            yield found(
                facts,
                "trial.grade-disagrees",
                Severity.CAUTION,
                trial,
                say("{strip} is graded {grade}, and {area} % off is {classes} ({test}).", **named),
                say("Look at the squares again, and grade it once more: the class or the area."),
                given.strip,
                *grade.aged,
                given.method.value,
            )


@FAMILY.rule(
    "aged-short",
    Severity.NOTE,
    timed=False,
    title="Strip taken out before its ageing was over",
    reason="A strip that soaked, froze or baked for a shorter time than the others went through less: their grades "
    "after it can't be compared.",
    source=PRACTICE,
    remedy="Age it once more for the whole time, and test it again. Where that can't be, say so beside the grade.",
)
def aged_short(facts: Facts) -> Iterator[Finding]:
    """A strip came out of water, heat or cold clearly before its time, and was not put in again since."""
    for trial in running(facts):
        for n, run in enumerate(trial.ageings):
            again = {s for later in trial.ageings[n + 1 :] if later.plan.kind is run.plan.kind for s in later.strips}
            strips = [p for s in run.strips if s not in again and (p := facts.state.pieces.get(s)) is not None]
            if run.over_at is None or not run.plan.lasts or not strips:
                continue
            lasted = max(run.over_at - run.begun_at, timedelta(0))
            if lasted >= run.plan.lasts * WHOLE:
                continue
            named = {"strips": _names(strips), "time": _time(lasted), "most": _time(run.plan.lasts)}
            yield found(
                facts,
                "trial.aged-short",
                Severity.NOTE,
                trial,
                say("Aged for {time} only: {strips} ({kind}).", kind=aged_words((run.plan.kind,)), **named),
                say("It was to be {most}: age it once more for the whole time, and test it again.", **named),
                n,
                *run.strips,
            )


@FAMILY.rule(
    "method-unfit",
    Severity.CAUTION,
    timed=False,
    title="Film too thick for this cross-cut",
    reason="The squares of a cross-cut are cut for a film of a certain thickness: in a thicker one they tell nothing.",
    source="ISO 2409:2020, clause 1 (250 µm); ASTM D3359-09, 1.2 (method B: 125 µm)",
    remedy="Make an X-cut instead (ASTM D3359 A, or ISO 16276-2).",
)
def method_unfit(facts: Facts) -> Iterator[Finding]:
    """A cross-cut is planned or was done on a film, measured or by its cards, that is too thick for it."""
    for trial in running(facts):
        asked = {*trial.plan.methods, *(g.given.method for g in trial.grades)}
        thickest = max(
            (least_um(facts.state, p) for s in trial.plan.strips if (p := facts.state.pieces.get(s.piece)) is not None),
            default=0.0,
        )
        for method, most in MOST_UM.items():
            if method not in asked or thickest <= most + 1e-6:
                continue
            named = {"um": figure(thickest), "test": title(method), "most": figure(most)}
            yield found(
                facts,
                "trial.method-unfit",
                Severity.CAUTION,
                trial,
                say("There are {um} µm of film on a strip, and {test} is for {most} µm at most.", **named),
                say("Make an X-cut instead (ASTM D3359 A, or ISO 16276-2)."),
                method.value,
            )
