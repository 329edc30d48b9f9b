"""What a trial found, as the window shows it: the answer in sentences, the table, the plot, the figures behind them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial

from benchtool.job import events as ev
from benchtool.job.state import PieceState, State
from benchtool.job.trialcompared import (
    Compared,
    Mark,
    best_of,
    compared,
    short_of,
    stack_words,
    still_to_grade,
    strip_numbers,
    usual_limit,
)
from benchtool.job.trialrest import Rested, Test, aged_words, title_of
from benchtool.job.trials import TrialState
from benchtool.session import trialuse
from benchtool.session.cardreading import Wrong
from benchtool.session.session import Document, Draft, NotNow, Session
from benchtool.session.trialcounting import Ranker
from benchtool.sheets.trial_text import answer_of, code_of, doubts_of, figures_of, places_of, strips_words
from benchtool.trade.exactwords import listed
from benchtool.trade.grades import codes
from benchtool.trade.ranking import TestFound
from benchtool.trade.saying import say, say_n

__all__ = [
    "Column", "Dot", "Head", "Lane", "Picture", "Row", "View", "choose", "chosen_words", "code_of", "is_chosen",
    "pieces_for", "put_away", "tsv", "view_of",
]  # fmt: skip

MOST_LEFT = 4
"""So many lines of what is still to grade are told; the count is of all."""

FULL_SCALE = 6
"""A scale of no more steps is shown whole."""


@dataclass(frozen=True, slots=True)
class Dot:
    """One strip in the plot: its number, its step (0 the first of the lane), and what is said of it."""

    number: int
    step: int
    early: bool = False
    came_off: bool = False
    words: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """One system in the plot."""

    name: str
    control: bool = False
    colour: str | None = None


@dataclass(frozen=True, slots=True)
class Lane:
    """One test in the plot: its steps, best first, and the strips by column.

    `limit` is the place of the last step that is usually allowed, None where no limit is usual.
    """

    title: str
    remark: str = ""
    steps: tuple[str, ...] = ()
    limit: int | None = None
    dots: tuple[tuple[Dot, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Picture:
    """The whole plot."""

    columns: tuple[Column, ...] = ()
    lanes: tuple[Lane, ...] = ()


@dataclass(frozen=True, slots=True)
class Head:
    """One test in the table: its name in full and in short, whether it tells the systems apart, its best grade."""

    title: str
    short: str
    remark: str = ""
    best: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One system in the table, `place` in the order found ("" where it can't be placed)."""

    id: str
    name: str
    place: str
    remark: str
    stack: str
    colour: str | None
    cells: tuple[tuple[Mark, ...], ...]
    control: bool = False

    @property
    def named(self) -> str:
        """Its name and what it is."""
        return say("{system}: {stack}", system=self.name, stack=self.stack)

    def told(self, test: int) -> str:
        """Say every strip of it in one test."""
        return "\n".join(mark_words(mark) for mark in self.cells[test])

    def spoken(self, tests: "Sequence[Head]") -> str:
        """Say the whole row, for whoever can't see it."""
        place = say("place {place}", place=self.place) if self.place else say("not placed")
        cells = (
            say(
                "{test} ({best}): {grades}", test=head.title, best=head.best, grades=", ".join(code_of(m) for m in cell)
            )
            for head, cell in zip(tests, self.cells, strict=True)
        )
        return "; ".join((self.name, place, *([self.remark] if self.remark else []), *cells))


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """All that the stage shows of one trial: `answer` is read first, then `doubts`, `figures` by whoever wants them.

    `left` says what is still to grade, with how many; `graded` whether any strip is.
    """

    trial: str
    name: str
    rows: tuple[Row, ...]
    tests: tuple[Head, ...]
    answer: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    legend: str = ""
    left: str = ""
    picture: Picture = field(default_factory=Picture)
    graded: bool = False
    ended: bool = False
    piece: str | None = None
    found: Compared | None = field(default=None, compare=False, repr=False)


def view_of(document: Document, trial_id: str, ranker: Ranker | None = None) -> View | None:
    """Give what a trial of an open job found; None where the job has no such trial.

    `ranker` may still be counting: then the figures that are not there yet are left out, and that is said.
    """
    state = document.state
    trial = state.trials.get(trial_id)
    if trial is None:
        return None
    ranker = ranker or Ranker()
    found = compared(state, trial, ranker)
    rows = tuple(_rows(state, trial, found))
    return View(
        trial=trial.id,
        name=trial.plan.name,
        rows=rows,
        tests=tuple(Head(title_of(t), short_of(t), remark, best_of(t)) for t, remark in _remarks(found)),
        answer=answer_of(trial, found),
        doubts=doubts_of(trial, found),
        figures=figures_of(found, counting=ranker.counting),
        places=places_of(found),
        legend=_legend(rows),
        left=left_words(state, trial),
        picture=picture_of(found),
        graded=bool(trial.grades),
        ended=trial.ended_at is not None,
        piece=trial.plan.piece if trial.plan.piece in state.pieces else None,
        found=found,
    )


def _rows(state: State, trial: TrialState, found: Compared) -> Iterator[Row]:
    for line in found.lines:
        place = found.place(line.system.id)
        yield Row(
            id=line.system.id,
            name=found.names[line.system.id],
            place=str(place) if place is not None else "",
            remark=", ".join(_said_of(state, trial, line.system)),
            control=line.system.control,
            stack=stack_words(state, trial, line.system.id),
            colour=line.system.colour,
            cells=line.cells,
        )


def _said_of(state: State, trial: TrialState, system: ev.System) -> Iterator[str]:
    """Say beside the name of a system what it is here."""
    if system.control:
        yield say("control")
    chosen = [p.piece.name for p in state.painted if _goes_by(p, trial.id, system.id)]
    if chosen:
        yield say("chosen for {pieces}", pieces=listed(chosen))


def _goes_by(piece: PieceState, trial: str, system: str) -> bool:
    last = piece.chosen[-1] if piece.chosen else None
    return last is not None and (last.trial, last.system) == (trial, system)


def _remarks(found: Compared) -> Iterator[tuple[Test, str]]:
    by_label = {t.label: t for t in found.ranking.tests} if found.ranking is not None else {}
    for test, label in zip(found.tests, found.labels(), strict=True):
        yield test, _remark(by_label.get(label))


def _remark(test: TestFound | None) -> str:
    """Say beside the name of a test what it can tell."""
    if test is None:
        return say("no grade of it is counted")
    return say("all alike: it tells nothing apart here") if not test.apart else ""


def mark_words(mark: Mark) -> str:
    """Say all of one strip in one test."""
    if not mark.code:
        return say("Strip {number}: not graded", number=mark.number)
    words = say("Strip {number}: {grade}", number=mark.number, grade=mark.code)
    early = say("graded before it had rested, not counted") if mark.rested is Rested.EARLY else ""
    note = mark.given.note if mark.given is not None else ""
    return ", ".join(x for x in (words, mark.place, early, note) if x)


def _legend(rows: Sequence[Row]) -> str:
    marks = [m for row in rows for cell in row.cells for m in cell]
    places = [row.place for row in rows if row.place]
    said = []
    if len(set(places)) < len(places):
        said.append(say("Of systems with the same number neither is better by all tests."))
    if any(m.rested is Rested.EARLY and m.code for m in marks):
        said.append(say("In brackets: graded before it had rested, and not counted."))
    if any(not m.code for m in marks):
        said.append(say("A dash: not graded."))
    if any(m.came_off and m.counts for m in marks):
        said.append(say("Underlined: more came off than is usually allowed."))
    return " ".join(said)


# --- the plot --------------------------------------------------------------------------------------------


def picture_of(found: Compared) -> Picture:
    """Give the plot of a trial: the systems best first, every strip at its own step."""
    columns = tuple(Column(found.names[x.system.id], x.system.control, x.system.colour) for x in found.lines)
    lanes = []
    for i, (test, remark) in enumerate(_remarks(found)):
        cells = [line.cells[i] for line in found.lines]
        first, last = _range(test[0], [m for cell in cells for m in cell])
        every, limit = codes(test[0]), usual_limit(test[0])
        dots = tuple(tuple(_dots(cell, every, first)) for cell in cells)
        lanes.append(
            Lane(
                title=title_of(test),
                remark=remark,
                steps=every[first : last + 1],
                limit=every.index(limit[0]) - first if limit is not None else None,
                dots=dots,
            )
        )
    return Picture(columns, tuple(lanes))


def _range(method: ev.Method, marks: Sequence[Mark]) -> tuple[int, int]:
    """Give the first and the last step to show: all of a short scale; of a long one those graded and one beside."""
    every = codes(method)
    used = [every.index(m.code) for m in marks if m.code in every]
    if len(every) <= FULL_SCALE or not used:
        return 0, len(every) - 1
    return max(0, min(used) - 1), min(len(every) - 1, max(used) + 1)


def _dots(cell: Sequence[Mark], every: Sequence[str], first: int) -> Iterator[Dot]:
    for m in cell:
        if m.code in every:
            early = m.rested is Rested.EARLY
            yield Dot(m.number, every.index(m.code) - first, early, bool(m.came_off) and m.counts, mark_words(m))


# --- what is left, and what is done with it --------------------------------------------------------------


def left_words(state: State, trial: TrialState) -> str:
    """Say what of the plan is still to grade, with how many; "" where nothing is."""
    left = still_to_grade(state, trial)
    count = sum(len(strips) for _, strips in left)
    if not count:
        return ""
    parts = list(_left(trial, left))
    more = [say("and more")] if len(parts) > MOST_LEFT else []
    head = say_n("{n} grade is still to come", "{n} grades are still to come", count)
    return say("{head}: {tests}.", head=head, tests="; ".join([*parts[:MOST_LEFT], *more]))


def _left(trial: TrialState, left: Sequence[tuple[Test, tuple[str, ...]]]) -> Iterator[str]:
    """Say together what is to be done on the same strips after the same ageing."""
    numbers = strip_numbers(trial)
    alike: dict[tuple[tuple[ev.AgeingKind, ...], tuple[str, ...]], list[ev.Method]] = {}
    for (method, aged), strips in left:
        alike.setdefault((aged, strips), []).append(method)
    for (aged, strips), methods in alike.items():
        named = strips_words([numbers[s] for s in strips], len(numbers))
        every = len(methods) > 1 and len(methods) == len(trial.plan.methods)
        tests = say("every test") if every else listed([short_of((m, ())) for m in methods])
        if aged:
            yield say("after {aged}, {tests} on {strips}", aged=aged_words(aged), tests=tests, strips=named)
        else:
            yield say("{tests} on {strips}", tests=tests, strips=named)


def pieces_for(state: State) -> tuple[tuple[str, str], ...]:
    """Give the pieces that a system can be chosen for: id and name."""
    return tuple((p.id, p.piece.name) for p in state.painted)


def choose(session: Session, trial: str, system: str, piece: str) -> str:
    """Make a system of a trial the stack of a piece, in one act; says what was done and what the trial proves now.

    Raises:
        NotNow: as `trialuse.choice`; or it is chosen already, or the shares of a card make no mix.
    """
    try:
        made = trialuse.choice(session, trial, system, piece)
    except Wrong as wrong:
        raise NotNow(str(wrong)) from wrong
    target = session.writable().state.pieces[piece]
    if _goes_by(target, trial, system) and len(made.drafts) == 1:
        raise NotNow(say("It is chosen for {piece} already.", piece=target.piece.name))
    session.apply(*made.drafts)
    return " ".join(filter(None, (made.words, trialuse.proof_words(session, piece))))


def is_chosen(session: Session, trial: str, system: str, piece: str) -> bool:
    """Whether a piece goes by this system already, so that choosing it again would change nothing."""
    found = session.current.state.pieces.get(piece) if session.current is not None else None
    if found is None or not _goes_by(found, trial, system):
        return False
    try:
        return len(trialuse.choice(session, trial, system, piece).drafts) == 1
    except (Wrong, NotNow):
        return True  # it can't be chosen anew, by now


def chosen_words(session: Session, trial: str) -> str:
    """Say for which pieces systems of this trial are chosen, and what it proves of them now; "" where none is."""
    state = session.current.state if session.current is not None else State()
    said = []
    for piece in state.painted:
        last = piece.chosen[-1] if piece.chosen else None
        found = state.trials.get(trial)
        system = found.system(last.system) if found is not None and last is not None and last.trial == trial else None
        if system is not None:
            said.append(say("{system} is chosen for {piece}.", system=system.name, piece=piece.piece.name))
            said.append(trialuse.proof_words(session, piece.id))
    return " ".join(filter(None, said))


def put_away(trial: str) -> tuple[Draft, ...]:
    """Put the strips away: nothing of them is waited for any more."""
    return (partial(ev.TrialEnded, trial=trial),)


def tsv(view: View) -> str:
    """Give the table for a spreadsheet: a line for each strip in each test, its columns parted by tabs."""
    head = (
        say("place"), say("system"), say("control"), say("test"), say("strip"), say("grade"), say("counted"),
        say("where it let go"), say("note"),
    )  # fmt: skip
    lines: list[tuple[str, ...]] = [head]
    for row in view.rows:
        for test, cell in zip(view.tests, row.cells, strict=True):
            for m in cell:
                counted = "" if not m.code else say("yes") if m.counts else say("no")
                note = m.given.note if m.given is not None else ""
                control = say("yes") if row.control else say("no")
                one = (row.place, row.name, control, test.title, str(m.number), m.code, counted, m.place, note)
                lines.append(tuple(map(_plain, one)))
    return "".join("\t".join(line) + "\n" for line in lines)


def _plain(text: str) -> str:
    """Keep a cell one cell, and a text no formula."""
    flat = " ".join(text.split())
    return f"'{flat}" if flat[:1] in ("=", "+", "-", "@") else flat
