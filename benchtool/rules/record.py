"""The record itself: whether its times can be believed."""

from collections.abc import Iterator
from datetime import timedelta

from benchtool.rules.finding import Facts, Family, Finding, Severity, key
from benchtool.trade.numbers import clock_words
from benchtool.trade.saying import say

FAMILY = Family("record")

SLACK = timedelta(seconds=60)
"""Clocks drift by seconds between reboots; a minute ahead is no sign of a wrong clock (judgement, no source)."""


@FAMILY.rule(
    "clock-behind",
    Severity.STOP,
    title="Record ahead of the clock",
    reason="Where the laptop's clock was set back, a pot life looks longer than it is.",
    source="arithmetic: an event can't have happened later than now",
    remedy="Set the laptop's clock right. If the clock is right, the event's time is wrong: undo it and enter it "
    "again.",
)
def clock_behind(facts: Facts) -> Iterator[Finding]:
    """The newest event lies ahead of the clock."""
    if facts.state.newest is None:
        return
    place, event = facts.state.newest
    ahead = event.at - facts.now
    if ahead <= SLACK:
        return
    yield Finding(
        rule="record.clock-behind",
        severity=Severity.STOP,
        message=say(
            "The record runs {ahead} ahead of this laptop's clock (event {event}, at $.events[{place}]).",
            ahead=clock_words(ahead.total_seconds()), event=event.id, place=place,
        ),
        remedy=say(
            "Set the laptop's clock right. If the clock is right, the event's time is wrong: undo it and "
            "enter it again."
        ),
        key=key("record.clock-behind", event.id),
        forbids_coat=True,
    )  # fmt: skip
