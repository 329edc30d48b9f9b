"""What stands on the labels of a trial's strips, and their file: written whole or not at all, over nothing else."""

from dataclasses import dataclass
from pathlib import Path

from benchtool.session.calendars import SaveFault
from benchtool.session.session import Session
from benchtool.session.trialchecks import read
from benchtool.session.trialkinds import Setup, stack_words, titles
from benchtool.store import atomic
from benchtool.store.faults import cant_save
from benchtool.trade.saying import say

__all__ = ["CREATOR", "Label", "Labels", "SaveFault", "labels_of", "save_labels", "suggested_name"]

CREATOR = "Labels of a test panel"
"""Stands in each file, so that no other file is written over."""
_LONGEST_TITLE = 50
_NOT_IN_NAMES = frozenset('<>:"/\\|?*')
_MARK = CREATOR.encode("utf-16-be")
"""As such a file writes it down among its first lines."""
_HEAD = 8_192


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """One label; `panel` counts from 1, `place` on it from 0."""

    number: int
    letter: str
    system: str
    stack: str
    control: bool
    colour: str | None
    panel: int
    place: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Labels:
    """The labels of a trial with what stands on each of them, and the size of a strip (mm)."""

    trial: str
    date: str
    labels: tuple[Label, ...]
    strip_mm: tuple[float, float]


def labels_of(session: Session, setup: Setup) -> Labels:
    """Write the labels of a trial as it is set up, dated today in the painter's own time."""
    names, values = titles(setup), read(session, setup)
    found: list[Label] = []
    for number, spot in setup.numbered():
        system = setup.system(spot.key)
        if system is not None:
            found.append(
                Label(
                    number=number,
                    letter=setup.letter(spot.key),
                    system=names[spot.key],
                    stack=stack_words(system.rows),
                    control=system.control,
                    colour=system.colour,
                    panel=spot.panel,
                    place=spot.place,
                )
            )
    today = session.now().astimezone().date().isoformat()
    return Labels(
        trial=values.name or say("Trial"), date=today, labels=tuple(found),
        strip_mm=(values.width_mm, values.length_mm),
    )  # fmt: skip


def suggested_name(labels: Labels) -> str:
    """Suggest a file name that every system takes: `Trial for bumper labels.pdf`."""
    kept = "".join(" " if c in _NOT_IN_NAMES or not c.isprintable() else c for c in labels.trial)
    stem = " ".join(kept.split())[:_LONGEST_TITLE].strip(" .-~")
    return f"{stem or say('Trial')} {say('labels')}.pdf"


def save_labels(path: Path, data: bytes) -> None:
    """Write the labels, atomically and durably (see `store.atomic`), over nothing but earlier labels.

    Raises:
        SaveFault: they were not written; the message says why and what to do.
    """
    if not _ours(path):
        raise SaveFault(path, say("This file holds something else and is left as it is: choose another name"))
    try:
        atomic.write(path, data, keep=0)
    except (OSError, ValueError) as fault:
        raise cant_save(path, fault) from None


def _ours(path: Path) -> bool:
    """Whether nothing is lost by writing here; what is no file at all is for the writing to refuse."""
    if not path.is_file():
        return True
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
    except OSError:
        return False  # nobody can tell what would be lost
    return not head or (head.startswith(b"%PDF") and _MARK in head)
