"""What is shown of a product: a plot for each of its times, its cups and its measuring, and a sentence for each."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from enum import Enum, auto
from pathlib import Path

from benchtool.job.cards import CardTime
from benchtool.job.learnedcases import CupUse, How, Kept, PourOff, Wait
from benchtool.session.learning import Case, OwnTime, Product
from benchtool.session.learningoffers import field_words
from benchtool.session.learningsums import FEW, Sums, sums
from benchtool.session.learningwords import (
    allowed_words,
    few_words,
    how_words,
    kept_words,
    wait_title,
    window_words,
)
from benchtool.sheets.sheetwords import day, waited
from benchtool.trade.numbers import figure, pour_figure
from benchtool.trade.saying import say, say_n

SIZES_mL = (1.0, 5.0, 20.0)
"""Parts up to these sizes are looked at by themselves: the smaller a part, the more one drop weighs (judgement)."""


class Kind(Enum):
    """What a plot is of: waits on a scale of times, how many kept their window, cups, errors about zero."""

    WAITS = auto()
    MISSES = auto()
    WASTE = auto()
    ERRORS = auto()


@dataclass(frozen=True, slots=True)
class Mark:
    """One case as it is drawn, at its value (s, share or %); what is said of it is worked out when it is asked for."""

    value: float
    case: Case[Wait] | Case[CupUse] | Case[PourOff]

    @property
    def kept(self) -> Kept:
        """How it lies to what was allowed; too little of a part counts as early, too much as late."""
        of = self.case.of
        if isinstance(of, PourOff):
            return Kept.WITHIN if of.within else Kept.EARLY if of.off_percent < 0 else Kept.LATE
        return of.kept if isinstance(of, Wait) else Kept.WITHIN

    @property
    def scuffed(self) -> bool:
        """Whether the layer was scuffed after its window had closed."""
        return isinstance(self.case.of, Wait) and self.case.of.scuffed

    @property
    def path(self) -> Path:
        """The file of its job."""
        return self.case.path

    @property
    def piece(self) -> str:
        """The id of its piece; "" where that is gone."""
        return self.case.of.place.piece

    @property
    def layer(self) -> str:
        """The id of its layer."""
        return self.case.of.place.layer

    @property
    def what(self) -> str:
        """Name the time, the cup or the part."""
        of = self.case.of
        return field_words(of.time) if isinstance(of, Wait) else of.part if isinstance(of, PourOff) else say("Cup")

    @property
    def figures(self) -> tuple[str, str]:
        """Say in a few words how much it was, and what was allowed."""
        of = self.case.of
        if isinstance(of, Wait):
            return waited(of.took), allowed_words(*_window(of))
        if isinstance(of, CupUse):
            left, poured = pour_figure(of.left_mL or 0.0), pour_figure(of.poured_mL)
            return say("{left} mL left", left=left), say("of {poured} mL", poured=poured)
        allowed = figure(of.allowed_percent, 2)
        return say("{off} % off", off=_signed(of.off_percent)), say("{n} % either way", n=allowed)

    @property
    def where(self) -> str:
        """Say where and when it was."""
        return _where(self.case)

    @property
    def words(self) -> str:
        """Say all of it."""
        of = self.case.of
        told = _wait_told(of) if isinstance(of, Wait) else _cup_told(of) if isinstance(of, CupUse) else _pour_told(of)
        return f"{self.where}: {told}"


@dataclass(frozen=True, slots=True)
class Lane:
    """One plot. `opens` and `closes` bound what the card allows, in the unit of its marks; `n` is how many cases.

    Of misses, `parts` says for each time how many were early, within and late.
    """

    kind: Kind
    title: str
    said: tuple[str, ...]
    n: int
    marks: tuple[Mark, ...] = ()
    sums: Sums | None = None
    opens: float | None = None
    closes: float | None = None
    parts: tuple[tuple[str, int, int, int], ...] = ()


def lanes_of(product: Product) -> tuple[Lane, ...]:
    """Give the plots of a product, or of all together."""
    if not product.card:
        return (*_misses(product), *_waste(product), *_errors(product))
    return (*(_wait_lane(t) for t in product.times), *_waste(product), *_errors(product))


# --- waits -------------------------------------------------------------------------------------------


def _wait_lane(time: OwnTime) -> Lane:
    opens = time.opens.total_seconds() if time.opens is not None else None
    closes = time.closes.total_seconds() if time.closes is not None else None
    marks = tuple(_wait_mark(c) for c in time.cases)
    said = (_waits_said(time), _card_said(time), *_missed_said(time))
    shown = tuple(s for s in said if s)
    return Lane(Kind.WAITS, wait_title(time.time), shown, time.n, marks, time.sums, opens, closes)


def _seconds(value: float) -> str:
    return waited(timedelta(seconds=value))


def _waits_said(time: OwnTime) -> str:
    found = time.sums
    if found is None or found.few:
        return few_words(time.n)
    told = {
        "own": _seconds(found.median),
        "n": found.n,
        "low": _seconds(found.low),
        "high": _seconds(found.high),
    }
    if time.time is CardTime.POT_LIFE:
        return say("The last coat came after {own} (median of {n}); half of them between {low} and {high}.", **told)
    return say("You waited {own} (median of {n}); half of the waits were between {low} and {high}.", **told)


def _card_said(time: OwnTime) -> str:
    opens, closes = time.opens, time.closes
    if opens is not None and closes is not None:
        return say("The card asks for {least} and closes at {most}.", least=waited(opens), most=waited(closes))
    if closes is not None:
        return say("The card allows {most}.", most=waited(closes))
    return say("The card asks for {least}.", least=waited(opens)) if opens is not None else ""


def _missed_said(time: OwnTime) -> Iterator[str]:
    early, late, n = time.count(Kept.EARLY), time.count(Kept.LATE), time.n
    if not early and not late:
        yield say_n("It was within the window.", "All {n} were within the window.", n)
        return
    if early:
        yield say_n("{early} of {n} came too early.", "{early} of {n} came too early.", n, early=early)
    if late:
        yield say_n("{late} of {n} came too late.", "{late} of {n} came too late.", n, late=late)
    scuffed = sum(c.of.scuffed for c in time.cases if c.of.kept is Kept.LATE)
    if scuffed:
        yield say_n("{n} of these was scuffed first.", "{n} of these were scuffed first.", scuffed)


def _wait_mark(case: Case[Wait]) -> Mark:
    own = case.of.in_card_time
    return Mark((own if own is not None else case.of.took).total_seconds(), case)


def _wait_told(wait: Wait) -> str:
    window = window_words(*_window(wait))
    return say("{took}, {kept}. {window}", took=waited(wait.took), kept=kept_words(wait.kept), window=window)


def _window(wait: Wait) -> tuple[str, str]:
    """Say from when to when it was open in the air of then."""
    closes = wait.closes - wait.since if wait.closes is not None else None
    return _if(wait.asked if wait.by_card is not None else None), _if(closes)


def _if(span: timedelta | None) -> str:
    return waited(span) if span is not None else ""


def _misses(product: Product) -> Iterator[Lane]:
    if not product.times:
        return
    parts = tuple(
        (field_words(t.time), t.count(Kept.EARLY), t.count(Kept.WITHIN), t.count(Kept.LATE)) for t in product.times
    )
    n, missed = product.waits, product.missed
    said = say_n("{missed} of {n} window was missed.", "{missed} of {n} windows were missed.", n, missed=missed)
    if not missed:
        said = say_n("The window was kept.", "All {n} windows were kept.", n)
    worst = max(parts, key=lambda p: (p[1] + p[3]) / sum(p[1:]) if sum(p[1:]) >= FEW else 0)
    more = ""
    if worst[1] + worst[3] and sum(worst[1:]) >= FEW:
        more = say(
            "Most often it was: {time} ({missed} of {n}).",
            time=worst[0],
            missed=worst[1] + worst[3],
            n=sum(worst[1:]),
        )
    shown = (few_words(n),) if n < FEW else ()
    yield Lane(Kind.MISSES, say("Windows kept and missed"), (*shown, said, *((more,) if more else ())), n, parts=parts)


# --- cups --------------------------------------------------------------------------------------------


def _waste(product: Product) -> Iterator[Lane]:
    known = sorted((c for c in product.cups if c.of.wasted is not None), key=lambda c: c.of.at)
    unsaid = len(product.cups) - len(known)
    if not product.cups:
        return
    found = sums(c.of.wasted or 0.0 for c in known)
    said: list[str] = []
    if found is None:
        said.append(
            say("Nobody noted yet what was left of a cup. Before you empty one type how much is left, then press E.")
        )
    elif found.few:
        said.append(few_words(found.n))
    else:
        left, poured = sum(c.of.left_mL or 0.0 for c in known), sum(c.of.poured_mL for c in known)
        said.append(
            say(
                "Of a cup {share} % was left over (median of {n}); in all {left} of {poured} mL.",
                share=figure(100 * found.median, 2),
                n=found.n,
                left=pour_figure(left),
                poured=pour_figure(poured),
            )
        )
    if unsaid and known:
        said.append(
            say_n(
                "Of {n} more cup nobody noted what was left.",
                "Of {n} more cups nobody noted what was left.",
                unsaid,
            )
        )
    marks = tuple(Mark(c.of.wasted or 0.0, c) for c in known)
    yield Lane(Kind.WASTE, say("What was left of each cup"), tuple(said), len(known), marks, found)


def _cup_told(use: CupUse) -> str:
    return say(
        "{left} of {poured} mL left, {wanted} wanted.",
        left=pour_figure(use.left_mL or 0.0),
        poured=pour_figure(use.poured_mL),
        wanted=pour_figure(use.wanted_mL),
    )


# --- measuring ---------------------------------------------------------------------------------------


def _errors(product: Product) -> Iterator[Lane]:
    own = [c for c in product.pours if c.of.how is not How.AS_ASKED]
    as_asked = len(product.pours) - len(own)
    for i, most in enumerate((*SIZES_mL, float("inf"))):
        least = SIZES_mL[i - 1] if i else 0.0
        of_it = sorted((c for c in own if least < c.of.wanted_mL <= most), key=lambda c: c.of.at)
        if of_it:
            yield _error_lane(_size_words(least, most), of_it)
    if as_asked:
        said = say_n(
            "{n} part was logged as asked for, without a figure of your own: it says nothing of your measuring.",
            "{n} parts were logged as asked for, without a figure of your own: they say nothing of your measuring.",
            as_asked,
        )
        yield Lane(Kind.ERRORS, say("Logged as asked for"), (said,), as_asked)


def _size_words(least: float, most: float) -> str:
    if not least:
        return say("Measuring: parts up to {most} mL", most=figure(most))
    if most == float("inf"):
        return say("Measuring: parts over {least} mL", least=figure(least))
    return say("Measuring: parts of {least} to {most} mL", least=figure(least), most=figure(most))


def _error_lane(title: str, cases: list[Case[PourOff]]) -> Lane:
    found = sums(c.of.off_percent for c in cases)
    allowed = min(c.of.allowed_percent for c in cases)
    out = sum(not c.of.within for c in cases)
    said: list[str] = []
    if found is None or found.few:
        said.append(few_words(len(cases)))
    else:
        said.append(
            say(
                "You were off by {off} % (median of {n}); half of them between {low} and {high} %.",
                off=_signed(found.median),
                n=found.n,
                low=_signed(found.low),
                high=_signed(found.high),
            )
        )
    said.append(
        say_n(
            "{out} of {n} was outside what is allowed.",
            "{out} of {n} were outside what is allowed.",
            len(cases),
            out=out,
        )
        if out
        else say("None was outside what is allowed.")
    )
    said += _by_tool(cases)
    marks = tuple(Mark(c.of.off_percent, c) for c in cases)
    return Lane(Kind.ERRORS, title, tuple(said), len(cases), marks, found, -allowed, allowed)


def _by_tool(cases: list[Case[PourOff]]) -> list[str]:
    """Say how far each way of measuring was off, whichever the direction, where there is more than one."""
    by_how: dict[How, list[float]] = {}
    for case in cases:
        by_how.setdefault(case.of.how, []).append(abs(case.of.off_percent))
    told = []
    for how, offs in by_how.items() if len(by_how) > 1 else ():
        found = sums(offs)
        if found is not None and not found.few:
            told.append(
                say("{how}: {off} % either way ({n})", how=how_words(how), off=figure(found.median, 2), n=found.n)
            )
        else:
            told.append(say("{how}: only {n}", how=how_words(how), n=len(offs)))
    return ["; ".join(told) + "."] if told else []


def _signed(value: float) -> str:
    return f"{'−' if value < 0 else '+' if value > 0 else ''}{figure(abs(value), 2)}"


def _pour_told(pour: PourOff) -> str:
    return say(
        "{part}, {poured} mL where {wanted} were wanted: {off} %, {allowed} % allowed. {how}.",
        part=pour.part,
        poured=pour_figure(pour.poured_mL),
        wanted=pour_figure(pour.wanted_mL),
        off=_signed(pour.off_percent),
        allowed=figure(pour.allowed_percent, 2),
        how=how_words(pour.how),
    )


# --- a case ------------------------------------------------------------------------------------------


def _where(case: Case[Wait] | Case[CupUse] | Case[PourOff]) -> str:
    place, of = case.of.place, case.of
    when = day(of.until if isinstance(of, Wait) else of.at)
    name = place.piece_name or say("a piece that is gone")
    coat = say(", after coat {n}", n=of.coat) if isinstance(of, Wait) and of.coat is not None else ""
    layer = say(", {layer}", layer=place.layer_name) if place.layer_name else ""
    return say("{piece}{layer}{coat}, {day}", piece=name, layer=layer, coat=coat, day=when)


def cases_words(n: int) -> str:
    """Say how many cases there are."""
    return say_n("{n} case", "{n} cases", n)
