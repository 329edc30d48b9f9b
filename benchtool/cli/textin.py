"""Reads what a command is given: a file, or `-` for standard input."""

from pathlib import Path

from benchtool.cli.common import Means, Unusable, short

MOST_BYTES = 1_000_000
"""More is no list that a hand wrote."""


def read_text(name: str, means: Means, what: str) -> str:
    """Read the file of this name, or standard input where it is `-`; `what` says what it should be.

    Raises:
        Unusable: it can't be read, or is too long for it.
    """
    return _read_input(means, what) if name == "-" else _read_file(name, what)


def _read_input(means: Means, what: str) -> str:
    if means.stdin is None:
        raise Unusable("There is no standard input to read from: name a file.")
    try:
        text = means.stdin.read(MOST_BYTES + 1)
    except (OSError, ValueError):
        raise Unusable("Standard input can't be read as text in UTF-8.") from None
    if len(text) > MOST_BYTES:
        raise Unusable(f"Standard input is too long to be {what}.")
    return text


def _read_file(name: str, what: str) -> str:
    from benchtool.store.files import NotOrdinary, TooLarge, read_file

    try:
        return read_file(Path(name), MOST_BYTES).decode("utf-8")
    except UnicodeDecodeError:
        raise Unusable(f"“{short(name)}” is no text in UTF-8.") from None
    except TooLarge:
        raise Unusable(f"“{short(name)}” is too large to be {what}.") from None
    except NotOrdinary:
        raise Unusable(f"“{short(name)}” is no ordinary file: write - and pipe it in.") from None
    except OSError as fault:
        raise Unusable(f"“{short(name)}” can't be read: {fault.strerror or fault}.") from None
    except ValueError:
        raise Unusable(f"“{short(name)}” can't be the name of a file.") from None
