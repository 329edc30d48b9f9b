"""What of a job is looked for and shown: one entry for each piece, worked out from the job and its state.

A job without a piece has one entry all the same. Test strips are pieces, and say that they are strips.
"""

import time
from collections.abc import Iterator
from datetime import UTC, datetime
from enum import StrEnum
from zlib import crc32

import msgspec
from msgspec import Struct

from benchtool.job import events as ev
from benchtool.job.cup import Mix
from benchtool.job.record import Job, withdrawn_ids
from benchtool.job.stack import LayerState, PieceState
from benchtool.job.state import State
from benchtool.rules.finding import Tables
from benchtool.session.jobwords import indexed, lot_key
from benchtool.store.jobindex import COLUMNS, Entry
from benchtool.trade.saying import say

MADE = 2
"""Of what is put into an entry: counted up whenever it changes, so that an older index is made anew."""

_FIRST_DAY = datetime(1, 1, 3, tzinfo=UTC)
_LAST_DAY = datetime(9999, 12, 29, tzinfo=UTC)


class Use(StrEnum):
    """What a lot has to do with a piece, the gravest first."""

    ON = "on it"
    PERHAPS = "perhaps on it"
    CUP_ONLY = "in its cup only"


class Shown(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What is shown of a piece; `facts` are what is looked for and not shown at once: (field, text)."""

    job: str
    customer: str = ""
    piece: str = ""
    name: str = ""
    material: str = ""
    layers: tuple[tuple[str, int], ...] = ()
    painted: bool = False
    strip: bool = False
    demo: bool = False
    at: datetime
    facts: tuple[tuple[str, str], ...] = ()


class LotShown(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What is shown of a lot on a piece: the number on the can, of which part and product, and what it did."""

    number: str
    part: str
    product: str
    use: Use
    layers: tuple[str, ...] = ()


class CupShown(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A cup into which a part was poured that no can is logged for: whose lot nobody can tell."""

    mix: str
    part: str
    product: str


def made_by(tables: Tables) -> str:
    """Name what the entries are made with: where any of it differs, they are to be made anew."""
    named = "".join(f"{s.id}\n{s.name}\n{' '.join(s.symbols)}\n" for s in tables.substrates.values())
    said = say("{thing} (behind clear)", thing="")  # in which language they are said
    return f"{MADE} {crc32((named + said).encode())} {' '.join(time.tzname)}"


def entries_of(job: Job, state: State, tables: Tables) -> Iterator[Entry]:
    """Give the entry of each piece of a job, or one for the job where it has none."""
    whole = _Whole(job, state, tables)
    for piece in state.pieces.values():
        yield _of_piece(whole, piece)
    if not state.pieces:
        facts = tuple(whole.of_all())
        shown = Shown(job=state.title, customer=state.customer, demo=job.demo, at=job.created, facts=facts)
        yield _entry(shown, whole.looked_for, {job.created}, ())


class _Whole:
    """What all pieces of a job have in common."""

    def __init__(self, job: Job, state: State, tables: Tables) -> None:
        self.job, self.state, self.tables = job, state, tables
        self.gone = withdrawn_ids(job.events)
        self.looked_for: tuple[tuple[str, str], ...] = (("customer", state.customer), ("job", state.title))
        self.was_on = {
            e.layer.id: e.piece for e in job.events if isinstance(e, ev.LayerAdded) and e.id not in self.gone
        }
        self.waivers = [(w, self._about(w)) for w in state.waivers]
        self.of_piece: dict[str, list[ev.Event]] = {}
        for event in job.events:
            if isinstance(event, ev.PrepDone | ev.PhotoAdded) and event.id not in self.gone:
                self.of_piece.setdefault(event.piece, []).append(event)

    def of_all(self) -> Iterator[tuple[str, str]]:
        """Give what is said of the whole job."""
        if self.state.note:
            yield "note", self.state.note
        for event in self.job.events:
            if isinstance(event, ev.TakenFrom) and event.id not in self.gone:
                yield "job", say("{how} of {job}", how=event.how.value, job=event.title)
        for waiver, about in self.waivers:
            if not about:
                yield "finding", _waived(waiver)

    def _about(self, waiver: ev.WaiverSigned) -> frozenset[str]:
        """Say which pieces a waiver is about, by the ids in the name of its finding; none for the whole job."""
        found = set()
        for place in waiver.key.split("|")[1:]:
            if place in self.state.pieces:
                found.add(place)
            elif place in self.state.layers:
                found.add(self.state.layers[place].piece)
            elif place in self.was_on and self.was_on[place] in self.state.pieces:
                found.add(self.was_on[place])
            elif place in self.state.mixes:
                found.update(self._of_mix(self.state.mixes[place]))
        return frozenset(found)

    def _of_mix(self, mix: Mix) -> Iterator[str]:
        for layer in self.state.layers.values():
            if mix.id in layer.mixes:
                yield layer.piece


def _of_piece(whole: _Whole, piece: PieceState) -> Entry:
    state, plain = whole.state, piece.piece
    uses = tuple(_lots(whole, piece))
    painted = tuple((state.layer_name(x), len(x.coats)) for x in piece.layers if x.started)
    planned = tuple((state.layer_name(x), x.plan.coats) for x in piece.layers)
    moments = set(_moments(whole, piece))
    material = _material(whole, plain)
    facts = tuple(dict.fromkeys((*_facts(whole, piece, uses), *whole.of_all())))
    shown = Shown(
        job=state.title,
        customer=state.customer,
        piece=piece.id,
        name=plain.name,
        material=material,
        layers=painted or planned,
        painted=bool(painted),
        strip=state.is_strip(piece),
        demo=whole.job.demo,
        at=max(moments),
        facts=tuple(f for f in facts if f[1]),
    )
    seen = (
        *whole.looked_for,
        ("piece", plain.name),
        ("material", material),
        *(("product", name) for name, _ in planned),
    )
    return _entry(shown, seen, moments, uses)._replace(cups=tuple(_of_no_can(whole, piece)))


def _entry(
    shown: Shown, seen: tuple[tuple[str, str], ...], moments: set[datetime], uses: tuple[LotShown, ...]
) -> Entry:
    texts: dict[str, list[str]] = {column: [] for column in COLUMNS}
    for field, text in (*seen, *shown.facts):
        texts[field].append(text)
    return Entry(
        words=tuple(indexed("\n".join(texts[column])) for column in COLUMNS),
        body=msgspec.json.encode(shown),
        at=int(shown.at.timestamp()),
        days=tuple({_day(moment) for moment in moments}),
        lots=tuple((lot_key(use.number), msgspec.json.encode(use)) for use in uses),
    )


def _day(at: datetime) -> int:
    """Give the day of the painter's own calendar."""
    here = at.astimezone() if _FIRST_DAY < at < _LAST_DAY else at  # beyond them there is no other zone
    return here.year * 10_000 + here.month * 100 + here.day


def _moments(whole: _Whole, piece: PieceState) -> Iterator[datetime]:
    """Give when something was done to a piece; when the job began where nothing was."""
    done = [step.at for step in piece.steps] + [trial.at for trial in piece.trials]
    for layer in piece.layers:
        for coat in layer.coats:
            done += [coat.started_at] if coat.done_at is None else [coat.started_at, coat.done_at]
    trial = whole.state.trial_of(piece.id) if piece.piece.strip_of is not None else None
    if trial is not None:
        done += [g.given.at for g in trial.grades if g.given.strip == piece.id]
    yield from done or [whole.job.created]


def _material(whole: _Whole, piece: ev.Piece) -> str:
    found = whole.tables.substrates.get(piece.substrate)
    name = found.name if found is not None else piece.substrate
    return say("{thing} (behind clear)", thing=name) if piece.face is ev.Face.BEHIND_CLEAR else name


# --- what is looked for and not shown at once ------------------------------------------------------------


def _facts(whole: _Whole, piece: PieceState, uses: tuple[LotShown, ...]) -> Iterator[tuple[str, str]]:
    plain = piece.piece
    found = whole.tables.substrates.get(plain.substrate)
    yield "material", " ".join((plain.substrate, *(found.symbols if found is not None else ())))
    yield from (("material", text) for text in (plain.mark, plain.batch))
    for joined in plain.joined:
        other = whole.tables.substrates.get(joined)
        yield "material", other.name if other is not None else joined
    for layer in piece.layers:
        yield from _of_layer(whole, layer)
    for use in uses:
        yield "lot", _lot_words(use)
    yield from _found(whole, piece)


def _of_layer(whole: _Whole, layer: LayerState) -> Iterator[tuple[str, str]]:
    plan = layer.plan
    cards = [whole.state.card_of(layer), *(coat.card for coat in layer.coats)]
    for card in dict.fromkeys(c.id for c in cards if c is not None):
        yield from (("product", f"{c.name} {c.maker}".strip()) for c in cards if c is not None and c.id == card)
    newest = cards[0]
    if newest is not None:
        used = [a.name for a in newest.activators if a.id == plan.activator]
        used += [a.name for a in newest.additives if a.id in plan.additives]
        yield from (("product", name) for name in used)
    for text in (plan.note, plan.colour or ""):
        yield "colour", text


def _found(whole: _Whole, piece: PieceState) -> Iterator[tuple[str, str]]:
    for waiver, about in whole.waivers:
        if piece.id in about:
            yield "finding", _waived(waiver)
    for trial in piece.trials:
        if not trial.held:
            yield "finding", say("the test strip failed {note}", note=trial.note).strip()
        elif trial.note:
            yield "note", trial.note
    for event in whole.of_piece.get(piece.id, ()):
        if isinstance(event, ev.PhotoAdded):
            yield "note", " ".join(x for x in (event.note, event.picture.called) if x)
        elif isinstance(event, ev.PrepDone):
            yield "note", event.note
    strip_of = whole.state.trials.get(piece.piece.strip_of or "")
    if strip_of is not None:
        yield "job", strip_of.plan.name
        for grade in strip_of.grades:
            given = grade.given
            if given.strip == piece.id:
                yield "finding", f"{given.method.value} {given.grade} {given.note}".strip()


def _waived(waiver: ev.WaiverSigned) -> str:
    return say("{message} Waived: {reason} ({rule})", message=waiver.message, reason=waiver.reason, rule=waiver.rule)


# --- lots -----------------------------------------------------------------------------------------------


def _lots(whole: _Whole, piece: PieceState) -> Iterator[LotShown]:
    """Give the lots that were poured into a cup of this piece, each once for a part of a product."""
    uses: dict[tuple[str, str, str], dict[Use, list[str]]] = {}
    for layer in piece.layers:
        named = {coat.mix for coat in layer.coats}
        unnamed = None in named
        for mix_id in dict.fromkeys((*layer.mixes, *(m for m in named if m is not None))):
            mix = whole.state.mixes.get(mix_id)
            if mix is not None:
                use = Use.ON if mix_id in named else Use.PERHAPS if unnamed else Use.CUP_ONLY
                _pour_in(whole.state, mix, use, whole.state.layer_name(layer), uses)
    for mix in whole.state.mixes.values():  # a cup of a layer that was taken out again
        if mix.made.layer not in whole.state.layers and whole.was_on.get(mix.made.layer) == piece.id:
            _pour_in(whole.state, mix, Use.CUP_ONLY, "", uses)
    for (number, part, product), by_use in uses.items():
        gravest = next(use for use in Use if use in by_use)
        layers = tuple(dict.fromkeys(name for name in by_use[gravest] if name))
        yield LotShown(number=number, part=part, product=product, use=gravest, layers=layers)


def _of_no_can(whole: _Whole, piece: PieceState) -> Iterator[bytes]:
    """Give the cups of this piece whose can is not logged, each once for a part; a demo has none."""
    if whole.job.demo:
        return
    named = [m for layer in piece.layers for m in (*layer.mixes, *(coat.mix for coat in layer.coats)) if m is not None]
    for mix in (whole.state.mixes[m] for m in dict.fromkeys(named) if m in whole.state.mixes):
        product = mix.card.name if mix.card is not None else mix.made.card
        for part in dict.fromkeys(p.part for p in mix.pours if p.lot is None and p.mL > 0):
            yield msgspec.json.encode(CupShown(mix=mix.id, part=part, product=product))


def _pour_in(
    state: State, mix: Mix, use: Use, layer: str, uses: dict[tuple[str, str, str], dict[Use, list[str]]]
) -> None:
    for pour in mix.pours:
        lot = state.lots.get(pour.lot) if pour.lot is not None else None
        if lot is None:
            continue
        card = mix.card if mix.card is not None else state.cards.get(lot.card)
        named = (lot.number or lot.id, lot.part, card.name if card is not None else lot.card)
        uses.setdefault(named, {}).setdefault(use, []).append(layer)


def _lot_words(use: LotShown) -> str:
    return say("{number}, {part} of {product}", number=use.number, part=use.part, product=use.product)
