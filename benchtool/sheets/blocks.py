"""What a printed sheet is made of: the page that is sent and the page that is printed are both made from it.

A sheet says nothing of fonts and margins. All of its text is text: whoever draws it escapes what their format takes for
markup.
"""

from dataclasses import dataclass
from enum import StrEnum


class Paper(StrEnum):
    """What a sheet is printed on (ISO 216 and ANSI/ASME Y14.1)."""

    A4 = "A4"
    LETTER = "US Letter"

    @property
    def size_mm(self) -> tuple[float, float]:
        """Give its width and height (mm)."""
        return (210.0, 297.0) if self is Paper.A4 else (215.9, 279.4)


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading: `level` 1 for a section, 2 within one. What follows it stays on its page."""

    text: str
    level: int = 1


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph; `small` for what only explains."""

    text: str
    small: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels and what they say, one a row."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """A table; its head stands again on each page. `right` are the columns (from 0) of figures."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Caution:
    """Something that can hurt or spoil, set apart by shape and by the word before it."""

    text: str
    word: str = "Caution"


@dataclass(frozen=True, slots=True)
class Band:
    """One layer of a drawn stack: its name, what stands beside it, and its colour where one is chosen."""

    name: str
    beside: str
    colour: str | None = None
    substrate: bool = False


@dataclass(frozen=True, slots=True)
class Stack:
    """The piece in cross-section, the face that the viewer sees on top; `words` say the same for who can't see it."""

    bands: tuple[Band, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Shown:
    """A photo on a sheet: the name of its file beside the job, what it hashes to, and what stands below it.

    `called` is what its file was called before.
    """

    name: str
    sha256: str
    caption: str
    called: str = ""


@dataclass(frozen=True, slots=True)
class Photos:
    """Photos beside each other."""

    shown: tuple[Shown, ...]


Block = Heading | Words | Facts | Grid | Caution | Stack | Photos


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A whole sheet. `title` also names the file; `language` is a BCP 47 tag; `foot` stands below each page.

    `one_page` says that it is meant for one page: whoever draws it makes it smaller before they make it longer.
    """

    title: str
    under: str
    blocks: tuple[Block, ...]
    foot: str
    language: str = "en"
    one_page: bool = False
