"""The lines of the watch: strips of a trial that wait for the same, due within a minute, stand in one of them."""

from dataclasses import replace
from datetime import datetime, timedelta
from weakref import WeakKeyDictionary

from benchtool.session.due import Due, due_now
from benchtool.session.session import Session
from benchtool.trade.windows import Phase

TOGETHER = timedelta(minutes=1)
"""Strips due so close to each other stand together, as they do in the list of the run."""

_Key = tuple[tuple[int, object, int], ...]
_Made = tuple[tuple[int, tuple[str, str]], ...]
_KNOWN: WeakKeyDictionary[Session, tuple[_Key, tuple[object, ...], _Made]] = WeakKeyDictionary()


def due_lines(session: Session, now: datetime) -> list[Due]:
    """Give what is due, sorted by what needs hands next, strips that go together in one line.

    A wait of several strips runs to the last of them, a deadline to the first. Each window by itself stays in the
    watch of the session (`due_now`), and in the alarms.
    """
    dues = due_now(session, now)
    if not any(_strip_of(due) for due in dues):
        return dues
    key = tuple((id(due.window), due.phase, due.rank) for due in dues)
    kept = tuple(due.window for due in dues)  # held, so that no id is given to another object
    known = _KNOWN.get(session)
    if known is None or known[0] != key:
        known = _KNOWN[session] = (key, kept, _made(dues))
    return [replace(dues[i], strips=words, numbers=few) if words else dues[i] for i, (words, few) in known[2]]


def _strip_of(due: Due) -> str | None:
    piece = due.document.state.pieces.get(due.window.piece)
    return piece.piece.strip_of if piece is not None else None


def _made(dues: list[Due]) -> _Made:
    """Give the lines: which of the windows stands for each, and the strips where there are several."""
    groups: list[list[int]] = []
    last: dict[object, int] = {}
    by_time = sorted(range(len(dues)), key=lambda i: _edge(dues[i]))
    for i in by_time:
        alike = _alike(dues[i])
        at = last.get(alike) if alike is not None else None
        if at is not None and _edge(dues[i]) - _edge(dues[groups[at][0]]) <= TOGETHER.total_seconds():
            groups[at].append(i)
        else:
            if alike is not None:
                last[alike] = len(groups)
            groups.append([i])
    lines = []
    for group in sorted(groups, key=min):  # a line stands where the first of its strips stood
        waits = dues[group[0]].phase is Phase.WAITING
        named = _named([dues[i] for i in group]) if len(group) > 1 else ("", "")
        lines.append((group[-1] if waits else group[0], named))
    return tuple(lines)


def _edge(due: Due) -> float:
    at = due.edge
    return at.timestamp() if at is not None else float("inf")


def _alike(due: Due) -> object:
    """Give what strips have to agree in to stand in one line; None for what is no strip."""
    trial = _strip_of(due)
    layer = due.document.state.layers.get(due.window.layer)
    if trial is None or layer is None:
        return None
    w = due.window
    told = (layer.plan.card, layer.plan.activator, w.kind, w.coat, w.then, w.mark, w.mix, w.needed)
    return (id(due.document), trial, *told, due.phase, due.rank)


def _named(dues: list[Due]) -> tuple[str, str]:
    """Name the strips of a line, and give their numbers alone: `1–4, 8`."""
    from benchtool.job.trialnumbers import strip_numbers  # loaded with the first trial that runs
    from benchtool.session.trialwords import strips_words, upper

    state = dues[0].document.state
    trial = state.trials.get(_strip_of(dues[0]) or "")
    numbers = strip_numbers(trial) if trial is not None else {}
    mine = sorted({numbers[d.window.piece] for d in dues if d.window.piece in numbers})
    runs: list[list[int]] = []
    for n in mine:
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    few = (f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)
    return upper(strips_words(mine)), ", ".join(few)
