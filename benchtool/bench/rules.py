"""The page of rules: every rule with its reason and source, and the painter's own to write, change and take out."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QApplication, QStackedWidget, QVBoxLayout, QWidget

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.plansheet import Section, Sheet
from benchtool.bench.ruleform import RuleForm
from benchtool.bench.typedkeys import LETTERS, is_heard
from benchtool.job.shoprules import ShopRule
from benchtool.session import rulespage
from benchtool.session.session import Session
from benchtool.session.shoprules import OwnRules, RuleKeeper, RuleNotKept
from benchtool.sheets.rules_page import built_in
from benchtool.trade.saying import say

_ITS_OWN = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier


class RuleList(Sheet):
    """All rules in a list that words narrow, and the one chosen in full beside it."""

    said = Signal(str)
    form_asked = Signal(str)

    def __init__(self, look: Look, session: Session, keeper: RuleKeeper | None) -> None:
        super().__init__(look, "rules-list", least=52 * GRID)
        self.session, self.keeper = session, keeper
        self.key = ""
        self._listed: Sequence[PickRow] = ()
        self.head(say("Rules"), say("New rule of yours"), "")
        self.fault = Words(look, "body", "trouble")
        self.fault.setObjectName("rules-fault")
        self.picks = PickList(
            look, say("Search the rules"), "rules-picks", search=say("Such as recoat, or stop"), rows=6
        )
        self.picks.searched.connect(lambda _: self.relist())
        self.picks.chosen.connect(self.show_rule)
        listed = Section(look, "", stretch=True)
        listed.add(self.fault)
        listed.add(self.picks, stretch=1)
        self.detail = Section(look, "")
        self.top = Words(look, "title", "ink")
        self.family = Words(look, "small", "quiet")
        self.about = Words(look, "body", "ink")
        self.now = Words(look, "body", "trouble")
        self.remedy = Words(look, "body", "ink")
        self.source = Words(look, "small", "quiet")
        self.name = Words(look, "small", "quiet")
        for words, name in (
            (self.top, "heading"), (self.family, "family"), (self.about, "about"), (self.now, "now"),
            (self.remedy, "remedy"), (self.source, "source"), (self.name, "name"),
        ):  # fmt: skip
            words.setObjectName(f"rules-{name}")
            self.detail.add(words)
        self.change = self.add_button(say("Change this rule"), "rules-change")
        self.change.clicked.connect(lambda: self.form_asked.emit(self._own_id()))
        self.remove = self.add_button(say("Take it out"), "rules-remove")
        self.remove.clicked.connect(self._remove)
        self.put_back = self.add_button(say("Put it back"), "rules-put-back")
        self.put_back.clicked.connect(self._put_back)
        self.asks.update(picks=self.picks)
        self.first = "picks"
        self.lay_out((listed, self.detail), {1: ((0, 1),), 2: ((0,), (1,))})
        self.entered.connect(lambda: self.form_asked.emit(""))
        stop = session.subscribe(self._follow)
        self.destroyed.connect(stop)

    @property
    def own(self) -> OwnRules:
        """The painter's own rules as they stand."""
        if self.keeper is not None:
            return self.keeper.own
        return OwnRules(self.session.tables.shop_rules, self.session.tables.skipped)

    def ask(self, key: str = "") -> None:
        """Show the list, and this rule of it."""
        if key:
            self.key = key
            self.picks.search.fill("")
        self.relist()
        keys = [row.key for row in self._listed]
        if self.key not in keys and keys:
            self.key = keys[0]
        self.picks.choose(self.key)
        self.show_rule(self.key)

    def relist(self) -> None:
        """List the rules that hold the words of the search."""
        own = self.own
        found = rulespage.rows(own, self.session.tables, self.picks.search.text())
        self._listed = [PickRow(row.key, row.name, row.detail) for row in found]
        self.picks.fill(self._listed, self.key)
        self.picks.explain("" if found else say("No rule holds these words."))
        fault = self.keeper.fault if self.keeper is not None else ""
        self.fault.say(fault)
        self.fault.setVisible(bool(fault))
        mine = say("{n} of your own", n=len(own.rules)) if own.rules else say("none of your own yet")
        self.head(say("{n} rules, {mine}", n=len(built_in()), mine=mine), say("New rule of yours"), "")

    def show_rule(self, key: str) -> None:
        """Show one rule in full, with what it says on the job in hand."""
        self.key = key
        found = self.session.findings()
        detail = rulespage.detail(key, self.own, self.session.tables, found)
        own = detail is not None and bool(detail.own_id) and self.keeper is not None
        self.change.setVisible(own)
        self.remove.setVisible(own)
        self.put_back.setVisible(self.keeper is not None and self.keeper.can_put_back)
        if detail is None:
            return
        self.top.say(detail.heading)
        self.family.say(detail.family)
        self.about.say(detail.about)
        self.now.say("\n".join(say("On this job: {words}", words=words) for words in detail.now))
        self.remedy.say(say("What to do: {words}", words=detail.remedy) if detail.remedy else "")
        self.source.say(_source(detail.source))
        self.name.say(say("Its name: {rule}", rule=detail.rule_id) if detail.rule_id else "")
        for words in (self.family, self.now, self.remedy, self.source, self.name):
            words.setVisible(bool(words.text()))
        if key.startswith("skipped:") and self.keeper is not None:
            self.name.say(say("The file: {path}", path=str(self.keeper.path)))
            self.name.show()

    def on_enter(self, event: QKeyEvent) -> None:
        if QApplication.focusWidget() in self.picks.stops():  # there Enter means: this one
            if self.picks.value is None:
                self.picks.list.step(0)
            if self._own_id():
                self.form_asked.emit(self._own_id())
        else:
            super().on_enter(event)

    def _own_id(self) -> str:
        return rulespage.own_id(self.key)

    def _follow(self) -> None:
        if self.isVisible():
            self.show_rule(self.key)

    def _remove(self) -> None:
        if self.keeper is None:
            return
        try:
            rule = self.keeper.remove(self._own_id())
        except RuleNotKept as no:
            self.said.emit(str(no))
            return
        self.ask()
        self.put_back.setFocus(Qt.FocusReason.OtherFocusReason)
        self.said.emit(say("{name} is taken out. Put it back: press Enter.", name=rule.name))

    def _put_back(self) -> None:
        if self.keeper is None:
            return
        try:
            rule = self.keeper.put_back()
        except RuleNotKept as no:
            self.said.emit(str(no))
            return
        self.ask(f"shop.{rule.id}")
        self.picks.take_focus()
        self.said.emit(say("{name} is back.", name=rule.name))


def _source(source: str) -> str:
    if not source or source.startswith(say("Place: {place}", place="")):
        return source
    return say("Where it comes from: {source}.", source=source.rstrip("."))


class RulesPage(QWidget):
    """The list of rules, and the form of one of the painter's own. Without a keeper nothing can be written."""

    letters = LETTERS
    left = Signal()
    said = Signal(str)

    def __init__(self, look: Look, session: Session, keeper: RuleKeeper | None = None) -> None:
        super().__init__()
        self.setObjectName("rules")
        self.session, self.keeper = session, keeper
        self.list = RuleList(look, session, keeper)
        self.form = RuleForm(look, session)
        self.pages = QStackedWidget()
        for sheet in (self.list, self.form):
            self.pages.addWidget(sheet)
            sheet.said.connect(self.said)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.pages)
        self.list.left.connect(self.left)
        self.list.form_asked.connect(self.write)
        self.form.left.connect(lambda: self._turn(self.list))
        self.form.kept.connect(self._keep)

    def ask(self, rule_id: str = "") -> None:
        """Show the list, and this rule of it: the name of a finding's rule will do."""
        self.list.ask(rule_id)
        self._turn(self.list)

    def write(self, own_id: str = "") -> None:
        """Show the form of one of the painter's own rules, or of a new one."""
        if self.keeper is None:
            self.said.emit(say("Nothing can be kept here: this window has no folder for your rules."))
            return
        self.form.open(self.keeper.rule(own_id) if own_id else None, sorted(self.keeper.taken))
        self._turn(self.form)

    def _keep(self, rule: ShopRule) -> None:
        if self.keeper is None:
            return
        try:
            self.keeper.keep(rule)
        except RuleNotKept as no:
            self.said.emit(str(no))
            return
        self.form.settle()
        self.ask(f"shop.{rule.id}")
        self.said.emit(say("{name} is among your rules.", name=rule.name))

    def _turn(self, sheet: Sheet) -> None:
        if sheet is self.list and self.pages.currentWidget() is not sheet:
            self.list.ask()
        self.pages.setCurrentWidget(sheet)
        if self.isVisible():
            sheet.take_focus()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        sheet = self.pages.currentWidget()
        if isinstance(sheet, Sheet):
            sheet.take_focus()

    def event(self, event: QEvent) -> bool:
        # The bench's letters are acts. Here they are typed, or do nothing; Esc in the form goes back to the list.
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            own = not event.modifiers() & _ITS_OWN and not Qt.Key.Key_F1 <= event.key() <= Qt.Key.Key_F35
            escape = event.key() == Qt.Key.Key_Escape
            if own and not is_heard(event) and (not escape or self.pages.currentWidget() is self.form):
                event.accept()
                return True
        return super().event(event)
