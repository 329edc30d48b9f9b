"""The trade's tables, read from resources/ strictly: a slip in them is a fault, never a guess."""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta, field

from benchtool.job.cards import Hazard, Id, Name, Text
from benchtool.rules.finding import Tables
from benchtool.session.resources import resource
from benchtool.session.strictfile import Said, Strict, TableFault, no_doubles, read_table
from benchtool.session.tables_pairings import load_pairings
from benchtool.trade.marks import MarkTable
from benchtool.trade.substrates import FEPA_P, Cleaner, Flex, Material, Nature, Route, Substrate

Energy = Annotated[float, Meta(ge=10, le=100)]


class _SubstrateRow(Strict, frozen=True, kw_only=True):
    id: Id
    name: Name
    flex: Flex | None
    refuses_paint: bool
    moulded: bool
    source: Said
    known: bool = True
    material: Material = Material.UNKNOWN
    symbols: tuple[Name, ...] = ()
    natures: tuple[Nature, ...] = ()
    surface_energy_mN_m: tuple[Energy, Energy] | None = None
    routes: tuple[Route, ...] = ()
    grit: tuple[int, int] | None = None
    safe: tuple[Id, ...] = ()
    harmful: tuple[Id, ...] = ()
    heat_limit_degC: Annotated[float, Meta(ge=30, le=400)] | None = None
    galvanic_V: Annotated[float, Meta(ge=-2, le=0)] | None = None
    moisture: Text = ""
    note: Text = ""
    sources: dict[str, Said] = field(default_factory=dict)


_SOURCED = (
    "symbols", "natures", "surface_energy_mN_m", "routes", "grit", "safe", "harmful", "heat_limit_degC", "galvanic_V",
    "moisture", "note",
)  # fmt: skip
"""The facts that must say where they come from, one by one."""


class _Substrates(Strict, frozen=True, kw_only=True):
    about: dict[str, Text]
    substrates: tuple[_SubstrateRow, ...]
    citations: dict[str, Said] = field(default_factory=dict)


class _CleanerRow(Strict, frozen=True, kw_only=True):
    id: Id
    name: Name
    flammable: bool
    source: Said


class _Cleaners(Strict, frozen=True, kw_only=True):
    about: dict[str, Text]
    cleaners: tuple[_CleanerRow, ...]


class _CautionRow(Strict, frozen=True, kw_only=True):
    hazard: Hazard
    text: Said
    source: Said


class _Cautions(Strict, frozen=True, kw_only=True):
    about: dict[str, Text]
    cautions: tuple[_CautionRow, ...]


def read_cleaners(path: Path) -> dict[str, Cleaner]:
    """Read what a piece may be cleaned with, by id.

    Raises:
        TableFault: the file is not of the right shape, or an id stands there twice.
        OSError: the file can't be read.
    """
    rows = read_table(path, _Cleaners).cleaners
    no_doubles(path, "cleaners", [row.id for row in rows])
    return {row.id: Cleaner(**msgspec.structs.asdict(row)) for row in rows}


def read_substrates(path: Path, cleaners: Collection[str] = frozenset()) -> dict[str, Substrate]:
    """Read the table of materials, by id; `cleaners` are the ids that its rows may name.

    Raises:
        TableFault: the file is not of the right shape, an id stands there twice, `unknown` is missing, or a row
            contradicts itself, names a cleaner or a citation that is not there, or has a fact without its source.
        OSError: the file can't be read.
    """
    whole = read_table(path, _Substrates)
    no_doubles(path, "substrates", [row.id for row in whole.substrates])
    for i, row in enumerate(whole.substrates):
        for place, words in (*_slips(row, cleaners), *_unsourced(row, whole.citations)):
            raise TableFault(f"{path.name}: `$.substrates[{i}].{place}` (“{row.id}”) {words}")
    for place, words in _shared_symbols(whole.substrates):
        raise TableFault(f"{path.name}: `$.substrates{place}` {words}")
    table = {row.id: _substrate(row, whole.citations) for row in whole.substrates}
    if "unknown" not in table or table["unknown"].known:
        raise TableFault(f"{path.name}: `$.substrates` has no “unknown” whose `known` is false")
    return table


_CITED = re.compile(r"\[([^\[\]]*)\]")


def _substrate(row: _SubstrateRow, citations: Mapping[str, str]) -> Substrate:
    facts = msgspec.structs.asdict(row)
    facts["natures"] = frozenset(row.natures)
    facts["sources"] = {at: _CITED.sub(lambda m: citations[m[1]], words) for at, words in row.sources.items()}
    return Substrate(**facts)


def _slips(row: _SubstrateRow, cleaners: Collection[str]) -> Iterator[tuple[str, str]]:
    """Yield the place of each slip in the facts of a row, and what is wrong there."""
    for at in ("safe", "harmful"):
        for j, cleaner in enumerate(getattr(row, at)):
            if cleaner not in cleaners:
                yield f"{at}[{j}]", f"names a cleaner that is not in the table of cleaners: “{cleaner}”"
    for at in ("symbols", "natures", "routes", "safe", "harmful"):
        given = getattr(row, at)
        for j, each in enumerate(given):
            if each in given[:j]:
                yield f"{at}[{j}]", f"says “{each}” twice"
    for j, cleaner in enumerate(row.harmful):
        if cleaner in row.safe:
            yield f"harmful[{j}]", f"calls “{cleaner}” harmful, and `safe` calls it safe"
    if row.surface_energy_mN_m is not None and row.surface_energy_mN_m[0] > row.surface_energy_mN_m[1]:
        yield "surface_energy_mN_m", "has the greater number first"
    if row.grit is not None:
        for j, grade in enumerate(row.grit):
            if grade not in FEPA_P:
                yield f"grit[{j}]", f"is no FEPA P grade: {grade}"
        if row.grit[0] > row.grit[1]:
            yield "grit", "has the finer grade first"


def _unsourced(row: _SubstrateRow, citations: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield each fact that says no source, and each source that belongs to no fact or cites nothing."""
    for at in _SOURCED:
        if at not in row.sources and getattr(row, at) not in (None, (), ""):
            yield at, f"has no source: `sources` has no “{at}”"
    for at, words in row.sources.items():
        if at not in _SOURCED:
            yield f"sources.{at}", "is the source of no fact that a row can have"
        elif getattr(row, at) in (None, "") or (getattr(row, at) == () and at != "routes"):
            yield f"sources.{at}", f"is a source, and `{at}` is not given"
        for name in _CITED.findall(words):
            if name not in citations:
                yield f"sources.{at}", f"cites “{name}”, and `$.citations` has no such name"


def _shared_symbols(rows: Sequence[_SubstrateRow]) -> Iterator[tuple[str, str]]:
    """Yield each symbol that names two materials while the note of one of them does not speak of it."""
    for i, row in enumerate(rows):
        for j, symbol in enumerate(row.symbols):
            others = [other.id for other in rows if other is not row and symbol in other.symbols]
            if others and not re.search(rf"(?<!\w){re.escape(symbol)}(?!\w)", row.note):
                yield (
                    f"[{i}].symbols[{j}]",
                    f"(“{row.id}”): “{symbol}” names “{others[0]}” too, and the note says nothing of it",
                )


def read_cautions(path: Path) -> dict[Hazard, str]:
    """Read what to say of each hazard.

    Raises:
        TableFault: the file is not of the right shape, or a hazard is missing or stands there twice.
        OSError: the file can't be read.
    """
    rows = read_table(path, _Cautions).cautions
    no_doubles(path, "cautions", [row.hazard.value for row in rows])
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
    cleaners = read_cleaners(resource("cleaners.json"))
    return Tables(
        substrates=read_substrates(resource("substrates.json"), cleaners),
        cautions=read_cautions(resource("cautions.json")),
        cleaners=cleaners,
        pairings=load_pairings(),
        marks=_marks,
    )


def _marks() -> MarkTable:
    """Give the symbols of ISO 1043; they are read when the first mark is."""
    from benchtool.session.tables_identify import load_marks

    return load_marks()
