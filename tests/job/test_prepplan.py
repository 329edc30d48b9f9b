"""The prep plan: its laws for any material and any record, and the routes of particular pieces."""

from datetime import UTC, datetime, timedelta

import pytest
from builders import CLEAR, COLOUR, EPOXY, ONE_PART_PROMOTER, PROMOTER, SEALER, JobBuilder
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples

from benchtool.job import events as ev
from benchtool.job.cards import Hazard, Trait
from benchtool.job.events import Face, Prep, Shape
from benchtool.job.nextstep import Act, next_step
from benchtool.job.prepplan import (
    ORDER,
    Part,
    Standing,
    cleaner_for,
    next_of,
    over_plan,
    prep_plan,
    step_for,
)
from benchtool.job.stack import PieceState, Step
from benchtool.trade.substrates import Cleaner, Flex, Material, Nature, Route, Substrate

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
CLEANERS = {
    "isopropanol": Cleaner(id="isopropanol", name="isopropanol", flammable=True, source="test"),
    "degreaser-water": Cleaner(id="degreaser-water", name="waterborne degreaser", flammable=False, source="test"),
}
IDS = ("water-detergent", "release-wash", "degreaser-water", "degreaser-solvent", "isopropanol", "acetone", "alkaline")


def material(**told):
    fields = {
        "id": "x",
        "name": "stuff",
        "flex": Flex.RIGID,
        "refuses_paint": False,
        "moulded": False,
        "source": "test",
    }
    return Substrate(**(fields | told))


STEEL = material(material=Material.METAL, grit=(80, 180), safe=("water-detergent", "degreaser-solvent"))
SHELL = material(
    material=Material.PLASTIC,
    moulded=True,
    natures=frozenset({Nature.STRESS_CRACKS, Nature.CAN_BE_CLEAR}),
    routes=(Route.TOOTH, Route.PROMOTER, Route.PRIMER),
    grit=(600, 1000),
    safe=("water-detergent", "release-wash", "isopropanol"),
    harmful=("acetone",),
)
UNKNOWN = material(id="unknown", known=False)


def piece(*steps, face=Face.OUTSIDE, shape=(), trials=()):
    """A bare piece with these steps logged, a minute apart; a step is its name, or with how its test went."""
    told = ev.Piece(
        id="p1", name="Part", substrate="x", known=ev.Known.TOLD, flex=Flex.RIGID, face=face, shape=tuple(shape)
    )
    logged = [
        Step(Prep(s[0] if isinstance(s, tuple) else s), START + timedelta(minutes=i), None, i,
             passed=s[1] if isinstance(s, tuple) else None)
        for i, s in enumerate(steps)
    ]  # fmt: skip
    return PieceState(told, steps=logged, trials=list(trials))


def plan(substrate, *steps, first=None, **told):
    return prep_plan(piece(*steps, **told), substrate, first, cleaners=CLEANERS)


def states(planned):
    return {s.part: s.state for s in planned}


def active(planned):
    return [s.part for s in planned if s.state is not Standing.NOT_HERE]


def following(substrate, *steps, **told):
    step = next_of(plan(substrate, *steps, **told))
    return step.part if step is not None else None


# --- laws ------------------------------------------------------------------------------------------------

ids = st.lists(st.sampled_from(IDS), unique=True).map(tuple)
materials = st.builds(
    material,
    known=st.booleans(),
    moulded=st.booleans(),
    refuses_paint=st.booleans(),
    material=st.sampled_from(Material),
    natures=st.frozensets(st.sampled_from(Nature)),
    routes=st.lists(st.sampled_from(Route), unique=True).map(tuple),
    grit=st.none() | st.sampled_from([(80, 180), (400, 400), (600, 1000)]),
    safe=ids,
    harmful=ids,
    moisture=st.sampled_from(["", "It swells."]),
)
faces = st.sampled_from(Face)
shapes = st.frozensets(st.sampled_from(Shape))
one_step = st.sampled_from([*(p.value for p in Prep), (Prep.WATER_BREAK.value, True), (Prep.WATER_BREAK.value, False)])
records = st.lists(one_step, max_size=12)


@examples(300)
@given(materials, faces, shapes, records, st.sampled_from([None, PROMOTER, COLOUR]))
def test_every_plan_is_whole(substrate, face, shape, record, first):
    planned = plan(substrate, *record, face=face, shape=shape, first=first)
    places = [ORDER.index(s.part) for s in planned]
    assert places == sorted(set(places))  # one order for every plan, no part twice
    assert sum(s.state is Standing.NEXT for s in planned) <= 1
    before_next = [s.state for s in planned[: next((i for i, s in enumerate(planned) if s.state is Standing.NEXT), 0)]]
    assert Standing.LATER not in before_next
    for step in planned:
        assert step.reason
        assert step.source
        assert step.words.endswith(".")
        assert step.name
        assert step.agent not in substrate.harmful
        assert (step.done_at is not None) or step.state is not Standing.DONE
    cautions = [c for s in planned if s.state is not Standing.IF_NEEDED for c in s.cautions]
    assert len(cautions) == len(set(cautions))


@examples(300)
@given(materials, shapes, records)
def test_a_clear_face_is_never_abraded(substrate, shape, record):
    planned = plan(substrate, *record, face=Face.BEHIND_CLEAR, shape=shape)
    for step in planned:
        if step.step in (Prep.ABRADE, Prep.SCUFF, Prep.STRIP):
            assert step.state is Standing.NOT_HERE
            assert step.grit is None


UNDOES = {
    Part.WASH: set(),
    Part.RELEASE_WASH: set(),
    Part.DEGREASE: {Prep.STRIP},
    Part.ABRADE: {Prep.STRIP},
    Part.DEGREASE_AGAIN: {Prep.STRIP, Prep.ABRADE, Prep.SCUFF, Prep.WATER_BREAK},
    Part.WATER_BREAK: {Prep.STRIP, Prep.ABRADE, Prep.SCUFF, Prep.WATER_BREAK},
    Part.DRY: {Prep.WASH, Prep.RELEASE_WASH, Prep.WATER_BREAK},
    Part.TACK: {
        Prep.STRIP, Prep.ABRADE, Prep.SCUFF, Prep.WASH, Prep.RELEASE_WASH, Prep.DEGREASE, Prep.WATER_BREAK,
    },
    Part.TRIAL: set(),
}  # fmt: skip
"""What a painter would say has to be done again after what (common practice, no source)."""


@examples(400)
@given(materials, faces, shapes, records, one_step)
def test_what_is_done_comes_back_only_after_what_undoes_it(substrate, face, shape, record, more):
    before = plan(substrate, *record, face=face, shape=shape)
    after = states(plan(substrate, *record, more, face=face, shape=shape))
    kind = Prep(more[0] if isinstance(more, tuple) else more)
    for step in before:
        if step.state is Standing.DONE and after.get(step.part) in (Standing.NEXT, Standing.LATER):
            assert kind in UNDOES[step.part], (step.part, kind)


@examples(300)
@given(materials, faces, shapes)
def test_logging_what_is_next_comes_to_an_end(substrate, face, shape):
    record = []
    for _ in range(len(ORDER) + 1):
        step = next_of(plan(substrate, *record, face=face, shape=shape))
        if step is None or step.step is None:
            break
        record.append((step.step.value, True) if step.step is Prep.WATER_BREAK else step.step.value)
    else:
        pytest.fail(f"it never ends: {record}")
    assert step is None or step.part in (Part.TRIAL, Part.PROMOTE)


# --- the routes ------------------------------------------------------------------------------------------


def test_bare_steel_goes_from_wash_to_tack():
    record = []
    parts = []
    while (step := next_of(plan(STEEL, *record))) is not None:
        parts.append(step.part)
        record.append((step.step.value, True) if step.step is Prep.WATER_BREAK else step.step.value)
    # SSPC-SP 1: grease comes off before abrading, dust and residue after it; ASTM F22 on clean bare metal
    assert parts == [Part.WASH, Part.DEGREASE, Part.ABRADE, Part.DEGREASE_AGAIN, Part.WATER_BREAK, Part.TACK]


def test_abrading_asks_for_degreasing_again():
    assert following(STEEL, "wash", "degrease", "abrade", "degrease") is Part.WATER_BREAK
    assert following(STEEL, "wash", "degrease", "abrade", "degrease", "abrade") is Part.DEGREASE_AGAIN
    assert following(STEEL, "wash", "abrade") is Part.DEGREASE


def test_one_degreasing_after_abrading_counts_for_both():
    told = states(plan(STEEL, "wash", "abrade", "degrease"))
    assert told[Part.DEGREASE] is told[Part.DEGREASE_AGAIN] is Standing.DONE


def test_a_film_of_water_that_breaks_asks_for_degreasing_on_metal():
    # ASTM F22: a draining film that breaks shows hydrophobic contamination
    broke = ("wash", "degrease", "abrade", "degrease", ("water-break test", False))
    planned = plan(STEEL, *broke)
    assert next_of(planned).part is Part.DEGREASE_AGAIN
    assert "water broke" in next_of(planned).reason
    assert following(STEEL, *broke, "degrease") is Part.WATER_BREAK
    assert following(STEEL, *broke, "degrease", ("water-break test", True)) is Part.TACK


@pytest.mark.parametrize(
    "told",
    [
        {"material": Material.PLASTIC},  # water beads on clean plastic: it tells surface energy, not dirt
        {"material": Material.METAL, "natures": frozenset({Nature.POROUS})},  # ASTM F22: blind on porous faces
        {"material": Material.COMPOSITE, "refuses_paint": True},
    ],
)
def test_water_tells_nothing_there(told):
    substrate = material(**told, safe=IDS)
    assert states(plan(substrate))[Part.WATER_BREAK] is Standing.NOT_HERE
    done = plan(substrate, "wash", "degrease", ("water-break test", False))
    assert states(done)[Part.DEGREASE] is Standing.DONE
    assert Part.DEGREASE_AGAIN not in states(done)


def test_a_clear_shell_gets_a_route_of_its_own():
    planned = plan(SHELL, face=Face.BEHIND_CLEAR)
    assert active(planned) == [Part.WASH, Part.RELEASE_WASH, Part.DEGREASE, Part.MASK, Part.TACK, Part.PROMOTE]
    [abrade] = [s for s in planned if s.part is Part.ABRADE]
    assert "scratch" in abrade.reason
    assert "acetone" in step_for(planned, Prep.DEGREASE).words
    assert step_for(planned, Prep.DEGREASE).agent == "isopropanol"


def test_a_scratched_clear_shell_is_degreased_again():
    told = plan(SHELL, "wash", "mould-release wash", "degrease", "abrade", face=Face.BEHIND_CLEAR)
    assert states(told)[Part.ABRADE] is Standing.NOT_HERE
    assert next_of(told).part is Part.DEGREASE_AGAIN


def test_the_same_shell_painted_outside_is_abraded_and_asks_for_no_promoter():
    told = states(plan(SHELL))
    assert told[Part.ABRADE] is Standing.LATER
    assert told[Part.PROMOTE] is Standing.NOT_HERE


def test_a_textured_face_gets_a_pad():
    plain, textured = (step_for(plan(STEEL, shape=s), Prep.ABRADE) for s in ((), (Shape.TEXTURED,)))
    assert plain.grit == (80, 180)
    assert "P80 to P180" in plain.words
    assert textured.grit is None
    assert "pad" in textured.words


def test_nooks_are_brushed_and_blown_out_with_care():
    planned = plan(STEEL, shape=(Shape.NOOKS,))
    assert "brush" in step_for(planned, Prep.WASH).words
    wipe = step_for(planned, Prep.DEGREASE)
    assert "nooks" in wipe.words
    # 29 CFR 1910.242(b): compressed air for cleaning is reduced to less than 30 psi
    assert any("30 psi" in c for c in wipe.cautions)
    assert not any("30 psi" in c for s in plan(STEEL) for c in s.cautions)


def test_an_unknown_material_takes_the_gentlest_route_and_a_strip():
    planned = plan(UNKNOWN)
    assert step_for(planned, Prep.DEGREASE).agent == "water-detergent"
    assert states(planned)[Part.ABRADE] is Standing.NOT_HERE
    done = ("wash", "mould-release wash", "degrease")
    assert following(UNKNOWN, *done) is Part.TRIAL
    held, lifted = (ev.TrialRecorded(id=f"e{h}", at=START, piece="p1", held=h) for h in (True, False))
    assert following(UNKNOWN, *done, trials=(held,)) is Part.TACK
    assert following(UNKNOWN, *done, trials=(held, lifted)) is Part.TRIAL


def test_old_paint_that_nobody_can_name_is_tried_on_a_strip():
    """Published defect guides (lifting): solvent-test an unknown finish."""
    paint = material(id="paint-unknown", material=Material.PAINT, grit=(320, 500), safe=IDS)
    done = ("wash", "degrease", "abrade", "degrease")
    assert following(paint, *done) is Part.TRIAL
    held = ev.TrialRecorded(id="e1", at=START, piece="p1", held=True)
    assert following(paint, *done, trials=(held,)) is Part.TACK
    [strip] = [s for s in plan(paint, *done) if s.part is Part.TRIAL]
    assert "hidden spot" in strip.words
    named = material(id="paint-enamel", material=Material.PAINT, grit=(320, 500), safe=IDS)
    assert Part.TRIAL not in states(plan(named, *done))  # the painter was told what it is


def test_old_paint_that_is_only_guessed_is_tried_too():
    named = material(id="paint-enamel", material=Material.PAINT, grit=(320, 500), safe=IDS)
    guessed = piece()
    guessed = PieceState(replace(guessed.piece, known=ev.Known.GUESSED))
    assert Part.TRIAL in {s.part for s in prep_plan(guessed, named, None)}


def test_under_a_sealer_the_strip_is_only_offered():
    paint = material(id="paint-unknown", material=Material.PAINT, grit=(320, 500), safe=IDS)
    assert states(plan(paint, first=SEALER))[Part.TRIAL] is Standing.IF_NEEDED
    assert states(plan(paint, first=EPOXY))[Part.TRIAL] is Standing.IF_NEEDED
    assert states(plan(paint, "wash", "degrease", "abrade", "degrease", first=COLOUR))[Part.TRIAL] is Standing.NEXT


def test_what_only_flame_or_plasma_makes_hold_is_tried_on_a_strip():
    pe = material(material=Material.PLASTIC, routes=(Route.FLAME, Route.PLASMA), safe=IDS)
    assert Part.TRIAL in states(plan(pe))


def test_old_paint_is_stripped_only_where_it_needs_it():
    paint = material(material=Material.PAINT, natures=frozenset({Nature.MAY_HOLD_LEAD}), grit=(320, 500), safe=IDS)
    planned = plan(paint, "wash")
    assert states(planned)[Part.STRIP] is Standing.IF_NEEDED
    # 29 CFR 1926.62 and 1910.1025: lead; the caution stands at stripping and at sanding
    assert all("lead" in step_for(planned, p).cautions[0] for p in (Prep.STRIP, Prep.ABRADE))
    assert following(paint, "wash", "degrease", "abrade", "degrease", "strip") is Part.DEGREASE


def test_what_takes_up_water_is_dried_after_its_wash():
    nylon = material(material=Material.PLASTIC, natures=frozenset({Nature.TAKES_UP_WATER}), safe=IDS)
    assert following(nylon, "wash", "degrease") is Part.DRY
    assert following(nylon, "wash", "degrease", "dry out") is Part.TACK
    assert following(nylon, "wash", "degrease", "dry out", "wash") is Part.DRY


def test_water_is_kept_from_what_it_harms():
    board = material(material=Material.WOOD, natures=frozenset({Nature.POROUS}), harmful=("water-detergent",))
    wash = step_for(plan(board), Prep.WASH)
    assert wash.agent is None
    assert "keep water away" in wash.words
    assert cleaner_for(board, Prep.DEGREASE) is None


def test_a_plastic_that_refuses_paint_asks_for_a_promoter():
    pp = material(material=Material.PLASTIC, refuses_paint=True, routes=(Route.FLAME, Route.PROMOTER), safe=IDS)
    [ask] = [s for s in plan(pp) if s.part is Part.PROMOTE]
    assert ask.words == "Plan a promoter as its first layer."
    [has] = [s for s in plan(pp, first=PROMOTER) if s.part is Part.PROMOTE]
    assert PROMOTER.name in has.words
    assert following(pp, "wash", "degrease", "tack", first=PROMOTER) is Part.PROMOTE


def test_the_caution_of_a_solvent_goes_by_the_cleaner():
    def caution(agent):
        return step_for(plan(material(safe=(agent,))), Prep.DEGREASE).cautions[0]

    assert "vapour" in caution("isopropanol")
    assert "vapour" not in caution("degreaser-water")


# --- between layers --------------------------------------------------------------------------------------


def over(bench):
    [state] = bench.state.pieces.values()
    return over_plan(state, "the base", bench.now)


def painted(card=COLOUR):
    bench = JobBuilder().card(card, CLEAR).piece().prep("wash", "degrease", "mask").layer("base", card, 1)
    return bench.layer("clear", CLEAR, activator="slow").mix("base").coat("base")


def test_a_bare_piece_has_no_plan_between_layers():
    assert over(JobBuilder().card(COLOUR).piece().layer("base", COLOUR)) == ()


def test_nothing_is_next_while_the_layer_is_wet():
    bench = painted()
    assert next_of(over(bench)) is None
    assert next_of(over(bench.wait(minutes=20))).step is Prep.TACK
    assert next_of(over(bench.prep("tack"))) is None


def test_a_closed_window_asks_for_a_scuff_and_then_for_the_dust_to_come_off():
    bench = painted().wait(minutes=30).prep("scuff", "tack").wait(hours=24)
    assert next_of(over(bench)).step is Prep.DEGREASE  # handled for a day: what lies on it is not ground in
    closed = next_of(over(bench.prep("degrease")))
    assert closed.step is Prep.SCUFF
    assert "closed" in closed.reason
    assert next_of(over(bench.prep("scuff"))).step is Prep.TACK
    assert next_of(over(bench.prep("tack"))) is None


def test_an_open_window_asks_for_no_scuff():
    told = states(over(painted().wait(minutes=30)))
    assert told[Part.SCUFF] is Standing.IF_NEEDED


def test_a_scratched_metallic_gets_another_coat():
    metallic = replace(COLOUR, traits=(Trait.METALLIC,))
    assert "one more coat" in step_for(over(painted(metallic).wait(hours=30)), Prep.SCUFF).words
    assert "one more coat" not in step_for(over(painted().wait(hours=30)), Prep.SCUFF).words


def test_paint_that_stood_for_a_day_is_cleaned_before_the_scuff_by_what_it_stands():
    clean, scuff = over(painted().wait(hours=30))[:2]
    assert (clean.step, clean.agent, clean.state) == (Prep.DEGREASE, "degreaser-water", Standing.NEXT)
    assert (scuff.step, scuff.state) == (Prep.SCUFF, Standing.LATER)
    [state] = painted().wait(hours=30).state.pieces.values()
    harmed = material(harmful=("degreaser-water",))
    assert over_plan(state, "the base", START + timedelta(days=9), harmed)[0].agent is None


def test_a_finished_piece_says_that_its_window_has_closed():
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("base", COLOUR, 1).mix("base").coat("base")
    [fresh] = over(bench.wait(minutes=30))
    assert "Inside its recoat window" in fresh.reason
    [late] = over(bench.wait(hours=40))
    assert late.state is Standing.IF_NEEDED
    assert late.words.startswith("Before anything more goes over the base: scuff")
    assert "closed" in late.reason


def test_what_closed_is_scuffed_before_a_cup_is_begun():
    bench = painted().wait(hours=30)

    def asked():
        [state] = bench.state.pieces.values()
        return next_step(bench.state, state, bench.now, next_of(over(bench)))

    assert (asked().act, asked().short) == (Act.PREP, "Degrease")
    bench.prep("degrease")
    assert (asked().act, asked().short) == (Act.PREP, "Scuff")
    bench.prep("scuff")
    assert asked().act is Act.MIX


def scuffing(*hazards, **wait):
    return step_for(over(painted(replace(COLOUR, hazards=hazards)).wait(**wait)), Prep.SCUFF).cautions


def test_the_dust_of_a_layer_is_cautioned_by_its_own_card():
    # 29 CFR 1910.1026 (chromium VI): wet or not at all, inside its window too
    for wait in ({"minutes": 30}, {"hours": 30}):
        [caution] = scuffing(Hazard.SOLVENT, Hazard.CHROMATE, **wait)
        assert "chromate" in caution
        assert "chromate" not in " ".join(scuffing(Hazard.SOLVENT, **wait))
    assert scuffing(minutes=30) == ()
    assert "dust" in scuffing(Hazard.DUST, minutes=30)[0]
    assert "dust" in scuffing(hours=30)[0]


def test_a_promoter_is_not_scuffed_inside_its_window():
    assert Part.SCUFF not in states(over(painted(ONE_PART_PROMOTER).wait(minutes=30)))


def test_masking_is_told_until_it_is_taken_off():
    bench = painted().wait(minutes=30)
    assert Part.UNMASK in states(over(bench))
    assert Part.UNMASK not in states(over(bench.unmask()))


# --- the next step at the bench --------------------------------------------------------------------------


def test_the_next_step_at_the_bench_says_what_the_plan_has_next():
    bench = JobBuilder().card(COLOUR).piece().layer("base", COLOUR)
    [state] = bench.state.pieces.values()
    prep = next_of(prep_plan(state, STEEL, COLOUR))
    told = next_step(bench.state, state, bench.now, prep)
    assert (told.act, told.short) == (Act.PREP, "Wash")
    assert told.words.startswith("Wash it in")
    assert not told.words.endswith(".")
    assert next_step(bench.state, state, bench.now).words == "Wash and degrease it"


def test_a_cup_that_is_begun_comes_before_the_rest_of_the_plan():
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("base", COLOUR).mix()
    [state] = bench.state.pieces.values()
    prep = next_of(prep_plan(state, STEEL, COLOUR))
    assert prep.part is Part.DEGREASE
    assert next_step(bench.state, state, bench.now, prep).act is Act.MIX
