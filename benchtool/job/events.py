"""What happened, one frozen record for each fact; the job is the list of them.

Every event has an id that is unique in its job and the instant (UTC) at which it happened. Events entered
by one act of the painter carry the id of the first of them in `along_with`, and are undone together.
"""

from typing import Annotated

from msgspec import Meta

from benchtool.job.cards import (
    AirDegC,
    Card,
    DegC,
    Gun,
    Humidity,
    Id,
    Microns,
    Millilitres,
    Name,
    Read,
    RecipePart,
    Record,
    Text,
)
from benchtool.job.lots import Instant, Lot
from benchtool.job.pieces import (
    Again,
    Clue,
    Coats,
    Colour,
    Face,
    Happened,
    Known,
    Layer,
    Picture,
    Piece,
    Prep,
    Shape,
    Stirred,
)
from benchtool.job.trialplan import MOST_STRIPS, Ageing, AgeingKind, Photo, Strip, System, Trial
from benchtool.trade.grades import FailurePlace, Method
from benchtool.trade.numbers import pour_figure

__all__ = [
    "MOST_SHIFT_S", "MOST_STRIPS", "Again", "Ageing", "AgeingBegun", "AgeingKind", "AgeingOver", "CardCopied",
    "ClockAnswered", "Clue", "CoatDone", "CoatStarted", "Coats", "Colour", "Corrected", "CourseExpected",
    "CoursePoint", "CupEmptied", "CupShared", "Event", "Face", "FailurePlace", "FilmMeasured", "Graded", "Happened",
    "HeatEnded", "HeatStarted", "JobDescribed", "Known", "Layer", "LayerAdded", "LayerChanged", "LayerRemoved",
    "LotTaken", "Method", "MixStirred", "Mixed", "Photo", "PhotoAdded", "Picture", "Piece", "PieceAdded",
    "PieceChanged", "Poured", "Prep", "PrepDone", "ReadingTaken", "Shape", "Stirred", "Strip", "System",
    "SystemChosen", "TakenFrom", "TapePressed", "Trial", "TrialEnded", "TrialPlanned", "TrialRecorded",
    "TrialReplanned", "WaiverSigned", "Withdrawn", "event_words",
]  # fmt: skip


class JobDescribed(Happened, frozen=True, kw_only=True, tag="job described"):
    """The job got its name. `promised` is when the customer shall have it."""

    title: Name
    customer: Text = ""
    note: Text = ""
    promised: Instant | None = None


class TakenFrom(Happened, frozen=True, kw_only=True, tag="taken from"):
    """The job was begun from an earlier one: `job` is its id, `title` its name then, `pieces` the ids that came over.

    A repeat took over the plan; a touch-up took over all that was done to these pieces, at the times it was done.
    """

    job: Id
    title: Text
    how: Again
    pieces: Annotated[tuple[Id, ...], Meta(max_length=1_000)] = ()


class CardCopied(Happened, frozen=True, kw_only=True, tag="card copied"):
    """A product card was copied into the job; a later copy of the same id takes its place from then on."""

    card: Card


class PieceAdded(Happened, frozen=True, kw_only=True, tag="piece added"):
    """A piece came in."""

    piece: Piece


class PieceChanged(Happened, frozen=True, kw_only=True, tag="piece changed"):
    """A piece was described anew; the whole description is kept."""

    piece: Piece


class LayerAdded(Happened, frozen=True, kw_only=True, tag="layer added"):
    """A layer was planned; `before` is the layer it goes under, None for the last one on."""

    piece: Id
    layer: Layer
    before: Id | None = None


class LayerChanged(Happened, frozen=True, kw_only=True, tag="layer changed"):
    """A layer's plan was changed: gun, activator, coats, colour."""

    layer: Layer


class LayerRemoved(Happened, frozen=True, kw_only=True, tag="layer removed"):
    """A planned layer was taken out."""

    layer: Id


class PrepDone(Happened, frozen=True, kw_only=True, tag="prep done"):
    """A step of cleaning or preparing was done, on the substrate or on the layer that was then on top.

    `agent` is the id of the cleaner it was done with, `grit` the finest FEPA P grade; `passed` is how a water-break
    test went: True where the water ran off in one sheet. None where it was not said.
    """

    piece: Id
    step: Prep
    note: Text = ""
    agent: Id | None = None
    grit: Annotated[int, Meta(ge=6, le=10_000)] | None = None
    passed: bool | None = None


class PhotoAdded(Happened, frozen=True, kw_only=True, tag="photo added"):
    """A photo of a piece was put beside the job; `of` is the event that it shows, `layer` the layer that was on top."""

    piece: Id
    picture: Picture
    layer: Id | None = None
    of: Id | None = None
    note: Text = ""


class TrialRecorded(Happened, frozen=True, kw_only=True, tag="trial recorded"):
    """A test strip beside a bare control was pulled and judged for this piece's material and this system.

    `cards` are the ids of the products planned on the piece then, the first one on first; none where it was not kept.
    """

    piece: Id
    held: bool
    note: Text = ""
    cards: Annotated[tuple[Id, ...], Meta(max_length=200)] = ()


class TrialPlanned(Happened, frozen=True, kw_only=True, tag="trial planned"):
    """A trial of several systems was set up; its strips are pieces of the job, with the systems as their layers."""

    trial: Trial


class TrialReplanned(Happened, frozen=True, kw_only=True, tag="trial changed"):
    """The plan of a trial was changed; the whole plan is kept."""

    trial: Trial


class TrialEnded(Happened, frozen=True, kw_only=True, tag="trial put away"):
    """The strips were put away: nothing of them is waited for any more. What was found stays."""

    trial: Id


class TapePressed(Happened, frozen=True, kw_only=True, tag="tape pressed on"):
    """Test tape was pressed on a strip; when to pull it counts from here."""

    trial: Id
    strip: Id
    method: Method


class AgeingBegun(Happened, frozen=True, kw_only=True, tag="ageing begun"):
    """These strips (ids of pieces) went into water, heat or cold, or were bent over a mandrel."""

    trial: Id
    strips: Annotated[tuple[Id, ...], Meta(min_length=1, max_length=MOST_STRIPS)]
    ageing: Ageing


class AgeingOver(Happened, frozen=True, kw_only=True, tag="ageing over"):
    """They were taken out again; the rest before the next tests counts from here."""

    trial: Id
    strips: Annotated[tuple[Id, ...], Meta(min_length=1, max_length=MOST_STRIPS)]
    kind: AgeingKind


class Graded(Happened, frozen=True, kw_only=True, tag="graded"):
    """A test on a strip was judged. `grade` is a step of the method's own scale.

    `removed_percent` is how much came off, give or take `plus_minus`, where it was measured or judged; `place` is where
    it let go: in or to `layer`, or between it and `over`. A newer grade of the same test takes the older one's place.
    """

    trial: Id
    strip: Id
    method: Method
    grade: Name
    removed_percent: Annotated[float, Meta(ge=0, le=100)] | None = None
    plus_minus: Annotated[float, Meta(ge=0, le=100)] | None = None
    place: FailurePlace | None = None
    layer: Id | None = None
    over: Id | None = None
    note: Text = ""
    photo: Photo | None = None


class SystemChosen(Happened, frozen=True, kw_only=True, tag="system chosen"):
    """A system of a trial became the stack of a piece: what was found of it speaks for this piece.

    It does so for the same material of the same lot, prepared the same way, as long as the stack is that of the system.
    """

    trial: Id
    system: Id
    piece: Id


class Mixed(Happened, frozen=True, kw_only=True, tag="mixed"):
    """A cup was begun by this recipe; `make_mL` is the amount wanted, and `metal_cup` says that the cup is of metal."""

    mix: Id
    layer: Id
    card: Id
    gun: Gun
    make_mL: Annotated[float, Meta(gt=0, le=1_000_000)]
    parts: Annotated[tuple[RecipePart, ...], Meta(min_length=1, max_length=20)]
    activator: Id | None = None
    metal_cup: bool = False


class LotTaken(Happened, frozen=True, kw_only=True, tag="lot taken"):
    """A can was taken in hand for its card and part, from now on; the job keeps its own copy of it.

    `pours` are those made before, of no can by then, that came out of it as well.
    """

    lot: Lot
    pours: tuple[Id, ...] = ()


class Poured(Happened, frozen=True, kw_only=True, tag="poured"):
    """So much of a part went into the cup, out of this lot; `typed` keeps the words of the painter.

    It is a `guess` where it was counted in drops of a dropper that nobody has measured.
    """

    mix: Id
    part: Name
    mL: Millilitres
    typed: Text = ""
    lot: Id | None = None
    guess: bool = False


class MixStirred(Happened, frozen=True, kw_only=True, tag="stirred"):
    """The cup was stirred; the stand time counts from here."""

    mix: Id
    what: Stirred


class CupShared(Happened, frozen=True, kw_only=True, tag="cup shared"):
    """Another layer of the same product is sprayed from this cup too."""

    mix: Id
    layer: Id


class CupEmptied(Happened, frozen=True, kw_only=True, tag="cup emptied"):
    """What was left of a mix was emptied out and the gun cleaned; `left_mL` is how much that was, where said."""

    mix: Id
    left_mL: Millilitres | None = None


class CoatStarted(Happened, frozen=True, kw_only=True, tag="coat started"):
    """A pass over the piece began."""

    layer: Id
    mix: Id | None = None


class CoatDone(Happened, frozen=True, kw_only=True, tag="coat done"):
    """The pass ended; flash, recoat, tape and cure count from here."""

    layer: Id


class FilmMeasured(Happened, frozen=True, kw_only=True, tag="film measured"):
    """The dry film (um) of one coat of a layer, as a card's `film_um` is: measured, or reckoned from a wet film.

    `wet_um` is what the wet-film comb showed, where it was one. The newest one of a layer counts.
    """

    layer: Id
    um: Microns
    wet_um: Microns | None = None


class HeatStarted(Happened, frozen=True, kw_only=True, tag="heat started"):
    """From now on the surface of the piece is held at `degC` or more by a heater."""

    piece: Id
    degC: DegC


class HeatEnded(Happened, frozen=True, kw_only=True, tag="heat ended"):
    """The heat was taken off the piece."""

    piece: Id


class ReadingTaken(Happened, frozen=True, kw_only=True, tag="reading taken"):
    """The air in the shop, and its speed and the surface where they were measured.

    It keeps what was read, even what no air can be: then the last good reading holds. `source` says where the figures
    are from: `typed`, or the name of a logger's file.
    """

    air_degC: Read
    humidity_percent: Read
    surface_degC: Read | None = None
    speed_m_s: Read | None = None
    source: Text = ""


class CoursePoint(Record, frozen=True, kw_only=True):
    """From `at` on the air is expected to be so; without a humidity it holds as much water as the air of then."""

    at: Instant
    air_degC: AirDegC
    humidity_percent: Humidity | None = None


class CourseExpected(Happened, frozen=True, kw_only=True, tag="course expected"):
    """How the air will go from now on, in steps, such as a heater that is off for the night; none for as it is.

    It takes the place of what was expected before, from its own instant on.
    """

    points: Annotated[tuple[CoursePoint, ...], Meta(max_length=1_000)]


class WaiverSigned(Happened, frozen=True, kw_only=True, tag="waiver signed"):
    """The painter decided to go on in spite of a finding, and why. `key` names the finding exactly."""

    rule: Name
    key: Name
    message: Text
    reason: Annotated[str, Meta(min_length=1, max_length=4_000)]


MOST_SHIFT_S = 200 * 365.25 * 86_400
"""No clock is further off than this (s): one that fell back to 1970 is not (judgement)."""


class ClockAnswered(Happened, frozen=True, kw_only=True, tag="clock answered"):
    """The laptop's clock was in doubt, and the painter said which time is right; `words` are that answer.

    What was entered before this event, by a clock that then showed `since` to `until`, really happened `by_s`
    seconds later (below 0: earlier); 0 where nothing moves. Its own `at` is by the clock as it is right.
    """

    since: Instant
    until: Instant
    by_s: Annotated[float, Meta(ge=-MOST_SHIFT_S, le=MOST_SHIFT_S)] = 0.0
    words: Text = ""


class Corrected(Happened, frozen=True, kw_only=True, tag="corrected"):
    """An event was entered late or early: it really happened at `really_at`."""

    event: Id
    really_at: Instant


class Withdrawn(Happened, frozen=True, kw_only=True, tag="withdrawn"):
    """An undo: these events are taken back. Withdrawing a withdrawal brings them in again."""

    events: Annotated[tuple[Id, ...], Meta(min_length=1)]


Event = (
    JobDescribed | TakenFrom | PhotoAdded | CardCopied | PieceAdded | PieceChanged | LayerAdded | LayerChanged |
    LayerRemoved | PrepDone | TrialRecorded | TrialPlanned | TrialReplanned | TrialEnded | TapePressed | AgeingBegun
    | AgeingOver | Graded | SystemChosen | Mixed | LotTaken | Poured | MixStirred | CupShared | CupEmptied |
    CoatStarted | CoatDone | FilmMeasured | HeatStarted | HeatEnded | ReadingTaken | CourseExpected | WaiverSigned |
    ClockAnswered | Corrected | Withdrawn
)  # fmt: skip


def event_words(event: Event) -> str:
    """Name an event as the painter would, for the undo line and the record."""
    match event:
        case JobDescribed():
            return "job named"
        case CardCopied(card=card):
            return f"card {card.name} added"
        case PieceAdded(piece=piece):
            return f"{piece.name} added"
        case PieceChanged(piece=piece):
            return f"{piece.name} changed"
        case PrepDone(step=step):
            return f"{step.value} logged"
        case TakenFrom(title=title, how=how):
            return f"{how.value} of {title}"
        case TrialRecorded(held=held):
            return "trial logged" if held else "failed trial logged"
        case TrialPlanned(trial=trial):
            return f"trial {trial.name} set up"
        case TrialReplanned(trial=trial):
            return f"trial {trial.name} changed"
        case AgeingBegun(ageing=ageing):
            return f"{ageing.kind.value} begun"
        case AgeingOver(kind=kind):
            return f"{kind.value} over"
        case Graded(method=method, grade=grade):
            return f"{method.value}: {grade}"
        case Mixed():
            return "mix begun"
        case Poured(part=part, typed=typed, mL=amount, guess=guess):
            return f"{typed or f'{pour_figure(amount)} mL'} {part} poured{' (a guess)' if guess else ''}"
        case LotTaken(lot=lot):
            return f"{lot.words} taken"
        case MixStirred(what=what):
            return f"{what.value} mix stirred"
        case FilmMeasured(um=um):
            return f"dry film {um:g} µm noted"
        case HeatStarted(degC=degC):
            return f"heat on at {degC:g} °C"
        case HeatEnded():
            return "heat off"
        case ReadingTaken(air_degC=air, humidity_percent=humidity):
            return f"reading {air:g} °C {humidity:g} %"
        case CourseExpected(points=points):
            return "expected air noted" if points else "expected air cleared"
        case ClockAnswered(words=words) if words:
            return f"answer on the clock ({words})"
        case _:
            return str(event.__struct_config__.tag)
