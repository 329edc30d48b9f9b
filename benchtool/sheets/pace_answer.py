"""Answers about pace, as values and as text: what this air does to the card's times, and what a history counts for."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from benchtool.sheets.values import Values, plain, with_why
from benchtool.trade.air import Air
from benchtool.trade.numbers import figure
from benchtool.trade.pace import (
    NEVER,
    Evaporation,
    Kind,
    Model,
    TimesTable,
    equivalent_age_s,
    film_degC,
    pace_of_deadline,
    pace_of_wait,
    time_factor,
    why_words,
)
from benchtool.trade.paceintegral import Course, Integral

NO_AIR = "no temperature was given to work a factor out for"
NO_HISTORY = "no history was given to add up"
LEAST = "No sum holds below the least temperature of the card: give it with --least."


@dataclass(frozen=True, slots=True, kw_only=True)
class PaceSheet:
    """A model with an air, a history, or both. `history` holds stretches of (s, air), None where none was given."""

    model: Model
    air: Air | None = None
    history: tuple[tuple[float, Air], ...] | None = None
    remarks: tuple[str, ...] = ()

    @property
    def factor(self) -> float | None:
        """How many times as long as by the card, by the model alone; None for never, or without an air."""
        found = time_factor(self.model, self.air) if self.air is not None else NEVER
        return found if found < NEVER else None

    @property
    def never(self) -> bool:
        """Whether it does not dry or cure in this air at all."""
        return self.air is not None and self.factor is None

    @property
    def history_s(self) -> float | None:
        """How long the history is."""
        return sum(seconds for seconds, _ in self.history) if self.history is not None else None

    @property
    def age_s(self) -> float | None:
        """What the history equals at the card's air, by the model alone."""
        return equivalent_age_s(self.model, self.history) if self.history is not None else None

    @property
    def wait_age_s(self) -> float | None:
        """What the history counts for toward a wait, which no warmth shortens."""
        if self.history is None:
            return None
        end_s, readings = 0.0, []
        for seconds, air in self.history:
            readings.append((end_s, air))
            end_s += seconds
        return Integral(self.model, Kind.WAIT, Course(readings)).between(0.0, end_s)

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader of the figures should know about them."""
        airs = [air for _, air in self.history or ()] + ([self.air] if self.air is not None else [])
        cold = any(film_degC(air, Kind.WAIT) < self.model.reference_degC for air in airs)
        open_ended = cold and self.model.least_degC is None and not isinstance(self.model, TimesTable)
        limit = (LEAST,) if open_ended else ()
        pool = isinstance(self.model, Evaporation)
        shape = ("The evaporation is that of open water, so only a guide for a film of paint.",) if pool else ()
        return (*self.remarks, *shape, *limit)


def pace_answer(sheet: PaceSheet) -> Values:
    """Give the time factor and the equivalent age (h), and what of them counts for a wait and for a deadline."""
    age_s, wait_age_s, history_s = sheet.age_s, sheet.wait_age_s, sheet.history_s
    why: list[str] = []
    wait = deadline = None
    wait_words = deadline_words = ""
    if sheet.air is None:
        why.append(NO_AIR)
    else:
        wait_words = why_words(sheet.model, sheet.air)
        deadline_words = why_words(sheet.model, sheet.air, Kind.DEADLINE)
        pace = pace_of_wait(sheet.model, sheet.air)
        wait, deadline = 1 / pace if pace > 0 else None, 1 / pace_of_deadline(sheet.model, sheet.air)
        if sheet.never or wait is None:
            why.append(wait_words)
    if sheet.history is None:
        why.append(NO_HISTORY)
    values: Values = {
        "time_factor": sheet.factor,
        "equivalent_age_h": _hours(age_s),
        "wait_factor": wait,
        "deadline_factor": deadline,
        "history_h": _hours(history_s),
        "wait_age_h": _hours(wait_age_s),
        "words": wait_words,
        "deadline_words": deadline_words,
        "notes": list(sheet.notes),
    }
    return with_why(values, why)


def pace_text(sheet: PaceSheet) -> str:
    """Say the same for a reader."""
    return "".join(f"{plain(line)}\n" for line in _lines(sheet))


def _lines(sheet: PaceSheet) -> Iterator[str]:
    if sheet.air is not None:
        yield from _air_lines(sheet, sheet.air)
    if sheet.history is not None:
        sums_s = (sheet.history_s, sheet.age_s, sheet.wait_age_s)  # a million readings are added up once
        lasted, age, counted = (figure((s or 0.0) / 3600, 4) for s in sums_s)
        yield f"The {lasted} h of the history equal {age} h at the card's air."
        if counted != age:
            yield f"Toward a wait they count for {counted} h: it is never shortened below the card."
    yield from _sentences(sheet.notes)


def _air_lines(sheet: PaceSheet, air: Air) -> Iterator[str]:
    if sheet.factor is not None:
        yield f"It takes {figure(sheet.factor, 4)} times as long as by the card."
    wait, deadline = why_words(sheet.model, air), why_words(sheet.model, air, Kind.DEADLINE)
    yield f"A wait: {_told(wait)}." if not sheet.never else f"{wait}."
    yield f"A deadline: {_told(deadline)}."


def _told(words: str) -> str:
    return words[:1].lower() + words[1:] if words else "the card's time stands"


def _sentences(texts: Sequence[str]) -> Iterator[str]:
    for text in texts:
        yield text if text.endswith(".") else f"{text}."


def _hours(seconds: float | None) -> float | None:
    return seconds / 3600 if seconds is not None else None
