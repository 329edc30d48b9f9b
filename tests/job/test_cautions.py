"""The cautions: each at its step, none lost, and each with what its source says."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtool.job.cards import Hazard
from benchtool.job.cautions import Moment, hazards_at, moments_of_cup
from benchtool.session.tables import load_tables


@pytest.mark.parametrize("hazard", Hazard)
def test_every_hazard_has_a_step_where_it_is_told(hazard: Hazard) -> None:
    assert hazards_at(Moment, [hazard]) == (hazard,)


@given(st.lists(st.sampled_from(Hazard), unique=True), st.sets(st.sampled_from(Moment)))
def test_the_order_of_the_card_stays(hazards: list[Hazard], moments: set[Moment]) -> None:
    told = hazards_at(moments, hazards)
    assert list(told) == [h for h in hazards if h in told]


def test_dust_is_no_matter_of_mixing_and_rags_are_none_of_sanding() -> None:
    every = tuple(Hazard)
    assert Hazard.DUST not in hazards_at([Moment.MIX, Moment.SPRAY], every)
    assert hazards_at([Moment.SAND], every) == (Hazard.DUST, Hazard.CHROMATE)
    assert hazards_at([Moment.CLEAN_UP], every) == (Hazard.SOLVENT, Hazard.OILY_RAGS)


def test_isocyanates_are_told_until_the_last_coat_is_on() -> None:
    for begun, stirred, sprayed in (
        (False, False, False),
        (True, False, False),
        (True, True, False),
        (True, True, True),
    ):
        moments = moments_of_cup(begun=begun, stirred=stirred, sprayed=sprayed)
        assert hazards_at(moments, [Hazard.ISOCYANATES]) == (Hazard.ISOCYANATES,)
    assert Hazard.OILY_RAGS in hazards_at(moments_of_cup(begun=True, stirred=True, sprayed=True), tuple(Hazard))


SAID = {
    Hazard.CHROMATE: ("cancer", "dry-sand", "respirator"),  # 29 CFR 1910.1026
    Hazard.PEROXIDE: ("blind", "goggles", "metal", "accelerator"),  # AS-109 of the peroxide producers
    Hazard.EPOXY: ("allergic", "nitrile", "not cured"),  # UK HSE research report 79
    Hazard.ACID: ("goggles", "water"),  # 29 CFR 1910.151(c)
    Hazard.UV_LAMP: ("eyes", "hours", "shield"),  # NIOSH 73-11005
    Hazard.OILY_RAGS: ("no spark", "flat", "lid"),  # NFPA on rags with oil-based finishes
}


@pytest.mark.parametrize("hazard", SAID)
def test_the_cautions_say_what_their_sources_do(hazard: Hazard) -> None:
    text = load_tables().cautions[hazard]
    assert all(words in text for words in SAID[hazard])
