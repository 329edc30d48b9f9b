"""One window of a job, and what it says."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from benchtool.trade import windows as trade
from benchtool.trade.numbers import clock_words, span_words
from benchtool.trade.windows import Phase, Span, WindowKind

REMEMBERED = timedelta(hours=12)
"""How long a window that only informs (cured, tape may touch, a dead pot) stays listed after its edge."""


FOR_GOOD = trade.FOR_GOOD
"""An instant that no clock reaches."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """One window of one layer. `then` names what may follow it (coat 2, the next layer).

    `mark` tells windows of one kind on one layer apart, such as the tapes of two tests. `scuffs` says that a scuff
    opens it again once it has closed: what is late for a longest flash is not so simply mended.
    """

    piece: str
    piece_name: str
    layer: str
    layer_name: str
    kind: WindowKind
    coat: int | None
    span: Span
    then: str = ""
    mix: str | None = None
    needed: bool = True
    behind_clear: bool = False
    mark: str = ""
    scuffs: bool = False

    @property
    def key(self) -> str:
        """What tells this window from every other of its job, the same before and after a restart."""
        key = f"{self.kind.value}|{self.layer}|{self.coat or 0}|{self.mix or ''}"
        return f"{key}|{self.mark}" if self.mark else key

    def phase(self, now: datetime) -> Phase:
        """Say where `now` lies in the window."""
        return self.span.phase(now)

    def next_edge(self, now: datetime) -> datetime:
        """Say until when the phase stays what it is at `now`; the end of the calendar where it stays for good."""
        edges = (self.span.opens_at, self.span.closing_from(), self.span.closes_at)
        return min((at for at in edges if at is not None and at > now), default=FOR_GOOD)

    @property
    def card_ends_at(self) -> datetime:
        """When the wait (of a pot life, the deadline) would be over by the card alone, whatever the air."""
        waits = self.kind is not WindowKind.POT_LIFE
        by = self.span.opens_by if waits else self.span.closes_by
        if by is not None:
            return by.by_card
        return self.span.opens_at if waits or self.span.closes_at is None else self.span.closes_at

    def why(self, now: datetime) -> str:
        """Say what the air in force at `now` does to the edge that comes next; "" for next to nothing."""
        by = {Phase.WAITING: self.span.opens_by, Phase.CLOSED: None}.get(self.phase(now), self.span.closes_by)
        return by.why(now) if by is not None else ""

    def words(self, now: datetime) -> str:
        """Say in a sentence what this window asks of the painter at `now`."""
        if self.span.never:
            why = self.span.opens_by.why(now) if self.span.opens_by is not None else ""
            return self._never_words + (f": {why[:1].lower()}{why[1:]}" if why else "")
        left = self.span.remaining_s(now)
        phase = self.phase(now)
        wait = rest = clock_words(left or 0.0, up=phase is Phase.WAITING and self.kind is not WindowKind.POT_LIFE)
        ago = span_words(abs(left)) if left is not None and left <= 0 else ""
        then = self.then
        match self.kind, phase:
            case WindowKind.STAND, Phase.WAITING:
                return f"Let it stand {wait} before you {then}"
            case WindowKind.STAND, _:
                return f"It has stood: {then}"
            case WindowKind.POT_LIFE, Phase.CLOSED:
                return f"Pot life over {ago} ago: mix fresh"
            case WindowKind.POT_LIFE, Phase.CLOSING:
                return f"Pot life ends in {rest}"
            case WindowKind.POT_LIFE, _:
                return f"Pot life {rest} left"
            case ((WindowKind.RECOAT | WindowKind.FLASH), Phase.WAITING) if self.span.closes_first and self.by_recoat:
                return f"Wait {wait}. It would close before it opens in this air: {self.scuff_words} before {then}"
            case WindowKind.FLASH, Phase.WAITING if self.span.closes_first:
                return f"Wait {wait}. In this air {then} will be late for the card by then"
            case WindowKind.FLASH | WindowKind.RECOAT, Phase.WAITING:
                return f"Wait {wait} before {then}"
            case WindowKind.FLASH, Phase.CLOSED if not self.by_recoat:
                return f"{then.capitalize()} is {ago} late for the card"
            case ((WindowKind.RECOAT | WindowKind.FLASH), Phase.CLOSED):
                return f"Recoat closed {ago} ago: {self.scuff_words} before {then}"
            case WindowKind.FLASH | WindowKind.RECOAT, Phase.CLOSING:
                return f"{_up(then)} now: only {rest} left"
            case WindowKind.FLASH | WindowKind.RECOAT, Phase.OPEN:
                return f"{_up(then)} may go on now" + (f", for {rest}" if left is not None else "")
            case WindowKind.TAPE, Phase.WAITING:
                return f"No tape on it for {wait}"
            case WindowKind.TAPE, _:
                return "Tape may touch it"
            case WindowKind.CURE, Phase.WAITING:
                return f"Cures for {wait} more"
            case WindowKind.DWELL, Phase.WAITING:
                return f"Let it rest {wait} before you {then}"
            case WindowKind.DWELL, _:
                return f"It has rested: {then}"
            case WindowKind.TAPE_ON, Phase.WAITING:
                return f"Leave the tape on for {wait}"
            case WindowKind.TAPE_ON, Phase.CLOSED:
                return f"The tape was to be pulled by {ago} ago: {then}, and note that it was late"
            case WindowKind.TAPE_ON, _:
                return f"Pull the tape now{f': only {rest} left' if left is not None else ''}, and {then}"
            case WindowKind.AGEING, Phase.WAITING:
                return f"{_up(self.mark)}: {wait} more"
            case WindowKind.AGEING, _:
                return f"{_up(self.mark)} is over: {then}"
            case _:
                return "Cured"

    def words_beside(self, now: datetime) -> str:
        """Say the same where the time left stands beside it in figures."""
        phase = self.phase(now)
        if self.span.never:
            return self._never_words[:1].lower() + self._never_words[1:]
        if phase is Phase.WAITING and self.span.closes_first:
            late = "late by then" if not self.by_recoat else f"{self.scuff_words.rstrip(',')} first"
            return f"then {self.then}, {late}"
        if phase is not Phase.WAITING and self.kind is not WindowKind.POT_LIFE:
            return self.words(now)
        return {
            WindowKind.STAND: f"stands, then {self.then}",
            WindowKind.FLASH: f"then {self.then}",
            WindowKind.RECOAT: f"then {self.then}",
            WindowKind.TAPE: "no tape yet",
            WindowKind.CURE: "to full cure",
            WindowKind.POT_LIFE: "pot life over" if phase is Phase.CLOSED else "pot life left",
            WindowKind.DWELL: f"rests, then {self.then}",
            WindowKind.TAPE_ON: "tape stays on",
            WindowKind.AGEING: self.mark,
        }[self.kind]

    @property
    def _never_words(self) -> str:
        return {
            WindowKind.STAND: "It does not get ready in this air",
            WindowKind.CURE: "It does not cure in this air",
        }.get(self.kind, "It does not dry in this air")

    @property
    def by_recoat(self) -> bool:
        """Whether it closes with the recoat window, before the next layer or, where the card has no other, coat."""
        return self.scuffs or self.kind is WindowKind.RECOAT

    @property
    def scuff_words(self) -> str:
        """How to scuff this piece; the viewed side of a clear shell is never touched."""
        return "scuff the back of the paint, never the shell," if self.behind_clear else "scuff"


def _up(text: str) -> str:
    return text[:1].upper() + text[1:]
