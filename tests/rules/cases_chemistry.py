"""Cases for the rules of chemistry: what goes over what, and when."""

from builders import (
    COLOUR,
    ENAMEL,
    EPOXY,
    ETCH,
    FILLER,
    LACQUER,
    METALLIC,
    SEALER,
    URETHANE,
    UV_CLEAR,
    WATERBORNE,
    JobBuilder,
    hours,
)
from msgspec.structs import replace
from rules.case_book import fails, passes

from benchtool.job.cards import Card, Chemistry, Duty, Trait

ZINC_PRIMER = replace(EPOXY, id="zinc-primer", name="Zinc-rich primer", traits=(Trait.ZINC_RICH,))
OPEN_EPOXY = replace(EPOXY, id="open-epoxy", recoat_closes=None)


def stack(*cards: Card, substrate: str = "steel") -> JobBuilder:
    """A clean, abraded steel panel with these layers planned, named a, b, c."""
    bench = JobBuilder().card(*cards).piece(substrate=substrate).prep("wash", "degrease", "abrade", "degrease")
    for name, card in zip("abc", cards, strict=False):
        bench.layer(name, card, activator=next((a.id for a in card.activators), None))
    return bench


def sprayed(*cards: Card, **wait: float) -> JobBuilder:
    """The same with its first layer on, so long ago."""
    bench = stack(*cards)
    for n in range(cards[0].coats_least):
        bench.wait(seconds=float((cards[0].flash or hours(0)).total_seconds()) if n else 0).coat("a", mix=None)
    return bench.wait(**wait)


def covered(*cards: Card, **wait: float) -> JobBuilder:
    """The same with a coat of the second one over it after that."""
    return sprayed(*cards, **wait).coat("b", mix=None)


@fails("chemistry.lacquer-over-enamel")
def lacquer_over_an_enamel_of_yesterday() -> JobBuilder:
    return sprayed(ENAMEL, LACQUER, hours=25)


@fails("chemistry.lacquer-over-enamel")
def lacquer_went_over_an_enamel_of_yesterday() -> JobBuilder:
    return covered(ENAMEL, LACQUER, hours=25).wait(days=60)


@passes("chemistry.lacquer-over-enamel")
def lacquer_over_an_enamel_of_last_month() -> JobBuilder:
    return sprayed(ENAMEL, LACQUER, days=29)


@passes("chemistry.lacquer-over-enamel")
def a_sealer_between_enamel_and_lacquer() -> JobBuilder:
    return covered(ENAMEL, SEALER, LACQUER, days=29)


@passes("chemistry.lacquer-over-enamel")
def enamel_over_lacquer() -> JobBuilder:
    return sprayed(LACQUER, ENAMEL, hours=1)


@fails("chemistry.two-part-over-enamel")
def urethane_over_an_enamel_of_yesterday() -> JobBuilder:
    return sprayed(ENAMEL, URETHANE, hours=25)


@fails("chemistry.two-part-over-enamel")
def filler_over_an_enamel_of_yesterday() -> JobBuilder:
    return sprayed(ENAMEL, FILLER, hours=25)


@passes("chemistry.two-part-over-enamel")
def urethane_over_a_hard_enamel() -> JobBuilder:
    return sprayed(ENAMEL, URETHANE, days=29)


@passes("chemistry.two-part-over-enamel")
def urethane_over_a_metallic_lacquer_base() -> JobBuilder:
    return sprayed(METALLIC, URETHANE, hours=1)


@fails("chemistry.waterborne-over-enamel")
def waterborne_over_an_enamel_of_yesterday() -> JobBuilder:
    return sprayed(ENAMEL, WATERBORNE, hours=25)


@passes("chemistry.waterborne-over-enamel")
def waterborne_over_epoxy() -> JobBuilder:
    return sprayed(EPOXY, WATERBORNE, hours=2)


@fails("chemistry.lacquer-over-waterborne")
def lacquer_over_waterborne_of_this_morning() -> JobBuilder:
    return sprayed(WATERBORNE, LACQUER, hours=5)


@passes("chemistry.lacquer-over-waterborne")
def lacquer_over_waterborne_of_last_week() -> JobBuilder:
    return sprayed(WATERBORNE, LACQUER, days=8)


@fails("chemistry.hard-over-soft")
def enamel_planned_over_waterborne() -> JobBuilder:
    return stack(WATERBORNE, ENAMEL)


@fails("chemistry.hard-over-soft")
def epoxy_went_over_lacquer() -> JobBuilder:
    return covered(LACQUER, EPOXY, hours=2)


@passes("chemistry.hard-over-soft")
def epoxy_first_and_waterborne_over_it() -> JobBuilder:
    return stack(EPOXY, WATERBORNE)


@fails("chemistry.epoxy-over-etch")
def epoxy_planned_over_etch() -> JobBuilder:
    return stack(ETCH, EPOXY)


@fails("chemistry.epoxy-over-etch")
def epoxy_went_over_etch() -> JobBuilder:
    return covered(ETCH, EPOXY, hours=2)


@passes("chemistry.epoxy-over-etch")
def a_sealer_over_etch() -> JobBuilder:
    return stack(ETCH, SEALER)


@passes("chemistry.epoxy-over-etch")
def an_epoxy_whose_card_wants_that_etch() -> JobBuilder:
    return stack(ETCH, replace(EPOXY, only_over=(ETCH.id,)))


@passes("chemistry.epoxy-over-etch")
def the_etch_was_planned_and_passed_over() -> JobBuilder:
    return stack(ETCH, EPOXY).coat("b", mix=None)


@fails("chemistry.filler-over-etch")
def polyester_planned_over_etch() -> JobBuilder:
    return stack(ETCH, FILLER)


@fails("chemistry.filler-over-etch")
def a_filler_of_another_resin_over_etch() -> JobBuilder:
    return stack(ETCH, replace(FILLER, chemistry=Chemistry.URETHANE))


@passes("chemistry.filler-over-etch")
def polyester_over_epoxy() -> JobBuilder:
    return stack(EPOXY, FILLER)


@fails("chemistry.etch-over-paint")
def etch_planned_over_epoxy() -> JobBuilder:
    return stack(EPOXY, ETCH)


@passes("chemistry.etch-over-paint")
def etch_on_bare_steel() -> JobBuilder:
    return stack(ETCH, LACQUER)


@fails("chemistry.enamel-over-zinc-rich")
def enamel_planned_over_zinc() -> JobBuilder:
    return stack(ZINC_PRIMER, ENAMEL)


@fails("chemistry.enamel-over-zinc-rich")
def enamel_went_over_zinc() -> JobBuilder:
    return covered(ZINC_PRIMER, ENAMEL, hours=2)


@passes("chemistry.enamel-over-zinc-rich")
def a_tie_coat_over_zinc() -> JobBuilder:
    return stack(ZINC_PRIMER, EPOXY, ENAMEL)


@fails("chemistry.acid-over-zinc-rich")
def acid_catalysed_lacquer_over_zinc() -> JobBuilder:
    return stack(ZINC_PRIMER, replace(COLOUR, traits=(Trait.ACID_CATALYSED,)))


@passes("chemistry.acid-over-zinc-rich")
def etch_under_zinc_is_another_matter() -> JobBuilder:
    return stack(ETCH, replace(ZINC_PRIMER, chemistry=Chemistry.OTHER))


@fails("chemistry.peroxide-bleed")
def colour_planned_on_filler() -> JobBuilder:
    return stack(FILLER, COLOUR)


@fails("chemistry.peroxide-bleed")
def colour_went_on_filler() -> JobBuilder:
    return covered(FILLER, COLOUR, hours=4)


@passes("chemistry.peroxide-bleed")
def a_sealer_over_the_filler() -> JobBuilder:
    return stack(FILLER, SEALER, COLOUR)


@fails("chemistry.sandwich")
def lacquer_enamel_lacquer() -> JobBuilder:
    return stack(LACQUER, replace(ENAMEL, id="between", duty=Duty.SEALER), LACQUER)


@passes("chemistry.sandwich")
def lacquer_and_enamel() -> JobBuilder:
    return stack(LACQUER, ENAMEL)


@fails("chemistry.only-over")
def made_for_another_undercoat() -> JobBuilder:
    return stack(SEALER, replace(COLOUR, only_over=(EPOXY.id,)))


@fails("chemistry.only-over")
def nothing_under_it_at_all() -> JobBuilder:
    return stack(replace(COLOUR, only_over=(EPOXY.id,)))


@passes("chemistry.only-over")
def over_the_undercoat_it_is_made_for() -> JobBuilder:
    return stack(EPOXY, replace(COLOUR, only_over=(SEALER.id, EPOXY.id)))


@fails("chemistry.solvent-over-waterborne")
def urethane_over_wet_waterborne() -> JobBuilder:
    return sprayed(WATERBORNE, URETHANE, minutes=30)


@fails("chemistry.solvent-over-waterborne")
def urethane_went_over_wet_waterborne() -> JobBuilder:
    return covered(WATERBORNE, URETHANE, minutes=30).wait(days=3)


@passes("chemistry.solvent-over-waterborne")
def urethane_over_dry_waterborne() -> JobBuilder:
    return sprayed(WATERBORNE, URETHANE, hours=2)


@passes("chemistry.solvent-over-waterborne")
def waterborne_over_waterborne() -> JobBuilder:
    return sprayed(WATERBORNE, replace(WATERBORNE, id="second"), minutes=30)


@fails("chemistry.uv-over-wet")
def a_lamp_half_an_hour_after_the_metallic() -> JobBuilder:
    return sprayed(METALLIC, UV_CLEAR, minutes=30)


@passes("chemistry.uv-over-wet")
def a_lamp_after_an_hour() -> JobBuilder:
    return sprayed(METALLIC, UV_CLEAR, hours=1)


@passes("chemistry.uv-over-wet")
def a_lamp_over_what_a_lamp_has_cured() -> JobBuilder:
    return sprayed(UV_CLEAR, replace(UV_CLEAR, id="second"), minutes=1)


@fails("chemistry.epoxy-closed")
def an_epoxy_of_last_week() -> JobBuilder:
    return sprayed(EPOXY, COLOUR, hours=80)


@fails("chemistry.epoxy-closed")
def an_epoxy_whose_card_gives_no_end() -> JobBuilder:
    return sprayed(OPEN_EPOXY, COLOUR, days=8)


@passes("chemistry.epoxy-closed")
def an_epoxy_within_its_days() -> JobBuilder:
    return sprayed(EPOXY, COLOUR, hours=70)


@passes("chemistry.epoxy-closed")
def an_old_epoxy_sanded() -> JobBuilder:
    return sprayed(OPEN_EPOXY, COLOUR, days=8).prep("abrade", "degrease")


def blushed() -> JobBuilder:
    """An epoxy on in a cold, damp shop, and the colour due a day later."""
    return sprayed(EPOXY, COLOUR, hours=1).read_air(8.0, 80.0).wait(hours=20)


@fails("chemistry.amine-blush")
def an_epoxy_that_hardened_in_the_cold() -> JobBuilder:
    return blushed()


@fails("chemistry.amine-blush")
def the_colour_went_on_the_bloom() -> JobBuilder:
    return blushed().coat("b", mix=None)


@passes("chemistry.amine-blush")
def the_bloom_was_washed_off() -> JobBuilder:
    return blushed().prep("wash", "scuff")


@passes("chemistry.amine-blush")
def an_epoxy_that_hardened_in_the_warm() -> JobBuilder:
    return sprayed(EPOXY, COLOUR, hours=1).read_air(20.0, 60.0).wait(hours=20)


@passes("chemistry.amine-blush")
def a_damp_night_two_days_later() -> JobBuilder:
    return sprayed(EPOXY, COLOUR, hours=48).read_air(8.0, 90.0)
