"""The rules of surface that are about bare metal: how long ago it was abraded, zinc, and metals that touch."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.cards import Chemistry
from benchtool.job.events import Prep
from benchtool.rules.finding import Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.rules.ground import Ground, go_and_test, grounds
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say
from benchtool.trade.substrates import Material, Nature

FAMILY = Family("surface")

FRESH = timedelta(hours=4)
STALE = timedelta(hours=12)
"""How long after abrading a bare metal may wait for its first coat. Published guides for aluminium say from "at once"
(the oxide is back in a quarter of an hour) to 12 h after abrading; specifications for blasted steel often say 4 h, and
never overnight. Within 4 h nothing is said, past 12 h none of them agrees any more."""

NORMAL_V = 0.25
INDOORS_V = 0.50
"""How far apart on the anodic index two metals may be that touch: 0.25 V in a plain store or shop, 0.50 V only where
temperature and humidity are held, 0.15 V outdoors in the wet (the guideline published with MIL-STD-889's series)."""


@FAMILY.rule(
    "metal-aged",
    Severity.CAUTION,
    title="Bare metal left too long after abrading",
    reason="Bare metal grows its oxide again within hours of abrading, and steel rusts where it is damp: paint then "
    "holds on that.",
    source="published guides to painting bare aluminium (primed at once, at the latest 12 h after abrading) and "
    "specifications for blasted steel (4 h, never overnight)",
    remedy="Abrade it lightly again, wipe it clean, and paint at once. Where paint is on already, test it for "
    "adhesion before anything goes over it.",
)
def metal_aged(facts: Facts) -> Iterator[Finding]:
    """Metal that oxidises was abraded too long before its first coat, or has been waiting too long for it."""
    for ground, step_at in _abraded(facts):
        until = ground.begun_at or facts.now
        waited = until - step_at
        if waited <= FRESH or (ground.begun and waited <= STALE):
            continue
        severity = Severity.CAUTION if waited > STALE else Severity.NOTE
        named = {"piece": ground.name, "time": span_words(waited.total_seconds())}
        yield ground.finding(
            "surface.metal-aged",
            severity,
            say("{piece} stood bare for {time} after it was abraded.", **named)
            if ground.begun
            else say("{piece} was abraded {time} ago and is still bare.", **named),
            go_and_test() if ground.begun else say("Abrade it lightly again, wipe it clean, and paint at once."),
            Cause.TOOTH,
        )


def _abraded(facts: Facts) -> list[tuple[Ground, datetime]]:
    return facts.settled("abraded metal", lambda: list(_each_abraded(facts)))


def _each_abraded(facts: Facts) -> Iterator[tuple[Ground, datetime]]:
    for ground in grounds(facts):
        last = ground.last(Prep.ABRADE, Prep.SCUFF, Prep.STRIP)
        if Nature.OXIDISES in ground.substrate.natures and ground.substrate.material is Material.METAL and last >= 0:
            yield ground, ground.steps[last].at


@FAMILY.rule(
    "zinc-under-enamel",
    Severity.STOP,
    timed=False,
    title="Oil enamel straight on zinc",
    reason="Zinc turns the oil of an alkyd or oil enamel into soap: after months the paint peels off in sheets.",
    source="published guides to painting over hot-dip galvanizing (surface prepared to ASTM D6386): no alkyd or oil "
    "paint straight on zinc, since it saponifies",
    remedy="Put a primer made for zinc under it, such as an epoxy or an etch that says so. Where the enamel is on "
    "already, test it for adhesion before anything goes over it.",
)
def zinc_under_enamel(facts: Facts) -> Iterator[Finding]:
    """The first layer on zinc is an alkyd or oil enamel."""
    for ground in grounds(facts):
        card = ground.card
        if Nature.ZINC not in ground.substrate.natures or card is None or card.chemistry is not Chemistry.ENAMEL:
            continue
        yield ground.finding(
            "surface.zinc-under-enamel",
            Severity.STOP,
            say(
                "{layer} is an alkyd or oil enamel, and {piece} is {material}: they make soap together.",
                layer=facts.state.layer_name(ground.first),
                piece=ground.name,
                material=ground.substrate.name,
            ),
            say("Put a primer made for zinc under it, such as an epoxy or an etch that says so."),
            Cause.HOLD,
        )


@FAMILY.rule(
    "galvanic",
    Severity.CAUTION,
    timed=False,
    title="Two metals that eat each other",
    reason="Two metals that touch in the wet make a battery: the less noble one rots at the joint, under the paint.",
    source="the anodic index with MIL-STD-889: 0.25 V apart at most in a normal shop, 0.50 V where the air is held, "
    "0.15 V outdoors",
    remedy="Keep them apart with a washer, sleeve or sealant, and paint both sides of the joint.",
)
def galvanic(facts: Facts) -> Iterator[Finding]:
    """The piece touches another metal that lies far from it on the anodic index."""
    for piece in facts.state.pieces.values():
        if not piece.piece.joined or piece.current is None:
            continue
        own = facts.tables.substrate_of(piece.piece)
        for other_id in dict.fromkeys(piece.piece.joined):
            other = facts.tables.substrates.get(other_id)
            if own.galvanic_V is None or other is None or other.galvanic_V is None:
                continue
            apart = abs(own.galvanic_V - other.galvanic_V)
            if round(apart, 6) <= NORMAL_V:
                continue
            eaten = own if own.galvanic_V < other.galvanic_V else other
            yield Finding(
                rule="surface.galvanic",
                severity=Severity.CAUTION if round(apart, 6) > INDOORS_V else Severity.NOTE,
                piece=piece.id,
                layer=piece.current.id,
                message=say(
                    "{piece} is {material} and touches {other}, {volts} V apart: {eaten} is eaten where they meet.",
                    piece=piece.piece.name,
                    material=own.name,
                    other=other.name,
                    volts=f"{apart:.2f}",
                    eaten=eaten.name,
                ),
                remedy=say("Keep them apart with a washer, sleeve or sealant, and paint both sides of the joint."),
                key=key("surface.galvanic", piece.id, other_id),
                cause=cause(Cause.MATERIAL, piece.id, other_id),
            )
