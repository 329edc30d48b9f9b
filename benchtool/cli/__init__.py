"""The same sums and rules without a window, one module a command.

Nothing is imported here: the window asks only whether a word is a command, and starts no later for the rest.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from benchtool.cli.running import run as run

__all__ = ["COMMANDS", "run"]

COMMANDS = (
    "check",
    "mix",
    "size",
    "flow",
    "voc",
    "air",
    "grade",
    "compare",
    "pace",
    "convert",
    "mark",
    "identify",
    "substrate",
    "prep",
    "rules",
    "stack",
    "trial",
    "plan",
    "sheet",
    "card",
    "cards",
    "find",
)
"""The words that `run` answers to; anything else opens the window. Each is a module of this package."""


def __getattr__(name: str) -> Any:
    if name != "run":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from benchtool.cli.running import run

    return run
