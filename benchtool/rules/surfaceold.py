"""The rules of surface that are about old paint, and about material that holds water."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.cards import Chemistry
from benchtool.job.events import Prep
from benchtool.job.preptrial import locks_in, unnamed_paint
from benchtool.rules.finding import PRACTICE, Cause, Facts, Family, Finding, Severity
from benchtool.rules.ground import Ground, attacks, go_and_test, grounds
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say
from benchtool.trade.substrates import Material, Nature

FAMILY = Family("surface")

DRIES_OUT = timedelta(hours=24)
"""How long a plastic or board that takes up water is left after a wet wash (judgement, no source: a night indoors)."""

WET_AGENTS = frozenset({"water-detergent", "release-wash", "degreaser-water", "ammonia", "alkaline", "acid-wash"})


BITES = frozenset({Chemistry.URETHANE, Chemistry.POLYESTER})


@FAMILY.rule(
    "stripped",
    Severity.CAUTION,
    timed=False,
    title="Stripped, and still described as old paint",
    reason="Once old paint is off, what lay under it decides how to prepare it and what holds on it.",
    source=PRACTICE,
    remedy="Describe the piece anew by what is bare now, and follow the prep plan for that.",
)
def stripped(facts: Facts) -> Iterator[Finding]:
    """The old paint was stripped, and the piece is still said to be made of it."""
    for ground in grounds(facts):
        if ground.substrate.material is not Material.PAINT or Prep.STRIP not in ground.done or ground.begun:
            continue
        yield ground.finding(
            "surface.stripped",
            Severity.CAUTION,
            say("{piece} is stripped: what is bare now is not described yet.", piece=ground.name),
            say("Press Edit piece and say what lay under the paint: prep and primer follow from that."),
            Cause.MATERIAL,
        )


@FAMILY.rule(
    "old-paint-unknown",
    Severity.CAUTION,
    timed=False,
    title="Old paint that nobody can name",
    reason="Old paint that nobody can name may dissolve, swell and wrinkle under a fresh coat.",
    source="published defect guides (lifting): solvent-test an unknown finish, and isolate what is sensitive",
    remedy="Spray this system on a hidden spot and wait a day, then log the trial; or lock the old paint in with a "
    "sealer first. Where paint is on already, test it for adhesion before anything goes over it.",
)
def old_paint_unknown(facts: Facts) -> Iterator[Finding]:
    """Paint is planned over old paint that is not named, and no test strip has held."""
    for ground in grounds(facts):
        old, card = ground.substrate, ground.card
        if not unnamed_paint(old, ground.piece.piece.known) or ground.proved:
            continue
        if card is None or locks_in(card) or not ground.open:
            continue
        yield ground.finding(
            "surface.old-paint-unknown",
            Severity.CAUTION,
            say("Nobody knows what the old paint on {piece} is.", piece=ground.name),
            go_and_test()
            if ground.begun
            else say(
                "Spray this system on a hidden spot and wait a day, then log the trial; or lock the old paint in with "
                "a sealer first."
            ),
            Cause.MATERIAL,
        )


@FAMILY.rule(
    "old-paint-softens",
    Severity.CAUTION,
    timed=False,
    title="Solvent that lifts the old paint",
    reason="Lacquer stays soluble for good, and so do some enamels: strong solvent swells the old film and lifts it, "
    "at the sanded edges first.",
    source="published defect guides (lifting): solvent-sensitive old finishes need isolating",
    remedy="Seal the old paint first, or take a waterborne one; try it on a hidden spot over a sanded edge. Where it "
    "is on already, look along every sanded edge for lifting, and let it harden before you go on.",
)
def old_paint_softens(facts: Facts) -> Iterator[Finding]:
    """A lacquer, strong solvent or two-part urethane goes straight over old paint that solvent softens."""
    for ground in grounds(facts):
        old, card = ground.substrate, ground.card
        if old.material is not Material.PAINT or Nature.SOFTENS not in old.natures or ground.proved:
            continue
        if card is None or locks_in(card) or not (attacks(card) or card.chemistry in BITES):
            continue
        named = {"layer": facts.state.layer_name(ground.first), "material": old.name, "piece": ground.name}
        yield ground.finding(
            "surface.old-paint-softens",
            Severity.CAUTION,
            say("The solvent of {layer} can lift what is on {piece}: {material}.", **named),
            say("Look along every sanded edge for lifting, and let it harden before you go on.")
            if ground.begun
            else say("Seal the old paint first, or take a waterborne one; try it on a hidden spot over a sanded edge."),
            Cause.MATERIAL,
            "lifts",
        )


@FAMILY.rule(
    "takes-up-water",
    Severity.NOTE,
    title="Washed with water that it takes up",
    reason="Nylon, board and the like take up water from a wash: it comes out under the paint as bubbles, "
    "in heat at the latest.",
    source=f"{PRACTICE}; water uptake of polyamides as in handbooks of plastics",
    remedy="Dry it out gently or leave it for a day, and log that it is dry. Where paint is on already, give it "
    "gentle heat and a long time before the next coat, and look for bubbles.",
)
def takes_up_water(facts: Facts) -> Iterator[Finding]:
    """A material that takes up water was washed with it, and neither dried out nor left for a day."""
    for ground, washed_at in _soaked(facts):
        over, moment = washed_at + DRIES_OUT, ground.begun_at or facts.now
        if moment >= over or (ground.begun and not ground.open):
            continue
        yield ground.finding(
            "surface.takes-up-water",
            Severity.NOTE,
            say("{piece} is {material} and was washed with water.", piece=ground.name, material=ground.substrate.name),
            say("Give it gentle heat and a long time before the next coat, and look for bubbles.")
            if ground.begun
            else say(
                "Dry it out gently, or leave it for {time} more, and log that it is dry.",
                time=span_words((over - moment).total_seconds()),
            ),
            Cause.CLEAN,
            clears_at=None if ground.begun else over,
        )


def _soaked(facts: Facts) -> list[tuple[Ground, datetime]]:
    return facts.settled("soaked", lambda: list(_each_soaked(facts)))


def _each_soaked(facts: Facts) -> Iterator[tuple[Ground, datetime]]:
    for ground in grounds(facts):
        if Nature.TAKES_UP_WATER not in ground.substrate.natures or ground.substrate.material is Material.LEATHER:
            continue
        wet = [i for i, s in enumerate(ground.steps) if s.step is Prep.RELEASE_WASH or s.agent in WET_AGENTS]
        if wet and ground.last(Prep.DRY) < wet[-1]:
            yield ground, ground.steps[wet[-1]].at
