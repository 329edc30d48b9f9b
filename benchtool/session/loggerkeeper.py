"""Follows the data logger's file and writes what it measures into every open job. No clock: `now` is given."""

from bisect import bisect_right
from collections import deque
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial

from benchtool.job import events as ev
from benchtool.job.record import is_logged, standing
from benchtool.session.logger import LoggedReading, LoggerColumns, LoggerFile
from benchtool.session.loggerkept import chosen_columns, kept_choice
from benchtool.session.loggerthin import STILL_S
from benchtool.session.session import Document, Session
from benchtool.store.files import one_line
from benchtool.store.settings import LoggerChoice
from benchtool.trade.numbers import span_words

POLL = timedelta(seconds=3)
"""How often the file is looked at; while there is more to read, at every look."""

PIECES = 2
"""Quarters of a MiB read at one look: some hundredths of a second, so that the window goes on drawing."""

MOST_READINGS = 1_000
"""So many readings are written into the jobs at one look, for the same reason."""

BACK = timedelta(days=7)
"""How far back a job takes readings: longer than the usual cure, and no more than 10,000 readings (judgement)."""

JUMP = timedelta(hours=1)
"""A longer time between two looks is a computer that slept, or whose clock was set."""

TOLD = 4

_LEFT_OUT = {
    ("twice",): "written twice",
    ("back",): "from a clock set back",
    ("ahead", "unset"): "dated wrong",
    ("air", "fahrenheit"): "of air that can't be",
    ("value", "decimal", "short", "time", "date"): "that can't be read",
}


class LoggerKeeper:
    """The followed file and its readings of the last days. The window calls `look` at each beat.

    A job gets every reading since the last one that it holds from any logger; the first time, since it was begun, for
    its windows are sums over the air since then, whoever had the job open meanwhile. A job that nobody touched for
    longer than `BACK` gets them from now on. Each keeps its own instant, also where the painter did something since:
    the history of the air puts it where it belongs. None is written before its time has come.
    """

    def __init__(
        self,
        session: Session,
        kept: LoggerChoice | None = None,
        remember: Callable[[LoggerChoice | None], object] | None = None,
    ) -> None:
        self._session = session
        self._remember = remember
        self._file: LoggerFile | None = None
        self._told: deque[tuple[datetime, str]] = deque(maxlen=TOLD)
        self._to_say: list[str] = []
        self._begin(None)
        if kept is not None:
            self._begin(chosen_columns(kept))
            if self.choice is None:
                self._to_say.append("The logger's file of last time isn't understood any more: choose it again.")

    # --- choosing ----------------------------------------------------------------------------------

    @property
    def choice(self) -> LoggerColumns | None:
        """The file that is followed and its columns; None where none is."""
        return self._choice

    @property
    def kept(self) -> LoggerChoice | None:
        """The choice as the settings keep it."""
        return None if self._choice is None else kept_choice(self._choice)

    def choose(self, columns: LoggerColumns) -> None:
        """Follow this file from now on, instead of another."""
        self._begin(replace(columns, path=columns.path.absolute()))
        if self._remember is not None:
            self._remember(self.kept)
        if self.kept is None:
            self._to_say.append(f"{self.name} is followed, but its name can't be kept: choose it again next time.")

    def leave(self) -> None:
        """Stop following; what was read stays in the jobs."""
        self._begin(None)
        if self._remember is not None:
            self._remember(None)

    def take_back(self, now: datetime) -> int:
        """Withdraw the readings of this file from every open job, and follow it no more; gives how many there were.

        For a file or columns that were the wrong ones. A redo brings them back.
        """
        source, taken = self.name, 0
        self.leave()
        for document in self._writable():
            ids = tuple(e.id for _, e in standing(document.job.events) if _source(e) == source)
            if ids:
                self._session.take_readings(document, [partial(ev.Withdrawn, events=ids, at=now)])
                taken += len(ids)
        return taken

    def _begin(self, columns: LoggerColumns | None) -> None:
        self._choice = columns
        self.name = "" if columns is None else one_line(columns.path.name, 60)
        if not self.name or self.name == "typed":  # the record tells a logger's readings from typed ones by this name
            self.name = "the logger"
        self._told.clear()
        self._given_to: dict[Document, datetime] = {}
        self._begin_file()

    def _begin_file(self) -> None:
        self._file = None
        self._readings: list[LoggedReading] = []
        self._more = False
        self._polled: datetime | None = None
        self._seen: datetime | None = None
        self.offers_fahrenheit = False

    # --- looking -----------------------------------------------------------------------------------

    def look(self, now: datetime) -> tuple[str, ...]:
        """Look at the file, write what is new into the jobs, and give what to tell the painter, each thing once."""
        if self._choice is not None:
            faults = self._poll(now)
            self._told.extend((now, fault) for fault in faults)
            self._to_say += faults
            if not self._more:
                self._write(now)
        said, self._to_say = tuple(self._to_say), []
        return said

    def _poll(self, now: datetime) -> tuple[str, ...]:
        if self._choice is None:
            return ()
        jumped = self._seen is not None and not timedelta(0) <= now - self._seen <= JUMP
        self._seen = now
        if self._file is not None and jumped and self._file.left_out["ahead"]:
            # By the clock of then those lines lay ahead; they may be good by this one.
            self._begin_file()
        if self._file is None:
            self._file = LoggerFile(self._choice, after=now - BACK)
        if not self._more and self._polled is not None and abs(now - self._polled) < POLL:
            return ()
        self._polled = now
        polled = self._file.poll(now, PIECES)
        self._more = polled.more
        self._readings += polled.readings
        del self._readings[: bisect_right(self._readings, now - BACK, key=_at)]
        if polled.offers_fahrenheit:
            self.offers_fahrenheit = True
        return polled.faults

    def _write(self, now: datetime) -> None:
        documents = self._writable()
        self._given_to = {d: at for d, at in self._given_to.items() if d in documents}
        left, end = MOST_READINGS, bisect_right(self._readings, now, key=_at)
        for document in documents:
            if document not in self._given_to:
                self._given_to[document] = self._since(document, now)
            begin = bisect_right(self._readings, self._given_to[document], key=_at)
            new = self._readings[begin : min(end, begin + left)]
            if new:
                self._given_to[document] = new[-1].at
                self._session.take_readings(document, [self._draft(reading) for reading in new])
                left -= len(new)

    def _writable(self) -> list[Document]:
        return [d for d in self._session.documents if not d.read_only]

    def _draft(self, reading: LoggedReading) -> Callable[..., ev.Event]:
        return partial(
            ev.ReadingTaken,
            at=reading.at,
            air_degC=reading.air_degC,
            humidity_percent=reading.humidity_percent,
            surface_degC=reading.surface_degC,
            source=self.name,
        )

    def _since(self, document: Document, now: datetime) -> datetime:
        """Give the instant after which this job takes readings."""
        created = document.job.created
        events = [e for _, e in standing(document.job.events) if e.at <= now]
        held = max((e.at for e in events if is_logged(e)), default=None)
        touched = max((e.at for e in events if not is_logged(e)), default=created)
        since = now if now - touched > BACK else created if held is None else held
        # The air of that moment is the reading before it: one comes at least each half hour.
        before = bisect_right(self._readings, since, key=_at) - 1
        if before >= 0 and since - self._readings[before].at <= timedelta(seconds=STILL_S):
            since = self._readings[before].at - timedelta(microseconds=1)
        return since if held is None else max(since, held)

    # --- saying ------------------------------------------------------------------------------------

    @property
    def newest(self) -> LoggedReading | None:
        """The last good reading of the file, kept or not, however old."""
        return None if self._file is None else self._file.newest

    @property
    def told(self) -> tuple[tuple[datetime, str], ...]:
        """What was last told of the file, the newest last, and when."""
        return tuple(self._told)

    def words(self, now: datetime) -> str:
        """Say in a sentence how the file stands: the last reading and its age, or what is wrong."""
        file = self._file
        if self._choice is None:
            return "No logger's file is followed."
        if file is None:
            return f"{self.name} is about to be read."
        newest = file.newest
        if self._more:
            until = "" if newest is None else f", {newest.at.astimezone(self._choice.zone):%d %b %Y, %H:%M} so far"
            return f"{self.name} is being read{until}."
        wrong = file.words(now)
        if newest is not None and not wrong:
            return f"{newest.words}, {span_words(max(0.0, (now - newest.at).total_seconds()))} ago."
        return wrong if newest is not None else f"{wrong}{self._last_of_job(now)}"

    def _last_of_job(self, now: datetime) -> str:
        document = self._session.current
        readings = document.state.readings if document is not None else []
        last = max(readings, key=lambda r: r.at, default=None)
        if last is None:
            return ""
        age = span_words(max(0.0, (now - last.at).total_seconds()))
        return f" The job's last reading, {last.air_degC:g} °C and {last.humidity_percent:g} %, {age} old, still holds."

    def left_out(self) -> str:
        """Say what was left out since the file is followed, and where there was no line for long; "" for nothing."""
        if self._file is None:
            return ""
        counts = {words: sum(self._file.left_out[k] for k in kinds) for kinds, words in _LEFT_OUT.items()}
        parts = [f"{count} {'line' if count == 1 else 'lines'} {words}" for words, count in counts.items() if count]
        said = f"Left out: {', '.join(parts)}." if parts else ""
        pauses = self._file.pauses
        if pauses:
            longest = span_words(max(pauses))
            one = f"1 pause of {longest} without a reading."
            many = f"{len(pauses)} pauses without a reading, the longest {longest}."
            said = f"{said} {one if len(pauses) == 1 else many}".strip()
        return said


def _at(reading: LoggedReading) -> datetime:
    return reading.at


def _source(event: ev.Event) -> str:
    return event.source if isinstance(event, ev.ReadingTaken) and is_logged(event) else ""
