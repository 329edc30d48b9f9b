"""A small job in a folder of its own, and a watch over a file that must not change."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from benchtool.job import events as ev
from benchtool.job.cards import Card, Duty, Gun, RecipePart
from benchtool.job.record import FORMAT, SCHEMA, Job
from benchtool.store import jobfile
from benchtool.trade.mixing import PartKind
from benchtool.trade.substrates import Flex

START = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def job() -> Job:
    card = Card(id="c1", name="Clear", duty=Duty.CLEAR, origins={"*": "a demo"}, flash=timedelta(minutes=15))
    piece = ev.Piece(id="p1", name="Tank “blau”", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
    part = RecipePart(name="Clear", kind=PartKind.BASE, share="100")
    events: list[Callable[..., ev.Event]] = [
        lambda **at: ev.JobDescribed(title="Demo", **at),
        lambda **at: ev.CardCopied(card=card, **at),
        lambda **at: ev.PieceAdded(piece=piece, **at),
        lambda **at: ev.LayerAdded(piece="p1", layer=ev.Layer(id="l1", card="c1", coats=2), **at),
        lambda **at: ev.Mixed(mix="m1", layer="l1", card="c1", gun=Gun.AIRBRUSH, make_mL=30.0, parts=(part,), **at),
        lambda **at: ev.Poured(mix="m1", part="Clear", mL=29.5735, typed="1 fl oz", **at),
        lambda **at: ev.CoatStarted(layer="l1", mix="m1", **at),
        lambda **at: ev.CoatDone(layer="l1", **at),
    ]
    made = tuple(draft(id=f"e{i}", at=START + timedelta(minutes=i)) for i, draft in enumerate(events, start=1))
    return Job(format=FORMAT, schema=SCHEMA, id="job-1", created=START, demo=True, events=made)


@pytest.fixture
def path(tmp_path: Path, job: Job) -> Path:
    """Where that job is saved."""
    file = tmp_path / "tank.bench.json"
    jobfile.save(file, job)
    return file


@pytest.fixture
def rights_count(tmp_path: Path) -> None:
    """Skip where this process may read and write whatever it likes, as root does."""
    closed = tmp_path / "closed"
    closed.touch(0)
    free = os.access(closed, os.R_OK)
    closed.unlink()
    if free:
        pytest.skip("this process may read and write everything")


Watch = Callable[[Path], "contextmanager[None]"]


@pytest.fixture
def untouched() -> Watch:
    """A guard that holds a file and its folder to be byte for byte, and name for name, as they were."""

    @contextmanager
    def watch(file: Path) -> Iterator[None]:
        before = _picture(file)
        yield
        assert _picture(file) == before

    return watch


def _picture(file: Path) -> tuple[object, ...]:
    facts = file.lstat()
    content = file.read_bytes() if file.is_file() and facts.st_size < 1_000_000 else b""
    names = sorted(os.walk(file.parent))
    return content, facts.st_mode, facts.st_size, facts.st_mtime_ns, facts.st_ino, names
