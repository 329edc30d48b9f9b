"""Reads a sheet by its blocks: everything it says, and its tables by their heads."""

from collections.abc import Iterator

from benchtool.sheets.blocks import Block, Caution, Facts, Grid, Heading, Photos, Sheet, Stack, Words


def texts_of(*blocks: Block) -> Iterator[str]:
    """Every text of these blocks, cell by cell."""
    for block in blocks:
        match block:
            case Heading(text=text) | Words(text=text):
                yield text
            case Caution(text=text, word=word):
                yield from (word, text)
            case Facts(rows=rows):
                yield from (part for row in rows for part in row)
            case Grid(head=head, rows=rows):
                yield from head
                yield from (cell for row in rows for cell in row)
            case Stack(bands=bands, words=words):
                yield words
                yield from (part for band in bands for part in (band.name, band.beside))
            case Photos(shown=shown):
                yield from (s.caption for s in shown)


def said(sheet: Sheet) -> str:
    """All that a sheet says, one text a line."""
    return "\n".join((sheet.title, sheet.under, *texts_of(*sheet.blocks), sheet.foot))


def grids(sheet: Sheet, head: str) -> list[Grid]:
    """The tables of a sheet that have this head."""
    return [block for block in sheet.blocks if isinstance(block, Grid) and head in block.head]


def column(grid: Grid, head: str) -> list[str]:
    """One column of a table."""
    return [row[grid.head.index(head)] for row in grid.rows]


def fact(sheet: Sheet, label: str) -> list[str]:
    """What stands beside a label, each time it is there."""
    return [value for block in sheet.blocks if isinstance(block, Facts) for key, value in block.rows if key == label]


def under(sheet: Sheet, heading: str) -> tuple[Block, ...]:
    """The blocks under the first heading of this text, up to the next of its level or a higher one."""
    found: list[Block] = []
    level = 0
    for block in sheet.blocks:
        if isinstance(block, Heading) and level and block.level <= level:
            break
        if level:
            found.append(block)
        elif isinstance(block, Heading) and block.text == heading:
            level = block.level
    return tuple(found)
