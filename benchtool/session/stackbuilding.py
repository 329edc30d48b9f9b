"""Building the stack of a piece: what is picked, the order offered, what speaks against it, and the one act of it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import msgspec

from benchtool.job import events as ev
from benchtool.job.cards import Card, Gun
from benchtool.job.record import Job, standing
from benchtool.job.state import LayerState, PieceState
from benchtool.plan.stackcost import best_order
from benchtool.rules.finding import Tables
from benchtool.session.cardreading import Wrong, unmixable
from benchtool.session.planning import copy_card, suiting_activator, suiting_additives, usual_gun
from benchtool.session.session import Draft, NotNow, Session
from benchtool.trade.saying import say, say_n
from benchtool.trade.substrates import Flex

MOST_COATS = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A layer of the stack as it would be, in the order they go on; `key` tells it from the others.

    `was` is what the job has of it, None for one that is new. A `kept` one has paint on, or a cup, or lies under one
    that has: it stays where it is.
    """

    key: str
    card: Card
    plan: ev.Layer
    was: LayerState | None = None
    kept: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Build:
    """The stack of a piece as it would be. Each act gives another one; the job is changed by `drafts` alone.

    `taken_up` is what the job had of it when the building began, `gun` what new layers are sprayed with, `colours` the
    colour that each card had last in this job. `by_hand` says that the painter put the new layers in order; till then
    they stand in the order offered.
    """

    piece: ev.Piece
    rows: tuple[Row, ...] = ()
    taken_up: tuple[Row, ...] = ()
    gun: Gun = Gun.AIRBRUSH
    colours: Mapping[str, str] = field(default_factory=dict)
    by_hand: bool = False
    count: int = 0

    @property
    def new(self) -> tuple[Row, ...]:
        """What was picked and is not in the job yet."""
        return tuple(r for r in self.rows if r.was is None)

    @property
    def open(self) -> tuple[Row, ...]:
        """What can still be moved."""
        return tuple(r for r in self.rows if not r.kept)

    def row(self, key: str) -> Row | None:
        """Find a layer; None where it is gone."""
        return next((r for r in self.rows if r.key == key), None)


def begin(session: Session, piece: PieceState) -> Build:
    """Take up the stack of a piece as the job has it."""
    document = session.writable()
    state = document.state
    held = [bool(x.coats or x.mixes) for x in piece.layers]
    last = max((i for i, kept in enumerate(held) if kept), default=-1)
    rows = []
    for i, layer in enumerate(piece.layers):
        card = state.card_of(layer)
        if card is not None:
            rows.append(Row(key=layer.id, card=card, plan=layer.plan, was=layer, kept=i <= last))
    gun, colours = usual_gun(session, piece), _colours(document.job)
    return Build(piece=piece.piece, rows=tuple(rows), taken_up=tuple(rows), gun=gun, colours=colours)


def _colours(job: Job) -> dict[str, str]:
    """Give the colour that each card was last planned with."""
    plans = (e.layer for _, e in standing(job.events) if isinstance(e, ev.LayerAdded | ev.LayerChanged))
    return {plan.card: plan.colour for plan in plans if plan.colour is not None}


def again(session: Session, piece: PieceState, before: Build) -> Build:
    """Take up what was built before and not put on the piece yet, over what the job has of it now."""
    fresh = begin(session, piece)
    same = [(r.plan, r.card) for r in fresh.rows] == [
        (r.was.plan, r.card) for r in before.taken_up if r.was is not None
    ]
    held = [(r.key, r.kept) for r in fresh.rows] == [(r.key, r.kept) for r in before.taken_up]
    if same and held and fresh.piece == before.piece:
        now = {r.key: r.was for r in fresh.rows}
        rows = tuple(_as_it_is(r, now) for r in before.rows)
        return replace(before, rows=rows, taken_up=fresh.taken_up, colours=fresh.colours)
    new = tuple(_fitted(r, fresh.piece) for r in before.new)
    return replace(fresh, rows=(*fresh.rows, *new), by_hand=before.by_hand, count=before.count)


def _as_it_is(row: Row, now: Mapping[str, LayerState | None]) -> Row:
    """Give a layer over what the job has of it now: no fewer coats are planned than are on."""
    was = now.get(row.key)
    if was is None:
        return row
    plan = msgspec.structs.replace(row.plan, coats=max(row.plan.coats, len(was.coats)))
    return replace(row, plan=plan, was=was)


def note(build: Build, key: str, typed: str) -> Build:
    """Give a layer a colour note."""
    told = typed.strip()
    rows = (replace(r, plan=msgspec.structs.replace(r.plan, note=told)) if r.key == key else r for r in build.rows)
    return replace(build, rows=tuple(rows))


def _fitted(row: Row, piece: ev.Piece) -> Row:
    """Let the activator and the additives follow what the piece is now."""
    if row.card.activator(row.plan.activator) is not None and _suits(row, piece.flex):
        return row
    fitted = filled(row.card, piece, row.plan.gun, row.plan.coats)
    return replace(row, plan=msgspec.structs.replace(fitted, colour=row.plan.colour, note=row.plan.note))


def _suits(row: Row, flex: Flex) -> bool:
    activator = row.card.activator(row.plan.activator)
    return activator is None or activator.suits.suits(flex)


def filled(card: Card, piece: ev.Piece, gun: Gun, coats: int | None = None) -> ev.Layer:
    """Fill in what the card gives for a piece: coats, activator, additives; the colour is the painter's."""
    activator = suiting_activator(card, piece.flex)
    chosen = suiting_additives(card, piece.flex)
    return ev.Layer(
        id="new",
        card=card.id,
        coats=card.coats_least if coats is None else coats,
        gun=gun,
        activator=activator.id if activator is not None else None,
        additives=tuple(a.id for a in card.additives if a.id in chosen),
    )


# --- acts --------------------------------------------------------------------------------------------


def pick(build: Build, card: Card, tables: Tables, under: str | None = None) -> tuple[Build, str]:
    """Put one more layer of this card into the stack, `under` the one of that key or last; gives its own key too.

    While the painter has not moved any by hand, the new ones stand in the order offered.
    """
    key = f"+{build.count + 1}"
    row = Row(key=key, card=card, plan=_coloured(filled(card, build.piece, build.gun), build, card))
    rows = [_with_card(r, card) for r in build.rows]
    rows.insert(next((i for i, r in enumerate(rows) if r.key == under and not r.kept), len(rows)), row)
    more = replace(build, rows=tuple(rows), count=build.count + 1)
    settled = build.by_hand or (under is not None and len(more.open) > len(more.new))
    return (more if settled else _arranged(more, tables, more.new)), key


def _coloured(plan: ev.Layer, build: Build, card: Card) -> ev.Layer:
    """Give a new layer the colour that its card has in this stack, or had last in the job."""
    here = [r.plan.colour for r in build.rows if r.card.id == card.id and r.plan.colour is not None]
    return msgspec.structs.replace(plan, colour=here[-1] if here else build.colours.get(card.id))


def take(build: Build, card: Card, tables: Tables) -> tuple[Build, str]:
    """Take a card that was just made or changed: into the layers that are of it, else as one more layer."""
    of_it = [r for r in build.rows if r.card.id == card.id]
    if not of_it:
        return pick(build, card, tables)
    return replace(build, rows=tuple(_with_card(r, card) for r in build.rows)), of_it[-1].key


def _with_card(row: Row, card: Card) -> Row:
    """A job has one copy of a card: what is picked last counts for all layers of it that have no paint on."""
    return replace(row, card=card) if row.card.id == card.id and not row.kept else row


def move(build: Build, key: str, by: int) -> Build:
    """Move a layer so many places later in the order they go on; what has paint on stays in its place."""
    rows = list(build.rows)
    at = next((i for i, r in enumerate(rows) if r.key == key), -1)
    there = at + by
    if at < 0 or not 0 <= there < len(rows) or rows[at].kept or rows[there].kept:
        return build
    rows[at], rows[there] = rows[there], rows[at]
    return replace(build, rows=tuple(rows), by_hand=True)


def take_out(build: Build, key: str) -> Build:
    """Take a layer out of the stack; one with paint on stays."""
    return replace(build, rows=tuple(r for r in build.rows if r.key != key or r.kept))


def coats(build: Build, key: str, by: int) -> Build:
    """Plan more or fewer coats of a layer: one at least, and no fewer than are on."""
    rows = []
    for row in build.rows:
        least = max(1, len(row.was.coats) if row.was is not None else 1)
        count = min(max(row.plan.coats + by, least), MOST_COATS)
        changed = msgspec.structs.replace(row.plan, coats=count)
        rows.append(replace(row, plan=changed) if row.key == key else row)
    return replace(build, rows=tuple(rows))


def colour(build: Build, key: str, colour: str | None) -> Build:
    """Give a layer a colour (`#rrggbb`), or none."""
    rows = (replace(r, plan=msgspec.structs.replace(r.plan, colour=colour)) if r.key == key else r for r in build.rows)
    return replace(build, rows=tuple(rows))


def in_order(build: Build, tables: Tables) -> Build:
    """Put all that have no paint on in the order offered, those too that the job has already."""
    return replace(_arranged(build, tables, build.open), by_hand=False)


def _arranged(build: Build, tables: Tables, moving: Sequence[Row]) -> Build:
    """Put these rows in the order offered, after the others."""
    keys = {r.key for r in moving}
    staying = [r for r in build.rows if r.key not in keys]
    order, _ = best_order([r.card for r in moving], build.piece, tables.pairings, [r.card for r in staying])
    left, sorted_rows = list(moving), []
    for card in order:
        row = next(r for r in left if r.card == card)
        left.remove(row)
        sorted_rows.append(row)
    return replace(build, rows=(*staying, *sorted_rows))


# --- the job -----------------------------------------------------------------------------------------


def drafts(session: Session, build: Build) -> tuple[Draft, ...]:
    """Write the stack as one act: cards copied, layers taken out, changed and added. Empty where nothing is different.

    A layer of the job is moved by taking it out and adding it anew; of those, as few as can be.

    Raises:
        NotNow: no job is open, it is read-only, or the piece is gone.
        Wrong: the shares of a card make no mix.
    """
    document = session.writable()
    piece = document.state.pieces.get(build.piece.id)
    if piece is None:
        raise NotNow(say("This piece is gone from the job."))
    for row in build.new:
        unmixed = next(unmixable(row.card), None)
        if unmixed is not None:
            said = say("The shares of {card} make no mix, so edit it first.", card=row.card.name)
            raise Wrong([("card", f"{said} {unmixed[1]}")])
    there = [x.id for x in piece.layers]
    staying = _longest_rise([(there.index(r.key), r.key) for r in build.rows if r.key in there])
    made: list[Draft] = []
    copied: dict[str, Card] = {}
    for row in build.rows:
        if document.state.cards.get(row.card.id) != row.card and not row.kept and copied.get(row.card.id) != row.card:
            copied[row.card.id] = row.card
            made.append(copy_card(row.card))
    built = {r.key for r in build.rows}
    known = {x.id for x in piece.layers if document.state.card_of(x) is not None}
    made += [partial(ev.LayerRemoved, layer=i) for i in there if i in known and (i not in built or i not in staying)]
    free = _free_ids(document.job)
    for i, row in enumerate(build.rows):
        if row.key in staying:
            if row.was is not None and row.plan != row.was.plan:
                made.append(partial(ev.LayerChanged, layer=row.plan))
            continue
        before = next((r.key for r in build.rows[i:] if r.key in staying), None)
        layer = msgspec.structs.replace(row.plan, id=next(free))
        made.append(partial(ev.LayerAdded, piece=piece.id, layer=layer, before=before))
    return tuple(made)


def done_words(build: Build, done: bool) -> str:
    """Say what was done when a stack was put on its piece."""
    if not done:
        return say("Nothing was changed.")
    count = len(build.new)
    if not count:
        return say("The stack of {piece} is changed. One undo takes it back.", piece=build.piece.name)
    return say_n(
        "{n} layer put on {piece}. One undo takes it back.",
        "{n} layers put on {piece}. One undo takes them all back.",
        count,
        piece=build.piece.name,
    )


def _longest_rise(places: Sequence[tuple[int, str]]) -> frozenset[str]:
    """Give the keys of the most that stand in their old order already: these need not be moved."""
    best: list[list[tuple[int, str]]] = []
    for place in places:
        runs = [run for run in best if run[-1][0] < place[0]]
        best.append([*max(runs, key=len, default=[]), place])
    return frozenset(key for _, key in max(best, key=len, default=[]))


def _free_ids(job: Job) -> Iterator[str]:
    used = {e.layer.id for e in job.events if isinstance(e, ev.LayerAdded)}
    return (name for number in range(1, len(used) + 1_000) if (name := f"l{number}") not in used)
