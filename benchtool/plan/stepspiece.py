"""The work that is left on one piece, put together layer by layer: tasks in their order and the links between them."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from benchtool.job.cards import Gun
from benchtool.job.events import Face
from benchtool.job.shop import Shop
from benchtool.job.shophours import Takes
from benchtool.job.state import LayerState, PieceState, State
from benchtool.job.windows import Window, recoat_span
from benchtool.plan.stepsmix import (
    CupPlan,
    NextFit,
    coats_of_fresh,
    coats_of_standing,
    fresh_cup,
    soonest_coated,
    standing_cup,
    takes_s,
)
from benchtool.plan.stepswaits import (
    Bound,
    Doubt,
    flash_of,
    recoat_of,
    running,
    shortest_s,
    silent_words,
)
from benchtool.plan.work import Link, Task, Work
from benchtool.trade.saying import say
from benchtool.trade.windows import FOR_GOOD, Span, WindowKind

SPRAYED_WITHIN = timedelta(hours=4)
"""So soon after its last stand time a cup is sprayed for which the card gives no pot life: it thickens, and none is
mixed for the morning (judgement, no source)."""

LONGEST_STAND_S = 10 * 86_400.0

CLEAN_WITHIN = timedelta(minutes=15)
"""So soon after the last coat from a cup its gun is cleaned: paint that sets in it is hard to get out (judgement, no
source)."""


@dataclass(slots=True)
class PieceSteps:
    """The steps of one piece as they are put together; it stands for `times` pieces that are worked side by side."""

    job: str
    state: State
    piece: PieceState
    shop: Shop
    now: datetime
    fit: NextFit
    times: int
    windows: list[Window]
    tasks: list[Task] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    lasts: dict[str, int] = field(default_factory=dict)
    """The place of the last coat of each layer that gets one."""
    _under: tuple[LayerState, int | None] | None = None

    # --- tasks -------------------------------------------------------------------------------------

    def task(
        self,
        work: Work,
        key: str,
        words: str,
        takes: Takes | float,
        *,
        layer: str | None = None,
        coat: int | None = None,
        gun: Gun | None = None,
        began_at: datetime | None = None,
    ) -> Task:
        """Make a task; `takes` is what the hands do, or how long (s)."""
        own = self.times if work in (Work.PREP, Work.COAT, Work.SCUFF) else 1
        length = own * takes_s(self.shop, takes) if isinstance(takes, Takes) else takes
        if began_at is not None:
            length = max(length, (self.now - began_at).total_seconds())
        return Task(
            id=f"{self.job}/{self.piece.id}/{key}",
            job=self.job,
            piece=self.piece.id,
            work=work,
            words=words,
            takes_s=length,
            layer=layer,
            coat=coat,
            booth=work is Work.COAT,
            gun=gun,
            began_at=began_at,
        )

    def add(self, work: Work, key: str, words: str, takes: Takes | float, *, layer: str | None = None) -> int:
        """Add a task that needs hands alone; gives its place in the chain."""
        self.tasks.append(self.task(work, key, words, takes, layer=layer))
        return len(self.tasks) - 1

    def clean(self, layer: LayerState, coat: int) -> None:
        """Add the cleaning of the gun after a coat."""
        words = say("Clean the gun after {layer}", layer=self.state.layer_name(layer))
        key, gun = f"{layer.id}:clean:{coat}", layer.plan.gun
        self.tasks.append(self.task(Work.CLEAN, key, words, Takes.CLEAN, layer=layer.id, gun=gun))

    def scuff(self, layer: LayerState, what: str) -> Task:
        """Give the scuff that opens a layer again after its window closed; the viewed side of a shell is left alone."""
        name = self.state.layer_name(layer)
        if self.piece.piece.face is Face.BEHIND_CLEAR:
            words = say("Scuff the back of {layer}, never the shell", layer=name)
        else:
            words = say("Scuff {layer}", layer=name)
        return self.task(Work.SCUFF, f"{layer.id}:scuff:{what}", words, Takes.SCUFF, layer=layer.id)

    def doubt(self, layer: str | None, words: str) -> Doubt:
        """Make a doubt about this piece."""
        return Doubt(self.job, self.piece.id, self.piece.piece.name, layer, words)

    # --- links -------------------------------------------------------------------------------------

    def link(
        self,
        bound: Bound,
        first: int | None,
        then: int | None,
        kind: WindowKind,
        words: str,
        *,
        remedy: Task | None = None,
        from_start: bool = False,
        by_end: bool = False,
    ) -> None:
        """Link two tasks by a wait to come."""
        self.links.append(
            Link(
                first=first,
                then=then,
                kind=kind,
                words=words,
                opens=bound.opens,
                closes=bound.closes,
                from_start=from_start,
                by_end=by_end,
                remedy=remedy,
                constant=bound.constant,
            )
        )

    def run(
        self,
        span: Span,
        then: int | None,
        kind: WindowKind,
        words: str,
        remedy: Task | None = None,
        *,
        by_end: bool = False,
        remedy_lasts_s: float | None = None,
    ) -> None:
        """Link a window that runs already, as the watch has it."""
        link = running(span, then, kind, words, remedy, by_end=by_end, remedy_lasts_s=remedy_lasts_s)
        self.links.append(link)

    # --- a layer -----------------------------------------------------------------------------------

    def paint(self, layer: LayerState) -> None:
        """Add the coats that are left of a layer, with the cups for them and the waits before and between."""
        card = self.state.card_of(layer)
        if card is None:
            self.doubts.append(self.doubt(layer.id, say("A layer has no card in this job: its times are not known.")))
        flash, coat_s = flash_of(layer, card, self.now), self.times * takes_s(self.shop, Takes.COAT)
        begun = layer.open_coat
        last: int | None = None
        coat = layer.coats_done + 1
        if begun is not None:
            last, coat = self._spraying(layer, begun.started_at, begun.number), begun.number + 1
        total = max(layer.plan.coats, coat - 1)
        cup = standing_cup(self.state, layer, self.shop, self.now)
        fresh = fresh_cup(self.state, layer, self.shop, self.now)
        lasts = 0
        if cup is not None and coat <= total:
            lasts = self._standing_lasts(cup, layer, flash, coat_s, total - coat + 1)
            if lasts:
                last = self._from_cup(layer, cup, coat, lasts, flash, last)
                coat += lasts
            else:
                words = say(
                    "{piece}: the cup of {layer} will be past its pot life by then, mix fresh.",
                    piece=self.piece.piece.name,
                    layer=self.state.layer_name(layer),
                )
                self.doubts.append(self.doubt(layer.id, words))
        if begun is not None and not lasts:
            self.clean(layer, begun.number)
        while coat <= total:
            lasts = coats_of_fresh(fresh, flash, coat_s, total - coat + 1, self.now)
            last = self._from_cup(layer, fresh, coat, lasts, flash, last)
            coat += lasts
        self._under = (layer, last)
        if last is not None:
            self.lasts[layer.id] = last

    def _spraying(self, layer: LayerState, started_at: datetime, number: int) -> int:
        self.tasks.append(self._coat(layer, number, began_at=started_at))
        return len(self.tasks) - 1

    def _coat(self, layer: LayerState, number: int, began_at: datetime | None = None) -> Task:
        words = say("Spray coat {n} of {layer}", n=number, layer=self.state.layer_name(layer))
        return self.task(
            Work.COAT, f"{layer.id}:coat:{number}", words, Takes.COAT,
            layer=layer.id, coat=number, gun=layer.plan.gun, began_at=began_at,
        )  # fmt: skip

    def _standing_lasts(self, cup: CupPlan, layer: LayerState, flash: Bound, coat_s: float, coats: int) -> int:
        opens_at = self.now
        if layer.open_coat is not None:
            opens_at = flash.opens(max(self.now, layer.open_coat.started_at + timedelta(seconds=coat_s)))
        elif layer.started:
            window = self._flash_running(layer)
            opens_at = window.span.opens_at if window is not None else self.now
        elif self._under is None:
            span = self._recoat_running(layer)
            opens_at = span.opens_at if span is not None else self.now
        elif self._under[1] is not None:
            over, under = soonest_coated(self.tasks, self.links, self.now, self.fit), self._under[0]
            if over is None:
                return 0
            opens_at = recoat_of(under, self.state.card_of(under), self.now).opens(over)
            if opens_at >= FOR_GOOD:
                return 0
        return coats_of_standing(cup, max(opens_at, self.now), flash, coat_s, coats, self.now, self.fit)

    def _from_cup(self, layer: LayerState, cup: CupPlan, first: int, count: int, flash: Bound, last: int | None) -> int:
        """Add what a cup asks for and the coats from it; gives the place of the last coat."""
        name, poured = self.state.layer_name(layer), len(self.tasks)
        if cup.mix_s:
            self.add(Work.MIX, f"{layer.id}:mix:{first}", say("Mix {layer}", layer=name), cup.mix_s, layer=layer.id)
        mixed = poured if cup.mix_s else None
        reduced: int | None = None
        if cup.reduce_s:
            words = say("Reduce {layer}", layer=name)
            reduced = self.add(Work.REDUCE, f"{layer.id}:reduce:{first}", words, cup.reduce_s, layer=layer.id)
        at = len(self.tasks)
        self._stands(cup, mixed, reduced, at, name)
        if cup.life is None and cup.fixed_life is None:
            self._soon_sprayed(layer, cup, mixed if mixed is not None else reduced, at, first)
        coats = []
        for number in range(first, first + count):
            self.tasks.append(self._coat(layer, number))
            coats.append(len(self.tasks) - 1)
            self._before_coat(layer, number, last, coats[-1], flash)
            last = coats[-1]
        self._lives(layer, cup, poured, coats, name)
        self.clean(layer, first + count - 1)
        soon = Bound(closes=lambda end: end + CLEAN_WITHIN)
        words = say("Paint of {layer} in the gun", layer=name)
        self.link(soon, coats[-1], len(self.tasks) - 1, WindowKind.POT_LIFE, words)
        return coats[-1]

    def _stands(self, cup: CupPlan, mixed: int | None, reduced: int | None, coat: int, name: str) -> None:
        stands = say("{layer} stands", layer=name)
        kind = WindowKind.STAND
        if cup.standing is not None and cup.standing[0].opens_at > self.now:
            then = reduced if reduced is not None else coat
            self.run(cup.standing[0], then, kind, stands)
        elif cup.stand is not None and mixed is not None:
            self.link(cup.stand, mixed, reduced if reduced is not None else coat, kind, stands)
        after = reduced if reduced is not None else mixed
        if cup.stand_reduced is not None and after is not None:
            self.link(cup.stand_reduced, after, coat, kind, say("{layer} stands, reduced", layer=name))

    def _soon_sprayed(self, layer: LayerState, cup: CupPlan, begun: int | None, coat: int, number: int) -> None:
        """Keep a cup without a pot life from being mixed long before its coat; where that can't be, it is stirred."""
        if begun is None:
            return
        name = self.state.layer_name(layer)
        again = say("Stir {layer} again", layer=name)
        remedy = self.task(Work.MIX, f"{layer.id}:again:{number}", again, Takes.MIX, layer=layer.id)
        stands = timedelta(seconds=min(cup.stands_s(self.now), LONGEST_STAND_S) + cup.reduce_s)
        whole = stands + SPRAYED_WITHIN
        soon = Bound(closes=lambda end: end + whole)
        self.link(soon, begun, coat, WindowKind.POT_LIFE, say("{layer} in its cup", layer=name), remedy=remedy)

    def _lives(self, layer: LayerState, cup: CupPlan, poured: int, coats: list[int], name: str) -> None:
        """Link the pot life: of a fresh cup to its last coat, of one that stands to each, for any may need another."""
        words, kind = say("Pot life of {layer}", layer=name), WindowKind.POT_LIFE
        if cup.fixed_life is not None:
            anew = fresh_cup(self.state, layer, self.shop, self.now)
            fresh = anew.before_spraying_s(self.now)
            life = anew.life
            lasts = shortest_s(life.closes, self.now, constant=life.constant) if life is not None else None
            for at in coats:
                number = self.tasks[at].coat
                again = say("Mix {layer} fresh, with its stand time", layer=name)
                remedy = self.task(Work.MIX, f"{layer.id}:fresh:{number}", again, fresh, layer=layer.id)
                self.run(cup.fixed_life, at, kind, words, remedy, by_end=True, remedy_lasts_s=lasts)
        elif cup.life is None:
            if cup.activated:
                told = say(
                    "The card of {layer} says no pot life: that its cup is sprayed within 4 h of its stand is a guess.",
                    layer=name,
                )
                self._doubt_once(self.doubt(layer.id, told))
        else:
            self.link(cup.life, poured, coats[-1], kind, words, from_start=True, by_end=True)

    # --- the waits before a coat -------------------------------------------------------------------

    def _before_coat(self, layer: LayerState, number: int, last: int | None, at: int, flash: Bound) -> None:
        if last is not None or layer.started:
            self._flashes(layer, number, last, at, flash)
        else:
            self._recoats(layer, at)

    def _flashes(self, layer: LayerState, number: int, last: int | None, at: int, flash: Bound) -> None:
        kind, name = WindowKind.FLASH, self.state.layer_name(layer)
        words = say("Flash before coat {n} of {layer}", n=number, layer=name)
        remedy = self.scuff(layer, f"coat:{number}")
        if last is not None:
            self.link(flash, last, at, kind, words if flash.told else self._nothing(layer), remedy=remedy)
            if not flash.told:
                self._silent(layer, kind)
            return
        window = self._flash_running(layer)
        if window is not None:
            self.run(window.span, at, kind, words, remedy)
        else:
            self._silent(layer, kind)
            self.run(Span(self.now, self.now), at, kind, self._nothing(layer))

    def _flash_running(self, layer: LayerState) -> Window | None:
        return next((w for w in self.windows if w.layer == layer.id and w.kind is WindowKind.FLASH), None)

    def _nothing(self, layer: LayerState) -> str:
        return say("The card of {layer} says nothing", layer=self.state.layer_name(layer))

    def _recoats(self, layer: LayerState, at: int) -> None:
        kind = WindowKind.RECOAT
        under, last = self._under if self._under is not None else (self.piece.under(layer), None)
        if under is None:
            return
        words = say("{under} before {layer}", under=self.state.layer_name(under), layer=self.state.layer_name(layer))
        remedy = self.scuff(under, layer.id)
        if last is not None:
            bound = recoat_of(under, self.state.card_of(under), self.now)
            self.link(bound, last, at, kind, words if bound.told else self._nothing(under), remedy=remedy)
            if not bound.told:
                self._silent(under, kind)
            return
        span = self._recoat_running(layer)
        if span is not None:
            self.run(span, at, kind, words, remedy)
        elif under.started:
            self._silent(under, kind)
            self.run(Span(self.now, self.now), at, kind, self._nothing(under))

    def _recoat_running(self, layer: LayerState) -> Span | None:
        under = self.piece.under(layer)
        done = under.last_done if under is not None else None
        return (
            recoat_span(done.card, under) if under is not None and done is not None and done.card is not None else None
        )

    def _silent(self, layer: LayerState, kind: WindowKind) -> None:
        """Say once that a card gives no such wait; a link of nothing stands in its place."""
        self._doubt_once(self.doubt(layer.id, silent_words(self.state, layer, kind)))

    def _doubt_once(self, told: Doubt) -> None:
        if told not in self.doubts:
            self.doubts.append(told)
