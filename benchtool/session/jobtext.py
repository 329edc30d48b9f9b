"""A job as it is described: its name, whose it is, when it is promised; typed, read and written."""

import re
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from functools import partial

from benchtool.job import events as ev
from benchtool.job.state import State
from benchtool.session.cardfields import LONGEST_NAME, LONGEST_TEXT, Wrong, as_it_was, clean
from benchtool.session.dayplanpromise import in_next_week, read_promise
from benchtool.session.nights import instant_of
from benchtool.session.session import Draft, Session
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

USUAL_TIME = time(17, 0)
"""A day that is promised without a time is meant until then (judgement, no source); what is typed shows it."""

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_DAY_MONTH = re.compile(r"(\d{1,2})\.?\s*([a-z]{3,9})\.?,?(?:\s*(\d{4}))?")
_MONTH_DAY = re.compile(r"([a-z]{3,9})\.?\s*(\d{1,2})(?:st|nd|rd|th)?,?(?:\s*(\d{4}))?")
_TIME = re.compile(r"(?:^|[\s,T]+)(?:at\s+)?(\d{1,2})[:.](\d{2})\s*$", re.IGNORECASE)
_DAYS = re.compile(r"in\s+(\d{1,3})\s+days?")
_NEXT = re.compile(r"(?:on\s+|by\s+)?next\s+([a-z]{3,9})\.?")
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip
_WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


@dataclass(frozen=True, slots=True, kw_only=True)
class JobText:
    """What is typed of a job."""

    title: str = ""
    customer: str = ""
    promised: str = ""
    note: str = ""


def write_job(state: State, zone: tzinfo | None = None) -> JobText:
    """Write a job as it would be typed."""
    return JobText(
        title=state.title, customer=state.customer, promised=write_promised(state.promised, zone), note=state.note
    )


def write_promised(at: datetime | None, zone: tzinfo | None = None) -> str:
    """Write a promised instant so that it is read again to the minute; nothing for none."""
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}" if at is not None else ""


def promised_words(at: datetime, zone: tzinfo | None = None) -> str:
    """Say a promised instant with its weekday."""
    return f"{at.astimezone(zone):%a %d %b %Y, %H:%M}"


def read_promised(typed: str, now: datetime, zone: tzinfo | None = None) -> datetime | None:
    """Read a day with or without a time: `2026-03-20 16:00`, `20 March`, `next Friday`, `tomorrow`, `in 5 days`.

    Days without a year are the next ones. None where nothing is typed.

    Raises:
        ValueError: it is none of these, as 3/4 is, which is two days; the message says what to write.
    """
    text = clean(typed)
    if not text:
        return None
    clock = _TIME.search(text)
    words = (text[: clock.start()] if clock is not None else text).strip(" ,").casefold()
    today = now.astimezone(zone).date()
    try:
        at = time(int(clock[1]), int(clock[2])) if clock is not None else USUAL_TIME
        day = _day(words, today)
        found = instant_of(day, at, zone) if day is not None else None
    except (ValueError, OverflowError):
        found = None
    if found is None and re.search(r"\d|noon|midday", text) and re.search(r"[^\W\d_]{3}", text):
        with suppress(ValueError, OverflowError):
            found = read_promise(text, now, zone)  # `Tuesday 4 pm`, `4 pm tomorrow`, as on the page of the day
    if found is None:
        raise ValueError(
            say(
                "“{typed}” is no day: write 2026-03-20, 20 March or Friday, with a time if need be.",
                typed=shorten(typed),
            )
        )
    return found


def _day(words: str, today: date) -> date | None:
    if words in ("today", "tomorrow"):
        return today + timedelta(days=words == "tomorrow")
    if iso := _ISO.fullmatch(words):
        return date(int(iso[1]), int(iso[2]), int(iso[3]))
    if days := _DAYS.fullmatch(words):
        return today + timedelta(days=int(days[1]))
    if (said := _NEXT.fullmatch(words)) and (weekday := _starting(_WEEK, said[1])) is not None:
        return in_next_week(weekday, today)
    if len(words) >= 3 and (weekday := _starting(_WEEK, words)) is not None:
        ahead = (weekday - today.weekday()) % len(_WEEK)
        return today + timedelta(days=ahead or len(_WEEK))
    if first := _DAY_MONTH.fullmatch(words):
        return _in_year(first[3], _starting(_MONTHS, first[2]), first[1], today)
    if first := _MONTH_DAY.fullmatch(words):
        return _in_year(first[3], _starting(_MONTHS, first[1]), first[2], today)
    return None


def _starting(names: tuple[str, ...], word: str) -> int | None:
    return next((i for i, name in enumerate(names) if name.startswith(word)), None)


def _in_year(year: str | None, month: int | None, day: str, today: date) -> date | None:
    if month is None:
        return None
    found = date(int(year or today.year), month + 1, int(day))
    return found if year or found >= today else found.replace(year=today.year + 1)


def read_job(text: JobText, now: datetime, before: JobText | None = None) -> tuple[JobText, datetime | None]:
    """Read what was typed; gives it made fit for the record, and the promised instant (UTC).

    A note that came over several lines and was not touched stays as it was.

    Raises:
        Wrong: a field that can't be taken so.
    """
    faults: list[tuple[str, str]] = []
    title, customer = clean(text.title), clean(text.customer)
    if not title:
        faults.append(("title", say("Give the job a name, such as Side panels for Ann.")))
    elif len(title) > LONGEST_NAME:
        faults.append(("title", say("This name is too long: {n} characters at most.", n=LONGEST_NAME)))
    if len(customer) > LONGEST_NAME:
        faults.append(("customer", say("This name is too long: {n} characters at most.", n=LONGEST_NAME)))
    promised = None
    try:
        promised = read_promised(text.promised, now)
    except ValueError as wrong:
        faults.append(("promised", str(wrong)))
    if faults:
        raise Wrong(faults)
    note = as_it_was(text.note, before.note if before is not None else "", LONGEST_TEXT)
    return JobText(title=title, customer=customer, promised=text.promised, note=note), promised


def describe(session: Session, text: JobText) -> tuple[Draft, ...]:
    """Describe the job in hand anew; gives no event where nothing is different.

    Raises:
        Wrong: a field that can't be taken so.
        NotNow: no job is open, or it is read-only.
    """
    state = session.writable().state
    before = write_job(state)
    read, promised = read_job(text, session.now(), before)
    if text.promised == before.promised:
        promised = state.promised  # to the second, as it stands
    told = (read.title, read.customer, read.note, promised)
    if told == (state.title, state.customer, state.note, state.promised):
        return ()
    return (partial(ev.JobDescribed, title=read.title, customer=read.customer, note=read.note, promised=promised),)
