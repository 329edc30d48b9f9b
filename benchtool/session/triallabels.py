"""What stands on the labels of a trial's strips, and their file: written whole or not at all, over nothing else."""

from dataclasses import dataclass
from pathlib import Path

from benchtool.session.ownfile import file_stem, save_own
from benchtool.session.session import Session
from benchtool.session.trialchecks import read
from benchtool.session.trialkinds import Setup, stack_words, titles
from benchtool.store.faults import SaveFault
from benchtool.trade.saying import say

__all__ = ["CREATOR", "Label", "Labels", "SaveFault", "labels_of", "save_labels", "suggested_name"]

CREATOR = "Labels of a test panel"
"""Stands in each file, so that no other file is written over."""
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
    stem = file_stem(labels.trial)
    return f"{stem or say('Trial')} {say('labels')}.pdf"


def save_labels(path: Path, data: bytes) -> None:
    """Write the labels, atomically and durably (see `store.atomic`), over nothing but earlier labels.

    Raises:
        SaveFault: they were not written; the message says why and what to do.
    """
    save_own(path, data, lambda head: head.startswith(b"%PDF") and _MARK in head, _HEAD)
