"""Reads a moulded mark: strictly by ISO 11469 for its verdict, forgivingly for its meaning. It never raises.

A mark stands between > and <, in capitals without spaces. A polymer is named by ISO 1043-1, the parts of a blend are
joined by + with the main one first, special characteristics follow a hyphen; so does a filler with its percentage
by mass, several of them in brackets. A plasticiser stands in brackets after P, the code of a flame retardant after
FR, a recycled share after REC. Layers that can't be parted are joined by commas, the one that is seen first and the
main one underlined (ISO 11469:2016, clause 5; the underlining from memory), which is typed here as _ABS_.
"""

import re
from dataclasses import replace

from benchtool.trade.marklayers import Reading, filler_of, is_material, read_layer
from benchtool.trade.marks import Mark, MarkTable, Part, explain, write
from benchtool.trade.saying import say

LONGEST = 200
"""More than any part carries; what is typed beyond is not read."""

_DASHES = str.maketrans("‐‑‒–—−＞＜〉〈›‹», «＋，．", "------><><><>, <+,.")
_TRIANGLES = {chr(0x2672 + n): n for n in range(1, 8)}
_RESIN = re.compile(r"[△▲♲♳♴♵♶♷♸♹()\[\]]*\s*0?([1-7])\s*[△▲♲()\[\]]*")
_ALONE = re.compile(r"0?([1-7])")
_SAID = re.compile(r"(?:in (?:an? )?)?triangle:? ?0?([1-7])|0?([1-7]),? ?(?:in (?:an? )?)?triangle", re.IGNORECASE)


def parse(text: str, table: MarkTable) -> Mark:
    """Read a mark as it was moulded or typed; whatever it is, a Mark comes out."""
    flat = " ".join(text.translate(_DASHES).split())[:LONGEST]
    alone = number_alone(text)
    if alone is not None:
        words = say("A number alone is no mark. Where it stands in a triangle, write “triangle {n}”.", n=alone)
        return Mark(text=text, problems=(words,))
    reading = Reading(table)
    resin, rest = _resin(flat)
    if resin is not None:
        reading.wrong(say("This is a resin code of ASTM D7611, which sorts waste; it is no mark of ISO 11469."))
        means = table.resins[resin].means if resin in table.resins else ""
        if rest and rest.upper() != means and table.found.get(rest.upper()) != means:
            reading.wrong(say("The number and the letters beside it name different plastics."))
        rest = rest or means
    body = rest if resin is not None else _unwrap(flat, reading)
    for i, layer in enumerate(_layers(_tidy(body, reading), reading)):
        reading.layer = i
        read_layer(layer, reading)
    return _finish(text, resin, reading)


def number_alone(text: str) -> int | None:
    """Give the number 1 to 7 typed without the triangle that makes it a resin code (ASTM D7611); None for all else."""
    alone = _ALONE.fullmatch(text.strip())
    return int(alone[1]) if alone else None


def _finish(text: str, resin: int | None, reading: Reading) -> Mark:
    materials = reading.materials
    _check_sums(reading)
    count = len({m.layer for m in materials})
    if sum(m.main for m in materials) > (count > 1):
        reading.wrong(say("Only one is underlined, and only where there are several layers."))
    for i, material in enumerate(materials):
        alike = [m for m in materials if m.layer == material.layer]
        part = Part.LAYER if count > 1 else Part.BLEND if len(alike) > 1 else Part.ALONE
        main = material.main if count > 1 else material is materials[0]
        materials[i] = replace(material, part=part, main=main)
    if not materials and resin is None:
        reading.wrong(say("No material can be read from this: type what stands between > and <, such as >PP<."))
    mark = Mark(
        text=text,
        materials=tuple(materials),
        fillers=tuple(reading.fillers),
        additives=tuple(reading.additives),
        unknown=tuple(reading.unknown),
        resin=resin,
    )
    written = write(mark) if materials and not mark.unknown else ""
    problems = tuple(reading.problems)
    if reading.points:
        problems = (reading.points.replace("{mark}", written or say("> in front, < behind")), *problems)
    words = explain(mark, reading.table)
    return replace(mark, valid=not problems, problems=problems, words=words, written=written)


def _check_sums(reading: Reading) -> None:
    for layer in {f.layer for f in reading.fillers}:
        here = [f for f in reading.fillers if f.layer == layer]
        total = here[0].together if here[0].together is not None else sum(f.percent or 0 for f in here)
        if total > 99 or any(f.percent == 0 for f in here) or here[0].together == 0:
            reading.wrong(say("The fillers make {total} %: look at the figures on the part again.", total=total))


# --- what stands round the symbols ---------------------------------------------------------------------


def _resin(flat: str) -> tuple[int | None, str]:
    """Take a number in a triangle apart from the abbreviation beside it: `2 HDPE`, `PP 5`, `♷`, `triangle 5`."""
    if flat[:1] in _TRIANGLES:
        return _TRIANGLES[flat[0]], flat[1:].strip()
    if match := _RESIN.fullmatch(flat):
        return int(match[1]), ""
    if match := _SAID.fullmatch(flat):
        return int(match[1] or match[2]), ""
    if match := re.fullmatch(
        r"0?([1-7])[\s-]+(PETE?|HDPE|PE-?HD|PVC|V|LDPE|PE-?LD|PP|PS|O|OTHER)", flat, re.IGNORECASE
    ):
        return int(match[1]), "" if match[2].upper() in ("V", "O", "OTHER") else match[2]
    if match := re.fullmatch(r"(PETE?|HDPE|PE-?HD|PVC|LDPE|PE-?LD|PP|PS)[\s-]+0?([1-7])", flat, re.IGNORECASE):
        return int(match[2]), match[1]
    return None, flat


def _unwrap(flat: str, reading: Reading) -> str:
    """Take off > and <, and say where they are missing, turned round, or not alone."""
    whole = re.fullmatch(r">([^<>]*)<", flat)
    if whole:
        if not whole[1].strip():
            reading.wrong(say("Nothing stands between > and <."))
        return whole[1]
    marks = re.findall(r">([^<>]*)<", flat)
    if marks:
        if len(marks) > 1:
            reading.wrong(say("There are several marks: the first is read; type the others one at a time."))
        else:
            reading.wrong(say("Only what stands between > and < is the mark: leave the rest out."))
        return str(marks[0])
    turned = re.fullmatch(r"<([^<>]*)>", flat)
    body = (turned[1] if turned else flat.replace(">", " ").replace("<", " ")).strip()
    if turned:
        reading.points = say("The points face outwards. The standard writes {mark}.", mark="{mark}")
    elif body:
        reading.points = say("A mark stands between points: {mark}.", mark="{mark}")
    return body


def _tidy(body: str, reading: Reading) -> str:
    """Give the symbols in capitals without spaces or signs that the standard has no use for."""
    said: list[str] = []
    text = re.sub(r"\s*%", "", body)
    if text != body:
        said.append(say("Leave out the % sign: the number is a percentage anyway."))
    plain = re.sub(r"\((Al|Cu|Fe|Zn|Sn|Pb|Ag)\)", lambda m: m[0].upper(), text)
    if plain != plain.upper():
        said.append(say("The standard writes capitals only."))
    text = re.sub(r"(PA ?\d)[.,](\d)(?!\d*[A-Z])", r"\1\2", text.upper())
    if "." in plain or text.count(",") < body.count(","):
        said.append(say("The numbers of a polyamide stand together: PA66, not PA6.6."))
        text = text.replace(".", "")
    closed = _close_up(re.sub(r"\s*([-+,/()])\s*", r"\1", text.strip()), reading.table)
    if re.search(r"\s", body.strip()):
        said.append(say("The standard writes no spaces."))
    for problem in said:
        reading.wrong(problem)
    return closed


def _close_up(text: str, table: MarkTable) -> str:
    """Put the sign that is meant where two words stand apart: PC ABS is a blend, PP TD20 is filled, PA 6 is one."""
    first, *words = text.split(" ")
    closed = first
    for word in words:
        before = re.split(r"[-+,/() ]", closed)[-1]
        material = is_material(re.split(r"[-+,/()]", word)[0], table)
        if re.match(r"\d", word) or not before or not word:
            closed += word
        elif filler_of(word, table) is not None and not material:
            closed += f"-{word}"
        elif material and is_material(before, table):
            closed += f"+{word}"
        else:
            closed += f"-{word}" if word in table.traits or word.startswith("FR") else word
    return closed


def _layers(body: str, reading: Reading) -> list[str]:
    """Split at commas outside brackets."""
    parts, depth = [""], 0
    for sign in body:
        depth = depth + (sign == "(") - (sign == ")")
        if sign == "," and depth <= 0:
            parts.append("")
        else:
            parts[-1] += sign
    if depth != 0 and body:
        reading.wrong(say("A bracket is opened and not closed, or closed and not opened."))
    kept = [p for p in parts if p]
    if len(kept) < len(parts) and body:
        reading.wrong(say("Nothing stands on one side of a comma."))
    return kept
