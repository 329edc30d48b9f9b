"""A grade on its way into the record: how the test is done on this strip, what is typed, and the acts that log it."""

import math
import re
from dataclasses import dataclass
from datetime import datetime
from functools import partial

from benchtool.job import events as ev
from benchtool.job.record import next_number
from benchtool.job.state import PieceState, State
from benchtool.job.trialrest import Rested, aged_words, rest_ends, rested, title_of
from benchtool.job.trials import TrialState
from benchtool.rules.finding import Tables
from benchtool.session.document import Draft, NotNow
from benchtool.session.session import Session
from benchtool.session.trialgrading import Board, Cell, Spot, Standing, next_spot
from benchtool.trade.grademethods import Told, instructions
from benchtool.trade.grades import (
    BY_AREA,
    BY_TAPE,
    FailurePlace,
    NotAGrade,
    classes_of,
    codes,
    failure_code,
    read_grade,
)
from benchtool.trade.numbers import NotANumber, figure, read_number, shorten, span_words
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex, Material

MOST_NOTE = 4_000

# --- what is turned to -----------------------------------------------------------------------------------


def spot_on_coming(shown: Board, here: Spot | None, in_hand: str | None, now: datetime) -> Spot | None:
    """Say which test is turned to on coming: a tape to pull, then what is open of the strip in hand, then what is next.

    A test that can be graded now stays in hand, unless another strip was taken in hand since.
    """
    urgent = next_spot(shown, here, now)
    cell, first = shown.cell(here), shown.cell(urgent)
    row = shown.row(in_hand or "")
    if first is not None and first.pulls(now):
        return urgent
    if cell is not None and cell.standing is Standing.READY and (row is None or row.strip.piece == cell.spot.strip):
        return here
    ready = (c.spot for c in row.cells if c.standing is Standing.READY) if row is not None else iter(())
    return next(ready, urgent or here)


# --- how the test is done --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Film:
    """The dry film of all coats on a strip (um); `measured` where every coat was, else by the cards in part."""

    um: float
    measured: bool


def film_of(piece: PieceState | None) -> Film | None:
    """Add up the film of the coats that are on; None where one of them is told by nobody, or none is on."""
    coats = [c for layer in (piece.layers if piece is not None else ()) for c in layer.coats]
    by_hand = [c.film.um if c.film is not None else None for c in coats]
    by_card = [c.card.film_um if c.card is not None else None for c in coats]
    films = [um if um is not None else card for um, card in zip(by_hand, by_card, strict=True)]
    known = [um for um in films if um is not None]
    if not coats or len(known) < len(films):
        return None
    return Film(math.fsum(known), all(um is not None for um in by_hand))


def is_hard(piece: ev.Piece | None, tables: Tables) -> bool | None:
    """Say whether a blade finds the piece hard; None where nobody knows what it is, or what is under old paint.

    ISO 2409:2020, clause 1, names metal as hard, wood and plaster as soft. The rest is a judgement: glass and stiff
    plastic are hard, rubber, leather and what bends are soft.
    """
    if piece is None:
        return None
    material = tables.substrate_of(piece).material
    if material in (Material.UNKNOWN, Material.PAINT):
        return None
    if material in (Material.METAL, Material.GLASS):
        return True
    if material in (Material.WOOD, Material.RUBBER, Material.LEATHER):
        return False
    return piece.flex is Flex.RIGID


def told(method: ev.Method, piece: PieceState | None, tables: Tables) -> tuple[Told, str]:
    """Tell how a test is done on this strip, and by which film."""
    film = film_of(piece)
    lines = instructions(
        method, film.um if film is not None else None, is_hard(piece.piece if piece is not None else None, tables)
    )
    if method not in (*BY_AREA, ev.Method.D3359_A):
        return lines, ""
    if film is None:
        return lines, say("The film is not known: measure it, or write it on the cards.")
    um = figure(film.um)
    if film.measured:
        return lines, say("The film is {um} µm, as measured.", um=um)
    return lines, say("The film is {um} µm, by the cards.", um=um)


# --- where it let go -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Place:
    """A place where it can have let go on this strip: in words, and which layers those are, the upper one first.

    `letters` are those of a pull-off test (ASTM D4541).
    """

    key: str
    words: str
    layers: str
    letters: str
    place: FailurePlace
    layer: str | None = None
    over: str | None = None


def places(
    state: State, piece: PieceState | None, method: ev.Method = ev.Method.PLAIN_TAPE, *, blind: bool = False
) -> tuple[Place, ...]:
    """Give the places of this strip from the tape down, by its own stack: what has no paint on is left out.

    `blind` calls the layers by their number alone, so that nobody sees which system it is.
    """
    planned = piece.layers if piece is not None else []
    layers = [x for x in planned if x.started] or planned
    names = ["" if blind else state.layer_name(x) for x in layers]
    glue = _fixed("tape", say("In the glue of the tape"), FailurePlace.TAPE)
    found = [glue] if method in BY_TAPE else []
    for n in range(len(layers), 0, -1):
        layer, name, inside = layers[n - 1], names[n - 1], FailurePlace.LAYER
        words = say("In layer {n}", n=n)
        found.append(Place(f"in-{n}", words, name, failure_code(inside, n), inside, layer.id))
        if n > 1:
            words, between = say("Between layers {n} and {under}", n=n, under=n - 1), FailurePlace.BETWEEN
            both = "" if blind else say("{over} off {under}", over=name, under=names[n - 2])
            letters = failure_code(between, n - 1)
            found.append(Place(f"under-{n}", words, both, letters, between, layers[n - 2].id, layer.id))
    if layers:
        to = FailurePlace.SUBSTRATE
        words = say("Down to the bare material")
        off = "" if blind else say("{over} off the material", over=names[0])
        found.append(Place("substrate", words, off, failure_code(to), to, layers[0].id))
    return (*found, _fixed("material", say("In the material itself"), FailurePlace.IN_SUBSTRATE))


def _fixed(key: str, words: str, place: FailurePlace) -> Place:
    return Place(key, words, "", failure_code(place), place)


_OFF_FROM = {ev.Method.STICK: 3, ev.Method.NAIL: 3}
"""The first step of stick and fingernail at which anything comes off: before, it is only marked."""


def came_off(method: ev.Method, code: str, percent: float | None = None) -> bool:
    """Whether anything came off at this grade, so that it let go somewhere; never so for a pencil."""
    if method not in (*BY_TAPE, *_OFF_FROM):
        return False
    return codes(method).index(code) >= _OFF_FROM.get(method, 1) or bool(percent)


# --- what is typed ---------------------------------------------------------------------------------------


class Refused(ValueError):
    """Something typed can't be taken: `field` is grade, percent or note, and the message is one sentence."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


@dataclass(frozen=True, slots=True)
class Entry:
    """What is typed and picked for one test of one strip and not logged yet; `place` is the key of a `Place`."""

    grade: str = ""
    percent: str = ""
    place: str = ""
    note: str = ""
    photo: ev.Photo | None = None


_GIVE_OR_TAKE = re.compile(r"±|\+\s*/?\s*[-−–]")


def read_percent(typed: str) -> tuple[float, float | None] | None:
    """Read what came off, `12`, `12 %` or `12 ± 2 %`: percent of the area and points of it; None for nothing typed.

    Raises:
        Refused: no percentage from 0 to 100.
    """
    if not typed.strip():
        return None
    parts = _GIVE_OR_TAKE.split(typed)
    try:
        values = [read_number(part.rstrip(" %")) for part in parts]
    except NotANumber as wrong:
        raise Refused("percent", str(wrong)) from None
    if len(values) > 2 or any(rest for _, rest in values) or not all(0 <= value <= 100 for value, _ in values):
        raise Refused(
            "percent",
            say("“{typed}” is no part of an area: write 0 to 100, such as 12 or 12 ± 2.", typed=shorten(typed)),
        )
    return values[0][0], values[1][0] if len(values) > 1 else None


def candidates(method: ev.Method, percent: str) -> tuple[str, ...]:
    """Give the grades that this much may be, best first; () where nothing is typed or the method is not by area.

    Raises:
        Refused: as `read_percent`.
    """
    off = read_percent(percent)
    return classes_of(method, off[0], off[1] or 0.0) if off is not None and method in BY_AREA else ()


def choose_words(offered: tuple[str, ...], picked: str = "") -> str:
    """Say what the percentage offers, or that it does not agree with what is picked; "" for nothing to say."""
    if not offered or picked in offered:
        return ""
    named = offered[0] if len(offered) == 1 else say("{some} or {last}", some=", ".join(offered[:-1]), last=offered[-1])
    if picked:
        return say("By the area it would be {grades}; {picked} is kept as you write it.", grades=named, picked=picked)
    if len(offered) == 1:
        return say("By the area it is {grades}.", grades=named)
    return say("The standard allows no grade in between: choose {grades}.", grades=named)


def grade_of(method: ev.Method, entry: Entry) -> str:
    """Read the grade that is meant: the one typed, else the only one that the percentage allows.

    Raises:
        Refused: no grade of this scale, none in between, or nothing that says one.
    """
    if entry.grade.strip():
        try:
            return read_grade(method, entry.grade)
        except NotAGrade as wrong:
            raise Refused("grade", str(wrong)) from None
    offered = candidates(method, entry.percent)
    if len(offered) == 1:
        return offered[0]
    if offered:
        raise Refused("grade", choose_words(offered))
    best, worst = codes(method)[0], codes(method)[-1]
    raise Refused("grade", say("Write the grade first: {best} is the best, {worst} the worst.", best=best, worst=worst))


# --- the acts --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Act:
    """What to write into the record, and what to say of it when it is done."""

    drafts: tuple[Draft, ...]
    words: str


def trial_in_hand(session: Session, trial: str) -> TrialState:
    """Find a trial of the job in hand.

    Raises:
        NotNow: no job is open, it is read-only, or it has no such trial any more.
    """
    found = session.writable().state.trials.get(trial)
    if found is None:
        raise NotNow(say("This trial was taken back."))
    return found


def press_tape(session: Session, trial: str, spot: Spot) -> Act:
    """Log that test tape was pressed on: when to pull it counts from now.

    Raises:
        NotNow: as `trial_in_hand`, the test takes no tape, or the strip is past or not yet at this test.
    """
    found = trial_in_hand(session, trial)
    if spot.method not in BY_TAPE:
        raise NotNow(say("This test takes no tape."))
    _check_stage(found, spot)
    name = _strip_name(session, spot)
    draft = partial(ev.TapePressed, trial=trial, strip=spot.strip, method=spot.method)
    return Act((draft,), say("{strip}: tape pressed on ({test}).", strip=name, test=title_of(spot.test)))


def grade_act(session: Session, trial: str, cell: Cell, entry: Entry) -> Act:
    """Log a grade; one that is there already stays in the record, and the new one takes its place.

    Raises:
        Refused: something typed can't be taken.
        NotNow: as `press_tape`.
    """
    found, spot, now = trial_in_hand(session, trial), cell.spot, session.now()
    code, off = grade_of(spot.method, entry), read_percent(entry.percent)
    if len(entry.note) > MOST_NOTE:
        raise Refused("note", say("The note is too long: at most {n} signs.", n=MOST_NOTE))
    place = _place(session, spot, entry, code, off[0] if off is not None else None)
    graded = partial(
        ev.Graded,
        trial=trial,
        strip=spot.strip,
        method=spot.method,
        grade=code,
        removed_percent=off[0] if off is not None else None,
        plus_minus=off[1] if off is not None else None,
        place=place.place if place is not None else None,
        layer=place.layer if place is not None else None,
        over=place.over if place is not None else None,
        note=entry.note.strip(),
        photo=entry.photo,
    )
    words = say("{strip}, {test}: {grade}.", strip=_strip_name(session, spot), test=title_of(spot.test), grade=code)
    if found.aged(spot.strip) != spot.aged and cell.grade is not None:
        # The strip has been aged since. The slip was made then, so that is when the right grade was seen too.
        at = cell.grade.given.at
        right = partial(ev.Corrected, event=f"e{next_number(session.writable().job)}", really_at=at)
        return Act((graded, right), f"{words} {_replaced(cell)}")
    _check_stage(found, spot)
    more = (_replaced(cell), _early_words(session, found, spot, now))
    return Act((graded,), " ".join(x for x in (words, *more) if x))


def _replaced(cell: Cell) -> str:
    if cell.grade is None:
        return ""
    return say("It takes the place of {old}; both stay in the record.", old=cell.grade.given.grade)


def _early_words(session: Session, trial: TrialState, spot: Spot, now: datetime) -> str:
    piece = session.writable().state.pieces.get(spot.strip)
    if rested(trial, piece, now) is not Rested.EARLY or piece is None:
        return ""
    ends = rest_ends(trial, piece, now)
    if ends is None or ends <= now:
        return say("Kept, and flagged: the strip was not ready for it yet, so it proves nothing.")
    early = span_words((ends - now).total_seconds())
    return say("Kept, and flagged: that is {early} before its rest is over, so it proves nothing yet.", early=early)


def _place(session: Session, spot: Spot, entry: Entry, code: str, percent: float | None) -> Place | None:
    state = session.writable().state
    if not came_off(spot.method, code, percent):
        if spot.method in (*BY_TAPE, *_OFF_FROM):
            return _fixed("", "", FailurePlace.NOTHING)
        return None
    return next((p for p in places(state, state.pieces.get(spot.strip), spot.method) if p.key == entry.place), None)


def _check_stage(trial: TrialState, spot: Spot) -> None:
    """Refuse what the record would take for another test: a grade belongs to what the strip has been through by now."""
    aged = trial.aged(spot.strip)
    if aged == spot.aged:
        return
    if len(aged) < len(spot.aged):
        raise NotNow(
            say("This is graded after {ageing}: end that first, on the page of the run.", ageing=aged_words(spot.aged))
        )
    raise NotNow(
        say(
            "The strip has been aged since ({ageing}): what you see now belongs to the tests after that.",
            ageing=aged_words(aged),
        )
    )


def _strip_name(session: Session, spot: Spot) -> str:
    piece = session.writable().state.pieces.get(spot.strip)
    return piece.piece.name if piece is not None else spot.strip


def entry_of(cell: Cell, state: State, piece: PieceState | None) -> Entry:
    """Give what is in the record of a cell as it would be typed, to change a part of it; empty where nothing is."""
    if cell.grade is None or cell.standing is not Standing.GRADED:
        return Entry()
    given = cell.grade.given
    off = "" if given.removed_percent is None else figure(given.removed_percent)
    if off and given.plus_minus is not None:
        off = f"{off} ± {figure(given.plus_minus)}"
    there = (given.place, given.layer, given.over)
    found = places(state, piece, cell.spot.method)
    key = next((p.key for p in found if (p.place, p.layer, p.over) == there), "")
    return Entry(grade=given.grade, percent=off, place=key, note=given.note, photo=given.photo)
