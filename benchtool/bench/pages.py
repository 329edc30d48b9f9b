"""The pages of the near view: the bench itself, and beside it those that are made when they are first asked for."""

from collections.abc import Callable
from datetime import datetime
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QStackedWidget, QWidget

from benchtool.bench.look import Look
from benchtool.bench.recordpages import NAMES, RecordPages
from benchtool.session.session import NotNow, Session
from benchtool.trade.saying import say

if TYPE_CHECKING:
    from benchtool.bench.air import AirPage
    from benchtool.bench.helppage import HelpPage
    from benchtool.bench.identify import IdentifyPage
    from benchtool.bench.library import LibraryPage
    from benchtool.bench.plan import PlanPage
    from benchtool.bench.prep import PrepPage
    from benchtool.bench.rules import RulesPage
    from benchtool.bench.shop import ShopPage
    from benchtool.bench.stackbuild import StackBuildPage
    from benchtool.bench.sums import SumsPage
    from benchtool.bench.trial import TrialPage
    from benchtool.job.cards import Card
    from benchtool.session.loggerkeeper import LoggerKeeper
    from benchtool.session.planning import CardChoice, PieceText

    Typed = TypeVar(
        "Typed",
        PlanPage, SumsPage, ShopPage, AirPage, IdentifyPage, LibraryPage, PrepPage, RulesPage, StackBuildPage,
        TrialPage,
    )  # fmt: skip


class Pages(QStackedWidget):
    """The bench, the plan, the sums, the shop, the air and the keys; one is seen at a time."""

    left = Signal()
    said = Signal(str)
    make_asked = Signal(str)
    calendar_asked = Signal()
    key_chosen = Signal(str)
    prep_logged = Signal(object)
    prep_other = Signal(object)
    act_asked = Signal(object)
    mix_asked = Signal()
    stage_turned = Signal()

    def __init__(self, look: Look, session: Session, bench: QWidget, keeper: "Callable[[], LoggerKeeper]") -> None:
        super().__init__()
        self.look, self.session, self.bench, self.keeper = look, session, bench, keeper
        self.next_key = ""
        self._back: QWidget | None = None
        self._cards_for_trial = False
        self.addWidget(bench)
        self.record = RecordPages(self, look, session)
        self.record.left.connect(self.left)
        self.record.said.connect(self.said)

    @cached_property
    def help(self) -> "HelpPage":
        """The page of all keys."""
        from benchtool.bench.helppage import HelpPage

        page = HelpPage(self.look, self.next_key)
        page.key_chosen.connect(self.key_chosen)
        page.left.connect(self.left)
        self.addWidget(page)
        return page

    @cached_property
    def plan(self) -> "PlanPage":
        """The plan page: it has more fields than all the rest together."""
        from benchtool.bench.plan import PlanPage

        page = self._added(PlanPage(self.look, self.session))
        page.identify_asked.connect(lambda: self.find_out(for_form=True))
        page.card_kept.connect(self._card_kept)
        return page

    @cached_property
    def sums(self) -> "SumsPage":
        """The page of sums."""
        from benchtool.bench.sums import SumsPage

        page = self._added(SumsPage(self.look, self.session))
        page.make_asked.connect(self.make_asked)
        return page

    @cached_property
    def shop(self) -> "ShopPage":
        """The page of what the painter owns."""
        from benchtool.bench.shop import ShopPage

        return self._added(ShopPage(self.look, self.session))

    @cached_property
    def air(self) -> "AirPage":
        """The page of the air."""
        from benchtool.bench.air import AirPage
        from benchtool.bench.airlogger import LoggerPanel

        panel = LoggerPanel(self.look, self.session, self.keeper())
        panel.said.connect(self.said)
        page = self._added(AirPage(self.look, self.session, panel))
        page.calendar_asked.connect(self.calendar_asked)
        return page

    # --- what it is made of, how it is prepared, what goes on it ------------------------------------

    @cached_property
    def identify(self) -> "IdentifyPage":
        """The page that finds out what a piece is made of."""
        from benchtool.bench.identify import IdentifyPage

        page = self._added(IdentifyPage(self.look, self.session))
        page.chosen.connect(self._found)
        return page

    @cached_property
    def prep(self) -> "PrepPage":
        """The prep plan of a piece."""
        from benchtool.bench.prep import PrepPage

        page = self._added(PrepPage(self.look, self.session))
        page.log_asked.connect(self.prep_logged)
        page.other_asked.connect(self.prep_other)
        return page

    @cached_property
    def library(self) -> "LibraryPage":
        """The painter's product cards."""
        from benchtool.bench.library import LibraryPage

        page = self._added(LibraryPage(self.look, self.session))
        page.left.disconnect(self.left)
        page.left.connect(self._leave_library)
        page.card_asked.connect(lambda card: self._edit_card(_of_library(card), self.library))
        return page

    @cached_property
    def build(self) -> "StackBuildPage":
        """The page on which the stack of a piece is built."""
        from benchtool.bench.stackbuild import StackBuildPage

        page = self._added(StackBuildPage(self.look, self.session))
        page.card_asked.connect(lambda choice: self._edit_card(choice, self.build))
        return page

    @cached_property
    def rules(self) -> "RulesPage":
        """All rules, and the painter's own."""
        from benchtool.bench.rules import RulesPage

        return self._added(RulesPage(self.look, self.session, self.session.rules))

    @cached_property
    def trial(self) -> "TrialPage":
        """The trials of the job: test strips beside a bare control."""
        from benchtool.bench.trial import TrialPage

        page = self._added(TrialPage(self.look, self.session))
        page.act_asked.connect(self.act_asked)
        page.mix_asked.connect(lambda _: self._leave_for_the_cup())
        page.card_asked.connect(lambda choice: self._edit_card(choice, self.trial))
        page.cards_asked.connect(self._open_cards_for_trial)
        page.stages.currentChanged.connect(lambda _: self.stage_turned.emit())
        return page

    def _open_cards_for_trial(self) -> None:
        """Open the library from a trial that is being set up: leaving it goes back there."""
        self.open("library")
        self._cards_for_trial = True

    def _leave_library(self) -> None:
        back, self._cards_for_trial = self._cards_for_trial, False
        if not back:
            self.left.emit()
            return
        self.setCurrentWidget(self.trial)
        self.trial.setup.take_card(None)

    def _leave_for_the_cup(self) -> None:
        self.said.emit(say("Shift+T goes back to the run."))
        self.mix_asked.emit()

    def show_trial(self, trial: str | None = None, stage: str = "") -> None:
        """Show a trial, where it stands, or at one of its stages."""
        if self.session.current is None:
            raise NotNow(say("Open a job first: press J."))
        self.trial.ask(trial, stage)
        self.setCurrentWidget(self.trial)

    def show_half_typed_trial(self) -> None:
        """Show what is half set up or half graded of a trial."""
        self.trial.show_half_typed()
        self.setCurrentWidget(self.trial)

    @property
    def stage(self) -> str:
        """The stage of the page of trials that is seen, `photo` for that of a photo; "" while another page is."""
        on_trial = "trial" in self.__dict__ and self.currentWidget() is self.trial
        return self.trial.stage_seen if on_trial else ""

    @property
    def letters(self) -> frozenset[str]:
        """The keys that the page which is seen has for itself."""
        return getattr(self.currentWidget(), "letters", frozenset())

    def aside(self, trial: str) -> frozenset[str]:
        """Give the strips of a trial of the job in hand that were set aside on its run."""
        document = self.session.current
        if document is None or "trial" not in self.__dict__ or "run" not in self.trial.__dict__:
            return frozenset()
        return self.trial.run.side.aside_of((document.path, trial))

    def take_digit(self, digit: int) -> bool:
        """Let the page that is seen take a digit; says whether it did."""
        return bool(self.stage) and self.trial.take_digit(digit)

    def explain(self, rule: str) -> None:
        """Show the rule that a finding comes from."""
        self.rules.ask(rule)
        self.setCurrentWidget(self.rules)

    def open(self, what: str) -> None:
        """Show one of the pages above.

        Raises:
            NotNow: it is about a piece, and none is in hand, or the job is read-only.
        """
        piece = self.session.piece
        if what in NAMES:
            self.record.open(what)
        elif what == "library":
            self._cards_for_trial = False
            self.library.ask()
            self.setCurrentWidget(self.library)
        elif what == "rules":
            self.rules.ask()
            self.setCurrentWidget(self.rules)
        elif what == "trials":
            self.show_trial()
        elif what == "identify":
            self.find_out(for_form=False)
        elif piece is None:
            raise NotNow(say("Add a piece first: press A."))
        elif what == "prep plan":
            self.prep.ask(piece)
            self.setCurrentWidget(self.prep)
        else:
            self.session.writable()
            self.build.ask(piece)
            self.setCurrentWidget(self.build)

    def find_out(self, *, for_form: bool) -> None:
        """Find out what the piece in hand is made of, or the one that is just being described (`for_form`)."""
        self.session.writable()
        if for_form:
            self.identify.ask(None, self.plan.piece.text(), self.plan.piece.piece_id)
        else:
            self.identify.ask(self.session.piece)
        self.setCurrentWidget(self.identify)

    def _found(self, found: "PieceText") -> None:
        try:
            self.plan.take_found(found)
        except NotNow as no:
            self.said.emit(str(no))
            return
        self.setCurrentWidget(self.plan)

    def _edit_card(self, choice: "CardChoice | None", back: QWidget) -> None:
        self._back = back
        in_library = back is self.__dict__.get("library")
        for_trial = back is self.__dict__.get("trial")
        where = say("Back to the cards") if in_library else say("Back to the stack")
        where = say("Back to the trial") if for_trial else where
        self.plan.ask_card(choice, held=not in_library, back=where)
        self.setCurrentWidget(self.plan)

    def _card_kept(self, card: "Card | None") -> None:
        back, self._back = self._back, None
        self.setCurrentWidget(back or self.bench)
        if "library" in self.__dict__ and back is self.library:
            self.library.ask(card.id if card is not None else None)
        elif "build" in self.__dict__ and back is self.build and card is not None:
            self.build.take_card(card)
        elif "trial" in self.__dict__ and back is self.trial:
            self.trial.setup.take_card(card)
        page = back or self.bench
        if not page.isAncestorOf(self.window().focusWidget()):
            page.setFocus()

    def _added(self, page: "Typed") -> "Typed":
        page.left.connect(self.left)
        page.said.connect(self.said)
        self.addWidget(page)
        return page

    @property
    def on_bench(self) -> bool:
        """Whether the bench itself is seen."""
        return self.currentWidget() is self.bench

    def seen(self, name: str) -> bool:
        """Whether this page was made, and is the one that is seen."""
        return name in self.__dict__ and self.currentWidget() is self.__dict__[name]

    @property
    def planning(self) -> bool:
        """Whether the plan page is seen: what is typed there is not kept yet."""
        return "plan" in self.__dict__ and self.currentWidget() is self.plan

    @property
    def half_typed(self) -> bool:
        """Whether something is typed on the page that is seen, and lost if the window closes now."""
        return not self.stage and bool(getattr(self.currentWidget(), "half_typed", False))

    @property
    def left_half_typed(self) -> str:
        """What was left half typed: a `piece`, a `layer`, a trial (`trials`), or nothing."""
        typed = self.plan.left_half_typed if "plan" in self.__dict__ else ""
        waits = "trial" in self.__dict__ and self.trial.half_typed
        return typed or ("trials" if waits else "")

    @property
    def half_is_kept(self) -> bool:
        """Whether what was left half typed is on disk, and there again at the next start."""
        return self.left_half_typed == "trials" and self.trial.half_is_kept

    def refresh(self, now: datetime) -> None:
        """Draw the page that is seen as it stands at `now`; the bench draws its own panes."""
        seen = self.currentWidget()
        if "sums" in self.__dict__ and seen is self.sums:
            self.sums.refresh(now)
        elif "air" in self.__dict__ and seen is self.air:
            self.air.refresh(now)
        elif "prep" in self.__dict__ and seen is self.prep:
            self.prep.refresh(now)
        elif "trial" in self.__dict__ and seen is self.trial:
            self.trial.refresh(now)
        else:
            self.record.refresh(seen, now)


def _of_library(card: "Card | None") -> "CardChoice | None":
    from benchtool.session.planning import CardChoice, Where

    return CardChoice(card, Where.LIBRARY) if card is not None else None
