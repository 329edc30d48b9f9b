"""The stack of a piece as its events left it: its layers, their coats, and how it was prepared."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from benchtool.job import events as ev
from benchtool.job.airhistory import AirHistory, Ending
from benchtool.job.cards import Card, CardTime
from benchtool.job.drying import Heat, OnPiece
from benchtool.trade.windows import Span


@dataclass(slots=True)
class Coat:
    """One pass. `place` is where in the record it began; `card` is its layer's card as it was then.

    `film` is what was measured last before the next coat began: until a new one is, a coat is taken to be as thick
    as the one before.
    """

    number: int
    started_at: datetime
    place: int
    mix: str | None
    done_at: datetime | None = None
    card: Card | None = None
    film: ev.FilmMeasured | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """A prep step done on the substrate, or on the layer that was on top then; the rest as in `events.PrepDone`."""

    step: ev.Prep
    at: datetime
    on_layer: str | None
    place: int
    agent: str | None = None
    grit: int | None = None
    passed: bool | None = None


@dataclass(slots=True)
class LayerState:
    """A layer of the plan and what has been done to it; `air` is that of the job, `heat` that of the piece."""

    plan: ev.Layer
    piece: str
    coats: list[Coat] = field(default_factory=list)
    mixes: list[str] = field(default_factory=list)
    scuffed_at: datetime | None = None
    air: AirHistory = field(default_factory=AirHistory, compare=False, repr=False)
    heat: Heat = field(default_factory=Heat, compare=False, repr=False)
    film: ev.FilmMeasured | None = None
    known_recoat: tuple[Card, datetime, datetime | None, Span] | None = field(default=None, compare=False, repr=False)

    @property
    def id(self) -> str:
        """The layer's id."""
        return self.plan.id

    def ends(self, start: datetime, wait: timedelta, card: Card, time: CardTime, coat: Coat | None = None) -> datetime:
        """Give when a time of this card that runs from `start` is over in the air and the heat, for the film of `coat`.

        Without a coat it is for one that is as thick as was last measured.
        """
        return self.air.ends(start, wait, card, time, self._on_piece(coat))

    def ending(
        self, start: datetime, wait: timedelta, card: Card, time: CardTime, coat: Coat | None = None
    ) -> Ending | None:
        """Give the same with its progress and its reasons; None where it is simply `start + wait`."""
        return self.air.ending(start, wait, card, time, self._on_piece(coat))

    def _on_piece(self, coat: Coat | None) -> OnPiece:
        film = coat.film if coat is not None else self.film
        return OnPiece(self.heat, film.um if film is not None else None)

    @property
    def started(self) -> bool:
        """Whether any coat was begun."""
        return bool(self.coats)

    @property
    def open_coat(self) -> Coat | None:
        """The coat being sprayed now, if one is."""
        return self.coats[-1] if self.coats and self.coats[-1].done_at is None else None

    @property
    def last_done(self) -> Coat | None:
        """The newest coat that is done."""
        for coat in reversed(self.coats):
            if coat.done_at is not None:
                return coat
        return None

    @property
    def coats_done(self) -> int:
        """How many coats are done."""
        return sum([c.done_at is not None for c in self.coats])

    @property
    def finished(self) -> bool:
        """Whether all planned coats are done."""
        if len(self.coats) < self.plan.coats or not self.coats or self.coats[-1].done_at is None:
            return False
        return self.coats_done >= self.plan.coats


@dataclass(slots=True)
class PieceState:
    """A piece, its stack and its preparation."""

    piece: ev.Piece
    layers: list[LayerState] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)
    trials: list[ev.TrialRecorded] = field(default_factory=list)
    chosen: list[ev.SystemChosen] = field(default_factory=list)
    heat: Heat = field(default_factory=Heat)
    photos: list[ev.PhotoAdded] = field(default_factory=list)

    @property
    def id(self) -> str:
        """The piece's id."""
        return self.piece.id

    @property
    def newest_trial(self) -> ev.TrialRecorded | None:
        """The last test strip of it; within an instant the record's order decides."""
        return max(enumerate(self.trials), key=lambda t: (t[1].at, t[0]), default=(0, None))[1]

    def tried(self, trial: ev.TrialRecorded) -> bool:
        """Whether what lies on the material now, or goes on it first, is what was on this strip."""
        first = next((x for x in self.layers if x.started), self.layers[0] if self.layers else None)
        return not trial.cards or first is None or trial.cards[0] == first.plan.card

    @property
    def proved(self) -> bool:
        """Whether the last test strip of it held, with the product that goes on its material first."""
        last = self.newest_trial
        return last is not None and last.held and self.tried(last)

    @property
    def top(self) -> LayerState | None:
        """The newest layer that has any paint on."""
        return next((x for x in reversed(self.layers) if x.started), None)

    def top_at(self, moment: datetime) -> LayerState | None:
        """The newest layer that had any paint on at `moment`."""
        begun = (x for x in reversed(self.layers) if x.started)
        return next((x for x in begun if any(c.started_at <= moment for c in x.coats)), None)

    @property
    def current(self) -> LayerState | None:
        """The layer that is worked on next: the first unfinished one with nothing started over it."""
        found = None
        for layer in reversed(self.layers):
            found = found if layer.finished else layer
            if layer.started:
                break
        return found

    def under(self, layer: LayerState) -> LayerState | None:
        """The layer that `layer` goes on, None for the substrate."""
        i = self.place(layer)
        return self.layers[i - 1] if i else None

    def over(self, layer: LayerState) -> LayerState | None:
        """The layer that goes on `layer`, None for the last."""
        i = self.place(layer)
        return self.layers[i + 1] if i + 1 < len(self.layers) else None

    def place(self, layer: LayerState) -> int:
        """Give where in the stack `layer` lies, the first one on being 0."""
        for i, x in enumerate(self.layers):
            if x is layer:  # to compare them field by field takes long
                return i
        raise ValueError(f"{layer.id} is no layer of {self.id}")
