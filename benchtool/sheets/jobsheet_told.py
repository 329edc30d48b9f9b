"""What every part of a job sheet is written from: the job, its state, its readings and its cups by number."""

from bisect import bisect_left
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo

from benchtool.job import events as ev
from benchtool.job.airhistory import air_read
from benchtool.job.record import Job, standing
from benchtool.job.state import LayerState, Mix, State
from benchtool.rules.finding import Tables
from benchtool.sheets.sheetwords import joined, waited
from benchtool.trade.identify import ClueTable
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say

FRESH = timedelta(minutes=30)
"""A reading of this long before or after still tells of the moment without a word of its age (judgement)."""


@dataclass(frozen=True)
class Told:
    """All that a job sheet may look at; `cups` numbers the cups in the order in which they were begun."""

    job: Job
    state: State
    tables: Tables
    now: datetime
    zone: tzinfo | None
    clues: ClueTable | None
    events: tuple[tuple[int, ev.Event], ...]
    by_id: dict[str, ev.Event]
    cups: dict[str, int]
    readings: tuple[ev.ReadingTaken, ...]
    read_at: tuple[datetime, ...]
    films: dict[str, list[ev.FilmMeasured]] = field(default_factory=dict)

    def layer_name(self, layer: str | None) -> str:
        """Name a layer by its id; what is no layer any more by the id."""
        known = self.state.layers.get(layer or "")
        return self.state.layer_name(known) if known is not None else layer or ""

    def note_of(self, place: int) -> str:
        """Give the note of a prep step at this place of the record."""
        event = self.job.events[place] if 0 <= place < len(self.job.events) else None
        return " ".join(event.note.split()) if isinstance(event, ev.PrepDone) else ""

    def layers_of(self, mix: Mix) -> list[LayerState]:
        """Give the layers that a cup was begun for or is shared by, and those sprayed from it."""
        return [
            layer
            for layer in self.state.layers.values()
            if mix.id in layer.mixes or any(coat.mix == mix.id for coat in layer.coats)
        ]

    def cups_of(self, layer: LayerState) -> list[Mix]:
        """Give the cups that a layer was begun with or sprayed from, each once."""
        ids = dict.fromkeys([*layer.mixes, *(coat.mix for coat in layer.coats if coat.mix is not None)])
        return [self.state.mixes[mix] for mix in ids if mix in self.state.mixes]

    def air_at(self, when: datetime) -> str:
        """Say the air of the reading nearest to a moment; "" where none was ever taken."""
        if not self.readings:
            return ""
        i = bisect_left(self.read_at, when)
        near = min(range(max(0, i - 1), min(i + 1, len(self.read_at))), key=lambda k: abs(self.read_at[k] - when))
        reading, off = self.readings[near], self.read_at[near] - when
        if off > FRESH:
            return say("{air} ({wait} later)", air=air_words(reading), wait=waited(off))
        if off < -FRESH:
            return say("{air} ({wait} before)", air=air_words(reading), wait=waited(-off))
        return air_words(reading)


def tell(job: Job, state: State, tables: Tables, now: datetime, zone: tzinfo | None, clues: ClueTable | None) -> Told:
    """Gather what a job sheet is written from."""
    events = standing(job.events)
    readings = sorted((r for r in state.readings if air_read(r) is not None), key=lambda r: r.at)
    films: dict[str, list[ev.FilmMeasured]] = {}
    for _, event in events:
        if isinstance(event, ev.FilmMeasured):
            films.setdefault(event.layer, []).append(event)
    return Told(
        job=job,
        state=state,
        tables=tables,
        now=now,
        zone=zone,
        clues=clues,
        events=events,
        by_id={event.id: event for _, event in events},
        cups={mix: i for i, mix in enumerate(state.mixes, 1)},
        readings=tuple(readings),
        read_at=tuple(r.at for r in readings),
        films=films,
    )


def air_words(reading: ev.ReadingTaken) -> str:
    """Say a reading: `21.5 °C, 48 %, surface 20 °C`."""
    surface, speed = reading.surface_degC, reading.speed_m_s
    return joined((
        f"{figure(reading.air_degC)} °C",
        f"{figure(reading.humidity_percent)} %",
        say("surface {c} °C", c=figure(surface)) if surface is not None else "",
        say("air {v} m/s", v=figure(speed)) if speed is not None else "",
    ))  # fmt: skip
