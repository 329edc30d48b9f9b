"""Cases for the rules of surface."""

from datetime import timedelta

from builders import (
    COLOUR,
    ENAMEL,
    EPOXY,
    ETCH,
    LACQUER,
    POLYOLEFIN,
    PROMOTER,
    SEALER,
    URETHANE,
    WATERBORNE,
    JobBuilder,
)
from msgspec.structs import replace
from rules.case_book import fails, panel, passes

from benchtool.job.cardpaces import CardTime, ForcedDry
from benchtool.job.cards import Card, Trait


def on(substrate: str, card: Card, *prep: str, activator: str | None = None, **piece: str) -> JobBuilder:
    """A piece of this material, cleaned and prepared so, with one layer planned straight on it."""
    bench = JobBuilder().card(card).piece(substrate=substrate, **piece)
    bench.prep("mould-release wash", "wash", "degrease", *prep)
    return bench.layer("first", card, activator=activator or next((a.id for a in card.activators), None))


# --- whether anything holds ------------------------------------------------------------------------------


@fails("surface.nothing-holds")
def promoter_on_ptfe() -> JobBuilder:
    return on("ptfe", POLYOLEFIN)


@fails("surface.nothing-holds")
def colour_on_silicone_rubber() -> JobBuilder:
    return on("silicone", COLOUR, flex="flexible")


@fails("surface.nothing-holds")
def colour_on_pvdf_that_only_a_works_can_treat() -> JobBuilder:
    return on("pvdf", COLOUR)


@passes("surface.nothing-holds")
def silicone_on_which_a_strip_held() -> JobBuilder:
    return on("silicone", COLOUR, flex="flexible").trial()


@passes("surface.nothing-holds")
def acetal_with_a_primer_for_it() -> JobBuilder:
    return on("pom", EPOXY, "abrade", "degrease")


@fails("surface.no-tooth")
def enamel_on_shiny_steel() -> JobBuilder:
    return on("steel", ENAMEL)


@fails("surface.no-tooth")
def colour_on_old_urethane_with_its_shine() -> JobBuilder:
    return on("paint-urethane", COLOUR)


@fails("surface.no-tooth")
def urethane_went_on_smooth_abs() -> JobBuilder:
    return on("abs", URETHANE).coat(mix=None)


@passes("surface.no-tooth")
def steel_abraded() -> JobBuilder:
    return on("steel", ENAMEL, "abrade", "degrease")


@passes("surface.no-tooth")
def etch_primer_that_bites_by_itself() -> JobBuilder:
    return on("steel", ETCH)


@passes("surface.no-tooth")
def a_card_that_does_not_say_what_its_film_is() -> JobBuilder:
    return on("aluminium", COLOUR)


@passes("surface.no-tooth")
def a_clear_shell_is_never_scratched() -> JobBuilder:
    return on("pc", WATERBORNE, face="behind clear")


@passes("surface.no-tooth")
def glass_takes_no_tooth() -> JobBuilder:
    return on("glass", URETHANE)


@fails("surface.plasticiser")
def enamel_on_soft_vinyl() -> JobBuilder:
    return on("pvc-p", ENAMEL, flex="flexible")


@passes("surface.plasticiser")
def a_flexible_paint_on_soft_vinyl() -> JobBuilder:
    return on("pvc-p", replace(WATERBORNE, traits=(Trait.FLEXIBLE,)), flex="flexible")


@passes("surface.plasticiser")
def a_promoter_on_soft_vinyl() -> JobBuilder:
    return panel("flexible", substrate="pvc-p", flex="flexible")


@passes("surface.plasticiser")
def hard_vinyl_holds_none() -> JobBuilder:
    return on("pvc-u", ENAMEL, "scuff")


# --- what the paint does to it ---------------------------------------------------------------------------


@fails("surface.crazes-shell")
def lacquer_in_a_polycarbonate_shell() -> JobBuilder:
    return on("pc", LACQUER, face="behind clear")


@fails("surface.crazes-shell")
def strong_solvent_in_an_acrylic_shell() -> JobBuilder:
    return on("pmma", replace(ENAMEL, traits=(Trait.STRONG_SOLVENT,)), face="behind clear")


@passes("surface.crazes-shell")
def waterborne_colour_in_a_shell() -> JobBuilder:
    return on("pc", WATERBORNE, face="behind clear")


@passes("surface.crazes-shell")
def lacquer_behind_glass() -> JobBuilder:
    return on("glass", LACQUER, face="behind clear")


@passes("surface.crazes-shell")
def a_promoter_between_the_shell_and_the_lacquer() -> JobBuilder:
    bench = on("pc", POLYOLEFIN, face="behind clear")
    return bench.card(LACQUER).layer("colour", LACQUER)


@fails("surface.solvent-attacks")
def lacquer_on_polystyrene() -> JobBuilder:
    return on("ps", LACQUER, "scuff")


@fails("surface.solvent-attacks")
def lacquer_went_on_abs() -> JobBuilder:
    return on("abs", LACQUER, "scuff").coat(mix=None)


@passes("surface.solvent-attacks")
def lacquer_on_steel() -> JobBuilder:
    return on("steel", LACQUER, "abrade", "degrease")


@passes("surface.solvent-attacks")
def lacquer_on_abs_proved_on_a_strip() -> JobBuilder:
    return on("abs", LACQUER, "scuff").trial()


@passes("surface.solvent-attacks")
def enamel_on_polystyrene() -> JobBuilder:
    return on("ps", ENAMEL, "scuff")


@fails("surface.etch-off-metal")
def etch_primer_on_abs() -> JobBuilder:
    return on("abs", ETCH, "scuff")


@fails("surface.etch-off-metal")
def etch_primer_on_old_enamel() -> JobBuilder:
    return on("paint-enamel", ETCH, "scuff")


@passes("surface.etch-off-metal")
def etch_primer_on_aluminium() -> JobBuilder:
    return on("aluminium", ETCH)


@fails("surface.grain")
def waterborne_colour_on_bare_oak() -> JobBuilder:
    return on("wood-hardwood", replace(WATERBORNE, duty=SEALER.duty))


@passes("surface.grain")
def damped_dried_and_sanded_first() -> JobBuilder:
    return on("wood-hardwood", replace(WATERBORNE, duty=SEALER.duty), "dry out", "abrade", "tack")


@passes("surface.grain")
def waterborne_colour_on_metal() -> JobBuilder:
    return on("steel", WATERBORNE, "abrade", "degrease")


@fails("surface.unsealed")
def colour_straight_on_mdf() -> JobBuilder:
    return on("mdf", COLOUR, "abrade", "tack")


@passes("surface.unsealed")
def sealed_mdf() -> JobBuilder:
    return on("mdf", SEALER, "abrade", "tack").card(COLOUR).layer("colour", COLOUR)


@passes("surface.unsealed")
def clear_straight_on_wood() -> JobBuilder:
    return on("wood-solid", URETHANE, "abrade", "tack")


# --- bare metal ------------------------------------------------------------------------------------------


@fails("surface.metal-aged")
def aluminium_abraded_in_the_morning() -> JobBuilder:
    return on("aluminium", EPOXY, "abrade", "degrease").wait(hours=5)


@fails("surface.metal-aged")
def steel_left_overnight_and_primed() -> JobBuilder:
    return on("steel", EPOXY, "abrade", "degrease").wait(hours=14).coat(mix=None)


@passes("surface.metal-aged")
def aluminium_primed_at_once() -> JobBuilder:
    return on("aluminium", EPOXY, "abrade", "degrease").wait(hours=1).coat(mix=None).wait(hours=30)


@passes("surface.metal-aged")
def aluminium_abraded_again_before_the_coat() -> JobBuilder:
    return on("aluminium", EPOXY, "abrade").wait(hours=20).prep("abrade", "degrease")


@passes("surface.metal-aged")
def anodised_aluminium_does_not_age() -> JobBuilder:
    return on("aluminium-anodised", EPOXY, "abrade", "degrease").wait(hours=20)


@fails("surface.zinc-under-enamel")
def enamel_on_galvanised_steel() -> JobBuilder:
    return on("steel-galvanised", ENAMEL, "abrade", "degrease")


@fails("surface.zinc-under-enamel")
def enamel_went_on_a_zinc_casting() -> JobBuilder:
    return on("zinc-die-cast", ENAMEL, "abrade", "degrease").coat(mix=None)


@passes("surface.zinc-under-enamel")
def epoxy_on_galvanised_steel() -> JobBuilder:
    return on("steel-galvanised", EPOXY, "abrade", "degrease").card(ENAMEL).layer("enamel", ENAMEL)


@passes("surface.zinc-under-enamel")
def enamel_on_bare_steel() -> JobBuilder:
    return on("steel", ENAMEL, "abrade", "degrease")


def touching(substrate: str, *others: str) -> JobBuilder:
    """A piece with other metals joined to it."""
    bench = JobBuilder().card(EPOXY).piece(substrate=substrate, joined=others).prep("wash", "degrease", "abrade")
    return bench.prep("degrease").layer("primer", EPOXY, activator="epoxy-b")


@fails("surface.galvanic")
def aluminium_with_brass_studs() -> JobBuilder:
    return touching("aluminium", "brass-copper")


@fails("surface.galvanic")
def aluminium_with_stainless_screws() -> JobBuilder:
    return touching("aluminium", "steel-stainless")


@passes("surface.galvanic")
def steel_on_aluminium() -> JobBuilder:
    return touching("steel", "aluminium")


@passes("surface.galvanic")
def aluminium_beside_a_plastic_cap() -> JobBuilder:
    return touching("aluminium", "abs", "no-such-material")


# --- old paint, and what holds water ---------------------------------------------------------------------


@fails("surface.old-paint-unknown")
def over_old_paint_that_nobody_can_name() -> JobBuilder:
    return on("paint-unknown", ENAMEL, "abrade", "degrease")


@fails("surface.old-paint-unknown")
def old_enamel_by_a_guess() -> JobBuilder:
    return on("paint-enamel", ENAMEL, "abrade", "degrease", known="guessed")


@passes("surface.old-paint-unknown")
def tried_on_a_hidden_spot() -> JobBuilder:
    return on("paint-unknown", EPOXY, "abrade", "degrease").trial()


@passes("surface.old-paint-unknown")
def a_sealer_locks_it_in() -> JobBuilder:
    return on("paint-unknown", SEALER, "abrade", "degrease")


@passes("surface.old-paint-unknown")
def old_urethane_by_its_papers() -> JobBuilder:
    return on("paint-urethane", EPOXY, "abrade", "degrease")


@fails("surface.old-paint-softens")
def lacquer_over_old_lacquer() -> JobBuilder:
    return on("paint-lacquer", LACQUER, "abrade", "degrease")


@fails("surface.old-paint-softens")
def urethane_went_over_old_enamel() -> JobBuilder:
    return on("paint-enamel", URETHANE, "abrade", "degrease").coat(mix=None)


@passes("surface.old-paint-softens")
def a_sealer_over_old_lacquer() -> JobBuilder:
    return on("paint-lacquer", SEALER, "abrade", "degrease").card(LACQUER).layer("colour", LACQUER)


@passes("surface.old-paint-softens")
def waterborne_over_old_lacquer() -> JobBuilder:
    return on("paint-lacquer", WATERBORNE, "abrade", "degrease")


@passes("surface.old-paint-softens")
def lacquer_over_old_epoxy() -> JobBuilder:
    return on("paint-epoxy", LACQUER, "abrade", "degrease")


@fails("surface.takes-up-water")
def nylon_washed_an_hour_ago() -> JobBuilder:
    return on("pa66-gf", EPOXY, "abrade", "degrease").wait(hours=1)


@fails("surface.takes-up-water")
def mdf_wiped_with_soapy_water() -> JobBuilder:
    bench = JobBuilder().card(SEALER).piece(substrate="mdf").prep("wash", agent="water-detergent")
    return bench.layer("sealer", SEALER, activator="sealer-b")


@passes("surface.takes-up-water")
def nylon_dried_out() -> JobBuilder:
    return on("pa66-gf", EPOXY, "abrade", "degrease", "dry out").wait(hours=1)


@passes("surface.takes-up-water")
def nylon_left_for_a_day() -> JobBuilder:
    return on("pa66-gf", EPOXY, "abrade", "degrease").wait(hours=24)


@passes("surface.takes-up-water")
def steel_takes_up_none() -> JobBuilder:
    return on("steel", EPOXY, "abrade", "degrease")


# --- what is known of it ---------------------------------------------------------------------------------


@fails("surface.guessed")
def abs_by_a_guess() -> JobBuilder:
    return panel(substrate="abs", known="guessed")


@passes("surface.guessed")
def a_guess_and_a_strip_that_held() -> JobBuilder:
    return panel(substrate="abs", known="guessed").trial()


@passes("surface.guessed")
def abs_by_its_mark() -> JobBuilder:
    return panel(substrate="abs", known="marked")


@fails("surface.flex-disagrees")
def a_bumper_said_to_be_rigid() -> JobBuilder:
    return panel(substrate="tpo", flex="rigid")


@passes("surface.flex-disagrees")
def a_bumper_that_bends() -> JobBuilder:
    return panel("flexible", substrate="tpo", flex="flexible")


@passes("surface.flex-disagrees")
def a_thin_flap_of_abs_that_bends() -> JobBuilder:
    return panel("flexible", substrate="abs", flex="flexible")


@fails("surface.not-clear")
def steel_painted_from_behind() -> JobBuilder:
    return panel(substrate="steel", face="behind clear")


@passes("surface.not-clear")
def a_clear_shell_painted_from_behind() -> JobBuilder:
    return panel(substrate="pc", face="behind clear")


def moulded(mark: str, substrate: str) -> JobBuilder:
    """A piece with a mark moulded on it, and the material that was chosen for it."""
    bench = JobBuilder().card(PROMOTER).piece(substrate=substrate, mark=mark, known="marked")
    return bench.prep("mould-release wash").layer("promoter", PROMOTER, activator="rigid")


@fails("surface.mark-disagrees")
def marked_polypropylene_and_called_abs() -> JobBuilder:
    return moulded(">PP-TD20<", "abs")


@fails("surface.mark-disagrees")
def marked_polycarbonate_and_called_acrylic() -> JobBuilder:
    return moulded(">PC<", "pmma")


@passes("surface.mark-disagrees")
def marked_polypropylene_and_called_so() -> JobBuilder:
    return moulded(">PP-TD20<", "pp")


@passes("surface.mark-disagrees")
def a_blend_called_by_its_name() -> JobBuilder:
    return moulded(">PC+ABS<", "pc-abs")


@passes("surface.mark-disagrees")
def a_mark_that_nobody_can_read() -> JobBuilder:
    return moulded("a star and 7", "abs")


# --- heat ------------------------------------------------------------------------------------------------

FORCED = replace(URETHANE, forced={CardTime.CURE: ForcedDry(degC=60.0, wait=timedelta(minutes=30))})


@fails("surface.heat-limit")
def heat_on_expanded_polystyrene() -> JobBuilder:
    return on("pe-ld", POLYOLEFIN, flex="flexible").heat(60)


@fails("surface.heat-limit")
def a_forced_dry_that_wood_does_not_stand() -> JobBuilder:
    return on("wood-solid", FORCED, "abrade", "tack")


@passes("surface.heat-limit")
def heat_on_steel() -> JobBuilder:
    return on("steel", FORCED, "abrade", "degrease").heat(60)


@passes("surface.heat-limit")
def the_heat_was_taken_off() -> JobBuilder:
    return on("pe-ld", POLYOLEFIN, flex="flexible").heat(60).wait(minutes=5).heat_off()


@passes("surface.heat-limit")
def gentle_heat_on_abs() -> JobBuilder:
    return on("abs", FORCED, "scuff").heat(50)


@fails("surface.no-primer")
def colour_straight_on_bare_steel() -> JobBuilder:
    return on("steel", LACQUER, "degrease", "abrade", "degrease")


@fails("surface.no-primer")
def clear_straight_on_glass() -> JobBuilder:
    return on("glass", URETHANE, "degrease", "abrade", "degrease")


@passes("surface.no-primer")
def an_enamel_made_for_bare_steel() -> JobBuilder:
    return on("steel", ENAMEL, "degrease", "abrade", "degrease")


@passes("surface.no-primer")
def epoxy_under_it() -> JobBuilder:
    return on("glass", EPOXY, "degrease", "abrade", "degrease")


@fails("surface.stripped")
def old_paint_that_is_off() -> JobBuilder:
    return on("paint-unknown", EPOXY, "strip", "degrease")


@passes("surface.stripped")
def old_paint_that_stays_on() -> JobBuilder:
    return on("paint-unknown", EPOXY, "abrade", "degrease")
