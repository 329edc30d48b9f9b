"""Made-up plans for the page of the day: one as a small shop has it, and an ugly one."""

from datetime import UTC, datetime, timedelta

from benchtool.bench.dayrows import Names, PieceNamed
from benchtool.bench.daysteps import Said
from benchtool.bench.daytold import DayTold
from benchtool.plan.work import By, CantFit, Cost, Placed, Task, Timetable, Waiting, Work
from benchtool.session.cardfields import Wrong
from benchtool.trade.windows import WindowKind

NOW = datetime(2026, 3, 16, 9, 20, tzinfo=UTC)
JOB, OTHER = "/jobs/demo.json", "/jobs/other.json"


class Maker:
    """Lays work and waits one after the other on each piece."""

    def __init__(self) -> None:
        self.placed: list[Placed] = []
        self.waits: list[Waiting] = []
        self.cant: list[CantFit] = []
        self.pieces: dict[tuple[str, str], PieceNamed] = {}
        self.layers: dict[tuple[str, str, str], str] = {}
        self.at: dict[tuple[str, str], datetime] = {}

    def piece(self, job: str, piece: str, name: str, title: str, promised: datetime | None = None) -> None:
        self.pieces[job, piece] = PieceNamed(name, title, promised)

    def work(
        self, job: str, piece: str, work: Work, at: datetime, minutes: float, words: str,
        layer: str | None = None, coat: int | None = None, *, begun: bool = False,
    ) -> datetime:  # fmt: skip
        if layer is not None:
            self.layers[job, piece, layer] = layer.replace("-", " ").capitalize()
        task = Task(
            id=f"{piece}-{len(self.placed)}", job=job, piece=piece, work=work, words=words, takes_s=minutes * 60,
            layer=layer, coat=coat, booth=work is Work.COAT, began_at=at if begun else None,
        )  # fmt: skip
        end = at + timedelta(minutes=minutes)
        booth = 0 if work is Work.COAT else None
        self.placed.append(Placed(task=task, starts_at=at, ends_at=end, booth=booth))
        return end

    def wait(
        self, job: str, piece: str, kind: WindowKind, words: str, at: datetime, opens: float,
        closes: float | None = None, layer: str | None = None, *, missed: bool = False,
    ) -> datetime:  # fmt: skip
        over = at + timedelta(minutes=opens)
        self.waits.append(
            Waiting(
                job=job,
                piece=piece,
                layer=layer,
                kind=kind,
                words=words,
                from_at=at,
                opens_at=over,
                closes_at=None if closes is None else at + timedelta(minutes=closes),
                missed=missed,
            )
        )
        return over

    def layer(
        self, job: str, piece: str, layer: str, at: datetime, coats: int = 2,
        *, flash: float = 20, recoat: tuple[float, float | None] = (240, 640), missed: bool = False,
    ) -> tuple[datetime, datetime]:  # fmt: skip
        """Mix, coats with their flash, the gun; then the recoat window. Gives the last end and when it opens."""
        name = layer.replace("-", " ")
        at = self.work(job, piece, Work.MIX, at, 10, f"mix the {name}", layer)
        self.wait(job, piece, WindowKind.POT_LIFE, f"pot life of the {name}", at, 0, 120, layer)
        for n in range(1, coats + 1):
            end = self.work(job, piece, Work.COAT, at, 5, f"coat {n} of the {name}", layer, n)
            at = self.wait(job, piece, WindowKind.FLASH, f"flash of the {name}", end, flash, None, layer) if (
                n < coats
            ) else end  # fmt: skip
        self.work(job, piece, Work.CLEAN, at, 5, "clean the gun", layer)
        opens = self.wait(job, piece, WindowKind.RECOAT, f"recoat of the {name}", at, *recoat, layer, missed=missed)
        return at, opens

    def table(self, begins: datetime, simple: float = 0) -> Timetable:
        last = max((p.ends_at for p in self.placed), default=begins)
        lasts = (last - begins).total_seconds()
        cost = Cost(len(self.cant), sum(w.missed for w in self.waits), 0, lasts, lasts * 3)
        came = Cost(cost.left_out, cost.missed, 0, lasts + simple, lasts * 3 + simple)
        firsts: dict[tuple[str, str], datetime] = {}
        for p in sorted(self.placed, key=lambda p: p.starts_at):
            firsts.setdefault((p.task.job, p.task.piece), p.starts_at)
        return Timetable(
            begins_at=begins, until=last + timedelta(days=1),
            placed=tuple(sorted(self.placed, key=lambda p: p.starts_at)), waits=tuple(self.waits),
            cant=tuple(self.cant), cost=cost, simple=came, by=By.SEARCH, order=tuple(firsts),
        )  # fmt: skip

    @property
    def names(self) -> Names:
        return Names(self.pieces, self.layers)


def at(day: int, hour: int, minute: int = 0) -> datetime:
    """A moment of the made-up week: day 16 is a Monday."""
    return datetime(2026, 3, day, hour, minute, tzinfo=UTC)


def small_shop() -> tuple[Timetable, Names]:
    """Five pieces over two days: a coat just being sprayed, one window missed, and one piece that can't fit."""
    m = Maker()
    title = "Demo: labels on a bumper"
    m.piece(JOB, "left", "Left shell", title, at(17, 17))
    m.piece(JOB, "right", "Right shell", title, at(17, 17))
    m.piece(JOB, "grille", "Grille", title)
    m.piece(OTHER, "sign", "Shop sign", "Demo: a sign", at(18, 12))
    m.piece(OTHER, "bar", "Brass bar", "Demo: a sign")
    m.work(JOB, "left", Work.COAT, at(16, 9, 17), 6, "coat 2 of the primer", "primer", 2, begun=True)
    m.wait(JOB, "left", WindowKind.RECOAT, "recoat of the primer", at(16, 9, 23), 240, 640, "primer")
    end, _ = m.layer(JOB, "left", "base", at(16, 13, 25), 3, recoat=(30, 600))
    end, _ = m.layer(JOB, "left", "clear", at(16, 15, 40), 2, recoat=(0, None))
    m.wait(JOB, "left", WindowKind.TAPE, "tape", end, 16 * 60, None, "clear")
    m.wait(JOB, "left", WindowKind.CURE, "cure", end, 7 * 24 * 60, None, "clear")
    end = m.work(JOB, "right", Work.PREP, at(16, 9, 25), 20, "wash and scuff")
    end, _ = m.layer(JOB, "right", "primer", at(16, 9, 50))
    end, _ = m.layer(JOB, "right", "base", at(16, 14, 45), 2, recoat=(30, 600))
    end, _ = m.layer(JOB, "right", "clear", at(17, 8, 0), 2, recoat=(0, None))
    m.wait(JOB, "right", WindowKind.CURE, "cure", end, 7 * 24 * 60, None, "clear")
    end, _ = m.layer(JOB, "grille", "epoxy-primer", at(16, 11, 0), 1, recoat=(60, 960), missed=True)
    end = m.work(JOB, "grille", Work.SCUFF, at(17, 9, 30), 10, "scuff the epoxy primer", "epoxy-primer")
    end, _ = m.layer(JOB, "grille", "base", at(17, 9, 45), 2, recoat=(0, None))
    end = m.work(OTHER, "sign", Work.PREP, at(16, 16, 50), 30, "wash and sand")
    end, _ = m.layer(OTHER, "sign", "primer", at(17, 11, 0), 2, recoat=(120, 900))
    end, _ = m.layer(OTHER, "sign", "enamel", at(17, 14, 0), 2, recoat=(0, None))
    m.wait(OTHER, "sign", WindowKind.TAPE, "tape", end, 20 * 60, None, "enamel")
    m.cant.append(
        CantFit(
            job=OTHER,
            piece="bar",
            piece_name="Brass bar",
            because="The recoat window of the wash primer opens after 14 h and closes after 16 h; "
            "your shop is open 08:00 to 18:00, so nothing can be on it in time.",
        )
    )
    return m.table(NOW, simple=3 * 3_600 + 600), m.names


def ugly() -> tuple[Timetable, Names]:
    """Thirty pieces with long names over nine days, side by side in a shop with many hands."""
    m = Maker()
    for n in range(30):
        piece = f"p{n}"
        name = f"Second door skin, inner and outer face with both hinges and the badge recess, number {n + 1}"
        promised = at(24, 12) if n % 3 == 0 else None
        m.piece(JOB if n % 2 else OTHER, piece, name, "Demo: a whole van & <b>trailer</b> in nine days", promised)
        job, start = (JOB if n % 2 else OTHER), at(16 + n // 6, 8 + n % 6, 7 * n % 60)
        start = max(start, NOW)
        start = m.work(job, piece, Work.PREP, start, 25, "wash, sand and wash again")
        for k, layer in enumerate(
            ("promoter", "filler-primer-for-plastics", "sealer", "base", "pearl-mid-coat", "clear")
        ):
            start = (
                start if k == 0 else start.replace(hour=8 + (n + k) % 8, minute=(13 * n) % 60) + timedelta(days=k % 2)
            )
            m.layer(job, piece, layer, start, 2 + k % 2, recoat=(240, 1_400), missed=(n + k) % 11 == 0)
            start += timedelta(hours=9)
        m.wait(job, piece, WindowKind.CURE, "cure", start, 14 * 24 * 60, None, "clear")
    return m.table(NOW), m.names


def opening(first: int = 16, last: int = 27) -> tuple[tuple[datetime, datetime], ...]:
    """The shop is open 08:00 to 18:00, Monday to Friday."""
    return tuple((at(d, 8), at(d, 18)) for d in range(first, last) if at(d, 8).weekday() < 5)


FOUND = (
    Said("Order", "Take the Right shell before the Grille: saves 3 h 10 min."),
    Said(
        "Missed",
        "Grille: the recoat of the epoxy primer closes Tue 03:15, while the shop is closed. Scuff first.",
        True,
    ),
    Said("Can't fit", "Brass bar: the recoat window of the wash primer opens and closes in the night.", True),
    Said("Overnight", "Right shell: the base waits from 15:55 to Tue 01:25."),
    Said("Overnight", "Shop sign: the enamel dries until Wed 10:45."),
    Said("Start by", "Right shell: wash and scuff by 10:05 at the latest, or the clear moves to Tue afternoon."),
    Said("Not known", "The card of the enamel says no flash time: no wait is planned between its coats."),
)


class MadePlans:
    """Makes no plan of its own: shows what it is given."""

    def __init__(self, made: tuple[Timetable, Names] | None = None) -> None:
        self.stale, self.busy, self.share = made is None, False, 0.0
        self.asked: list[str] = []
        self.closed = ""
        self.shown = None
        if made is not None:
            self.shown = DayTold(made_at=NOW, plan=made[0], names=made[1], opened=opening(), said=FOUND)

    def next(self, now: datetime) -> str:
        return "Now: coat 2 of the primer on the Left shell, until 09:23. Then wash and scuff the Right shell."

    def told(self) -> DayTold | None:
        return self.shown

    def watch(self, *, on: bool) -> None:
        self.watched = on

    def plan_now(self) -> None:
        self.asked.append("plan")
        self.stale, self.busy = False, True

    def cancel(self) -> None:
        self.asked.append("cancel")
        self.busy = False

    def job_in_hand(self) -> str:
        return JOB

    def promise_of(self, job: str) -> tuple[str, str]:
        return "Demo: labels on a bumper", "2026-03-17 17:00"

    def promise(self, job: str, typed: str) -> str:
        if typed == "nonsense":
            raise Wrong([("promised", "“nonsense” is no time.")])
        self.asked.append(f"promise {typed}")
        return "Promised."

    def shut(self, now: datetime) -> str:
        return self.closed

    def stay_typed(self) -> str:
        return "17:30"

    def stay(self, typed: str) -> str:
        if typed == "nonsense":
            raise Wrong([("until", "“nonsense” is no time of day.")])
        self.asked.append(f"stay {typed}")
        self.closed = ""
        return "Open today until 18:00: planned anew."
