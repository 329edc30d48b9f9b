"""What goes out: an answer to a stream that may be closed, full or narrow, and a refusal in one line."""

import contextlib
import os
from collections.abc import Mapping
from typing import TextIO

from benchtool.cli.common import Unusable, printable


def json_text(values: Mapping[str, object]) -> str:
    """Write an answer as one JSON object and a newline."""
    import json

    return json.dumps(values, allow_nan=False, indent=2) + "\n"


def write(out: TextIO, text: str, status: int) -> int:
    """Write an answer and give its status back; a reader that had enough, as `| head` does, is no trouble.

    Raises:
        Unusable: the stream takes nothing, a full disk say.
    """
    try:
        _put(out, text)
    except BrokenPipeError:
        _let_go(out)
    except OSError as fault:
        _let_go(out)
        raise Unusable(f"The answer can't be written: {fault.strerror or fault}.") from None
    return status


def refuse(err: TextIO, message: str) -> None:
    """Say in one line why there is no answer; with nobody to say it to, say nothing."""
    flat = printable(message)
    with contextlib.suppress(OSError, ValueError):
        _put(err, (flat if len(flat) <= 400 else flat[:399] + "…") + "\n")


def _put(stream: TextIO, text: str) -> None:
    try:
        stream.write(text)
    except UnicodeEncodeError:
        coding = stream.encoding or "ascii"
        stream.write(text.encode(coding, "replace").decode(coding))
    stream.flush()


def _let_go(out: TextIO) -> None:
    """Point a stream that can't be written at nothing: Python flushes it once more at its end."""
    with contextlib.suppress(OSError, ValueError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, out.fileno())
        os.close(nothing)
