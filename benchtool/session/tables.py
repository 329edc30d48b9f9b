"""The trade's tables, read from resources/ strictly: a slip in them is a fault, never a guess."""

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Annotated, Any, TypeVar

import msgspec
from msgspec import Meta, Struct

from benchtool.job.cards import Hazard, Id, Name, Text
from benchtool.rules.finding import Tables
from benchtool.session.resources import resource
from benchtool.trade.substrates import Flex, Substrate

Shape = TypeVar("Shape")
Said = Annotated[str, Meta(min_length=1, max_length=4_000)]


class TableFault(ValueError):
    """A table can't be used; the message names the file and the place in it."""


class _Strict(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class _SubstrateRow(_Strict, frozen=True, kw_only=True):
    id: Id
    name: Name
    flex: Flex | None
    refuses_paint: bool
    moulded: bool
    source: Said
    known: bool = True


class _Substrates(_Strict, frozen=True, kw_only=True):
    about: dict[str, Text]
    substrates: tuple[_SubstrateRow, ...]


class _CautionRow(_Strict, frozen=True, kw_only=True):
    hazard: Hazard
    text: Said
    source: Said


class _Cautions(_Strict, frozen=True, kw_only=True):
    about: dict[str, Text]
    cautions: tuple[_CautionRow, ...]


def _read(path: Path, shape: type[Shape]) -> Shape:
    try:
        return msgspec.json.decode(path.read_bytes(), type=shape)
    except (msgspec.DecodeError, UnicodeDecodeError) as fault:  # a ValidationError too: its message names the place
        raise TableFault(f"{path.name}: {fault}") from None


def _no_doubles(path: Path, where: str, keys: Sequence[Any]) -> None:
    seen: dict[Any, int] = {}
    for i, key in enumerate(keys):
        if key in seen:
            raise TableFault(f"{path.name}: “{key}” stands there twice - at `$.{where}[{seen[key]}]` and `[{i}]`")
        seen[key] = i


def read_substrates(path: Path) -> dict[str, Substrate]:
    """Read the table of materials, by id.

    Raises:
        TableFault: the file is not of the right shape, an id stands there twice, or `unknown` is missing.
        OSError: the file can't be read.
    """
    rows = _read(path, _Substrates).substrates
    _no_doubles(path, "substrates", [row.id for row in rows])
    table = {row.id: Substrate(**msgspec.structs.asdict(row)) for row in rows}
    if "unknown" not in table or table["unknown"].known:
        raise TableFault(f"{path.name}: `$.substrates` has no “unknown” whose `known` is false")
    return table


def read_cautions(path: Path) -> dict[Hazard, str]:
    """Read what to say of each hazard.

    Raises:
        TableFault: the file is not of the right shape, or a hazard is missing or stands there twice.
        OSError: the file can't be read.
    """
    rows = _read(path, _Cautions).cautions
    _no_doubles(path, "cautions", [row.hazard.value for row in rows])
    table = {row.hazard: row.text for row in rows}
    for hazard in Hazard:
        if hazard not in table:
            raise TableFault(f"{path.name}: `$.cautions` says nothing of “{hazard.value}”")
    return table


@cache
def load_tables() -> Tables:
    """Read all tables that the rules look things up in, once.

    Raises:
        TableFault: a table can't be used.
        OSError: a file is missing or can't be read.
    """
    return Tables(
        substrates=read_substrates(resource("substrates.json")), cautions=read_cautions(resource("cautions.json"))
    )
