"""A sheet as a PDF, read by another library: its text, fonts, language, pages, structure, and photos."""

import io
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from photo_places import PLACE, jpeg
from pypdf import PdfReader
from pypdf.generic import StreamObject
from PySide6.QtGui import QImage
from strategies import examples

from benchtool.bench.sheetpdf import CREATOR, pdf_of
from benchtool.bench.sheetpdffinish import HEAD, is_ours
from benchtool.bench.sheetpdfpages import lay_out
from benchtool.bench.sheetpdfslabs import Slab, paged
from benchtool.sheets.blocks import Band, Caution, Facts, Grid, Heading, Paper, Photos, Sheet, Shown, Stack, Words

pytestmark = pytest.mark.usefixtures("qapp")

NAMES = ("Fluffy office silver", "Gloss clear", "Two-part promoter", "Härte 25 µm")
BANDS = (*(Band(n, f"{i} coats", "#a9adb0") for i, n in enumerate(NAMES)), Band("ABS", ">ABS<", None, True))


def sheet(*blocks, one_page=False, title="Fuel tank, side covers", language="en"):
    whole = blocks or (
        Heading("Fuel tank"),
        Facts((("Made of", "ABS"), ("Face", "outside"))),
        Caution("Wear what the safety data sheet asks for."),
        Heading("Stack", 2),
        Stack(BANDS, "From the top: silver, clear."),
        rows(12),
        Words("A word at the end."),
    )
    return Sheet(title=title, under="For a customer", blocks=whole, foot="A demo", one_page=one_page, language=language)


def rows(count):
    return Grid(
        ("Layer", "Coat", "Film"), tuple((f"Layer {i}", str(i), f"{i} µm") for i in range(count)), frozenset({2})
    )


def made(one, paper=Paper.A4, photo=lambda _: None):
    return PdfReader(io.BytesIO(pdf_of(one, paper, photo)))


def pages_of(one, paper=Paper.A4, pictures=lambda _: None):
    steps = lay_out(one, paper, pictures)
    while True:
        try:
            next(steps)
        except StopIteration as end:
            return end.value


def words_of(page):
    return " ".join(page.extract_text().split())


# --- text, fonts, metadata ---------------------------------------------------------------------------


def test_all_text_can_be_selected_with_its_blanks_and_without_ligatures():
    reader = made(sheet())
    text = words_of(reader.pages[0])
    for name in (
        *NAMES,
        "Fuel tank, side covers",
        "For a customer",
        "A word at the end.",
        "Page 1 of 1",
        "Layer 11 11 11 µm",
    ):
        assert name in text
    assert "\t" not in reader.pages[0].extract_text()


def test_every_font_is_embedded():
    found = 0
    for page in made(sheet()).pages:
        for font in page["/Resources"]["/Font"].values():
            for inner in font["/DescendantFonts"]:
                descriptor = inner.get_object()["/FontDescriptor"].get_object()
                assert {"/FontFile2", "/FontFile3"} & set(descriptor)
                found += 1
    assert found >= 2


@pytest.mark.parametrize("title", ["Fuel tank", "Härte 漢字 שלום", "<b>&amp;</b> (a) \\ )"])
def test_title_and_language_are_in_the_metadata(title):
    reader = made(sheet(title=title, language="de-AT"))
    root = reader.trailer["/Root"]
    assert root["/Lang"] == "de-AT"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712 - the library's own kind of truth
    assert reader.metadata["/Title"] == title
    assert reader.metadata["/Creator"] == CREATOR
    assert reader.xmp_metadata.dc_title["x-default"] == title


@pytest.mark.parametrize(("paper", "box"), [(Paper.A4, (595, 842)), (Paper.LETTER, (612, 792))])
def test_each_page_is_of_the_paper_chosen(paper, box):
    """A4 is 210 x 297 mm (ISO 216), US Letter 8.5 x 11 in (ANSI/ASME Y14.1); a point is 1/72 in."""
    reader = made(sheet(rows(120)), paper)
    assert len(reader.pages) > 1
    for page in reader.pages:
        assert (round(page.mediabox.width), round(page.mediabox.height)) == box


def test_a_file_of_ours_is_known_by_its_beginning_and_no_other_is():
    data = pdf_of(sheet(rows(300)), Paper.A4, lambda _: None)
    assert is_ours(data[:HEAD])
    assert not is_ours(b"%PDF-1.7\n1 0 obj\n<< /Type /Catalog >>")
    assert not is_ours(b"/benchtool-sheet")


# --- pages -------------------------------------------------------------------------------------------


def test_a_long_table_has_its_head_on_each_page_and_every_row_once():
    reader = made(sheet(Heading("Coats"), rows(150)))
    texts = [words_of(p) for p in reader.pages]
    assert len(texts) > 2
    for n, text in enumerate(texts):
        assert "Layer Coat Film" in text
        assert f"Page {n + 1} of {len(texts)}" in text
        assert "A demo" in text
    every = " ".join(texts)
    for i in range(150):
        assert every.count(f"Layer {i} {i} {i} µm") == 1


@pytest.mark.parametrize("before", range(30, 60, 3))
def test_a_heading_never_ends_a_page(before):
    pages = made(sheet(*(Words(f"Line {i}") for i in range(before)), Heading("Last section"), Words("What follows")))
    for page in pages.pages:
        text = words_of(page)
        assert ("Last section" in text) == ("What follows" in text)


@pytest.mark.parametrize("before", range(28, 52, 2))
def test_words_that_lead_to_a_table_never_end_a_page(before):
    cup = (Words("Cup 4, begun at 08:29 for 60 mL:"), Grid(("Part", "Poured"), (("Base", "30"), ("Reducer", "30"))))
    reader = made(sheet(*(Words(f"w{n}") for n in range(before)), *cup))
    assert [n for n, p in enumerate(reader.pages) if "Cup 4" in p.extract_text()] == [
        n for n, p in enumerate(reader.pages) if "Poured" in p.extract_text()
    ]


def test_a_row_higher_than_a_page_goes_on_on_the_next():
    told = " ".join(f"w{i}" for i in range(3_000))
    reader = made(sheet(Grid(("When", "Reason"), (("09:40", told),))))
    every = " ".join(words_of(p) for p in reader.pages)
    assert len(reader.pages) > 1
    assert all(f"w{i}" in every for i in range(0, 3_000, 7))


def test_a_sheet_for_one_page_is_made_smaller_before_it_breaks():
    lines = tuple(Words(f"Line {i}, a sentence for the customer.") for i in range(41))
    assert len(pages_of(sheet(*lines))) == 2
    small = pages_of(sheet(*lines, one_page=True))
    assert len(small) == 1
    assert 0.8 <= small.type.scale < 1
    assert "Line 40" in words_of(made(sheet(*lines, one_page=True)).pages[0])


def test_a_sheet_that_can_not_be_one_page_keeps_its_size():
    lines = tuple(Words(f"Line {i}") for i in range(200))
    pages = pages_of(sheet(*lines, one_page=True))
    assert len(pages) > 1
    assert pages.type.scale == 1


slabs = st.lists(st.tuples(st.integers(1, 130), st.integers(0, 30), st.booleans()), max_size=40)


@examples(150)
@given(slabs, st.integers(60, 120), st.integers(60, 120))
def test_slabs_stay_in_order_and_in_their_page(found, first, later):
    there = [Slab(float(high), lambda *_: None, gap=float(gap), glue=glue) for high, gap, glue in found]
    pages = paged(there, first, later)
    assert [slab for page in pages for _, slab in page.placed] == there
    for n, page in enumerate(pages):
        room = later if n else first
        assert page.end <= room or len(page.placed) == 1
        for (y, slab), (below, _) in pairwise(page.placed):
            assert below >= y + slab.height
    for page, after in pairwise(pages):
        assert page.placed or not after.placed or page is pages[0]


# --- structure ---------------------------------------------------------------------------------------


def elements(node, kind):
    node = node.get_object()
    kids = node.get("/K", [])
    inner = [k.get_object() for k in kids] if isinstance(kids, list) else []
    own = [node] if node.get("/S") == kind else []
    return own + [e for k in inner if hasattr(k, "get") and "/S" in k for e in elements(k, kind)]


def test_it_is_tagged_and_each_mark_on_a_page_leads_to_its_element():
    reader = made(sheet(Heading("Coats"), rows(90), Stack(BANDS, "From the top: silver.")))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    tree = root["/StructTreeRoot"]
    top = tree["/K"][0]
    assert len(elements(top, "/H1")) == 1
    assert len(elements(top, "/H2")) == 1
    assert len(elements(top, "/TR")) == 91
    assert len(elements(top, "/TD")) == 270
    assert [e["/A"]["/Scope"] for e in elements(top, "/TH")] == ["/Column"] * 3
    assert [e["/Alt"] for e in elements(top, "/Figure")] == ["From the top: silver."]
    numbers = tree["/ParentTree"]["/Nums"]
    for n, page in enumerate(reader.pages):
        data = page.get_contents().get_data()
        assert data.count(b"BDC") + data.count(b"BMC") == data.count(b"EMC")
        assert data.count(b"<</MCID") == len(numbers[2 * n + 1].get_object())
        assert page["/StructParents"] == numbers[2 * n] == n
        assert b"-70000" not in data


def test_a_pdf_whose_marks_are_not_found_is_whole_and_says_that_it_is_not_tagged(monkeypatch):
    from benchtool.bench import sheetpdfstructure

    monkeypatch.setattr(sheetpdfstructure, "_RECTANGLE", b"nowhere")
    reader = made(sheet())
    assert "/MarkInfo" not in reader.trailer["/Root"]
    assert "/StructTreeRoot" not in reader.trailer["/Root"]
    assert NAMES[0] in words_of(reader.pages[0])


# --- photos ------------------------------------------------------------------------------------------


def test_a_photo_is_in_it_without_what_the_camera_wrote():
    data = jpeg(6)
    assert PLACE in data
    shown = (Shown("a.jpg", "1", "Before the prep"), Shown("b.jpg", "2", "Gone"))
    whole = pdf_of(sheet(Photos(shown)), Paper.A4, lambda s: data if s.name == "a.jpg" else None)
    reader = PdfReader(io.BytesIO(whole))
    [page] = reader.pages
    images = [x for x in page["/Resources"]["/XObject"].values() if x.get_object()["/Subtype"] == "/Image"]
    assert len(images) == 1
    for number in range(1, len(reader.xref[0]) + 1):
        thing = reader.get_object(number)
        raw = thing._data if isinstance(thing, StreamObject) else b""
        assert PLACE not in raw
        assert b"Exif" not in raw
    assert PLACE not in whole
    text = words_of(page)
    assert "Before the prep" in text
    assert "This photo is not beside the job any more" in text


def test_a_photo_stands_upright_and_is_no_larger_than_print_needs():
    from benchtool.bench.sheetpdfphotos import MOST_PX, picture

    turned = picture(jpeg(6))
    assert (turned.width(), turned.height()) == (32, 48)  # the camera lay on its side
    large = QImage(4_000, 1_000, QImage.Format.Format_RGB32)
    large.fill(0x557799)
    from PySide6.QtCore import QBuffer, QIODevice

    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    large.save(buffer, "PNG")
    small = picture(bytes(buffer.data().data()))
    assert (small.width(), small.height()) == (MOST_PX, MOST_PX // 4)


@pytest.mark.qt_log_ignore("JPEG", "jpeg")
@pytest.mark.parametrize("data", [b"", b"no photo", b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n"])
def test_what_is_no_photo_is_said_in_its_place(data):
    reader = made(sheet(Photos((Shown("a.jpg", "1", "c"),))), photo=lambda _: data)
    assert "can't be shown" in words_of(reader.pages[0])


# --- any text ----------------------------------------------------------------------------------------

texts = st.text(st.characters(codec=None), max_size=60)


@examples(25)
@given(st.lists(texts, min_size=8, max_size=8))
def test_any_text_makes_a_pdf(found):
    a, b, c, d, e, f, g, h = found
    blocks = (
        Heading(a),
        Words(b),
        Facts(((c, d),)),
        Grid((e, f), ((g, h), (a,))),
        Caution(b, c),
        Stack((Band(d, e),), f),
    )
    reader = made(sheet(*blocks, title=g))
    assert len(reader.pages) >= 1
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]


def test_rtl_cjk_and_emoji_names_make_a_pdf():
    reader = made(sheet(Words("שלום עולם"), Words("漢字の名前"), Words("🎨👩‍🎨"), Words("\ud800\x00")))
    assert "漢字の名前" in words_of(reader.pages[0]) or "\ufffd" in words_of(reader.pages[0])


def test_no_line_of_a_paragraph_stands_alone_on_a_page():
    parted = set()
    for before in range(40, 60):
        told = (Words("\n".join(f"{name}{i}" for i in range(n))) for name, n in (("Line", before), ("Part", 5)))
        there = tuple(words_of(page).count("Part") for page in made(sheet(*told)).pages)
        assert 1 not in there
        parted.add(there)
    assert {(3, 2), (2, 3)} & parted


def test_the_file_looks_as_it_was_drawn():
    """The marks of its structure are put among what paints: a white layer after one must not come out black."""
    from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize
    from PySide6.QtPdf import QPdfDocument

    shades = ("#ffffff", "#000000", "#ffffff", "#c02020", "#ffffff")
    one = sheet(Stack(tuple(Band(f"Layer {i}", "", shade) for i, shade in enumerate(shades)), "words"), rows(3))
    buffer = QBuffer()
    buffer.setData(QByteArray(pdf_of(one, Paper.A4, lambda _: None)))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    document = QPdfDocument(None)
    document.load(buffer)
    drawn = pages_of(one).image(0, 420)
    read = document.render(0, QSize(drawn.width(), drawn.height()))
    flat = QImage(drawn.size(), QImage.Format.Format_RGB32)
    flat.fill(0xFFFFFFFF)
    from PySide6.QtGui import QPainter

    painter = QPainter(flat)
    painter.drawImage(0, 0, read)
    painter.end()
    spots = [(x, y) for x in range(0, drawn.width(), 3) for y in range(0, drawn.height(), 3)]
    other = [at for at in spots if abs(flat.pixelColor(*at).lightness() - drawn.pixelColor(*at).lightness()) > 128]
    assert len(other) < len(spots) / 500
    assert any(drawn.pixelColor(*at).lightness() < 10 for at in spots)
    document.close()
