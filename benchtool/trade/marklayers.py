"""Reads one layer of a moulded mark: its polymers, what is special about them, fillers and additives.

`trade.markreading` takes the mark apart into layers before and passes the verdict after.
"""

import re
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from benchtool.trade.marks import POLYAMIDE, Additive, Filler, Kind, MarkTable, Material, listed
from benchtool.trade.saying import say

_PERCENT = r"(\d{1,3})?"


class _Piece(NamedTuple):
    """What stands between two signs: the sign before it, the text, and what is in brackets behind it."""

    sign: str
    text: str
    inner: str | None = None
    tail: str = ""


@dataclass
class Reading:
    """What is read so far; `layer` is the one being read, `points` says what is wrong with > and <."""

    table: MarkTable
    problems: list[str] = field(default_factory=list)
    materials: list[Material] = field(default_factory=list)
    fillers: list[Filler] = field(default_factory=list)
    additives: list[Additive] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    layer: int = 0
    points: str = ""

    def wrong(self, problem: str) -> None:
        """Note what is not by the standard."""
        if problem not in self.problems:
            self.problems.append(problem)

    def strange(self, text: str) -> None:
        """Note a symbol that no list names."""
        if text not in self.unknown:
            self.unknown.append(text)
        self.wrong(say("“{text}” is no symbol of the standard: look at the part again.", text=text))


def read_layer(text: str, reading: Reading) -> None:
    """Read a layer into `reading`."""
    first = len(reading.materials)
    underlined = re.fullmatch(r"_([^_]+)_(.*)", text)
    plain = f"{underlined[1]}{underlined[2]}" if underlined else text
    for piece in _joined(_pieces(plain), reading.table):
        _read_piece(piece, reading, started=len(reading.materials) > first)
    bare = [m for m in reading.materials[first:] if m.base in reading.table.composed and not m.made_of]
    for material in bare:
        _expand(material, reading)
    for i in range(first, len(reading.materials)):
        reading.materials[i] = replace(reading.materials[i], main=underlined is not None and i == first)


def _expand(bare: Material, reading: Reading) -> None:
    """Say what an elastomer lacks that does not tell what it is made of, and put in its place what that usually is."""
    problem = say("{symbol} is followed by what it is made of, such as {symbol}-(EPDM+PP).", symbol=bare.base)
    reading.wrong(problem)
    if bare.base in reading.table.found and not bare.traits:
        place = reading.materials.index(bare)
        quiet = Reading(reading.table, layer=reading.layer)
        read_layer(reading.table.found[bare.base], quiet)
        reading.materials[place : place + 1] = [replace(m, found=bare.base) for m in quiet.materials]


def _pieces(text: str) -> list[_Piece]:
    """Split at the signs + - / outside brackets; the / of PA6/66 and of E/P is part of a symbol."""
    pieces: list[_Piece] = []
    pattern = re.compile(r"([-+/]*)((?:PA\w*(?:/\d+[TIN]?)+|E/P(?![A-Z])|[^-+/()])*)(?:\(([^()]*)\)?)?([^-+/()]*)\)*")
    at = 0
    while at < len(text):
        match = pattern.match(text, at)
        if match is None or match.end() == at:
            at += 1
            continue
        pieces.append(_Piece(match[1], match[2], match[3], match[4]))
        at = match.end()
    return pieces


def _joined(pieces: list[_Piece], table: MarkTable) -> list[_Piece]:
    """Join what is one word although it holds a hyphen: HD-PE, PET-G, GF-30."""
    joined: list[_Piece] = []
    for piece in pieces:
        before = joined[-1] if joined else None
        if before is not None and piece.sign == "-" and before.inner is None and piece.text:
            whole = f"{before.text}-{piece.text}"
            if whole in table.found:
                joined[-1] = piece._replace(sign=before.sign, text=whole)
                continue
        joined.append(piece)
    return joined


def _read_piece(piece: _Piece, reading: Reading, *, started: bool) -> None:
    sign, text = piece.sign, piece.text
    if len(sign) > 1 or (sign and not started and not reading.unknown):
        reading.wrong(say("A sign stands where a symbol should: look at the part again."))
        sign = sign[-1:]
    if not text and piece.inner is None:
        if sign:
            reading.wrong(say("Nothing stands behind the last sign."))
        return
    if not sign and not text and piece.inner is not None and started and not piece.tail:
        _read_brackets(piece.inner, reading)
    elif sign == "-" and started:
        if not _read_item(piece, reading):
            _read_polymer(piece, reading, joined_by="-")
    elif started and text and not is_material(text, reading.table) and _read_filler(piece, reading):
        reading.wrong(say("A filler stands behind a hyphen: -{filler}.", filler=f"{text}{piece.tail}"))
    elif text:
        _read_polymer(piece, reading, joined_by=sign if started else "")
    else:
        reading.strange(f"({piece.inner}){piece.tail}")


def _read_item(piece: _Piece, reading: Reading) -> bool:
    """Read what stands behind a hyphen; False where it may be another polymer."""
    table, text, inner = reading.table, piece.text, piece.inner
    last = reading.materials[-1] if reading.materials else None
    if text == "FR" or re.fullmatch(r"FR\d\d", text):
        return _read_flame(text, inner, piece.tail, reading)
    if last is not None and text in table.traits and _suits(text, last.base, table):
        return _read_trait(piece, last, reading)
    if text.isdigit() and inner is None and reading.fillers and reading.fillers[-1].percent is None:
        reading.fillers[-1] = replace(reading.fillers[-1], percent=min(int(text), 999))
        reading.wrong(
            say("The percentage stands right behind the filler: {f}.", f=f"{reading.fillers[-1].symbol}{text}")
        )
        return True
    if not text and inner is not None:
        return _read_group(piece, last, reading)
    if text.startswith("REC") and inner is None:
        reading.wrong(say("A recycled share stands in brackets: ({text}).", text=text))
        return _read_recycled(text, reading)
    return _read_filler(piece, reading)  # the standard knows no polymer behind a hyphen: CF is carbon fibre there


def _suits(trait: str, base: str, table: MarkTable) -> bool:
    only = table.traits[trait].only
    return not only or base in only


def _read_trait(piece: _Piece, last: Material, reading: Reading) -> bool:
    traits = (*last.traits, piece.text)
    symbol = "-".join((last.base, *traits))
    name = f"{last.name}, {reading.table.traits[piece.text].name}"
    reading.materials[-1] = replace(last, traits=traits, symbol=symbol, name=name)
    if piece.inner is None:
        return True
    if piece.text != "P" or piece.inner.startswith("REC"):
        return _read_brackets(piece.inner, reading)
    for code in piece.inner.split("+"):
        known = reading.table.plasticisers.get(code)
        if known is None:
            reading.strange(code or "()")
        else:
            reading.additives.append(Additive(kind=Kind.PLASTICISER, symbol=code, name=known, layer=reading.layer))
    return True


def _read_flame(text: str, inner: str | None, tail: str, reading: Reading) -> bool:
    codes = inner if inner is not None else text.removeprefix("FR")
    if inner is None:
        code = codes or "40"
        reading.wrong(say("A flame retardant is told by its code in brackets, such as FR({code}).", code=code))
    if tail:
        reading.strange(f"FR({inner}){tail}")
    for code in codes.split("+") if codes else ():
        name = reading.table.flame_retardant(int(code)) if re.fullmatch(r"\d\d", code, re.ASCII) else None
        if name is None:
            reading.strange(f"FR({code})")
        else:
            reading.additives.append(Additive(kind=Kind.FLAME_RETARDANT, symbol=code, name=name, layer=reading.layer))
    if not codes:
        nothing = say("something that the mark does not name")
        reading.additives.append(Additive(kind=Kind.FLAME_RETARDANT, symbol="", name=nothing, layer=reading.layer))
    return True


def _read_brackets(inner: str, reading: Reading) -> bool:
    if not _read_recycled(inner, reading):
        reading.strange(f"({inner})")
    return True


def _read_recycled(text: str, reading: Reading) -> bool:
    match = re.fullmatch(r"REC(\d{1,3})?", text, re.ASCII)
    if match is None or (match[1] is not None and not 1 <= int(match[1]) <= 100):
        return False
    share = int(match[1]) if match[1] is not None else None
    name = say("recycled material")
    reading.additives.append(Additive(kind=Kind.RECYCLED, symbol="REC", name=name, percent=share, layer=reading.layer))
    return True


def _read_group(piece: _Piece, last: Material | None, reading: Reading) -> bool:
    """Read what stands in brackets behind a hyphen: several fillers, or what an elastomer is made of."""
    table, inner = reading.table, piece.inner or ""
    parts = inner.split("+")
    if last is not None and last.base in table.composed and all(table.polymer(p) for p in parts):
        names = listed([table.polymer(p) or "" for p in parts])
        name = say("{elastomer} of {names}", elastomer=last.name, names=names)
        symbol = f"{last.symbol}-({inner})"
        reading.materials[-1] = replace(last, made_of=tuple(parts), symbol=symbol, name=name)
        return True
    total = int(piece.tail) if re.fullmatch(r"\d{1,3}", piece.tail, re.ASCII) else None
    read = [filler_of(p, table) for p in parts]
    if (piece.tail and total is None) or any(f is None for f in read):
        reading.strange(f"({inner}){piece.tail}")
        return True
    for filler in (f for f in read if f is not None):
        _keep_filler(replace(filler, together=total, layer=reading.layer), reading)
    return True


# --- fillers -----------------------------------------------------------------------------------------


def filler_of(text: str, table: MarkTable) -> Filler | None:
    """Read a filler such as GF30; None where it is none. One letter and a number is the old way: no form."""
    match = re.fullmatch(rf"([A-Z]{{1,4}}){_PERCENT}", text, re.ASCII)
    if match is None:
        return None
    letters, percent = match[1], int(match[2]) if match[2] is not None else None
    for material in sorted(table.fillers, key=len, reverse=True):
        form = letters.removeprefix(material)
        if letters.startswith(material) and form in table.forms:
            return Filler(symbol=letters, material=table.fillers[material], form=table.forms[form], percent=percent)
    if letters in table.fillers and percent is not None:
        return Filler(symbol=letters, material=table.fillers[letters], form="", percent=percent)
    return None


def _read_filler(piece: _Piece, reading: Reading) -> bool:
    text = piece.text
    turned = re.fullmatch(r"(\d{1,2})([A-Z]+)", text, re.ASCII)
    if turned:
        text = f"{turned[2]}{turned[1]}"
    filler = filler_of(f"{text}{piece.tail}" if piece.inner is not None else text, reading.table)
    if filler is None:
        return False
    if turned:
        reading.wrong(say("The percentage stands behind the filler: {filler}.", filler=text))
    if piece.inner is not None:
        if re.fullmatch(r"[A-Z]{1,2}", piece.inner) and filler.symbol.startswith("ME"):
            filler = replace(filler, metal=piece.inner.capitalize())
        else:
            _read_brackets(piece.inner, reading)
    _keep_filler(replace(filler, layer=reading.layer), reading)
    return True


def _keep_filler(filler: Filler, reading: Reading) -> None:
    if not filler.form:
        powder = f"{filler.symbol}D{filler.percent}"
        fibre = f"{filler.symbol}F{filler.percent}"
        reading.wrong(
            say(
                "The form of the filler is missing: write {powder} for powder, {fibre} for fibre.",
                powder=powder,
                fibre=fibre,
            )
        )
    if filler.percent is None and filler.together is None:
        reading.wrong(say("The percentage by mass is missing: {filler} and a number.", filler=filler.symbol))
    reading.fillers.append(filler)


# --- polymers ----------------------------------------------------------------------------------------


def is_material(text: str, table: MarkTable) -> bool:
    """Say whether this names a polymer, by the standard or as it is found on parts."""
    return table.polymer(text) is not None or text in table.found


def _read_polymer(piece: _Piece, reading: Reading, *, joined_by: str) -> None:
    table, text = reading.table, piece.text
    nylon = re.fullmatch(r"NYLON(\d{1,4})", text, re.ASCII)
    name = table.polymer(text)
    numbered = re.fullmatch(r"([A-Z/]+)(\d+)", text, re.ASCII)
    if text in table.found and name is None and piece.inner is None:
        _read_found(text, table.found[text], reading)
    elif name is not None:
        reading.materials.append(Material(symbol=text, name=name, base=text, layer=reading.layer))
    elif nylon and POLYAMIDE.fullmatch(f"PA{nylon[1]}"):
        _read_found(text, f"PA{nylon[1]}", reading)
    elif numbered and (name := table.polymer(numbered[1])) is not None:
        reading.materials.append(Material(symbol=numbered[1], name=name, base=numbered[1], layer=reading.layer))
        reading.strange(numbered[2])
    else:
        reading.strange(f"{text}({piece.inner}){piece.tail}" if piece.inner is not None else f"{text}{piece.tail}")
        return
    if any(f.layer == reading.layer for f in reading.fillers) and joined_by:
        reading.wrong(say("The fillers stand behind all the polymers."))
    if joined_by in ("-", "/"):
        blend = "+".join(m.symbol for m in reading.materials if m.layer == reading.layer)
        reading.wrong(say("The parts of a blend are joined by +: {blend}.", blend=blend))
    if piece.inner is not None:
        _read_brackets(piece.inner, reading)
    if piece.tail:
        reading.strange(piece.tail)


def _read_found(text: str, means: str, reading: Reading) -> None:
    """Read what is moulded on parts though it is no term of the standard."""
    reading.wrong(say("{text} is no symbol of the standard: it writes {means}.", text=text, means=means))
    quiet = Reading(reading.table, layer=reading.layer)
    read_layer(means, quiet)
    reading.materials.extend(replace(m, found=text) for m in quiet.materials)
    reading.fillers.extend(quiet.fillers)
