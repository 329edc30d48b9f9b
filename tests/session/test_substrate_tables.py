"""The tables of materials and cleaners: whole, each fact with its source, and a slip told with its place."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from benchtool.job.cards import Hazard
from benchtool.rules.finding import Tables
from benchtool.session.resources import resource
from benchtool.session.strictfile import TableFault
from benchtool.session.substratewords import Fact, facts, short
from benchtool.session.tables import load_tables, read_cleaners, read_substrates
from benchtool.trade.saying import speak
from benchtool.trade.substrates import Cleaner, Material, Substrate

TABLES = load_tables()
SUBSTRATES = TABLES.substrates
SOURCED = (
    "symbols", "natures", "surface_energy_mN_m", "routes", "grit", "safe", "harmful", "heat_limit_degC", "galvanic_V",
    "moisture", "note",
)  # fmt: skip


def whole() -> dict[str, Any]:
    return json.loads(resource("substrates.json").read_text(encoding="utf-8"))


def test_there_are_enough_materials_of_each_kind() -> None:
    count = {kind: sum(s.material is kind for s in SUBSTRATES.values()) for kind in Material}
    assert len(SUBSTRATES) >= 45
    assert count[Material.PLASTIC] >= 25
    for kind, least in (("METAL", 8), ("PAINT", 6), ("RUBBER", 4), ("COMPOSITE", 3), ("WOOD", 4), ("LEATHER", 2)):
        assert count[Material[kind]] >= least, kind
    assert [s.id for s in SUBSTRATES.values() if s.material is Material.UNKNOWN] == ["unknown"]


FIRST_IDS = (
    "aluminium aluminium-anodised steel steel-galvanised steel-stainless brass-copper plywood-birch wood-solid mdf "
    "glass gel-coat laminate-carbon paint-enamel paint-lacquer paint-urethane paint-powder leather pe-hd pe-ld pp tpo "
    "abs pc pc-abs pmma ps ps-hi san asa pet pvc-u pvc-p pa66-gf pom ppe pur-rim tpu up-gf ep-cf ptfe silicone epdm "
    "pla-print unknown"
)


def test_the_ids_that_old_jobs_use_are_kept() -> None:
    assert set(FIRST_IDS.split()) <= set(SUBSTRATES)


@pytest.mark.parametrize("row", whole()["substrates"], ids=lambda row: row["id"])
def test_every_fact_says_where_it_comes_from(row: dict[str, Any]) -> None:
    given = {key for key in SOURCED if key in row}
    assert given == set(row["sources"])
    assert row["source"].strip()


def test_no_source_is_left_with_a_short_name_and_none_is_never_used() -> None:
    cited = {
        name for row in whole()["substrates"] for s in row["sources"].values() for name in re.findall(r"\[(.*?)\]", s)
    }
    assert cited == set(whole()["citations"])
    for substrate in SUBSTRATES.values():
        for words in (substrate.source, *substrate.sources.values()):
            assert "[" not in words
            assert words.strip()


def test_practice_and_memory_are_owned_up_to() -> None:
    for substrate in SUBSTRATES.values():
        if "grit" in substrate.sources:
            assert "common practice, no source" in substrate.sources["grit"], substrate.id
    assert "from memory" in SUBSTRATES["pur-rim"].sources["surface_energy_mN_m"]


def test_the_texts_are_short_plain_sentences() -> None:
    for substrate in SUBSTRATES.values():
        for text in (substrate.note, substrate.moisture):
            if text:
                assert re.fullmatch(r"[A-Z][^\n<>{}]*\.", text), text
                assert len(text) < 260, substrate.id
                assert "  " not in text


WANTED = (
    "water-detergent release-wash degreaser-water degreaser-solvent isopropanol ethanol white-spirit naphtha acetone "
    "thinner-lacquer toluene ketone ammonia alkaline acid-wash thinner-urethane"
)


def test_the_cleaners_are_there_and_each_is_used() -> None:
    assert set(WANTED.split()) <= set(TABLES.cleaners)
    used = {c for s in SUBSTRATES.values() for c in (*s.safe, *s.harmful)}
    assert used == set(TABLES.cleaners)
    assert len({c.name for c in TABLES.cleaners.values()}) == len(TABLES.cleaners)
    assert all(c.source for c in TABLES.cleaners.values())


@pytest.mark.parametrize(
    ("cleaner", "flash_degC"),
    [
        # NIOSH Pocket Guide, from memory; GHS: a liquid is flammable up to a flash point of 60 °C
        ("isopropanol", 12), ("ethanol", 13), ("methanol", 11), ("acetone", -18), ("ketone", -9), ("toluene", 4),
        ("white-spirit", 43), ("turpentine", 35), ("acetate", -4), ("naphtha", 13),
    ],
)  # fmt: skip
def test_what_has_a_flash_point_burns(cleaner: str, flash_degC: float) -> None:
    assert TABLES.cleaners[cleaner].flammable is (flash_degC <= 60)


@pytest.mark.parametrize("cleaner", ["water-detergent", "release-wash", "ammonia", "alkaline", "acid-wash"])
def test_water_does_not_burn(cleaner: str) -> None:
    assert not TABLES.cleaners[cleaner].flammable


def test_the_header_of_the_cleaners_explains_every_field() -> None:
    read = json.loads(resource("cleaners.json").read_text(encoding="utf-8"))
    assert set().union(*read["cleaners"]) <= set(read["about"])
    assert set().union(*whole()["substrates"]) <= set(whole()["about"])


# --- slips -------------------------------------------------------------------------------------------

UNKNOWN: dict[str, Any] = {
    "id": "unknown", "name": "x", "flex": None, "refuses_paint": False, "moulded": False, "source": "x", "known": False
}  # fmt: skip
FULL: dict[str, Any] = {
    "id": "stuff", "name": "stuff", "flex": "rigid", "refuses_paint": False, "moulded": True, "source": "x",
    "material": "plastic", "symbols": ["XX"], "natures": ["porous"], "surface_energy_mN_m": [30, 31.5],
    "routes": ["tooth", "primer"], "grit": [240, 400], "safe": ["soap"], "harmful": ["fire"], "heat_limit_degC": 60,
    "galvanic_V": -0.5, "moisture": "Dry.", "note": "Mind it.", "sources": dict.fromkeys(SOURCED, "common practice"),
}  # fmt: skip
CLEANERS = {"soap", "fire"}


def written(tmp_path: Path, *rows: dict[str, Any], **more: Any) -> Path:
    path = tmp_path / "substrates.json"
    path.write_text(json.dumps({"about": {"what": "a test"}, "substrates": [UNKNOWN, *rows], **more}), encoding="utf-8")
    return path


def test_a_full_row_is_read_whole(tmp_path: Path) -> None:
    row = {**FULL, "sources": {**FULL["sources"], "grit": "[a]; by [b]"}}
    read = read_substrates(written(tmp_path, row, citations={"a": "A book", "b": "B"}), CLEANERS)["stuff"]
    assert isinstance(read, Substrate)
    assert read.surface_energy_mN_m == (30, 31.5)
    assert read.natures == {"porous"}
    assert read.routes == ("tooth", "primer")
    assert read.safe == ("soap",)
    assert read.harmful == ("fire",)
    assert read.sources["grit"] == "A book; by B"


def but(**change: Any) -> dict[str, Any]:
    """The full row with this changed; None leaves a key out, and its source with it."""
    row = {**FULL, **change}
    sources = {k: v for k, v in row["sources"].items() if change.get(k, 0) is not None}
    return {**{k: v for k, v in row.items() if v is not None}, "sources": sources}


@pytest.mark.parametrize(
    ("row", "place", "words"),
    [
        (but(safe=["soap", "petrol"]), "safe[1]", "not in the table of cleaners"),
        (but(harmful=["petrol"]), "harmful[0]", "not in the table of cleaners"),
        (but(harmful=["fire", "soap"]), "harmful[1]", "calls it safe"),
        (but(safe=["soap", "soap"]), "safe[1]", "twice"),
        (but(symbols=["XX", "XX"]), "symbols[1]", "twice"),
        (but(routes=["tooth", "tooth"]), "routes[1]", "twice"),
        (but(surface_energy_mN_m=[31, 30]), "surface_energy_mN_m", "greater number first"),
        (but(surface_energy_mN_m=[30]), "surface_energy_mN_m", ""),
        (but(surface_energy_mN_m=[3, 30]), "surface_energy_mN_m[0]", ""),
        (but(grit=[400, 240]), "grit", "finer grade first"),
        (but(grit=[240, 401]), "grit[1]", "no FEPA P grade"),
        (but(routes=["glue"]), "routes[0]", ""),
        (but(natures=["soft"]), "natures[0]", ""),
        (but(material="stone"), "material", ""),
        (but(heat_limit_degC=5), "heat_limit_degC", ""),
        (but(galvanic_V=0.5), "galvanic_V", ""),
        (but(sources={**FULL["sources"], "colour": "x"}), "sources.colour", "no fact"),
        (but(sources={**FULL["sources"], "note": "[lost]"}), "sources.note", "cites “lost”"),
        ({**but(note=None), "sources": FULL["sources"]}, "sources.note", "not given"),
        ({**but(safe=[]), "sources": FULL["sources"]}, "sources.safe", "not given"),
    ],
)  # fmt: skip
def test_a_slip_in_a_fact_is_told_with_its_place(tmp_path: Path, row: dict[str, Any], place: str, words: str) -> None:
    with pytest.raises(TableFault) as fault:
        read_substrates(written(tmp_path, row), CLEANERS)
    assert "substrates.json" in str(fault.value)
    assert f"$.substrates[1].{place}`" in str(fault.value)
    assert words in str(fault.value)


@pytest.mark.parametrize("field", SOURCED)
def test_a_fact_without_a_source_is_a_fault(tmp_path: Path, field: str) -> None:
    row = {**FULL, "sources": {k: v for k, v in FULL["sources"].items() if k != field}}
    with pytest.raises(TableFault, match=rf"substrates\[1\]\.{field}.*no source"):
        read_substrates(written(tmp_path, row), CLEANERS)


def test_no_route_at_all_may_have_a_source(tmp_path: Path) -> None:
    assert read_substrates(written(tmp_path, but(routes=[])), CLEANERS)["stuff"].routes == ()


def test_a_symbol_of_two_materials_is_spoken_of_in_both_notes(tmp_path: Path) -> None:
    other = {**FULL, "id": "other", "name": "other"}
    told = "XX may be either of two."
    with pytest.raises(TableFault, match=r"substrates\[1\]\.symbols\[0\]"):
        read_substrates(written(tmp_path, FULL, {**other, "note": told}), CLEANERS)
    with pytest.raises(TableFault, match=r"substrates\[2\]\.symbols\[0\].*stuff"):
        read_substrates(written(tmp_path, {**FULL, "note": told}, {**other, "note": "XXL."}), CLEANERS)
    both = read_substrates(written(tmp_path, {**FULL, "note": told}, {**other, "note": told}), CLEANERS)
    assert len(both) == 3


SOAP: dict[str, Any] = {"id": "soap", "name": "soap", "flammable": False, "source": "x"}


def cleaners(tmp_path: Path, *rows: dict[str, Any]) -> Path:
    path = tmp_path / "cleaners.json"
    path.write_text(json.dumps({"about": {}, "cleaners": rows}), encoding="utf-8")
    return path


def test_cleaners_are_read(tmp_path: Path) -> None:
    assert read_cleaners(cleaners(tmp_path, SOAP)) == {
        "soap": Cleaner(id="soap", name="soap", flammable=False, source="x")
    }


@pytest.mark.parametrize(
    ("rows", "place"),
    [
        ([SOAP, SOAP], "`$.cleaners[0]`"),
        ([{**SOAP, "flammable": "no"}], "`$.cleaners[0].flammable`"),
        ([{**SOAP, "smell": "fresh"}], "`$.cleaners[0]`"),
        ([{**SOAP, "id": "s o"}], "`$.cleaners[0].id`"),
        ([{**SOAP, "source": ""}], "`$.cleaners[0].source`"),
    ],
)
def test_a_slip_in_a_cleaner_is_told_with_its_place(tmp_path: Path, rows: list[dict[str, Any]], place: str) -> None:
    with pytest.raises(TableFault) as fault:
        read_cleaners(cleaners(tmp_path, *rows))
    assert "cleaners.json" in str(fault.value)
    assert place in str(fault.value)


# --- in words ----------------------------------------------------------------------------------------


def told(id_: str) -> dict[str, Fact]:
    return {fact.label: fact for fact in facts(SUBSTRATES[id_], TABLES)}


@pytest.mark.parametrize("id_", SUBSTRATES)
def test_each_fact_is_a_sentence_with_a_source(id_: str) -> None:
    for fact in facts(SUBSTRATES[id_], TABLES):
        assert fact.label.strip()
        assert fact.source.strip()
        assert fact.label == "Its mark" or re.fullmatch(r"[A-Z0-9“][^\n]*\.", fact.words), fact
        assert "{" not in fact.words
    line = short(SUBSTRATES[id_])
    assert line == line.strip()
    assert len(line) < 80


@pytest.mark.parametrize("id_", SUBSTRATES)
def test_no_fact_of_the_table_is_left_untold(id_: str) -> None:
    substrate = SUBSTRATES[id_]
    sources = [fact.source for fact in facts(substrate, TABLES)]
    for words in (substrate.source, *substrate.sources.values()):
        assert words in sources


def test_the_facts_of_a_clear_shell() -> None:
    pc = told("pc")
    assert pc["It is"].words == "Plastic, rigid or flexible. It comes out of a mould: wash the release agent off."
    assert pc["Its mark"].words == ">PC<"
    assert pc["Its surface"].words == "44 to 46 mN/m; most paint wets well from about 38."
    assert pc["What holds"].words == (
        "Best first, often together: tooth (abrade it), an adhesion promoter, a primer made for it."
    )
    assert pc["Abrade with"].words == "P600 to P1000."
    assert "isopropanol" in pc["Clean with"].words
    assert "ammonia (many window cleaners)" in pc["Keep away"].words
    assert pc["Heat"].words == "No warmer than 110 °C (230 °F)."
    assert "sheet maker" in pc["Keep away"].source


def test_the_facts_of_what_nothing_holds_on() -> None:
    assert told("ptfe")["What holds"].words == "Nothing is known to hold on it at a bench."
    assert short(SUBSTRATES["ptfe"]) == "rigid or flexible, nothing holds on it"
    assert short(SUBSTRATES["pvdf"]) == "rigid, paint does not wet it"
    assert short(SUBSTRATES["tpo"]) == "flexible, needs a promoter"
    for id_ in ("ptfe", "silicone", "pvdf"):
        assert "promoter" not in told(id_)["It is"].words
    assert "needs a promoter" in told("pp")["It is"].words
    assert told("pp")["What holds"].words == (
        "Best: an adhesion promoter. Industry also uses flame, plasma or corona: not at a bench."
    )


def test_the_facts_of_a_metal() -> None:
    words = told("aluminium")["Beside metal"].words
    assert words.startswith("Anodic index -0.90 V.")
    assert "0.15 V" in words


def test_the_unknown_claims_nothing() -> None:
    unknown = told("unknown")
    assert unknown["What holds"].words == "Nobody can say."
    assert short(SUBSTRATES["unknown"]) == "prove it on a test strip first"


def test_the_caution_stands_where_the_facts_lead_to_it() -> None:
    def cautions(id_: str) -> list[str]:
        return [fact.words for fact in facts(SUBSTRATES[id_], TABLES) if fact.label == "Take care"]

    assert cautions("paint-enamel") == [TABLES.cautions[Hazard.DUST], TABLES.cautions[Hazard.SOLVENT]]
    assert cautions("aluminium") == [TABLES.cautions[Hazard.SOLVENT]]
    assert cautions("steel")[0].startswith("Acid and alkaline cleaners burn skin and eyes")
    assert cautions("steel")[1:] == [TABLES.cautions[Hazard.SOLVENT]]
    assert cautions("pvc-p") == []  # water only
    assert cautions("paint-unknown") == [TABLES.cautions[Hazard.DUST]]


def test_a_cleaner_or_a_caution_that_the_tables_lack_stops_nothing() -> None:
    bare = Tables(substrates=SUBSTRATES, cautions={})
    assert "isopropanol; ethanol" in {f.label: f for f in facts(SUBSTRATES["pc"], bare)}["Clean with"].words


def test_the_facts_are_told_in_the_painters_language() -> None:
    note = SUBSTRATES["abs"].note
    try:
        speak({"Mind": "Beachte", note: "Vorsicht.", "rigid": "starr"})
        german = told("abs")
        assert german["Beachte"].words == "Vorsicht."
        assert german["It is"].words.startswith("Plastic, starr.")
    finally:
        speak({})
