"""What a touch-up job takes over of the record of an earlier one: all that was done to the chosen pieces.

What stands of them is written anew at the times it really happened, so that windows, cure and rules find the same
paint on the piece. What was taken back, and what was done to other pieces, stays behind.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeAlias

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.record import Job, standing

Ref: TypeAlias = tuple[str, str]
"""What an event speaks of: its kind (`card`, `piece`, `layer`, `mix`, `lot`) and its id."""
Told: TypeAlias = tuple[tuple[int, ev.Event], ...]

_BY_PLACE = frozenset({"cleaning.viewed-side-scratched", "tape.left-on", "tape.heat", "timing.tape"})
"""Rules whose findings name a prep step by its place in the record: in another record it has another place."""

_OF_PIECE = ev.LayerAdded | ev.PrepDone | ev.TrialRecorded | ev.HeatStarted | ev.HeatEnded
_OF_LAYER = ev.LayerRemoved | ev.CoatStarted | ev.CoatDone | ev.FilmMeasured
_OF_CUP = ev.Mixed | ev.Poured | ev.MixStirred | ev.CupEmptied


@dataclass(frozen=True)
class _Chosen:
    """The ids of all that belongs to the chosen pieces: layers that were taken out again too, cups shared with them."""

    pieces: frozenset[str]
    layers: frozenset[str]
    mixes: frozenset[str]
    cards: frozenset[str]
    lots: frozenset[str]

    def has(self, event: ev.Event) -> bool:
        """Say whether an event is about any of them; the air is everybody's, and a waiver is asked by its key."""
        match event:
            case ev.ReadingTaken() | ev.CourseExpected():
                return True
            case ev.CardCopied(card=card):
                return card.id in self.cards
            case ev.LotTaken(lot=lot):
                return lot.id in self.lots or lot.card in self.cards
            case ev.PieceAdded(piece=piece) | ev.PieceChanged(piece=piece):
                return piece.id in self.pieces
            case ev.LayerChanged(layer=layer):
                return layer.id in self.layers
            case ev.CupShared(mix=mix, layer=shared):
                return mix in self.mixes and shared in self.layers
            case _:
                pass
        if isinstance(event, _OF_PIECE):
            return event.piece in self.pieces
        if isinstance(event, _OF_LAYER):
            return event.layer in self.layers
        return isinstance(event, _OF_CUP) and event.mix in self.mixes

    @property
    def ids(self) -> frozenset[str]:
        """All of them."""
        return self.pieces | self.layers | self.mixes | self.cards | self.lots


def taken_over(job: Job, pieces: Iterable[str], first: int, head: str) -> tuple[ev.Event, ...]:
    """Give the record of these pieces (ids) as events of another job, along with its event `head`.

    Their ids are `e` and a number from `first` on, their times those at which they really happened. Photos stay beside
    the earlier job, and trials with it; the painter's word that a test strip held comes along.
    """
    told = standing(job.events)
    return _Copy(job, _chosen(told, frozenset(pieces)), told, first, head).run()


def _chosen(told: Told, pieces: frozenset[str]) -> _Chosen:
    added = [e for _, e in told if isinstance(e, ev.LayerAdded) and e.piece in pieces]
    layers = frozenset(e.layer.id for e in added)
    mixes: set[str] = set()
    cards = {e.layer.card for e in added}
    for _, e in told:
        if isinstance(e, ev.LayerChanged) and e.layer.id in layers:
            cards.add(e.layer.card)
        elif isinstance(e, ev.Mixed | ev.CupShared | ev.CoatStarted) and e.layer in layers and e.mix is not None:
            mixes.add(e.mix)
    cards.update(e.card for _, e in told if isinstance(e, ev.Mixed) and e.mix in mixes)
    poured = {e.id: e.lot for _, e in told if isinstance(e, ev.Poured) and e.mix in mixes}
    lots = {lot for lot in poured.values() if lot is not None}
    lots.update(e.lot.id for _, e in told if isinstance(e, ev.LotTaken) and poured.keys() & set(e.pours))
    return _Chosen(pieces, layers, frozenset(mixes), frozenset(cards), frozenset(lots))


@dataclass
class _Copy:
    """Writes the events one after another, each with what it speaks of before it."""

    job: Job
    chosen: _Chosen
    told: Told
    first: int
    head: str
    made: list[ev.Event] = field(default_factory=list)
    known: set[Ref] = field(default_factory=set)
    places: dict[int, int] = field(default_factory=dict)
    ids: dict[str, str] = field(default_factory=dict)

    def run(self) -> tuple[ev.Event, ...]:
        for place, event in self.told:
            if isinstance(event, ev.WaiverSigned):
                if self._is_about(event.key):
                    self._write(replace(event, key=self._same_matter(event)), place)
            elif self.chosen.has(event):
                own = self._of_a_chosen_layer(event)
                for ref in _speaks_of(own):
                    self._bring(ref, place)
                self._write(own, place)
        return tuple(self.made)

    def _write(self, event: ev.Event, place: int | None = None, *, apart: bool = False) -> str:
        fresh = f"e{self.first + len(self.made)}"
        if place is not None:
            # What comes before it in the new record is what the job begins with: its numbers count from 1.
            self.places[place] = self.first + len(self.made) - 1
            self.ids[event.id] = fresh
        if isinstance(event, ev.LotTaken):
            event = replace(event, pours=tuple(self.ids[p] for p in event.pours if p in self.ids))
        self.made.append(replace(event, id=fresh, along_with=None if apart else self.head))
        self.known.update(_brings(event))
        return fresh

    def _bring(self, ref: Ref, before: int) -> None:
        """Write what is spoken of and is no part of these pieces, and take it back at once: no reference hangs loose.

        Such is the layer of another piece for which a shared cup was begun, or a card whose copying was undone.
        """
        if ref in self.known:
            return
        maker = next((e for e in self.job.events[:before] if ref in _brings(e)), None)
        if maker is None:
            return  # a record that is sound speaks of nothing that it does not hold
        for other in _speaks_of(maker):
            self._bring(other, before)
        gone = self._write(maker, apart=True)
        self._write(ev.Withdrawn(id="", at=maker.at, events=(gone,)), apart=True)

    def _of_a_chosen_layer(self, event: ev.Event) -> ev.Event:
        """Give a cup that was begun for another piece to the first known layer here that is sprayed from it."""
        if not isinstance(event, ev.Mixed) or event.layer in self.chosen.layers:
            return event
        sharing = self._sharing.get(event.mix, ())
        layer = next((x for x in sharing if ("layer", x) in self.known), None)
        return event if layer is None else replace(event, layer=layer)

    @cached_property
    def _sharing(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for _, e in self.told:
            if isinstance(e, ev.CupShared) and e.layer in self.chosen.layers:
                found.setdefault(e.mix, []).append(e.layer)
        return found

    # --- waivers -----------------------------------------------------------------------------------

    def _is_about(self, key: str) -> bool:
        """Say whether a finding is about what comes over; one that names nothing of any piece is about all of them."""
        named = set(key.split("|")[1:])
        return bool(named & self.chosen.ids) or not named & self._others

    @cached_property
    def _others(self) -> frozenset[str]:
        """The ids of what belongs to other pieces alone."""
        return frozenset(ref[1] for _, e in self.told for ref in _brings(e)) - self.chosen.ids

    def _same_matter(self, waiver: ev.WaiverSigned) -> str:
        """Name the matter as it is named in the new record: events and places have other numbers there."""
        rule, *named = waiver.key.split("|")
        if rule in _BY_PLACE and named and named[-1].isdecimal():
            place = self.places.get(int(named[-1]))
            named[-1] = str(place) if place is not None else named[-1]
        elif rule in ("record.clock-behind", "air.odd-reading"):
            named = [self.ids.get(x, x) for x in named]
        return "|".join([rule, *named])


def _brings(event: ev.Event) -> Iterator[Ref]:
    """Give what is in the job from this event on."""
    match event:
        case ev.CardCopied(card=card):
            yield "card", card.id
        case ev.PieceAdded(piece=piece):
            yield "piece", piece.id
        case ev.LayerAdded(layer=layer):
            yield "layer", layer.id
        case ev.Mixed(mix=mix):
            yield "mix", mix
        case ev.LotTaken(lot=lot):
            yield "lot", lot.id
        case _:
            return


def _speaks_of(event: ev.Event) -> Iterator[Ref]:
    """Give what must be in the job before this event, as `job.references` asks for it."""
    match event:
        case ev.LayerAdded(piece=piece, layer=layer):
            yield from (("piece", piece), ("card", layer.card))
        case ev.LayerChanged(layer=layer):
            yield from (("layer", layer.id), ("card", layer.card))
        case ev.PieceChanged(piece=changed):
            yield "piece", changed.id
        case ev.Mixed(layer=on, card=card):
            yield from (("layer", on), ("card", card))
        case ev.CupShared(mix=mix, layer=on):
            yield from (("mix", mix), ("layer", on))
        case ev.CoatStarted(layer=on, mix=cup):
            yield "layer", on
            if cup is not None:
                yield "mix", cup
        case ev.Poured(mix=mix, lot=can):
            yield "mix", mix
            if can is not None:
                yield "lot", can
        case ev.MixStirred(mix=mix) | ev.CupEmptied(mix=mix):
            yield "mix", mix
        case _:
            return
