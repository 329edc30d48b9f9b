"""The words of the prep plan: what to do at each step and why, each with the source it comes from.

A source is a published standard or regulation by its name, else `PRACTICE`. The cautions are those of 29 CFR
1910.94(c), 1910.106 and 1910.107 (vapour, ignition, rags), of 1910.1025, 1926.62 and 1910.1026 (lead, chromium VI; that
dry sanding of lead paint by hand goes far over the limit: "Painters Prepping Lead-Paint Surfaces", California, 1994-95)
and of 1910.242(b) (compressed air for cleaning: less than 30 psi, eyes guarded, never on skin).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from benchtool.job.events import Prep, Shape
from benchtool.trade.saying import say
from benchtool.trade.substrates import Cleaner, Material, Nature, Route, Substrate

PRACTICE = "common practice, no source"
LIFTING = "published defect guides (lifting): solvent-test an unknown finish, and isolate what is sensitive"
SP1 = "SSPC-SP 1, solvent cleaning"
F22 = "ASTM F22, water-break test"
D2093 = "ASTM D2093, preparation of plastics (sanding and wiping take off gloss and mould release)"
D6386 = "ASTM D6386, preparation of hot-dip galvanised steel for painting"
GRADES = "grades are FEPA P, ISO 6344"
SHEET = "the product card"


class Told(NamedTuple):
    """What to do, why, and the source of that."""

    words: str
    reason: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What is prepared: the material, whether it is seen through (`clear`), its shape, and what cleaners are called."""

    substrate: Substrate
    clear: bool = False
    shape: frozenset[Shape] = frozenset()
    cleaners: Mapping[str, Cleaner] = field(default_factory=dict)

    @property
    def nooks(self) -> bool:
        """Whether it has nooks that hold what is put into them."""
        return Shape.NOOKS in self.shape

    @property
    def routes(self) -> tuple[Route, ...]:
        """What can make paint hold on it at a bench, best first: no tooth on a clear face."""
        gone = {Route.FLAME, Route.PLASMA, *((Route.TOOTH,) if self.clear else ())}
        return tuple(r for r in self.substrate.routes if r not in gone) if self.substrate.known else ()

    @property
    def soaks(self) -> bool:
        """Whether water goes into it."""
        return bool(self.substrate.natures & {Nature.POROUS, Nature.TAKES_UP_WATER})

    def agent(self, agent: str) -> str:
        """Name a cleaner as the painter calls it."""
        return agent_name(agent, self.cleaners)

    def flammable(self, agent: str | None) -> bool:
        """Whether a cleaner catches fire; one that nobody knows might."""
        known = self.cleaners.get(agent or "")
        return known.flammable if known is not None else agent not in (None, "water-detergent", "release-wash")


def agent_name(agent: str, cleaners: Mapping[str, Cleaner]) -> str:
    """Name a cleaner by the table, else by its id."""
    known = cleaners.get(agent)
    return known.name if known is not None else agent.replace("-", " ")


def step_name(step: Prep) -> str:
    """Name a prep step in as few words as a button takes."""
    return {
        Prep.WASH: say("Wash"),
        Prep.RELEASE_WASH: say("Release wash"),
        Prep.DEGREASE: say("Degrease"),
        Prep.ABRADE: say("Abrade"),
        Prep.SCUFF: say("Scuff"),
        Prep.TACK: say("Tack off"),
        Prep.MASK: say("Mask"),
        Prep.UNMASK: say("Unmask"),
        Prep.WATER_BREAK: say("Water test"),
        Prep.STRIP: say("Strip"),
        Prep.DRY: say("Dry out"),
    }[step]


def grit_words(grit: tuple[int, int]) -> str:
    """Say a range of FEPA P grades."""
    coarse, fine = grit
    return f"P{coarse}" if coarse == fine else say("P{coarse} to P{fine}", coarse=coarse, fine=fine)


# --- cautions --------------------------------------------------------------------------------------------


def defers() -> str:
    """What every caution gives way to; said once."""
    return say("The product's safety data sheet, local rules and licensed practice decide.")


def caution_cleaning(ground: Ground, agent: str | None) -> str:
    """The caution of a cleaner."""
    if ground.flammable(agent):
        return say("Solvent vapour: extraction on, no flame or spark, gloves, wet rags into a covered metal can.")
    return say("Wear gloves: they keep the cleaner off your skin and your skin off the piece.")


def caution_sanding(ground: Ground) -> str:
    """The caution of abrading and stripping."""
    if Nature.MAY_HOLD_LEAD in ground.substrate.natures:
        return say("It may hold lead or chromate: test it before you sand, keep it wet, wear a respirator made for it.")
    if ground.substrate.material is Material.PAINT:
        return say("Old paint may hold lead or chromate: test it first, keep it wet, wear a fitted dust respirator.")
    return caution_dust()


def caution_dust() -> str:
    """The caution of dust that is not known to be poisonous."""
    return say("Sanding dust: wear a fitted dust respirator and goggles.")


def caution_chromate() -> str:
    """The caution of sanding a layer whose own card says that it holds chromate."""
    return say(
        "It holds chromate, which causes cancer: leave it unsanded if you can, else wet only, fitted respirator, and "
        "wipe up and bag the sludge."
    )


def caution_blowing() -> str:
    """The caution of blowing off."""
    return say("Compressed air: less than 2 bar (30 psi), goggles on, never towards skin.")


# --- cleaning --------------------------------------------------------------------------------------------


def wash(ground: Ground, agent: str | None) -> Told:
    """Wash with water, or brush where water does harm."""
    if agent is None:
        words = say("Brush it off and vacuum it; keep water away from it.")
        return Told(words, say("Dust goes into the paint, and water into the material: it swells."), PRACTICE)
    if ground.soaks:
        words = say("Wipe it with a damp cloth ({agent}); do not soak it.", agent=ground.agent(agent))
    else:
        words = say("Wash it in {agent}, rinse it well and let it dry.", agent=ground.agent(agent))
    if ground.nooks:
        words += " " + say("A soft brush gets into the nooks; turn it over so that they drain.")
    reason = say("Salt, sweat and mud come off with water; a solvent leaves them there.")
    return Told(words, reason, SP1 + " (solvents do not take off salts)")


def release_wash(ground: Ground, agent: str | None) -> Told:
    """Wash off what let a moulded part out of its mould."""
    words = (
        say("Rub every face with {agent} and rinse it well.", agent=ground.agent(agent))
        if agent is not None
        else say("Get the mould release off with a cleaner that you tried on a spot that does not show.")
    )
    reason = (
        say("A moulded part carries release agent; a solvent wipe only spreads it.")
        if ground.substrate.known
        else say("It may have come out of a mould, with release agent on it.")
    )
    return Told(words, reason, D2093 + "; the wash: " + PRACTICE)


def no_release_wash() -> Told:
    """Why there is no mould-release wash."""
    return Told(say("No mould-release wash."), say("It carries no mould release."), PRACTICE)


def degrease(ground: Ground, agent: str | None, *, abraded: bool) -> Told:
    """Take the grease off before anything is rubbed in."""
    words = _wipe(ground, agent)
    harm = harmful_words(ground)
    reason = say("Skin grease, polish and silicone make craters and take the hold away.")
    if abraded:
        reason = say("Skin grease, polish and silicone make craters, and abrading would rub them in.")
    if ground.clear:
        reason = say("Skin grease and silicone make craters, and on a clear face each smear shows.")
    return Told(f"{words} {harm}".strip(), reason, _wiping_source(ground))


def degrease_again(ground: Ground, agent: str | None, *, broke: bool) -> Told:
    """Degrease after abrading, or after a water-break test that broke."""
    reason = (
        say("The water broke on it, so something is still there.")
        if broke
        else say("Abrading leaves dust, and brings up what lay in the face.")
    )
    return Told(_wipe(ground, agent), reason, F22 if broke else SP1 + " (dust and residue come off before paint)")


def _wipe(ground: Ground, agent: str | None) -> str:
    words = (
        say("Wipe it with {agent}: a wet cloth on, a clean dry one off before it dries.", agent=ground.agent(agent))
        if agent is not None
        else say("Wipe it with a cleaner that you tried on a spot that does not show.")
    )
    if ground.nooks:
        words += " " + say("It gathers in the nooks: blow them out gently and wait until nothing comes any more.")
    return words


def _wiping_source(ground: Ground) -> str:
    own = ground.substrate.sources.get("safe", "")
    cloths = SP1 + " (clean cloths for the last wipe)"
    return f"{cloths}; {own}" if own else cloths


def harmful_words(ground: Ground) -> str:
    """Say which cleaners to keep off; "" where none is known to harm."""
    harmful = [ground.agent(a) for a in ground.substrate.harmful[:3]]
    if not harmful:
        return ""
    if Nature.STRESS_CRACKS in ground.substrate.natures:
        return say("Keep {cleaners} off it: it can craze, at once or weeks later.", cleaners=", ".join(harmful))
    return say("Keep {cleaners} off it.", cleaners=", ".join(harmful))


def harm_of(ground: Ground, agent: str) -> str:
    """Say that this cleaner harms this material."""
    name, material = ground.agent(agent), ground.substrate.name
    if Nature.STRESS_CRACKS in ground.substrate.natures:
        return say("{cleaner} can craze {material}, at once or weeks later.", cleaner=_upper(name), material=material)
    return say("{cleaner} harms {material}.", cleaner=_upper(name), material=material)


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


# --- tooth -----------------------------------------------------------------------------------------------


def strip() -> Told:
    """Take old paint off where it does not hold."""
    words = say("Scrape off what is loose and feather the edges; strip it all where tape lifts it.")
    return Told(words, say("New paint holds no better than the old paint under it."), PRACTICE)


def abrade(ground: Ground, grit: tuple[int, int] | None) -> Told:
    """Give it tooth, by the grades of the material."""
    own = ground.substrate.sources.get("grit", PRACTICE)
    reason = say("A glossy face gives paint nothing to grip.")
    if grit is None and Shape.TEXTURED not in ground.shape:
        words = say("Scuff it evenly with a fine pad until no shine is left.")
        return Told(words, reason, ground.substrate.sources.get("routes", PRACTICE))
    if Shape.TEXTURED in ground.shape or grit is None:
        words = say("Rub it with a fine pad that follows the texture; no paper.")
        return Told(words, say("Paper takes the tops off the texture and leaves its valleys glossy."), PRACTICE)
    source = f"{own}; {GRADES}"
    if Nature.ZINC in ground.substrate.natures:
        words = say("Key it lightly with {grit}: the zinc is thin.", grit=grit_words(grit))
        source = f"{D6386}; {GRADES}"
    else:
        words = say("Abrade it evenly with {grit} until the gloss is gone.", grit=grit_words(grit))
    if ground.nooks:
        words += " " + say("Brush the pad into the nooks; what you can't reach stays glossy, so look at it twice.")
    if Nature.OXIDISES in ground.substrate.natures:
        reason += " " + say("Prime it soon: bare, it grows a skin again.")
    return Told(words, reason, source)


def no_abrade(ground: Ground) -> Told:
    """Why this face is not abraded."""
    words = say("Do not abrade it.")
    if ground.clear:
        return Told(words, say("Every scratch would show through the clear, for good."), PRACTICE)
    if not ground.substrate.known:
        reason = say("Nobody has named the material: try on the test strip whether it needs tooth.")
        return Told(words, reason, PRACTICE)
    reason = say("No abrading is known to help on {material}.", material=ground.substrate.name)
    return Told(words, reason, ground.substrate.sources.get("grit", PRACTICE))


def water_break() -> Told:
    """See whether clean water stays in one sheet."""
    words = say("Rinse it with clean water and watch it for a minute: one sheet is clean, a film that breaks is not.")
    return Told(words, say("A film of grease too thin to see still parts the water."), F22)


def no_water_break(ground: Ground) -> Told:
    """Why water tells nothing here."""
    if ground.soaks:
        return Told(say("No water-break test."), say("Water goes into it, so the film tells nothing."), F22)
    if not ground.substrate.known:
        return Told(say("No water-break test."), say("What water does on an unknown material tells nothing sure."), F22)
    reason = say("Water beads on it even when it is clean: that tells its surface energy, not dirt.")
    return Told(say("No water-break test."), reason, F22 + "; that it tells energy here: " + PRACTICE)


def dry(ground: Ground) -> Told:
    """Let the water out of the material."""
    told = ground.substrate.moisture
    reason = told or say("It takes up water, which later comes out under the paint.")
    return Told(
        say("Let it dry out, warm and in moving air."), reason, ground.substrate.sources.get("moisture", PRACTICE)
    )


# --- before paint ----------------------------------------------------------------------------------------


def mask() -> Told:
    """Mask what stays bare."""
    words = say("Mask what must stay bare, with clean gloves on.")
    return Told(words, say("On a clean face tape sticks at its edge, and leaves no finger marks."), PRACTICE)


def unmask() -> Told:
    """Take the tape off again."""
    words = say("Pull the tape back over itself, slowly.")
    return Told(words, say("Tape that stays on too long lifts paint or leaves its glue."), PRACTICE)


def tack(ground: Ground) -> Told:
    """Take off the last dust."""
    if ground.clear:
        words = say("Wipe it once, slowly, with a clean lint-free cloth, right before the first coat.")
        return Told(words, say("Rubbing charges a clear shell, and it draws dust that shows from the front."), PRACTICE)
    words = say("Go over it once with a tack cloth, lightly, right before the first coat.")
    if ground.nooks:
        words += " " + say("Blow the nooks out first.")
    return Told(words, say("What lies on it now stays in the paint."), PRACTICE)


def promote(ground: Ground, layer: str, *, asked: bool) -> Told:
    """Put on the promoter, or plan one."""
    material = ground.substrate.name
    reason = say("Paint does not hold on {material} by itself.", material=material)
    if ground.clear and not ground.substrate.refuses_paint:
        reason = say(
            "A clear face gets no tooth, so a promoter has to hold the paint on {material}.", material=material
        )
    source = ground.substrate.sources.get("routes", ground.substrate.source)
    if layer:
        words = say("Spray {layer} as its first layer.", layer=layer)
        return Told(words, reason, source) if asked else Told(words, say("It is planned so."), PRACTICE)
    return Told(say("Plan a promoter as its first layer."), reason, source)


def no_promote(ground: Ground) -> Told:
    """Why no promoter is asked for."""
    source = ground.substrate.sources.get("routes", PRACTICE)
    if not ground.routes:
        return Told(say("No promoter by the plan."), say("The test strip shows whether one helps."), source)
    routes = say(" or ").join(_route_name(r) for r in ground.routes)
    reason = say("What holds on {material}: {routes}.", material=ground.substrate.name, routes=routes)
    return Told(say("No promoter by the plan."), reason, source)


def _route_name(route: Route) -> str:
    return {
        Route.TOOTH: say("tooth"),
        Route.PROMOTER: say("a promoter"),
        Route.PRIMER: say("a primer"),
        Route.FLAME: say("flame"),
        Route.PLASMA: say("plasma or corona"),
    }[route]


# --- between layers --------------------------------------------------------------------------------------


def scuff(layer: str, *, closed: bool, metallic: bool) -> Told:
    """Open a recoat window that has closed."""
    if closed:
        words = say("Scuff {layer} evenly with a fine pad.", layer=layer)
        reason = say("Its recoat window has closed: what goes over it now finds nothing to bite into.")
        if metallic:
            words += " " + say("Scratched flake shows: one more coat of it covers that.")
        return Told(words, reason, SHEET)
    words = say("Scuff {layer} only where a run or a speck of dust must go.", layer=layer)
    return Told(words, say("Inside its recoat window the next layer bites by itself."), SHEET)


def scuff_later(layer: str) -> Told:
    """Say that the window of a finished layer has closed, and what that asks for before anything goes over it."""
    words = say("Before anything more goes over {layer}: scuff it evenly with a fine pad.", layer=layer)
    return Told(words, say("Its recoat window has closed: what goes over it now finds nothing to bite into."), SHEET)


def clean_paint(layer: str, agent: str) -> Told:
    """Clean paint that has stood for a day or longer, before it is scuffed; `agent` is "" where none is safe."""
    words = (
        say("Wipe {layer} with {agent}: a wet cloth on, a clean dry one off before it dries.", layer=layer, agent=agent)
        if agent
        else say("Wipe {layer} with a cleaner that you tried on a spot that does not show.", layer=layer)
    )
    words += " " + say("No strong solvent on paint this young.")
    return Told(words, say("It was handled: scuffing would grind the dirt in."), PRACTICE)


def tack_between(layer: str) -> Told:
    """Take the dust off a layer."""
    words = say("Go over {layer} once with a tack cloth, lightly, right before the next layer.", layer=layer)
    return Told(words, say("What lies on it now stays in the paint."), PRACTICE)


def mask_between() -> Told:
    """Tape on fresh paint."""
    words = say("Mask for the next layer only once its tape time is over.")
    return Told(words, say("On paint that is too young, tape prints and lifts."), SHEET)
