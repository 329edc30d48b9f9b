"""A sheet as plain text for a terminal, and as an object for a script."""

import textwrap
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import fields

from benchtool.sheets.blocks import Block, Caution, Facts, Grid, Heading, Photos, Sheet, Stack, Words
from benchtool.trade.saying import say

WIDTH = 92
"""Columns a line may take."""
_LEAST_COLUMN = 6
_GAP = 2


def sheet_text(sheet: Sheet, width: int = WIDTH) -> str:
    """Write a sheet as text, no line wider than `width` but for a word that is."""
    lines = [*_wrapped(sheet.title, width), *_wrapped(sheet.under, width), "=" * width]
    for block in sheet.blocks:
        lines += _lines(block, width)
    lines += ["", *_wrapped(sheet.foot, width)]
    return "\n".join(line.rstrip() for line in lines).rstrip() + "\n"


def sheet_values(sheet: Sheet) -> dict[str, object]:
    """Give a sheet as an object of lists, texts and numbers; `kind` says what each block is."""
    return {
        "title": sheet.title,
        "under": sheet.under,
        "language": sheet.language,
        "one_page": sheet.one_page,
        "blocks": [{"kind": type(block).__name__.lower(), **_values(block)} for block in sheet.blocks],
        "foot": sheet.foot,
    }


def _values(record: object) -> dict[str, object]:
    return {f.name: _plain(getattr(record, f.name)) for f in fields(record)}  # type: ignore[arg-type]


def _plain(value: object) -> object:
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, tuple):
        return [_plain(v) for v in value]
    return value if value is None or isinstance(value, str | int | float | bool) else _values(value)


def _lines(block: Block, width: int) -> Iterator[str]:
    match block:
        case Heading(text=text, level=level):
            line = " ".join(_clean(text).split())
            yield from ("", "") if level == 1 else ("",)
            yield from _wrapped(line, width)
            yield ("=" if level == 1 else "-") * min(width, max(3, _wide(line)))
        case Words(text=text):
            yield ""
            yield from _wrapped(text, width)
        case Facts(rows=rows):
            yield ""
            yield from _facts(rows, width)
        case Grid(head=head, rows=rows, right=right):
            yield ""
            yield from _grid(head, rows, right, width)
        case Caution(text=text, word=word):
            yield ""
            yield from _wrapped(f"! {word}: {text}", width, "  ")
        case Stack(bands=bands):
            yield ""
            for band in bands:
                mark = "/////" if band.substrate else "====="
                beside = f" ({band.beside})" if band.beside else ""
                yield from _wrapped(f"{mark} {band.name}{beside}", width, " " * 6)
        case Photos(shown=shown):
            yield ""
            for photo in shown:
                yield from _wrapped(say("Photo: {caption}", caption=photo.caption), width, "  ")


def _facts(rows: Sequence[tuple[str, str]], width: int) -> Iterator[str]:
    label = min(max((_wide(_clean(name)) for name, _ in rows), default=0), width // 3)
    for name, said in rows:
        yield from _beside([_wrapped(name, label), _wrapped(said, width - label - _GAP)], [label, 0], frozenset())


def _grid(head: Sequence[str], rows: Sequence[Sequence[str]], right: frozenset[int], width: int) -> Iterator[str]:
    every = [list(r) for r in ([head] if head else [])] + [list(r) for r in rows]
    columns = max((len(r) for r in every), default=0)
    if not columns:
        return
    every = [[*r, *[""] * (columns - len(r))] for r in every]
    widths = _widths(every, columns, width)
    for n, row in enumerate(every):
        yield from _beside([_wrapped(c, w) for c, w in zip(row, widths, strict=True)], widths, right)
        if n == 0 and head:
            yield "-" * min(width, sum(widths) + _GAP * (columns - 1))


def _widths(rows: Sequence[Sequence[str]], columns: int, width: int) -> list[int]:
    """Give each column what its longest cell needs, and take from the widest until all fit."""
    widths = [max(1, *(_wide(_clean(r[n])) for r in rows)) for n in range(columns)]
    room = max(columns * _LEAST_COLUMN, width - _GAP * (columns - 1))
    while sum(widths) > room:
        n = widths.index(max(widths))
        if widths[n] <= _LEAST_COLUMN:
            break
        widths[n] -= max(1, min(widths[n] - _LEAST_COLUMN, (sum(widths) - room) // columns))
    return widths


def _beside(cells: Sequence[Sequence[str]], widths: Sequence[int], right: frozenset[int]) -> Iterator[str]:
    for i in range(max((len(c) for c in cells), default=0)):
        parts = []
        for n, cell in enumerate(cells):
            text = cell[i] if i < len(cell) else ""
            fill = " " * max(0, widths[n] - _wide(text))
            parts.append(fill + text if n in right else text + fill)
        yield (" " * _GAP).join(parts).rstrip()


def _wrapped(text: str, width: int, hang: str = "") -> list[str]:
    lines: list[str] = []
    for line in _clean(text).split("\n"):
        lines += textwrap.wrap(line, max(1, width), subsequent_indent=hang, break_on_hyphens=False) or [""]
    return lines if any(lines) else [""]


def _clean(text: str) -> str:
    """Take out what would move the cursor of a terminal; lines stay lines."""
    told = text.replace("\r\n", "\n")
    return "".join(c if c == "\n" or c.isprintable() else (" " if c.isspace() else "\ufffd") for c in told)


def _wide(text: str) -> int:
    """Say how many columns of a terminal a text takes."""
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)
