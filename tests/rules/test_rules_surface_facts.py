"""Surface, cleaning and chemistry against published figures, and over whole jobs in which they must say nothing."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from builders import (
    ENAMEL,
    EPOXY,
    ETCH,
    FILLER,
    LACQUER,
    METALLIC,
    POLYOLEFIN,
    PROMOTER,
    SEALER,
    URETHANE,
    UV_CLEAR,
    WATERBORNE,
    JobBuilder,
    hours,
    minutes,
)
from msgspec.structs import replace

from benchtool.job.cards import Card, Duty
from benchtool.job.events import Shape
from benchtool.job.state import fold
from benchtool.rules.engine import Review
from benchtool.rules.finding import Finding, Severity
from benchtool.session.tables import load_tables

FAMILIES = ("surface", "cleaning", "promoter", "chemistry")


def plan(bench: JobBuilder, *cards: Card) -> JobBuilder:
    """Plan these layers, with the activator and the additive that suit the piece."""
    flex = next(iter(bench.state.pieces.values())).piece.flex
    bench.card(*dict.fromkeys(c.id for c in cards) and {c.id: c for c in cards}.values())
    for i, card in enumerate(cards):
        activator = next((a.id for a in card.activators if a.suits.suits(flex)), None)
        additives = tuple(a.id for a in card.additives if a.suits.suits(flex))
        bench.layer(f"{card.id}-{i}", card, activator=activator, additives=additives)
    return bench


# --- published figures -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("waited", "severity"),
    [
        (timedelta(minutes=15), None),
        (hours(4), None),
        (hours(4) + timedelta(seconds=1), Severity.NOTE),
        (hours(12), Severity.NOTE),
        (hours(12) + timedelta(seconds=1), Severity.CAUTION),  # published guides for aluminium: at the latest 12 h
    ],
)
def test_how_long_bare_aluminium_may_wait(waited: timedelta, severity: Severity | None) -> None:
    bench = plan(JobBuilder().piece().prep("wash", "degrease", "abrade", "degrease"), EPOXY)
    found = bench.of("surface.metal-aged", bench.now + waited)
    assert [f.severity for f in found] == ([] if severity is None else [severity])


@pytest.mark.parametrize(
    ("metal", "other", "severity"),
    [
        ("steel", "aluminium", None),  # -0.85 and -0.90 V: 0.05 apart
        ("aluminium", "steel-galvanised", Severity.NOTE),  # -0.90 and -1.20 V: 0.30 apart
        ("steel", "brass-copper", Severity.NOTE),  # -0.85 and -0.40 V: 0.45 apart
        ("aluminium", "brass-copper", Severity.NOTE),  # 0.50 V apart: the most that is let pass, in held air only
        ("aluminium", "titanium", Severity.CAUTION),  # -0.90 and -0.30 V: 0.60 apart
        ("magnesium", "steel", Severity.CAUTION),  # -1.75 and -0.85 V: 0.90 apart
        ("abs", "steel", None),
    ],
)
def test_metals_that_touch_by_the_published_anodic_index(metal: str, other: str, severity: Severity | None) -> None:
    """0.15 V outdoors, 0.25 V in a normal store, 0.50 V in held air: the guideline published with the anodic index."""
    found = plan(JobBuilder().piece(substrate=metal, joined=(other,)).prep("wash"), EPOXY).of("surface.galvanic")
    assert [f.severity for f in found] == ([] if severity is None else [severity])


def test_the_less_noble_metal_is_the_one_that_is_eaten() -> None:
    bench = plan(JobBuilder().piece(substrate="titanium", joined=("aluminium",)).prep("wash"), EPOXY)
    assert "bare aluminium is eaten" in bench.one("surface.galvanic").message


@pytest.mark.parametrize(
    ("plastic", "cleaner", "harmed"),
    [
        ("pc", "acetone", True),  # attacks and crazes: a published table of solvent resistance
        ("ps", "acetone", True),  # from memory
        ("abs", "acetone", True),  # from memory
        ("pmma", "ethanol", True),  # stress-cracks: a published table of solvent resistance
        ("pmma", "toluene", True),  # dissolves: the same
        ("pp", "acetone", False),  # semicrystalline: the same
        ("pe-hd", "ethanol", False),  # from memory
    ],
)
def test_cleaners_that_attack_by_published_tables(plastic: str, cleaner: str, harmed: bool) -> None:
    bench = JobBuilder().piece(substrate=plastic).prep("mould-release wash").prep("degrease", agent=cleaner)
    assert ("cleaning.harmful-cleaner" in plan(bench, POLYOLEFIN).rules()) is harmed


@pytest.mark.parametrize(
    ("substrate", "card", "severity"),
    [
        ("steel", WATERBORNE, Severity.STOP),  # ASTM F22: beads show a hydrophobic film
        ("steel", EPOXY, Severity.CAUTION),
        ("abs", WATERBORNE, Severity.NOTE),
        ("pp", POLYOLEFIN, None),  # about 30 mN/m: water beads on it however clean it is
        ("wood-solid", SEALER, None),  # ASTM F22 tells nothing on what is porous
    ],
)
def test_what_a_failed_water_break_test_says(substrate: str, card: Card, severity: Severity | None) -> None:
    bench = JobBuilder().piece(substrate=substrate).prep("wash", "abrade", "degrease")
    found = plan(bench.prep("water-break test", passed=False), card).of("cleaning.water-break")
    assert [f.severity for f in found] == ([] if severity is None else [severity])


# --- laws ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("substrate", load_tables().substrates)
@pytest.mark.parametrize("card", [ENAMEL, LACQUER, WATERBORNE, EPOXY, ETCH, UV_CLEAR], ids=lambda c: c.id)
def test_paint_on_any_material_is_judged_in_sentences_and_a_strip_never_makes_it_worse(
    substrate: str, card: Card
) -> None:
    for face in ("outside", "behind clear"):
        bench = plan(JobBuilder().piece(substrate=substrate, face=face).prep("wash"), card)
        before = {f.key: f for f in bench.findings()}
        for finding in before.values():
            assert finding.message.endswith(".")
            assert "{" not in finding.message + finding.remedy
            assert not finding.forbids_coat or finding.severity is Severity.STOP or finding.rule.startswith("promoter")
        after = {f.key for f in bench.trial().findings()}
        assert after <= set(before)
        bench.coat(mix=None)
        assert not [f for f in bench.findings() if f.severity is Severity.STOP and f.rule.startswith("surface.")]


# --- whole jobs ------------------------------------------------------------------------------------------


def metal(substrate: str, grit: int, **piece: object) -> JobBuilder:
    """A piece of metal, degreased, abraded and degreased again."""
    bench = JobBuilder().piece(substrate=substrate, **piece).prep("wash", agent="water-detergent")
    return bench.prep("degrease", agent="degreaser-solvent").prep("abrade", grit=grit).prep("degrease", "tack")


def moulding(substrate: str, grit: int | None = None, **piece: object) -> JobBuilder:
    """A moulded part, washed of its release, scuffed where it may be, wiped and tacked off."""
    bench = JobBuilder().piece(substrate=substrate, known="marked", **piece)
    bench.prep("mould-release wash", agent="release-wash")
    if grit is not None:
        bench.prep("scuff", grit=grit).prep("wash", agent="water-detergent")
    return bench.prep("tack")


PRIMER = replace(WATERBORNE, id="waterborne-primer", duty=Duty.PRIMER)

BY_THE_BOOK: dict[str, Callable[[], JobBuilder]] = {
    "a steel tank in full": lambda: plan(metal("steel", 120), EPOXY, FILLER, SEALER, METALLIC, URETHANE),
    "aluminium with etch": lambda: plan(metal("aluminium", 240), ETCH, SEALER, LACQUER, URETHANE),
    "aluminium with epoxy": lambda: plan(metal("aluminium", 240), EPOXY, METALLIC, URETHANE),
    "cast aluminium": lambda: plan(metal("aluminium-cast", 180), EPOXY, URETHANE),
    "galvanised steel, enamel on epoxy": lambda: plan(metal("steel-galvanised", 180), EPOXY, ENAMEL),
    "stainless steel": lambda: plan(metal("steel-stainless", 180), EPOXY, URETHANE),
    "steel with aluminium brackets": lambda: plan(metal("steel", 120, joined=("aluminium",)), EPOXY, URETHANE),
    "enamel on steel": lambda: plan(metal("steel", 120), ENAMEL),
    "etch and enamel": lambda: plan(metal("steel", 120), ETCH, ENAMEL),
    "a bumper of TPO": lambda: plan(moulding("tpo", 600, flex="flexible"), POLYOLEFIN, METALLIC, URETHANE),
    "a cover of PP": lambda: plan(moulding("pp", 500), POLYOLEFIN, WATERBORNE, URETHANE),
    "a cap of ABS": lambda: plan(moulding("abs", 500), SEALER, METALLIC, URETHANE),
    "ABS in a waterborne colour": lambda: plan(moulding("abs", 600), WATERBORNE, URETHANE),
    "a shell of PC from behind": lambda: plan(moulding("pc", face="behind clear"), POLYOLEFIN, LACQUER, SEALER),
    "a shell of PET in waterborne": lambda: plan(moulding("pet", face="behind clear", flex="flexible"), WATERBORNE),
    "a dashboard with a grain": lambda: plan(
        moulding("abs", 500, shape=(Shape.TEXTURED,)), SEALER, WATERBORNE, URETHANE
    ),
    "a nylon cover": lambda: plan(moulding("pa66-gf", 400).prep("dry out", "tack"), SEALER, METALLIC, URETHANE),
    "a hood of carbon": lambda: plan(moulding("laminate-carbon", 320), EPOXY, URETHANE),
    "a hull of gel coat": lambda: plan(moulding("gel-coat", 320), EPOXY, URETHANE),
    "glass with a promoter": lambda: plan(JobBuilder().piece(substrate="glass").prep("wash"), PROMOTER, LACQUER),
    "oak in waterborne": lambda: plan(
        JobBuilder().piece(substrate="wood-hardwood").prep("wash", "dry out").prep("abrade", grit=180).prep("tack"),
        PRIMER,
        WATERBORNE,
    ),
    "an MDF door": lambda: plan(
        JobBuilder().piece(substrate="mdf").prep("abrade", grit=240).prep("degrease", "tack"), SEALER, LACQUER, URETHANE
    ),
    "over old urethane": lambda: plan(metal("paint-urethane", 600), WATERBORNE, URETHANE),
    "over old lacquer, sealed": lambda: plan(metal("paint-lacquer", 500), SEALER, LACQUER, URETHANE),
    "over old enamel, waterborne": lambda: plan(metal("paint-enamel", 400), WATERBORNE, URETHANE),
    "over old paint that a strip proved": lambda: plan(metal("paint-unknown", 400).trial(), EPOXY, LACQUER, URETHANE),
    "UV clear over a waterborne colour": lambda: plan(metal("steel", 120), EPOXY, WATERBORNE, UV_CLEAR),
    "lacquer, urethane, lacquer art, urethane": lambda: plan(
        metal("steel", 120), EPOXY, LACQUER, URETHANE, replace(LACQUER, id="art"), replace(URETHANE, id="last")
    ),
}


@pytest.mark.parametrize("job", BY_THE_BOOK)
def test_a_job_done_by_the_book_is_left_in_peace(job: str) -> None:
    bench = BY_THE_BOOK[job]()
    for layer in list(bench.state.layers):
        card = bench.state.cards[bench.layer_state(layer).plan.card]
        for coat in range(card.coats_least):
            bench.wait(seconds=(card.flash or minutes(0)).total_seconds() if coat else 0)
            assert _heard(bench) == []
            bench.coat(layer, mix=None, takes=minutes(3))
            assert _heard(bench, waits=True) == []
        bench.wait(seconds=max(card.recoat_opens or minutes(0), hours(1)).total_seconds())
    for later in (hours(1), hours(24 * 365)):
        assert _heard(bench.wait(seconds=later.total_seconds())) == []


def _heard(bench: JobBuilder, *, waits: bool = False) -> list[str]:
    """What the four families say; with `waits`, what time alone will settle is passed over."""
    found = Review(bench.job, fold(bench.job), bench.tables).raw(bench.now)
    return [f"{f.rule}: {f.message}" for f in found if _ours(f) and not (waits and f.clears_at)]


def _ours(finding: Finding) -> bool:
    return finding.rule.partition(".")[0] in FAMILIES
