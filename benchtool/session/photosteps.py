"""What was done on a piece, step by step, and the photos that show each step."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from benchtool.job import events as ev
from benchtool.job.prepwords import step_name
from benchtool.job.record import Job, standing
from benchtool.job.state import PieceState, State
from benchtool.trade.grades import title
from benchtool.trade.saying import say

SLACK = timedelta(minutes=10)
"""So far ahead of the laptop a camera's clock may be (judgement, no source)."""


@dataclass(frozen=True, slots=True)
class PhotoStep:
    """One thing that was done. `ids` are its events: a coat's start and end are one step, known by its first.

    `layer` is what was on top of the piece then. `own` is False for what was done on a strip that spoke for it.
    """

    ids: tuple[str, ...]
    at: datetime
    words: str
    layer: str | None = None
    own: bool = True

    @property
    def key(self) -> str:
        """The event by which it is known."""
        return self.ids[0]


@dataclass(frozen=True, slots=True)
class Shown:
    """A photo as it is shown: `event` put it beside the job. A `grade` was measured from it where there is one."""

    event: str
    picture: ev.Picture
    note: str
    added: datetime
    step: str | None
    grade: str = ""

    @property
    def called(self) -> str:
        """What the painter knows it by."""
        return self.picture.called or say("A photo without a name")


@dataclass(frozen=True, slots=True)
class Group:
    """The photos of one step; of none where what they showed was taken back, or was never said."""

    step: PhotoStep | None
    photos: tuple[Shown, ...]

    @property
    def words(self) -> str:
        """Name it."""
        return self.step.words if self.step is not None else say("Of no step")


def steps_of(job: Job, state: State, piece: str) -> tuple[PhotoStep, ...]:
    """Give what was done on a piece and for it, in the order of time."""
    found = state.pieces.get(piece)
    if found is None:
        return ()
    steps: list[PhotoStep] = []
    coats: dict[str, list[int]] = {}
    for _, event in standing(job.events):
        match event:
            case ev.CoatStarted(layer=layer) if layer in state.layers and state.layers[layer].piece == piece:
                words = say("{layer}, coat {n}", layer=_named(state, layer), n=len(coats.setdefault(layer, [])) + 1)
                coats[layer].append(len(steps))
                steps.append(PhotoStep((event.id,), event.at, words, layer))
            case ev.CoatDone(layer=layer) if coats.get(layer):
                i = coats[layer][-1]
                steps[i] = replace(steps[i], ids=(*steps[i].ids, event.id))
            case _:
                steps.extend(_steps_of(event, state, found))
    return tuple(sorted(steps, key=lambda step: step.at))


def _steps_of(event: ev.Event, state: State, piece: PieceState) -> Iterator[PhotoStep]:
    words, own = _words_of(event, state, piece.id), True
    if isinstance(event, ev.Graded):
        own = event.strip == piece.id
        trial = state.trials.get(event.trial)
        speaks = any(c.trial == event.trial for c in piece.chosen)
        if trial is None or not (own or speaks or trial.plan.piece == piece.id):
            return
    if words:
        top = piece.top_at(event.at) if own else None
        yield PhotoStep((event.id,), event.at, words, top.id if top is not None else None, own)


def _words_of(event: ev.Event, state: State, piece: str) -> str:
    """Name what this event says was done on the piece; "" for nothing of it."""

    def here(layer: str) -> bool:
        return layer in state.layers and state.layers[layer].piece == piece

    match event:
        case ev.PieceAdded(piece=came) if came.id == piece:
            return say("As it came in")
        case ev.PrepDone(piece=where, step=step) if where == piece:
            return step_name(step)
        case ev.Mixed(layer=layer) if here(layer):
            return say("Cup for {layer}", layer=_named(state, layer))
        case ev.FilmMeasured(layer=layer) if here(layer):
            return say("{layer}: its film measured", layer=_named(state, layer))
        case ev.HeatStarted(piece=where) if where == piece:
            return say("Heat on")
        case ev.HeatEnded(piece=where) if where == piece:
            return say("Heat off")
        case ev.TrialRecorded(piece=where) if where == piece:
            return say("Test strip")
        case ev.Graded(strip=strip, method=method) if strip == piece:
            return title(method)
        case ev.Graded(strip=strip, method=method) if strip in state.pieces:
            return say("{test}, on {strip}", test=title(method), strip=state.pieces[strip].piece.name)
        case _:
            return ""


def _named(state: State, layer: str) -> str:
    return state.layer_name(state.layers[layer])


def step_for(steps: Sequence[PhotoStep], taken: datetime | None, since: datetime, now: datetime) -> PhotoStep | None:
    """Say which step a photo shows: the newest before it was taken, where its time lies within the record.

    A camera's clock mostly has no zone, and may be set wrong: a time without one is taken for that of the shop, and
    one before `since` or after `now` for none. Then it is the newest step of all.
    """
    own = [step for step in steps if step.own]
    when = _instant(taken)
    if when is not None and since <= when <= now + SLACK:
        own = [step for step in own if step.at <= when] or own[:1]
    return own[-1] if own else None


def _instant(taken: datetime | None) -> datetime | None:
    try:
        return taken.astimezone(UTC) if taken is not None else None
    except (OverflowError, OSError, ValueError):
        return None  # a year that no clock of this machine knows


def groups_of(job: Job, state: State, piece: str) -> tuple[Group, ...]:
    """Give the photos of a piece by the step they show, in the order of time; those of no step come last.

    Photos from which a grade was measured stand with that grade.
    """
    found = state.pieces.get(piece)
    if found is None:
        return ()
    steps = steps_of(job, state, piece)
    step_by_event = {event: step for step in steps for event in step.ids}
    photos: dict[str | None, list[Shown]] = {}
    first = _first_places(job, piece)
    for added in sorted(found.photos, key=lambda photo: first[photo.picture.sha256]):
        step = step_by_event.get(added.of or "")
        key = step.key if step is not None else None
        photos.setdefault(key, []).append(Shown(added.id, added.picture, added.note, added.at, key))
    for shown in _graded(job, step_by_event):
        photos.setdefault(shown.step, []).append(shown)
    listed = [Group(step, tuple(photos[step.key])) for step in steps if step.key in photos]
    return (*listed, *([Group(None, tuple(photos[None]))] if None in photos else []))


def _first_places(job: Job, piece: str) -> dict[str, int]:
    """Say where in the record each photo of a piece first came: one that was noted or moved since keeps its place."""
    found: dict[str, int] = {}
    for place, event in enumerate(job.events):
        if isinstance(event, ev.PhotoAdded) and event.piece == piece:
            found.setdefault(event.picture.sha256, place)
    return found


def _graded(job: Job, steps: dict[str, PhotoStep]) -> Iterator[Shown]:
    for event in job.events:
        if isinstance(event, ev.Graded) and event.photo is not None and event.id in steps:
            photo = event.photo
            picture = ev.Picture(name=photo.name, sha256=photo.sha256, called=say("Cross-cut"))
            yield Shown(event.id, picture, event.note, event.at, steps[event.id].key, event.grade)


def taken_words(taken: datetime, now: datetime) -> str:
    """Say when a photo was taken, day and clock: `24 Nov 10:12`."""
    local = taken.astimezone()
    year = f" {local.year}" if local.year != now.astimezone().year else ""
    return f"{local.day} {local:%b}{year} {local:%H:%M}"
