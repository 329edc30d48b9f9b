"""The long windows of a job as iCalendar (RFC 5545), so that a phone rings for a cure of two days.

The format is a dozen lines here, and no library at run time: TEXT escapes (RFC 5545 section 3.3.11), lines folded
at 75 octets (section 3.1), UTC times (section 3.3.5), events with display alarms (sections 3.6.1 and 3.6.6). The
tests read it back with the `icalendar` package.

An entry stands at an instant and has no length. Like a notice on the wall it can't follow the air after it was
written, and says so. Written again, the entries keep their UID, and SEQUENCE (the length of the record, which never
shrinks) tells a calendar which is the newer.
"""

import json
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from uuid import UUID, uuid5

from benchtool.job.record import Job
from benchtool.job.state import State
from benchtool.job.windows import Window, all_windows
from benchtool.sheets.state_text import DEMO_WORDS
from benchtool.trade.windows import WindowKind

LEAST = timedelta(hours=1)
"""A window that ends sooner is left to the bench: nobody walks off with a phone for it (judgement, no source)."""

LEAD = timedelta(minutes=10)
"""So long before a deadline the phone rings a first time (judgement, no source)."""

PRODID = "-//benchtool//windows of a job//EN"
"""What made the file. It names no release: by it a file written here is known again."""

_FOLD_AT = 75
_NAMESPACE = UUID("6f0d7f0c-3a43-4d3e-9c41-4f3a5f2b8a17")
_BIDI = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")

_LATER = (
    "Cold or damp air can make it later. The bench tells the true time: look there before you act, "
    "and follow the product's data sheet."
)
_SOONER = (
    "Warm air can bring it forward. The bench tells the true time: look there in good time, "
    "and follow the product's data sheet."
)


class Edge(StrEnum):
    """At which end of a window an entry stands."""

    OPENS = "opens"
    CLOSES = "closes"


@dataclass(frozen=True, slots=True)
class Entry:
    """One instant of one window. `at` is a whole second: never before a wait is over, never after a deadline."""

    window: Window
    edge: Edge
    at: datetime

    @property
    def summary(self) -> str:
        """The piece, the layer and what happens to it, as `Name plate, Gloss clear: recoat opens`."""
        names = [_line(name) for name in (self.window.piece_name, self.window.layer_name)]
        return f"{', '.join(name for name in names if name) or 'Without a name'}: {self._happens}"

    @property
    def _then(self) -> str:
        return _line(self.window.then) or "the next layer"

    @property
    def _happens(self) -> str:
        w = self.window
        match w.kind, self.edge:
            case WindowKind.STAND, _:
                return f"it has stood, {self._then}"
            case WindowKind.POT_LIFE, _:
                return "pot life is over"
            case WindowKind.FLASH, Edge.OPENS:
                late = ", after a scuff" if w.by_recoat else ", late for the card"
                return f"{self._then} may go on{late if w.span.closes_first else ''}"
            case WindowKind.FLASH, _ if not w.by_recoat:
                return f"{self._then} is late from now on"
            case WindowKind.FLASH, _:
                return f"recoat closes for {self._then}"
            case WindowKind.RECOAT, _:
                return f"recoat {self.edge}{', after a scuff' if w.span.closes_first else ''}"
            case WindowKind.TAPE, _:
                return "tape may touch it"
            case WindowKind.DWELL, _:
                return f"it has rested, {self._then}"
            case WindowKind.TAPE_ON, _:
                return "pull the test tape" if self.edge is Edge.OPENS else "the test tape is late from now on"
            case WindowKind.AGEING, _:
                return f"{_line(w.mark)} is over"
            case _:
                return "cure is over"

    @property
    def what_to_do(self) -> str:
        """What the painter does at that instant, as a sentence or two."""
        w, then = self.window, self._then
        match w.kind, self.edge:
            case WindowKind.STAND, _:
                return f"The mix has stood long enough: {then}."
            case WindowKind.POT_LIFE, _:
                return "Spray no more of this cup: clean the gun and mix fresh."
            case ((WindowKind.FLASH | WindowKind.RECOAT), Edge.OPENS) if w.span.closes_first and w.by_recoat:
                return f"In this air it closes before it opens: {w.scuff_words} before {then}."
            case WindowKind.FLASH, Edge.OPENS:
                return f"Spray {then}."
            case WindowKind.FLASH, _ if not w.by_recoat:
                return f"Have {then} on before this time."
            case WindowKind.RECOAT, Edge.OPENS:
                until = " Its window closes again, at a time of its own." if w.span.closes_at is not None else ""
                return f"{then} may go on without sanding.{until}"
            case ((WindowKind.RECOAT | WindowKind.FLASH), _):
                return f"Have {then} on before this time. After it, {w.scuff_words} before {then}."
            case WindowKind.TAPE, _:
                return "Masking tape may touch this layer."
            case WindowKind.DWELL | WindowKind.AGEING, _:
                return f"{then[:1].upper()}{then[1:]}."
            case WindowKind.TAPE_ON, Edge.OPENS:
                return "Pull the test tape, and grade the strip."
            case WindowKind.TAPE_ON, _:
                return "Have the test tape off before this time."
            case _:
                return "The layer has cured for as long as its card asks."

    def uid(self, job: Job) -> str:
        """Give what tells this entry from every other: the same at each export, whatever is typed as a name."""
        w = self.window
        marks = [w.mark] if w.mark else []
        return str(uuid5(_NAMESPACE, json.dumps([job.id, w.layer, w.kind, w.coat, w.mix, self.edge, *marks])))


def entries(windows: Iterable[Window], now: datetime, *, least: timedelta = LEAST) -> tuple[Entry, ...]:
    """Give what is still to come of the windows that end `least` or more from `now`, by time."""
    long = (w for w in windows if _end(w) - now >= least)
    return tuple(sorted((e for w in long for e in _of(w, now)), key=lambda e: e.at))


def _end(window: Window) -> datetime:
    span = window.span
    return span.closes_at if span.closes_at is not None and not span.closes_first else span.opens_at


def _of(window: Window, now: datetime) -> Iterator[Entry]:
    span = window.span
    if span.never:
        return  # no deadline can be kept either
    opens, closes = span.opens_at.astimezone(UTC), span.closes_at
    if opens > now and window.kind is not WindowKind.POT_LIFE:  # a cup is usable from the start: nothing opens
        whole = opens.replace(microsecond=0)
        yield Entry(window, Edge.OPENS, whole if whole == opens else whole + timedelta(seconds=1))
    if closes is not None and closes > now and not span.closes_first:
        yield Entry(window, Edge.CLOSES, closes.astimezone(UTC).replace(microsecond=0))


def calendar_text(job: Job, state: State, now: datetime, *, title: str = "", least: timedelta = LEAST) -> str:
    """Write the windows of `job` that end `least` or more from `now` as one iCalendar object, lines ending in CRLF.

    `title` names the calendar, in place of the title of the job. The text is to be written as UTF-8. It is empty
    where no such window runs: the standard knows no calendar without an entry.
    """
    found = entries(all_windows(state), now, least=least)
    if not found:
        return ""
    name = _line(title) or _line(state.title) or "A job without a name"
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODID}", f"NAME:{_text(name)}"]  # NAME: RFC 7986, 5.1
    for entry in found:
        lines += _event(entry, job, name, now)
    lines.append("END:VCALENDAR")
    return "".join(f"{_folded(line)}\r\n" for line in lines)


def _event(entry: Entry, job: Job, name: str, now: datetime) -> Iterator[str]:
    deadline = entry.edge is Edge.CLOSES
    told = [entry.what_to_do, _SOONER if deadline else _LATER, f"Job: {name}"]
    if job.demo:
        told.insert(0, DEMO_WORDS)
    yield "BEGIN:VEVENT"
    yield f"UID:{entry.uid(job)}"
    yield f"DTSTAMP:{_stamp(now)}"
    yield f"SEQUENCE:{len(job.events)}"
    yield f"DTSTART:{_stamp(entry.at)}"
    yield f"SUMMARY:{_text(entry.summary)}"
    yield f"DESCRIPTION:{_text(chr(10).join(told))}"
    yield "TRANSP:TRANSPARENT"
    if deadline:
        minutes = LEAD // timedelta(minutes=1)
        yield from _alarm(f"-PT{minutes}M", f"In {minutes} minutes: {entry.summary}")
    yield from _alarm("PT0S", entry.summary)
    yield "END:VEVENT"


def _alarm(trigger: str, words: str) -> tuple[str, ...]:
    return ("BEGIN:VALARM", "ACTION:DISPLAY", f"TRIGGER:{trigger}", f"DESCRIPTION:{_text(words)}", "END:VALARM")


def _stamp(when: datetime) -> str:
    return f"{when.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _line(text: str) -> str:
    """Make a name one line of what can be shown."""
    return " ".join(word for word in map(_shown, text.split()) if word)


def _shown(text: str) -> str:
    """Take out controls, halves of characters, and what turns the direction of all that follows it."""
    return "".join(c for c in text if unicodedata.category(c) not in ("Cc", "Cs") and c not in _BIDI)


def _text(text: str) -> str:
    """Write TEXT: what separates values is escaped, line ends too, and nothing of control is left."""
    rows = [_shown(row) for row in text.split("\n")]
    for plain in ("\\", ";", ","):
        rows = [row.replace(plain, f"\\{plain}") for row in rows]
    return "\\n".join(rows)


def _folded(line: str) -> str:
    """Break a line so that none is over 75 octets, its leading blank counted in; no character is cut."""
    octets, rows, most = line.encode(), [], _FOLD_AT
    while len(octets) > most:
        cut = most
        while octets[cut] & 0xC0 == 0x80:  # inside a character
            cut -= 1
        rows.append(octets[:cut])
        octets, most = octets[cut:], _FOLD_AT - 1
    return "\r\n ".join(row.decode() for row in (*rows, octets))
