"""What happened, one frozen record for each fact; the job is the list of them.

Every event has an id that is unique in its job and the instant (UTC) at which it happened. Events entered
by one act of the painter carry the id of the first of them in `along_with`, and are undone together.
"""

from enum import StrEnum
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
from benchtool.trade.numbers import pour_figure
from benchtool.trade.substrates import Flex

Colour = Annotated[str, Meta(pattern=r"^#[0-9a-fA-F]{6}$")]
Coats = Annotated[int, Meta(ge=1, le=50)]


class Face(StrEnum):
    """Which face of the piece is painted."""

    OUTSIDE = "outside"
    BEHIND_CLEAR = "behind clear"


class Known(StrEnum):
    """How the painter knows what a piece is made of."""

    MARKED = "marked"
    TOLD = "told"
    GUESSED = "guessed"
    UNKNOWN = "unknown"


class Prep(StrEnum):
    """A step of cleaning and preparing."""

    WASH = "wash"
    RELEASE_WASH = "mould-release wash"
    DEGREASE = "degrease"
    ABRADE = "abrade"
    SCUFF = "scuff"
    TACK = "tack"
    MASK = "mask"
    UNMASK = "unmask"
    WATER_BREAK = "water-break test"
    STRIP = "strip"
    DRY = "dry out"


class Shape(StrEnum):
    """What of a piece's shape or face decides how it can be prepared."""

    TEXTURED = "textured"
    NOOKS = "deep nooks"


class Stirred(StrEnum):
    """What a mix holds when it is stirred."""

    BASE = "base"
    ACTIVATED = "activated"
    REDUCED = "reduced"


class Clue(Record, frozen=True, kw_only=True):
    """What a harmless look or touch told of a material: the clue's id and the answer's id of the table of clues."""

    test: Name
    answer: Name


class Piece(Record, frozen=True, kw_only=True):
    """One thing to paint. `substrate` is an id of the substrate table.

    `mark` is what is moulded on it, as read, and `clues` are what else told what it is made of. `joined` are the ids of
    other materials that touch it, such as steel screws.
    """

    id: Id
    name: Name
    substrate: Id
    known: Known
    flex: Flex
    face: Face = Face.OUTSIDE
    mark: Annotated[str, Meta(max_length=200)] = ""
    clues: Annotated[tuple[Clue, ...], Meta(max_length=100)] = ()
    shape: Annotated[tuple[Shape, ...], Meta(max_length=10)] = ()
    joined: Annotated[tuple[Id, ...], Meta(max_length=20)] = ()


class Layer(Record, frozen=True, kw_only=True):
    """One product in the stack of a piece, as planned. Layers stand in the order they are put on."""

    id: Id
    card: Id
    coats: Coats
    name: Name | None = None
    colour: Colour | None = None
    gun: Gun = Gun.AIRBRUSH
    activator: Id | None = None
    additives: Annotated[tuple[Id, ...], Meta(max_length=10)] = ()


class Happened(Record, frozen=True, kw_only=True, tag_field="type"):
    """The base of every event."""

    id: Id
    at: Instant
    along_with: Id | None = None


class JobDescribed(Happened, frozen=True, kw_only=True, tag="job described"):
    """The job got its name."""

    title: Name
    customer: Text = ""
    note: Text = ""


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


class TrialRecorded(Happened, frozen=True, kw_only=True, tag="trial recorded"):
    """A test strip beside a bare control was pulled and judged for this piece's material and this system.

    `cards` are the ids of the products planned on the piece then, the first one on first; none where it was not kept.
    """

    piece: Id
    held: bool
    note: Text = ""
    cards: Annotated[tuple[Id, ...], Meta(max_length=200)] = ()


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
    """A can was taken in hand for its card and part, from now on; the job keeps its own copy of it."""

    lot: Lot


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
    JobDescribed | CardCopied | PieceAdded | PieceChanged | LayerAdded | LayerChanged | LayerRemoved
    | PrepDone | TrialRecorded | Mixed | LotTaken | Poured | MixStirred | CupShared | CupEmptied | CoatStarted
    | CoatDone | FilmMeasured | HeatStarted | HeatEnded | ReadingTaken | CourseExpected | WaiverSigned
    | ClockAnswered | Corrected | Withdrawn
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
        case TrialRecorded(held=held):
            return "trial logged" if held else "failed trial logged"
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
