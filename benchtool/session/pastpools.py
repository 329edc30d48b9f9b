"""Trials held together where they may be: the same material, system, prep and test.

Every grade is told; nothing is averaged.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from benchtool.job.prepwords import step_name
from benchtool.job.trialcompared import short_of
from benchtool.job.trialrest import Rested, Test, title_of
from benchtool.session.cardsearch import fold
from benchtool.session.pastfound import Group, Key, PastGrade, PastTrial
from benchtool.session.trialwords import upper
from benchtool.trade.exactwords import listed
from benchtool.trade.grades import Method
from benchtool.trade.saying import say, say_n

MOST_CODES = 60
"""So many grades of one test are listed one by one; of more, how often each was given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """What all strips of a pool say in one test: how many held, of how many in how many trials, and every grade.

    `kept` is None where no limit is usual. `codes` stand best first; `early` were given too early and are left out.
    `untold` of those that count are of strips without a coat in the record.
    """

    test: Test
    kept: int | None
    strips: int
    trials: int
    codes: tuple[str, ...]
    early: int = 0
    untold: int = 0

    @property
    def held(self) -> str:
        """Say it without the name of the test."""
        trials = say_n("{n} trial", "{n} trials", self.trials)
        if not self.strips:
            return say("no grade can be counted yet")
        if self.kept is None:
            return say_n(
                "graded on {n} strip in {trials}", "graded on {n} strips in {trials}", self.strips, trials=trials
            )
        return say_n(
            "held on {kept} of {n} strip in {trials}",
            "held on {kept} of {n} strips in {trials}",
            self.strips,
            kept=self.kept,
            trials=trials,
        )

    @property
    def words(self) -> str:
        """Say it whole: the test, how many held, every grade, and what is left out."""
        said = [say("{test}: {held}.", test=title_of(self.test), held=self.held)]
        if self.codes:
            said.append(say("Grades: {codes}.", codes=_codes_words(self.codes)))
        if self.early:
            said.append(
                say_n(
                    "{n} grade given before the paint had rested is left out.",
                    "{n} grades given before the paint had rested are left out.",
                    self.early,
                )
            )
        if self.untold:
            said.append(
                say_n(
                    "Of {n} strip no coat is in the record: nobody can tell whether it had rested.",
                    "Of {n} strips no coat is in the record: nobody can tell whether they had rested.",
                    self.untold,
                )
            )
        return " ".join(said)


def _codes_words(codes: Sequence[str]) -> str:
    if len(codes) <= MOST_CODES:
        return ", ".join(codes)
    return ", ".join(say("{n} × {code}", n=codes.count(code), code=code) for code in dict.fromkeys(codes))


class Behind(NamedTuple):
    """One trial behind a pool, with those of its strips that belong to it."""

    trial: PastTrial
    group: Group

    @property
    def grades_words(self) -> str:
        """Say every grade of its strips, test by test; those that were given too early in brackets."""
        tests = dict.fromkeys(g.test for s in self.group.strips for g in s.grades)
        said = []
        for test in sorted(tests, key=_order):
            codes = (_code(g) for s in self.group.strips for g in s.grades if g.test == test)
            said.append(say("{test} {codes}", test=short_of(test), codes=", ".join(codes)))
        return "; ".join(said) or say("not graded yet")


def _code(grade: PastGrade) -> str:
    return say("({code} early)", code=grade.code) if grade.rested is Rested.EARLY else grade.code


@dataclass(frozen=True, kw_only=True)
class Pool:
    """All strips of one system on one material with one kind of prep; the trials behind it, the newest first.

    Of a material that nobody is sure of, all are of one lot.
    """

    key: Key
    behind: tuple[Behind, ...]

    @cached_property
    def statements(self) -> tuple[Statement, ...]:
        """What they say together, test by test; put together when it is first asked for."""
        return _statements(self.behind)

    @cached_property
    def lots(self) -> tuple[tuple[str, tuple[Statement, ...]], ...]:
        """What each lot of the material says by itself, where there are several."""
        lots: dict[str, list[Behind]] = {}
        for b in self.behind:
            lots.setdefault(fold(b.group.lot), []).append(b)
        return tuple((of[0].group.lot, _statements(of)) for of in lots.values()) if len(lots) > 1 else ()

    @cached_property
    def graded(self) -> int:
        """How many strips have a grade that counts."""
        return sum(1 for b in self.behind for s in b.group.strips if any(g.counts for g in s.grades))

    @property
    def first(self) -> Group:
        """What all of it have in common is that of any."""
        return self.behind[0].group

    @property
    def trials(self) -> int:
        """How many trials stand behind it."""
        return len({b.trial.key for b in self.behind})

    @property
    def strips(self) -> int:
        """How many strips stand behind it, graded or not."""
        return sum(len(b.group.strips) for b in self.behind)

    @property
    def material(self) -> str:
        """Name the material, with the lot where that is all that is known of it."""
        group = self.first
        if group.sure:
            return group.material
        guessed = say("unknown material")
        if group.substrate != "unknown":
            guessed = say("{material}, a guess", material=group.material)
        if group.lot:
            return say("{material}, lot {lot}", material=guessed, lot=group.lot)
        return say("{material}, no lot told", material=guessed)

    @property
    def prep(self) -> str:
        """Name the kinds of prep that all of it had."""
        kinds = ", ".join(step_name(kind) for kind in self.first.prep)
        return kinds or say("no prep logged")

    @property
    def count_words(self) -> str:
        """Say how much stands behind it."""
        trials = say_n("{n} trial", "{n} trials", self.trials)
        return say_n("{n} strip in {trials}", "{n} strips in {trials}", self.strips, trials=trials)


def pools_of(trials: Iterable[PastTrial]) -> tuple[Pool, ...]:
    """Pool what is comparable; what most strips stand behind comes first, then the newest."""
    by_key: dict[Key, list[Behind]] = {}
    for trial in trials:
        for group in trial.groups:
            by_key.setdefault(group.key, []).append(Behind(trial, group))
    newest_first = (sorted(of, key=lambda b: b.trial.at, reverse=True) for of in by_key.values())
    pools = [Pool(key=key, behind=tuple(of)) for key, of in zip(by_key, newest_first, strict=True)]
    return tuple(sorted(pools, key=lambda p: (-p.graded, -p.behind[0].trial.at.timestamp())))


def _order(test: Test) -> tuple[int, tuple[str, ...], int]:
    return len(test[1]), tuple(k.value for k in test[1]), list(Method).index(test[0])


def _statements(behind: Sequence[Behind]) -> tuple[Statement, ...]:
    given: dict[Test, list[tuple[Key, PastGrade]]] = {}
    for b in behind:
        for strip in b.group.strips:
            for grade in strip.grades:
                given.setdefault(grade.test, []).append((b.trial.key, grade))
    return tuple(_statement(test, given[test]) for test in sorted(given, key=_order))


def _statement(test: Test, given: Sequence[tuple[Key, PastGrade]]) -> Statement:
    counted = [(trial, g) for trial, g in given if g.counts]
    limits = any(g.kept is not None for _, g in counted)
    best_first = sorted((g for _, g in counted), key=lambda g: -(g.score or 0))
    return Statement(
        test=test,
        kept=sum(1 for _, g in counted if g.kept) if limits else None,
        strips=len(counted),
        trials=len({trial for trial, _ in counted}),
        codes=tuple(g.code for g in best_first),
        early=sum(1 for _, g in given if g.rested is Rested.EARLY),
        untold=sum(1 for _, g in counted if g.rested is Rested.UNTOLD),
    )


# --- words -----------------------------------------------------------------------------------------------


def row_words(pool: Pool) -> str:
    """Say in one line on what it was, how much stands behind it, and what the tape said."""
    told = [upper(pool.material), pool.count_words]
    tape = next((s for s in pool.statements if s.kept is not None), None)
    if tape is not None:
        held = say_n("held on {kept} of {n}", "held on {kept} of {n}", tape.strips, kept=tape.kept)
        told.append(say("{test} {held}", test=short_of(tape.test), held=held))
    told.append(pool.prep)
    return "; ".join(told)


def doubt_words(pool: Pool) -> str:
    """Say what such a pool does not prove; "" where there is only one trial, of which its own page speaks."""
    said = []
    if pool.trials > 1:
        said.append(
            say("Trials of different days lie together here. The air, the hand and the coats may have differed.")
        )
    if not pool.first.sure:
        said.append(say("Nobody is sure what this material is: it speaks for its own lot only."))
    if any(b.trial.newer for b in pool.behind):
        said.append(say("A newer version of this tool wrote some of it: what it does not know here is left out."))
    if any(b.trial.demo for b in pool.behind):
        said.append(say("Some of it is from a demo job: nobody sprayed that."))
    return " ".join(said)


def lot_words(pool: Pool) -> tuple[str, ...]:
    """Say each lot of the material by itself, where several are pooled."""
    said = []
    for lot, statements in pool.lots:
        counted = [s for s in statements if s.strips]
        held = "; ".join(_in_short(s) for s in counted)
        name = say("Lot {lot}", lot=lot) if lot else say("No lot told")
        said.append(say("{lot}: {held}.", lot=name, held=held or say("no grade can be counted yet")))
    return tuple(said)


def _in_short(found: Statement) -> str:
    """Say one test in a few words: how many held, or the grades where no limit is usual."""
    told = found.held if found.kept is not None else _codes_words(found.codes)
    return say("{test} {held}", test=short_of(found.test), held=told)


# --- searching -------------------------------------------------------------------------------------------

_NAMED = re.compile(r"(?<!\S)(substrate|material|product|lot|job)\s*[:=]\s*(\"[^\"]*\"?|\S*)", re.IGNORECASE)


class Query(NamedTuple):
    """What was typed, understood: folded words, words that a certain field must hold, and what can't be understood."""

    words: tuple[str, ...] = ()
    named: tuple[tuple[str, str], ...] = ()
    told: str = ""
    wrong: str = ""


def how_to_search() -> str:
    """Say, in the field, what may be typed."""
    return say("Material, product or job, such as substrate:abs product:promoter")


def read_query(typed: str) -> Query:
    """Understand what was typed; what can't be is told in `wrong` and narrows nothing."""
    named: list[tuple[str, str]] = []
    wrong: list[str] = []

    def take(found: "re.Match[str]") -> str:
        name, value = found[1].lower(), fold(found[2].strip('",; '))
        if value:
            named.append(("substrate" if name == "material" else name, value))
        else:
            wrong.append(say("{name} asks for a word, such as substrate:abs.", name=name))
        return " "

    rest = _NAMED.sub(take, typed[:400])
    told = ", ".join(f"{name} {value}" for name, value in named)
    return Query(tuple(dict.fromkeys(fold(rest.replace(",", " ")).split())), tuple(named), told, " ".join(wrong))


class Line(NamedTuple):
    """What is looked through of one trial behind a pool."""

    fields: dict[str, str]
    text: str


def line_of(behind: Behind, symbols: Callable[[str], Iterable[str]]) -> Line:
    """Make a trial ready to be looked through; `symbols` gives those of a material by its id."""
    trial, group = behind
    fields = {
        "substrate": fold(" ".join((group.substrate, group.material, *symbols(group.substrate)))),
        "product": fold(" ".join(group.names)),
        "lot": fold(group.lot),
        "job": fold(trial.job),
    }
    more = fold(" ".join((group.system, trial.name, group.prep_words, *group.chosen)))
    return Line(fields, " ".join((*fields.values(), more)))


def answers(query: Query, lines: Iterable[Line]) -> bool:
    """Whether one of the trials behind a pool answers: the pool is then shown whole, so that no strip is hidden."""
    return any(
        all(word in line.text for word in query.words)
        and all(value in line.fields[name] for name, value in query.named)
        for line in lines
    )


def once(trials: Iterable[PastTrial]) -> tuple[tuple[PastTrial, ...], int]:
    """Count a trial once that stands in several files (a copy of a job); gives how many were left out too.

    Of several the one with the most grades counts, then the one that is open.
    """
    best: dict[Key, PastTrial] = {}
    left = 0
    for trial in trials:
        other = best.get(trial.key)
        left += other is not None
        if other is None or (trial.graded, trial.open) > (other.graded, other.open):
            best[trial.key] = trial
    return tuple(best.values()), left


def behind_words(behind: Behind) -> Iterator[str]:
    """Say what is to be known of one trial behind a pool, beside its day and its job."""
    trial, group = behind
    yield behind.grades_words
    if group.coats:
        yield say("coats {coats}", coats=group.coats)
    if group.lot:
        yield say("lot {lot}", lot=group.lot)
    if group.prep_words:
        yield group.prep_words
    if group.chosen:
        yield say("chosen for {pieces}", pieces=listed(list(group.chosen)))
    if trial.newer:
        yield say("from a newer version, read in part")
