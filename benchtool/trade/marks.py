"""What stands moulded on a plastic part, by ISO 11469 with the symbols of ISO 1043-1 to -4; pure data and its words.

Reading a mark is `trade.markreading.parse`; here is what comes out of it and what it tells.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from benchtool.trade.saying import say
from benchtool.trade.substrates import Substrate

POLYAMIDE = re.compile(r"PA(?:MXD)?\d{1,4}[TIN]?(?:/\d{1,4}[TIN]?)*")
"""Polyamides carry the carbons of their parts: PA6, PA66, PA612, PA6/66, PA6T (ISO 16396-1; from memory)."""


class Part(StrEnum):
    """What a material is of the part."""

    ALONE = "the whole"
    BLEND = "part of a blend"
    LAYER = "a layer"


class Kind(StrEnum):
    """What an additive is."""

    PLASTICISER = "plasticiser"
    FLAME_RETARDANT = "flame retardant"
    RECYCLED = "recycled"


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A polymer of the mark.

    `symbol` is all of it as the standard writes it, `base` the polymer without its `traits` and what it is `made_of`.
    `main` says that it is most of the part (of a blend the first, of layers the one underlined). `layer` counts from
    the one that is seen, 0. `found` is the word it was read from, where that is none of the standard.
    """

    symbol: str
    name: str
    part: Part = Part.ALONE
    main: bool = True
    layer: int = 0
    base: str = ""
    traits: tuple[str, ...] = ()
    made_of: tuple[str, ...] = ()
    found: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Filler:
    """A filler or reinforcement; `percent` is its share by mass, `together` that of all where only that is said.

    Either is None where the mark does not say it. `metal` is the chemical symbol of a metal.
    """

    symbol: str
    material: str
    form: str
    percent: int | None = None
    together: int | None = None
    metal: str = ""
    layer: int = 0

    @property
    def name(self) -> str:
        """Name it in words, such as glass fibre."""
        metal = f" ({self.metal})" if self.metal else ""
        return f"{self.material} {self.form}".strip() + metal


@dataclass(frozen=True, slots=True, kw_only=True)
class Additive:
    """Something else in it; `symbol` is the plasticiser's, or the code of the flame retardant. `percent` by mass."""

    kind: Kind
    symbol: str
    name: str
    percent: int | None = None
    layer: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A mark as read.

    `valid` says that it stands exactly as ISO 11469 writes it; `problems` say what does not, each with what to write.
    `unknown` are symbols that no list here names. `resin` is the number of a resin identification code, None else.
    `written` is the mark as the standard would write it, empty where not all of it is known.
    """

    text: str
    valid: bool = False
    materials: tuple[Material, ...] = ()
    fillers: tuple[Filler, ...] = ()
    additives: tuple[Additive, ...] = ()
    unknown: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    words: str = ""
    written: str = ""
    resin: int | None = None

    @property
    def understood(self) -> bool:
        """Whether it names a material, or is at least a number in a triangle."""
        return bool(self.materials) or self.resin is not None


@dataclass(frozen=True, slots=True)
class Trait:
    """A special characteristic of a polymer; `only` are the polymers it is written on, empty for any."""

    name: str
    only: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Resin:
    """A resin identification code: the symbol it stands for, empty for “other”, and what it is found on."""

    means: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkTable:
    """The symbols, by symbol. `composed` polymers must be followed by what they are made of."""

    polymers: Mapping[str, str]
    composed: frozenset[str] = frozenset()
    traits: Mapping[str, Trait] = field(default_factory=dict)
    fillers: Mapping[str, str] = field(default_factory=dict)
    forms: Mapping[str, str] = field(default_factory=dict)
    plasticisers: Mapping[str, str] = field(default_factory=dict)
    flame_retardants: Mapping[int, str] = field(default_factory=dict)
    flame_groups: Sequence[tuple[int, int, str]] = ()
    found: Mapping[str, str] = field(default_factory=dict)
    resins: Mapping[int, Resin] = field(default_factory=dict)

    def polymer(self, symbol: str) -> str | None:
        """Name a polymer; None where the standard has no such symbol."""
        if symbol in self.polymers:
            return self.polymers[symbol]
        if POLYAMIDE.fullmatch(symbol) and "PA" in self.polymers:
            return say("polyamide {number} (nylon, {symbol})", number=symbol.removeprefix("PA"), symbol=symbol)
        return None

    def flame_retardant(self, code: int) -> str | None:
        """Name a flame retardant by its code, or the kind it belongs to; None where no list has it."""
        if code in self.flame_retardants:
            return self.flame_retardants[code]
        kind = next((name for least, most, name in self.flame_groups if least <= code <= most), None)
        return say("one of the {kind}", kind=kind) if kind is not None else None


# --- writing -----------------------------------------------------------------------------------------


def write(mark: Mark) -> str:
    """Write a mark as ISO 11469 has it; the main one of several layers between underscores, for it is underlined."""
    layers = dict.fromkeys(m.layer for m in mark.materials)
    return f">{','.join(_write_layer(mark, layer) for layer in layers)}<" if layers else ""


def _write_layer(mark: Mark, layer: int) -> str:
    materials = [m for m in mark.materials if m.layer == layer]
    added = [a for a in mark.additives if a.layer == layer]
    soft = [a.symbol for a in added if a.kind is Kind.PLASTICISER]
    words = []
    for material in materials:
        text = material.symbol
        if soft and "P" in material.traits:
            text, soft = f"{text}({'+'.join(soft)})", []
        words.append(text)
    text = "+".join(words)
    if any(m.main and m.part is Part.LAYER for m in materials):
        text = f"_{text}_"
    text += "".join(f"(REC{a.percent if a.percent is not None else ''})" for a in added if a.kind is Kind.RECYCLED)
    text += _write_fillers([f for f in mark.fillers if f.layer == layer])
    codes = "+".join(a.symbol for a in added if a.kind is Kind.FLAME_RETARDANT)
    return f"{text}-FR({codes})" if codes else text


def _write_fillers(fillers: Sequence[Filler]) -> str:
    if not fillers:
        return ""
    parts = [_write_filler(f) for f in fillers]
    if fillers[0].together is not None:
        return f"-({'+'.join(parts)}){fillers[0].together}"
    return f"-({'+'.join(parts)})" if len(parts) > 1 else f"-{parts[0]}"


def _write_filler(filler: Filler) -> str:
    metal = f"({filler.metal})" if filler.metal else ""
    return f"{filler.symbol}{metal}{filler.percent if filler.percent is not None else ''}"


# --- words -------------------------------------------------------------------------------------------


def listed(names: Sequence[str]) -> str:
    """Join names for a sentence: a, b and c."""
    if len(names) < 2:
        return "".join(names)
    return say("{first} and {last}", first=", ".join(names[:-1]), last=names[-1])


def explain(mark: Mark, table: MarkTable) -> str:
    """Say what the mark tells, for a painter."""
    said = [*_of_resin(mark, table), *_of_materials(mark), *_of_fillers(mark), *_of_additives(mark)]
    if mark.unknown:
        said.append(say("Not known here: {symbols}.", symbols=listed([f"“{u}”" for u in mark.unknown])))
    return " ".join(said)


def _of_resin(mark: Mark, table: MarkTable) -> Iterator[str]:
    resin = table.resins.get(mark.resin) if mark.resin is not None else None
    if resin is not None:
        yield say("The number {n} in a triangle stands for {words}.", n=mark.resin, words=resin.words)
        if resin.means:
            yield say("It sorts waste: fillers and blends are not told.")


def _of_materials(mark: Mark) -> Iterator[str]:
    layers: dict[int, list[Material]] = {}
    for material in mark.materials:
        layers.setdefault(material.layer, []).append(material)
    if len(layers) > 1:
        seen, *below = (_blend(m) for m in layers.values())
        yield say(
            "Layers that can't be parted: {seen} is the one you see, then {below}.", seen=seen, below=listed(below)
        )
        main = next((m for m in mark.materials if m.main), None)
        if main is not None:
            yield say("Most of the part is {main}.", main=main.name)
        else:
            yield say("The one underlined on the part is most of it.")
    elif layers and mark.resin is None:
        only = next(iter(layers.values()))
        yield say("This part is {material}.", material=_blend(only))
        if len(only) > 1:
            yield say("{main} is the most of it.", main=_capital(only[0].name))


def _blend(materials: Sequence[Material]) -> str:
    if len(materials) == 1:
        return materials[0].name
    return say("a blend of {materials}", materials=listed([m.name for m in materials]))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _of_fillers(mark: Mark) -> Iterator[str]:
    apart = [f for f in mark.fillers if f.together is None]
    if apart:
        told = [
            say("{percent} % {filler}", percent=f.percent, filler=f.name)
            if f.percent is not None
            else say("{filler}, how much is not said", filler=f.name)
            for f in apart
        ]
        yield say("By mass it holds {fillers}.", fillers=listed(told))
    for layer in dict.fromkeys(f.layer for f in mark.fillers if f.together is not None):
        mixed = [f for f in mark.fillers if f.together is not None and f.layer == layer]
        names = listed([f.name for f in mixed])
        yield say("By mass it holds {percent} % of {fillers} together.", percent=mixed[0].together, fillers=names)


def _of_additives(mark: Mark) -> Iterator[str]:
    soft = [a.name for a in mark.additives if a.kind is Kind.PLASTICISER]
    flame = [a.name for a in mark.additives if a.kind is Kind.FLAME_RETARDANT]
    if soft:
        yield say("The plasticiser in it is {names}: it can come to the face.", names=listed(soft))
    if flame:
        yield say("It is made to resist fire with {names}.", names=listed(flame))
    for added in mark.additives:
        if added.kind is Kind.RECYCLED:
            if added.percent is None:
                yield say("Some of it is recycled.")
            else:
                yield say("At least {percent} % of it is recycled.", percent=added.percent)


# --- the table of materials --------------------------------------------------------------------------


def substrates_for(mark: Mark, substrates: Iterable[Substrate]) -> tuple[str, ...]:
    """Give the ids of the materials that the mark may mean, the likeliest first."""
    return tuple(ranks(mark, substrates))


def ranks(mark: Mark, substrates: Iterable[Substrate]) -> dict[str, int]:
    """Give the materials that the mark may mean, the likeliest first: 0 for those that fit best, 1 and up for others.

    The layer that is seen counts before those below, a blend before its main part, that before the others, and a
    filled material before the same without filler.
    """
    wanted = list(dict.fromkeys(_wanted(mark)))
    fits: list[tuple[tuple[int, int], int, str]] = []
    for place, substrate in enumerate(substrates):
        found = [r for s in substrate.symbols if (r := _rank(s, wanted)) is not None]
        if found:
            fits.append((min(found), place, substrate.id))
    steps = sorted({fit for fit, _, _ in fits})
    return {substrate_id: steps.index(fit) for fit, _, substrate_id in sorted(fits)}


def _wanted(mark: Mark) -> Iterator[str]:
    for layer in dict.fromkeys(m.layer for m in mark.materials):
        materials = [m for m in mark.materials if m.layer == layer]
        filled = [f.symbol for f in mark.fillers if f.layer == layer]
        yield from (m.found for m in materials if m.found)
        blend = "+".join(m.symbol for m in materials)
        yield from (f"{blend}-{f}" for f in filled)
        yield blend
        yield "+".join(m.base for m in materials)
        for material in materials:
            yield from (f"{material.base}-{f}" for f in filled)
            yield material.symbol
            yield material.base
            if material.made_of:
                yield "+".join(material.made_of)
        yield from ("PA" for m in materials if POLYAMIDE.fullmatch(m.base))


def _rank(symbol: str, wanted: Sequence[str]) -> tuple[int, int] | None:
    """How well a symbol of the table fits: the same, the same in another order, a closer kind of it, a sister."""
    for place, want in enumerate(wanted):
        if symbol == want:
            return place, 0
        if "+" in want and sorted(symbol.split("+")) == sorted(want.split("+")):
            return place, 1
        if symbol.startswith(f"{want}-") and "+" not in symbol:
            return place, 2
        if want == "PA" and POLYAMIDE.match(symbol):
            return place, 3
    return None
