"""The structure of a PDF (ISO 32000-2, 14.7): the marks on its pages made real, and the tree that they belong to."""

import re
from typing import TYPE_CHECKING, Any

from benchtool.bench.sheetpdftags import ACROSS, DOWN, FAR, HIGH, Tag, Tags

if TYPE_CHECKING:
    from pypdf import PdfWriter

_RECTANGLE = b" %d %d %d re\nf\n" % (HIGH, ACROSS, DOWN)
_BEFORE = re.compile(rb"(?P<paint>(?:/CSp cs\n1 1 1 scn\n)?(?:/GS\w+ gs\n)?)(?P<at>-\d+(?:\.0+)?)\Z")
"""How the writer puts down the rectangle of a mark, after its colour where that is another than before. It may stand
among others of the same state between q and Q."""
_LONGEST_BEFORE = 80


def tag_pages(writer: "PdfWriter", tags: Tags) -> bool:
    """Make the marks real and add the tree; where they are not as they were drawn, do nothing and say so."""
    pages = tags.pages
    if len(pages) != len(writer.pages):
        return False
    contents: list[bytes] = []
    for page, there in zip(writer.pages, pages, strict=True):
        drawn = page.get_contents()
        marked = _marked(drawn.get_data(), there) if drawn is not None else None
        if marked is None:
            return False
        contents.append(marked)
    _Tree(writer, tags.root, pages).build(contents)
    return True


def _marked(data: bytes, there: list[Tag | None]) -> bytes | None:
    """Put marked content in the place of the rectangles; None where they are not the ones that were drawn."""
    *pieces, rest = data.split(_RECTANGLE)
    marks = [_BEFORE.search(piece[-_LONGEST_BEFORE:]) for piece in pieces]
    if [round(float(m["at"])) if m else 0 for m in marks] != [FAR - n for n in range(len(there) + 1)]:
        return None
    made, number, paint = [], 0, b""
    for n, (piece, mark) in enumerate(zip(pieces, marks, strict=True)):
        assert mark is not None
        paint = mark["paint"] or paint  # what follows may go on with the colour of the mark
        made += [piece[: len(piece) - len(mark[0])], b"Q\n", b"EMC\n" if n else b""]
        if n < len(there):
            tag = there[n]
            made.append(b"/Artifact BMC\n" if tag is None else f"/{tag.kind} <</MCID {number}>> BDC\n".encode())
            number += tag is not None
        made += [b"q\n", paint]
    return b"".join([*made, rest])


class _Tree:
    """Builds the tree of elements, and the way back from each piece of a page to its element."""

    def __init__(self, writer: "PdfWriter", root: Tag, pages: list[list[Tag | None]]) -> None:
        self.writer, self.root, self.pages = writer, root, pages
        self.spots: dict[int, list[tuple[int, int]]] = {}
        for n, there in enumerate(pages):
            for number, tag in enumerate(t for t in there if t is not None):
                self.spots.setdefault(id(tag), []).append((n, number))
        self.refs = [page.indirect_reference for page in writer.pages]
        self.made: dict[tuple[int, int], Any] = {}

    def build(self, contents: list[bytes]) -> None:
        """Put the tree into the file, and the marked contents onto its pages."""
        from pypdf.generic import ArrayObject, DictionaryObject, NameObject, NumberObject, StreamObject

        top = DictionaryObject({NameObject("/Type"): NameObject("/StructTreeRoot")})
        top_ref = self._add(top)
        top[NameObject("/K")] = ArrayObject([self._element(self.root, top_ref)])
        numbers = ArrayObject()
        for n, (page, data) in enumerate(zip(self.writer.pages, contents, strict=True)):
            stream = StreamObject()
            stream.set_data(data)
            page[NameObject("/Contents")] = self._add(stream.flate_encode())
            page[NameObject("/StructParents")] = NumberObject(n)
            page[NameObject("/Tabs")] = NameObject("/S")
            count = sum(tag is not None for tag in self.pages[n])
            numbers += [NumberObject(n), ArrayObject([self.made[n, number] for number in range(count)])]
        top[NameObject("/ParentTree")] = self._add(DictionaryObject({NameObject("/Nums"): numbers}))
        top[NameObject("/ParentTreeNextKey")] = NumberObject(len(contents))
        self.writer.root_object[NameObject("/StructTreeRoot")] = top_ref

    def _element(self, tag: Tag, parent: Any) -> Any:
        """Give the element of a tag with all that is in it."""
        from pypdf.generic import ArrayObject, DictionaryObject, NameObject, NumberObject, TextStringObject

        made = DictionaryObject({NameObject("/S"): NameObject(f"/{tag.kind}"), NameObject("/P"): parent})
        if tag.alt:
            made[NameObject("/Alt")] = TextStringObject(tag.alt)
        if tag.text:
            made[NameObject("/ActualText")] = TextStringObject(tag.text)
        if tag.scope:
            scope = {NameObject("/O"): NameObject("/Table"), NameObject("/Scope"): NameObject(f"/{tag.scope}")}
            made[NameObject("/A")] = DictionaryObject(scope)
        ref = self._add(made)
        spots = [(number, self.refs[n]) for n, number in self.spots.get(id(tag), ())]
        self.made |= dict.fromkeys(self.spots.get(id(tag), ()), ref)
        if len(spots) == 1 and not tag.inner:  # the short way to say it: most cells of a table are so
            made[NameObject("/K")], made[NameObject("/Pg")] = NumberObject(spots[0][0]), spots[0][1]
            return ref
        kids = ArrayObject()
        for number, page in spots:
            piece = {NameObject("/Type"): NameObject("/MCR"), NameObject("/MCID"): NumberObject(number)}
            kids.append(DictionaryObject({**piece, NameObject("/Pg"): page}))
        made[NameObject("/K")] = kids
        kids += [self._element(inner, ref) for inner in tag.inner]
        return ref

    def _add(self, made: Any) -> Any:
        return self.writer._add_object(made)  # noqa: SLF001 - the library's own way for what it has no method for
