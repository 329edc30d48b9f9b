"""The tables of what is moulded on a part and of what can be seen on it, read from resources/ strictly."""

from collections.abc import Container
from functools import cache
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta

from benchtool.job.cards import Id, Name, Text
from benchtool.session.resources import resource
from benchtool.session.strictfile import Said, Strict, TableFault, no_doubles, read_table
from benchtool.session.tables import load_tables
from benchtool.trade.identify import ClueTable, Effect, MaterialKind, Question, Refused, Saying, Tell
from benchtool.trade.markreading import parse
from benchtool.trade.marks import MarkTable, Resin, Trait
from benchtool.trade.substrates import Material, Nature

Symbol = Annotated[str, Meta(pattern=r"^[A-Z0-9/+-]{1,20}$")]


class _Named(Strict, frozen=True, kw_only=True):
    symbol: Symbol
    name: Said
    source: Said
    composed: bool = False


class _Trait(Strict, frozen=True, kw_only=True):
    symbol: Symbol
    name: Said
    source: Said
    only: tuple[Symbol, ...] = ()


class _Code(Strict, frozen=True, kw_only=True):
    code: Annotated[int, Meta(ge=10, le=99)]
    name: Said
    source: Said


class _Group(Strict, frozen=True, kw_only=True):
    least: Annotated[int, Meta(ge=10, le=99)]
    most: Annotated[int, Meta(ge=10, le=99)]
    name: Said
    source: Said


class _Found(Strict, frozen=True, kw_only=True):
    found: Symbol
    means: Annotated[str, Meta(pattern=r"^[A-Z0-9/+()-]{1,20}$")]
    source: Said


class _Resin(Strict, frozen=True, kw_only=True):
    number: Annotated[int, Meta(ge=1, le=7)]
    means: str
    words: Said
    source: Said


class _Marks(Strict, frozen=True, kw_only=True):
    about: dict[str, Text]
    symbols: tuple[_Named, ...]
    traits: tuple[_Trait, ...]
    fillers: tuple[_Named, ...]
    forms: tuple[_Named, ...]
    plasticisers: tuple[_Named, ...]
    flame_retardants: tuple[_Code, ...]
    flame_groups: tuple[_Group, ...]
    found: tuple[_Found, ...]
    resins: tuple[_Resin, ...]


# --- marks -------------------------------------------------------------------------------------------


def read_marks(path: Path) -> MarkTable:
    """Read the symbols of ISO 1043, and what is found on parts beside them.

    Raises:
        TableFault: the file is not of the right shape, a symbol stands there twice, or what is found on parts stands
            for something that is no mark by the standard.
        OSError: the file can't be read.
    """
    rows = read_table(path, _Marks)
    for where in ("symbols", "traits", "fillers", "forms", "plasticisers"):
        no_doubles(path, where, [row.symbol for row in getattr(rows, where)])
    no_doubles(path, "flame_retardants", [row.code for row in rows.flame_retardants])
    no_doubles(path, "found", [row.found for row in rows.found])
    no_doubles(path, "resins", [row.number for row in rows.resins])
    table = MarkTable(
        polymers={row.symbol: row.name for row in rows.symbols},
        composed=frozenset(row.symbol for row in rows.symbols if row.composed),
        traits={row.symbol: Trait(row.name, row.only) for row in rows.traits},
        fillers={row.symbol: row.name for row in rows.fillers},
        forms={row.symbol: row.name for row in rows.forms},
        plasticisers={row.symbol: row.name for row in rows.plasticisers},
        flame_retardants={row.code: row.name for row in rows.flame_retardants},
        flame_groups=tuple((row.least, row.most, row.name) for row in rows.flame_groups),
        found={row.found: row.means for row in rows.found},
        resins={row.number: Resin(row.means, row.words) for row in rows.resins},
    )
    for where, means in (("found", table.found.values()), ("resins", [r.means for r in table.resins.values()])):
        for i, mean in enumerate(means):
            if mean and not (read := parse(f">{mean}<", table)).valid and not read.fillers:
                raise TableFault(f"{path.name}: “{mean}” is no mark of the standard - at `$.{where}[{i}].means`")
    return table


@cache
def load_marks() -> MarkTable:
    """Read the symbols, once.

    Raises:
        TableFault: the table can't be used.
        OSError: the file is missing or can't be read.
    """
    return read_marks(resource("marks.json"))


# --- clues -------------------------------------------------------------------------------------------


class _Kind(Strict, frozen=True, kw_only=True):
    ids: frozenset[Id] = frozenset()
    symbols: frozenset[Symbol] = frozenset()
    materials: frozenset[Material] = frozenset()
    natures: frozenset[Nature] = frozenset()
    without: frozenset[Id] = frozenset()


class _Effect(Strict, frozen=True, kw_only=True):
    kind: Name
    weight: Annotated[int, Meta(ge=-9, le=9)]
    why: Said
    source: Said
    excludes: bool = False


class _Answer(Strict, frozen=True, kw_only=True):
    id: Id
    words: Said
    effects: tuple[_Effect, ...] = ()
    wetting_mN_m: tuple[float, float] | None = None
    tells: frozenset[Tell] = frozenset()


class _Question(Strict, frozen=True, kw_only=True):
    id: Id
    ask: Said
    how: Said
    effort: Annotated[int, Meta(ge=1, le=3)]
    first: bool = False
    answers: Annotated[tuple[_Answer, ...], Meta(min_length=2, max_length=9)]


class _Refused(Strict, frozen=True, kw_only=True):
    what: Said
    why: Said
    source: Said


class _Clues(Strict, frozen=True, kw_only=True):
    about: dict[str, Text]
    kinds: dict[Name, _Kind]
    questions: tuple[_Question, ...]
    refused: tuple[_Refused, ...]


def read_clues(path: Path, substrates: Container[str] | None = None) -> ClueTable:
    """Read the clues; with the ids of the table of materials, those that a kind names are held against it.

    Raises:
        TableFault: the file is not of the right shape, an id stands there twice, an effect names a kind or a kind a
            material that there is not, an effect that excludes speaks for a kind, or a range is the wrong way round.
        OSError: the file can't be read.
    """
    rows = read_table(path, _Clues)
    no_doubles(path, "questions", [q.id for q in rows.questions])
    for i, question in enumerate(rows.questions):
        no_doubles(path, f"questions[{i}].answers", [a.id for a in question.answers])
        for j, answer in enumerate(question.answers):
            _check_answer(answer, rows, f"{path.name}: `$.questions[{i}].answers[{j}]`")
    if substrates is not None:
        for name, kind in rows.kinds.items():
            strange = sorted(i for i in kind.ids | kind.without if i not in substrates)
            if strange:
                raise TableFault(f"{path.name}: there is no material “{strange[0]}” - at `$.kinds[{name}]`")
    return ClueTable(
        questions={q.id: _question(q) for q in rows.questions},
        kinds={name: MaterialKind(**msgspec.structs.asdict(kind)) for name, kind in rows.kinds.items()},
        refused=tuple(Refused(what=r.what, why=r.why) for r in rows.refused),
    )


def _check_answer(answer: _Answer, rows: _Clues, where: str) -> None:
    for effect in answer.effects:
        if effect.kind not in rows.kinds:
            raise TableFault(f"{where} names the kind “{effect.kind}”, which `$.kinds` does not have")
        if effect.excludes and effect.weight >= 0:
            raise TableFault(f"{where} excludes “{effect.kind}” and speaks for it")
    if answer.wetting_mN_m is not None and not 0 < answer.wetting_mN_m[0] <= answer.wetting_mN_m[1]:
        raise TableFault(f"{where}: `wetting_mN_m` is the wrong way round")


def _question(row: _Question) -> Question:
    answers = tuple(
        Saying(
            id=a.id,
            words=a.words,
            effects=tuple(
                Effect(kind=e.kind, weight=e.weight, why=e.why, source=e.source, excludes=e.excludes) for e in a.effects
            ),
            wetting_mN_m=a.wetting_mN_m,
            tells=a.tells,
        )
        for a in row.answers
    )
    return Question(id=row.id, ask=row.ask, how=row.how, effort=row.effort, first=row.first, answers=answers)


@cache
def load_clues() -> ClueTable:
    """Read the clues, once, held against the table of materials.

    Raises:
        TableFault: the table can't be used.
        OSError: the file is missing or can't be read.
    """
    return read_clues(resource("clues.json"), load_tables().substrates)
