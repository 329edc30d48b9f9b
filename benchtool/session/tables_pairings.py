"""The table of what may go over what, read from resources/ strictly."""

from functools import cache
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta

from benchtool.job.cards import Chemistry
from benchtool.rules.finding import Pairing, Severity, While
from benchtool.session.resources import resource
from benchtool.session.strictfile import Strict, TableFault, read_table

Pair = tuple[Chemistry, Chemistry]
Said = Annotated[str, Meta(min_length=1, max_length=1_000)]


class _Row(Strict, frozen=True, kw_only=True):
    over: Chemistry
    under: Chemistry
    severity: Severity
    during: While
    what: Said
    remedy: Said
    source: Said
    barrier: bool = False


class _File(Strict, frozen=True, kw_only=True):
    about: dict[str, Said]
    pairings: tuple[_Row, ...]


def read_pairings(path: Path) -> dict[Pair, Pairing]:
    """Read the table, by what goes over and what lies under.

    Raises:
        TableFault: the file is not of the right shape, or a pair stands there twice.
        OSError: the file can't be read.
    """
    rows = read_table(path, _File).pairings
    table: dict[Pair, Pairing] = {}
    for place, row in enumerate(rows):
        pair = (row.over, row.under)
        at = f"{path.name}: `$.pairings[{place}]`"
        if pair in table:
            raise TableFault(f"{at}: {row.over.value} over {row.under.value} stands there twice")
        for field, slip in _slips(row):
            raise TableFault(f"{at}.{field}: {slip}")
        table[pair] = Pairing(**msgspec.structs.asdict(row))
    return table


def _slips(row: _Row) -> list[tuple[str, str]]:
    slips = []
    if row.severity is Severity.NOTE:
        slips.append(("severity", "a pairing is a stop or a caution"))
    if row.what[:1].isupper() or row.what.endswith("."):
        slips.append(("what", "begins small and ends without a full stop"))
    if not row.remedy[:1].isupper() or not row.remedy.endswith("."):
        slips.append(("remedy", "is a whole sentence"))
    return slips


@cache
def load_pairings() -> dict[Pair, Pairing]:
    """Read the table that goes with the program, once.

    Raises:
        TableFault: the table can't be used.
        OSError: the file is missing or can't be read.
    """
    return read_pairings(resource("pairings.json"))
