"""Film: how thick it gets, whether it bends with the piece, and whether a lamp reaches through it."""

from collections.abc import Iterator

from benchtool.job.cards import Card, Chemistry, Duty, Trait
from benchtool.job.films import coat_um, layer_um, least_um
from benchtool.job.state import LayerState, PieceState, State
from benchtool.rules.finding import PRACTICE, SHEET, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex, Suits

FAMILY = Family("film")

FLEXIBLE_MOST_UM = 200.0
"""More dry film than this on a part that bends tends to crack (um; 8 mil; common practice, no source)."""

RIGID_MOST_UM = 300.0
"""More dry film than this tends to check (um; car refinishing draws the line at 10 to 12 mil in all: trade press)."""

THIN, THICK = 0.8, 1.5
"""A film under 80 % of what is asked for is thin (the slack of SSPC-PA 2, restriction level 3: from memory); a coat of
more than half as much again is heavy (judgement)."""

LAMP_REACHES_UM = 100.0
"""A coat that a lamp cures, where its card gives no film (um; doses are usually told for 100 to 200: trade press)."""

LAMP_SLACK = 1.2
"""So much thicker than the film of its card a coat may be before the lamp is doubted (judgement)."""

LAMP_REACHES_DARK_UM = 25.0
"""A dark coat that a lamp cures through (um; common practice, no source)."""

DARK = 0.05
"""The relative luminance (WCAG 2) under which a colour counts as dark (judgement)."""


def _bends(state: State, layer: LayerState) -> bool:
    """Say whether a layer is made to bend, by itself or by what is mixed into it."""
    card = state.card_of(layer)
    if card is None:
        return False
    added = (card.additive(a) for a in layer.plan.additives)
    activator = state.activator_of(layer)
    suits = [a.suits for a in added if a is not None] + ([activator.suits] if activator is not None else [])
    return Trait.FLEXIBLE in card.traits or Suits.FLEXIBLE in suits


def _has(state: State, layer: LayerState, trait: Trait) -> bool:
    card = state.card_of(layer)
    return card is not None and trait in card.traits


def _is_filler(state: State, layer: LayerState) -> bool:
    card = state.card_of(layer)
    return card is not None and card.duty is Duty.FILLER


def _total(state: State, piece: PieceState) -> float:
    """Give the dry film of a piece as far as it is known (um), without what is made to bend, or to fill."""
    bends = piece.piece.flex is Flex.FLEXIBLE
    counted = (x for x in piece.layers if not (_bends(state, x) if bends else _is_filler(state, x)))
    return sum(um for x in counted if (um := layer_um(state, x)) is not None)


@FAMILY.rule(
    "too-much-on-flexible",
    Severity.CAUTION,
    timed=False,
    title="Too much film on a part that bends",
    reason="The thicker a film, the more its face must stretch when the part bends: a thick one cracks.",
    source=PRACTICE,
    remedy="Plan fewer or lighter coats, or products and additives that are made to bend.",
)
def too_much_on_flexible(facts: Facts) -> Iterator[Finding]:
    """More film is planned on a part that bends than it can carry."""
    for piece in facts.state.pieces.values():
        total = _total(facts.state, piece) if piece.piece.flex is Flex.FLEXIBLE else 0.0
        if total > FLEXIBLE_MOST_UM + 1e-6:
            yield Finding(
                rule="film.too-much-on-flexible",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=piece.layers[-1].id,
                message=_too_much(facts.state, piece, total),
                remedy=say("Plan fewer or lighter coats, or products and additives that are made to bend."),
                key=key("film.too-much-on-flexible", piece.id),
                cause=cause(Cause.FILM, piece.id),
            )  # fmt: skip


def _too_much(state: State, piece: PieceState, total: float) -> str:
    """Say how much film is too much, and of how much in all, where some of it is made to bend."""
    whole = least_um(state, piece)
    told = {"total": figure(total), "whole": figure(whole), "piece": piece.piece.name, "most": figure(FLEXIBLE_MOST_UM)}
    if whole <= total:
        return say("{total} µm of film on {piece}, which bends: over about {most} µm it tends to crack.", **told)
    return say(
        "{total} of the {whole} µm of film on {piece} are not made to bend: over about {most} µm they tend to crack "
        "when it bends.",
        **told,
    )


@FAMILY.rule(
    "total-thick",
    Severity.NOTE,
    timed=False,
    title="Film too thick in all",
    reason="A film that is thick in all shrinks more as it hardens than it can bear, and checks like crow's feet.",
    source="trade press on car refinishing (10 to 12 mil, 250 to 300 µm, in all before it is stripped)",
    remedy="Keep the coats light, give each layer its full time, or sand back between them.",
)
def total_thick(facts: Facts) -> Iterator[Finding]:
    """More film is planned on a rigid piece than usually holds, fillers not counted."""
    for piece in facts.state.pieces.values():
        total = _total(facts.state, piece) if piece.piece.flex is Flex.RIGID else 0.0
        if total > RIGID_MOST_UM + 1e-6:
            yield Finding(
                rule="film.total-thick",
                severity=Severity.NOTE,
                piece=piece.id,
                layer=piece.layers[-1].id,
                message=say(
                    "{total} µm of film on {piece} in all; over about {most:g} µm it may check in time.",
                    total=figure(total), piece=piece.piece.name, most=RIGID_MOST_UM,
                ),
                remedy=say("Keep the coats light, give each layer its full time, or sand back between them."),
                key=key("film.total-thick", piece.id),
                cause=cause(Cause.FILM, piece.id),
            )  # fmt: skip


@FAMILY.rule(
    "brittle-on-flexible",
    Severity.CAUTION,
    timed=False,
    title="Film that does not bend on a part that does",
    reason="A filler, or any film that does not bend, cracks on a part that does, and takes all that is over it along.",
    source=PRACTICE,
    remedy="Take one that is made for flexible parts, or an additive that keeps it flexible. Where it is on already, "
    "take it off again.",
)
def brittle_on_flexible(facts: Facts) -> Iterator[Finding]:
    """A brittle product or a filler is planned on a part that bends."""
    for piece, layer in facts.layers():
        if piece.piece.flex is not Flex.FLEXIBLE or _bends(facts.state, layer):
            continue
        if _has(facts.state, layer, Trait.BRITTLE) or _is_filler(facts.state, layer):
            yield Finding(
                rule="film.brittle-on-flexible",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=say(
                    "{layer} does not bend, and {piece} does: it cracks when that is bent.",
                    layer=facts.state.layer_name(layer), piece=piece.piece.name,
                ),
                remedy=say("Take it off again, and use one that is made for flexible parts.")
                if layer.started
                else say("Take one that is made for flexible parts, or an additive that keeps it flexible."),
                key=key("film.brittle-on-flexible", layer.id),
                cause=cause(Cause.FLEX, layer.id),
            )  # fmt: skip


@FAMILY.rule(
    "over-most",
    Severity.CAUTION,
    timed=False,
    title="Layer thicker than its card allows",
    reason="Over the thickest film that its sheet allows a layer stays soft, cracks, or does not cure through.",
    source=SHEET,
    remedy="Plan fewer coats of it, or lighter ones. Where it is on already, let it harden much longer, or sand it "
    "back, before anything goes over it.",
)
def over_most(facts: Facts) -> Iterator[Finding]:
    """A layer is, or will be, thicker than its card allows."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        total = layer_um(facts.state, layer) if card is not None and card.film_most_um is not None else None
        if card is None or card.film_most_um is None or total is None or total <= card.film_most_um * (1 + 1e-9):
            continue
        values = {"layer": facts.state.layer_name(layer), "total": figure(total), "most": figure(card.film_most_um)}
        yield Finding(
            rule="film.over-most",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say("{layer} is {total} µm thick; its card allows {most} µm.", **values)
            if layer.finished
            else say("{layer} comes to {total} µm; its card allows {most} µm.", **values),
            remedy=say("Let it harden much longer, or sand it back, before anything goes over it.")
            if layer.finished
            else say("Plan fewer coats of it, or lighter ones."),
            key=key("film.over-most", layer.id),
            cause=cause(Cause.FILM, layer.id),
        )


@FAMILY.rule(
    "thin",
    Severity.CAUTION,
    timed=False,
    title="Layer thinner than its card asks for",
    reason="Too thin a film does not hide, protect, or stand being sanded.",
    source="the product card; a spot of 80 % still passes by SSPC-PA 2 (from memory)",
    remedy="Put another coat of it on while its window is open.",
)
def thin(facts: Facts) -> Iterator[Finding]:
    """A finished layer was measured thinner than its card asks for."""
    for piece, layer in facts.layers():
        card = layer.coats[-1].card if layer.finished and layer.film is not None else None
        total = layer_um(facts.state, layer) if card is not None and card.film_um is not None else None
        if card is None or card.film_um is None or total is None:
            continue
        asked = card.film_um * card.coats_least
        if total < THIN * asked:
            yield Finding(
                rule="film.thin",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=say(
                    "{layer} is {total} µm thick; its card asks for {asked} µm.",
                    layer=facts.state.layer_name(layer), total=figure(total), asked=figure(asked),
                ),
                remedy=say("Put another coat of it on while its window is open."),
                key=key("film.thin", layer.id),
                cause=cause(Cause.FILM, layer.id),
            )  # fmt: skip


@FAMILY.rule(
    "heavy-coat",
    Severity.CAUTION,
    timed=False,
    title="A coat far too heavy",
    reason="A heavy coat skins over and holds its solvent in: it pops, wrinkles, or stays soft underneath.",
    source="the product card; how much is too much: common practice, no source",
    remedy="Give it much longer than the card says, without heat, and spray the next one lighter.",
)
def heavy_coat(facts: Facts) -> Iterator[Finding]:
    """A coat was measured far thicker than its card asks for."""
    for piece, layer in facts.layers():
        card = layer.coats[-1].card if layer.coats else None
        if card is None or card.film_um is None or layer.film is None or layer.film.um <= THICK * card.film_um:
            continue
        yield Finding(
            rule="film.heavy-coat",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "A coat of {layer} is {um} µm thick where its card asks for {asked} µm.",
                layer=facts.state.layer_name(layer), um=figure(layer.film.um), asked=figure(card.film_um),
            ),
            remedy=say("Give it much longer than the card says, without heat, and spray the next one lighter."),
            key=key("film.heavy-coat", layer.id),
            cause=cause(Cause.FILM, layer.id),
        )  # fmt: skip


@FAMILY.rule(
    "uv-thick",
    Severity.CAUTION,
    timed=False,
    title="Too thick for the lamp",
    reason="Light fades on its way through a film: under a thick one the lamp leaves it soft, and it peels.",
    source="the law of Beer and Lambert; the product card, else trade press on doses (told for 100 to 200 µm)",
    remedy="Cure it thinner, coat by coat, and longer; prove on a strip that the bottom is hard.",
)
def uv_thick(facts: Facts) -> Iterator[Finding]:
    """A coat that a lamp cures is thicker than the lamp reaches."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or card.chemistry is not Chemistry.UV:
            continue
        limit = card.film_um * LAMP_SLACK if card.film_um is not None else LAMP_REACHES_UM
        thickest = max((um for um in coat_um(layer, card) if um is not None), default=0.0)
        if thickest > limit:
            yield Finding(
                rule="film.uv-thick",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=say(
                    "A coat of {layer} is {um} µm thick: the lamp may not cure it down to the bottom.",
                    layer=facts.state.layer_name(layer), um=figure(thickest),
                ),
                remedy=say("Cure it thinner, coat by coat, and longer; prove on a strip that the bottom is hard."),
                key=key("film.uv-thick", layer.id),
                cause=cause(Cause.FILM, layer.id),
            )  # fmt: skip


@FAMILY.rule(
    "uv-dark",
    Severity.CAUTION,
    timed=False,
    title="Too dark for the lamp",
    reason="A dark or dense colour swallows the light that should cure it before it is through.",
    source="the law of Beer and Lambert; how thin is thin enough: common practice, no source",
    remedy="Keep each coat thin and cure each; prove on a strip that it is hard through.",
)
def uv_dark(facts: Facts) -> Iterator[Finding]:
    """A dark colour that a lamp cures goes on in more than a thin coat."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or card.chemistry is not Chemistry.UV or not _is_dark(layer, card):
            continue
        films = coat_um(layer, card)
        if films and all(um is not None and um <= LAMP_REACHES_DARK_UM for um in films):
            continue
        yield Finding(
            rule="film.uv-dark",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "{layer} is dark and cured by a lamp: it hardens on top and may stay soft below.",
                layer=facts.state.layer_name(layer),
            ),
            remedy=say(
                "Keep each coat under about {most:g} µm and cure each; prove on a strip that it is hard through.",
                most=LAMP_REACHES_DARK_UM,
            ),
            key=key("film.uv-dark", layer.id),
            cause=cause(Cause.FILM, layer.id),
        )


def _is_dark(layer: LayerState, card: Card) -> bool:
    """Say whether the film is dark, by its card or by the colour the painter chose; a clear has none of its own."""
    if Trait.DARK in card.traits:
        return True
    return card.duty is not Duty.CLEAR and layer.plan.colour is not None and luminance(layer.plan.colour) < DARK


def luminance(colour: str) -> float:
    """Give the relative luminance of `#rrggbb`, 0 (black) to 1 (white).

    Source: WCAG 2, relative luminance (sRGB, IEC 61966-2-1).
    """
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
