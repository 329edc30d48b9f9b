"""A trial as plain text: what was tried on which strips, every grade, and what they prove together and what not."""

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, tzinfo
from fractions import Fraction

from benchtool.job import events as ev
from benchtool.job.state import State
from benchtool.job.trialcompared import (
    Compared,
    Mark,
    compared,
    short_of,
    stack_words,
    still_to_grade,
    strip_numbers,
)
from benchtool.job.trialrest import Rested, title_of
from benchtool.job.trials import TrialState
from benchtool.rules.finding import Tables
from benchtool.sheets.values import plain
from benchtool.trade.durations import write_span
from benchtool.trade.exactwords import LIMIT, chance_words, listed, p_text
from benchtool.trade.grades import codes
from benchtool.trade.ranking import Ranking
from benchtool.trade.rankingwords import (
    control_words,
    crossed_words,
    doubt_words,
    missing_words,
    order_words,
    pair_words,
    tape_words,
    test_words,
)
from benchtool.trade.saying import say, say_n

WIDTH = 92
"""Columns a line may take, as in the state of a job."""

MOST_NAME = 30
"""A longer name of a system is cut in the table; it stands whole above it."""


def trial_text(
    state: State,
    trial: TrialState,
    tables: Tables | None = None,
    zone: tzinfo | None = None,
    found: Compared | None = None,
) -> str:
    """Write all of a trial. Times are shown in `zone`, None for this computer's own.

    `found` is what was compared already, where it was: of many strips the exact figures take seconds to count.
    """
    found = found or compared(state, trial)
    return "\n".join(_lines(state, trial, found, tables, zone)) + "\n"


def _lines(
    state: State, trial: TrialState, found: Compared, tables: Tables | None, zone: tzinfo | None
) -> Iterator[str]:
    yield from _wrapped(say("Trial: {name}", name=trial.plan.name))
    yield from _wrapped(_about(state, trial, tables))
    if trial.plan.note.strip():
        yield from _wrapped(trial.plan.note)
    yield ""
    for said in answer_of(trial, found):
        yield from _wrapped(said)
    yield ""
    yield from _systems(state, trial, found)
    if found.tests:
        yield ""
        yield from _table(found)
    for title, sentences in (
        ("", doubts_of(trial, found)),
        (say("Where it let go"), places_of(found)),
        (say("Exact figures"), figures_of(found)),
        (say("Still to grade"), tuple(_left(state, trial))),
        ("", tuple(_ended(state, trial, zone))),
    ):
        if sentences:
            yield ""
            yield from [title] if title else []
            for sentence in sentences:
                yield from _wrapped(sentence, "  " if title else "")


def _about(state: State, trial: TrialState, tables: Tables | None) -> str:
    """Say on what, how long it rested, and how it was laid out."""
    strips = [state.pieces[s.piece].piece for s in trial.plan.strips if s.piece in state.pieces]
    parts = []
    if strips:
        substrate = tables.substrates.get(strips[0].substrate) if tables is not None else None
        material = substrate.name if substrate is not None else strips[0].substrate
        parts.append(say("On {material}", material=material))
        if strips[0].batch.strip():
            parts.append(say("lot {lot}", lot=strips[0].batch))
    parts.append(say_n("{n} strip", "{n} strips", len(trial.plan.strips)))
    parts.append(say("places by chance") if trial.plan.randomised else say("places in order"))
    parts.append(say("rest before the tests {span}", span=write_span(trial.plan.rest)))
    return say("{all}.", all=", ".join(parts))


def _systems(state: State, trial: TrialState, found: Compared) -> Iterator[str]:
    numbers = strip_numbers(trial)
    for line in found.lines:
        system, place = line.system, found.place(line.system.id)
        head = f"{place}. " if place is not None else "- "
        name = found.names[system.id] + (say(" (control)") if system.control else "")
        strips = strips_words([numbers[s.piece] for s in trial.strips_of(system.id)])
        stack = stack_words(state, trial, system.id)
        told = say("{system}: {stack}; {strips}.", system=name, stack=stack, strips=strips)
        yield from _wrapped(f"{head}{told}", hang=len(head))


# --- the answer -------------------------------------------------------------------------------------------


def answer_of(trial: TrialState, found: Compared) -> tuple[str, ...]:
    """Give what is read first: the order, the honest doubt, and what the control says. Each is a sentence or two."""
    ranking = found.ranking
    if ranking is None and not trial.grades:
        return (say("Nothing is graded yet."),)
    if ranking is None:
        return (say("No grade can be counted yet: all were given before the paint had rested."),)
    order = tuple(order_words(ranking))
    parts = (
        order or (say("No order can be given yet."),),
        () if order else missing_words(ranking),
        _plain_doubt(ranking),
        tape_words(ranking),
        control_words(ranking),
    )
    return tuple(told for part in parts if (told := " ".join(part)))


def _plain_doubt(ranking: Ranking) -> Sequence[str]:
    """Say how little is proved: by so few strips, else whether chance alone could have put the best before the next."""
    words = _few_words(ranking)
    reach = min((pair.smallest for pair in ranking.pair_tests), default=Fraction(1))
    return words if reach >= LIMIT else (*words, *_chance_words(ranking))


def _few_words(ranking: Ranking) -> tuple[str, ...]:
    """Leave out for later that only a strip of its own counts: it comes last, where there are several strips."""
    words = tuple(doubt_words(ranking))
    return words[:-1] if _several(ranking) else words


def _several(ranking: Ranking) -> bool:
    return any(size > 1 for test in ranking.tests for size in test.sizes)


def _chance_words(ranking: Ranking) -> Iterator[str]:
    if len(ranking.order) < 2:
        return
    best, following = ranking.order[:2]
    between = [
        (pair.p, pair.adjusted)
        for pair in ranking.pair_tests
        if pair.p is not None
        and pair.adjusted is not None
        and ((pair.first in best and pair.second in following) or (pair.second in best and pair.first in following))
    ]
    if not between:
        return
    p, adjusted = min(between)
    named = {"best": listed(best), "next": listed(following), "chance": chance_words(p), "p": p_text(p)}
    if p >= LIMIT:
        yield say(
            "Chance alone could have put {best} before {next}: it would part them as clearly in {chance} (exact p {p} "
            "in the test that parts them most).",
            **named,
        )
        return
    yield say("Chance alone would put {best} before {next} as clearly in {chance} (exact p {p} in one test).", **named)
    if adjusted != p:
        yield say(
            "Who looks at many pairs may find one of them clear by luck: with that counted in it is {chance} (p {p} by "
            "Holm's way).",
            chance=chance_words(adjusted), p=p_text(adjusted),
        )  # fmt: skip


def doubts_of(trial: TrialState, found: Compared) -> tuple[str, ...]:
    """Give what else has to be known: what is not counted and why, what can't be placed, what can't be told apart."""
    ranking = found.ranking
    said = [*_early_words(found), *_untold_words(found)]
    if ranking is not None:
        if any(order_words(ranking)):
            said += missing_words(ranking)  # else it is said in the answer
        said += [*crossed_words(ranking), *(tuple(doubt_words(ranking))[-1:] if _several(ranking) else ())]
    if not trial.controls and ranking is None:
        said.append(say("No control is named: without a strip with no promoter nothing shows that a promoter helps."))
    return tuple(said)


def figures_of(found: Compared, *, counting: bool = False) -> tuple[str, ...]:
    """Give the exact figures, for whoever wants them; never an asymptotic p. What is still counted is left out."""
    ranking = found.ranking
    if ranking is None:
        return ()
    if not counting:
        return (*test_words(ranking), *pair_words(ranking))
    there = tuple(t for t in ranking.tests if t.p is not None or len(t.sizes) < 2 or not t.apart)
    ranking = replace(ranking, tests=there)
    return (say("More is still being counted."), *test_words(ranking), *pair_words(ranking))


def _early_words(found: Compared) -> Iterator[str]:
    early = [m for _, _, m in found.marks() if m.rested is Rested.EARLY and m.code]
    if early:
        strips = strips_words(sorted({m.number for m in early}))
        yield say_n(
            "{n} grade was given before the paint had rested: it is kept and shown, and not counted. "
            "Grade {strips} again.",
            "{n} grades were given before the paint had rested: they are kept and shown, and not counted. "
            "Grade {strips} again.",
            len(early), strips=strips,
        )  # fmt: skip


def _untold_words(found: Compared) -> Iterator[str]:
    untold = sorted({m.number for _, _, m in found.marks() if m.rested is Rested.UNTOLD and m.code})
    if untold:
        yield say(
            "No coat was logged on {strips}, so nobody can tell whether the paint had rested; the grades are counted.",
            strips=strips_words(untold),
        )


def places_of(found: Compared) -> tuple[str, ...]:
    """Give where each strip let go, and how much, a line for each system; () where nothing was noted."""
    said = []
    for line in found.lines:
        parts = [
            say("strip {number}, {test}: {place}", number=m.number, test=short_of(test), place=m.place)
            for test, cell in zip(found.tests, line.cells, strict=True)
            for m in cell
            if m.place and (m.given is None or m.given.place is not ev.FailurePlace.NOTHING)
        ]
        if parts:
            said.append(say("{system}: {places}.", system=found.names[line.system.id], places="; ".join(parts)))
    return tuple(said)


def strips_words(numbers: Sequence[int], of: int | None = None) -> str:
    """Name strips by their numbers: `strips 1, 5 and 9`; all of them, where there are `of`, are `every strip`."""
    if of is not None and len(numbers) == of:
        return say("every strip")
    named = listed([str(n) for n in numbers])
    return say("strip {numbers}", numbers=named) if len(numbers) == 1 else say("strips {numbers}", numbers=named)


def code_of(mark: Mark) -> str:
    """Write a grade as it stands in the table: a dash for none, in brackets where it is not counted."""
    if not mark.code:
        return "–"
    return mark.code if mark.counts else f"({mark.code})"


# --- the table --------------------------------------------------------------------------------------------


def _table(found: Compared) -> Iterator[str]:
    """Write the table in as many bands as the width asks for; the grades stand by strip, in one order in every row."""
    names = [_cut(found.names[line.system.id]) for line in found.lines]
    left = max(map(len, names), default=0) + 2
    cells = [["  ".join(map(code_of, cell)) for cell in line.cells] for line in found.lines]
    heads = [plain(short_of(test)) for test in found.tests]
    wide = [max(len(head), *(len(row[i]) for row in cells)) + 3 for i, head in enumerate(heads)]
    for n, band in enumerate(_bands(wide, WIDTH - left)):
        if n:
            yield ""
        yield (" " * left + "".join(f"{heads[i]:<{wide[i]}}" for i in band)).rstrip()
        for name, row in zip(names, cells, strict=True):
            yield (f"{name:<{left}}" + "".join(f"{row[i]:<{wide[i]}}" for i in band)).rstrip()
    ends = [say("{grade} in {test}", grade=codes(t[0])[0], test=short_of(t)) for t in found.tests]
    yield from _wrapped(say("The best grade is {ends}.", ends=listed(ends)))
    if any("(" in grade or "–" in grade for row in cells for grade in row):
        yield from _wrapped(say("In brackets: given too early, and not counted. A dash: not graded."))


def _bands(wide: Sequence[int], room: int) -> list[list[int]]:
    bands: list[list[int]] = [[]]
    for i, w in enumerate(wide):
        if bands[-1] and sum(wide[j] for j in bands[-1]) + w > room:
            bands.append([])
        bands[-1].append(i)
    return bands


def _cut(name: str) -> str:
    flat = plain(name)
    return flat if len(flat) <= MOST_NAME else flat[: MOST_NAME - 1] + "…"


# --- what is left -----------------------------------------------------------------------------------------


def _left(state: State, trial: TrialState) -> Iterator[str]:
    numbers = strip_numbers(trial)
    for test, strips in still_to_grade(state, trial):
        named = strips_words([numbers[s] for s in strips], len(numbers))
        yield say("{test}: {strips}.", test=title_of(test), strips=named)


def _ended(state: State, trial: TrialState, zone: tzinfo | None) -> Iterator[str]:
    for chosen in trial.chosen:
        system, piece = trial.system(chosen.system), state.pieces.get(chosen.piece)
        if system is not None and piece is not None:
            yield say(
                "{system} was chosen for {piece} ({time}).",
                system=system.name, piece=piece.piece.name, time=_moment(chosen.at, zone),
            )  # fmt: skip
    if trial.ended_at is not None:
        yield say("The strips were put away ({time}).", time=_moment(trial.ended_at, zone))


def _moment(when: datetime, zone: tzinfo | None) -> str:
    return f"{when.astimezone(zone):%a %d %b %Y, %H:%M}"


def _wrapped(text: str, indent: str = "", *, hang: int = 2) -> list[str]:
    return textwrap.wrap(
        plain(text),
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + " " * hang if indent or hang != 2 else "",
        break_on_hyphens=False,
    )
