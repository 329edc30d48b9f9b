"""The photos of a piece: putting them beside the job and into its record, moving, noting, taking out, giving away.

The files are read and kept in a thread; the record is changed only in the thread of whoever calls `poll`. An undo takes
photos out of the record, and leaves their files where they are.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Final

from benchtool.job import events as ev
from benchtool.session.document import Document, Draft, NotNow
from benchtool.session.ownfile import file_stem, save_own
from benchtool.session.photocopying import Copied, Copying, Progress, Refused, Source
from benchtool.session.photosteps import Group, PhotoStep, groups_of, step_for, steps_of
from benchtool.session.session import Session
from benchtool.store import photoclean
from benchtool.store import photos as kept
from benchtool.store.faults import SaveFault, cant_save
from benchtool.store.photoclean import CantClean
from benchtool.store.photos import PhotoFault
from benchtool.trade.saying import say, say_n

_KEEP: Final = "\0keep"
"""No event has such an id."""
LONGEST_NOTE = 4_000


@dataclass(frozen=True, slots=True)
class Added:
    """What came of adding photos: one sentence, and a line for each that is not there or is odd."""

    words: str
    lines: tuple[str, ...] = ()
    events: tuple[str, ...] = ()


class PiecePhotos:
    """What a page of photos asks for. `tell` is called from a thread when there is something to `poll`."""

    def __init__(self, session: Session, tell: Callable[[], None] = lambda: None) -> None:
        self.session = session
        self._tell = tell
        self._copying: Copying | None = None
        self._for: tuple[Document, str, str | None] | None = None

    # --- what there is -----------------------------------------------------------------------------

    def groups(self, piece: str) -> tuple[Group, ...]:
        """Give the photos of a piece of the job in hand, by the step they show."""
        document = self.session.current
        return groups_of(document.job, document.state, piece) if document is not None else ()

    def steps(self, piece: str) -> tuple[PhotoStep, ...]:
        """Give the steps that a photo of this piece can be put to."""
        document = self.session.current
        return steps_of(document.job, document.state, piece) if document is not None else ()

    # --- adding ------------------------------------------------------------------------------------

    @property
    def progress(self) -> Progress | None:
        """How far the copying is, None where nothing is copied."""
        return self._copying.progress if self._copying is not None else None

    def add(self, piece: str, sources: Sequence[Source], *, of: str | None = None) -> None:
        """Begin to copy photos of a piece; `of` is the event that they show, else their own times say it.

        Raises:
            NotNow: no job is open, it is read-only, or others are just being copied.
        """
        document = self.session.writable()
        if piece not in document.state.pieces:
            raise NotNow(say("Add a piece first: press A."))
        if self._copying is not None:
            raise NotNow(say("Photos are just being copied: add these when they are there."))
        if not sources:
            raise NotNow(say("There is no photo among these."))
        self._for = (document, piece, of)
        self._copying = Copying(document.path, sources, self._tell)
        self._copying.start()

    def cancel(self) -> str:
        """Copy no further photo and add none; what was copied lies beside the job and hurts nobody."""
        if self._copying is None:
            return ""
        self._copying.stop()
        self._copying = self._for = None
        return say("Stopped: none of these photos was added.")

    def close(self, wait_s: float = 2.0) -> None:
        """Stop for good."""
        if self._copying is not None:
            self._copying.stop(wait_s)
        self._copying = self._for = None

    def poll(self) -> Added | None:
        """Take what was copied; once all is there, put it into the record as one act and say what came of it."""
        copying, about = self._copying, self._for
        if copying is None or about is None:
            return None
        copying.poll()
        if not copying.over:
            return None
        self._copying = self._for = None
        try:
            return self._enter(about, copying)
        except NotNow as no:
            return Added(say("The photos were not added: {why}", why=str(no)))

    def _enter(self, about: tuple[Document, str, str | None], copying: Copying) -> Added:
        document, piece, of = about
        if document not in self.session.documents:
            raise NotNow(say("their job is no longer open."))
        if piece not in document.state.pieces:
            raise NotNow(say("their piece was taken back."))
        entry = _Entry(document, piece, of, self.session.now())
        for copied in copying.copied:
            entry.take(copied)
        made = self.session.apply_to(document, *entry.drafts) if entry.drafts else ()
        added = tuple(e.id for e in made if isinstance(e, ev.PhotoAdded))
        lines = (*(refused.words for refused in copying.refused), *entry.lines)
        return Added(entry.words(copying.refused), lines, added)

    # --- changing ----------------------------------------------------------------------------------

    def change(self, event: str, *, of: str | None = _KEEP, note: str | None = None) -> str:
        """Put a photo to another step (None: to none), or note something on it: one act, which can be undone.

        Gives the event that it is known by from now on.

        Raises:
            NotNow: no job is open, it is read-only, or the photo is no longer in the record.
        """
        document = self.session.writable()
        before = _photo(document, event)
        step = before.of if of == _KEEP else of
        told = before.note if note is None else note.strip()[:LONGEST_NOTE]
        if (step, told) == (before.of, before.note):
            return event
        layer = before.layer
        if step != before.of:
            steps = steps_of(document.job, document.state, before.piece)
            shows = next((s for s in steps if step in s.ids), None)
            if step is not None and shows is None:
                raise NotNow(say("That step was taken back: choose another."))
            layer = shows.layer if shows is not None else None
        added = _draft(before.piece, before.picture, layer, step, told)
        made = self.session.apply(added, partial(ev.Withdrawn, events=(event,)))
        return made[0].id

    def take_out(self, event: str) -> str:
        """Take a photo out of the record; its file stays, and a redo brings it back. Gives the event that says so.

        Raises:
            NotNow: no job is open, it is read-only, or the photo is no longer in the record.
        """
        _photo(self.session.writable(), event)
        return self.session.apply(partial(ev.Withdrawn, events=(event,)))[0].id


def _photo(document: Document, event: str) -> ev.PhotoAdded:
    photos = (photo for piece in document.state.pieces.values() for photo in piece.photos)
    found = next((photo for photo in photos if photo.id == event), None)
    if found is None:
        raise NotNow(say("This photo is no longer in the record."))
    return found


def _draft(piece: str, picture: ev.Picture, layer: str | None, of: str | None, note: str) -> Draft:
    return partial(ev.PhotoAdded, piece=piece, picture=picture, layer=layer, of=of, note=note)


class _Entry:
    """Photos on their way into the record of a piece: each once, at the step it shows."""

    def __init__(self, document: Document, piece: str, of: str | None, now: datetime) -> None:
        self.piece, self.now = piece, now
        self.since = document.job.created
        self.name = document.state.pieces[piece].piece.name
        self.steps = steps_of(document.job, document.state, piece)
        self.step = next((s for s in self.steps if of in s.ids), None)
        self.of = of if self.step is not None else None
        self.here = {photo.picture.sha256: photo for photo in document.state.pieces[piece].photos}
        self.drafts: list[Draft] = []
        self.lines: list[str] = []
        self.count = self.again = 0
        self._new: set[str] = set()

    def take(self, copied: Copied) -> None:
        """Take one in."""
        picture = copied.picture
        if picture.sha256 in self._new or picture.sha256 in self.here:
            self._known(picture)
            return
        self._new.add(picture.sha256)
        step = self.step or step_for(self.steps, copied.taken, self.since, self.now)
        of = self.of or (step.key if step is not None else None)
        self.drafts.append(_draft(self.piece, picture, step.layer if step is not None else None, of, ""))
        self.count += 1
        if copied.remark:
            self.lines.append(Refused(picture.called, copied.remark).words)

    def _known(self, picture: ev.Picture) -> None:
        self.again += 1
        self.lines.append(Refused(picture.called, say("it is on this piece already.")).words)
        before = self.here.get(picture.sha256)
        if before is not None and before.picture.name != picture.name:  # its file was damaged, and is kept anew
            whole = ev.Picture(name=picture.name, sha256=picture.sha256, called=before.picture.called)
            self.drafts.append(_draft(self.piece, whole, before.layer, before.of, before.note))
            self.drafts.append(partial(ev.Withdrawn, events=(before.id,)))
            self.here[picture.sha256] = ev.PhotoAdded(id=before.id, at=before.at, piece=self.piece, picture=whole)

    def words(self, refused: Sequence[Refused]) -> str:
        """Say what came of it."""
        if self.count:
            return say_n("{n} photo added to {piece}.", "{n} photos added to {piece}.", self.count, piece=self.name)
        if self.again and not refused:
            return say("No photo is new: they are on {piece} already.", piece=self.name)
        return say("No photo was added.")


# --- the files ------------------------------------------------------------------------------------------


def bytes_of(job: Path, picture: ev.Picture) -> bytes | PhotoFault:
    """Read a photo that is kept beside the job, or say why it can't be; for a thread."""
    try:
        return kept.read_kept(job, picture.name, picture.sha256)
    except PhotoFault as fault:
        return fault


def taken_at(data: bytes) -> datetime | None:
    """Say when a photo was taken by its camera's clock, on the clock of this place where it names no zone."""
    try:
        taken = photoclean.look(data).exif.taken
        return taken.astimezone() if taken is not None else None
    except (CantClean, OverflowError, OSError, ValueError):
        return None


def clean_bytes(data: bytes, redraw: Callable[[bytes], bytes] | None = None) -> bytes:
    """Give a photo as it may leave the shop: no place, no owner, no camera.

    Where it can't be cleaned as it is, `redraw` makes a new file of its picture.

    Raises:
        PhotoFault: neither can be done, so that the photo must stay here.
    """
    try:
        return photoclean.cleaned(data)
    except CantClean:
        made = redraw(data) if redraw is not None else b""
        if not made:
            words = say("This photo is damaged, so that nobody can say what else is in it: it is left out")
            raise PhotoFault(words) from None
        return made


def save_clean(job: Path, picture: ev.Picture, path: Path, redraw: Callable[[bytes], bytes] | None = None) -> str:
    """Save a photo elsewhere without its place, whole or not at all, and say what came of it; for a thread."""
    data = bytes_of(job, picture)
    if isinstance(data, PhotoFault):
        return say("Not saved. {why}.", why=str(data))
    try:
        made = clean_bytes(data, redraw)
        if path.parent.resolve() == kept.folder_of(job).resolve():
            return say("Not saved. The photos of this job lie here as they are: choose another folder.")
        save_own(path, made, lambda there: there == made, len(made) + 1)
    except (PhotoFault, SaveFault) as fault:
        return say("Not saved. {why}.", why=fault.message)
    except (OSError, ValueError) as fault:
        return say("Not saved. {why}.", why=cant_save(path, fault).message)
    return say("Saved as {file}, without place, owner and camera.", file=path.name)


def suggested_name(picture: ev.Picture) -> str:
    """Give a name for a copy of a photo."""
    suffix = Path(picture.name).suffix
    stem = file_stem(Path(picture.called).stem) or say("Photo")
    return say("{photo} without place", photo=stem) + suffix
