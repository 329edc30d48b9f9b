"""The rules of chemistry that are about how long ago the one below went on, and in what air."""

from bisect import bisect_left
from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.cards import Carrier, Chemistry
from benchtool.job.events import ReadingTaken
from benchtool.rules.finding import PRACTICE, SHEET, Cause, Facts, Family, Finding, Severity, left
from benchtool.rules.ground import CLEANED, SCRATCHED, go_and_test
from benchtool.rules.meetings import Meeting, in_solvent, meetings
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say
from benchtool.trade.windows import FOR_GOOD

FAMILY = Family("chemistry")

WATER_OUT = timedelta(hours=2)
"""How long the water takes out of a film whose card gives no time (judgement, no source)."""

SOLVENT_OUT = timedelta(hours=1)
"""How long a film is left before a lamp shuts it in, where its card gives less (judgement, no source)."""

EPOXY_CLOSES = timedelta(days=7)
"""When an epoxy wants sanding whose card does not say so (common practice: from a day to a week; no source)."""

BLUSHES_FOR = timedelta(hours=24)
DAMP_PERCENT = 85.0
COLD_DEGC = 10.0
COLD_DAMP_PERCENT = 60.0
"""Air in which an epoxy is likely to blush while it is young: over 85 %, or colder than 10 °C and over 60 %. Cold and
damp are named by AMPP (2005) as the cause of amine blush; the figures are common practice, no source."""


@FAMILY.rule(
    "solvent-over-waterborne",
    Severity.STOP,
    title="Solvent over paint that still holds water",
    reason="Solvent over a film that still holds water shuts the water in: it goes cloudy, blisters or lets go.",
    source=f"{SHEET}; {PRACTICE}",
    remedy="Wait until it is dull and dry through; moving air helps more than heat. Where the next layer is on "
    "already, look for a haze and for blisters, and let it dry out long and warm before you go on.",
)
def solvent_over_waterborne(facts: Facts) -> Iterator[Finding]:
    """A paint in solvent goes over a waterborne one before its water is out, or did."""
    for met, due in facts.settled("over water", lambda: list(_over_water(facts))):
        moment = met.began or facts.now
        if moment >= due:
            continue
        named = {"layer": facts.state.layer_name(met.over), "below": facts.state.layer_name(met.under)}
        if met.began is not None:
            yield met.finding(
                "chemistry.solvent-over-waterborne",
                Severity.CAUTION,
                say("{layer} went on over {below} while that still held water.", **named),
                say("Look for a haze and for blisters, and let it dry out long and warm before you go on."),
                Cause.WINDOW,
            )
        elif met.due:
            yield met.finding(
                "chemistry.solvent-over-waterborne",
                Severity.STOP,
                say("{below} still holds water: {time} before {layer}.", time=left(due, facts.now), **named),
                say("Wait until it is dull and dry through; moving air helps more than heat."),
                Cause.WINDOW,
                clears_at=due,
            )


def _over_water(facts: Facts) -> Iterator[tuple[Meeting, datetime]]:
    for met in meetings(facts):
        if met.below.carrier is not Carrier.WATER or not in_solvent(met.card):
            continue
        due = met.opens_at(WATER_OUT)
        if due is not None:
            yield met, due


@FAMILY.rule(
    "uv-over-wet",
    Severity.CAUTION,
    title="Lamp-cured film over one still drying out",
    reason="A lamp shuts its film within seconds: what has not left the layer under it by then stays there.",
    source=PRACTICE,
    remedy="Let it stand, or warm it if its card allows; a lamp shuts in what is left. Where the lamp-cured film is "
    "on already, look for pinholes and a soft film under it before you go on.",
)
def uv_over_wet(facts: Facts) -> Iterator[Finding]:
    """A lamp-cured film goes over one from which solvent or water is still leaving, or did."""
    for met, due in facts.settled("under the lamp", lambda: list(_under_the_lamp(facts))):
        moment = met.began or facts.now
        if moment >= due or (met.began is None and not met.due):
            continue
        named = {"layer": facts.state.layer_name(met.over), "below": facts.state.layer_name(met.under)}
        yield met.finding(
            "chemistry.uv-over-wet",
            Severity.CAUTION,
            say("{layer} went on before {below} had dried out.", **named)
            if met.began is not None
            else say("{below} is still drying out: {time} before {layer}.", time=left(due, facts.now), **named),
            say("Look for pinholes and a soft film under it before you go on.")
            if met.began is not None
            else say("Let it stand, or warm it if its card allows; a lamp shuts in what is left."),
            Cause.WINDOW,
            clears_at=None if met.began is not None else due,
        )


def _under_the_lamp(facts: Facts) -> Iterator[tuple[Meeting, datetime]]:
    for met in meetings(facts):
        if met.card.chemistry is not Chemistry.UV or met.below.carrier not in (Carrier.SOLVENT, Carrier.WATER):
            continue
        opens = met.opens_at(SOLVENT_OUT)
        if opens is not None and met.done_at is not None:
            yield met, max(opens, met.done_at + SOLVENT_OUT)


@FAMILY.rule(
    "epoxy-closed",
    Severity.CAUTION,
    title="Epoxy closed and not sanded",
    reason="An epoxy past its window is hard and closed: what goes over it needs scratches, not a wipe.",
    source=f"{SHEET}; where it gives no time, {PRACTICE}: a week",
    remedy="Wash off any greasy bloom with water, sand it dull all over, wipe it clean, and log the scuff. Where the "
    "next layer is on already, test it for adhesion before anything goes over it.",
)
def epoxy_closed(facts: Facts) -> Iterator[Finding]:
    """Something goes over an epoxy that has closed and was not sanded, or did."""
    for met, closed in facts.settled("closed epoxies", lambda: list(_closed(facts))):
        moment = met.began or facts.now
        if moment < closed or (met.began is None and not met.due):
            continue
        named = {"layer": facts.state.layer_name(met.over), "below": facts.state.layer_name(met.under)}
        yield met.finding(
            "chemistry.epoxy-closed",
            Severity.CAUTION,
            say("{layer} went on over {below}, an epoxy that had closed and was not sanded.", **named)
            if met.began is not None
            else say(
                "{below} is an epoxy and closed {time} ago.",
                time=span_words((moment - closed).total_seconds()),
                **named,
            ),
            go_and_test()
            if met.began is not None
            else say("Wash off any greasy bloom with water, sand it dull all over, wipe it clean, and log the scuff."),
            Cause.WINDOW,
        )


def _closed(facts: Facts) -> Iterator[tuple[Meeting, datetime]]:
    for met in meetings(facts):
        if met.below.chemistry is not Chemistry.EPOXY or met.done_at is None:
            continue
        closes = met.closes_at(EPOXY_CLOSES)
        sanded = [s.at for s in met.piece.steps if s.step in SCRATCHED and s.on_layer == met.under.id]
        if closes is not None and not any(at >= closes for at in sanded):
            yield met, closes


@FAMILY.rule(
    "amine-blush",
    Severity.CAUTION,
    timed=False,
    title="Epoxy that hardened in cold or damp air",
    reason="In cold or damp air a young epoxy sweats a greasy bloom, and what goes over that peels.",
    source="AMPP paper 41205-190 (2005) on amine blush: high humidity and cool air while an epoxy cures; a water wash "
    "takes it off",
    remedy="Wash it with warm water and a cloth, dry it, scuff it, and log both. Where the next layer is on already, "
    "test it for adhesion before anything goes over it.",
)
def amine_blush(facts: Facts) -> Iterator[Finding]:
    """The air was cold or damp in the first day of an epoxy, and no wash is logged on it since."""
    for met in meetings(facts):
        if met.below.chemistry is not Chemistry.EPOXY or met.done_at is None:
            continue
        if not (met.due or met.began is not None) or not _clammy(facts, met.done_at, met.began) or _washed(met):
            continue
        yield met.finding(
            "chemistry.amine-blush",
            Severity.CAUTION,
            say(
                "{below} is an epoxy and hardened in cold or damp air: it may carry a greasy bloom.",
                below=facts.state.layer_name(met.under),
            ),
            go_and_test()
            if met.began is not None
            else say("Wash it with warm water and a cloth, dry it, scuff it, and log both."),
        )


def _washed(met: Meeting) -> bool:
    done = [s for s in met.piece.steps if s.on_layer == met.under.id and (met.began is None or s.at <= met.began)]
    return any(s.step in CLEANED for s in done)


def _clammy(facts: Facts, done_at: datetime, began: datetime | None) -> bool:
    """Say whether it was cold or damp by any reading from the coat on, as long as it could blush."""
    told = facts.settled("clammy", lambda: sorted((r.at, _is_clammy(r)) for r in facts.state.readings))
    until = min(done_at + BLUSHES_FOR, began or FOR_GOOD)
    place = bisect_left(told, (done_at, False))
    first = max(place - 1, 0)
    return any(clammy for at, clammy in told[first:] if at <= until)


def _is_clammy(reading: ReadingTaken) -> bool:
    damp, cold = reading.humidity_percent, reading.air_degC
    if not (0 <= damp <= 100 and -40 <= cold <= 60):
        return False  # what no air can be tells nothing
    return damp > DAMP_PERCENT or (cold < COLD_DEGC and damp > COLD_DAMP_PERCENT)
