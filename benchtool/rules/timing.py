"""Timing: every wait held, every deadline kept. Each rule looks at what may come now and at what was done."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.events import Face, Prep
from benchtool.job.state import LayerState, Mix, PieceState
from benchtool.job.windows import pot_life_span, recoat_span, stand_span
from benchtool.rules.finding import PRACTICE, SHEET, Facts, Family, Finding, Severity, key
from benchtool.trade.mixing import PartKind
from benchtool.trade.numbers import clock_words, span_words

FAMILY = Family("timing")


def _left(until: datetime, now: datetime) -> str:
    return clock_words((until - now).total_seconds())


def _next_coats(facts: Facts) -> Iterator[tuple[PieceState, LayerState, Mix | None]]:
    """Walk over the layer that each piece takes next, where no coat is being sprayed, with its cup."""
    for piece in facts.state.pieces.values():
        layer = piece.current
        if layer is not None and layer.open_coat is None:
            yield piece, layer, facts.state.mix_for(layer)


@FAMILY.rule(
    "stand",
    Severity.STOP,
    reason="The activator needs its stand time to start the reaction; sprayed too soon, the film cures unevenly.",
    source=SHEET,
)
def stand(facts: Facts) -> Iterator[Finding]:
    """The cup has not stood long enough, or was sprayed before it had."""
    for piece, layer, mix in _next_coats(facts):
        card = facts.state.cards.get(mix.made.card) if mix is not None else None
        if mix is None or card is None:
            continue
        running = stand_span(card, mix)
        rule_key = key("timing.stand", mix.id, layer.id)
        if running is not None and facts.now < running[0].opens_at:
            yield Finding(
                rule="timing.stand",
                severity=Severity.STOP,
                piece=piece.id,
                layer=layer.id,
                message=f"{card.name} must stand {_left(running[0].opens_at, facts.now)} more before you {running[1]}.",
                remedy="Cover the cup and wait.",
                key=rule_key,
                clears_at=running[0].opens_at,
                forbids_coat=True,
            )
        elif running is None and mix.poured_mL and card.stand is not None and mix.has(PartKind.ACTIVATOR):
            yield Finding(
                rule="timing.stand",
                severity=Severity.STOP,
                piece=piece.id,
                layer=layer.id,
                message=f"{card.name} must stand {span_words(card.stand.total_seconds())} after stirring, and no "
                "stirring is logged.",
                remedy="Stir it and log that; the stand time counts from there.",
                key=rule_key,
                forbids_coat=True,
            )
    for piece, layer in facts.layers():
        for coat in layer.coats[:1]:
            used = facts.state.mixes.get(coat.mix or "")
            card = facts.state.cards.get(used.made.card) if used is not None else None
            running = stand_span(card, used) if card is not None and used is not None else None
            if used is None or running is None or coat.started_at >= running[0].opens_at:
                continue
            yield Finding(
                rule="timing.stand",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=f"Coat 1 of {facts.state.layer_name(layer)} went on "
                f"{_left(running[0].opens_at, coat.started_at)} before its stand time was over.",
                remedy="Watch this layer: test it for tack and adhesion before you go on.",
                key=key("timing.stand", used.id, layer.id),
            )


@FAMILY.rule(
    "pot-life",
    Severity.STOP,
    reason="Past its pot life a mix has begun to set: it sprays rough, bonds badly, and hardens in the gun.",
    source=SHEET,
)
def pot_life(facts: Facts) -> Iterator[Finding]:
    """The cup is past its pot life, too near it for the coats left, or was sprayed past it."""
    for piece, layer, mix in _next_coats(facts):
        card = facts.state.cards.get(mix.made.card) if mix is not None else None
        span = pot_life_span(card, mix) if card is not None and mix is not None else None
        if mix is None or card is None or span is None or span.closes_at is None:
            continue
        rule_key = key("timing.pot-life", mix.id, layer.id)
        if facts.now >= span.closes_at:
            over = span_words((facts.now - span.closes_at).total_seconds())
            yield Finding(
                rule="timing.pot-life",
                severity=Severity.STOP,
                piece=piece.id,
                layer=layer.id,
                message=f"The pot life of this {card.name} ended {over} ago.",
                remedy="Empty the cup, clean the gun and mix fresh.",
                key=rule_key,
                forbids_coat=True,
            )
            continue
        last = layer.last_done
        flash = card.flash or timedelta(0)
        first = facts.now if last is None or last.done_at is None else max(facts.now, last.done_at + flash)
        coats_left = max(1, layer.plan.coats - layer.coats_done)
        if first + flash * (coats_left - 1) > span.closes_at and last is not None:
            yield Finding(
                rule="timing.pot-life",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=f"{coats_left} coats with their flash take longer than the {_left(span.closes_at, facts.now)} "
                "this cup has left.",
                remedy="Plan a fresh cup for the last coats.",
                key=key("timing.pot-life-short", mix.id, layer.id),
            )
    yield from _sprayed_late(facts)


def _sprayed_late(facts: Facts) -> Iterator[Finding]:
    for piece, layer in facts.layers():
        for coat in layer.coats:
            used = facts.state.mixes.get(coat.mix or "")
            card = facts.state.cards.get(used.made.card) if used is not None else None
            span = pot_life_span(card, used) if card is not None and used is not None else None
            if used is None or span is None or span.closes_at is None or coat.started_at < span.closes_at:
                continue
            late = span_words((coat.started_at - span.closes_at).total_seconds())
            yield Finding(
                rule="timing.pot-life",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=f"Coat {coat.number} of {facts.state.layer_name(layer)} was sprayed {late} past the pot life.",
                remedy="Test it for adhesion before anything goes over it.",
                key=key("timing.pot-life", used.id, layer.id),
            )


@FAMILY.rule(
    "flash",
    Severity.STOP,
    reason="A coat over one that has not flashed traps its solvent: it wrinkles, sags or stays soft.",
    source=SHEET,
)
def flash(facts: Facts) -> Iterator[Finding]:
    """The next coat would come before the flash is over, or one did."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or card.flash is None:
            continue
        for coat, following in zip(layer.coats, [*layer.coats[1:], None], strict=True):
            if coat.done_at is None:
                continue
            due = coat.done_at + card.flash
            rule_key = key("timing.flash", layer.id, coat.number + 1)
            n = coat.number + 1
            if following is not None and following.started_at < due:
                gap = clock_words((following.started_at - coat.done_at).total_seconds())
                yield Finding(
                    rule="timing.flash",
                    severity=Severity.CAUTION,
                    piece=piece.id,
                    layer=layer.id,
                    message=f"Coat {n} of {facts.state.layer_name(layer)} went on {gap} after coat {coat.number}; "
                    f"the card asks for {clock_words(card.flash.total_seconds())}.",
                    remedy="Give this layer longer before the next one, and look for wrinkles.",
                    key=rule_key,
                )
            elif following is None and layer is piece.current and facts.now < due:
                yield Finding(
                    rule="timing.flash",
                    severity=Severity.STOP,
                    piece=piece.id,
                    layer=layer.id,
                    message=f"Wait {_left(due, facts.now)} before coat {n} of {facts.state.layer_name(layer)}.",
                    remedy=f"Coat {coat.number} must flash {span_words(card.flash.total_seconds())} first.",
                    key=rule_key,
                    clears_at=due,
                    forbids_coat=True,
                )
            elif following is None and layer is piece.current:
                yield from _flash_late(facts, piece, layer, coat.done_at, n)


def _flash_late(facts: Facts, piece: PieceState, layer: LayerState, done_at: datetime, n: int) -> Iterator[Finding]:
    card = facts.state.card_of(layer)
    if card is None or card.flash_most is None or facts.now < done_at + card.flash_most:
        return
    late = span_words((facts.now - done_at - card.flash_most).total_seconds())
    yield Finding(
        rule="timing.flash",
        severity=Severity.CAUTION,
        piece=piece.id,
        layer=layer.id,
        message=f"Coat {n} of {facts.state.layer_name(layer)} is {late} late for the card.",
        remedy="Look on the sheet whether it may still go on wet on wet; if not, let it harden and scuff.",
        key=key("timing.flash-late", layer.id, n),
    )


@FAMILY.rule(
    "recoat-early",
    Severity.STOP,
    reason="A layer over one that has not opened for recoat can lift, wrinkle or craze it.",
    source=SHEET,
)
def recoat_early(facts: Facts) -> Iterator[Finding]:
    """The next layer would come before the one under it opens, or one did."""
    for piece, layer, under in _layer_over_layer(facts):
        card = facts.state.card_of(under)
        span = recoat_span(card, under) if card is not None else None
        if span is None:
            continue
        rule_key = key("timing.recoat-early", under.id, layer.id)
        below, name = facts.state.layer_name(under), facts.state.layer_name(layer)
        if layer.started and layer.coats[0].started_at < span.opens_at:
            yield Finding(
                rule="timing.recoat-early",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=f"{name} went on {_left(span.opens_at, layer.coats[0].started_at)} before {below} opened "
                "for recoat.",
                remedy="Look for lifting and wrinkles, and let the stack harden fully before you go on.",
                key=rule_key,
            )
        elif not layer.started and layer is piece.current and facts.now < span.opens_at:
            yield Finding(
                rule="timing.recoat-early",
                severity=Severity.STOP,
                piece=piece.id,
                layer=layer.id,
                message=f"Wait {_left(span.opens_at, facts.now)} before {name}: {below} is not ready for it.",
                remedy=f"{below} takes the next layer at its recoat time.",
                key=rule_key,
                clears_at=span.opens_at,
                forbids_coat=True,
            )


@FAMILY.rule(
    "recoat-closed",
    Severity.STOP,
    reason="Past its recoat window a film is too hard to bond by itself; the next layer needs a scuffed face.",
    source=SHEET,
)
def recoat_closed(facts: Facts) -> Iterator[Finding]:
    """The recoat window has closed and nothing was scuffed, or a layer went on so."""
    for piece, layer, under in _layer_over_layer(facts):
        card = facts.state.card_of(under)
        span = recoat_span(card, under) if card is not None else None
        if span is None or span.closes_at is None:
            continue
        moment = layer.coats[0].started_at if layer.started else facts.now
        if moment < span.closes_at or (not layer.started and layer is not piece.current):
            continue
        below = facts.state.layer_name(under)
        behind = piece.piece.face is Face.BEHIND_CLEAR
        how = (
            "Scuff the back of the paint only, never the shell: its scratches would show from the front."
            if behind
            else "Scuff it evenly, wipe it clean, and log the scuff."
        )
        late = span_words((moment - span.closes_at).total_seconds())
        done = layer.started
        yield Finding(
            rule="timing.recoat-closed",
            severity=Severity.CAUTION if done else Severity.STOP,
            piece=piece.id,
            layer=layer.id,
            message=f"{facts.state.layer_name(layer)} went on {late} after {below} closed, unscuffed."
            if done
            else f"The recoat window of {below} closed {late} ago.",
            remedy="Test it for adhesion before anything goes over it." if done else how,
            key=key("timing.recoat-closed", under.id, layer.id),
            forbids_coat=not done,
        )


def _layer_over_layer(facts: Facts) -> Iterator[tuple[PieceState, LayerState, LayerState]]:
    for piece, layer in facts.layers():
        under = piece.under(layer)
        if under is not None and under.last_done is not None and under.open_coat is None:
            yield piece, layer, under


@FAMILY.rule(
    "tape",
    Severity.STOP,
    reason="Tape on paint that has not hardened prints its edge, holds the solvent in, and pulls the film off.",
    source=f"the product card; else {PRACTICE}: not before 24 h",
)
def tape(facts: Facts) -> Iterator[Finding]:
    """Masking tape went onto a layer before its tape time."""
    for piece in facts.state.pieces.values():
        masked = [s for s in piece.steps if s.step in (Prep.MASK, Prep.UNMASK)]
        if not masked or masked[-1].step is Prep.UNMASK or masked[-1].on_layer is None:
            continue
        step = masked[-1]
        layer = facts.state.layers.get(step.on_layer or "")
        card = facts.state.card_of(layer) if layer is not None else None
        if layer is None or card is None:
            continue
        done = max((c.done_at for c in layer.coats if c.done_at and c.done_at <= step.at), default=None)
        wait = card.tape if card.tape is not None else timedelta(hours=24)
        if done is None or step.at >= done + wait:
            continue
        yield Finding(
            rule="timing.tape",
            severity=Severity.STOP,
            piece=piece.id,
            layer=layer.id,
            message=f"Tape on {facts.state.layer_name(layer)} {_left(done + wait, step.at)} before its tape time"
            + (" (24 h, since its card gives none)." if card.tape is None else "."),
            remedy="Lift it now, slowly and flat back on itself, and wait for the tape time.",
            key=key("timing.tape", piece.id, layer.id, step.place),
        )
