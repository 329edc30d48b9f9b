"""A sheet as a page: all of it is there and is text, nothing is fetched, and who can’t see it is told the same."""

from base64 import b64decode

import pytest
from hypothesis import given
from hypothesis import strategies as st
from page_reading import Page
from strategies import examples

from benchtool.sheets.blocks import (
    Band,
    Block,
    Caution,
    Facts,
    Grid,
    Heading,
    Photos,
    Sheet,
    Shown,
    Stack,
    Words,
)
from benchtool.sheets.sheethtml import GENERATOR, LONGEST_WORD, html_of

PNG = b"\x89PNG\r\n\x1a\n" + b"rest of it"
NASTY = "</title><script>alert(1)</script><img src=x onerror='a()'>\"&amp; \u202e'"


def sheet_of(*blocks: Block, title: str = "A sheet", one_page: bool = False) -> Sheet:
    return Sheet(title=title, under="Under", blocks=blocks, foot="Foot", one_page=one_page)


def no_photo(_: Shown) -> bytes | None:
    return None


def page_of(*blocks: Block, title: str = "A sheet") -> Page:
    return Page(html_of(sheet_of(*blocks, title=title), no_photo))


ALL: tuple[Block, ...] = (
    Heading("A section"),
    Words("A paragraph."),
    Facts((("Label", "Fact"),)),
    Heading("Within it", 2),
    Grid(("Head", "", "Figures"), (("cell", "x", "12"),), frozenset({2})),
    Caution("It can hurt."),
    Stack((Band("Clear", "2 coats", "#102030"), Band("ABS", "the piece", substrate=True)), "Clear over ABS."),
    Photos((Shown("a.png", "a" * 64, "The left side"),)),
)


def test_the_page_is_whole_and_says_what_it_is() -> None:
    page = page_of(*ALL)
    assert page.torn == []
    assert page.all("html") == [{"lang": "en"}]
    assert ("title", "A sheet") in page.said
    assert {"name": "generator", "content": GENERATOR} in page.all("meta")
    for words in ("A section", "A paragraph.", "Label", "Fact", "Head", "cell", "It can hurt.", "Clear", "2 coats",
                  "Clear over ABS.", "The left side", "Under", "Foot"):  # fmt: skip
        assert words in page.text


def test_nothing_can_run_and_nothing_is_fetched() -> None:
    page = page_of(*ALL)
    policy = next(m["content"] for m in page.all("meta") if m.get("http-equiv") == "Content-Security-Policy")
    assert policy is not None
    assert "default-src 'none'" in policy
    assert "script-src" not in policy
    assert not {"script", "link", "iframe", "object", "base", "form", "a"} & {tag for tag, _ in page.tags}
    for _, attrs in page.tags:
        assert not any(name.startswith("on") for name in attrs)
        assert (attrs.get("src") or "data:").startswith("data:")


def test_headings_are_in_order_and_heads_have_a_scope() -> None:
    page = page_of(*ALL)
    assert [tag for tag, _ in page.tags if tag in ("h1", "h2", "h3")] == ["h1", "h2", "h3"]
    heads = page.all("th")
    assert [h["scope"] for h in heads] == ["col", "col"]  # the empty head is no head
    assert "thead" in dict(page.tags)


def test_a_stack_is_drawn_by_pattern_and_said_in_words() -> None:
    page = page_of(ALL[6])
    assert [a.get("aria-hidden") for a in page.all("div") if a.get("class") == "stack"] == ["true"]
    assert ("figcaption", "Clear over ABS.") in page.said
    fills = [a["fill"] for a in page.all("rect")]
    assert fills[0] == "#102030"
    assert any((f or "").startswith("url(#hatch-") for f in fills)
    ids = {a["id"] for a in page.all("pattern")}
    assert all((f or "")[5:-1] in ids for f in fills if (f or "").startswith("url("))


def test_a_colour_that_is_none_is_not_written() -> None:
    page = page_of(Stack((Band("x", "y", '#000000"/><script>'),), "w"))
    assert not page.all("script")
    assert "script" not in str([a["fill"] for a in page.all("rect")])


def test_a_photo_is_within_the_page_and_a_lost_one_is_said_in_its_place() -> None:
    shown = (
        Shown("a.png", "a" * 64, "Left side"),
        Shown("b" * 64, "b" * 64, "Right side", "IMG 7.jpg"),
        Shown("c", "c" * 64, "Odd", "odd.jpg"),
        Shown("d" * 64, "d" * 64, "Torn", "torn.jpg"),
        Shown("e" * 64, "e" * 64, "Torn too"),
    )
    kept = {"a.png": PNG, "c": b"MZ no picture", "d" * 64: b"", "e" * 64: b""}
    page = Page(html_of(sheet_of(Photos(shown)), lambda s: kept.get(s.name)))
    [image] = page.all("img")
    assert image["alt"] == "Left side"
    kind, _, data = (image["src"] or "").partition(",")
    assert kind == "data:image/png;base64"
    assert b64decode(data) == PNG
    assert "The photo IMG 7.jpg is not beside the job any more." in page.text
    assert "The photo odd.jpg is no picture that a page can show." in page.text
    assert "The photo torn.jpg can't be shown: its file is damaged." in page.text
    assert "This photo can't be shown: its file is damaged." in page.text
    assert not any(letter * 64 in page.text for letter in "bde")
    assert all(caption in page.text for caption in ("Left side", "Right side", "Odd"))


@pytest.mark.parametrize(
    "block",
    [
        Heading(NASTY),
        Words(NASTY),
        Facts(((NASTY, NASTY),)),
        Grid((NASTY,), ((NASTY,),)),
        Caution(NASTY, NASTY),
        Stack((Band(NASTY, NASTY),), NASTY),
        Photos((Shown(NASTY, "a" * 64, NASTY),)),
    ],
)
def test_markup_in_a_text_is_text(block: Block) -> None:
    plain = page_of(type(block)(*_harmless(block)), title="Title")
    page = page_of(block, title=NASTY)
    assert page.torn == []
    shape, same = ([(t, set(a)) for t, a in p.tags if t != "wbr"] for p in (page, plain))
    assert shape == same  # no tag more, and no attribute that a quote let out
    assert "alert(1)" in page.text
    assert ("title", NASTY) in page.said


def _harmless(block: Block) -> tuple[object, ...]:
    """The same block with every text made harmless."""

    def of(value: object) -> object:
        if isinstance(value, str):
            return "x"
        if isinstance(value, tuple):
            return tuple(of(v) for v in value)
        if isinstance(value, Band | Shown):
            return type(value)(*(of(getattr(value, name)) for name in value.__slots__))
        return value

    return tuple(of(getattr(block, name)) for name in block.__slots__)


def test_a_word_too_long_for_a_column_may_break_and_is_not_changed() -> None:
    long = "<" + "W" * (3 * LONGEST_WORD) + ">"
    whole = "A" * LONGEST_WORD
    page = page_of(Grid(("Head",), ((f"{long} {whole}",),)))
    assert page.all("wbr")
    assert "".join(d for tag, d in page.said if tag == "td") == f"{long} {whole}"
    assert not page_of(Grid(("Head",), ((whole,),))).all("wbr")


@examples(150)
@given(st.text(st.characters(codec=None), max_size=60))
def test_any_text_can_be_written_and_read_back(said: str) -> None:
    written = html_of(sheet_of(Words(said), Grid(("Head",), ((said,),)), title=said or "x"), no_photo)
    written.encode("utf-8")  # a lone half of a pair could not be
    page = Page(written)
    assert page.torn == []
    assert not any(ord(c) < 32 and c not in "\n\t" for c in written)
    kept = "".join(c for c in said if c.isprintable() and not c.isspace())
    words = "".join(d for tag, d in page.said if tag == "p" and d != "Under")
    assert (
        kept == "".join(c for c in words if c.isprintable() and not c.isspace() and c != "\ufffd") or "\ufffd" in said
    )


def test_a_sheet_for_one_page_says_so_to_its_style() -> None:
    page = Page(html_of(sheet_of(one_page=True), no_photo))
    assert page.all("body") == [{"class": "one-page"}]
