"""The index of all jobs: a cache made from their files, to be deleted at any time.

It is one SQLite file with a full-text table (FTS5). Nothing but what is looked for and shown is kept in it, and it is
read by its owner alone. What can't be used is made anew, and where the disk takes nothing it is kept in memory.
"""

import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import RLock
from typing import NamedTuple, TypeVar
from zlib import crc32

from benchtool.store.jobfolders import Stamp
from benchtool.store.jobindexfile import COLUMNS, NoIndex, Standing, anew, in_memory, opened, reason

__all__ = ["COLUMNS", "Entry", "Hit", "Hits", "JobIndex", "NoIndex", "ReadAt", "Restarted", "Standing"]

BATCH = 200
"""Files are written so many at a time."""

Given = TypeVar("Given")


class Restarted(Exception):
    """What was kept is lost or out of step: all folders are to be read again. The index can be used at once."""


class Entry(NamedTuple):
    """One piece: what is looked for (one text for each of COLUMNS) and what is shown.

    `at` is when it was last worked on (seconds since 1970), `days` those on which it was (such as 20260314), `lots`
    those in it, each with what is shown of it, `cups` those of which no lot is known.
    """

    words: tuple[str, ...]
    body: bytes
    at: int
    days: tuple[int, ...] = ()
    lots: tuple[tuple[str, bytes], ...] = ()
    cups: tuple[bytes, ...] = ()


class Hit(NamedTuple):
    """What answers: where it lies, and what is shown; `lot` is what is shown of the lot that was asked for."""

    path: str
    folder: str
    job: str
    body: bytes
    lot: bytes = b""


class Hits(NamedTuple):
    """The newest that answer, and how many pieces in how many jobs do in all."""

    hits: tuple[Hit, ...] = ()
    pieces: int = 0
    jobs: int = 0


class ReadAt(NamedTuple):
    """When a folder was last read to its end (s since 1970), and on which disk it lay."""

    as_of: int
    device: int


class JobIndex:
    """The index, open; used from several threads, one at a time. With `path` None it is kept in memory."""

    def __init__(self, path: Path | None, made_by: str) -> None:
        self.path, self.made_by = path, made_by
        self.standing = Standing.MEMORY
        self.round = self.changes = 0
        self._lock = RLock()
        self._open = True
        self._writing = 0
        self._con = self._begin()

    # --- opening, and what to do about one that can't be used -------------------------------------------

    def _begin(self) -> sqlite3.Connection:
        if self.path is None:
            return in_memory(None, self.made_by)
        try:
            con, self.standing = opened(self.path, self.made_by)
        except (sqlite3.Error, OSError, ValueError) as fault:
            return self._remade(fault)
        return con

    def _remade(self, fault: Exception) -> sqlite3.Connection:
        """Make it anew where it is broken, else go on in memory."""
        why = reason(fault)
        if why is Standing.BROKEN and self.path is not None:
            try:
                con = anew(self.path, self.made_by)
            except (sqlite3.Error, OSError, ValueError) as again:
                why = reason(again)
                why = Standing.SHUT if why is Standing.BROKEN else why
            else:
                self.standing = why
                return con
        self.standing = why
        return in_memory(self.path if why in (Standing.BUSY, Standing.FULL) else None, self.made_by)

    @contextmanager
    def _at_work(self) -> Iterator[sqlite3.Connection]:
        with self._lock:
            if not self._open:
                raise Restarted
            try:
                yield self._con
            except sqlite3.Error as fault:
                self._start_over(fault)
                raise Restarted from fault

    def _start_over(self, fault: sqlite3.Error) -> None:
        self._writing, self.round = 0, self.round + 1
        with suppress(sqlite3.Error):
            self._con.rollback()
        with suppress(sqlite3.Error):
            self._con.close()
        self._con = self._remade(fault) if self.standing is not Standing.MEMORY else in_memory(None, self.made_by)

    def settle(self) -> None:
        """Take what was odd at the opening for told: from now on it is an index like any other."""
        if self.standing not in _MEMORY:
            self.standing = Standing.FINE

    def forget(self) -> None:
        """Throw away all that is in it, so that all is read again."""
        with self._lock:
            self._writing, self.round = 0, self.round + 1
            self._con.close()
            if self.path is None or self.standing in _MEMORY:
                self._con = in_memory(None, self.made_by)
                return
            try:
                self._con = anew(self.path, self.made_by)
            except (sqlite3.Error, OSError) as wrong:
                self._con = self._remade(wrong)

    def close(self) -> None:
        """Write what is left to write, and let go of the file."""
        with self._lock:
            if self._open:
                with suppress(sqlite3.Error):
                    self._commit(self._con)
                self._open = False
                self._con.close()

    def __del__(self) -> None:
        con = getattr(self, "_con", None)
        if con is not None:
            con.close()

    # --- writing ---------------------------------------------------------------------------------------

    def known(self) -> dict[str, tuple[Stamp, str]]:
        """Give the stamp and the folder of each file that is known; those that could not be read are left out.

        A right that was given, or a disk that came round, changes no stamp.
        """
        asked = "SELECT f.path, f.mtime, f.size, d.path FROM file f JOIN folder d ON d.id = f.folder WHERE f.fault = ''"
        with self._at_work() as con:
            return {_told(path): ((mtime, size), _told(folder)) for path, mtime, size, folder in con.execute(asked)}

    def read_at(self, folder: str) -> ReadAt | None:
        """Say when a folder was last read to its end; None where it never was."""
        asked = "SELECT as_of, device FROM folder WHERE path = ? AND as_of IS NOT NULL"
        with self._at_work() as con:
            told = con.execute(asked, (_kept(folder),)).fetchone()
        return ReadAt(*told) if told is not None else None

    def move(self, path: str, folder: str) -> None:
        """Count a file that is known to this folder, under another name of which it was found before."""

        def write(con: sqlite3.Connection) -> None:
            place, name = _folder(con, folder), _kept(path)
            con.execute("UPDATE entry SET folder = ? WHERE file = (SELECT id FROM file WHERE path = ?)", (place, name))
            con.execute("UPDATE file SET folder = ? WHERE path = ?", (place, name))

        self._write(write)

    def put(self, folder: str, path: str, stamp: Stamp, job: str, entries: Iterable[Entry], *, fault: str = "") -> None:
        """Take what a file holds in the place of what it held; `fault` says why it holds nothing."""

        def write(con: sqlite3.Connection) -> None:
            place = _folder(con, folder)
            _take_out(con, [_kept(path)])
            file = con.execute(
                "INSERT INTO file (path, folder, mtime, size, job, fault) VALUES (?, ?, ?, ?, ?, ?)",
                (_kept(path), place, *stamp, job, fault),
            ).lastrowid
            for entry in entries:
                _put(con, file, place, entry)

        self._write(write)

    def walked(self, folder: str, there: Iterable[str], at: int, device: int, in_round: int) -> None:
        """Note that a folder was read whole at this second: what is not `there` any more is taken out.

        Raises:
            Restarted: as ever, and where the index was begun anew since the round in which the reading began.
        """

        def write(con: sqlite3.Connection) -> None:
            if in_round != self.round:
                raise Restarted
            place, kept = _folder(con, folder), {_kept(path) for path in there}
            rows = con.execute("SELECT path FROM file WHERE folder = ?", (place,)).fetchall()
            _take_out(con, [path for (path,) in rows if path not in kept])
            con.execute("UPDATE folder SET as_of = ?, device = ? WHERE id = ?", (at, device, place))

        self._write(write)
        self.flush()

    def flush(self) -> None:
        """Write what is not written yet."""
        with self._at_work() as con:
            self._commit(con)

    def _write(self, act: Callable[[sqlite3.Connection], None]) -> None:
        with self._at_work() as con:
            if not self._writing:
                con.execute("BEGIN IMMEDIATE")
            self._writing += 1
            self.changes += 1
            act(con)
            if self._writing >= BATCH:
                self._commit(con)

    def _commit(self, con: sqlite3.Connection) -> None:
        if self._writing:
            con.execute("COMMIT")
            self._writing = 0

    # --- asking ----------------------------------------------------------------------------------------

    def find(self, folders: Sequence[str], match: str, since: int, until: int, most: int) -> Hits:
        """Give the newest pieces in these folders that answer to the words and were worked on from day to day.

        `match` is an expression of FTS5 that the caller has put together from bare words; "" for any. The days are
        such as 20260314; (0, 0) for any.
        """
        held = [_IN_FOLDERS]
        values: list[str | int] = [_listed(folders)]
        asked = "SELECT -e.at, e.file, e.id FROM entry e"
        if match:
            asked = "SELECT -e.at, e.file, e.id FROM words JOIN entry e ON e.id = words.rowid"
            held.append("words MATCH ?")
            values.append(match)
        if since or until:
            held.append("e.id IN (SELECT entry FROM day WHERE day BETWEEN ? AND ?)")
            values += [since, until or 99_999_999]
        with self._at_work() as con:
            rows = con.execute(f"{asked} WHERE {' AND '.join(held)}", values).fetchall()
            rows.sort()
            hits = tuple(_hit(con, row[2]) for row in rows[:most])
        return Hits(hits, len(rows), len({row[1] for row in rows}))

    def with_lot(self, folders: Sequence[str], key: str, most: int) -> Hits:
        """Give the pieces that have to do with a lot, newest first; one hit for each part that it was."""
        asked = f"SELECT -e.at, e.file, e.id, l.body FROM lot l JOIN entry e ON e.id = l.entry WHERE {_IN_FOLDERS}"  # noqa: S608 - all its parts are ours
        asked += " AND l.key = ?"
        with self._at_work() as con:
            rows = con.execute(asked, (_listed(folders), key)).fetchall()
            rows.sort()
            hits = tuple(_hit(con, row[2])._replace(lot=row[3]) for row in rows[:most])
        return Hits(hits, len({row[2] for row in rows}), len({row[1] for row in rows}))

    def of_no_lot(self, folders: Sequence[str]) -> tuple[tuple[int, bytes], ...]:
        """Give the cups of which no lot is known, each once, with the number of its file."""
        asked = f"SELECT DISTINCT e.file, l.body FROM lot l JOIN entry e ON e.id = l.entry WHERE {_IN_FOLDERS}"  # noqa: S608 - all its parts are ours
        with self._at_work() as con:
            return tuple(con.execute(f"{asked} AND l.key = ?", (_listed(folders), _OF_NO_LOT)))

    def twins(self, folders: Sequence[str]) -> tuple[tuple[str, ...], ...]:
        """Give the files that hold a job of one id, each group of them once."""
        asked = "SELECT job FROM file WHERE job != '' GROUP BY job HAVING count(*) > 1"
        asked = f"SELECT e.job, e.path FROM file e WHERE e.job IN ({asked}) AND {_IN_FOLDERS} ORDER BY e.job, e.path"  # noqa: S608 - all its parts are ours
        groups: dict[str, list[str]] = {}
        with self._at_work() as con:
            for job, path in con.execute(asked, (_listed(folders),)):
                groups.setdefault(job, []).append(_told(path))
        return tuple(tuple(paths) for paths in groups.values() if len(paths) > 1)

    def faults(self, folders: Sequence[str]) -> tuple[tuple[str, str], ...]:
        """Give the files that can't be read, each with the reason."""
        asked = f"SELECT e.path, e.fault FROM file e WHERE e.fault != '' AND {_IN_FOLDERS} ORDER BY e.path"  # noqa: S608 - all its parts are ours
        with self._at_work() as con:
            return tuple((_told(path), fault) for path, fault in con.execute(asked, (_listed(folders),)))

    def jobs(self, folders: Sequence[str]) -> int:
        """Say how many jobs are in it."""
        asked = f"SELECT count(*) FROM file e WHERE e.job != '' AND {_IN_FOLDERS}"  # noqa: S608 - all its parts are ours
        with self._at_work() as con:
            return int(con.execute(asked, (_listed(folders),)).fetchone()[0])


_IN_FOLDERS = "e.folder IN (SELECT id FROM folder WHERE path IN (SELECT value FROM json_each(?)))"
_NEW_WORDS = f"INSERT INTO words (rowid, {', '.join(COLUMNS)}) VALUES ({', '.join('?' * (len(COLUMNS) + 1))})"  # noqa: S608
_OUT = (
    "DELETE FROM words WHERE rowid = ?",
    "DELETE FROM day WHERE entry = ?",
    "DELETE FROM lot WHERE entry = ?",
    "DELETE FROM shown WHERE id = ?",
    "DELETE FROM entry WHERE id = ?",
)
_OF_NO_LOT = "\0cups"
"""Stands for the number of a lot where none is known; no number that is asked for has such a character."""

_MEMORY = (Standing.BUSY, Standing.FULL, Standing.SHUT, Standing.MEMORY)


def _folder(con: sqlite3.Connection, folder: str) -> int:
    con.execute("INSERT OR IGNORE INTO folder (path) VALUES (?)", (_kept(folder),))
    return int(con.execute("SELECT id FROM folder WHERE path = ?", (_kept(folder),)).fetchone()[0])


def _listed(folders: Sequence[str]) -> str:
    return json.dumps([_kept(folder) for folder in folders])


def _kept(path: str) -> str:
    """Write a path so that any one can be kept: a name on disk need not be text."""
    return path.encode("utf-8", "surrogateescape").decode("latin-1")


def _told(kept: str) -> str:
    return kept.encode("latin-1").decode("utf-8", "surrogateescape")


def _take_out(con: sqlite3.Connection, paths: Iterable[str]) -> None:
    for path in paths:
        found = con.execute("SELECT id FROM file WHERE path = ?", (path,)).fetchone()
        if found is None:
            continue
        for entry in con.execute("SELECT id FROM entry WHERE file = ?", found).fetchall():
            for asked in _OUT:
                con.execute(asked, entry)
        con.execute("DELETE FROM file WHERE id = ?", found)


def _put(con: sqlite3.Connection, file: int | None, folder: int, entry: Entry) -> None:
    row = con.execute("INSERT INTO entry (file, folder, at) VALUES (?, ?, ?)", (file, folder, entry.at)).lastrowid
    con.execute("INSERT INTO shown VALUES (?, ?, ?)", (row, entry.body, crc32(entry.body)))
    con.execute(_NEW_WORDS, (row, *entry.words))
    con.executemany("INSERT OR IGNORE INTO day VALUES (?, ?)", [(day, row) for day in entry.days])
    con.executemany("INSERT INTO lot VALUES (?, ?, ?)", [(key, row, body) for key, body in entry.lots])
    con.executemany("INSERT INTO lot VALUES (?, ?, ?)", [(_OF_NO_LOT, row, body) for body in entry.cups])


def _hit(con: sqlite3.Connection, entry: int) -> Hit:
    found = con.execute(
        "SELECT f.path, d.path, f.job, s.body, s.sum FROM entry e JOIN file f ON f.id = e.file "
        "JOIN folder d ON d.id = e.folder JOIN shown s ON s.id = e.id WHERE e.id = ?",
        (entry,),
    ).fetchone()
    path, folder, job, body, check = found if found is not None else ("", "", "", b"", -1)
    if crc32(body) != check:
        raise sqlite3.DatabaseError("a row is malformed")
    return Hit(_told(path), _told(folder), job, body)
