"""The job file: one JSON document that a person can read and compare. DESIGN.md section 6 says what it promises."""

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
from msgspec import DecodeError, Struct, ValidationError
from msgspec.structs import replace

from benchtool.job.events import (
    CardCopied,
    ClockAnswered,
    Corrected,
    CourseExpected,
    Event,
    JobDescribed,
    LotTaken,
)
from benchtool.job.lots import in_utc
from benchtool.job.record import FORMAT, SCHEMA, Job
from benchtool.job.validate import faults
from benchtool.store import atomic
from benchtool.store.atomic import KEEP
from benchtool.store.faults import (
    LARGEST,
    JobFileFault,
    SaveFault,
    Unreadable,
    cant_reach,
    cant_save,
    malformed,
    misshapen,
    not_a_job_file,
    position,
)
from benchtool.store.files import one_line, read_file
from benchtool.store.newer import understood

__all__ = ["KEEP", "JobFileFault", "Opened", "SaveFault", "dump", "load", "save"]

Migration = Callable[[dict[str, Any]], dict[str, Any]]


def _nothing_moved(plain: dict[str, Any]) -> dict[str, Any]:
    """Take a document as it stands: what the next schema added may be left out."""
    return plain


MIGRATIONS: tuple[Migration, ...] = (_nothing_moved,) * 5
"""How a document of each older schema becomes one of the next: the first takes schema 1 to 2."""

_UNKEEPABLE = "The record holds what could not be opened again"
_UNDO = "undo the last act"
_BOM = b"\xef\xbb\xbf"


class _Head(Struct):
    """What tells a job file from any other JSON."""

    format: Any = None
    schema: Any = None


_heads = msgspec.json.Decoder(_Head)
_jobs = msgspec.json.Decoder(Job)
_encoder = msgspec.json.Encoder()


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A job as read. One of a `newer` schema is read-only, and `notes` say what of it was not understood."""

    job: Job
    newer: bool = False
    notes: tuple[str, ...] = ()


def load(path: Path) -> Opened:
    """Read the job file at `path` and check all that can be checked.

    All times come out in UTC. The file is only read, whatever is wrong with it.

    Raises:
        JobFileFault: it can't be read as a job.
    """
    try:
        return _load(path)
    except Unreadable as wrong:
        raise wrong.fault(path, _last_good(path)) from None


def _last_good(path: Path) -> Path | None:
    for version in atomic.versions(path):
        try:
            _load(version)
        except Unreadable:
            continue
        return version
    return None


def _load(path: Path) -> Opened:
    try:
        data = read_file(path, LARGEST)
    except (OSError, ValueError) as fault:
        raise cant_reach(path, fault) from None
    opened = _parse(data.removeprefix(_BOM))  # some editors put a mark before the text
    wrong = next(faults(opened.job), None)
    if wrong is not None:
        raise Unreadable(one_line(wrong.message[:1].upper() + wrong.message[1:]), one_line(wrong.path))
    return opened


def _parse(data: bytes) -> Opened:
    if not data.strip():
        raise Unreadable("The file is empty", cut=True)
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise _damaged(data, Unreadable("This is no UTF-8 text", position(data, fault.start))) from None
    try:
        head = _heads.decode(data)
        if head.format != FORMAT:
            raise not_a_job_file(f"its “format” is not “{FORMAT}”")
        if type(head.schema) is not int or head.schema < 1:
            raise not_a_job_file("it has no schema number of 1 or more", "$.schema")
        require_single_keys(data)
        if head.schema == SCHEMA:
            return Opened(job=_in_utc(_jobs.decode(data)))
        plain = msgspec.json.decode(data)
        if head.schema < SCHEMA:
            return Opened(job=_in_utc(msgspec.convert(_migrated(plain, head.schema), Job)))
        job, notes = understood(plain)
        return Opened(job=_in_utc(job), newer=True, notes=notes)
    except ValidationError as wrong:
        if " - at `" not in str(wrong) and "Expected `object`" in str(wrong):
            raise not_a_job_file("it does not begin with {", "$") from None
        raise misshapen(str(wrong)) from None
    except DecodeError as wrong:
        raise _damaged(data, malformed(data, str(wrong))) from None
    except RecursionError:
        raise not_a_job_file("it is nested too deeply") from None
    except OverflowError:
        raise Unreadable("A time lies outside of the calendar") from None


def _damaged(data: bytes, wrong: Unreadable) -> Unreadable:
    """Tell a job file that was damaged from a file that never was one."""
    if FORMAT.encode() in data[:1_000]:
        return wrong
    return not_a_job_file(wrong.wrong[:1].lower() + wrong.wrong[1:], wrong.place)


def _migrated(plain: dict[str, Any], schema: int) -> dict[str, Any]:
    for step in MIGRATIONS[schema - 1 :]:
        plain = step(plain)
    return {**plain, "schema": SCHEMA}


class _Twice(dict[str, Any]):
    """An object with a key that stands in it twice."""

    key = ""


def require_single_keys(data: bytes, place: str = "$") -> None:
    """Refuse an object that has one key twice: a reader would keep one of the two and lose what was typed.

    Raises:
        Unreadable: says which key, and where; `place` is that of the whole.
        RecursionError: it is nested too deeply.
    """
    found = False

    def read(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        nonlocal found
        plain = dict(pairs)
        if len(plain) == len(pairs):
            return plain
        found = True
        twice = _Twice(plain)
        keys = [k for k, _ in pairs]
        twice.key = next(k for k in keys if keys.count(k) > 1)
        return twice

    top = json.loads(data, object_pairs_hook=read, parse_int=float)
    if found:
        where, key = next(_twice(top, place))
        raise Unreadable(f"“{one_line(key, 60)}” stands here twice", one_line(where))


def _twice(value: Any, place: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, _Twice):
        yield place, value.key
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _twice(inner, f"{place}.{key}")
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from _twice(inner, f"{place}[{i}]")


def dump(job: Job) -> bytes:
    """Write a job as it stands in its file: UTF-8, indented, keys in a fixed order, times in UTC with `Z`.

    Raises:
        ValueError: the job holds what the file can't: a time without its zone, half of a character.
        OverflowError: a time lies outside of the calendar.
    """
    in_utc = _in_utc(job)
    head = msgspec.to_builtins(replace(in_utc, events=()))
    events = [_card_copied(e) if isinstance(e, CardCopied) else e for e in in_utc.events]
    return msgspec.json.format(_encoder.encode({**head, "events": events}), indent=2) + b"\n"


def _card_copied(event: CardCopied) -> dict[str, Any]:
    """Write a card's times as its sheet has them (`PT15M`) and its origins in order."""
    plain: dict[str, Any] = msgspec.to_builtins(event, builtin_types=(timedelta,), order="deterministic")
    card: dict[str, Any] = plain["card"]
    plain["card"] = {k: iso_duration(v) if isinstance(v, timedelta) else v for k, v in card.items()}
    plain["card"] |= iso_nested(card)
    return plain


def iso_nested(card: dict[str, Any]) -> dict[str, Any]:
    """Write the times within what a card says of air, heat and care as its sheet has them."""
    told = {}
    if "paces" in card:
        told["paces"] = iso_paces(card["paces"])
    if "forced" in card:
        told["forced"] = {time: {**dry, "wait": iso_duration(dry["wait"])} for time, dry in card["forced"].items()}
    if "care" in card:
        told["care"] = {what: iso_duration(wait) for what, wait in card["care"].items()}
    return told


def iso_paces(paces: dict[str, Any]) -> dict[str, Any]:
    """Write the times in a card's tables of pace as its sheet has them."""
    told = {}
    for time, pacing in paces.items():
        rows = [[degC, iso_duration(wait)] for degC, wait in pacing.get("points", ())]
        told[time] = {**pacing, "points": rows} if rows else pacing
    return told


def iso_duration(length: timedelta) -> str | timedelta:
    """Write an ISO 8601 duration in days, hours, minutes and seconds."""
    if length < timedelta(0):
        return length
    hours, rest = divmod(length.seconds, 3_600)
    minutes, seconds = divmod(rest, 60)
    part = f".{length.microseconds:06d}".rstrip("0") if length.microseconds else ""
    days = f"{length.days}D" if length.days else ""
    clock = "".join(f"{n}{unit}" for n, unit in ((hours, "H"), (minutes, "M")) if n)
    clock += f"{seconds}{part}S" if seconds or part else ""
    return f"P{days}{'T' if clock else ''}{clock}" if days or clock else "PT0S"


def _in_utc(job: Job) -> Job:
    if job.created.tzinfo is UTC and all(_is_utc(e) for e in job.events):
        return job
    return replace(job, created=_utc(job.created), events=tuple(_event_in_utc(e) for e in job.events))


def _is_utc(event: Event) -> bool:
    if isinstance(event, LotTaken) and in_utc(event.lot) is not event.lot:
        return False
    if isinstance(event, CourseExpected) and any(p.at.tzinfo is not UTC for p in event.points):
        return False
    if isinstance(event, ClockAnswered) and not event.since.tzinfo is event.until.tzinfo is UTC:
        return False
    if isinstance(event, JobDescribed) and event.promised is not None and event.promised.tzinfo is not UTC:
        return False
    return event.at.tzinfo is UTC and not (isinstance(event, Corrected) and event.really_at.tzinfo is not UTC)


def _event_in_utc(event: Event) -> Event:
    if _is_utc(event):
        return event
    moved: Event = replace(event, at=_utc(event.at))
    if isinstance(moved, LotTaken):
        return replace(moved, lot=in_utc(moved.lot))
    if isinstance(moved, CourseExpected):
        return replace(moved, points=tuple(replace(p, at=_utc(p.at)) for p in moved.points))
    if isinstance(moved, ClockAnswered):
        return replace(moved, since=_utc(moved.since), until=_utc(moved.until))
    if isinstance(moved, JobDescribed) and moved.promised is not None:
        return replace(moved, promised=_utc(moved.promised))
    return replace(moved, really_at=_utc(moved.really_at)) if isinstance(moved, Corrected) else moved


def _utc(at: datetime) -> datetime:
    if at.tzinfo is None:
        raise ValueError(f"the time {at.isoformat()} does not say its zone")
    return at.astimezone(UTC)


def save(path: Path, job: Job, *, keep: int = KEEP) -> None:
    """Save a job, atomically and durably; see `store.atomic` for what that means.

    What could not be opened again is not written. With `keep` 0 the versions kept beside it stay as they are.

    Raises:
        SaveFault: it was not saved; the message says why and what to do.
    """
    if job.schema != SCHEMA:
        raise SaveFault(path, "This job was made by a newer version of this tool: change it there")
    try:
        data = dump(job)
        wrong = next(faults(_jobs.decode(data)), None)
    except (ValueError, OverflowError, TypeError) as fault:
        raise SaveFault(path, f"{_UNKEEPABLE} ({one_line(str(fault))}): {_UNDO}") from None
    if wrong is not None:
        raise SaveFault(path, f"{_UNKEEPABLE} ({one_line(str(wrong))}): {_UNDO}")
    if len(data) > LARGEST:
        raise SaveFault(path, "This record has grown too large for one file: begin a new job for what follows")
    try:
        atomic.write(path, data, keep=keep)
    except (OSError, ValueError) as fault:
        raise cant_save(path, fault) from None
