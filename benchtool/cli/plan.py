"""`benchtool plan`: what is done when, so that no window closes in the night: the forward plan of one or more jobs."""

import argparse
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from benchtool.cli.check import read_moment
from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, short

if TYPE_CHECKING:
    from benchtool.job.record import Job
    from benchtool.job.shop import Shop

MOST = 20
"""No shop has more booths or hands."""

LONGEST_COUNT = 8
"""Figures of a number that is looked at at all."""


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    plan: Parser = commands.add_parser(
        "plan",
        help="plan the work of jobs over the shop's hours: what when, what falls into the night",
        description="Plan the work that is left in one or more jobs over the hours of the shop: what is done when, "
        "what falls into the night, which window would be missed, and what can't fit.",
        epilog="Hours, closed days, booths and hands are those of your shop where they are not said here.\n"
        "Exit status: 0 fine, 1 a piece can't fit or is late, or a window is missed, 2 a job, a time or "
        "the hours can't be used.",
    )
    plan.add_argument("jobs", metavar="JOB", nargs="+", help="a job file, or the word demo")
    plan.add_argument("--at", metavar="TIME", help="plan from how the jobs stood then, as benchtool check takes it")
    plan.add_argument("--hours", metavar="TEXT", help="when the shop is open: “Mon-Fri 8:00-12:00, 13-18; Sat 9-13”")
    plan.add_argument("--closed", metavar="TEXT", help="days it stays closed: “24 Dec, 2026-12-25 to 2027-01-01”")
    plan.add_argument(
        "--here-until", metavar="TIME", help="you stay that long today, whatever the hours are: 18, 6 pm or 22:30"
    )
    plan.add_argument("--booths", metavar="N", help="how many booths there are")
    plan.add_argument("--hands", metavar="N", help="how many pairs of hands there are")
    plan.add_argument(
        "--solver",
        action=argparse.BooleanOptionalAction,
        default=True,
        help="ask OR-Tools too, where it is installed and there is little enough to plan (it is by itself)",
    )
    return plan


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Plan the jobs."""
    asked_at = read_moment(args.at) if args.at is not None else None
    at = asked_at or means.now()
    opened, notes = _open_all(args.jobs, means)

    from benchtool.job.record import as_of
    from benchtool.session.dayplan import Asked, copies_words, make_plan, sources
    from benchtool.session.loggerzone import computers_zone
    from benchtool.sheets.plan_answer import plan_answer
    from benchtool.sheets.plan_text import plan_text
    from benchtool.sheets.plan_words import told_of, trouble

    shop = _shop(args, means, at)
    if args.here_until is not None:
        shop = _staying(shop, args.here_until, at)
        notes.append(_open_note(shop, at))
    asked = []
    for key, name, whole in opened:
        job = as_of(whole, at) if asked_at is not None else whole
        left_out = len(whole.events) - len(job.events)
        if left_out:
            entries = "1 later entry is" if left_out == 1 else f"{left_out} later entries are"
            notes.append(f"{short(name)}: this is how it stood then, {entries} left out.")
        asked.append(Asked(key, _title(job) or name, job))
    notes += copies_words(asked)
    try:
        plan = make_plan(sources(asked, means.tables(), at), shop, computers_zone, at, with_solver=args.solver)
        values = plan_answer(plan) | {"notes": notes}
    except OverflowError:
        raise Unusable("A card in these jobs holds a time so long that no calendar reaches its end.") from None
    status = TROUBLE if trouble(told_of(plan)) else FINE
    return Answer(status, values, lambda: plan_text(plan, notes=notes))


def _title(job: "Job") -> str:
    from benchtool.job.events import JobDescribed
    from benchtool.job.record import standing

    return next((e.title for _, e in reversed(standing(job.events)) if isinstance(e, JobDescribed)), "")


def _open_all(names: list[str], means: Means) -> "tuple[list[tuple[str, str, Job]], list[str]]":
    """Open each job once; a file named twice, by whatever way to it, counts once."""
    from benchtool.job.record import Job
    from benchtool.store.jobfile import JobFileFault

    found: dict[str, tuple[str, str, Job]] = {}
    notes: list[str] = []
    for name in names:
        key = name if name in ("demo", "demo-trial") and not Path(name).exists() else str(Path(name).resolve())
        if key in found:
            continue
        try:
            opened = means.open_job(name)
        except JobFileFault as fault:
            raise Unusable(str(fault)) from None
        except (OSError, ValueError) as fault:
            said = getattr(fault, "strerror", None) or fault
            raise Unusable(f"“{short(name)}” can't be read: {said}.") from None
        job = opened if isinstance(opened, Job) else opened.job
        if not isinstance(opened, Job):
            notes += opened.notes
            if opened.newer and not opened.notes:
                notes.append("This file was made by a newer version of this tool; what it added is not looked at.")
        found[key] = (key, Path(name).stem, job)
    return list(found.values()), notes


def _shop(args: argparse.Namespace, means: Means, at: datetime) -> "Shop":
    from msgspec.structs import replace

    from benchtool.job.shop import Shop
    from benchtool.session.hoursform import read_closed, read_hours
    from benchtool.session.hourspans import NotHours

    shop = means.shop() if means.shop is not None else Shop()
    try:
        if args.hours is not None:
            shop = replace(shop, hours=read_hours(args.hours))
    except NotHours as wrong:
        raise Unusable(f"--hours: {wrong}") from None
    try:
        if args.closed is not None:
            shop = replace(shop, closed_days=read_closed(args.closed, at.astimezone().date()))
    except NotHours as wrong:
        raise Unusable(f"--closed: {wrong}") from None
    if args.booths is not None:
        shop = replace(shop, booths=_count("--booths", args.booths))
    if args.hands is not None:
        shop = replace(shop, hands=_count("--hands", args.hands))
    return shop


def _staying(shop: "Shop", text: str, at: datetime) -> "Shop":
    from benchtool.session.hereuntil import stay_until
    from benchtool.session.loggerzone import computers_zone

    try:
        if not text.strip():
            raise ValueError("say when you leave: write 18:00 or 6 pm.")
        return stay_until(shop, text, at, computers_zone)
    except ValueError as wrong:
        raise Unusable(f"--here-until: {wrong}") from None


def _open_note(shop: "Shop", at: datetime) -> str:
    from benchtool.session.hereuntil import open_words
    from benchtool.session.loggerzone import computers_zone

    return open_words(shop, at, computers_zone).rstrip(".") + ", as you said for this plan."


def _count(option: str, text: str) -> int:
    tidy = text.strip()
    if not tidy.isascii() or not tidy.isdigit() or len(tidy) > LONGEST_COUNT or int(tidy) > MOST:
        raise Unusable(f"{option} “{short(text)}” is no number of them: write 0 to {MOST}.")
    return int(tidy)
