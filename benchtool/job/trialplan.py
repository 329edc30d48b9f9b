"""The plan of a trial: which systems are tried on which strips, how they are tested and aged."""

from datetime import timedelta
from enum import StrEnum
from typing import Annotated

from msgspec import Meta

from benchtool.job.fields import DegC, Id, Name, Record, Text
from benchtool.job.pieces import Colour
from benchtool.trade.grades import Method

MOST_SYSTEMS = 12
MOST_STRIPS = 48
MOST_ON_A_PANEL = 12
"""So many strips are sprayed in one session: more lie on further panels (judgement)."""

USUAL_REST = timedelta(hours=24)
"""How long paint rests before a first test. Common practice, no source."""

USUAL_METHODS = (Method.PLAIN_TAPE, Method.STICK, Method.NAIL)
"""What a painter can do without a tool. Common practice, no source."""


class AgeingKind(StrEnum):
    """What strips go through before they are tested again."""

    WATER = "water soak"
    HEAT = "heat"
    COLD = "cold"
    FLEX = "flex over a mandrel"


class Ageing(Record, frozen=True, kw_only=True):
    """One step of ageing: how long it lasts, how warm, over which mandrel, and how long to wait after it.

    A flex takes no time: `lasts` is None.
    """

    kind: AgeingKind
    lasts: timedelta | None = None
    degC: DegC | None = None
    mandrel_mm: Annotated[float, Meta(gt=0, le=1_000)] | None = None
    recovers: timedelta = timedelta(0)


class System(Record, frozen=True, kw_only=True):
    """One candidate. Its stack is that of its strips; the `control` has no promoter; `colour` is a label, no more."""

    id: Id
    name: Name
    control: bool = False
    colour: Colour | None = None


class Strip(Record, frozen=True, kw_only=True):
    """One strip: the piece that stands for it in the job, its system, and where it lies.

    Panels count from 1, the places on one from 0.
    """

    piece: Id
    system: Id
    replicate: Annotated[int, Meta(ge=1, le=MOST_STRIPS)] = 1
    panel: Annotated[int, Meta(ge=1, le=MOST_STRIPS)] = 1
    place: Annotated[int, Meta(ge=0, lt=MOST_ON_A_PANEL)] = 0


class Trial(Record, frozen=True, kw_only=True):
    """A trial. What the strips are made of is said by their pieces; `piece` is the piece it is done for, if one is.

    `rest` is how long the paint rests before the first test, `tape_stays` how long plain tape stays pressed on.
    """

    id: Id
    name: Name
    systems: Annotated[tuple[System, ...], Meta(min_length=2, max_length=MOST_SYSTEMS)]
    strips: Annotated[tuple[Strip, ...], Meta(min_length=2, max_length=MOST_STRIPS)]
    methods: Annotated[tuple[Method, ...], Meta(max_length=len(Method))] = (
        Method.PLAIN_TAPE,
        Method.STICK,
        Method.NAIL,
    )
    ageing: Annotated[tuple[Ageing, ...], Meta(max_length=10)] = ()
    rest: timedelta = USUAL_REST
    tape_stays: timedelta = timedelta(0)
    piece: Id | None = None
    strip_width_mm: Annotated[float, Meta(gt=0, le=2_000)] = 25.0
    strip_length_mm: Annotated[float, Meta(gt=0, le=2_000)] = 100.0
    randomised: bool = False
    note: Text = ""


class Photo(Record, frozen=True, kw_only=True):
    """A photo of a cross-cut that was measured: its file beside the job, what tells that it is the same file, its grid.

    `corners` are those of the outermost cuts as shares of the upright picture, clockwise from the top left. `mask` is
    the file of what was taken to be bare; `corrected` says that a hand changed it.
    """

    name: Name
    sha256: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
    cuts: Annotated[int, Meta(ge=2, le=50)] = 6
    corners: Annotated[tuple[tuple[float, float], ...], Meta(max_length=4)] = ()
    mask: Annotated[str, Meta(max_length=200)] = ""
    corrected: bool = False
