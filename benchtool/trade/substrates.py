"""What a piece is made of, as far as paint cares."""

from dataclasses import dataclass
from enum import StrEnum


class Flex(StrEnum):
    """Whether the piece bends in use."""

    RIGID = "rigid"
    FLEXIBLE = "flexible"


class Suits(StrEnum):
    """What an activator is made for."""

    RIGID = "rigid"
    FLEXIBLE = "flexible"
    ANY = "any"

    def suits(self, flex: Flex) -> bool:
        """Say whether this activator may go on a piece that is `flex`."""
        return self is Suits.ANY or self.value == flex.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Substrate:
    """A material.

    `flex` is None where it may be either; one that `refuses_paint` needs a promoter; `moulded` parts carry
    release agent; `known` is False for the material nobody has named.
    """

    id: str
    name: str
    flex: Flex | None
    refuses_paint: bool
    moulded: bool
    source: str
    known: bool = True
