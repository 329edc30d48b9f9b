"""The file of the index of all jobs: how it is made, opened and looked over, and what is odd about it.

It is a cache: whatever is wrong with it, it is made anew or kept in memory, and the files of the jobs stand.
"""

import os
import sqlite3
from contextlib import suppress
from enum import Enum, auto
from pathlib import Path

VERSION = 1
"""Of the tables below: an index of another one is made anew."""

COLUMNS = ("customer", "job", "piece", "material", "product", "lot", "colour", "finding", "note")
"""What is looked for, each by itself or all at once."""

BUSY_S = 0.3
"""So long another program's writing is waited for, in seconds; then the work goes on in memory (judgement)."""

_TABLES = f"""
CREATE TABLE made (by TEXT NOT NULL);
CREATE TABLE folder (id INTEGER PRIMARY KEY, path TEXT NOT NULL UNIQUE, as_of INTEGER, device INTEGER);
CREATE TABLE file (
    id INTEGER PRIMARY KEY, path TEXT NOT NULL UNIQUE, folder INTEGER NOT NULL, mtime INTEGER, size INTEGER,
    job TEXT NOT NULL, fault TEXT NOT NULL
);
CREATE INDEX file_folder ON file (folder);
CREATE INDEX file_job ON file (job);
CREATE INDEX file_fault ON file (id) WHERE fault != '';
CREATE TABLE entry (id INTEGER PRIMARY KEY, file INTEGER NOT NULL, folder INTEGER NOT NULL, at INTEGER NOT NULL);
CREATE INDEX entry_file ON entry (file);
CREATE TABLE shown (id INTEGER PRIMARY KEY, body BLOB NOT NULL, sum INTEGER NOT NULL);
CREATE TABLE day (day INTEGER NOT NULL, entry INTEGER NOT NULL, PRIMARY KEY (day, entry)) WITHOUT ROWID;
CREATE INDEX day_entry ON day (entry);
CREATE TABLE lot (key TEXT NOT NULL, entry INTEGER NOT NULL, body BLOB NOT NULL);
CREATE INDEX lot_key ON lot (key);
CREATE INDEX lot_entry ON lot (entry);
CREATE VIRTUAL TABLE words USING fts5({", ".join(COLUMNS)}, tokenize = 'ascii', detail = column, prefix = '1 2 3');
"""
"""The words come as they are to be compared, one blank between two: `ascii` cuts them there and nowhere else."""


class Standing(Enum):
    """How the index came to be what it is."""

    FINE = auto()
    FRESH = auto()
    """There was none."""
    BROKEN = auto()
    """It was damaged, and is made anew."""
    NEWER = auto()
    """A newer version had made it; it is made anew."""
    OTHER = auto()
    """It was made by other tables or an older version, and is made anew."""
    BUSY = auto()
    """Another program writes in it: this one works in memory."""
    FULL = auto()
    """The disk is full: this one works in memory."""
    SHUT = auto()
    """It can't be written where it belongs: this one works in memory."""
    MEMORY = auto()
    """No place was given for it."""


class NoIndex(Exception):
    """The SQLite of this system can't look for words."""


def opened(path: Path, made_by: str) -> tuple[sqlite3.Connection, Standing]:
    """Open the index, and make it anew where it is of another making or damaged.

    Raises:
        NoIndex: there can be none.
        sqlite3.Error: it can't be opened, or is damaged so that it can't be looked over.
        OSError: its place can't be got at.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    if not path.exists() or path.stat().st_size == 0:
        return anew(path, made_by), Standing.FRESH
    con = _connected(path)
    try:
        why = _what_is_wrong(con, made_by)
    except BaseException:
        con.close()
        raise
    if why is Standing.FINE:
        return con, why
    con.close()
    return anew(path, made_by), why


def anew(path: Path, made_by: str) -> sqlite3.Connection:
    """Make an empty index in the place of what is there.

    Raises:
        NoIndex, sqlite3.Error, OSError: as `opened`.
    """
    for suffix in ("", "-wal", "-shm", "-journal"):
        Path(f"{path}{suffix}").unlink(missing_ok=True)
    os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))  # customers' names are nobody else's business
    con = _connected(path)
    try:
        _make(con, made_by)
    except BaseException:
        con.close()
        raise
    return con


def in_memory(seed: Path | None, made_by: str) -> sqlite3.Connection:
    """Make one in memory; of one on disk that can't be written now, what is in it is taken over.

    Raises:
        NoIndex: there can be none.
    """
    con = _bare()
    if seed is not None:
        with suppress(sqlite3.Error, OSError):
            source = sqlite3.connect(seed, timeout=BUSY_S)
            try:
                source.backup(con)
            finally:
                source.close()
            if _what_is_wrong(con, made_by) is Standing.FINE:
                return con
        con.close()
        con = _bare()
    _make(con, made_by)
    return con


def _what_is_wrong(con: sqlite3.Connection, made_by: str) -> Standing:
    version = con.execute("PRAGMA user_version").fetchone()[0]
    if version > VERSION:
        return Standing.NEWER
    if version < VERSION:
        return Standing.OTHER if version > 0 else Standing.BROKEN  # 0 is none of ours: SQLite takes ruins for empty
    if con.execute("SELECT by FROM made").fetchall() != [(made_by,)]:
        return Standing.OTHER
    if [row[0] for row in con.execute("PRAGMA integrity_check(1)")] != ["ok"]:
        return Standing.BROKEN
    con.execute("INSERT INTO words (words) VALUES ('integrity-check')")  # raises where words and their index differ
    return Standing.FINE


def _make(con: sqlite3.Connection, made_by: str) -> None:
    try:
        con.executescript(f"BEGIN; {_TABLES} PRAGMA user_version = {VERSION}; COMMIT;")
    except sqlite3.OperationalError as fault:
        if "no such module" in str(fault):
            raise NoIndex from None
        raise
    con.execute("INSERT INTO made VALUES (?)", (made_by,))


def _bare() -> sqlite3.Connection:
    return _settled(sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False))


def _connected(path: Path) -> sqlite3.Connection:
    con = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None, check_same_thread=False)
    try:
        con.execute("PRAGMA journal_mode = WAL")
        con.execute("PRAGMA synchronous = NORMAL")
        con.execute("PRAGMA secure_delete = FAST")
        return _settled(con)
    except BaseException:
        con.close()
        raise


def _settled(con: sqlite3.Connection) -> sqlite3.Connection:
    con.execute("PRAGMA temp_store = MEMORY")
    con.execute("PRAGMA cache_size = -16000")
    return con


def reason(fault: Exception) -> Standing:
    """Tell what stands behind a fault: which decides whether it is made anew or kept in memory."""
    if isinstance(fault, sqlite3.OperationalError):
        words = str(fault)
        if "locked" in words or "busy" in words:
            return Standing.BUSY
        if "full" in words:
            return Standing.FULL
        if "no such" in words or "malformed" in words:  # a table or a column of ours is not there
            return Standing.BROKEN
        return Standing.SHUT
    if isinstance(fault, sqlite3.DatabaseError):
        return Standing.BROKEN
    return Standing.SHUT
