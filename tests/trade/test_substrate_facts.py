"""What the table of materials says, held against published values; each source stands beside its rows."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtool.session.tables import load_tables
from benchtool.trade.substrates import (
    DAMP_V,
    DRY_V,
    FEPA_P,
    INDOORS_V,
    Material,
    Nature,
    Route,
    galvanic_gap_V,
    stands,
)  # fmt: skip

SUBSTRATES = load_tables().substrates
KNOWN = [s for s in SUBSTRATES.values() if s.known]
METALS = [s for s in KNOWN if s.material is Material.METAL]


@pytest.mark.parametrize(
    ("id_", "mN_m"),
    [
        # “Critical Surface Tension and Contact Angle with Water for Various Polymers”, averages of the literature
        # (7-gc-PP, -PE, -PS, -ABS, -PA66, -PA12, -PET, -PTFE, -PDMS, and further rows of the same table)
        ("pp", 30.5), ("pe-hd", 31.6), ("pe-ld", 31.6), ("ps", 34), ("ps-hi", 34), ("ps-e", 34), ("abs", 38.5),
        ("pa66-gf", 42.2), ("pa", 42.2), ("pa", 43.9), ("pa12", 37.1), ("pet", 39), ("ptfe", 19.4), ("silicone", 20.1),
        ("pc", 44), ("pmma", 37.5), ("pom", 37), ("pvc-u", 37.9), ("pvdf", 31.6), ("pps", 38), ("psu", 42.1),
        ("ep-cf", 44.5), ("ep-gf", 44.5), ("pc-abs", 38.5), ("pc-abs", 44),
        # “Surface Energies of Polymers”, table 1, untreated polymers
        ("pp", 29), ("pp", 31), ("pe-hd", 30), ("pe-ld", 31), ("abs", 35), ("abs", 42), ("pc", 46), ("pvc-u", 39),
        ("pvc-p", 33), ("pvc-p", 38), ("pa", 33), ("pa", 46), ("pbt", 32), ("ppe", 47), ("psu", 41),
        ("pet", 41), ("pet", 44), ("up-gf", 41), ("up-gf", 44), ("rubber-natural", 24), ("silicone", 24), ("ps", 33),
    ],
)  # fmt: skip
def test_the_range_of_surface_energy_takes_in_each_published_value(id_, mN_m):
    low, high = SUBSTRATES[id_].surface_energy_mN_m
    assert low <= mN_m <= high
    assert high - low <= 13  # nylon, 33-46 in one published table, is the widest


@pytest.mark.parametrize(("id_", "mN_m"), [("tpo", 30), ("pet", 42), ("pur-rim", 42), ("tpu", 42)])
def test_surface_energy_from_memory_is_near_the_handbook_range(id_, mN_m):
    low, high = SUBSTRATES[id_].surface_energy_mN_m  # 7-gc-TPO, -PETG, -PUR: ± 5, from memory
    assert low - 5 <= mN_m <= high + 5


def test_what_is_hardly_wetted_is_refused_or_says_why_not():
    """“Surface Energies of Polymers”: a solid wets 8-10 mN/m above the liquid; paint is about 28, so 36 and up."""
    for substrate in KNOWN:
        if substrate.surface_energy_mN_m is None:
            assert not substrate.refuses_paint, f"{substrate.id} refuses paint, and no number says so"
        elif substrate.surface_energy_mN_m[1] < 36:
            assert substrate.refuses_paint or substrate.id == "pbt", substrate.id
        else:
            assert not substrate.refuses_paint, substrate.id
    assert "one figure is not clear enough" in SUBSTRATES["pbt"].source
    assert "prove it on a strip" in SUBSTRATES["pbt"].note


def test_what_refuses_paint_has_no_bench_route_but_a_promoter_or_none():
    for substrate in KNOWN:
        if substrate.refuses_paint and substrate.id != "rubber-natural":
            assert not {Route.TOOTH, Route.PRIMER} & set(substrate.routes), substrate.id
        assert (Nature.NOTHING_HOLDS in substrate.natures) == (not substrate.routes), substrate.id


HARMED, STANDS = False, True


@pytest.mark.parametrize(
    ("id_", "cleaner", "verdict"),
    [
        # Textbook cases of solvent attack, 7-sol-*: PC, PMMA and PP from “Effect of Chemicals on Plastics” and tables
        # of plastics in solvents; PS, ABS and PE from memory
        ("pc", "acetone", HARMED), ("ps", "acetone", HARMED), ("abs", "acetone", HARMED), ("pmma", "ethanol", HARMED),
        ("pmma", "toluene", HARMED), ("pp", "acetone", STANDS), ("pe-hd", "ethanol", STANDS),
        ("pe-ld", "ethanol", STANDS),
        # CRREL Special Report 95-1, table 7: dissolved by acetone, butanone, toluene, dichloromethane; methanol 4 % in
        # a day; 25 % caustic soda and hydrochloric acid under 1 % in 112 days
        ("abs", "ketone", HARMED), ("abs", "toluene", HARMED), ("abs", "chlorinated", HARMED),
        ("abs", "methanol", HARMED), ("abs", "alkaline", STANDS), ("abs", "acid-wash", STANDS),
        # “Chemical Resistance of Polycarbonate Products”; “Care of Polycarbonates”
        ("pc", "ketone", HARMED), ("pc", "toluene", HARMED), ("pc", "methanol", HARMED), ("pc", "ammonia", HARMED),
        ("pc", "alkaline", HARMED), ("pc", "acetate", HARMED), ("pc", "isopropanol", STANDS), ("pc", "ethanol", STANDS),
        ("pc", "naphtha", STANDS),
        # An acrylic sheet maker's installation guide, page on cleaning
        ("pmma", "acetone", HARMED), ("pmma", "thinner-lacquer", HARMED), ("pmma", "ammonia", HARMED),
        ("pmma", "naphtha", STANDS), ("pmma", "water-detergent", STANDS),
        # Technical service report 15 on rigid vinyls: not for chlorinated, aromatics, esters, ketones
        ("pvc-u", "ketone", HARMED), ("pvc-u", "acetate", HARMED), ("pvc-u", "toluene", HARMED),
        ("pvc-u", "chlorinated", HARMED), ("pvc-u", "naphtha", STANDS), ("pvc-u", "alkaline", STANDS),
        # “High Impact Styrene (Polystyrene)”: not for cleaning fluids, petrol, turpentine, lacquer thinner
        ("ps-hi", "naphtha", HARMED), ("ps-hi", "turpentine", HARMED), ("ps-hi", "thinner-lacquer", HARMED),
        ("ps-hi", "ethanol", STANDS), ("ps-e", "naphtha", HARMED),
        # A resin maker's “Chemical Resistance”: polyamides in mineral acids, polyesters in strong bases
        ("pa", "acid-wash", HARMED), ("pa66-gf", "acid-wash", HARMED), ("pbt", "alkaline", HARMED),
        # “Rubber – The Basic Elastomers”; a gasket maker's note on acetone
        ("rubber-natural", "naphtha", HARMED), ("epdm", "naphtha", HARMED), ("epdm", "acetone", STANDS),
        ("rubber-nitrile", "naphtha", STANDS), ("rubber-nitrile", "acetone", HARMED),
        # Laboratory ware table: weak acids poor on PMMA and POM, alkalis good on POM and SAN
        ("pmma", "acid-wash", HARMED), ("pom", "acid-wash", HARMED), ("pom", "alkaline", STANDS),
        ("san", "alkaline", STANDS),
        # pH of metals: zinc dissolves below 6, aluminium oxide above 10; “Season cracking” of brass (ASTM B858)
        ("steel-galvanised", "acid-wash", HARMED), ("zinc-die-cast", "alkaline", HARMED),
        ("aluminium", "alkaline", HARMED), ("aluminium-anodised", "alkaline", HARMED),
        ("brass-copper", "ammonia", HARMED),
        # “Finishing Oily Woods”: a quick wipe with acetone, lacquer thinner or alcohol
        ("wood-oily", "acetone", STANDS), ("wood-oily", "thinner-lacquer", STANDS),
    ],
)  # fmt: skip
def test_a_cleaner_does_what_the_published_tables_say(id_, cleaner, verdict):
    assert stands(SUBSTRATES[id_], cleaner) is verdict


def test_what_nobody_has_said_of_a_cleaner_is_not_known():
    assert stands(SUBSTRATES["abs"], "isopropanol") is None
    assert stands(SUBSTRATES["abs"], "no such thing") is None


@pytest.mark.parametrize("id_", ["pc", "pc-abs", "abs", "asa", "ppe", "pmma"])
def test_the_families_of_the_stress_crack_procedure_crack(id_):
    """A car maker's stress-crack procedure (scope): PC, PC/ABS, ABS, SMA, ASA, PPO and PMMA are to be tested."""
    assert Nature.STRESS_CRACKS in SUBSTRATES[id_].natures
    for cleaner in ("acetone", "ketone", "toluene", "thinner-lacquer"):
        assert stands(SUBSTRATES[id_], cleaner) is False


def test_what_cracks_or_softens_never_calls_strong_solvent_safe():
    for substrate in KNOWN:
        if {Nature.STRESS_CRACKS, Nature.SOFTENS} & substrate.natures:
            assert not {"acetone", "ketone", "acetate", "toluene", "thinner-lacquer", "chlorinated"} & set(
                substrate.safe
            )
            assert substrate.harmful, substrate.id


def test_the_painter_always_has_one_cleaner_to_start_with():
    for substrate in SUBSTRATES.values():
        assert substrate.safe, substrate.id
    assert SUBSTRATES["unknown"].safe == ("water-detergent",)
    assert SUBSTRATES["paint-unknown"].safe == ("water-detergent",)


ANODIC_INDEX = {
    # Table of the anodic index after MIL-STD-889, volts against gold, as printed on two pages
    "titanium": -0.30, "brass-copper": -0.40, "steel-stainless": -0.50, "chrome-plate": -0.60, "steel": -0.85,
    "iron-cast": -0.85, "aluminium": -0.90, "aluminium-anodised": -0.90, "aluminium-cast": -0.95,
    "steel-galvanised": -1.20, "steel-zinc-plated": -1.25, "zinc-die-cast": -1.25, "magnesium": -1.75,
}  # fmt: skip


def test_each_metal_has_its_anodic_index_and_nothing_else_has_one():
    assert {s.id: s.galvanic_V for s in KNOWN if s.galvanic_V is not None} == ANODIC_INDEX
    assert {s.id for s in METALS} == set(ANODIC_INDEX)


def test_the_metals_stand_in_the_order_of_the_sea_water_series():
    """Galvanic series in sea water, MIL-STD-889B, the most active first: the order, not the volts."""
    series = ["magnesium", "zinc-die-cast", "aluminium", "steel", "chrome-plate", "brass-copper", "titanium"]
    volts = [SUBSTRATES[id_].galvanic_V for id_ in series]
    assert volts == sorted(volts)
    assert len(set(volts)) == len(volts)


@pytest.mark.parametrize(
    ("one", "other", "gap"),
    [("aluminium", "steel", 0.05), ("aluminium", "steel-stainless", 0.40), ("magnesium", "titanium", 1.45)],
)
def test_two_metals_are_as_far_apart_as_their_indices(one, other, gap):
    assert galvanic_gap_V(SUBSTRATES[one], SUBSTRATES[other]) == pytest.approx(gap)
    assert galvanic_gap_V(SUBSTRATES[other], SUBSTRATES[one]) == pytest.approx(gap)


def test_what_is_no_metal_has_no_gap():
    assert galvanic_gap_V(SUBSTRATES["abs"], SUBSTRATES["steel"]) is None
    assert galvanic_gap_V(SUBSTRATES["steel"], SUBSTRATES["abs"]) is None


def test_the_published_limits_of_the_gap():
    assert (DAMP_V, INDOORS_V, DRY_V) == (0.15, 0.25, 0.50)  # the rule beside the published anodic index


@given(st.sampled_from(METALS), st.sampled_from(METALS))
def test_a_gap_is_never_below_nothing_and_the_same_both_ways(one, other):
    assert galvanic_gap_V(one, other) == galvanic_gap_V(other, one) >= 0
    assert galvanic_gap_V(one, one) == 0


@pytest.mark.parametrize(
    ("id_", "published_degC"),
    [
        # Heat deflection at 0.46 MPa (ISO 75, ASTM D648): least of the published range
        ("abs", 68), ("pc-abs", 105), ("ps", 68), ("ps-hi", 68), ("pvc-u", 57), ("pe-hd", 79), ("pe-ld", 40),
        ("pp", 107),
        # at 1.8 MPa: “Deflection Temperature Testing of Plastics” and ASTM D648 figures of printed materials
        ("pmma", 85), ("pa", 60), ("pet", 65), ("pc", 127), ("pc-abs", 96), ("pa12", 86), ("resin-print", 43.6),
        # Limiting temperatures of long-term use of polymers; a PETG sheet seller's data
        ("pmma", 90), ("pc", 135), ("pe-hd", 75), ("pp", 100), ("pvc-u", 60), ("pet", 60),
    ],
)  # fmt: skip
def test_a_heat_limit_is_never_above_a_published_figure(id_, published_degC):
    limit = SUBSTRATES[id_].heat_limit_degC
    assert published_degC - 30 <= limit <= published_degC


def test_every_plastic_and_every_rubber_has_a_heat_limit():
    for substrate in KNOWN:
        if substrate.material in (Material.PLASTIC, Material.RUBBER):
            assert substrate.heat_limit_degC is not None, substrate.id


def test_the_grades_are_those_of_the_standard():
    """ISO 6344-1: P12 to P2500, coarse first; P3000 and P5000 are used beyond it (from memory)."""
    assert [g for g in FEPA_P if g <= 2500] == [
        12, 16, 20, 24, 30, 36, 40, 50, 60, 80, 100, 120, 150, 180, 220,
        240, 280, 320, 360, 400, 500, 600, 800, 1000, 1200, 1500, 2000, 2500,
    ]  # fmt: skip
    assert list(FEPA_P) == sorted(set(FEPA_P))


def test_what_is_not_to_be_abraded_has_no_grades():
    for id_ in ("glass", "magnesium", "cn", "ptfe", "silicone", "unknown", "steel-zinc-plated", "ps-e"):
        assert SUBSTRATES[id_].grit is None, id_
    for substrate in KNOWN:
        if substrate.routes[:1] == (Route.TOOTH,) and substrate.id != "cn":
            assert substrate.grit is not None, substrate.id


def test_what_may_hold_lead_is_old_paint_and_says_so():
    """29 CFR 1910.1025 (lead) and 1910.1026 (chromates)."""
    may = {s.id for s in KNOWN if Nature.MAY_HOLD_LEAD in s.natures}
    assert may >= {"paint-enamel", "paint-lacquer", "paint-unknown", "paint-electrocoat", "paint-epoxy"}
    assert all(SUBSTRATES[id_].material is Material.PAINT for id_ in may)
    for id_ in ("paint-enamel", "paint-lacquer", "paint-unknown"):
        assert "Test" in SUBSTRATES[id_].note
        assert "lead" in SUBSTRATES[id_].note


def test_zinc_warns_of_alkyd():
    for substrate in METALS:
        assert (Nature.ZINC in substrate.natures) == ("zinc" in substrate.name or "galvanised" in substrate.name)
    assert "alkyd" in SUBSTRATES["steel-galvanised"].note
    assert "alkyd" in SUBSTRATES["zinc-die-cast"].note


def test_the_symbols_are_written_as_the_standards_write_them():
    """ISO 1043-1 and -2, ISO 1629, ISO 18064: capitals and digits joined by + and -, the blend's main part first."""
    for substrate in KNOWN:
        for symbol in substrate.symbols:
            assert re.fullmatch(r"[A-Z][A-Z0-9/]*([-+]\(?[A-Z][A-Z0-9/]*([-+][A-Z0-9]+)*\)?)*", symbol), symbol
        if substrate.material not in (Material.PLASTIC, Material.RUBBER, Material.COMPOSITE):
            assert not substrate.symbols, substrate.id


@pytest.mark.parametrize(
    ("symbol", "id_"),
    [
        # ISO 11469 marks as their published examples have them (7-mark-*), and ISO 1043-1 symbols from memory
        ("ABS", "abs"), ("PC+ABS", "pc-abs"), ("PP", "pp"), ("PP+EPDM", "tpo"), ("PVC-P", "pvc-p"), ("PVC-U", "pvc-u"),
        ("PS-HI", "ps-hi"), ("PE-HD", "pe-hd"), ("PE-LD", "pe-ld"), ("PMMA", "pmma"), ("POM", "pom"), ("PBT", "pbt"),
        ("PC+PBT", "pc-pbt"), ("PPE+PA", "ppe-pa"), ("PLA", "pla-print"), ("UP-GF", "up-gf"), ("EP-GF", "ep-gf"),
    ],
)  # fmt: skip
def test_a_symbol_names_its_material_alone(symbol, id_):
    assert [s.id for s in KNOWN if symbol in s.symbols] == [id_]
