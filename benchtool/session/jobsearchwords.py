"""What is said of the folders and of the index when all jobs are searched."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from benchtool.store.jobindex import Standing
from benchtool.trade.saying import say


def when_words(at: datetime) -> str:
    """Say an instant as the painter's clock shows it."""
    return f"{at.astimezone():%Y-%m-%d %H:%M}"


def same_names(paths: Sequence[Path]) -> bool:
    """Whether files can't be told apart by their names alone."""
    return len({path.name for path in paths}) < len(paths)


def as_of_words(at: datetime) -> str:
    """Say from when an answer is."""
    return say("As of {when}", when=when_words(at))


def old_words(why: str, as_of: datetime | None) -> str:
    """Say why a folder could not be read, and from when it is what is found of it."""
    if as_of is None:
        return why
    return say("{why} What is found of it is as of {when}.", why=why, when=when_words(as_of))


def standing_words(standing: Standing) -> str:
    """Say in one sentence what is odd about the index, "" where nothing is."""
    match standing:
        case Standing.BROKEN:
            return say("The index of the jobs was damaged and is made anew from their files.")
        case Standing.NEWER:
            return say("The index of the jobs was made by a newer version and is made anew from their files.")
        case Standing.BUSY:
            return say("Another bench writes the index of the jobs: this one works without it, in memory.")
        case Standing.FULL:
            return say("The disk is full: the index of the jobs is kept in memory until the bench is closed.")
        case Standing.SHUT:
            return say("The index of the jobs can't be written: it is kept in memory until the bench is closed.")
        case _:
            return ""
