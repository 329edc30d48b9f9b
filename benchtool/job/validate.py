"""What the shape of the file can't say: ids that are unique, references that hold, times that can be true."""

from collections.abc import Container, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from benchtool.job import events as ev
from benchtool.job.cards import Card, Gun, recipe
from benchtool.job.record import Job, standing
from benchtool.job.state import recipe_parts
from benchtool.trade.mixing import NotAShare, parse_share

EARLIEST, LATEST = datetime(1970, 1, 1, tzinfo=UTC), datetime(9000, 1, 1, tzinfo=UTC)
LONGEST = timedelta(days=36_600)
"""No shop's clock shows less or more, no card waits a century; and within these no sum of times can overflow."""


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a record, and the JSON path of the place."""

    path: str
    message: str

    def __str__(self) -> str:
        return f"{self.message} (at {self.path})"


def faults(job: Job) -> Iterator[Fault]:
    """Give the faults of a job that is of the right shape.

    An event that lies in the future is none: a clock that was once wrong must not lock the painter out of the
    job. The rule on a clock that runs behind its record tells of it.
    """
    yield from _duplicate_ids(job)
    yield from _card_faults(job)
    yield from _reference_faults(job)
    yield from _order_faults(job)
    if not EARLIEST <= job.created < LATEST:
        yield Fault("$.created", "there is no such time")
    for path, at in _instants(job):
        if not EARLIEST <= at < LATEST:
            yield Fault(path, "there is no such time")


def _instants(job: Job) -> Iterator[tuple[str, datetime]]:
    for i, event in enumerate(job.events):
        yield f"$.events[{i}].at", event.at
        if isinstance(event, ev.Corrected):
            yield f"$.events[{i}].really_at", event.really_at


def _duplicate_ids(job: Job) -> Iterator[Fault]:
    seen: dict[tuple[str, str], int] = {}
    for i, e in enumerate(job.events):
        keys = [("event", e.id, ".id")]
        match e:
            case ev.PieceAdded(piece=piece):
                keys.append(("piece", piece.id, ".piece.id"))
            case ev.LayerAdded(layer=layer):
                keys.append(("layer", layer.id, ".layer.id"))
            case ev.Mixed(mix=mix):
                keys.append(("mix", mix, ".mix"))
            case _:
                pass
        for kind, key, where in keys:
            if (kind, key) in seen:
                first = seen[kind, key]
                yield Fault(f"$.events[{i}]{where}", f"the {kind} id “{key}” is already that of event {first}")
            seen.setdefault((kind, key), i)


def _card_faults(job: Job) -> Iterator[Fault]:
    for i, e in enumerate(job.events):
        if isinstance(e, ev.CardCopied):
            for path, message in card_faults(e.card):
                yield Fault(f"$.events[{i}].card{path}", message)
        elif isinstance(e, ev.Mixed):
            try:
                recipe_parts(e.parts)
            except NotAShare as wrong:
                yield Fault(f"$.events[{i}].parts", str(wrong))


def card_faults(card: Card) -> Iterator[tuple[str, str]]:
    """Give the path and the message of each value on a card that can't be so."""
    for name in (
        "stand", "stand_reduced", "pot_life", "flash", "flash_most", "recoat_opens", "recoat_closes", "tape",
        "cure",
    ):  # fmt: skip
        value = getattr(card, name)
        if value is not None and value < timedelta(0):
            yield f".{name}", "a time can't be below zero"
        elif value is not None and value > LONGEST:
            yield f".{name}", "no card waits a century"
    for low, high in (("flash", "flash_most"), ("recoat_opens", "recoat_closes")):
        first, second = getattr(card, low), getattr(card, high)
        if first is not None and second is not None and second < first:
            yield f".{high}", f"it is shorter than {low}"
    if card.recoat_closes is not None and card.recoat_opens is None:
        yield ".recoat_closes", "it closes, and recoat_opens does not say when it opens"
    if card.coats_most < card.coats_least:
        yield ".coats_most", "it is less than coats_least"
    yield from _share_faults(card)


def _share_faults(card: Card) -> Iterator[tuple[str, str]]:
    shares = [(f".activators[{i}].share", a.share) for i, a in enumerate(card.activators)]
    for i, r in enumerate(card.reductions):
        shares += [(f".reductions[{i}].{k}", getattr(r, k)) for k in ("least", "usual", "most")]
    for path, text in shares:
        try:
            parse_share(text)
        except NotAShare as wrong:
            yield path, str(wrong)
            return
    for i, activator in enumerate(card.activators or (None,)):
        for gun in Gun:
            try:
                recipe_parts(recipe(card, activator, gun))
            except NotAShare as wrong:
                yield f".activators[{i}]" if activator is not None else ".reductions", f"for the {gun.value}: {wrong}"
                return


def _reference_faults(job: Job) -> Iterator[Fault]:
    cards: set[str] = set()
    pieces: set[str] = set()
    layers: set[str] = set()
    mixes: dict[str, set[str]] = {}
    ids: set[str] = set()
    for i, e in enumerate(job.events):
        wanted: list[tuple[str, str, Container[str], str]] = []
        match e:
            case ev.CardCopied(card=card):
                cards.add(card.id)
            case ev.PieceAdded(piece=piece):
                pieces.add(piece.id)
            case ev.LayerAdded(piece=pid, layer=layer):
                wanted = [("piece", pid, pieces, ".piece"), ("card", layer.card, cards, ".layer.card")]
                layers.add(layer.id)
            case ev.PieceChanged(piece=piece):
                wanted = [("piece", piece.id, pieces, ".piece.id")]
            case ev.LayerChanged(layer=layer):
                wanted = [
                    ("layer", layer.id, layers, ".layer.id"),
                    ("card", layer.card, cards, ".layer.card"),
                ]
            case ev.PrepDone(piece=pid) | ev.TrialRecorded(piece=pid):
                wanted = [("piece", pid, pieces, ".piece")]
            case ev.Mixed():
                wanted = [("layer", e.layer, layers, ".layer"), ("card", e.card, cards, ".card")]
                mixes[e.mix] = {p.name for p in e.parts}
            case ev.Poured():
                wanted = [("mix", e.mix, mixes, ".mix")]
                if e.mix in mixes:
                    wanted.append(("part", e.part, mixes[e.mix], ".part"))
            case ev.MixStirred() | ev.CupEmptied():
                wanted = [("mix", e.mix, mixes, ".mix")]
            case ev.CupShared():
                wanted = [("mix", e.mix, mixes, ".mix"), ("layer", e.layer, layers, ".layer")]
            case ev.CoatStarted() | ev.CoatDone() | ev.LayerRemoved():
                wanted = [("layer", e.layer, layers, ".layer")]
                if isinstance(e, ev.CoatStarted) and e.mix is not None:
                    wanted.append(("mix", e.mix, mixes, ".mix"))
            case ev.Corrected():
                wanted = [("event", e.event, ids, ".event")]
            case ev.Withdrawn():
                wanted = [("event", x, ids, f".events[{k}]") for k, x in enumerate(e.events)]
            case _:
                pass
        for kind, key, known, where in wanted:
            if key not in known:
                yield Fault(f"$.events[{i}]{where}", f"there is no {kind} “{key}” before this event")
        ids.add(e.id)


def _order_faults(job: Job) -> Iterator[Fault]:
    open_since: dict[str, datetime] = {}
    done_at: dict[str, datetime] = {}
    removed: set[str] = set()
    for i, e in standing(job.events):
        if isinstance(e, ev.LayerRemoved):
            removed.add(e.layer)
        elif isinstance(e, ev.CoatStarted) and e.layer not in removed:
            if e.layer in open_since:
                yield Fault(f"$.events[{i}]", "a coat starts while the one before is still being sprayed")
            elif e.layer in done_at and e.at < done_at[e.layer]:
                yield Fault(f"$.events[{i}].at", "a coat starts before the one before was done")
            open_since[e.layer] = e.at
        elif isinstance(e, ev.CoatDone) and e.layer not in removed:
            started = open_since.pop(e.layer, None)
            if started is None:
                yield Fault(f"$.events[{i}]", "a coat is done that was never started")
            elif e.at < started:
                yield Fault(f"$.events[{i}].at", "a coat is done before it started")
            done_at[e.layer] = e.at
