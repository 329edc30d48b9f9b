"""A job with a piece that has a stack, and a library beside it: what the tests of setting up a trial start from."""

import dataclasses
from functools import partial
from pathlib import Path
from typing import Any

from builders import ADHESIVE_CLEAR, CLEAR, COLOUR, ONE_PART_PROMOTER, PROMOTER
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.session.library import CardLibrary
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.session.tables_pairings import load_pairings
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex

TABLES = dataclasses.replace(load_tables(), pairings=load_pairings())
FILMED = replace(COLOUR, film_um=20.0, solids_percent=40.0)
"""A base colour of which the film and the solids are known: 20 µm a coat, 40 % by volume, reduced 1:1."""
STOCK = (PROMOTER, ONE_PART_PROMOTER, ADHESIVE_CLEAR, FILMED, CLEAR)
BUMPER = ev.Piece(
    id="p1", name="Bumper", substrate="unknown", known=ev.Known.UNKNOWN, flex=Flex.RIGID, batch="Offcut of May"
)
UGLY = "<b>Zinc-rich</b> “high-build” & two-pack universal anti-corrosive primer surfacer, grey-green No. 17 €€€"


def session_of(clock: Any, folder: Path, *, stack: tuple[Any, ...] = (PROMOTER, FILMED, CLEAR)) -> Session:
    """Open a job with a bumper of a material nobody knows, and this stack planned on it."""
    session = Session(clock, TABLES, Measures(), CardLibrary(folder / "cards"))
    for card in STOCK:
        assert session.library is not None
        session.library.keep(card)
    session.create(folder / "job.json", "A job of my own")
    drafts: list[Any] = [partial(ev.PieceAdded, piece=BUMPER)]
    for i, card in enumerate(stack, 1):
        activator = card.activators[0].id if card.activators else None
        layer = ev.Layer(id=f"l{i}", card=card.id, coats=card.coats_least, activator=activator)
        drafts += [partial(ev.CardCopied, card=card), partial(ev.LayerAdded, piece="p1", layer=layer)]
    session.apply(*drafts)
    session.pick("p1")
    return session
