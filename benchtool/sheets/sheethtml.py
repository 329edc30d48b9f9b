"""A sheet as one HTML page that holds all it needs: no script, nothing fetched, every text escaped.

The page says in a policy of its own that nothing may be loaded but the pictures within it, so that no text of a job can
make it call anywhere. WCAG 2.2: headings in order, table heads with their scope, words for each picture.
"""

import re
from base64 import b64encode
from collections.abc import Callable, Iterator
from html import escape

from benchtool.sheets.blocks import Band, Block, Caution, Facts, Grid, Heading, Photos, Sheet, Shown, Stack, Words
from benchtool.sheets.sheethtml_style import STYLE
from benchtool.trade.saying import say

GENERATOR = "benchtool sheet"
"""By this mark in its head a page is known to be one of ours."""

PhotoOf = Callable[[Shown], bytes | None]
"""Gives a photo's bytes, cleaned of what they tell of the place; None where it can't be found."""

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
LONGEST_WORD = 24
"""Letters of a word in a table that stay on one line."""

_STEP = 12
_PARTS = re.compile(r"\s+|\S+")
_WHEN = re.compile(r".{0,13}\d\d:\d\d")
"""A moment, which is read best on one line."""

_COLOUR = re.compile("#[0-9a-fA-F]{6}")
_KINDS = (
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"GIF87a", "image/gif"),
    (b"GIF89a", "image/gif"),
)
_PLAIN = "#fffdf8"
_INK, _CHALK = "#1d1b18", "#ffffff"


def html_of(sheet: Sheet, photo: PhotoOf) -> str:
    """Write a sheet as a whole page; `photo` gives the bytes of each photo on it."""
    return "\n".join(_page(sheet, photo)) + "\n"


def _page(sheet: Sheet, photo: PhotoOf) -> Iterator[str]:
    title = text(sheet.title)
    yield "<!DOCTYPE html>"
    yield f'<html lang="{text(sheet.language)}">'
    yield "<head>"
    yield '<meta charset="utf-8">'
    yield f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f'<meta name="generator" content="{GENERATOR}">'
    yield '<meta name="referrer" content="no-referrer">'
    yield f"<title>{title}</title>"
    yield f"<style>{STYLE}</style>"
    yield "</head>"
    yield f"<body{_class('one-page') if sheet.one_page else ''}>"
    if any(isinstance(block, Stack) for block in sheet.blocks):
        yield _patterns()
    yield "<main>"
    yield "<header>"
    yield f'<h1 dir="auto">{title}</h1>'
    yield f'<p class="under" dir="auto">{text(sheet.under)}</p>'
    yield "</header>"
    for block in sheet.blocks:
        yield from _block(block, photo)
    yield f'<footer dir="auto">{text(sheet.foot)}</footer>'
    yield "</main>"
    yield "</body>"
    yield "</html>"


def text(said: str) -> str:
    """Make a text fit to stand in a page or in an attribute: nothing of it is markup, all of it can be written."""
    harmless = "".join(c if c in "\n\t" or c.isprintable() or c == " " else _instead(c) for c in said)
    return escape(harmless, quote=True)


def _instead(c: str) -> str:
    """Give what stands for a character that is not printed: what only joins or turns letters is kept."""
    if "\ud800" <= c <= "\udfff" or c < " " or "\x7f" <= c <= "\x9f" or ord(c) & 0xFFFE == 0xFFFE:
        return "\n" if c == "\r" else "\ufffd"
    return c


def _block(block: Block, photo: PhotoOf) -> Iterator[str]:
    match block:
        case Heading(text=said, level=level):
            tag = f"h{min(max(level, 1), 5) + 1}"
            yield f'<{tag} dir="auto">{text(said)}</{tag}>'
        case Words(text=said, small=small):
            yield f'<p dir="auto"{_class("small") if small else ""}>{text(said)}</p>'
        case Facts(rows=rows) if rows:
            yield "<dl>"
            for label, said in rows:
                yield f'<dt dir="auto">{text(label)}</dt><dd dir="auto">{text(said)}</dd>'
            yield "</dl>"
        case Caution(text=said, word=word):
            yield '<div class="caution" role="note">'
            yield f'<p dir="auto"><strong>{text(word)}:</strong> {text(said)}</p></div>'
        case Grid():
            yield from _table(block)
        case Stack():
            yield from _stack(block)
        case Photos(shown=shown) if shown:
            yield '<div class="photos">'
            for one in shown:
                yield from _photo(one, photo)
            yield "</div>"
        case _:
            return


def _class(name: str) -> str:
    return f' class="{name}"'


# --- tables ------------------------------------------------------------------------------------------------


def _table(grid: Grid) -> Iterator[str]:
    # a wide table scrolls by itself on a narrow screen, by keyboard too
    about = text(", ".join(head for head in grid.head if head))
    yield f'<div class="table" role="group" tabindex="0" aria-label="{about}"><table>'
    heads = "".join(_head(head, right=i in grid.right) for i, head in enumerate(grid.head))
    yield f"<thead><tr>{heads}</tr></thead>"
    yield "<tbody>"
    for row in grid.rows:
        yield "<tr>" + "".join(_cell(cell, right=i in grid.right) for i, cell in enumerate(row)) + "</tr>"
    yield "</tbody></table></div>"


def _head(head: str, *, right: bool) -> str:
    if not head:
        return "<td></td>"  # a head of no words heads nothing
    return f'<th scope="col" dir="auto"{_class("figure") if right else ""}>{text(head)}</th>'


def _cell(cell: str, *, right: bool) -> str:
    name = "figure" if right else "when" if _WHEN.fullmatch(cell) else ""
    return f'<td dir="auto"{_class(name) if name else ""}>{_breaking(cell)}</td>'


def _breaking(cell: str) -> str:
    """Let a word that is far too long for a column break anywhere; all others stay whole."""
    return "".join(_cut(part) for part in _PARTS.findall(cell))


def _cut(part: str) -> str:
    if len(part) <= LONGEST_WORD:
        return text(part)
    return "<wbr>".join(text(part[i : i + _STEP]) for i in range(0, len(part), _STEP))


# --- the stack ---------------------------------------------------------------------------------------------

_DRAWN = ("plain", "dots", "level", "back", "cross")
"""The patterns of layers, one after the other; `hatch` is that of what they lie on. Each says without any colour which
band ends where."""


def _patterns() -> str:
    """Define every pattern once for the page, in ink and, for dark paint, in chalk."""
    lines = {
        "hatch": '<path d="M-2 2 L2 -2 M0 10 L10 0 M8 12 L12 8" stroke-width="1.4"/>',
        "dots": '<circle cx="3" cy="3" r="1" stroke="none" fill="{c}"/>',
        "level": '<path d="M0 5 H10" stroke-width="1"/>',
        "back": '<path d="M-2 8 L2 12 M0 0 L10 10 M8 -2 L12 2" stroke-width="0.9"/>',
        "cross": '<path d="M0 5 H10 M5 0 V10" stroke-width="0.8"/>',
    }
    made = [
        f'<pattern id="{name}-{tone}" width="10" height="10" patternUnits="userSpaceOnUse">'
        f'<g fill="none" stroke="{colour}" stroke-opacity="0.6">{drawn.format(c=colour)}</g></pattern>'
        for name, drawn in lines.items()
        for tone, colour in (("ink", _INK), ("chalk", _CHALK))
    ]
    return f'<svg class="away" width="0" height="0" aria-hidden="true"><defs>{"".join(made)}</defs></svg>'


def _stack(stack: Stack) -> Iterator[str]:
    yield '<figure><div class="stack" aria-hidden="true">'
    drawn = 0
    for band in stack.bands:
        pattern = "hatch" if band.substrate else _DRAWN[drawn % len(_DRAWN)]
        drawn += not band.substrate
        yield _band(band, pattern)
    yield f'</div><figcaption class="away" dir="auto">{text(stack.words)}</figcaption></figure>'


def _band(band: Band, pattern: str) -> str:
    colour = band.colour if band.colour is not None and _COLOUR.fullmatch(band.colour) else _PLAIN
    over = f'<rect width="100%" height="100%" fill="url(#{pattern}-{_tone(colour)})"/>' if pattern != "plain" else ""
    ground = " ground" if band.substrate else ""
    return (
        f'<div class="band{ground}"><i><svg focusable="false">'
        f'<rect width="100%" height="100%" fill="{colour}"/>{over}</svg></i>'
        f'<span dir="auto">{text(band.name)}<small>{text(band.beside)}</small></span></div>'
    )


def _tone(colour: str) -> str:
    """Choose ink or chalk by the lightness of the paint: ITU-R BT.709 luma."""
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "ink" if 0.2126 * red + 0.7152 * green + 0.0722 * blue > 110 else "chalk"


# --- photos ------------------------------------------------------------------------------------------------


def _photo(shown: Shown, photo: PhotoOf) -> Iterator[str]:
    data = photo(shown)
    kind = _kind(data) if data is not None else None
    yield "<figure>"
    if data is not None and kind is not None:
        yield f'<img src="data:{kind};base64,{b64encode(data).decode("ascii")}" alt="{text(shown.caption)}">'
    else:
        yield f'<div class="missing" dir="auto">{text(_missing(shown, data))}</div>'
    yield f'<figcaption dir="auto">{text(shown.caption)}</figcaption></figure>'


def _missing(shown: Shown, data: bytes | None) -> str:
    """Say why a photo is not shown, by the name that the painter knows it by."""
    name = " ".join(shown.called.split())
    if data is None:
        return (
            say("The photo {name} is not beside the job any more.", name=name)
            if name
            else say("This photo is not beside the job any more.")
        )
    if not data:
        return (
            say("The photo {name} can't be shown: its file is damaged.", name=name)
            if name
            else say("This photo can't be shown: its file is damaged.")
        )
    return (
        say("The photo {name} is no picture that a page can show.", name=name)
        if name
        else say("This photo is no picture that a page can show.")
    )


def _kind(data: bytes) -> str | None:
    """Tell the kind of a picture by its first bytes; None where a browser is not sure to show it."""
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    return next((kind for magic, kind in _KINDS if data.startswith(magic)), None)
