"""The steps of a plan in words, one a line, and what the plan found: for the list, for the page and for paper."""

from typing import NamedTuple

from benchtool.bench.dayrows import DayPicture, Row, follower, work_word
from benchtool.plan.work import Placed
from benchtool.session.due import clock_time
from benchtool.trade.saying import say
from benchtool.trade.windows import WindowKind


class Said(NamedTuple):
    """One thing that the plan found: the word that stands before it, the sentence, whether it is trouble."""

    word: str
    sentence: str
    trouble: bool = False


Line = tuple[str, str, str, str, str]
"""Start, end, piece, what, and when it is too late for it."""


def head() -> Line:
    """Give the heads of the columns."""
    return say("Start"), say("End"), say("Piece"), say("What"), say("Before")


def lines(picture: DayPicture) -> tuple[tuple[Line, Row, Placed], ...]:
    """Write every step of a plan in the order of time."""
    steps = sorted(((b, r) for r in picture.rows for b in r.blocks), key=lambda s: (s[0].starts_at, s[0].ends_at))
    found = []
    several = len({r.job for r in picture.rows}) > 1
    for placed, row in steps:
        task, now = placed.task, picture.now
        layer = picture.names.layer(task.job, task.piece, task.layer)
        what = task.words or work_word(placed)
        if layer and layer.lower() not in what.lower():
            what = say("{layer}: {what}", layer=layer, what=what)
        line = (
            clock_time(placed.starts_at, now), clock_time(placed.ends_at, now), _called(row, several=several), what,
            before_words(picture, row, placed),
        )  # fmt: skip
        found.append((line, row, placed))
    return tuple(found)


def _called(row: Row, *, several: bool) -> str:
    """Give what a piece is called, with its job where there are several."""
    named = row.named
    return say("{piece} ({job})", piece=named.name, job=named.job_title) if several and named.job_title else named.name


def before_words(picture: DayPicture, row: Row, placed: Placed) -> str:
    """Say by when a step must be on, "" where nothing closes."""
    kept = [
        w.closes_at
        for w in row.waits
        if w.closes_at is not None and w.kind is not WindowKind.POT_LIFE and not w.missed and follower(row, w) is placed
    ]
    return clock_time(min(kept), picture.now) if kept else ""
