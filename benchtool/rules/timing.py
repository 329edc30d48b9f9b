"""Timing: every wait held, every deadline kept. Each rule looks at what may come now and at what was done."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from benchtool.job.cards import Card, CardTime, Trait
from benchtool.job.events import Face, Prep
from benchtool.job.state import Coat, LayerState, PieceState, Step
from benchtool.job.windows import FOR_GOOD, closes_by_recoat, coats_within, recoat_span
from benchtool.rules.finding import SHEET, Cause, Facts, Family, Finding, Severity, cause, key, left
from benchtool.rules.freshfilm import FAMILY as FRESH
from benchtool.trade.numbers import clock_words, span_words
from benchtool.trade.saying import say
from benchtool.trade.windows import Span

FAMILY = Family("timing", list(FRESH.rules))


@FAMILY.rule(
    "flash",
    Severity.STOP,
    title="Flash time not kept",
    reason="A coat over one that has not flashed traps its solvent: it wrinkles, sags or stays soft.",
    source=SHEET,
    remedy="Let the coat flash first; where it is too late, look on the sheet whether the next may still go on wet on "
    "wet. Where that is on already, give it longer, look for wrinkles, and test it for adhesion.",
)
def flash(facts: Facts) -> Iterator[Finding]:
    """The next coat would come before the flash is over, or later than the card allows, or one did."""
    yield from facts.settled("flashes over", lambda: list(_flashes_over(facts)))
    for layer in facts.next_layers().values():
        if layer is not None and layer.coats:
            yield from _flash(facts, layer, layer.coats[-1], None)


def _flashes_over(facts: Facts) -> Iterator[Finding]:
    for _, layer in facts.layers():
        for coat, following in pairwise(layer.coats):
            yield from _flash(facts, layer, coat, following)


def _flash(facts: Facts, layer: LayerState, coat: Coat, following: Coat | None) -> Iterator[Finding]:
    card = coat.card
    if card is None or coat.done_at is None:
        return
    if card.flash is not None:
        yield from _flash_early(facts, layer, coat, following, card, card.flash)
    if card.flash_most is not None:
        due = layer.ends(coat.done_at, card.flash_most, card, CardTime.FLASH_CLOSES, coat)
        yield from _flash_late(facts, layer, coat, following, due)


def _flash_early(
    facts: Facts, layer: LayerState, coat: Coat, following: Coat | None, card: Card, wait: timedelta
) -> Iterator[Finding]:
    done_at = coat.done_at or coat.started_at
    due = layer.ends(done_at, wait, card, CardTime.FLASH, coat)
    moment = following.started_at if following is not None else facts.now
    if moment >= due:
        return
    n, name = coat.number + 1, facts.state.layer_name(layer)
    if following is not None:
        gap = clock_words((moment - done_at).total_seconds())
        message = say(
            "Coat {n} of {layer} went on {gap} after coat {last}; the card asks for {wait}{in_that_air}.",
            n=n, layer=name, gap=gap, last=coat.number, wait=clock_words(wait.total_seconds()),
            in_that_air=_in_that_air(done_at, wait, due),
        )  # fmt: skip
        remedy = say("Give this layer longer before the next one, and look for wrinkles.")
    else:
        message = say("Wait {left} before coat {n} of {layer}.", left=left(due, moment), n=n, layer=name)
        remedy = (
            say("Let coat {n} flash {time} first.", n=coat.number, time=span_words((due - done_at).total_seconds()))
            if due < FOR_GOOD
            else say("Let coat {n} flash in warmer, drier air.", n=coat.number)
        )
    yield Finding(
        rule="timing.flash",
        severity=Severity.CAUTION if following is not None else Severity.STOP,
        piece=layer.piece,
        layer=layer.id,
        message=message,
        remedy=remedy,
        key=key("timing.flash", layer.id, n),
        clears_at=due if following is None and due < FOR_GOOD else None,
        forbids_coat=following is None,
        cause=cause(Cause.WINDOW, layer.id, n),
    )


def _in_that_air(done_at: datetime, wait: timedelta, due: datetime) -> str:
    """Say how long a wait was in the air of then, where the card alone does not tell."""
    if due == done_at + wait:
        return ""
    if due >= FOR_GOOD:
        return say(", and in that air it did not dry")
    return say(", and in that air it took {time}", time=clock_words((due - done_at).total_seconds()))


def _flash_late(
    facts: Facts, layer: LayerState, coat: Coat, following: Coat | None, due: datetime
) -> Iterator[Finding]:
    moment = following.started_at if following is not None else facts.now
    steps = facts.state.piece_of(layer).steps
    scuffed = any(s.step is Prep.SCUFF and s.on_layer == layer.id and due <= s.at <= moment for s in steps)
    if moment < due or scuffed:
        return
    n, name = coat.number + 1, facts.state.layer_name(layer)
    told = {"n": n, "layer": name, "late": span_words((moment - due).total_seconds())}
    yield Finding(
        rule="timing.flash",
        severity=Severity.CAUTION,
        piece=layer.piece,
        layer=layer.id,
        message=say("Coat {n} of {layer} went on {late} late for the card.", **told)
        if following is not None
        else say("Coat {n} of {layer} is {late} late for the card.", **told),
        remedy=say("Test it for adhesion before anything goes over it.")
        if following is not None
        else say("Look on the sheet whether it may still go on wet on wet; if not, let it harden and scuff."),
        key=key("timing.flash-late", layer.id, n),
        cause=cause(Cause.WINDOW, layer.id, n),
    )


@FAMILY.rule(
    "recoat-early",
    Severity.STOP,
    title="Too early for the next layer",
    reason="A layer over one that has not opened for recoat can lift, wrinkle or craze it.",
    source=SHEET,
    remedy="Wait for the recoat time of the layer under it. Where the next one is on already, look for lifting and "
    "wrinkles, and let the stack harden fully before you go on.",
)
def recoat_early(facts: Facts) -> Iterator[Finding]:
    """The next layer would come before the one under it opens, or one did."""
    yield from facts.settled("went on early", lambda: list(_went_on_early(facts)))
    for piece, layer, under, span in _recoats(facts, started=False):
        if facts.now >= span.opens_at:
            continue
        below, name = facts.state.layer_name(under), facts.state.layer_name(layer)
        yield Finding(
            rule="timing.recoat-early",
            severity=Severity.STOP,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "Wait {left} before {layer}: {under} is not ready for it.",
                left=left(span.opens_at, facts.now), layer=name, under=below,
            ),
            remedy=say("{under} takes the next layer at its recoat time.", under=below),
            key=key("timing.recoat-early", under.id, layer.id),
            clears_at=None if span.never else span.opens_at,
            forbids_coat=True,
            cause=cause(Cause.WINDOW, layer.id),
        )  # fmt: skip


def _went_on_early(facts: Facts) -> Iterator[Finding]:
    for piece, layer, under, span in _recoats(facts, started=True):
        if layer.coats[0].started_at >= span.opens_at or under.coats[0].started_at > layer.coats[0].started_at:
            continue  # what went on after it was out of turn, and is told as that
        below, name = facts.state.layer_name(under), facts.state.layer_name(layer)
        early = say("long") if span.never else left(span.opens_at, layer.coats[0].started_at)
        yield Finding(
            rule="timing.recoat-early",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "{layer} went on {early} before {under} opened for recoat.", layer=name, early=early, under=below
            ),
            remedy=say("Look for lifting and wrinkles, and let the stack harden fully before you go on."),
            key=key("timing.recoat-early", under.id, layer.id),
            cause=cause(Cause.WINDOW, layer.id),
        )


@FAMILY.rule(
    "recoat-closed",
    Severity.STOP,
    title="Recoat window closed",
    reason="Past its recoat window a film is too hard to bond by itself; what goes over it next, a coat of its own "
    "too, needs a scuffed face.",
    source=f"{SHEET}; between coats of one layer, where it gives no longest flash: UFGS-09971, recoat windows",
    remedy="Scuff the paint evenly, never a clear shell, wipe it clean, and log the scuff; a metallic gets one more "
    "light coat instead. Where the next layer is on already, test it for adhesion before anything goes over it.",
)
def recoat_closed(facts: Facts) -> Iterator[Finding]:
    """The recoat window has closed and nothing was scuffed, or a layer or a coat went on so."""
    yield from facts.settled("coats went on late", lambda: list(_coats_late(facts)))
    for next_one in facts.next_layers().values():
        if next_one is not None and next_one.coats:
            yield from _coat_late(facts, next_one, next_one.coats[-1], None)
    yield from facts.settled("went on late", lambda: list(_went_on_late(facts)))
    for piece, layer, under, span in _recoats(facts, started=False):
        if span.closes_at is None or facts.now < span.closes_at:
            continue
        late = span_words((facts.now - span.closes_at).total_seconds())
        yield Finding(
            rule="timing.recoat-closed",
            severity=Severity.STOP,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "The recoat window of {under} closed {late} ago.", under=facts.state.layer_name(under), late=late
            ),
            remedy=_open_again(piece, under),
            key=key("timing.recoat-closed", under.id, layer.id),
            forbids_coat=True,
            cause=cause(Cause.WINDOW, layer.id),
        )


def _coats_late(facts: Facts) -> Iterator[Finding]:
    for _, layer in facts.layers():
        for coat, following in pairwise(layer.coats):
            yield from _coat_late(facts, layer, coat, following)


def _coat_late(facts: Facts, layer: LayerState, coat: Coat, following: Coat | None) -> Iterator[Finding]:
    """The next coat of a layer is due, or went on, after its own recoat window closed (where no longest flash says so).

    Source: UFGS-09971, Exterior Coating of Steel Structures: recoat window of polyurethane over polyurethane, gloss off
    after it.
    """
    card, within = coat.card, coats_within(coat.card) if coat.card is not None else None
    if card is None or within is None or coat.done_at is None or not closes_by_recoat(card):
        return
    closed = layer.ends(coat.done_at, within[0], card, within[1], coat)
    moment = following.started_at if following is not None else facts.now
    piece = facts.state.piece_of(layer)
    scuffs = (s.at for s in piece.steps if s.step in (Prep.SCUFF, Prep.ABRADE) and s.on_layer == layer.id)
    if moment < closed or any(closed <= at <= moment for at in scuffs):
        return
    told = {"n": coat.number + 1, "layer": facts.state.layer_name(layer)}
    late = span_words((moment - closed).total_seconds())
    ahead = following is None
    asked = following is not None and following.done_at is None and following.started_at == facts.now
    yield Finding(
        rule="timing.recoat-closed",
        severity=Severity.STOP if ahead else Severity.CAUTION,
        piece=layer.piece,
        layer=layer.id,
        message=say("Coat {n} of {layer} comes too late: its recoat window closed {late} ago.", late=late, **told)
        if ahead
        else say("Coat {n} of {layer} would go on {late} after the one before it closed, unscuffed.", late=late, **told)
        if asked
        else say("Coat {n} of {layer} went on {late} after the one before it closed, unscuffed.", late=late, **told),
        remedy=_scuff_own(piece) if ahead or asked else say("Test it for adhesion before anything goes over it."),
        key=key("timing.recoat-closed", layer.id, coat.number + 1),
        forbids_coat=ahead,
        cause=cause(Cause.WINDOW, layer.id, coat.number + 1),
    )


def _scuff_own(piece: PieceState) -> str:
    """Say how a closed coat takes the next of its own; that covers the scratches of the scuff."""
    if piece.piece.face is Face.BEHIND_CLEAR:
        return say("Scuff the back of the paint only, never the shell: its scratches would show from the front.")
    return say("Scuff it evenly, wipe it clean, and log the scuff.")


def _open_again(piece: PieceState, under: LayerState) -> str:
    """Say how what has closed takes the next layer again."""
    if piece.piece.face is Face.BEHIND_CLEAR:
        return say("Scuff the back of the paint only, never the shell: its scratches would show from the front.")
    card = under.last_done.card if under.last_done is not None else None
    if card is not None and Trait.METALLIC in card.traits:
        return say("Do not scuff a metallic: put one more light coat of it on and go on inside its window.")
    return say("Scuff it evenly, wipe it clean, and log the scuff.")


def _went_on_late(facts: Facts) -> Iterator[Finding]:
    for piece, layer, under, span in _recoats(facts, started=True):
        began = layer.coats[0].started_at
        if span.closes_at is None or began < span.closes_at:
            continue
        late, name = span_words((began - span.closes_at).total_seconds()), facts.state.layer_name(layer)
        yield Finding(
            rule="timing.recoat-closed",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "{layer} went on {late} after {under} closed, unscuffed.",
                layer=name,
                late=late,
                under=facts.state.layer_name(under),
            ),
            remedy=say("Test it for adhesion before anything goes over it."),
            key=key("timing.recoat-closed", under.id, layer.id),
            cause=cause(Cause.WINDOW, layer.id),
        )


Recoat = tuple[PieceState, LayerState, LayerState, Span]


def _recoats(facts: Facts, *, started: bool) -> list[Recoat]:
    """Give each layer that is on (or that its piece takes next) with the paint it goes on and that one's window."""
    pairs = facts.settled("recoats", lambda: list(_all_recoats(facts)))
    following = facts.next_layers()
    if started:
        return [pair for pair in pairs if pair[1].started]
    return facts.settled("recoats ahead", lambda: [r for r in pairs if not r[1].started and r[1] is following[r[0].id]])


def _all_recoats(facts: Facts) -> Iterator[Recoat]:
    """Walk over each layer with the paint it goes on, whatever is planned between them and was passed over."""
    for piece in facts.state.pieces.values():
        under: LayerState | None = None
        for layer in piece.layers:
            last = under.last_done if under is not None and under.open_coat is None else None
            span = recoat_span(last.card, under) if under and last and last.card else None
            if under is not None and span is not None:
                yield piece, layer, under, span
            if layer.started:
                under = layer


@FAMILY.rule(
    "tape",
    Severity.STOP,
    timed=False,
    title="Tape on paint that has not hardened",
    reason="Tape on paint that has not hardened prints its edge, holds the solvent in, and pulls the film off.",
    source="the product card; else common practice, no source: not before 24 h",
    remedy="Lift it now, slowly and flat back on itself, and wait for the tape time.",
)
def tape(facts: Facts) -> Iterator[Finding]:
    """Masking tape went on before the tape time of a layer under it or while one was wet, and is still there."""
    for piece in facts.state.pieces.values():
        lifted = max((i for i, s in enumerate(piece.steps) if s.step is Prep.UNMASK), default=-1)
        for step in piece.steps[lifted + 1 :]:
            if step.step is not Prep.MASK:
                continue
            # A quick colour does not harden the slow promoter under it: the layer that needs longest decides.
            due, _, layer, given = max(_tape_times(piece, step), default=(step.at, 0, None, True), key=lambda t: t[:2])
            if layer is None or step.at >= due:
                continue
            yield Finding(
                rule="timing.tape",
                severity=Severity.STOP,
                piece=piece.id,
                layer=layer.id,
                message=_tape_words(facts.state.layer_name(layer), due, step.at, given=given),
                remedy=say("Lift it now, slowly and flat back on itself, and wait for the tape time."),
                key=key("timing.tape", piece.id, step.on_layer, step.place),
                cause=cause(Cause.WINDOW, layer.id, "tape"),
            )


def _tape_words(name: str, due: datetime, at: datetime, *, given: bool) -> str:
    if due >= _WET:
        return say("Tape on {layer} while a coat of it is being sprayed.", layer=name)
    early = say("long") if due >= FOR_GOOD else left(due, at)
    if given:
        return say("Tape on {layer} {early} before its tape time.", layer=name, early=early)
    return say(
        "Tape on {layer} {early} before its tape time (24 h, since its card gives none).", layer=name, early=early
    )


_WET = FOR_GOOD + timedelta(days=1)
"""When tape may touch what is being sprayed: later than in any air."""


def _tape_times(piece: PieceState, step: Step) -> Iterator[tuple[datetime, int, LayerState, bool]]:
    """Give from when tape may touch each layer that was on at `step`, and whether its card says so.

    While a coat of it is not done, tape may never touch it.
    """
    for i, layer in enumerate(piece.layers):
        for coat in layer.coats:
            if coat.card is None or (coat.started_at, coat.place) >= (step.at, step.place):
                continue
            given = coat.card.tape is not None
            wait = coat.card.tape if coat.card.tape is not None else timedelta(hours=24)
            # A record that has a coat end after the tape went on says that it was wet then.
            done = coat.done_at
            dry = _WET if done is None else layer.ends(done, wait, coat.card, CardTime.TAPE, coat)
            yield dry, i, layer, given
