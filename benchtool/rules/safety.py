"""Safety: what can hurt at the step that is next, said once, and only where the record says that it is the step.

The standing cautions for what a card names lie in resources/cautions.json; these are for what no card names.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.cards import Card, CardTime, Carrier, Chemistry, Duty, Hazard
from benchtool.job.events import Prep, Shape
from benchtool.job.state import LayerState, PieceState
from benchtool.rules.finding import Facts, Family, Finding, Severity, key
from benchtool.trade.saying import say
from benchtool.trade.substrates import Nature

FAMILY = Family("safety")

RAGS = timedelta(hours=24)
"""Oily rags take hours to heat up; after a day they have burnt, dried or been emptied (29 CFR 1910.106: each day)."""

LAMP = timedelta(hours=2)
"""So long after a coat its curing by a lamp is what comes next (judgement)."""

FLASHES = timedelta(minutes=15)
"""How long a coat gives off most of its solvent where its card gives no flash (judgement)."""

_ABRADED = frozenset({Prep.ABRADE, Prep.SCUFF, Prep.STRIP})
_CLEANED = frozenset({Prep.WASH, Prep.RELEASE_WASH, Prep.DEGREASE, Prep.ABRADE, Prep.SCUFF})


def _defer(words: str) -> str:
    """End with what goes before any of this."""
    return say("{words} The safety data sheet, local rules and licensed practice decide.", words=words)


def _note(rule: str, piece: str, layer: LayerState | None, message: str, remedy: str, *places: object) -> Finding:
    return Finding(
        rule=rule,
        severity=Severity.NOTE,
        piece=piece,
        layer=layer.id if layer is not None else None,
        message=message,
        remedy=_defer(remedy),
        key=key(rule, *places),
    )


def _top(piece: PieceState) -> tuple[LayerState, Card, datetime] | None:
    """Give the paint that is on top, with its card and when its last coat was done; None while it is sprayed."""
    top = piece.top
    last = top.last_done if top is not None and top.open_coat is None else None
    if top is None or last is None or last.card is None or last.done_at is None:
        return None
    return top, last.card, last.done_at


@FAMILY.rule(
    "isocyanates-not-named",
    Severity.NOTE,
    timed=False,
    title="Urethane card that names no isocyanates",
    reason="Two-part urethanes nearly always harden by isocyanates, which can give you asthma for life.",
    source="NIOSH publication 96-111; UK HSE guidance on isocyanate paint in vehicle body shops",
    remedy="Look at its safety data sheet; until it says none, air-supplied mask and gloves all the same. That sheet, "
    "local rules and licensed practice decide.",
)
def isocyanates_not_named(facts: Facts) -> Iterator[Finding]:
    """A two-part urethane is still to be sprayed, and its card names no isocyanates."""
    told = set()
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or layer.finished or card.id in told:
            continue
        if card.two_part and card.chemistry is Chemistry.URETHANE and Hazard.ISOCYANATES not in card.hazards:
            told.add(card.id)
            yield _note(
                "safety.isocyanates-not-named",
                piece.id,
                layer,
                say("{card} is a two-part urethane, and its card names no isocyanates.", card=card.name),
                say("Look at its safety data sheet; until it says none, air-supplied mask and gloves all the same."),
                card.id,
            )


@FAMILY.rule(
    "old-paint-dust",
    Severity.NOTE,
    timed=False,
    title="Old paint that may hold lead or chromate",
    reason="Old paint may hold lead or chromate, and its dust goes home on clothes to children.",
    source="29 CFR 1910.1025 and 1926.62 (lead), 29 CFR 1910.1026 (chromium VI)",
    remedy="Test it before you sand or strip it; keep it wet, no blowing off, fitted dust respirator. The safety data "
    "sheet, local rules and licensed practice decide.",
)
def old_paint_dust(facts: Facts) -> Iterator[Finding]:
    """The piece carries old paint that may hold lead, and neither abrading nor a coat is logged yet."""
    for piece in facts.state.pieces.values():
        if Nature.MAY_HOLD_LEAD not in facts.tables.substrate_of(piece.piece).natures or piece.top is not None:
            continue
        if any(s.step in _ABRADED for s in piece.steps):
            continue
        yield _note(
            "safety.old-paint-dust",
            piece.id,
            None,
            say("The old paint on {piece} may hold lead or chromate.", piece=piece.piece.name),
            say("Test it before you sand or strip it; keep it wet, no blowing off, fitted dust respirator."),
            piece.id,
        )


@FAMILY.rule(
    "chromate-dust",
    Severity.NOTE,
    timed=False,
    title="Bare primer that holds chromate",
    reason="Chromate causes cancer of the lung, and sanding a primer that holds it sets it free.",
    source="29 CFR 1910.1026; OSHA publication 3373 (no dry sweeping, no compressed air; filtered vacuum or wet)",
    remedy="Leave it unsanded if its window allows; else wet only, fitted respirator, wipe up and bag the sludge. The "
    "safety data sheet, local rules and licensed practice decide.",
)
def chromate_dust(facts: Facts) -> Iterator[Finding]:
    """A primer that holds chromate lies bare, and is what would be sanded or scuffed next."""
    for piece in facts.state.pieces.values():
        top = _top(piece)
        if top is None or Hazard.CHROMATE not in top[1].hazards or not top[0].finished:
            continue
        if piece.current is None and top[1].duty is not Duty.PRIMER:
            continue
        yield _note(
            "safety.chromate-dust",
            piece.id,
            top[0],
            say("{layer} lies bare and holds chromate.", layer=facts.state.layer_name(top[0])),
            say(
                "Leave it unsanded if its window allows; else wet only, fitted respirator, wipe up and bag the sludge."
            ),
            top[0].id,
        )


@FAMILY.rule(
    "uv-lamp",
    Severity.NOTE,
    title="Lamp that burns eyes and skin",
    reason="The light that cures paint burns eyes and skin, and is not felt until hours later.",
    source="NIOSH publication 73-11005 (eyes 4 to 8 hours after; shields, clothing, screens)",
    remedy="Face shield and covered skin for all in sight of the lamp; never look into it. The safety data sheet, "
    "local rules and licensed practice decide.",
)
def uv_lamp(facts: Facts) -> Iterator[Finding]:
    """A coat that a lamp cures was just put on, and its card names no lamp."""
    for piece in facts.state.pieces.values():
        top = _top(piece)
        if top is None or top[1].chemistry is not Chemistry.UV or Hazard.UV_LAMP in top[1].hazards:
            continue
        if facts.now - top[2] <= LAMP:
            yield _note(
                "safety.uv-lamp",
                piece.id,
                top[0],
                say("{layer} is cured by a lamp.", layer=facts.state.layer_name(top[0])),
                say("Face shield and covered skin for all in sight of the lamp; never look into it."),
                top[0].id,
            )


@FAMILY.rule(
    "oily-rags",
    Severity.NOTE,
    title="Oily rags that heat themselves",
    reason="Enamel and oil take up oxygen as they dry; a heap of rags with them heats itself until it burns.",
    source="National Fire Protection Association, on rags with oil-based finishes (from memory); 29 CFR 1910.106",
    remedy="Lay them out flat outdoors, or put them under water in a metal can with a lid, today. The safety data "
    "sheet, local rules and licensed practice decide.",
)
def oily_rags(facts: Facts) -> Iterator[Finding]:
    """An enamel was sprayed within the last day, and its card names no oily rags."""
    newest: dict[str, tuple[datetime, PieceState, LayerState, Card]] = {}
    for piece, layer in facts.layers():
        last = layer.coats[-1] if layer.coats else None
        if last is None or last.card is None or last.card.chemistry is not Chemistry.ENAMEL:
            continue
        if Hazard.OILY_RAGS not in last.card.hazards and last.card.id not in newest:
            newest[last.card.id] = (last.started_at, piece, layer, last.card)
    for at, piece, layer, card in newest.values():
        if facts.now - at < RAGS:
            yield _note(
                "safety.oily-rags",
                piece.id,
                layer,
                say("Rags with {card} on them heat themselves.", card=card.name),
                say("Lay them out flat outdoors, or put them under water in a metal can with a lid, today."),
                card.id,
            )


@FAMILY.rule(
    "heat-and-vapour",
    Severity.NOTE,
    title="Heat on a coat that gives off solvent",
    reason="Solvent leaves a fresh coat by the litre of vapour; a glowing heater or a spark lights it.",
    source="29 CFR 1910.107 (ignition sources; drying apart from spraying), 1910.94(c) (25 % of the lower limit)",
    remedy="No glowing heater, flame or spark near it; extraction on until it has flashed. The safety data sheet, "
    "local rules and licensed practice decide.",
)
def heat_and_vapour(facts: Facts) -> Iterator[Finding]:
    """A heater is on a piece whose last coat is wet with solvent."""
    for piece in facts.state.pieces.values():
        top, heated = piece.top, piece.heat.on
        coat = top.coats[-1] if top is not None else None
        if top is None or heated is None or coat is None or coat.card is None or not _gives_off_vapour(coat.card):
            continue
        until = None
        if coat.done_at is not None:
            wait = coat.card.flash or FLASHES
            until = facts.state.air.ends(coat.done_at, wait, coat.card, CardTime.FLASH)
        if until is not None and facts.now >= until:
            continue
        yield Finding(
            rule="safety.heat-and-vapour",
            severity=Severity.NOTE,
            piece=piece.id,
            layer=top.id,
            message=say("Heat is on {piece} while solvent leaves it.", piece=piece.piece.name),
            remedy=_defer(say("No glowing heater, flame or spark near it; extraction on until it has flashed.")),
            key=key("safety.heat-and-vapour", top.id, coat.number),
        )


def _gives_off_vapour(card: Card) -> bool:
    return card.carrier is Carrier.SOLVENT or (card.carrier is None and Hazard.SOLVENT in card.hazards)


@FAMILY.rule(
    "compressed-air",
    Severity.NOTE,
    timed=False,
    title="Compressed air into deep nooks",
    reason="Compressed air blows dust and solvent out of a nook into eyes, and through skin into blood.",
    source="29 CFR 1910.242(b) (under 30 psi, 2 bar, with chip guard and eye protection; never at people or clothes)",
    remedy="Goggles, under 2 bar (30 psi) at the nozzle, never towards anyone; let solvent flash off first. The "
    "safety data sheet, local rules and licensed practice decide.",
)
def compressed_air(facts: Facts) -> Iterator[Finding]:
    """A piece with deep nooks was just washed, degreased or sanded, and is to be blown out."""
    for piece in facts.state.pieces.values():
        last = piece.steps[-1].step if piece.steps else None
        if Shape.NOOKS not in piece.piece.shape or last not in _CLEANED or piece.top is not None:
            continue
        yield _note(
            "safety.compressed-air",
            piece.id,
            None,
            say("If you blow out the nooks of {piece}, mind your eyes and skin.", piece=piece.piece.name),
            say("Goggles, under 2 bar (30 psi) at the nozzle, never towards anyone; let solvent flash off first."),
            piece.id,
        )
