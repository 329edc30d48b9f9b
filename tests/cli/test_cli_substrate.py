"""`benchtool substrate`: one material told whole, several listed, none refused."""

import pytest
from cli import asking
from cli.asking import ask

from benchtool.session.tables import load_tables


@pytest.fixture(autouse=True)
def real_tables(monkeypatch):
    monkeypatch.setattr(asking, "TABLES", load_tables())


@pytest.mark.parametrize(
    ("words", "id_"),
    [
        (["pc"], "pc"), ([">PC<"], "pc"), ([">pc+abs<"], "pc-abs"), (["PP+EPDM"], "tpo"), (["PS-HI"], "ps-hi"),
        (["bare", "aluminium"], "aluminium"), (["soft", "pvc"], "pvc-p"), (["gel", "coat"], "gel-coat"),
        (["unknown"], "unknown"), (["VMQ"], "silicone"), (["melamine"], "mf"),
    ],
)  # fmt: skip
def test_one_material_is_told_whole(words, id_):
    said = ask("substrate", *words, "--json")
    assert said.status == 0
    values = said.values
    assert values["id"] == id_
    assert [f["id"] for f in values["found"]] == [id_]
    assert {"label", "words", "source"} == set().union(*values["facts"])
    assert all(f["source"] for f in values["facts"])


def test_the_values_are_those_of_the_table():
    values = ask("substrate", "pmma", "--json").values
    row = load_tables().substrates["pmma"]
    assert values["harmful"] == list(row.harmful)
    assert values["safe"] == list(row.safe)
    assert values["heat_limit_degC"] == row.heat_limit_degC
    assert (values["surface_energy_least_mN_m"], values["surface_energy_most_mN_m"]) == row.surface_energy_mN_m
    assert (values["grit_coarse"], values["grit_fine"]) == row.grit
    assert values["galvanic_V"] is None
    assert values["material"] == "plastic"
    assert values["flex"] == "rigid"


def test_the_text_names_each_source():
    said = ask("substrate", "pmma")
    assert said.status == 0
    assert said.out.startswith("Acrylic (PMMA) (pmma)\n")
    assert said.out.count("    Source: ") == len(ask("substrate", "pmma", "--json").values["facts"])
    assert said.out.endswith("\n")
    assert not said.out.endswith("\n\n")


def test_several_are_listed():
    values = ask("substrate", "old", "paint", "--json").values
    assert values["id"] is None
    assert values["facts"] is None
    assert {"paint-enamel", "paint-unknown", "paint-urethane"} <= {f["id"] for f in values["found"]}
    assert "unknown" not in {f["id"] for f in values["found"]}
    text = ask("substrate", "old", "paint").out
    assert text.splitlines()[0] == f"{len(values['found'])} materials fit. Ask for one by its short name:"
    assert len(text.splitlines()) == 1 + len(values["found"])
    assert text.endswith("\n")


def test_a_symbol_of_two_materials_lists_both():
    assert {f["id"] for f in ask("substrate", ">PVC<", "--json").values["found"]} == {"pvc-u", "pvc-p"}


def test_every_material_can_be_asked_for_by_its_id():
    for id_ in load_tables().substrates:
        assert ask("substrate", id_, "--json").values["id"] == id_


@pytest.mark.parametrize("words", ["zzz", "<>", "", "  ", "granite worktop", "<i>zzz</i>"])
def test_no_material_is_refused(words):
    said = ask("substrate", words)
    assert said.status == 2
    assert "No material here is called" in said.err


def test_words_must_be_given():
    assert ask("substrate").status == 2
