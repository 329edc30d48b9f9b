"""The alarm board: what calls, what was heard, what rings, and what happened while nobody could look.

It goes by the alarm standards ANSI/ISA-18.2-2016 and IEC 62682 (states: see alarmstates.py). What they call a flood,
more than ten alarms in ten minutes for one person (from memory), is a painter's usual minute: ten panels flashed off
together. So a minute has one ring and one sentence, for whatever comes due in it.

The board keeps nothing on disk: the windows come out of the record, and after a restart or a sleep one summary says
what opened and closed since it was last looked at.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from benchtool.job.windows import FOR_GOOD, Window
from benchtool.session.alarmstates import AlarmState, Call, Happening, Priority, call_of, step, weight
from benchtool.session.alarmwords import Alarm, Ring, Summary, one_sentence
from benchtool.trade.windows import Phase

if TYPE_CHECKING:
    from benchtool.session.session import Session

__all__ = ["FLASH_HZ", "SHOWN", "Alarm", "AlarmBoard", "Call", "Priority", "Ring", "Summary", "something_runs"]

SHOWN = 2
"""So many calls are shown at once; hearing takes these down and shows the next."""

MINUTE = timedelta(minutes=1)
"""Within this time of a ring nothing of the same or a lower priority rings (judgement, no source)."""

LATE_LOOK = timedelta(seconds=5)
"""By so much a busy computer may see an announced edge late."""

REPEATED = timedelta(minutes=2)
MOST_REPEATS = 5
"""A deadline that nobody heard rings again every 2 min, 5 times at most (judgement, no source; ISA-18.2 knows the
like as a re-alarming alarm, for the few of the highest priority)."""

PASSED_SHOWN = timedelta(minutes=10)
"""So long a call that passed unheard is still shown (judgement, no source)."""

JUST_MISSED = timedelta(hours=1)
"""A deadline missed this lately is still called when the tool starts (judgement, no source)."""

GAP = timedelta(seconds=90)
"""The board is looked at once a second. After a pause longer than this the laptop slept (judgement, no source)."""

RUNS_FOR = timedelta(hours=12)
"""What comes due within this time keeps the screen awake (a working day and night; judgement, no source)."""

FLASH_HZ = 0.5
"""The far view turns loud and quiet once in two seconds, with the beat of the window. WCAG 2.2, success criterion
2.3.1, allows at most three flashes in any second."""

FLASHED = timedelta(seconds=20)
"""So long a new call flashes; then it stands still in its loud state until it is heard (judgement, no source)."""

SLEPT, CLOSED = "While the laptop slept", "While the bench was closed"
_UNHEARD = (AlarmState.UNACKNOWLEDGED, AlarmState.RETURNED)

Place = tuple[str, str]


class AlarmBoard:
    """Watches the phases of all windows; what calls stays up until it is heard, put off or answered."""

    def __init__(self) -> None:
        self._alarms: dict[Place, Alarm] = {}
        self._seen: set[Place] = set()
        self._announced: dict[Place, datetime] = {}
        self._quiet_until: datetime | None = None
        self._said: tuple[datetime, Priority] | None = None
        self._summary: Summary | None = None
        self._rung_summary = True
        self.last_summary: Summary | None = None
        self._away: tuple[datetime, str] | None = None
        self._windows: tuple[tuple[str, Window], ...] = ()
        self._last: datetime | None = None
        self._looked_at = self._next_look = FOR_GOOD

    # --- what the painter does ---------------------------------------------------------------------

    def quiet_until(self, now: datetime) -> datetime | None:
        """Until when the sounds are off; None when they are on."""
        return self._quiet_until if self._quiet_until is not None and now < self._quiet_until else None

    def silence(self, now: datetime, span: timedelta) -> None:
        """Keep the sounds off for `span`; the words stay on the screen."""
        self._quiet_until = now + span
        self._look_soon()

    def sound_again(self) -> None:
        """Let the sounds ring again."""
        self._quiet_until = None
        self._look_soon()

    def heard(self) -> None:
        """Take down what was shown: the worst calls, else the summary. The windows themselves stay in the watch."""
        shown = self.up()[:SHOWN]
        for alarm in shown:
            self._move(alarm, Happening.HEARD)
        if not shown and self._summary is not None:
            self._summary, self._rung_summary = None, True
            for alarm in [a for a in self._alarms.values() if a.told]:
                self._move(replace(alarm, told=False), Happening.HEARD)
        self._look_soon()

    def put_off(self, alarm: Alarm, now: datetime, span: timedelta) -> None:
        """Take a call out of service for `span`; then it comes back by itself, and a worse call of its window sooner.

        Its window stays in the watch all the while.
        """
        mine = self._alarms.get(alarm.place)
        if mine is not None:
            self._move(replace(mine, until=now + span, told=False), Happening.PUT_OFF)
            self._look_soon()

    def put_back(self, alarm: Alarm, now: datetime) -> None:
        """Call again at once what is put off, where it still calls."""
        mine = self._alarms.get(alarm.place)
        if mine is not None and mine.state is AlarmState.SHELVED:
            self._move(replace(mine, since=now, rung=0), Happening.TIME_UP if mine.calls else Happening.FADES)
            self._look_soon()

    def recall(self) -> Summary | None:
        """Show the last summary once more; None where there is none."""
        self._summary = self.last_summary
        return self._summary

    # --- what is shown -----------------------------------------------------------------------------

    def up(self) -> tuple[Alarm, ...]:
        """Give what calls, or passed, and was not heard yet, worst first; what the summary tells is left to it."""
        unheard = (a for a in self._alarms.values() if a.state in _UNHEARD and not a.told)
        return tuple(sorted(unheard, key=lambda a: a.weight))

    @property
    def summary(self) -> Summary | None:
        """What opened and closed while nobody could look, until it is heard."""
        return self._summary

    def shelved(self) -> tuple[Alarm, ...]:
        """Give what is put off, by the time at which it comes back."""
        away = (a for a in self._alarms.values() if a.state is AlarmState.SHELVED)
        return tuple(sorted(away, key=lambda a: a.until or FOR_GOOD))

    def put_off_until(self, path: str, window: Window) -> datetime | None:
        """Until when the call of this window is put off; None where it is not."""
        alarm = self._alarms.get((path, window.key))
        return alarm.until if alarm is not None and alarm.state is AlarmState.SHELVED else None

    def calling(self, now: datetime) -> bool:
        """Whether hands or eyes are called for at `now`: a call that does more than inform and was not heard."""
        return self._loud_since(now) is not None

    def flash(self, now: datetime) -> bool:
        """Whether the far view is to be drawn loud at `now`; it changes at most once a second.

        It turns with the whole seconds, just past which the window beats, so that it needs no timer of its own.
        """
        since = self._loud_since(now)
        if since is None:
            return False
        return now - since >= FLASHED or (int(now.timestamp()) - int(since.timestamp())) % 2 == 0

    def _loud_since(self, now: datetime) -> datetime | None:
        loud = [
            a.since for a in self._alarms.values()
            if a.state is AlarmState.UNACKNOWLEDGED and a.priority is not Priority.INFORMS and a.since <= now
        ]  # fmt: skip
        return max(loud, default=None)

    # --- looking -----------------------------------------------------------------------------------

    def wake(self, last_seen: datetime, now: datetime, why: str = CLOSED) -> None:
        """Say when the windows were last looked at, and `why` not since, before the first look after a restart.

        What opened or closed since then is told in one summary at the next look. A `last_seen` that lies in the
        future (the clock was set back) tells nothing.
        """
        if last_seen < now:
            self._away = (last_seen, why)
            self._look_soon()

    def update(self, windows: Iterable[tuple[str, Window]], now: datetime) -> Ring | None:
        """Look at all windows (with the path of their job) at `now`; give what to sound, if anything.

        The first look sounds nothing but the summary, and puts up what is closing or was just missed: after a restart
        the words must be there. What was held back by a silence sounds once when it ends.
        """
        windows = tuple(windows)
        last, self._last = self._last, now
        slept = last is not None and now - last > GAP
        if not slept and windows == self._windows and self._looked_at <= now < self._next_look:
            return None  # between two edges nothing begins to call, and nothing ends
        if last is not None and now < last:
            self._turn_back(last - now)
        if slept and last is not None and self._away is None:
            self._away = (last, SLEPT)
        self._windows, self._looked_at = windows, now
        self._look(now)
        self._away = None
        ring = self._ring(now)
        self._next_look = self._when_to_look(now)
        return ring

    def _look(self, now: datetime) -> None:
        news: list[Place] = []
        seen: dict[Place, Window] = {(path, window.key): window for path, window in self._windows}
        for place in [p for p in self._alarms if p not in seen]:
            self._move(self._alarms[place], Happening.ANSWERED)
        summary = self._summary
        left = tuple(a for a in summary.items if a.place in seen) if summary is not None else ()
        if summary is not None and left != summary.items:  # done by now: its words would be wrong
            self._summary = replace(summary, items=left) if left else None
            self._rung_summary = self._rung_summary or not left
        for place, window in seen.items():
            if self._look_at(place, window, now):
                news.append(place)
        self._seen = set(seen)
        if self._away is not None and news:
            self._sum_up([self._alarms[p] for p in news], now)

    def _look_at(self, place: Place, window: Window, now: datetime) -> bool:
        """Follow one window; says whether it began to call, or for something worse, since it was last looked at."""
        phase = window.phase(now)
        call, alarm = call_of(window, phase), self._alarms.get(place)
        if alarm is not None and alarm.until is not None and now >= alarm.until:
            back = alarm.state is AlarmState.SHELVED and alarm.calls
            alarm = self._move(replace(alarm, rung=0, since=now), Happening.TIME_UP if back else Happening.FADES)
        if alarm is None:
            if call is None:
                return False
            known = place in self._seen
            before = self._away[0] if self._away is not None and not known else None
            fresh = known or (before is not None and call_of(window, window.phase(before)) is not call)
            alarm = Alarm(call, window, now, place[0])
            if fresh:
                self._set(self._counted(alarm, now))
                return True
            self._first_seen(alarm, phase, now)
            return False
        if call is None:
            passed = replace(alarm, window=window, calls=False)
            until = alarm.until if alarm.state is AlarmState.SHELVED else now + PASSED_SHOWN
            self._move(passed if not alarm.calls else replace(passed, until=until), Happening.PASSES)
            return False
        worse = _worse(call, window, alarm)
        away = alarm.state is AlarmState.SHELVED  # only what is worse than was put off comes through
        begins = not alarm.calls and not away
        alarm = replace(alarm, call=alarm.call if away and not worse else call, window=window, calls=True)
        if not worse and not begins:  # the same, or less than before: no reason to ring
            self._set(alarm)
            return False
        alarm = replace(alarm, since=now, until=None, rung=0, told=False)
        self._move(self._counted(alarm, now), Happening.WORSENS if worse else Happening.CALLS)
        return True

    def _first_seen(self, alarm: Alarm, phase: Phase, now: datetime) -> None:
        """Take in what called already when it came into sight: silently, and shown where a deadline is at stake."""
        closes = alarm.window.span.closes_at
        at_stake = alarm.window.needed and phase in (Phase.CLOSING, Phase.CLOSED)
        if at_stake and closes is not None and now - closes < JUST_MISSED:
            # What can still be done rings again if it stays unheard; what is over was rung before.
            rung = 1 if phase is Phase.CLOSING else MOST_REPEATS + 1
            self._set(replace(alarm, rung=rung, rung_at=now))
        else:
            self._set(replace(alarm, state=AlarmState.ACKNOWLEDGED))

    def _counted(self, alarm: Alarm, now: datetime) -> Alarm:
        """Count a call as rung where the last sentence announced it, unless it is worse than what was said then."""
        due = self._announced.pop(alarm.place, None)
        if due is None or now > due + LATE_LOOK or self._said is None or alarm.priority < self._said[1]:
            return alarm
        return replace(alarm, rung=1, rung_at=now)

    def _sum_up(self, news: list[Alarm], now: datetime) -> None:
        since, why = self._away or (now, SLEPT)
        items = {a.place: a for a in news}
        if self._summary is not None:  # slept again before the last one was heard: one summary for both
            since = min(since, self._summary.since)
            items = {a.place: a for a in self._summary.items} | items
        self._summary = Summary(why, since, now, tuple(sorted(items.values(), key=lambda a: a.weight)))
        self.last_summary, self._rung_summary = self._summary, False
        for alarm in news:
            self._set(replace(alarm, told=True))

    # --- ringing -----------------------------------------------------------------------------------

    def _ring(self, now: datetime) -> Ring | None:
        if self.quiet_until(now) is not None:
            return None
        if not self._rung_summary and self._summary is not None:
            self._rung_summary = True
            self._count(self._unheard(told=True), now)
            self._said = (now, self._summary.items[0].priority)
            summary = self._summary
            return Ring(summary.call, summary.words, title="While you were away", grave=summary.grave)
        said = self._said if self._said is not None and now - self._said[0] < MINUTE else None
        waiting = [a for a in self._unheard() if a.rung == 0 and (said is None or a.priority < said[1])]
        if waiting:
            first, coming = waiting[0], self._coming(waiting, now)
            self._announced |= coming
            self._said = (now, first.priority)
            self._count(waiting, now)
            words = one_sentence(waiting, len(coming), now)
            return Ring(first.call, words, grave=first.priority is Priority.DEADLINE)
        again = self._to_repeat()
        if said is not None or not any(self._repeat_at(a) <= now for a in again):
            return None
        again = [a for a in again if self._repeat_at(a) - now < MINUTE]  # those a little later join in
        self._count(again, now)
        return Ring(again[0].call, one_sentence(again, 0, now, again=True), grave=True)

    def _coming(self, waiting: list[Alarm], now: datetime) -> dict[Place, datetime]:
        """Give the other windows that will begin to call, or for something worse, within a minute, and when."""
        coming: dict[Place, datetime] = {}
        told = {a.place for a in waiting}
        for path, window in self._windows:
            place, at = (path, window.key), window.next_edge(now)
            call = call_of(window, window.phase(at)) if at <= now + MINUTE and place not in told else None
            mine = self._alarms.get(place)
            if call is not None and (mine is None or not mine.calls or _worse(call, window, mine)):
                coming[place] = at
        return coming

    def _unheard(self, *, told: bool | None = None) -> list[Alarm]:
        unheard = (a for a in self._alarms.values() if a.state is AlarmState.UNACKNOWLEDGED)
        return sorted((a for a in unheard if told is None or a.told is told), key=lambda a: a.weight)

    def _to_repeat(self) -> list[Alarm]:
        deadlines = (a for a in self._unheard() if a.priority is Priority.DEADLINE)
        return [a for a in deadlines if 1 <= a.rung <= MOST_REPEATS]

    @staticmethod
    def _repeat_at(alarm: Alarm) -> datetime:
        return (alarm.rung_at or alarm.since) + REPEATED

    def _count(self, alarms: Iterable[Alarm], now: datetime) -> None:
        for alarm in alarms:
            self._set(replace(alarm, rung=alarm.rung + 1, rung_at=now))

    # --- keeping -----------------------------------------------------------------------------------

    def _set(self, alarm: Alarm) -> None:
        self._alarms[alarm.place] = alarm

    def _move(self, alarm: Alarm, happening: Happening) -> Alarm | None:
        """Move a call on; gives it as it stands then, None where nothing calls any more.

        A call that was heard is kept for as long as its window calls, so that it doesn't ring twice.
        """
        state = step(alarm.state, happening)
        if state is AlarmState.NORMAL:
            self._alarms.pop(alarm.place, None)
            return None
        if state not in (AlarmState.SHELVED, AlarmState.RETURNED):
            alarm = replace(alarm, until=None)
        moved = replace(alarm, state=state)
        self._set(moved)
        return moved

    def _look_soon(self) -> None:
        self._next_look = self._looked_at

    def _when_to_look(self, now: datetime) -> datetime:
        """Say when the board next has anything to do."""
        times = [w.next_edge(now) for _, w in self._windows]
        times += [a.until for a in self._alarms.values() if a.until is not None]
        free = max(self.quiet_until(now) or now, self._said[0] + MINUTE if self._said is not None else now)
        if not self._rung_summary or any(a.rung == 0 for a in self._unheard()):
            times.append(free)
        times += [max(free, self._repeat_at(a)) for a in self._to_repeat()]
        return min(times, default=FOR_GOOD)

    def _turn_back(self, by: timedelta) -> None:
        """Follow a clock that was set back: what lasts for a time lasts no longer for it."""
        if self._quiet_until is not None:
            self._quiet_until -= by
        self._said, self._announced = None, {}
        for a in list(self._alarms.values()):
            until, rung_at = (at - by if at is not None else None for at in (a.until, a.rung_at))
            self._set(replace(a, since=a.since - by, until=until, rung_at=rung_at))


def _worse(call: Call, window: Window, before: Alarm) -> bool:
    return weight(call, needed=window.needed) < weight(before.call, needed=before.window.needed)


def something_runs(session: "Session", now: datetime) -> bool:
    """Whether the screen should stay awake: a coat is being sprayed, or a needed window opens or closes within 12 h."""
    for document in session.documents:
        coats = (layer.open_coat for layer in document.state.layers.values())
        if any(coat is not None and now - coat.started_at < RUNS_FOR for coat in coats):
            return True
        if any(window.needed and window.next_edge(now) - now <= RUNS_FOR for window in document.windows):
            return True
    return False
