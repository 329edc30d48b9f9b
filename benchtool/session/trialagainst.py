"""What speaks against the stacks of a trial while it is being set up, without what its strips are there to find out."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

import msgspec

from benchtool.job import events as ev
from benchtool.job.record import FORMAT, SCHEMA, Job, with_events
from benchtool.job.state import fold
from benchtool.rules.finding import RANK, Severity
from benchtool.rules.onstrips import SILENT
from benchtool.session.planning import copy_card
from benchtool.session.session import Draft, Session
from benchtool.session.stackagainst import Judged, Said, judge
from benchtool.session.stackbuilding import Row
from benchtool.session.trialkinds import Setup, stand_in
from benchtool.trade.saying import say

_TOLD = (Severity.STOP, Severity.CAUTION)


class Against:
    """Asks the rules about each system of a set-up, once for each stack: typing a name asks nothing anew."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self._known: dict[str, tuple[tuple[Row, ...], ev.Piece, object, Judged]] = {}

    def of(self, setup: Setup, key: str) -> Judged:
        """Say what speaks against a system, the worst first; by layer, as its rows are keyed."""
        system = setup.system(key)
        if system is None or not system.rows or setup.begun:
            return Judged(said=())
        piece, tables = stand_in(setup), self.session.tables
        known = self._known.get(key)
        if known is not None and known[:2] == (system.rows, piece) and known[2] is tables:
            return known[3]
        judged = against_strip(self.session, system.rows, piece)
        self._known[key] = system.rows, piece, tables, judged
        return judged


def against_strip(session: Session, rows: Sequence[Row], piece: ev.Piece) -> Judged:
    """Say what speaks against this stack on a strip of this material; nothing is changed, and nothing is barred."""
    now, piece = session.now(), msgspec.structs.replace(piece, name=say("The strip"))
    acts: list[Draft] = [partial(ev.PieceAdded, piece=piece)]
    acts += [copy_card(card) for card in {r.card.id: r.card for r in rows}.values()]
    for i, row in enumerate(rows):
        layer = msgspec.structs.replace(row.plan, id=f"l{i}")
        acts.append(partial(ev.LayerAdded, piece=piece.id, layer=layer))
    job = Job(format=FORMAT, schema=SCHEMA, id="strips", created=now)
    job = with_events(job, *(act(id=f"e{i}", at=now) for i, act in enumerate(acts, 1)))
    state = fold(job)
    judged = judge(job, state, state.pieces[piece.id], session.tables, now, silent=SILENT)
    keys = {f"l{i}": row.key for i, row in enumerate(rows)}
    said = (*judged.said, *_guns(rows))
    told = [x for x in said if x.severity in _TOLD and not x.of_material]
    worst_first = sorted(told, key=lambda x: RANK[x.severity])
    return Judged(said=tuple(replace(x, layer=keys.get(x.layer or "")) for x in worst_first))


def _guns(rows: Sequence[Row]) -> Iterator[Said]:
    """Say which products are thinned by the gun, and not for the one that they are planned with."""
    for i, row in enumerate(rows):
        if row.card.reductions and row.card.reduction(row.plan.gun) is None:
            yield Said(
                severity=Severity.CAUTION,
                words=say("{card}: its card gives no reduction for {gun}.", card=row.card.name, gun=row.plan.gun.named),
                remedy=say("Take another gun, or ask the sheet before you spray."),
                why=say("How thin a product must be depends on the gun."),
                source=say("common practice, no source"),
                layer=f"l{i}",
            )


def said_words(said: Sequence[Said]) -> tuple[str, ...]:
    """Say each thing in a line, with what to do about it."""
    words = {Severity.STOP: say("Stop"), Severity.CAUTION: say("Caution"), Severity.NOTE: say("Note")}
    return tuple(f"{words[x.severity]}: {x.words} {x.remedy}".strip() for x in said)
