"""Cleaning: what must be off the piece before paint goes on, and what must not be done to get it off."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.cards import Carrier, Duty
from benchtool.job.events import Prep, Shape
from benchtool.job.prepplan import cleaner_for
from benchtool.job.state import Step
from benchtool.rules.finding import PRACTICE, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.rules.ground import CLEANED, SCRATCHED, Ground, go_and_test, grounds
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say
from benchtool.trade.substrates import Material, Nature

FAMILY = Family("cleaning")

KEEPS_CLEAN = timedelta(hours=24)
"""How long a cleaned face counts as clean (judgement, no source: a night's dust and fingers)."""

NOOKS_DRY = timedelta(minutes=30)
"""How long solvent may sit in deep seams before it is gone (judgement, no source)."""

SHEETS_WATER = frozenset({Material.METAL, Material.GLASS, Material.PAINT, Material.COMPOSITE})
"""Where water runs off a clean face in one sheet for certain; many plastics bead a little however clean they are."""

WIPED = (*CLEANED, Prep.TACK)


# --- what was left out -----------------------------------------------------------------------------------


@FAMILY.rule(
    "not-cleaned",
    Severity.CAUTION,
    timed=False,
    title="Not cleaned",
    reason="Skin grease, polish and silicone make craters and take away adhesion.",
    source=PRACTICE,
    remedy="Wash and degrease it, and log that; on a moulded part wash off the mould release first, and brush off what "
    "takes no water. Where paint is on already, prove it on a test strip, or strip it and clean it first.",
)
def not_cleaned(facts: Facts) -> Iterator[Finding]:
    """No cleaning is logged on the bare piece."""
    for ground in grounds(facts):
        if ground.done & CLEANED or _dusted_wood(ground):
            continue
        yield ground.finding(
            "cleaning.not-cleaned",
            ground.left_to_do,
            say("No cleaning is logged for {piece}.", piece=ground.name),
            _prove_or_strip() if ground.begun else _how_to_clean(ground),
            Cause.CLEAN,
        )


def _how_to_clean(ground: Ground) -> str:
    """Say how the bare piece is cleaned first, as its prep plan does."""
    if ground.substrate.moulded:
        return say("Wash off the mould release, degrease, and log both.")
    if cleaner_for(ground.substrate, Prep.WASH) is None and ground.substrate.known:
        return say("Brush it off and vacuum it, degrease it, and log both.")
    return say("Wash and degrease it, and log that.")


def _prove_or_strip() -> str:
    """Say what is left to do where paint lies on a face that was not cleaned: no wet paint is washed."""
    return say("The paint is on: prove it on a test strip (tape), or strip it and wash first.")


@FAMILY.rule(
    "mould-release",
    Severity.CAUTION,
    timed=False,
    title="Mould release not washed off",
    reason="A moulded part carries release agent that a solvent wipe only spreads; it needs a wash of its own.",
    source=PRACTICE,
    remedy="Wash it with warm water and a mild detergent, rinse until the water runs off in one sheet. Where paint is "
    "on already, prove it on a test strip, or strip it and wash first.",
)
def mould_release(facts: Facts) -> Iterator[Finding]:
    """A moulded piece was cleaned, and no mould-release wash is logged."""
    for ground in grounds(facts):
        if not ground.substrate.moulded or Prep.RELEASE_WASH in ground.done or not ground.done & CLEANED:
            continue
        yield ground.finding(
            "cleaning.mould-release",
            ground.left_to_do,
            say("{piece} is a moulded part and no mould-release wash is logged.", piece=ground.name),
            _prove_or_strip()
            if ground.begun
            else say("Wash it with warm water and a mild detergent, rinse until the water runs off in one sheet."),
            Cause.CLEAN,
        )


@FAMILY.rule(
    "abraded-before-cleaned",
    Severity.CAUTION,
    timed=False,
    title="Abraded before it was cleaned",
    reason="Abrading a dirty face grinds grease and silicone into the scratches, where no wipe reaches them.",
    source="surface preparation practice: clean off oil and grease before any abrading (SSPC-SP 1 before SSPC-SP 2, 3 "
    "and 11)",
    remedy="Wash and degrease it twice with fresh cloths, then abrade it lightly once more. Where paint is on "
    "already, test it for adhesion before anything goes over it.",
)
def abraded_before_cleaned(facts: Facts) -> Iterator[Finding]:
    """The piece was abraded or scuffed, and no cleaning is logged before that; bare wood is sanded first."""
    for ground in grounds(facts):
        scratched = ground.last(*SCRATCHED)
        cleaned = next((i for i, s in enumerate(ground.steps) if s.step in CLEANED), None)
        if scratched < 0 or cleaned is None or cleaned < scratched or ground.substrate.material is Material.WOOD:
            continue
        yield ground.finding(
            "cleaning.abraded-before-cleaned",
            Severity.CAUTION,
            say("{piece} was abraded before it was cleaned.", piece=ground.name),
            go_and_test()
            if ground.begun
            else say("Wash and degrease it twice with fresh cloths, then abrade it lightly once more."),
            Cause.CLEAN,
        )


@FAMILY.rule(
    "not-wiped",
    Severity.CAUTION,
    timed=False,
    title="Not cleaned after abrading",
    reason="Dust of abrading lies in the scratches: paint bonds to that and not to the piece.",
    source="published procedures for bare metal and plastic: clean, abrade, clean again",
    remedy="Blow or wipe off the dust, degrease it again, and log that; where paint is on already, test it for "
    "adhesion.",
)
def not_wiped(facts: Facts) -> Iterator[Finding]:
    """The piece was abraded, and it was neither degreased nor tacked off after that."""
    for ground in grounds(facts):
        abraded = ground.last(Prep.ABRADE)
        if abraded < 0 or ground.last(*WIPED) > abraded or not ground.done & CLEANED:
            continue
        yield ground.finding(
            "cleaning.not-wiped",
            ground.left_to_do,
            say("{piece} was abraded, and no cleaning is logged after that.", piece=ground.name),
            go_and_test() if ground.begun else say("Blow or wipe off the dust, degrease it again, and log that."),
            Cause.CLEAN,
        )


@FAMILY.rule(
    "cleaned-long-ago",
    Severity.NOTE,
    title="Cleaned too long ago",
    reason="A clean face gathers dust, fingers and overspray while it stands.",
    source=PRACTICE,
    remedy="Degrease it once more and tack it off before the first coat.",
)
def cleaned_long_ago(facts: Facts) -> Iterator[Finding]:
    """The last cleaning of the bare piece is more than a day old, and its first coat is still to come."""
    for ground, cleaned_at in facts.settled("cleaned at", lambda: list(_cleaned_at(facts))):
        stood = facts.now - cleaned_at
        if stood <= KEEPS_CLEAN:
            continue
        yield ground.finding(
            "cleaning.cleaned-long-ago",
            Severity.NOTE,
            say("{piece} was cleaned {time} ago.", piece=ground.name, time=span_words(stood.total_seconds())),
            say("Degrease it once more and tack it off before the first coat."),
            Cause.CLEAN,
        )


def _cleaned_at(facts: Facts) -> Iterator[tuple[Ground, datetime]]:
    for ground in grounds(facts):
        last = ground.last(*WIPED)
        if last >= 0 and not ground.begun and ground.done & CLEANED:
            yield ground, ground.steps[last].at


@FAMILY.rule(
    "water-break",
    Severity.STOP,
    timed=False,
    title="Water beaded on the cleaned face",
    reason="Where rinse water breaks into beads there is a film of grease or silicone; waterborne paint crawls off it "
    "into craters.",
    source="ASTM F22, water-break test: a film that breaks within a minute shows a hydrophobic contaminant",
    remedy="Wash and degrease it again with fresh cloths, rinse, and repeat the test. Where paint is on already, test "
    "it for adhesion before anything goes over it.",
)
def water_break(facts: Facts) -> Iterator[Finding]:
    """The last water-break test failed; on a plastic of low surface energy it shows that energy, not dirt."""
    for ground in grounds(facts):
        tests = [i for i, s in enumerate(ground.steps) if s.step is Prep.WATER_BREAK and s.passed is not None]
        if not tests or ground.steps[tests[-1]].passed or _beads_clean(ground):
            continue
        again = ground.last(*CLEANED) > tests[-1]
        water = ground.card is not None and ground.card.carrier is Carrier.WATER
        water = water and ground.substrate.material in SHEETS_WATER
        yield ground.finding(
            "cleaning.water-break",
            Severity.NOTE
            if again or ground.substrate.material in (Material.PLASTIC, Material.RUBBER)
            else Severity.STOP
            if water
            else Severity.CAUTION,
            say("{piece} was cleaned again, and the water-break test was not repeated.", piece=ground.name)
            if again
            else say("Water beaded on {piece}: there is grease or silicone on it.", piece=ground.name),
            go_and_test()
            if ground.begun
            else say("Rinse it once more and see whether the water runs off in one sheet.")
            if again
            else say("Wash and degrease it again with fresh cloths, rinse, and repeat the test."),
            Cause.CLEAN,
        )


def _beads_clean(ground: Ground) -> bool:
    """Say whether water beads or soaks in there however clean it is."""
    return ground.substrate.refuses_paint or Nature.POROUS in ground.substrate.natures


# --- what was done wrong ---------------------------------------------------------------------------------


@FAMILY.rule(
    "harmful-cleaner",
    Severity.CAUTION,
    timed=False,
    title="Cleaner that harms the material",
    reason="The wrong cleaner crazes, softens or corrodes what it should clean; some cracks show only days later.",
    source="the material's table of cleaners, each with its source",
    remedy="Rinse it off, let it air, and look for fine cracks and dull spots against the light. Clean it again with "
    "one that is safe on the material, tried on a hidden spot first; where paint is on already, test it for adhesion.",
)
def harmful_cleaner(facts: Facts) -> Iterator[Finding]:
    """A step on the bare piece was done with a cleaner that harms its material."""
    for ground in grounds(facts):
        harmful = ground.substrate.harmful
        for step in ground.steps:
            if step.agent is None or step.agent not in harmful:
                continue
            yield _harmed(facts, ground, step, step.agent)
            break


def _harmed(facts: Facts, ground: Ground, step: Step, agent: str) -> Finding:
    cleaners = facts.tables.cleaners
    safe = [cleaners[c].name for c in ground.substrate.safe if c in cleaners][:2]
    remedy = (
        say("Look for fine cracks and dull spots against the light, and test it for adhesion before you go on.")
        if ground.begun
        else say("Rinse it off, let it air, and look for fine cracks and dull spots against the light.")
    )
    if safe and not ground.begun:
        remedy += " " + say("Safe on it: {cleaners}; try it on a hidden spot.", cleaners=", ".join(safe))
    return ground.finding(
        "cleaning.harmful-cleaner",
        Severity.CAUTION,
        say(
            "{piece} was cleaned with {cleaner}, which harms {material}.",
            piece=ground.name,
            cleaner=cleaners[agent].name if agent in cleaners else agent,
            material=ground.substrate.name,
        ),
        remedy,
        Cause.MATERIAL,
        step.place,
    )


@FAMILY.rule(
    "solvent-in-nooks",
    Severity.NOTE,
    title="Solvent left in deep nooks",
    reason="Solvent that sits in a seam comes out under the fresh coat and blisters it; its vapour can catch fire.",
    source=PRACTICE,
    remedy="Blow the seams dry, away from anything that sparks, and give it half an hour.",
)
def solvent_in_nooks(facts: Facts) -> Iterator[Finding]:
    """A piece with deep nooks was wiped with solvent just now, and no paint is on yet."""
    for ground, wiped_at in facts.settled("wet nooks", lambda: list(_wet_nooks(facts))):
        if facts.now >= wiped_at + NOOKS_DRY:
            continue
        yield ground.finding(
            "cleaning.solvent-in-nooks",
            Severity.NOTE,
            say("{piece} has deep nooks and was just wiped with solvent.", piece=ground.name),
            say("Blow the seams dry, away from anything that sparks, and give it half an hour."),
            Cause.CLEAN,
            clears_at=wiped_at + NOOKS_DRY,
        )


def _wet_nooks(facts: Facts) -> Iterator[tuple[Ground, datetime]]:
    cleaners = facts.tables.cleaners
    for ground in grounds(facts):
        if ground.begun or Shape.NOOKS not in ground.piece.piece.shape:
            continue
        agents = ((s.at, cleaners.get(s.agent or "")) for s in ground.steps)
        wiped = [at for at, cleaner in agents if cleaner is not None and cleaner.flammable]
        if wiped:
            yield ground, max(wiped)


@FAMILY.rule(
    "viewed-side-scratched",
    Severity.STOP,
    timed=False,
    title="Clear shell scratched behind the paint",
    reason="Paint behind a clear shell shows every scratch of the shell for good.",
    source=PRACTICE,
    remedy="Polish it out before the first coat; let a promoter do the holding instead. Where paint is on already, "
    "look at it from the front, and show the customer before you go on.",
)
def viewed_side_scratched(facts: Facts) -> Iterator[Finding]:
    """The bare shell of a behind-clear piece was abraded or scuffed; once painted, it can only be looked at."""
    for ground in grounds(facts):
        step = next((s for s in ground.steps if s.step in SCRATCHED), None)
        if not ground.behind_clear or step is None:
            continue
        yield Finding(
            rule="cleaning.viewed-side-scratched",
            severity=Severity.CAUTION if ground.begun else Severity.STOP,
            piece=ground.piece.id,
            layer=ground.piece.layers[0].id,
            message=say(
                "{piece} is painted behind clear, and {step} is logged on the bare shell: the scratches will show.",
                piece=ground.name,
                step=say(step.step.value),
            ),
            remedy=say("Look at it from the front, and show the customer before you go on.")
            if ground.begun
            else say("Polish it out before the first coat; let a promoter do the holding instead."),
            key=key("cleaning.viewed-side-scratched", ground.piece.id, step.place),
            cause=cause(Cause.TOOTH, ground.piece.id),
            forbids_coat=not ground.begun,
        )


@FAMILY.rule(
    "abrasive-range",
    Severity.CAUTION,
    timed=False,
    title="Abraded too coarse or too fine",
    reason="Too coarse a grade shows through the paint as scratches; too fine a one leaves nothing to hold on to.",
    source="the material's table of abrasive grades (FEPA P)",
    remedy="Abrade it with the grades that suit its material. Where paint is on already, look for scratches, and test "
    "it for adhesion before anything goes over it.",
)
def abrasive_range(facts: Facts) -> Iterator[Finding]:
    """The finest grade that the bare piece was abraded with lies outside what suits its material."""
    for ground in grounds(facts):
        suits, grades = ground.substrate.grit, [s.grit for s in ground.steps if s.step in SCRATCHED and s.grit]
        if suits is None or not grades or ground.behind_clear:
            continue
        finest, (coarse, fine) = max(grades), suits
        filled = ground.card is not None and ground.card.duty is Duty.FILLER
        if coarse <= finest <= fine or (finest < coarse and filled):
            continue
        named = {"piece": ground.name, "grade": finest, "material": ground.substrate.name}
        yield ground.finding(
            "cleaning.abrasive-range",
            Severity.CAUTION if finest < coarse else Severity.NOTE,
            say("{piece} was left at P{grade}, coarse for {material}.", **named)
            if finest < coarse
            else say("{piece} was taken down to P{grade}, fine for {material}.", **named),
            _now_or_later(ground, say("Abrade it with P{coarse} to P{fine}.", coarse=coarse, fine=fine)),
            Cause.TOOTH,
        )


def _now_or_later(ground: Ground, now: str) -> str:
    return (
        now if not ground.begun else say("Look for scratches, and test it for adhesion before anything goes over it.")
    )


@FAMILY.rule(
    "texture-abraded",
    Severity.CAUTION,
    timed=False,
    title="Moulded texture abraded",
    reason="Abrading takes the tops off a moulded texture: they show through the paint, and the valleys get no tooth.",
    source=PRACTICE,
    remedy="Go on with a soft pad and paste that reach the valleys, and look at it in low light. Where paint is on "
    "already, look for worn tops, and show the customer before you go on.",
)
def texture_abraded(facts: Facts) -> Iterator[Finding]:
    """A textured face was abraded with paper."""
    for ground in grounds(facts):
        papered = any(s.step is Prep.ABRADE and s.grit is not None for s in ground.steps)
        if Shape.TEXTURED not in ground.piece.piece.shape or not papered:
            continue  # with no grade it was a pad, as the prep plan asks for
        yield ground.finding(
            "cleaning.texture-abraded",
            Severity.CAUTION,
            say("{piece} is textured and was abraded.", piece=ground.name),
            say("Look at it in low light for worn tops, and show the customer before you go on.")
            if ground.begun
            else say("Go on with a soft pad and paste that reach the valleys, and look at it in low light."),
            Cause.TOOTH,
        )


def _dusted_wood(ground: Ground) -> bool:
    wood = ground.substrate.material is Material.WOOD and ground.substrate.id != "wood-oily"
    return wood and 0 <= ground.last(Prep.ABRADE) < ground.last(Prep.TACK)
