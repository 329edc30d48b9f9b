"""Moulded marks: the examples of the standard, what is really moulded, and laws that no text may break."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.session.resources import resource
from benchtool.session.strictfile import TableFault
from benchtool.session.tables_identify import load_marks, read_marks
from benchtool.trade.markreading import number_alone, parse
from benchtool.trade.marks import Additive, Filler, Kind, Mark, Material, Part, ranks, substrates_for, write
from benchtool.trade.substrates import Flex, Substrate

TABLE = load_marks()


def read(text):
    return parse(text, TABLE)


def gist(mark):
    return (
        [m.symbol for m in mark.materials],
        [(f.symbol, f.percent, f.together) for f in mark.fillers],
        [(a.kind, a.symbol, a.percent) for a in mark.additives],
    )


@pytest.mark.parametrize(
    ("text", "materials", "fillers", "additives"),
    [
        # ISO 11469:2016 and ISO 1043-1 to -3, examples as published summaries of them print them
        (">ABS<", ["ABS"], [], []),
        (">PC+ABS<", ["PC", "ABS"], [], []),
        (">PP-GF30<", ["PP"], [("GF", 30, None)], []),
        (">PA66-(GF25+MD15)<", ["PA66"], [("GF", 25, None), ("MD", 15, None)], []),
        (">PA66-(GF+MD)40<", ["PA66"], [("GF", None, 40), ("MD", None, 40)], []),
        (">PVC-P(DBP)<", ["PVC-P"], [], [(Kind.PLASTICISER, "DBP", None)]),
        (">PS-HI-GF20<", ["PS-HI"], [("GF", 20, None)], []),
        (">ABS(REC30)<", ["ABS"], [], [(Kind.RECYCLED, "REC", 30)]),
        (">PVC,PUR,ABS<", ["PVC", "PUR", "ABS"], [], []),
        # by the rules of the same standards
        (">PP+EPDM-TD20<", ["PP", "EPDM"], [("TD", 20, None)], []),
        (">PC+ABS-FR(40)<", ["PC", "ABS"], [], [(Kind.FLAME_RETARDANT, "40", None)]),
        (">PA66-GF25-FR(52)<", ["PA66"], [("GF", 25, None)], [(Kind.FLAME_RETARDANT, "52", None)]),
        (">PE-HD<", ["PE-HD"], [], []),
        (">PA6<", ["PA6"], [], []),
        (">PA6/66<", ["PA6/66"], [], []),
        (">PVC-U<", ["PVC-U"], [], []),
        (">PP-MED(Al)30<", ["PP"], [("MED", 30, None)], []),
        (">TPO-(EPDM+PP)<", ["TPO-(EPDM+PP)"], [], []),
    ],
)
def test_marks_by_the_standard(text, materials, fillers, additives):
    mark = read(text)
    assert gist(mark) == (materials, fillers, additives)
    assert (mark.valid, mark.problems, mark.written) == (True, (), text)
    assert mark.words


def test_the_parts_of_a_mark_are_told():
    blend = read(">PC+ABS<").materials
    assert [(m.part, m.main) for m in blend] == [(Part.BLEND, True), (Part.BLEND, False)]  # the main one stands first
    layers = read(">PVC,PUR,_ABS_<").materials
    assert [(m.part, m.main, m.layer) for m in layers] == [
        (Part.LAYER, False, 0),
        (Part.LAYER, False, 1),
        (Part.LAYER, True, 2),
    ]
    assert not any(m.main for m in read(">PVC,PUR,ABS<").materials)  # what is underlined, plain text can't tell
    glass = read(">PP-GF30<").fillers[0]
    assert (glass.material, glass.form, glass.name) == ("glass", "fibre", "glass fibre")
    for words in ("dibutyl phthalate", "plasticised"):
        assert words in read(">PVC-P(DBP)<").words
    assert "At least 30 % of it is recycled." in read(">ABS(REC30)<").words


@pytest.mark.parametrize(
    ("text", "written", "said"),
    [
        ("ABS", ">ABS<", ">ABS<"),  # without brackets it is no mark of the standard
        (">PP", ">PP<", ">PP<"),
        ("<PP>", ">PP<", "outwards"),
        ("> pp <", ">PP<", "capitals"),
        (">PP+EPDM-T20<", ">PP+EPDM-T20<", "TD20"),
        (">PA6.6<", ">PA66<", "PA66"),
        (">PA6,6<", ">PA66<", "PA66"),
        (">PA 6-GF 30<", ">PA6-GF30<", "spaces"),
        (">PA66-30GF<", ">PA66-GF30<", "behind the filler"),
        (">PP GF 30 %<", ">PP-GF30<", "%"),
        (">PC/ABS<", ">PC+ABS<", "joined by +"),
        (">PC-ABS<", ">PC+ABS<", "joined by +"),
        ("PC ABS", ">PC+ABS<", "spaces"),
        (">HDPE<", ">PE-HD<", "PE-HD"),
        (">LDPE<", ">PE-LD<", "PE-LD"),
        (">HIPS<", ">PS-HI<", "PS-HI"),
        (">TPO<", ">PP+EPDM<", "TPO-(EPDM+PP)"),
        (">TPO-TD10<", ">PP+EPDM-TD10<", "TPO-(EPDM+PP)"),
        (">NYLON 66<", ">PA66<", "PA66"),
        (">UP-GF<", ">UP-GF<", "percentage"),
        (">PP-TD20+EPDM<", ">PP+EPDM-TD20<", "behind all"),
        (">PP+GF30<", ">PP-GF30<", "hyphen"),
        (">PP-GF-30<", ">PP-GF30<", "right behind"),
        (">ABS-FR17<", ">ABS-FR(17)<", "brackets"),
        (">ABS-REC30<", ">ABS(REC30)<", "brackets"),
        ("＞PP–GF30＜", ">PP-GF30<", None),
        (">PP< 7A-123", ">PP<", "leave the rest out"),
        (">PP<>PE-HD<", ">PP<", "several"),
        (">_ABS_<", ">ABS<", "underlined"),
        (">PVC-P(DBP<", ">PVC-P(DBP)<", "bracket"),
    ],
)
def test_what_is_really_moulded_is_understood_and_not_called_valid(text, written, said):
    mark = read(text)
    assert mark.written == written
    assert mark.understood
    assert mark.valid is (said is None)
    if said is not None:
        assert said in " ".join(mark.problems)


@pytest.mark.parametrize("text", [">PP-GF0<", ">PP-GF100<", ">PP-(GF60+TD50)<", ">PP-(GF+TD)0<", ">ABS(REC0)<"])
def test_shares_that_can_not_be(text):
    assert not read(text).valid


@pytest.mark.parametrize(
    ("text", "unknown"),
    [
        (">QQQ<", "QQQ"),
        (">PP+QQQ<", "QQQ"),
        (">PVC-P(ZZZ)<", "ZZZ"),
        (">ABS-FR(99)<", "FR(99)"),
        (">PP-HD<", "HD"),  # a density is written on polyethylene only
        (">PP-QX20<x", None),
        (">PP20<", "20"),
        (">PP(30)<", "(30)"),
    ],
)
def test_an_unknown_symbol_is_named_and_never_guessed(text, unknown):
    mark = read(text)
    assert not mark.valid
    if unknown is not None:
        assert unknown in mark.unknown
        assert unknown in mark.words
        assert mark.written == ""


@pytest.mark.parametrize(
    ("text", "number", "symbols"),
    [
        # ASTM D7611/D7611M, table 1, as ANSI tells it in “Resin Identification Codes”
        ("♳", 1, ["PET"]),
        ("△ 02", 2, ["PE-HD"]),
        ("triangle 3", 3, ["PVC"]),
        ("3 in a triangle", 3, ["PVC"]),
        ("In triangle: 03", 3, ["PVC"]),
        ("4 LDPE", 4, ["PE-LD"]),
        ("♷", 5, ["PP"]),
        ("PS 6", 6, ["PS"]),
        ("(7)", 7, []),
        ("7 OTHER", 7, []),
    ],
)
def test_a_number_in_a_triangle(text, number, symbols):
    mark = read(text)
    assert (mark.resin, [m.symbol for m in mark.materials], mark.valid) == (number, symbols, False)
    assert mark.understood
    assert "waste" in " ".join(mark.problems)


@pytest.mark.parametrize("text", ["1", "5", " 5 ", "02", "7"])
def test_a_number_alone_is_no_mark(text):
    """ASTM D7611: the code is a number in a triangle; a number alone may be of a cavity, a batch, or a slip."""
    mark = read(text)
    assert number_alone(text) == int(text)
    assert not mark.understood
    assert not mark.valid
    assert f"triangle {int(text)}" in mark.problems[-1]
    assert read(f"triangle {int(text)}").resin == int(text)
    assert substrates_for(mark, SHELF) == ()


@pytest.mark.parametrize("text", ["", "0", "8", "55", "♷", "(5)", "5 PP", "triangle 5", "PP"])
def test_what_is_no_number_alone(text):
    assert number_alone(text) is None


def test_a_number_that_does_not_go_with_its_letters_is_told():
    assert "different plastics" in " ".join(read("5 PS").problems)
    assert "different plastics" not in " ".join(read("2 HDPE").problems)


@given(st.text(max_size=300))
@examples(400)
def test_no_text_is_too_strange(text):
    mark = read(text)
    assert mark.text == text
    assert mark.valid == (not mark.problems)
    assert not mark.valid or mark.materials


pieces = st.sampled_from(
    [
        *">< +-/,()_%.",
        *TABLE.polymers,
        *TABLE.traits,
        *TABLE.found,
        *TABLE.plasticisers,
        "GF30",
        "TD",
        "T20",
        "FR",
        "40",
    ]
)


@given(st.lists(pieces, max_size=12).map("".join))
@examples(300)
def test_no_typing_of_symbols_is_too_strange(text):
    mark = read(text)
    if mark.valid:
        assert text.startswith(">")
        assert text.endswith("<")
        again = read(mark.written)
        assert again.valid
        assert gist(again) == gist(mark)


@st.composite
def materials_of(draw, layer):
    kinds = [s for s in TABLE.polymers if s not in TABLE.composed]
    found = []
    for base in draw(st.lists(st.sampled_from(kinds), min_size=1, max_size=3, unique=True)):
        trait = draw(st.sampled_from([None, *(t for t, k in TABLE.traits.items() if not k.only or base in k.only)]))
        if f"{base}-{trait}" in TABLE.found:  # TPE-U is moulded for TPU
            trait = None
        traits = (trait,) if trait is not None else ()
        name = TABLE.polymers[base] + (f", {TABLE.traits[trait].name}" if trait else "")
        found.append(Material(symbol="-".join((base, *traits)), name=name, base=base, traits=traits, layer=layer))
    return found


@st.composite
def fillers_of(draw, layer):
    symbols = st.sampled_from([(m, f) for m in sorted(TABLE.fillers) for f in sorted(TABLE.forms)])
    picked = draw(st.lists(symbols, max_size=2, unique_by="".join))
    together = draw(st.none() | st.integers(1, 99)) if len(picked) > 1 else None
    found = []
    for m, f in picked:
        percent = None if together is not None else draw(st.integers(1, 49))
        found.append(
            Filler(
                symbol=m + f,
                material=TABLE.fillers[m],
                form=TABLE.forms[f],
                percent=percent,
                together=together,
                layer=layer,
            )
        )
    return found


@st.composite
def marks(draw):
    """A mark as the standard allows it, with everything in it that may be."""
    count = draw(st.integers(1, 3))
    main = draw(st.none() | st.integers(0, count - 1)) if count > 1 else 0
    materials, fillers, additives = [], [], []
    for layer in range(count):
        own = draw(materials_of(layer))
        part = Part.LAYER if count > 1 else Part.BLEND if len(own) > 1 else Part.ALONE
        own = [replace(m, part=part, main=layer == main and i == 0) for i, m in enumerate(own)]
        if any(m.traits == ("P",) for m in own):
            codes = draw(st.lists(st.sampled_from(sorted(TABLE.plasticisers)), max_size=2, unique=True))
            additives += [
                Additive(kind=Kind.PLASTICISER, symbol=c, name=TABLE.plasticisers[c], layer=layer) for c in codes
            ]
        if draw(st.booleans()):
            share = draw(st.none() | st.integers(1, 100))
            additives.append(
                Additive(kind=Kind.RECYCLED, symbol="REC", name="recycled material", percent=share, layer=layer)
            )
        codes = draw(st.lists(st.sampled_from(sorted(TABLE.flame_retardants)), max_size=2, unique=True))
        additives += [
            Additive(kind=Kind.FLAME_RETARDANT, symbol=str(c), name=TABLE.flame_retardants[c], layer=layer)
            for c in codes
        ]
        materials += own
        fillers += draw(fillers_of(layer))
    return Mark(text="", materials=tuple(materials), fillers=tuple(fillers), additives=tuple(additives))


@given(marks())
@examples(200)
def test_what_is_written_is_read_again(mark):
    again = read(write(mark))
    assert again.problems == ()
    assert again.materials == mark.materials
    assert again.fillers == mark.fillers
    assert again.additives == mark.additives
    assert again.written == write(mark)


def test_the_table_has_its_symbols_and_a_source_for_each():
    assert len(TABLE.polymers) > 100
    assert {"GF", "MD", "TD", "CF"} <= {m + f for m in TABLE.fillers for f in TABLE.forms}
    for symbol in TABLE.polymers:
        assert read(f">{symbol}<").materials or symbol in TABLE.composed


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ('{"symbol": "ABS",', '{"symbol": "PP",', "symbols"),
        ('{"found": "HDPE", "means": "PE-HD"', '{"found": "HDPE", "means": "PE-QQ"', "$.found[0].means"),
        ('"name": "high density",', '"name": "high density", "colour": "red",', "colour"),
        ('"code": 17', '"code": 117', "flame_retardants"),
    ],
)
def test_a_slip_in_the_table_is_a_fault_with_its_place(tmp_path, old, new, place):
    text = resource("marks.json").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "marks.json"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(TableFault, match=r"marks\.json") as fault:
        read_marks(path)
    assert place in str(fault.value)


# --- the table of materials --------------------------------------------------------------------------


def made(substrate_id, *symbols):
    return Substrate(
        id=substrate_id,
        name=substrate_id,
        flex=Flex.RIGID,
        refuses_paint=False,
        moulded=True,
        source="",
        symbols=symbols,
    )


SHELF = [
    made("abs", "ABS"),
    made("pc", "PC"),
    made("pc-abs", "PC+ABS"),
    made("pp", "PP"),
    made("tpo", "PP+EPDM", "TPO"),
    made("epdm", "EPDM"),
    made("pa", "PA6", "PA66", "PA"),
    made("pa66-gf", "PA66-GF"),
    made("pe-hd", "PE-HD", "PE"),
    made("pe-ld", "PE-LD", "PE"),
    made("pvc-p", "PVC-P", "PVC"),
    made("pvc-u", "PVC-U", "PVC"),
    made("pur", "PUR"),
    made("ppe", "PPE+PS-HI"),
    made("steel"),
]


@pytest.mark.parametrize(
    ("text", "ids"),
    [
        (">PC+ABS<", ("pc-abs", "pc", "abs")),
        (">ABS+PC<", ("pc-abs", "abs", "pc")),  # the same blend the other way round
        (">PP+EPDM-TD20<", ("tpo", "pp", "epdm")),
        (">TPO<", ("tpo", "pp", "epdm")),
        (">PA66-GF30<", ("pa66-gf", "pa")),
        (">PA66<", ("pa", "pa66-gf")),
        (">PA12<", ("pa", "pa66-gf")),
        (">PE-HD<", ("pe-hd", "pe-ld")),
        (">PVC-P(DBP)<", ("pvc-p", "pvc-u")),
        (">PVC,PUR,ABS<", ("pvc-p", "pvc-u", "pur", "abs")),
        ("triangle 5", ("pp",)),
        (">PS-HI+PPE<", ("ppe",)),
        (">QQQ<", ()),
    ],
)
def test_the_materials_a_mark_may_mean(text, ids):
    assert substrates_for(read(text), SHELF) == ids


def test_what_fits_alike_has_the_same_rank():
    assert ranks(read(">PVC<"), SHELF) == {"pvc-p": 0, "pvc-u": 0}
    assert ranks(read(">PC+ABS<"), SHELF) == {"pc-abs": 0, "pc": 1, "abs": 2}
