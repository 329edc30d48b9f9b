"""Surface: whether what the piece is made of takes this paint at all, and in what state its face is."""

from collections.abc import Iterator

from benchtool.job.cards import Carrier, Chemistry, Duty, Trait
from benchtool.job.events import Known, Prep
from benchtool.rules import surfacebare, surfacemark, surfacemetal, surfaceold
from benchtool.rules.finding import PRACTICE, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.rules.ground import Ground, attacks, go_and_test, grounds, hopeless
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex, Material, Nature, Route

FAMILY = Family(
    "surface",
    [rule for part in (surfacemark, surfacemetal, surfacebare, surfaceold) for rule in part.FAMILY.rules],
)

_WETTING = (Prep.WASH, Prep.RELEASE_WASH)
_SANDED = (Prep.ABRADE, Prep.SCUFF)
_TOOTHED = (*_SANDED, Prep.STRIP)

ESC = "environmental stress cracking of amorphous plastics (ISO 22088); the material's table of cleaners"


# --- whether anything holds ------------------------------------------------------------------------------


@FAMILY.rule(
    "nothing-holds",
    Severity.STOP,
    timed=False,
    title="Nothing holds on this material",
    reason="No promoter is made for some materials: whatever lies on them comes off in one piece.",
    source="published critical surface tensions: PTFE about 19, silicone about 20 mN/m against 38 and more for what "
    "wets; the material's table of routes",
    remedy="Leave it bare or make it of something else; go on only if a test strip held, and log that.",
)
def nothing_holds(facts: Facts) -> Iterator[Finding]:
    """Paint is planned on a material that no route of a shop makes it hold on, and no test strip has held."""
    for ground in grounds(facts):
        substrate = ground.substrate
        if ground.proved or not hopeless(substrate):
            continue
        named = {"piece": ground.name, "material": substrate.name}
        yield ground.finding(
            "surface.nothing-holds",
            Severity.STOP,
            say("{piece} is {material}, and nothing is made that paint holds on it with.", **named)
            if Nature.NOTHING_HOLDS in substrate.natures
            else say("{piece} is {material}: only flame or plasma in a works makes paint hold on it.", **named),
            say("Leave it bare or make it of something else; go on only if a test strip held, and log that."),
            Cause.HOLD,
        )


@FAMILY.rule(
    "no-tooth",
    Severity.CAUTION,
    timed=False,
    title="Not abraded, and paint needs tooth",
    reason="On a smooth hard face a film only lies; scratches give it something to hold on to.",
    source=f"the material's table of routes and abrasive grades; {PRACTICE}",
    remedy="Abrade it evenly until no shine is left, wipe it clean, and log it; where paint is on, test it for "
    "adhesion.",
)
def no_tooth(facts: Facts) -> Iterator[Finding]:
    """The material needs tooth, none is logged, and the first layer neither bites by itself nor promotes."""
    for ground in grounds(facts):
        substrate, card = ground.substrate, ground.card
        if Route.TOOTH not in substrate.routes or ground.behind_clear or ground.last(*_TOOTHED) >= 0 or ground.proved:
            continue
        # A card that does not say what its film is may be of the kind that bites by itself.
        silent = card is None or (card.chemistry is None and substrate.material is not Material.PAINT)
        if silent or substrate.material is Material.WOOD or (card is not None and _bites(card.duty, card.chemistry)):
            continue
        grades = substrate.grit
        yield ground.finding(
            "surface.no-tooth",
            ground.left_to_do,
            say("No abrading is logged on {piece}, and paint needs tooth on {material}.", **_named(ground)),
            go_and_test()
            if ground.begun
            else say("Abrade it evenly with P{coarse} to P{fine}, wipe it clean, and log it.", **_grades(grades))
            if grades is not None
            else say("Scuff it evenly until no shine is left, wipe it clean, and log it."),
            Cause.TOOTH,
        )


def _bites(duty: Duty, chemistry: Chemistry | None) -> bool:
    return duty is Duty.PROMOTER or chemistry in (Chemistry.ETCH, Chemistry.POLYOLEFIN)


@FAMILY.rule(
    "plasticiser",
    Severity.CAUTION,
    timed=False,
    title="Soft vinyl that sweats into the paint",
    reason="Soft vinyl sweats its plasticiser for years: it creeps into the paint, which stays tacky or lets go.",
    source="trade association sheets on plasticiser migration from flexible PVC into films that touch it",
    remedy="Take a paint made for soft vinyl over its own promoter, and leave a test strip for some weeks.",
)
def plasticiser(facts: Facts) -> Iterator[Finding]:
    """A material that holds plasticiser gets a paint that does not say it is flexible."""
    for ground in grounds(facts):
        card = ground.card
        if Nature.PLASTICISER not in ground.substrate.natures or ground.proved or card is None:
            continue
        if card.duty is Duty.PROMOTER or Trait.FLEXIBLE in card.traits or ground.first.plan.additives:
            continue
        yield ground.finding(
            "surface.plasticiser",
            Severity.CAUTION,
            say("{piece} is {material}: its plasticiser creeps into the paint.", **_named(ground)),
            say("Take a paint made for soft vinyl over its own promoter, and leave a test strip for some weeks."),
            Cause.HOLD,
        )


# --- what the paint does to it ---------------------------------------------------------------------------


@FAMILY.rule(
    "crazes-shell",
    Severity.STOP,
    timed=False,
    title="Solvent that crazes the clear shell",
    reason="Strong solvent on a moulded clear shell sets free the stress in it: fine cracks that show from the front "
    "and can't be undone.",
    source=ESC,
    remedy="Put a promoter or a waterborne colour on the shell first, and try it on an offcut under stress.",
)
def crazes_shell(facts: Facts) -> Iterator[Finding]:
    """The first layer behind a clear shell that stress-cracks goes on in a solvent that attacks it."""
    for ground in _attacked(facts):
        if not ground.behind_clear:
            continue
        yield ground.finding(
            "surface.crazes-shell",
            Severity.CAUTION if ground.proved else Severity.STOP,
            say("The solvent of {layer} can craze {piece}, which is {material}.", **_layered(facts, ground)),
            say("Put a promoter or a waterborne colour on the shell first, and try it on an offcut under stress."),
            Cause.MATERIAL,
        )


@FAMILY.rule(
    "solvent-attacks",
    Severity.CAUTION,
    timed=False,
    title="Solvent that attacks the plastic",
    reason="Strong solvent softens these plastics, lets them craze, and may print every mould line through the paint.",
    source=ESC,
    remedy="Put a primer made for this plastic under it, or mist on dry first coats; try it on an offcut. Where it is "
    "on already, look it over for fine cracks and softening before anything goes over it.",
)
def solvent_attacks(facts: Facts) -> Iterator[Finding]:
    """The first layer on a plastic that its solvent harms is a lacquer or in strong solvent."""
    for ground in _attacked(facts):
        if ground.behind_clear or ground.proved:
            continue
        yield ground.finding(
            "surface.solvent-attacks",
            Severity.CAUTION,
            say("The solvent of {layer} attacks {piece}, which is {material}.", **_layered(facts, ground)),
            say("Look it over for fine cracks and for softening before anything goes over it.")
            if ground.begun
            else say("Put a primer made for this plastic under it, or mist on dry first coats; try it on an offcut."),
            Cause.MATERIAL,
        )


def _attacked(facts: Facts) -> list[Ground]:
    return facts.settled("attacked", lambda: [g for g in grounds(facts) if _is_attacked(g)])


def _is_attacked(ground: Ground) -> bool:
    plastic = ground.substrate.material is Material.PLASTIC and "thinner-lacquer" in ground.substrate.harmful
    if not plastic or ground.card is None:
        return False
    card = ground.card
    if Nature.POROUS in ground.substrate.natures and "white-spirit" in ground.substrate.harmful:
        return card.carrier is Carrier.SOLVENT
    if ground.behind_clear:
        return attacks(card) and not (Trait.FLEXIBLE in card.traits and Trait.STRONG_SOLVENT not in card.traits)
    return attacks(card) and Trait.STRONG_SOLVENT in card.traits


@FAMILY.rule(
    "etch-off-metal",
    Severity.CAUTION,
    timed=False,
    title="Etch primer on what is no metal",
    reason="The acid of an etch primer works on bare metal; on anything else it stays in the film and works on.",
    source="how wash primers work (the phosphoric acid reacts with the metal; formerly MIL-C-8514 and DOD-P-15328)",
    remedy="Take a primer made for what it is; where the etch is on already, test it for adhesion.",
)
def etch_off_metal(facts: Facts) -> Iterator[Finding]:
    """The first layer is an acid etch, and the piece is no bare metal."""
    for ground in grounds(facts):
        if ground.card is None or ground.card.chemistry is not Chemistry.ETCH or not ground.named:
            continue
        if ground.substrate.material in (Material.METAL, Material.UNKNOWN):
            continue
        yield ground.finding(
            "surface.etch-off-metal",
            Severity.CAUTION,
            say("{layer} etches bare metal, and {piece} is {material}.", **_layered(facts, ground)),
            go_and_test() if ground.begun else say("Take a primer made for what it is."),
            Cause.HOLD,
        )


@FAMILY.rule(
    "grain",
    Severity.NOTE,
    timed=False,
    title="Water that raises the grain of wood",
    reason="Water swells the cut fibres of bare wood: they stand up and the first coat dries rough.",
    source="published guides to waterborne finishes on wood: wet the wood, let it dry, sand off what stands up",
    remedy="Damp it, let it dry, and sand off what stands up first; or sand after the first coat.",
)
def grain(facts: Facts) -> Iterator[Finding]:
    """The first layer on bare wood is waterborne, and the grain was not raised and sanded off before."""
    for ground in grounds(facts):
        card = ground.card
        if ground.substrate.material is not Material.WOOD or card is None or card.carrier is not Carrier.WATER:
            continue
        damped = next((i for i, s in enumerate(ground.steps) if s.step in _WETTING), None)
        if ground.begun or (damped is not None and ground.last(*_SANDED) > damped):
            continue
        yield ground.finding(
            "surface.grain",
            Severity.NOTE,
            say("{layer} is waterborne and will raise the grain of {piece}.", **_layered(facts, ground)),
            say("Damp it, let it dry, and sand off what stands up first; or sand after the first coat."),
            Cause.TOOTH,
        )


@FAMILY.rule(
    "unsealed",
    Severity.CAUTION,
    timed=False,
    title="Colour straight on wood that drinks paint",
    reason="Bare wood and board drink the first coat unevenly: edges stay rough and the colour goes blotchy.",
    source=PRACTICE,
    remedy="Seal it first: a primer or sealer, cut edges twice, sanded between. Where the colour is on already, sand "
    "the raised grain and plan another coat.",
)
def unsealed(facts: Facts) -> Iterator[Finding]:
    """A colour goes straight on bare porous wood or board, with no primer, filler or sealer under it."""
    for ground in grounds(facts):
        substrate, card = ground.substrate, ground.card
        if substrate.material is not Material.WOOD or Nature.POROUS not in substrate.natures:
            continue
        if card is None or card.duty is not Duty.BASE or ground.proved:
            continue
        yield ground.finding(
            "surface.unsealed",
            Severity.CAUTION,
            say("{layer} goes straight on {piece}, which is {material}: it drinks paint.", **_layered(facts, ground)),
            say("Sand the raised grain and plan another coat.")
            if ground.begun
            else say("Seal it first: a primer or sealer, cut edges twice, sanded between."),
            Cause.HOLD,
        )


# --- what is known of it ---------------------------------------------------------------------------------


@FAMILY.rule(
    "guessed",
    Severity.NOTE,
    timed=False,
    title="The material is a guess",
    reason="A guess at the material decides cleaner, promoter and activator: a strip that held makes it safe.",
    source=PRACTICE,
    remedy="Look for a moulded mark, or spray this system on a hidden spot and log the trial.",
)
def guessed(facts: Facts) -> Iterator[Finding]:
    """The painter guessed the material, and no test strip has held."""
    for ground in grounds(facts):
        if ground.piece.piece.known is not Known.GUESSED or not ground.substrate.known or ground.proved:
            continue
        if not ground.open:
            continue
        yield ground.finding(
            "surface.guessed",
            Severity.NOTE,
            say("That {piece} is {material} is a guess.", **_named(ground)),
            say("Look for a moulded mark, or spray this system on a hidden spot and log the trial."),
            Cause.MATERIAL,
        )


@FAMILY.rule(
    "flex-disagrees",
    Severity.CAUTION,
    timed=False,
    title="Written down as rigid, of a material that bends",
    reason="Whether a piece bends decides which activator and which additive go into its paint.",
    source="the material's table",
    remedy="Write down that it bends; where it is glued to something stiff, let this stand.",
)
def flex_disagrees(facts: Facts) -> Iterator[Finding]:
    """The piece is said to be rigid, and its material bends; a thin part of a stiff plastic may well bend."""
    for ground in grounds(facts):
        bends = ground.substrate.flex is Flex.FLEXIBLE
        if not bends or ground.piece.piece.flex is Flex.FLEXIBLE or not ground.named or not ground.open:
            continue
        yield ground.finding(
            "surface.flex-disagrees",
            Severity.CAUTION,
            say("{piece} is written down as rigid, and {material} bends.", **_named(ground)),
            say("Write down that it bends; where it is glued to something stiff, let this stand."),
            Cause.FLEX,
        )


@FAMILY.rule(
    "not-clear",
    Severity.CAUTION,
    timed=False,
    title="Painted from behind, and not clear",
    reason="Paint behind a shell is looked at through it.",
    source="the material's table",
    remedy="Put right which face is painted, or what it is made of.",
)
def not_clear(facts: Facts) -> Iterator[Finding]:
    """The piece is painted behind clear, and its material is never clear."""
    for ground in grounds(facts):
        substrate = ground.substrate
        opaque = substrate.material in (Material.METAL, Material.WOOD, Material.PAINT, Material.LEATHER)
        if not ground.behind_clear or not opaque:
            continue
        yield ground.finding(
            "surface.not-clear",
            Severity.CAUTION,
            say("{piece} is painted from behind, and nobody can look through {material}.", **_named(ground)),
            say("Put right which face is painted, or what it is made of."),
            Cause.MATERIAL,
        )


# --- heat ------------------------------------------------------------------------------------------------


@FAMILY.rule(
    "heat-limit",
    Severity.CAUTION,
    timed=False,
    title="More heat than the material stands",
    reason="Past its limit a plastic sags, an old film softens and wood opens its joints.",
    source="the material's table of heat limits",
    remedy="Take the heat off, and let it cool lying flat. Let the next coat dry in the air of the shop, or keep the "
    "surface under what the material stands.",
)
def heat_limit(facts: Facts) -> Iterator[Finding]:
    """Heat on the piece, or the forced dry of a card planned on it, is above what its material stands."""
    for piece in facts.state.pieces.values():
        substrate, heated = facts.tables.substrate_of(piece.piece), piece.heat.on
        limit = substrate.heat_limit_degC
        if limit is None:
            continue
        named = {"piece": piece.piece.name, "material": substrate.name, "limit": f"{limit:g}"}
        too_hot = heated is not None and heated.degC > limit
        if heated is not None and too_hot:
            message = say("{degC} °C is on {piece}; {material} stands {limit} °C.", degC=f"{heated.degC:g}", **named)
            remedy = say("Take the heat off, and let it cool lying flat.")
        else:
            hot = _forced_too_hot(facts, piece.id, limit)
            if hot is None:
                continue
            message = say(
                "If you force-dry {layer}: its card takes {degC} °C, and {material} stands {limit} °C.",
                layer=hot[0],
                degC=f"{hot[1]:g}",
                **named,
            )
            remedy = say("Let it dry in the air of the shop, or keep the surface under {limit} °C.", limit=f"{limit:g}")
        yield Finding(
            rule="surface.heat-limit",
            severity=Severity.CAUTION if too_hot else Severity.NOTE,
            piece=piece.id,
            message=message,
            remedy=remedy,
            key=key("surface.heat-limit", piece.id, "on" if too_hot else "planned"),
            cause=cause(Cause.MATERIAL, piece.id, "heat"),
        )


def _forced_too_hot(facts: Facts, piece: str, limit: float) -> tuple[str, float] | None:
    """Give the next layer of the piece and the mildest heat its card gives, where even that is too hot."""
    layer = facts.next_layers()[piece]
    card = facts.state.card_of(layer) if layer is not None else None
    if layer is None or card is None or not card.forced:
        return None
    mildest = min(f.degC for f in card.forced.values())
    return (facts.state.layer_name(layer), mildest) if mildest > limit else None


def _named(ground: Ground) -> dict[str, object]:
    return {"piece": ground.name, "material": ground.substrate.name}


def _layered(facts: Facts, ground: Ground) -> dict[str, object]:
    return {"layer": facts.state.layer_name(ground.first), **_named(ground)}


def _grades(grades: tuple[int, int]) -> dict[str, object]:
    return {"coarse": grades[0], "fine": grades[1]}
