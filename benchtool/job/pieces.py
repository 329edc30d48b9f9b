"""The things that a job is about: pieces, the layers planned on them, and what every event has."""

from enum import StrEnum
from typing import Annotated

from msgspec import Meta

from benchtool.job.cards import Gun
from benchtool.job.fields import Id, Name, Record, Text
from benchtool.job.lots import Instant
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


class Again(StrEnum):
    """How a job goes back to an earlier one."""

    REPEAT = "repeat"
    TOUCH_UP = "touch-up"


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
    other materials that touch it, such as steel screws. `batch` is the lot that its material is of, in the painter's
    words: a test strip speaks for its own lot only. `strip_of` is the trial of which this is a test strip. `area_m2` is
    the face that is painted, where it was measured.
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
    batch: Annotated[str, Meta(max_length=200)] = ""
    strip_of: Id | None = None
    area_m2: Annotated[float, Meta(gt=0, le=10_000)] | None = None


class Layer(Record, frozen=True, kw_only=True):
    """One product in the stack of a piece, as planned. Layers stand in the order they are put on.

    `note` is what the painter has to say of its colour: how it was tinted, what it was matched to. `make_mL` is how
    much to mix the first time, where an earlier job told.
    """

    id: Id
    card: Id
    coats: Coats
    name: Name | None = None
    colour: Colour | None = None
    gun: Gun = Gun.AIRBRUSH
    activator: Id | None = None
    additives: Annotated[tuple[Id, ...], Meta(max_length=10)] = ()
    note: Text = ""
    make_mL: Annotated[float, Meta(gt=0, le=1_000_000)] | None = None


class Picture(Record, frozen=True, kw_only=True):
    """A photo of a piece: its file beside the job, what its content hashes to, and what it was called before."""

    name: Name
    sha256: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
    called: Annotated[str, Meta(max_length=300)] = ""


class Happened(Record, frozen=True, kw_only=True, tag_field="type"):
    """The base of every event."""

    id: Id
    at: Instant
    along_with: Id | None = None
