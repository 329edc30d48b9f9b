"""A job again: the next one planned like an earlier one, or a touch-up of what is on its pieces now.

A repeat takes over the plan and nothing of what was done. A touch-up takes over all that was done to the chosen pieces,
at the times it was done, so that new layers go on what is there. Both are new jobs in new files.
"""

import dataclasses
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Card
from benchtool.job.events import Again
from benchtool.job.record import FORMAT, SCHEMA, Job
from benchtool.job.state import LayerState, PieceState, State, fold
from benchtool.session.againamounts import Suggested, suggested, suggested_words
from benchtool.session.againkept import taken_over
from benchtool.session.againoffers import Offer, offers, with_offers
from benchtool.session.carddiff import Difference, differences, differing
from benchtool.session.cardfields import clean, free_slug
from benchtool.session.document import Document, NotNow
from benchtool.session.owned import shop_of
from benchtool.session.session import Session
from benchtool.store import jobfile
from benchtool.store.jobfile import JobFileFault, SaveFault
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

__all__ = [
    "Again", "Asked", "Earlier", "Newer", "SaveFault", "amount_words", "amounts", "build", "cards_of",
    "chosen_cards", "create", "free_path", "is_newer", "newer_cards", "offers_of", "read_earlier", "usual_title",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """The job that is gone back to, as it stands. `notes` say what of its file was not understood."""

    path: Path
    job: Job
    state: State
    notes: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """What the painter calls it."""
        return self.state.title or self.path.stem

    @property
    def pieces(self) -> tuple[PieceState, ...]:
        """Its pieces, test strips left out."""
        return tuple(self.state.painted)


@dataclass(frozen=True, slots=True, kw_only=True)
class Newer:
    """A card of which the library has another copy than the job, and what is different."""

    own: Card
    card: Card
    found: tuple[Difference, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the new job shall be.

    `pieces` are the ids of the pieces that come over. Of a repeat, `areas` are the areas (m2) of the new pieces by the
    id of the old one, None for not known; `newer` are the cards that are taken as the library has them, and `taken`
    the offers that are taken.
    """

    how: Again
    title: str
    customer: str = ""
    promised: datetime | None = None
    pieces: tuple[str, ...] = ()
    areas: Mapping[str, float | None] = field(default_factory=dict)
    newer: tuple[Newer, ...] = ()
    taken: tuple[Offer, ...] = ()


# --- the earlier job ---------------------------------------------------------------------------------


def read_earlier(session: Session, path: Path | None = None) -> Earlier:
    """Read the job to go back to: the one in hand, or that of a file, which need not be open.

    Raises:
        NotNow: no job is in hand, it has no pieces, or the file can't be read as a job.
    """
    document = session.current if path is None else _open_here(session, path)
    if document is not None:
        found = Earlier(path=document.path, job=document.job, state=document.state, notes=document.notes)
    elif path is None:
        raise NotNow(say("Open a job first: press J."))
    else:
        try:
            opened = jobfile.load(path)
        except JobFileFault as fault:
            raise NotNow(str(fault)) from None
        found = Earlier(path=path, job=opened.job, state=fold(opened.job), notes=opened.notes)
    if not found.pieces:
        raise NotNow(say("{job} has no pieces: there is nothing to do again.", job=shorten(found.title)))
    return found


def _open_here(session: Session, path: Path) -> Document | None:
    real = path.resolve() if path.exists() else path
    return next((d for d in session.documents if d.path == real), None)


def is_newer(earlier: Earlier) -> bool:
    """Say whether its file was made by a newer version of this tool, so that not all of it may be understood."""
    return earlier.job.schema > SCHEMA


def usual_title(earlier: Earlier, how: Again) -> str:
    """Name the new job after the earlier one."""
    title = shorten(earlier.title, 150)
    return say("{job}, again", job=title) if how is Again.REPEAT else say("{job}, touch-up", job=title)


# --- what can be chosen ------------------------------------------------------------------------------


def bare_pieces(earlier: Earlier) -> frozenset[str]:
    """Give the pieces without paint on them; none where no piece has any."""
    bare = frozenset(p.id for p in earlier.pieces if p.top is None)
    return bare if len(bare) < len(earlier.pieces) else frozenset()


def _layers(earlier: Earlier, pieces: Iterable[str]) -> list[LayerState]:
    return [x for p in pieces if p in earlier.state.pieces for x in earlier.state.pieces[p].layers]


def cards_of(earlier: Earlier, pieces: Iterable[str]) -> dict[str, Card]:
    """Give the job's copies of the cards planned on these pieces, by id."""
    found = (earlier.state.card_of(x) for x in _layers(earlier, pieces))
    return {card.id: card for card in found if card is not None}


def newer_cards(session: Session, earlier: Earlier, pieces: Iterable[str]) -> tuple[Newer, ...]:
    """Give the cards planned on these pieces that the library has otherwise now."""
    if session.library is None:
        return ()
    shelf = {card.id.lower(): card for card in session.library.look().cards}
    found = []
    for own in cards_of(earlier, pieces).values():
        card = shelf.get(own.id.lower())
        if card is not None and differing(own, card):
            found.append(Newer(own=own, card=replace(card, id=own.id), found=differences(own, card)))
    return tuple(found)


def offers_of(earlier: Earlier, asked: Asked) -> tuple[Offer, ...]:
    """Give what the record offers for the cards of a repeat as they are chosen."""
    if asked.how is not Again.REPEAT:
        return ()
    return offers(earlier.state, asked.pieces, chosen_cards(earlier, asked))


def chosen_cards(earlier: Earlier, asked: Asked) -> dict[str, Card]:
    """Give the cards of the new job, by id, as they are chosen: the earlier job's copies, or the library's."""
    cards = cards_of(earlier, asked.pieces)
    return cards | {n.own.id: n.card for n in asked.newer if n.own.id in cards}


def amounts(earlier: Earlier, asked: Asked) -> dict[str, Suggested]:
    """Suggest how much to mix for each layer of a repeat, by its id; layers without a logged cup are left out."""
    found: dict[str, Suggested] = {}
    for layer in _layers(earlier, asked.pieces) if asked.how is Again.REPEAT else ():
        one = suggested(earlier.state, layer, asked.areas.get(layer.piece))
        if one is not None:
            found[layer.id] = one
    return found


def amount_words(session: Session, earlier: Earlier, asked: Asked) -> tuple[str, ...]:
    """Say for each layer how much to mix, piece by piece."""
    unit, told = shop_of(session).unit, []
    several = len(asked.pieces) > 1
    for layer_id, found in amounts(earlier, asked).items():
        layer = earlier.state.layers[layer_id]
        name = earlier.state.layer_name(layer)
        if several:
            name = say("{layer} on {piece}", layer=name, piece=earlier.state.piece_of(layer).piece.name)
        told.append(suggested_words(name, found, unit))
    return tuple(told)


# --- the new job -------------------------------------------------------------------------------------


def build(session: Session, earlier: Earlier, asked: Asked) -> Job:
    """Write the new job; nothing is saved.

    Raises:
        NotNow: no piece is chosen, or the record can't be gone on from here.
    """
    pieces = tuple(p.id for p in earlier.pieces if p.id in asked.pieces)
    if not pieces:
        raise NotNow(say("Choose at least one piece."))
    if asked.how is Again.TOUCH_UP and is_newer(earlier):
        raise NotNow(
            say("This file was made by a newer version of this tool: what is on the pieces may not all be read here.")
        )
    asked = dataclasses.replace(asked, pieces=pieces)
    copied: tuple[ev.Event, ...] = ()
    if asked.how is Again.TOUCH_UP:
        copied = taken_over(earlier.job, pieces, 3, "e2")
    now = max([session.now(), *(e.at for e in copied)])
    title = clean(asked.title)[:200] or usual_title(earlier, asked.how)
    named = ev.JobDescribed(id="e1", at=now, title=title, customer=clean(asked.customer), promised=asked.promised)
    source = shorten(earlier.title, 200)
    begun = ev.TakenFrom(id="e2", at=now, job=earlier.job.id, title=source, how=asked.how, pieces=pieces)
    if asked.how is Again.REPEAT:
        copied = _planned(earlier, asked, now)
    # The times of the air count from here: the same instant gives the same windows to the microsecond.
    since = [earlier.job.created] if asked.how is Again.TOUCH_UP else []
    return Job(
        format=FORMAT,
        schema=SCHEMA,
        id=_new_id(session, earlier, session.now()),
        created=min([now, *(e.at for e in copied), *since]),
        demo=earlier.job.demo,
        note=earlier.job.note if earlier.job.demo else "",
        events=(named, begun, *copied),
    )


def _new_id(session: Session, earlier: Earlier, now: datetime) -> str:
    """Give an id that neither the earlier job nor any open one has: lots are booked by it."""
    taken = {earlier.job.id, *(d.job.id for d in session.documents)}
    job_id, number = f"job-{now:%Y%m%d-%H%M%S}", 1
    while job_id in taken:
        number += 1
        job_id = f"job-{now:%Y%m%d-%H%M%S}-{number}"
    return job_id


def _planned(earlier: Earlier, asked: Asked, now: datetime) -> tuple[ev.Event, ...]:
    cards = chosen_cards(earlier, asked)
    found = amounts(earlier, asked)
    made: list[ev.Event] = []
    for card in cards.values():
        own = with_offers(card, asked.taken, earlier.title, now.astimezone().date())
        made.append(ev.CardCopied(id="", at=now, card=own))
    for piece_id in asked.pieces:
        piece = earlier.state.pieces[piece_id]
        # The next part is of another lot of its material: what was tried on this one says nothing of it.
        fresh = replace(piece.piece, area_m2=asked.areas.get(piece_id), batch="", strip_of=None)
        made.append(ev.PieceAdded(id="", at=now, piece=fresh))
        for layer in piece.layers:
            if layer.plan.card in cards:
                plan = _with_amount(layer.plan, found.get(layer.id))
                made.append(ev.LayerAdded(id="", at=now, piece=piece_id, layer=plan))
    return tuple(replace(e, id=f"e{3 + i}", along_with="e2") for i, e in enumerate(made))


def _with_amount(plan: ev.Layer, found: Suggested | None) -> ev.Layer:
    """Give the plan with what its layer really took; as it was where no cup tells."""
    return replace(plan, make_mL=round(found.mL, 1) or None) if found is not None else plan


# --- its file ----------------------------------------------------------------------------------------


def free_path(earlier: Earlier, title: str) -> Path:
    """Give the path of a file that is not there yet, beside that of the earlier job, named after the new one."""
    folder = earlier.path.parent
    if folder.name.endswith(".versions"):
        folder = folder.parent
    stem = free_slug(title or "job", ())
    number, path = 1, folder / f"{stem}.json"
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.json"
    return path


def create(session: Session, earlier: Earlier, asked: Asked, path: Path) -> Path:
    """Write the new job into a new file; it is not opened here.

    Raises:
        NotNow: see `build`.
        FileExistsError: there is a file of that name already.
        SaveFault: the file can't be written.
    """
    job = build(session, earlier, asked)
    if path.exists():
        raise FileExistsError(say("{name} exists already: choose another name.", name=path.name))
    jobfile.save(path, job)
    return path
