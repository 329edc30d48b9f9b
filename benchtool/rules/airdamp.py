"""Air that is too damp, too cold or too hot for a kind of paint whose card gives no limit for it."""

from collections.abc import Iterator

from benchtool.job.cards import Card, Carrier, Chemistry, Hazard
from benchtool.rules.airnow import in_force, next_up, of_next_coat, readings_of
from benchtool.rules.finding import PRACTICE, Facts, Family, Finding, Severity
from benchtool.trade.air import Air
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say

FAMILY = Family("air")

DAMP_PERCENT = 85.0
"""The usual most for painting (relative humidity, beside ISO 8502-4)."""

COLD_DEGC = 10.0
"""Under this dispersions in water do not run together, and two-part paint hardly cures (common practice, no source)."""

HOT_DEGC = 35.0
"""Over this a spray dries on its way to the piece (common practice, no source)."""


def _limits(card: Card) -> tuple[bool, bool, bool]:
    """Say whether the card itself gives a most humidity, a least and a most temperature: then that counts."""
    air = card.air
    if air is None:
        return False, False, False
    return air.most_percent is not None, air.least_degC is not None, air.most_degC is not None


def _film_degC(air: Air) -> float:
    return air.air_degC if air.surface_degC is None else min(air.air_degC, air.surface_degC)


@FAMILY.rule(
    "waterborne-damp",
    Severity.CAUTION,
    title="Air too damp for waterborne paint",
    reason="Water leaves a film only as fast as the air takes it up; near saturation it stays, and the paint runs.",
    source="85 % as the usual most: practice beside ISO 8502-4; the drying of water by Dalton's law",
    remedy="Dry or move the air, or wait; each coat must be dull before the next.",
)
def waterborne_damp(facts: Facts) -> Iterator[Finding]:
    """A waterborne product is next, the air is over 85 % humidity, and its card gives no limit."""
    now = in_force(readings_of(facts), facts.now)
    if now is None or now[1].humidity_percent <= DAMP_PERCENT:
        return
    for piece, layer, card in next_up(facts):
        if card.carrier is Carrier.WATER and not _limits(card)[0]:
            yield of_next_coat(
                "air.waterborne-damp",
                piece,
                layer,
                message=say(
                    "{percent} % humidity: the water of {card} hardly leaves over {most:g} %.",
                    percent=figure(now[1].humidity_percent), card=card.name, most=DAMP_PERCENT,
                ),
                remedy=say("Dry or move the air, or wait; each coat must be dull before the next."),
            )  # fmt: skip


@FAMILY.rule(
    "hardener-damp",
    Severity.CAUTION,
    title="Air too damp for the hardener",
    reason="Isocyanates take water as gladly as paint: in very damp air they foam, lose gloss and cure soft.",
    source="85 % as the usual most: practice beside ISO 8502-4; the reaction of isocyanates with water: trade press",
    remedy="Dry the air or wait; keep the hardener closed, and look for bubbles and loss of gloss.",
)
def hardener_damp(facts: Facts) -> Iterator[Finding]:
    """A product that hardens by isocyanates is next, the air is over 85 % humidity, and its card gives no limit."""
    now = in_force(readings_of(facts), facts.now)
    if now is None or now[1].humidity_percent <= DAMP_PERCENT:
        return
    for piece, layer, card in next_up(facts):
        if card.two_part and Hazard.ISOCYANATES in card.hazards and not _limits(card)[0]:
            yield of_next_coat(
                "air.hardener-damp",
                piece,
                layer,
                message=say(
                    "{percent} % humidity: over {most:g} % the hardener of {card} takes up water from the air.",
                    percent=figure(now[1].humidity_percent), card=card.name, most=DAMP_PERCENT,
                ),
                remedy=say("Dry the air or wait; keep the hardener closed, and look for bubbles and loss of gloss."),
            )  # fmt: skip


@FAMILY.rule(
    "too-cold",
    Severity.CAUTION,
    title="Too cold to harden well",
    reason="In the cold the grains of a waterborne paint do not run together, and a hardener goes to sleep.",
    source="least film-forming temperature: Pigment & Resin Technology 27 (1998) 173; 10 °C is common practice",
    remedy="Warm shop, piece and paint, and keep them warm until it is hard. No open flame.",
)
def too_cold(facts: Facts) -> Iterator[Finding]:
    """A waterborne or two-part product is next, it is under 10 °C, and its card gives no limit."""
    now = in_force(readings_of(facts), facts.now)
    if now is None or _film_degC(now[1]) >= COLD_DEGC:
        return
    for piece, layer, card in next_up(facts):
        sets = card.two_part and card.chemistry in (Chemistry.EPOXY, Chemistry.URETHANE, Chemistry.POLYESTER)
        if (card.carrier is Carrier.WATER or sets) and not _limits(card)[1]:
            yield of_next_coat(
                "air.too-cold",
                piece,
                layer,
                message=say(
                    "{degC} °C is cold for {card}: under about {least:g} °C it may never harden well.",
                    degC=figure(_film_degC(now[1])), card=card.name, least=COLD_DEGC,
                ),
                remedy=say("Warm shop, piece and paint, and keep them warm until it is hard. No open flame."),
            )  # fmt: skip


@FAMILY.rule(
    "too-hot",
    Severity.NOTE,
    title="Too hot to spray",
    reason="In the heat a spray half dries on its way: it lies rough, does not flow, and holds badly.",
    source=PRACTICE,
    remedy="Let the piece cool, take the slow reducer if the card allows one, or spray in the evening.",
)
def too_hot(facts: Facts) -> Iterator[Finding]:
    """Air or piece is over 35 °C where the next coat goes on, and its card gives no limit."""
    now = in_force(readings_of(facts), facts.now)
    hottest = max(now[1].air_degC, now[1].surface_degC or now[1].air_degC) if now is not None else 0.0
    if hottest <= HOT_DEGC:
        return
    for piece, layer, card in next_up(facts):
        if not _limits(card)[2] and card.chemistry is not Chemistry.UV:
            yield of_next_coat(
                "air.too-hot",
                piece,
                layer,
                message=say("{degC} °C is hot for spraying: it dries before it can flow.", degC=figure(hottest)),
                remedy=say(
                    "Let the piece cool, take the slow reducer if the card allows one, or spray in the evening."
                ),
                severity=Severity.NOTE,
            )
