"""What a search of all jobs comes to: a row for each piece, why it is there, and a recalled lot told as text."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import msgspec

from benchtool.session.jobfacts import LotShown, Shown, Use
from benchtool.session.jobwords import Query, spelt_out, words_of
from benchtool.store.files import one_line
from benchtool.store.jobindex import Hit
from benchtool.trade.saying import say, say_n

EXCERPT = 90
"""Letters of a note that are shown around the word that was looked for."""

_FIRST_SEEN = ("customer", "job", "piece", "material", "product")
"""What a row shows anyway, so that it is no answer to why it is there."""

_shown = msgspec.json.Decoder(Shown)
_lot = msgspec.json.Decoder(LotShown)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A piece that answers.

    `why` says what of it does, where the rest of the row does not show it. `as_of` says from when it is, where its
    folder can't be looked into now. `lot` is what a recalled lot has to do with it; a `twin` is of a job that lies in
    two files.
    """

    path: Path
    piece: str
    shown: Shown
    why: str = ""
    as_of: str = ""
    twin: bool = False
    lot: LotShown | None = None

    @property
    def use(self) -> Use | None:
        """What the lot that was asked for has to do with it."""
        return self.lot.use if self.lot is not None else None

    @property
    def name(self) -> str:
        """Name the piece and for whom it is."""
        shown = self.shown
        what = shown.name or say("{job} (no piece in it yet)", job=shown.job or self.path.stem)
        return say("{piece}, for {customer}", piece=what, customer=shown.customer) if shown.customer else what

    @property
    def job(self) -> str:
        """Name the job, with its file where two files hold it."""
        name = self.shown.job or self.path.stem
        name = say("{job} (demo)", job=name) if self.shown.demo else name
        return say("{job} in {file}", job=name, file=one_line(self.path.name)) if self.twin else name

    @property
    def day(self) -> str:
        """Say on which day it was last worked on."""
        try:
            return f"{self.shown.at.astimezone():%Y-%m-%d}"
        except (OverflowError, ValueError):
            return f"{self.shown.at:%Y-%m-%d}"

    @property
    def on_it(self) -> str:
        """Say what it is made of and what is on it, the first one on first."""
        shown = self.shown
        if not shown.piece:
            return ""
        layers = ", ".join(_layer_words(name, coats) for name, coats in shown.layers)
        what = say("{material}, test strip", material=shown.material) if shown.strip else shown.material
        if not layers:
            return say("{material}: nothing planned on it yet", material=what)
        if not shown.painted:
            return say("{material}: nothing on it yet, planned {layers}", material=what, layers=layers)
        return say("{material}: {layers}", material=what, layers=layers)

    @property
    def remarks(self) -> str:
        """Say in one line why it is there and from when that is."""
        return " ".join(_ended(x) for x in (self.why, self.as_of) if x)

    @property
    def words(self) -> str:
        """Say all of it, a line each."""
        lines = [f"{self.day} {self.name}", say("Job: {job}", job=self.job), self.on_it, self.remarks]
        return "\n".join(one_line(line, 600) for line in lines if line)


def _layer_words(name: str, coats: int) -> str:
    return name if coats == 1 else say("{layer} ({n} coats)", layer=name, n=coats)


def _ended(text: str) -> str:
    return text if text.endswith((".", "…")) else f"{text}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What answers: the newest rows, how many pieces in how many jobs there are in all, and how it was understood.

    `notes` are what is to be known of the answer: what can't be read or is old, two files of one job. It is `whole`
    where every job that can be read was looked at, and `so_far` where the reading is not over.
    """

    rows: tuple[Row, ...] = ()
    pieces: int = 0
    jobs: int = 0
    told: str = ""
    wrong: str = ""
    notes: tuple[str, ...] = ()
    asked: bool = True
    whole: bool = True
    so_far: bool = False

    @property
    def more(self) -> int:
        """How many answer that are not among the rows."""
        return self.pieces - len(self.rows)

    @property
    def count_words(self) -> str:
        """Say how many pieces in how many jobs."""
        if not self.asked:
            return ""
        if self.so_far:
            return say("So far: {count}", count=how_many(self.pieces, self.jobs))
        return how_many(self.pieces, self.jobs)


def how_many(pieces: int, jobs: int) -> str:
    """Say how many pieces in how many jobs."""
    if not pieces:
        return say("No piece answers to this.")
    told = say_n("{n} piece", "{n} pieces", pieces)
    return say_n("{pieces} in {n} job", "{pieces} in {n} jobs", jobs, pieces=told)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall:
    """Every piece that a lot has to do with, newest first; `notes` as in Found.

    `no_can` is how many cups of this product (of any, where the lot was not found) have no can logged.
    """

    number: str
    rows: tuple[Row, ...] = ()
    notes: tuple[str, ...] = ()
    no_can: int = 0
    no_can_jobs: int = 0

    def of(self, use: Use) -> tuple[Row, ...]:
        """Give the rows of one kind."""
        return tuple(row for row in self.rows if row.use is use)

    @property
    def pieces(self) -> int:
        """On how many pieces it is, or may be."""
        return len(_pieces(row for row in self.rows if row.use is not Use.CUP_ONLY))

    @property
    def words(self) -> str:
        """Say in one sentence how far the lot went."""
        if not self.rows:
            return " ".join((say("Lot {number} is on no piece that was found.", number=self.number), *self._no_can()))
        on = [row for row in self.rows if row.use is not Use.CUP_ONLY]
        told = []
        if on:
            where = how_many(self.pieces, len({row.path for row in on}))
            told.append(say("Lot {number} is on {where}.", number=self.number, where=where))
        else:
            told.append(say("Lot {number} was sprayed on no piece.", number=self.number))
        perhaps = len(_pieces(self.of(Use.PERHAPS)))
        if perhaps:
            told.append(
                say_n(
                    "Of {n} the record does not say from which cup it was sprayed.",
                    "Of {n} the record does not say from which cup they were sprayed.",
                    perhaps,
                )
            )
        spare = len(_pieces(self.of(Use.CUP_ONLY)) - _pieces(on))
        if spare:
            told.append(
                say_n(
                    "A cup for {n} more held it and was not sprayed on it.",
                    "Cups for {n} more held it and were not sprayed on them.",
                    spare,
                )
            )
        return " ".join((*told, *self._no_can()))

    def _no_can(self) -> Iterator[str]:
        """Say on what it may be although nobody wrote it down."""
        if not self.no_can:
            return
        jobs = say_n("{n} job", "{n} jobs", self.no_can_jobs)
        if not self.rows:
            yield say_n(
                "{n} cup in {jobs} has no can logged: it may be on that.",
                "{n} cups in {jobs} have no can logged: it may be on those.",
                self.no_can,
                jobs=jobs,
            )
            return
        yield say_n(
            "{n} more cup of the same product, in {jobs}, has no can logged: it may be on that too.",
            "{n} more cups of the same product, in {jobs}, have no can logged: it may be on those too.",
            self.no_can,
            jobs=jobs,
        )

    @property
    def text(self) -> str:
        """Write it out, to be copied or printed."""
        told = [self.words, *self.notes]
        for use in Use:
            rows = self.of(use)
            if rows:
                told += ["", _HEADINGS[use]()]
                told += [line for row in rows for line in ("", row.words, say("File: {path}", path=str(row.path)))]
        return "\n".join(told) + "\n"


_HEADINGS = {
    Use.ON: lambda: say("Sprayed on"),
    Use.PERHAPS: lambda: say("Perhaps sprayed on: the record names no cup"),
    Use.CUP_ONLY: lambda: say("In a cup only, not sprayed"),
}


def _pieces(rows: Iterable[Row]) -> set[tuple[Path, str]]:
    return {(row.path, row.piece) for row in rows}


def rows_of(hits: Iterable[Hit], query: Query, twins: frozenset[str], old: Mapping[str, str]) -> Iterator[Row]:
    """Make a row of each hit.

    `twins` are the files of a job that lies in another one too; `old` says of a folder from when its answers are.
    """
    for hit in hits:
        shown = _shown.decode(hit.body)
        lot = _lot.decode(hit.lot) if hit.lot else None
        why = lot_words(lot) if lot is not None else why_words(shown, query)
        yield Row(
            path=Path(hit.path),
            piece=shown.piece,
            shown=shown,
            why=why,
            as_of=old.get(hit.folder, ""),
            twin=hit.path in twins,
            lot=lot,
        )


def lot_words(lot: LotShown) -> str:
    """Say what a lot has to do with a piece."""
    values = {"number": lot.number, "part": lot.part, "product": lot.product, "layers": ", ".join(lot.layers)}
    match lot.use:
        case Use.ON:
            return say("Lot {number} ({part} of {product}) was sprayed as {layers}.", **values)
        case Use.PERHAPS:
            return say(
                "Lot {number} ({part} of {product}) was in a cup for {layers}; not every coat says from which cup it "
                "came.",
                **values,
            )
        case _ if lot.layers:
            return say("Lot {number} ({part} of {product}) was in a cup for {layers} and not sprayed.", **values)
        case _:
            return say("Lot {number} ({part} of {product}) was in a cup for a layer that was taken out.", **values)


def why_words(shown: Shown, query: Query) -> str:
    """Say what of a piece answers to each word that its row does not show."""
    told: dict[str, None] = {}
    plain = " ".join((shown.customer, shown.job, shown.name, shown.material, *(name for name, _ in shown.layers)))
    seen = _words(plain)
    for term in query.terms:
        if term.field in (None, *_FIRST_SEEN) and any(term.answers(word) for word in seen):
            continue
        for field, text in shown.facts:
            if term.field in (None, field) and any(term.answers(word) for word in _words(text)):
                told[say("{field}: {text}", field=_NAMES[field](), text=_excerpt(text, term.spellings))] = None
                break
    return "; ".join(told)


_NAMES = {
    "customer": lambda: say("Customer"),
    "job": lambda: say("Job"),
    "piece": lambda: say("Piece"),
    "material": lambda: say("Material"),
    "product": lambda: say("Product"),
    "lot": lambda: say("Lot"),
    "colour": lambda: say("Colour"),
    "finding": lambda: say("Finding"),
    "note": lambda: say("Note"),
}


@lru_cache(maxsize=8_192)
def _words(text: str) -> tuple[str, ...]:
    return (*words_of(text), *spelt_out(text))


def _excerpt(text: str, begins: tuple[str, ...]) -> str:
    """Cut a text to the part around the first word that begins so."""
    flat = one_line(text, 4 * len(text) + 1)
    if len(flat) <= EXCERPT:
        return flat
    at = 0
    for word in flat.split():
        if any(w.startswith(begins) for w in _words(word)):
            break
        at += len(word) + 1
    start = max(0, min(at, len(flat) - 1) - EXCERPT // 3)
    part = flat[start : start + EXCERPT]
    return f"{'…' if start else ''}{part.strip()}{'…' if start + EXCERPT < len(flat) else ''}"
