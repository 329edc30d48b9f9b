"""A table as a CSV file that a spreadsheet opens as it is meant: RFC 4180, and no cell of text is ever a formula.

* Lines end in CRLF, the first one names the columns, each cell of text stands in quotes, and quotes in it are doubled.
* UTF-8 with a byte order mark: without it the most used spreadsheet reads the file in the code page of its computer,
  and µm and °C are spoilt. Python must be told `utf-8-sig`; most other readers pass over the mark by themselves.
* Figures are bare, with a point, and stay figures, those below zero too. What is not known is an empty cell.
* A text that a spreadsheet could take for a formula gets an apostrophe before it, as OWASP describes under "CSV
  Injection": one that begins with = + - @, a tab or a line break, whatever blanks stand before, and one that begins
  with an apostrophe already. So what was meant comes back by taking one apostrophe away from each text that begins
  with one (`read_back`).
* Nobody's text has half of a character or NUL in it: in their place stands U+FFFD.
"""

import csv
import io
import math
import re
from collections.abc import Iterable, Sequence

Cell = str | float | int | None

BOM = b"\xef\xbb\xbf"

_FORMULA = frozenset("=+-@\t\r\n'\uff1d\uff0b\uff0d\uff20")
"""What a formula can begin with; the last four are the wide forms of the first four, which some take for them."""
_NO_TEXT = re.compile(r"[\x00\ud800-\udfff]")


def csv_bytes(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Write a table; `head` names its columns."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(head)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return BOM + out.getvalue().encode()


def head_line(head: Sequence[str]) -> bytes:
    """Give how a file with these columns begins: by it one of ours is known again."""
    return csv_bytes(head, ())


def harmless(text: str) -> str:
    """Give a text as it stands in its cell."""
    told = _NO_TEXT.sub("\ufffd", text)
    begins = told[:1] in _FORMULA or told.lstrip()[:1] in _FORMULA
    return f"'{told}" if told and begins else told


def read_back(cell: str) -> str:
    """Give the text that was meant by a cell."""
    return cell.removeprefix("'")


def _cell(value: Cell) -> Cell:
    if isinstance(value, str):
        return harmless(value)
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return ""
    return value
