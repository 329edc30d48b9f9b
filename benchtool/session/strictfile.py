"""How a table of resources/ is read: strictly, a slip in it is a fault that names the place."""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, TypeVar

import msgspec
from msgspec import Meta, Struct

Shape = TypeVar("Shape")
Said = Annotated[str, Meta(min_length=1, max_length=4_000)]


class TableFault(ValueError):
    """A table can't be used; the message names the file and the place in it."""


class Strict(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The base of what a table holds: an unknown field is a fault."""


def read_table(path: Path, shape: type[Shape]) -> Shape:
    """Read a file of this shape.

    Raises:
        TableFault: it is not of this shape.
        OSError: it can't be read.
    """
    try:
        return msgspec.json.decode(path.read_bytes(), type=shape)
    except (msgspec.DecodeError, UnicodeDecodeError) as fault:  # a ValidationError too: its message names the place
        raise TableFault(f"{path.name}: {fault}") from None


def no_doubles(path: Path, where: str, keys: Sequence[Any]) -> None:
    """Refuse a table in which one of these stands twice.

    Raises:
        TableFault: one does; the message names both places.
    """
    seen: dict[Any, int] = {}
    for i, key in enumerate(keys):
        if key in seen:
            raise TableFault(f"{path.name}: “{key}” stands there twice - at `$.{where}[{seen[key]}]` and `[{i}]`")
        seen[key] = i
