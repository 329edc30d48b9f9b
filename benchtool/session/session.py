"""What is open now. Only `Session.apply` changes a job: it appends events, folds, saves and tells."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from benchtool.job import events as ev
from benchtool.job.buildson import comes_too_early
from benchtool.job.record import (
    FORMAT,
    SCHEMA,
    Job,
    last_act,
    last_undo,
    next_number,
    with_events,
)
from benchtool.job.state import LayerState, PieceState, fold
from benchtool.job.validate import faults
from benchtool.job.windows import Window, listed
from benchtool.rules.engine import every, findings, grouped, in_the_way, rule_of
from benchtool.rules.finding import RANK, Finding, Severity, Tables
from benchtool.session.alarms import AlarmBoard, Ring
from benchtool.session.clock import Clock
from benchtool.session.document import Document, Draft, NotNow, stamp_of
from benchtool.session.library import CardLibrary
from benchtool.session.sharedair import is_air, moving, twin_undo, twins
from benchtool.store import jobfile
from benchtool.store.lock import Lock, acquire
from benchtool.trade.quantities import Measures

if TYPE_CHECKING:
    from benchtool.session.drafts import CardDrafts
    from benchtool.session.shop import ShopKeeper
    from benchtool.session.shoprules import RuleKeeper

__all__ = ["Document", "Draft", "NotNow", "Session"]

RETRY = timedelta(seconds=15)
"""How often a save that failed is tried again by itself."""


class Session:
    """The open jobs, the piece and layer in hand, and the one way to change them."""

    def __init__(
        self,
        clock: Clock,
        tables: Tables,
        measures: Measures,
        library: CardLibrary | None = None,
        shop: "ShopKeeper | None" = None,
        rules: "RuleKeeper | None" = None,
    ) -> None:
        self.clock = clock
        self.tables = tables
        self.measures = measures
        self.library = library
        self.shop = shop
        self.rules = rules
        self.drafts: Callable[[], CardDrafts] | None = None
        self.recent: Callable[[], Sequence[str]] = tuple
        if rules is not None:
            rules.subscribe(lambda: self.take_tables(rules.own.into(self.tables)))
        self.alarms = AlarmBoard()
        self.documents: list[Document] = []
        self.current: Document | None = None
        self.piece_id: str | None = None
        self.layer_id: str | None = None
        self._listeners: list[Callable[[], None]] = []

    # --- who listens -------------------------------------------------------------------------------

    def subscribe(self, listener: Callable[[], None]) -> Callable[[], None]:
        """Call `listener` after every change of what is open or in hand; gives the way to stop that."""
        self._listeners.append(listener)
        return lambda: self._listeners.remove(listener)

    def _tell(self) -> None:
        for listener in tuple(self._listeners):
            listener()

    # --- opening and closing -----------------------------------------------------------------------

    def open(self, path: Path, *, look_only: str = "") -> Document:
        """Open a job file, or come back to it where it is open already; `look_only` says why not to write.

        Raises:
            JobFileFault: the file can't be read as a job; nothing else changes.
        """
        real = path.resolve() if path.exists() else path
        for document in self.documents:
            if document.path == real:
                self.pick_document(document)
                return document
        opened = jobfile.load(path)
        stamp = stamp_of(real)
        got = None if look_only else acquire(real, self.now())
        lock = got if isinstance(got, Lock) else None
        if lock is not None and stamp_of(real) != stamp:  # somebody saved between the reading and the lock
            try:
                opened = jobfile.load(path)
            except BaseException:
                lock.release()
                raise
        why = look_only or ("" if lock is not None else str(got))
        if opened.newer:
            why = "It was made by a newer version of this tool: shown read-only."
        document = Document(real, opened.job, read_only=why, notes=opened.notes, lock=lock, stamp=stamp)
        self.documents.append(document)
        self._book(document)  # where the last window ended between a save and its booking
        self.pick_document(document)
        return document

    def create(self, path: Path, title: str) -> Document:
        """Begin a job in a new file.

        Raises:
            SaveFault: the file can't be written.
            FileExistsError: there is a file of that name already.
        """
        if path.exists():
            raise FileExistsError(f"{path.name} exists already: choose another name.")
        now = self.now()
        job = Job(format=FORMAT, schema=SCHEMA, id=f"job-{now:%Y%m%d-%H%M%S}", created=now)
        job = with_events(job, ev.JobDescribed(id="e1", at=now, title=title or path.stem))
        jobfile.save(path, job)
        return self.open(path)

    def close(self, document: Document) -> None:
        """Let go of a job.

        Raises:
            NotNow: its last acts can't be saved, even tried once more.
        """
        if document.unsaved:
            self._save(document)
            if document.unsaved:
                raise NotNow(f"Not saved: {document.unsaved}.")
        self._drop(document)

    def _drop(self, document: Document) -> None:
        if document.lock is not None:
            document.lock.release()
        self.documents.remove(document)
        if self.shop is not None:
            self.shop.closed(document.job)
        if self.current is document:
            self.current = self.documents[-1] if self.documents else None
            self.piece_id = self.layer_id = None
            self._settle()
        self._tell()

    def close_all(self) -> None:
        """Let go of every job, saved or not: whoever calls this has asked before."""
        self.save_all()
        for document in list(self.documents):
            self._drop(document)

    # --- what is in hand ---------------------------------------------------------------------------

    def now(self) -> datetime:
        """Give the present instant."""
        return self.clock.now().astimezone(UTC)

    def pick_document(self, document: Document) -> None:
        """Take another open job in hand."""
        if self.current is not document:
            self.current, self.piece_id, self.layer_id = document, None, None
        self._settle()
        self._tell()

    def pick(self, piece: str, layer: str | None = None) -> None:
        """Take a piece in hand, and one of its layers (else the one it takes next)."""
        self.piece_id, self.layer_id = piece, layer
        self._settle()
        self._tell()

    def _settle(self) -> None:
        state = self.current.state if self.current is not None else None
        if state is None or not state.pieces:
            self.piece_id = self.layer_id = None
            return
        if self.piece_id not in state.pieces:
            first = next(iter(state.painted), None)
            self.piece_id, self.layer_id = first.id if first is not None else next(iter(state.pieces)), None
        piece = state.pieces[self.piece_id]
        if self.layer_id not in {x.id for x in piece.layers}:
            layer = piece.current or (piece.layers[-1] if piece.layers else None)
            self.layer_id = layer.id if layer is not None else None

    @property
    def piece(self) -> PieceState | None:
        """The piece in hand."""
        return self.current.state.pieces.get(self.piece_id or "") if self.current is not None else None

    @property
    def layer(self) -> LayerState | None:
        """The layer in hand."""
        return self.current.state.layers.get(self.layer_id or "") if self.current is not None else None

    def findings(self, now: datetime | None = None) -> tuple[Finding, ...]:
        """Give what the rules say of the job in hand at `now`, else at this very moment."""
        return self.current.findings(now or self.now(), self.tables) if self.current is not None else ()

    def take_tables(self, tables: Tables) -> None:
        """Go by other tables from now on, such as after a change of the painter's own rules."""
        self.tables = tables
        self._tell()

    def hindrances(self, layer: LayerState, document: Document | None = None) -> tuple[Finding, ...]:
        """Give what stands in the way of a coat on `layer` now, in an open job (the one in hand).

        These are the stops that stand, and what the record would hold against the coat once it was begun by a
        rule that is a stop: so no wait is got round by spraying another layer, or from another cup. Of a layer that is
        not next, they are its stops too that forbid no coat as long as another is.
        """
        document = document or self.writable()
        standing = document.findings(self.now(), self.tables)
        begun = every(self.preview(self.coat_of(layer, document), document=document))
        against = [f for f in begun if rule_of(f).severity is Severity.STOP and not f.waived]
        piece = document.state.pieces.get(layer.piece)
        following = piece.current if piece is not None else None
        if following is None or following.id != layer.id:
            against += [f for f in every(standing) if _threatens(f, layer)]
        return grouped((*in_the_way(standing, layer.piece), *against))

    def coat_of(self, layer: LayerState, document: Document | None = None) -> Draft:
        """Write the start of the next coat of `layer`, from the cup that serves it."""
        mix = (document or self.writable()).state.mix_for(layer)
        return partial(ev.CoatStarted, layer=layer.id, mix=mix.id if mix is not None else None)

    def watch(self, now: datetime) -> Iterator[tuple[Document, Window]]:
        """Give the windows of every open job that still tell something at `now`."""
        for document in self.documents:
            for window in listed(document.windows, now):
                yield document, window

    # --- changing a job ----------------------------------------------------------------------------

    def apply(self, *drafts: Draft) -> tuple[ev.Event, ...]:
        """Write one act of the painter into the record of the job in hand, and save it.

        The events of one act are undone together. A save that fails loses nothing: the job stays as it is
        here, says so in `unsaved`, and is saved again with the next act or by itself.

        Raises:
            NotNow: no job is open, or it is read-only.
        """
        return self.apply_to(self.writable(), *drafts)

    def apply_to(self, document: Document, *drafts: Draft) -> tuple[ev.Event, ...]:
        """Write one act into the record of any open job, such as the air that all of them share.

        Raises:
            NotNow: it is read-only.
        """
        if document.read_only:
            raise NotNow(document.read_only)
        made = self._stamp(document, drafts)
        document.become(with_events(document.job, *made))
        self._save(document)
        self._settle()
        self._tell()
        return made

    def share(self, *drafts: Draft) -> tuple[ev.Event, ...]:
        """Write an act of the air into every open job: they stand in one shop. Gives what the job in hand took.

        Raises:
            NotNow: no job is open, or the one in hand is read-only.
        """
        document = self.writable()
        made = self.apply(*drafts)
        for other in self._sharing(document, made):
            self.apply_to(other, *drafts)
        return made

    def take_readings(self, document: Document, drafts: Iterable[Draft]) -> None:
        """Write what a logger measured into the record of any open job, each at its own instant, and save it.

        It is no act of the painter: what is in hand stays, no version is kept of the file for it, and a save that
        fails is told and tried again as after an act. Each draft brings its time.
        """
        first = next_number(document.job)
        document.become(with_events(document.job, *(draft(id=f"e{first + i}") for i, draft in enumerate(drafts))))
        self._save(document, keep=0)
        self._tell()

    def preview(self, *drafts: Draft, document: Document | None = None) -> tuple[Finding, ...]:
        """Give the findings that an act would raise which do not stand now, or not as gravely; nothing is changed."""
        document = document or self.writable()
        now = self.now()
        job = with_events(document.job, *self._stamp(document, drafts))
        standing = {f.key: RANK[f.severity] for f in every(document.findings(now, self.tables))}
        after = every(findings(job, fold(job), now, self.tables))
        return grouped(f for f in after if f.key not in standing or RANK[f.severity] < standing[f.key])

    def undo(self) -> tuple[ev.Event, ...]:
        """Take back the last act by a new event; gives what was taken back.

        Raises:
            NotNow: there is nothing to take back, or the job is read-only.
        """
        document = self.writable()
        act = last_act(document.job)
        if not act:
            raise NotNow("There is nothing to undo.")
        self.apply(partial(ev.Withdrawn, events=tuple(e.id for e in act)))
        for other in self._sharing(document, act):
            same = twins(other.job, document.job, act)
            if same:
                self.apply_to(other, partial(ev.Withdrawn, events=same))
        return act

    def redo(self) -> None:
        """Take back the last undo.

        Raises:
            NotNow: the last act was no undo, or the job is read-only.
        """
        document = self.writable()
        undo = last_undo(document.job)
        if undo is None:
            raise NotNow("There is nothing to redo.")
        act = tuple(e for e in document.job.events if e.id in undo.events)
        self.apply(partial(ev.Withdrawn, events=(undo.id,)))
        for other in self._sharing(document, act):
            same = twin_undo(other.job, document.job, act)
            if same is not None:
                self.apply_to(other, partial(ev.Withdrawn, events=(same.id,)))

    def _sharing(self, document: Document, act: tuple[ev.Event, ...]) -> list[Document]:
        """Give the other open jobs that an act of the air went into too; none for any other act."""
        air = is_air(document.job, act)
        return [d for d in self.documents if d is not document and not d.read_only] if air else []

    def shift_last_act(self, by: timedelta) -> tuple[ev.Event, datetime]:
        """Say that the last act really happened earlier or later; gives its last event and its new time.

        An act of the air moves in every open job.

        Raises:
            NotNow: there is no act, or it can't have happened then.
        """
        document = self.writable()
        act = last_act(document.job, corrections=False)
        ids = [e.id for e in act]
        if not ids:
            raise NotNow("There is no act to move.")
        times, drafts = moving(document.job, ids, by)
        trial = with_events(document.job, *self._stamp(document, tuple(drafts)))
        wrong = next(faults(trial), None)
        moved = times[ids[-1]]
        early = by < timedelta(0) and comes_too_early(trial, ids)
        if wrong is not None or early or moved.at + by > self.now():
            raise NotNow("It can't have happened then: another act stands in between.")
        self.apply(*drafts)
        for other in self._sharing(document, act):
            _, same = moving(other.job, twins(other.job, document.job, act), by)
            if same:
                self.apply_to(other, *same)
        return moved, moved.at + by

    def writable(self) -> Document:
        """Give the job in hand.

        Raises:
            NotNow: no job is open, or it is read-only.
        """
        if self.current is None:
            raise NotNow("No job is open. Open one, or begin a new one.")
        if self.current.read_only:
            raise NotNow(self.current.read_only)
        return self.current

    def _stamp(self, document: Document, drafts: tuple[Draft, ...]) -> tuple[ev.Event, ...]:
        # An act never lies before one already recorded: after a clock set back, a coat done would else
        # come before its start and the file would not open again.
        # Only what stands counts: an entry made under a wrong clock is undone for good.
        newest = document.state.newest
        at = max(self.now(), newest[1].at) if newest is not None else self.now()
        first = next_number(document.job)
        made = []
        for i, draft in enumerate(drafts):
            head = f"e{first}" if i else None
            made.append(draft(id=f"e{first + i}", at=at, along_with=head))
        return tuple(made)

    # --- saving and the passing of time ------------------------------------------------------------

    def _save(self, document: Document, *, keep: int = jobfile.KEEP) -> None:
        document.tried_at = self.now()
        try:
            jobfile.save(document.path, document.job, keep=keep)
            document.unsaved = ""
        except jobfile.SaveFault as fault:
            document.unsaved = str(fault)
        else:
            self._book(document)

    def _book(self, document: Document) -> None:
        """Draw from the lots of the shop what this job poured. A job that is only looked at draws nothing."""
        if self.shop is not None and not document.read_only:
            before, document.booked = document.booked, document.state.lot_pours
            self.shop.book(document.job, document.state, drew=document.booked != before)

    def save_all(self) -> list[Document]:
        """Try once more to save what is unsaved; gives the jobs that still are."""
        for document in self.documents:
            if document.unsaved:
                self._save(document)
        return [d for d in self.documents if d.unsaved]

    def save_copy(self, path: Path, document: Document | None = None) -> None:
        """Write a job (the one in hand) into another file, for when its own place can't be written.

        Raises:
            SaveFault: that file can't be written either.
            NotNow: that file is open here.
        """
        if any(d.path == path.resolve() for d in self.documents):
            raise NotNow(f"{path.name} is open here: choose another name.")
        copied = document or self.current
        if copied is not None:
            jobfile.save(path, copied.job)

    def tick(self) -> Ring | None:
        """Look at the clock: retry a failed save, and give what to call out, if anything."""
        now = self.now()
        for document in self.documents:
            if document.lock is None and document.read_again():
                self._settle()
                self._tell()
            if document.unsaved and document.tried_at is not None and now - document.tried_at >= RETRY:
                self._save(document)
                if not document.unsaved:
                    self._tell()
        return self.alarms.update(((str(d.path), w) for d, w in self.watch(now)), now)


def _threatens(finding: Finding, layer: LayerState) -> bool:
    """Say whether this is a stop for a coat of `layer` that would come true if it was sprayed before its turn."""
    asked = finding.severity is Severity.STOP and not finding.waived
    return asked and finding.layer == layer.id and not finding.forbids_coat
