"""The tables in resources/: what they say, where it comes from, and that a slip in them is told with its place."""

import json
from pathlib import Path
from typing import Any

import pytest

from benchtool.job.cards import Hazard
from benchtool.session import resources, tables
from benchtool.session.resources import resource
from benchtool.session.strictfile import TableFault
from benchtool.session.tables import load_tables, read_cautions, read_substrates
from benchtool.trade.substrates import Flex

ABOUT: dict[str, str] = {"what": "a test"}
ROW: dict[str, Any] = {
    "id": "unknown", "name": "x", "flex": None, "refuses_paint": False, "moulded": False, "source": "x", "known": False
}  # fmt: skip


def test_the_tables_are_read_once_and_are_whole() -> None:
    assert load_tables() is load_tables()
    assert len(load_tables().substrates) >= 40
    assert set(load_tables().cautions) == set(Hazard)


REFUSED = {
    "pe-hd": 31.6,
    "pe-ld": 31.6,
    "pp": 30.5,
    "tpo": 30,  # from memory
    "epdm": 30,  # from memory
    "ptfe": 19.4,
    "silicone": 20.1,
    "pvdf": 31.6,
    "rubber-natural": 24,
    "tpv": 30,  # from memory: it is mostly PP
}
"""Critical surface tension, mN/m: the survey named in the file's header."""


def test_paint_is_refused_only_where_published_surface_energy_says_so() -> None:
    found = {s.id for s in load_tables().substrates.values() if s.refuses_paint}
    assert found == set(REFUSED)
    for name, energy in REFUSED.items():
        assert f"{energy:g}" in load_tables().substrates[name].source
        assert energy < 34  # the lowest of those that common practice paints without a promoter: PS


@pytest.mark.parametrize(
    ("id_", "flex"),
    [
        ("aluminium", Flex.RIGID),
        ("tpo", Flex.FLEXIBLE),
        ("leather", Flex.FLEXIBLE),
        ("pp", None),
        ("paint-enamel", None),
    ],
)
def test_whether_a_material_bends(id_: str, flex: Flex | None) -> None:
    assert load_tables().substrates[id_].flex is flex


def test_only_mouldings_carry_mould_release() -> None:
    moulded = {s.id for s in load_tables().substrates.values() if s.moulded}
    assert {"abs", "pp", "tpo", "gel-coat", "up-gf"} <= moulded
    assert not moulded & {"aluminium", "steel", "glass", "plywood-birch", "mdf", "leather", "pla-print", "unknown"}


def test_every_material_has_words_and_a_source_and_one_is_unknown() -> None:
    rows = load_tables().substrates
    assert [s.id for s in rows.values() if not s.known] == ["unknown"]
    assert len({s.name for s in rows.values()}) == len(rows)
    for row in rows.values():
        assert row.name == row.name.strip()
        assert row.source


@pytest.mark.parametrize("hazard", Hazard)
def test_every_caution_is_short_and_gives_way_to_the_sheet_and_the_law(hazard: Hazard) -> None:
    text = load_tables().cautions[hazard]
    assert text.count(".") <= 2
    assert len(text) < 300
    for words in ("safety data sheet", "local rules", "licensed practice"):
        assert words in text


def test_the_cautions_say_what_they_must() -> None:
    said = load_tables().cautions
    for words in ("air-supplied", "for life", "skin", "never means that the air is safe"):  # NIOSH 96-111, HSE
        assert words in said[Hazard.ISOCYANATES]
    for words in ("extraction", "sparks", "covered metal can"):  # 29 CFR 1910.94, 1910.106, 1910.107
        assert words in said[Hazard.SOLVENT]
    for words in ("lead", "chromate", "respirator"):  # 29 CFR 1910.1025, 1910.1026
        assert words in said[Hazard.DUST]


@pytest.mark.parametrize("name", ["substrates.json", "cautions.json"])
def test_every_value_names_its_source(name: str) -> None:
    whole = json.loads(resource(name).read_text(encoding="utf-8"))
    (rows,) = (value for value in whole.values() if isinstance(value, list))
    assert all(row["source"].strip() for row in rows)
    assert set().union(*rows) <= set(whole["about"]) | {"hazard", "text"}  # the header explains every field


def _substrates(tmp_path: Path, *rows: dict[str, Any], **more: Any) -> Path:
    path = tmp_path / "substrates.json"
    path.write_text(json.dumps({"about": ABOUT, "substrates": rows, **more}), encoding="utf-8")
    return path


def test_a_table_of_the_right_shape_is_read(tmp_path: Path) -> None:
    assert list(read_substrates(_substrates(tmp_path, ROW))) == ["unknown"]


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"colour": "red"}, "`$.substrates[1]`"),
        ({"flex": "bendy"}, "`$.substrates[1].flex`"),
        ({"refuses_paint": "no"}, "`$.substrates[1].refuses_paint`"),
        ({"moulded": 0}, "`$.substrates[1].moulded`"),
        ({"id": "pc+abs"}, "`$.substrates[1].id`"),
        ({"name": ""}, "`$.substrates[1].name`"),
        ({"source": ""}, "`$.substrates[1].source`"),
        ({"id": "unknown"}, "`$.substrates[0]`"),
    ],
)
def test_a_slip_is_told_with_file_and_place(tmp_path: Path, change: dict[str, Any], place: str) -> None:
    path = _substrates(tmp_path, ROW, {**ROW, "id": "second", **change})
    with pytest.raises(TableFault) as fault:
        read_substrates(path)
    assert "substrates.json" in str(fault.value)
    assert place in str(fault.value)


@pytest.mark.parametrize("missing", [key for key in ROW if key != "known"])
def test_no_field_may_be_missing(tmp_path: Path, missing: str) -> None:
    with pytest.raises(TableFault, match=missing):
        read_substrates(_substrates(tmp_path, {k: v for k, v in ROW.items() if k != missing}))


@pytest.mark.parametrize("rows", [[], [{**ROW, "id": "abs"}], [{**ROW, "known": True}]])
def test_the_material_nobody_has_named_must_be_there(tmp_path: Path, rows: list[dict[str, Any]]) -> None:
    with pytest.raises(TableFault, match="unknown"):
        read_substrates(_substrates(tmp_path, *rows))


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"about": {}}', b"\xff\xfe", b'{"about": {"what": "\xff"}}'])
def test_a_broken_file_is_a_fault_that_names_it(tmp_path: Path, content: bytes) -> None:
    for name, read in (("substrates.json", read_substrates), ("cautions.json", read_cautions)):
        path = tmp_path / name
        path.write_bytes(content)
        with pytest.raises(TableFault, match=name):
            read(path)


def test_a_file_that_is_not_there_is_told_as_the_system_tells_it(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        read_cautions(tmp_path / "cautions.json")


@pytest.mark.parametrize(
    ("hazards", "words"),
    [
        (["isocyanates", "solvent vapour"], "sanding dust"),
        (["isocyanates", "solvent vapour", "sanding dust", "isocyanates"], "twice"),
        (["isocyanates", "noise"], r"\$\.cautions\[1\]\.hazard"),
    ],
)
def test_every_hazard_has_one_caution(tmp_path: Path, hazards: list[str], words: str) -> None:
    path = tmp_path / "cautions.json"
    rows = [{"hazard": h, "text": "x", "source": "x"} for h in hazards]
    path.write_text(json.dumps({"about": ABOUT, "cautions": rows}), encoding="utf-8")
    with pytest.raises(TableFault, match=words):
        read_cautions(path)


def test_the_data_is_found_beside_an_installed_package_before_anything_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "site-packages" / "benchtool"
    for folder in (package / "_resources", package.parent / "resources"):
        folder.mkdir(parents=True)
        (folder / "substrates.json").write_text("{}", encoding="utf-8")
    monkeypatch.setattr(resources, "PACKAGE", package)
    assert resource("substrates.json") == package / "_resources" / "substrates.json"
    with pytest.raises(FileNotFoundError, match=r"_resources.*resources"):
        resource("nothing.json")


def test_the_data_is_found_in_a_checkout() -> None:
    assert resource("substrates.json") == Path(tables.__file__).parents[2] / "resources" / "substrates.json"
