"""What a check of a card says."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CardCheck:
    """One thing about a card that does not agree with the rest of it.

    `path` is its place on the card, as `.flash` or `.activators[0].share`; `severe` where one of the values must be
    wrong, or where it can hurt somebody.
    """

    path: str
    message: str
    severe: bool = False
