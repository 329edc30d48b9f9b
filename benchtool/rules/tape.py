"""Tape: masking that stays on too long, or gets too warm. That it goes on too early is a matter of timing."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.events import Prep
from benchtool.job.state import PieceState, Step
from benchtool.rules.finding import Facts, Family, Finding, Severity, key
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say

FAMILY = Family("tape")

PAINTED_OVER = timedelta(hours=24)
"""After the last coat over its edge, tape comes off within a day (common practice, no source)."""

ON_FOR = timedelta(days=7)
"""Ordinary masking tape gives no clean edge after more than a few days; the long-lasting kinds say 14 (trade press)."""

WARM_DEGC = 66.0
"""Ordinary masking tape stands this for about an hour (150 °F: a general reference on masking tape)."""


def _on(piece: PieceState) -> Step | None:
    """Give the oldest masking that is still on; None where there is none."""
    found = None
    for step in piece.steps:
        if step.step is Prep.UNMASK:
            found = None
        elif step.step is Prep.MASK and found is None:
            found = step
    return found


def _taped(facts: Facts) -> list[tuple[PieceState, Step]]:
    return facts.settled(
        "taped", lambda: [(p, step) for p in facts.state.pieces.values() if (step := _on(p)) is not None]
    )


def _last_coat(piece: PieceState, since: Step) -> datetime | None:
    """Give when the last coat over this tape was done; None where none is on it."""
    done = [c.done_at for x in piece.layers for c in x.coats if c.done_at is not None]
    over = [at for at in done if at >= since.at]
    return max(over, default=None)


@FAMILY.rule(
    "left-on",
    Severity.CAUTION,
    title="Tape left on too long",
    reason="Under paint that has hardened tape tears the edge, and its glue stays behind.",
    source="common practice, no source; how long tape may stay on: trade press (3 to 14 days by its kind)",
    remedy="Warm it a little, cut along the edge, and lift it slowly and flat back on itself. Look on its roll how "
    "long it may stay; where that is over, lift it and mask anew.",
)
def left_on(facts: Facts) -> Iterator[Finding]:
    """Tape is still on a day after the last coat that is planned, or for longer than ordinary tape stands."""
    for piece, step in _taped(facts):
        over, finished = _last_coat(piece, step), bool(piece.layers) and all(x.finished for x in piece.layers)
        if over is not None and finished and facts.now - over >= PAINTED_OVER:
            since = span_words((facts.now - over).total_seconds())
            message = say(
                "The tape is still on {piece}, {since} after the last coat.", piece=piece.piece.name, since=since
            )
            remedy = say("Warm it a little, cut along the edge, and lift it slowly and flat back on itself.")
            severity = Severity.CAUTION
        elif facts.now - step.at >= ON_FOR:
            since = span_words((facts.now - step.at).total_seconds())
            message = say("There has been tape on {piece} for {since}.", piece=piece.piece.name, since=since)
            remedy = say("Look on its roll how long it may stay; where that is over, lift it and mask anew.")
            severity = Severity.NOTE
        else:
            continue
        yield Finding(
            rule="tape.left-on",
            severity=severity,
            piece=piece.id,
            message=message,
            remedy=remedy,
            key=key("tape.left-on", piece.id, step.place),
        )


@FAMILY.rule(
    "heat",
    Severity.NOTE,
    timed=False,
    title="Tape in more heat than it stands",
    reason="Warm glue creeps: ordinary masking tape leaves it behind, or lets go and lets paint under its edge.",
    source="a general reference on masking tape (150 °F, 66 °C, for about an hour; heat-proof kinds stand 175 °C)",
    remedy="Use tape that is made for the heat, or lift it first; lift warm tape while it is still warm.",
)
def heat(facts: Facts) -> Iterator[Finding]:
    """The piece is, or was, hotter than ordinary masking tape stands, and the tape is still on."""
    for piece, step in _taped(facts):
        hot = [h.degC for h in piece.heat.stretches if h.ended_at is None or h.ended_at > step.at]
        hottest = max(hot, default=0.0)
        if hottest <= WARM_DEGC:
            continue
        yield Finding(
            rule="tape.heat",
            severity=Severity.NOTE,
            piece=piece.id,
            message=say(
                "{degC:g} °C on {piece} with tape on it: ordinary tape stands about {most:g} °C for an hour.",
                degC=hottest, piece=piece.piece.name, most=WARM_DEGC,
            ),
            remedy=say("Use tape that is made for the heat, or lift it first; lift warm tape while it is still warm."),
            key=key("tape.heat", piece.id, step.place),
        )  # fmt: skip
