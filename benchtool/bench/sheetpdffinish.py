"""What the toolkit's PDF writer can't say: language, the title in the bar, and blanks that are copied as blanks.

It is set with pypdf, in the file as it was written; the pages are left as they are.
"""

import io
import re
from typing import TYPE_CHECKING

from benchtool.bench.sheetpdfstructure import tag_pages
from benchtool.bench.sheetpdftags import Tags

if TYPE_CHECKING:
    from pypdf import PdfWriter

MARK = "benchtool-sheet"
"""Stands in the page-piece dictionary of each file (ISO 32000-2, 14.5), so that no other file is written over."""
HEAD = 4_096
"""The catalog comes first, and `MARK` in it."""

_TAB, _NOTHING = b"<0009>", b"<0000> <0000> <0000>"
"""The glyph of a blank is that of a tab too, and the writer takes the lower code; and it says of a character that no
font has that it is NUL."""


def is_ours(head: bytes) -> bool:
    """Whether a file that begins so is a sheet of ours."""
    return head.startswith(b"%PDF") and f"/{MARK}".encode() in head


def finished(data: bytes, *, title: str, language: str, tags: Tags) -> bytes:
    """Give the file with its language, and with its title shown in place of its name (ISO 32000-2, 14.9.2 and 12.2).

    It is tagged where each mark of `tags` was found in it; where one was not, it is left without any.
    """
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import BooleanObject, DictionaryObject, NameObject, TextStringObject

    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
    root = writer.root_object
    root[NameObject("/Lang")] = TextStringObject(language)
    root[NameObject("/ViewerPreferences")] = DictionaryObject({NameObject("/DisplayDocTitle"): BooleanObject(True)})
    private = DictionaryObject({NameObject("/LastModified"): TextStringObject(_made(writer))})
    root[NameObject("/PieceInfo")] = DictionaryObject({NameObject(f"/{MARK}"): private})
    writer.add_metadata({"/Title": title})
    _mend_blanks(writer)
    if tag_pages(writer, tags):
        root[NameObject("/MarkInfo")] = DictionaryObject({NameObject("/Marked"): BooleanObject(True)})
    writer.pdf_header = "%PDF-1.7"
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _made(writer: "PdfWriter") -> str:
    told = writer.metadata.get("/CreationDate") if writer.metadata is not None else None
    return str(told or "D:19700101000000Z")


def _mend_blanks(writer: "PdfWriter") -> None:
    """Let what is copied out of the file have blanks where blanks are."""
    from pypdf.generic import StreamObject

    done: set[int] = set()
    for page in writer.pages:
        fonts = page.get("/Resources", {}).get("/Font", {})
        for font in fonts.values():
            codes = font.get_object().get("/ToUnicode")
            stream = codes.get_object() if codes is not None else None
            if not isinstance(stream, StreamObject) or id(stream) in done:
                continue
            done.add(id(stream))
            text = stream.get_data().replace(_NOTHING, b"<0000> <0000> <FFFD>")
            stream.set_data(re.sub(_TAB, b"<0020>", text))
