"""Chains of work for tests of the forward plan, short to write down.

Times are minutes after Monday, 2026-03-02, 00:00 UTC.
"""

from datetime import UTC, datetime, timedelta

from benchtool.job.cards import Gun
from benchtool.plan.hours import ShopHours
from benchtool.plan.work import Chain, Link, Task, Work
from benchtool.trade.windows import WindowKind

MONDAY = datetime(2026, 3, 2, tzinfo=UTC)


def at(minutes):
    return MONDAY + timedelta(minutes=minutes)


def clock(text, day=0):
    """Give an instant from a time of day: `clock("16:00")` is Monday, `day` 1 Tuesday."""
    hours, minutes = text.split(":")
    return at(day * 1440 + int(hours) * 60 + int(minutes))


def daily(opens="08:00", closes="18:00", days=range(7), zone=UTC, closed=()):
    one = (int((clock(opens) - MONDAY).total_seconds() // 60), int((clock(closes) - MONDAY).total_seconds() // 60))
    return ShopHours({day: [one] for day in days}, zone, closed)


def after(minutes):
    """A wait or a deadline that is the same whenever it begins; None for never."""
    return lambda end: None if minutes is None else end + timedelta(minutes=minutes)


class ChainBuilder:
    def __init__(self, name="a", promised=None):
        self.name, self.promised = name, promised
        self.tasks, self.links = [], []

    def task(self, minutes, work=Work.COAT, *, booth=False, gun=None, layer="l", begun=None, words=None):
        number = len(self.tasks)
        self.tasks.append(
            Task(
                id=f"t{number}", job=self.name, piece="p", work=work, words=words or f"step {number} of {self.name}",
                takes_s=minutes * 60.0, layer=layer, booth=booth, gun=gun, began_at=begun,
            )
        )  # fmt: skip
        return self

    def link(self, first, then, opens=0, closes=None, *, kind=WindowKind.RECOAT, scuff=None, words=None, **more):
        """Put a wait between two tasks by their places: minutes after the end of the first."""
        remedy = None
        if scuff is not None:
            remedy = Task(
                id=f"scuff{len(self.links)}", job=self.name, piece="p", work=Work.SCUFF, words="Scuff",
                takes_s=scuff * 60.0, layer="l",
            )  # fmt: skip
        self.links.append(
            Link(
                first=first, then=then, kind=kind, words=words or f"wait {len(self.links)} of {self.name}",
                opens=after(opens), closes=after(closes), remedy=remedy, **more,
            )
        )  # fmt: skip
        return self

    def add(self, link):
        self.links.append(link)
        return self

    def chain(self):
        return Chain(
            job=self.name, job_title=self.name, piece="p", piece_name=f"Panel {self.name}", tasks=tuple(self.tasks),
            links=tuple(self.links), promised=self.promised,
        )  # fmt: skip


def when(table, name, task):
    """Give start and end of a task in minutes."""
    found = next(p for p in table.placed if p.task.job == name and p.task.id == task)
    return tuple((x - MONDAY).total_seconds() / 60 for x in (found.starts_at, found.ends_at))


def stack(name, coats=2, layers=2, recoat=(60, 600), flash=10, gun=Gun.MINI, coat=5, mix=10, promised=None, scuff=10):
    """A piece with so many layers: mix, coats with flash between, recoat window to the next."""
    built, last = ChainBuilder(name, promised), None
    for layer in range(layers):
        mixed = len(built.tasks)
        built.task(mix, Work.MIX, layer=f"l{layer}")
        for n in range(coats):
            k = len(built.tasks)
            built.task(coat, booth=True, gun=gun, layer=f"l{layer}")
            if n:
                built.link(k - 1, k, flash, kind=WindowKind.FLASH)
            elif last is not None:
                built.link(last, k, *recoat, scuff=scuff)
            built.link(mixed, k, 0, 120, kind=WindowKind.POT_LIFE, from_start=True, by_end=True)
            last = k
    return built.link(last, None, 1440, kind=WindowKind.CURE).chain()
