"""What speaks against a stack as it would be, how thick it gets, and what of the library would help it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial

import msgspec

from benchtool.job import events as ev
from benchtool.job.cards import Card, Chemistry, Duty, Gun
from benchtool.job.record import FORMAT, SCHEMA, Job, next_number, with_events
from benchtool.job.state import LayerState, PieceState, State, fold
from benchtool.plan import stacking
from benchtool.plan.stackcost import best_order, trouble_of
from benchtool.plan.stacking import Coated, Film, Kind, Missing, Note
from benchtool.rules.engine import Review, every, grouped, rule_of
from benchtool.rules.finding import RANK, Finding, Severity, Tables
from benchtool.session.planning import OF_A_STACK, copy_card
from benchtool.session.session import Draft, Session
from benchtool.session.stackbuilding import Build, Row, drafts, filled
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say, say_n
from benchtool.trade.substrates import Flex, Substrate

ALSO = frozenset({
    "surface.zinc-under-enamel", "surface.old-paint-softens", "surface.nothing-holds", "surface.plasticiser",
    "surface.crazes-shell", "surface.solvent-attacks", "surface.etch-off-metal", "surface.unsealed",
    "surface.not-clear", "surface.no-primer", "mixing.no-activator",
})  # fmt: skip
"""What the rules say of the stack itself; how the piece is cleaned and abraded is told at its own time."""

MATERIAL = frozenset({
    "surface.old-paint-unknown", "surface.guessed", "surface.flex-disagrees", "surface.mark-disagrees",
    "surface.galvanic",
})  # fmt: skip
"""What the rules say of the material, whatever is put on it: told below what they say of the stack."""

MOST_OFFERED = 2
"""So many products of the library are offered for what is missing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """Something that speaks against a stack: how grave, what, what to do, why, whence. `layer` is its id or row key.

    What is `of_material` speaks of the piece, whatever is put on it.
    """

    severity: Severity
    words: str
    remedy: str
    why: str
    source: str
    layer: str | None = None
    of_material: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What speaks against the stack of a piece, the worst first, then against its material; and what would help.

    With what is `missing` stands the layer that goes over it.
    """

    said: tuple[Said, ...]
    missing: tuple[tuple[Missing, str], ...] = ()

    @property
    def grave(self) -> bool:
        """Whether anything in it is a stop."""
        return any(x.severity is Severity.STOP for x in self.said)


def judge(
    job: Job,
    state: State,
    piece: PieceState,
    tables: Tables,
    now: datetime,
    standing: Collection[str] = (),
    silent: Collection[str] = (),
) -> Judged:
    """Ask the rules, and the order itself, what speaks against the stack of a piece as it is planned in a job.

    What stands (by the key of the finding) and is not of a layer that is still to come is left out, but not what is
    said of the material, and by the painter's own rules. Nothing is told by the `silent` rules.
    """
    first = 1 + max((i for i, x in enumerate(piece.layers) if x.started), default=-1)
    ahead = [x for x in piece.layers[first:] if state.card_of(x) is not None]
    ids = [x.id for x in ahead]
    told = [f for f in Review(job, state, tables).raw(now) if _of_stack(f, piece.id) and f.rule not in silent]
    told = [f for f in told if f.layer in ids or f.key not in standing or _lasts(f)]
    order = [card for x in ahead if (card := state.card_of(x)) is not None]
    on = [card for x in piece.layers[:first] if x.started and (card := state.card_of(x)) is not None]
    notes = [n for n in stacking.notes(order, piece.piece, tables.pairings, on) if n.rule not in silent]
    said = [_from_rule(f) for f in grouped(told)]
    said += [_from_note(n, ids) for n in notes if not _repeats(n, ids, told)]
    substrate = tables.substrate_of(piece.piece)
    missing = stacking.missing(order, substrate, tables.pairings, on)
    return Judged(
        said=tuple(sorted(said, key=lambda x: (x.of_material, RANK[x.severity]))),
        missing=tuple((m, ids[m.place]) for m in missing),
    )


def _of_stack(finding: Finding, piece: str) -> bool:
    about = finding.rule in ALSO or finding.rule in MATERIAL or finding.rule.partition(".")[0] in OF_A_STACK
    return about and finding.piece == piece and not finding.waived


def _lasts(finding: Finding) -> bool:
    return finding.rule in MATERIAL or finding.rule.startswith("shop.")


def _repeats(note: Note, ids: Sequence[str], told: Iterable[Finding]) -> bool:
    """Say whether a rule says the same as this note already."""
    layer = ids[note.place] if note.place is not None else None
    return (
        bool(note.rule)
        and note.kind is not Kind.CIRCLE
        and any(f.rule.startswith(note.rule) and layer in (None, f.layer) for f in told)
    )


def _from_rule(finding: Finding) -> Said:
    rule = rule_of(finding)
    return Said(
        severity=finding.severity,
        words=finding.message,
        remedy=finding.remedy,
        why=say(rule.reason),
        source=say(rule.source),
        layer=None if finding.rule in MATERIAL else finding.layer,
        of_material=finding.rule in MATERIAL,
    )


def _from_note(note: Note, ids: Sequence[str]) -> Said:
    mild = note.kind in (Kind.LOOK, Kind.ORDER)
    return Said(
        severity=Severity.STOP if note.grave else Severity.NOTE if mild else Severity.CAUTION,
        words=note.words,
        remedy="",
        why=note.why,
        source=note.source,
        layer=ids[note.place] if note.place is not None else None,
    )


# --- a stack of no job ---


def trial_job(
    cards: Sequence[Card], substrate: Substrate, tables: Tables, now: datetime, *, flexible: bool, behind_clear: bool
) -> tuple[Job, State, PieceState]:
    """Make a job, in memory only, of a piece of this material with these cards on it in the order offered."""
    piece = ev.Piece(
        id="p1",
        name=say("The piece"),
        substrate=substrate.id,
        known=ev.Known.TOLD if substrate.known else ev.Known.UNKNOWN,
        flex=Flex.FLEXIBLE if flexible else Flex.RIGID,
        face=ev.Face.BEHIND_CLEAR if behind_clear else ev.Face.OUTSIDE,
    )
    order, _ = best_order(cards, piece, tables.pairings)
    acts: list[Draft] = [
        partial(ev.PieceAdded, piece=piece),
        *(copy_card(c) for c in {c.id: c for c in order}.values()),
    ]
    for i, card in enumerate(order, 1):
        layer = msgspec.structs.replace(filled(card, piece, Gun.AIRBRUSH), id=f"l{i}")
        acts.append(partial(ev.LayerAdded, piece=piece.id, layer=layer))
    job = Job(format=FORMAT, schema=SCHEMA, id="trial", created=now)
    job = with_events(job, *(act(id=f"e{i}", at=now) for i, act in enumerate(acts, 1)))
    state = fold(job)
    return job, state, state.pieces[piece.id]


# --- the stack as it would be ------------------------------------------------------------------------


def against(session: Session, build: Build) -> Judged:
    """Say what would speak against a stack if it were put on its piece now; nothing is changed.

    Raises:
        NotNow: no job is open, or the piece is gone.
        Wrong: the shares of a card make no mix.
    """
    document, now = session.writable(), session.now()
    newest = document.state.newest
    at = max(now, newest[1].at) if newest is not None else now
    acts = drafts(session, build)
    first = next_number(document.job)
    job = with_events(document.job, *(d(id=f"e{first + i}", at=at) for i, d in enumerate(acts)))
    state = fold(job) if acts else document.state
    piece = state.pieces[build.piece.id]
    standing = {f.key for f in every(document.findings(now, session.tables))}
    judged = judge(job, state, piece, session.tables, now, standing)
    ids = (x.id for x in piece.layers if state.card_of(x) is not None)
    keys = dict(zip(ids, (r.key for r in build.rows), strict=True))
    return Judged(
        said=tuple(_keyed(x, keys) for x in judged.said),
        missing=tuple((m, keys.get(layer, layer)) for m, layer in judged.missing),
    )


def _keyed(said: Said, keys: Mapping[str, str]) -> Said:
    return replace(said, layer=keys.get(said.layer or "", said.layer))


def order_words(build: Build, tables: Tables) -> str:
    """Say which order is offered, where it has less against it than the one that stands; else nothing."""
    ahead = [r.card for r in build.open]
    on = [r.card for r in build.rows if r.kept]
    best, _ = best_order(ahead, build.piece, tables.pairings, on)
    now, then = (trouble_of(order, build.piece, tables.pairings, on).lasting for order in (ahead, best))
    if then >= now:
        return ""
    return say("Offered, in the order they go on: {cards}.", cards=", ".join(card.name for card in best))


# --- film --------------------------------------------------------------------------------------------


def film_of(rows: Sequence[Row]) -> Film:
    """Give the dry film of a stack (um), as measured, else by the cards."""
    return stacking.film([_coated(r.card, r.plan.coats, r.was) for r in rows])


def film_in(layers: Iterable[tuple[Card, LayerState]]) -> Film:
    """Give the dry film of layers of a job (um), as measured, else by the cards."""
    return stacking.film([_coated(card, layer.plan.coats, layer) for card, layer in layers])


def _coated(card: Card, coats: int, was: LayerState | None) -> Coated:
    film = was.film if was is not None else None
    return Coated(card=card, coats=coats, measured_um=film.um if film is not None else None)


def range_words(film: tuple[float, float]) -> str:
    """Write a film from least to most: `50 µm`, `40 to 60 µm`, `80 µm at most`."""
    low, high = film
    if low >= high:
        return say("{um} µm", um=figure(high))
    if low <= 0:
        return say("{um} µm at most", um=figure(high))
    return say("{low} to {high} µm", low=figure(low), high=figure(high))


def total_words(rows: Sequence[Row]) -> str:
    """Say how thick a stack gets, and of what that is not known; the rules say whether it is too much."""
    if not rows:
        return ""
    film = film_of(rows)
    unknown = list(dict.fromkeys(r.card.name for r, um in zip(rows, film.layers, strict=True) if um is None))
    if len(unknown) == len({r.card.name for r in rows}):
        said = say("How thick it gets is not known: none of these cards gives its film.")
    elif unknown:
        said = say(
            "{film} of dry film, and more: {cards} gives none.",
            film=range_words(film.total_um), cards=", ".join(unknown),
        )  # fmt: skip
    else:
        said = say("{film} of dry film in all.", film=range_words(film.total_um))
    return said


def row_words(row: Row) -> str:
    """Say in a line what a layer is: its coats, its film, and what is mixed in."""
    on = len(row.was.coats) if row.was is not None else 0
    coats = row.plan.coats
    words = [say_n("{n} coat", "{n} coats", coats) if not on else say("{on} of {n} coats on", on=on, n=coats)]
    film = film_of([row]).layers[0]
    words.append(range_words(film) if film is not None else say("film not known"))
    activator = row.card.activator(row.plan.activator)
    if activator is not None:
        words.append(activator.name)
    elif row.card.activators:
        words.append(say("no activator that suits"))
    words += [say("with {additive}", additive=a.name) for a in row.card.additives if a.id in row.plan.additives]
    return ", ".join(words)


# --- what would help ---------------------------------------------------------------------------------


def what_helps(build: Build, missing: Missing, under: str, cards: Iterable[Card], tables: Tables) -> tuple[Card, ...]:
    """Pick of these cards the few that would help where something is missing, the likeliest first.

    A promoter for what refuses paint is one of polyolefin before others; a sealer must leave less against the stack.
    """
    if missing.ids:
        return tuple(c for c in cards if c.id in missing.ids)[:MOST_OFFERED]
    of_duty = [c for c in cards if c.duty is missing.duty]
    fit = [c for c in of_duty if not c.activators or any(a.suits.suits(build.piece.flex) for a in c.activators)]
    if missing.duty is Duty.PROMOTER:
        return tuple(sorted(fit, key=lambda c: c.chemistry is not Chemistry.POLYOLEFIN))[:MOST_OFFERED]
    ahead = [r.card for r in build.open]
    on = [r.card for r in build.rows if r.kept]
    at = next((i for i, r in enumerate(build.open) if r.key == under), len(ahead))
    before = trouble_of(ahead, build.piece, tables.pairings, on)
    with_it = {c.id: trouble_of([*ahead[:at], c, *ahead[at:]], build.piece, tables.pairings, on) for c in fit}
    lesser = [c for c in fit if with_it[c.id] < before]
    return tuple(sorted(lesser, key=lambda c: with_it[c.id]))[:MOST_OFFERED]
