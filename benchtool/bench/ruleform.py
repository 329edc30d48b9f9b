"""The form of one of the painter's own rules: its words, its conditions, and what it would say on the job in hand."""

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.planparts import Buttons, Options, Typed
from benchtool.bench.plansheet import Section, Sheet, Unfinished
from benchtool.job.shoprules import Compare, ShopRule, Weight
from benchtool.rules.ownterms import TERMS, Kind, Term, weight_words
from benchtool.session import rulespage
from benchtool.session.cardfields import Wrong
from benchtool.session.rulespage import MOST, REQUIRE, WHEN, ConditionText, RuleText
from benchtool.session.session import Session
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

NEW = ""
"""What an unfinished new rule is kept by; others by their id."""


class RuleForm(Sheet):
    """One rule. Nothing is kept before its button is pressed; what was half typed is there again on coming back."""

    said = Signal(str)
    kept = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "rule-form", least=44 * GRID, most=72 * GRID)
        self.session = session
        self.taken: Sequence[str] = ()
        self.text = RuleText()
        self.place: tuple[str, int] | None = None
        self._several: tuple[str, ...] = ()
        self.unfinished = Unfinished[RuleText]()
        self.back.say(say("Back to the rules"))
        self.sentence = Words(look, "strong", "ink")
        self.sentence.setObjectName("rule-sentence")
        self.tried = Words(look, "small", "quiet")
        self.tried.setObjectName("rule-tried")
        self._make_words(look)
        self._make_conditions(look)
        self._make_editor(look)
        self.asks.update(
            name=self.rule_name, words=self.words, remedy=self.remedy, weight=self.weight, conditions=self.conditions,
            new=self.new_row, group=self.group, of=self.of, how=self.how, value=self.value, values=self.values,
            substrates=self.substrates,
        )  # fmt: skip
        self.first = "name"
        self.lay_out((self.told, self.listed, self.editor), {1: ((0, 1, 2),), 2: ((0, 1), (2,)), 3: ((0,), (1,), (2,))})
        self.entered.connect(self.enter)

    # --- what it is made of --------------------------------------------------------------------------

    def _make_words(self, look: Look) -> None:
        self.told = Section(look, say("What you are told"))
        self.rule_name = Typed(look, say("What do you call the rule?"), "rule-name", say("Metal skins over"))
        self.words = Typed(look, say("In your words"), "rule-words", say("Abrade it again before the primer."))
        self.remedy = Typed(
            look, say("What to do then, if you like"), "rule-remedy", say("Scuff, wipe, and prime at once.")
        )
        self.weight = Options(look, say("How grave is it?"), "rule-weight")
        self.weight.offer([(w.value, _capital(weight_words(w))) for w in Weight], Weight.CAUTION.value)
        self.weight.explain(say("A stop asks for a reason before the coat; a note only tells."))
        self.told.add(self.rule_name, self.words, self.remedy, self.weight)
        for field in (self.rule_name, self.words, self.remedy):
            field.edit.textEdited.connect(lambda _: self._retell())
        self.weight.chosen.connect(lambda _: self._retell())

    def _make_conditions(self, look: Look) -> None:
        self.listed = Section(look, say("Its conditions"))
        self.conditions = PickList(look, say("Choose one to change it"), "rule-conditions", rows=2 * MOST)
        self.conditions.chosen.connect(self._open_condition)
        self.new_condition = BenchButton(look, say("New condition"), name="rule-new-condition")
        self.new_condition.clicked.connect(lambda: self._new_condition(focus=True))
        self.drop = BenchButton(look, say("Take it out"), name="rule-drop-condition")
        self.drop.clicked.connect(self._drop)
        self.new_row = Buttons((self.new_condition, self.drop))
        self.listed.add(self.conditions, self.new_row, self.sentence, self.tried)

    def _make_editor(self, look: Look) -> None:
        self.editor = Section(look, say("The condition in hand"))
        self.group = Options(look, say("It says"), "rule-group")
        self.group.offer([(WHEN, say("Where it holds")), (REQUIRE, say("What must be"))], WHEN)
        self.of = PickList(look, say("What it looks at"), "rule-of", rows=3, search=say("Search, such as air"))
        self.of.searched.connect(lambda _: self._list_terms())
        self.of.chosen.connect(lambda _: self._take_term())
        self.how = Options(look, say("How it is compared"), "rule-how")
        self.how.chosen.connect(lambda _: self._suit())
        self.values = Options(look, say("Which"), "rule-values", several=True)
        self.substrates = PickList(
            look, say("Which substrate"), "rule-substrates", rows=4, search=say("Search, such as ABS")
        )
        self.substrates.searched.connect(lambda _: self._list_substrates())
        self.value = Typed(look, say("How much"), "rule-value")
        self.put = self.add_button(say("Put the condition in"), "rule-put-condition")  # at the foot: always in view
        self.put.clicked.connect(self._put)
        line = QWidget()
        row = QHBoxLayout(line)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.value, 1)
        self.editor.add(self.group, self.of, self.how, self.values, self.substrates, line)

    # --- going about ---------------------------------------------------------------------------------

    def open(self, rule: ShopRule | None, taken: Sequence[str]) -> None:
        """Turn to a rule, or to a new one; `taken` are the ids of those that there are."""
        self.unfinished.leave(self._typed())
        self.taken = taken
        fresh = rulespage.write_rule(rule) if rule is not None else RuleText()
        self.head(
            say("Change “{name}”", name=shorten(rule.name)) if rule is not None else say("A rule of your own"),
            say("Keep the rule"),
            "",
        )
        half = self.unfinished.come(rule.id if rule is not None else NEW, fresh)
        self._fill(half or fresh)
        self.complain(())

    def _fill(self, text: RuleText) -> None:
        self.text = text
        self.rule_name.fill(text.name)
        self.words.fill(text.words)
        self.remedy.fill(text.remedy)
        self.weight.choose(text.weight)
        self._new_condition()
        if text.editing != ConditionText():
            self._show(text.editing)

    def _typed(self) -> RuleText:
        editing = self._condition() if self.place is None else ConditionText()
        return replace(
            self.text, name=self.rule_name.text(), words=self.words.text(), remedy=self.remedy.text(),
            weight=self.weight.value or Weight.CAUTION.value,
            editing=editing if editing.of else ConditionText(),
        )  # fmt: skip

    def enter(self) -> None:
        """Keep the rule with the condition in hand, or say what is wrong with either and keep nothing."""
        self.complain(())
        if self._in_hand() and not self._take_condition():
            return
        try:
            rule = rulespage.read_rule(self._typed(), self.taken, self.session.tables.substrates)
        except Wrong as wrong:
            message = self.complain(wrong.faults)
            self.said.emit(say("Not yet: {why}", why=f"{message[:1].lower()}{message[1:]}"))
            return
        self.kept.emit(rule)

    def settle(self) -> None:
        """The rule is kept: what is typed is no longer half done."""
        self.unfinished.done()

    def on_enter(self, event: QKeyEvent) -> None:
        here = QApplication.focusWidget()
        if here is not None and self.editor.isAncestorOf(here):
            self._put()
        else:
            super().on_enter(event)

    # --- the conditions ------------------------------------------------------------------------------

    def _list(self, chosen: str | None = None) -> None:
        told = rulespage.conditions_words(self.text, self.session.tables)
        names = {WHEN: say("where it holds"), REQUIRE: say("what must be")}
        self.conditions.fill([PickRow(k, words, names[k.partition(":")[0]]) for k, words in told], chosen)
        self.conditions.explain("" if told else say("None yet: choose below what it looks at."))
        self.drop.setVisible(chosen is not None)
        self._retell()

    def _open_condition(self, key: str) -> None:
        group, _, number = key.partition(":")
        self.place = (group, int(number))
        self.drop.show()
        self._show(rulespage.write_condition(self.text.group(group)[int(number)]), group)

    def _new_condition(self, *, focus: bool = False) -> None:
        self.place = None
        self._list()
        self._show(ConditionText(), self.group.value or WHEN)
        if focus:
            self.of.take_focus()
            self.show_focus()

    def _show(self, condition: ConditionText, group: str | None = None) -> None:
        if group is not None:
            self.group.choose(group)
        self.of.search.fill("")
        self._list_terms(condition.of)
        self._suit(condition)

    def _list_terms(self, chosen: str | None = None) -> None:
        words = self.of.search.text().lower().split()
        rows = [PickRow(k, name) for k, name in rulespage.terms() if all(w in name.lower() for w in words)]
        self.of.fill(rows, chosen if chosen is not None else self.of.value)

    def _list_substrates(self, chosen: str | None = None) -> None:
        words = self.substrates.search.text().lower().split()
        rows = [
            PickRow(s.id, _capital(s.name))
            for s in self.session.tables.substrates.values()
            if all(w in f"{s.name} {s.id}".lower() for w in words)
        ]
        self.substrates.fill(rows, chosen if chosen is not None else self.substrates.value)

    def _take_term(self) -> None:
        self._suit()
        asked = [x for x in (self.values, self.substrates, self.value) if not x.isHidden()]
        if asked:
            QTimer.singleShot(0, self, lambda: self.area.ensureWidgetVisible(asked[0]))

    def _term(self) -> Term | None:
        return TERMS.get(self.of.value or "")

    def _suit(self, condition: ConditionText | None = None) -> None:
        """Ask for what the term in hand can be compared with."""
        term = self._term()
        substrate = term is not None and term.kind is Kind.SUBSTRATE
        choices = term.choices if term is not None else ()
        self.how.setVisible(term is not None)
        self.values.setVisible(bool(choices))
        self.substrates.setVisible(substrate)
        self.value.setVisible(term is not None and not choices and not substrate)
        self.put.setVisible(term is not None)
        self.put.say(say("Change the condition") if self.place is not None else say("Put the condition in"))
        if term is not None:
            self._offer(term, condition)

    def _offer(self, term: Term, condition: ConditionText | None) -> None:
        before = self.how.value if condition is None else condition.how
        compares = [c for c in term.compares if c is not Compare.ONE_OF or term.kind is Kind.TEXT]
        if term.choices or term.kind is Kind.SUBSTRATE:
            compares = [Compare.IS, Compare.IS_NOT]
        how = Compare.IS.value if before == Compare.ONE_OF.value and term.choices else before
        self.how.offer([(c.value, _capital(how_words(c))) for c in compares], how or compares[0].value)
        if self.how.value is None:
            self.how.choose(compares[0].value)
        kept = self.values.values if condition is None else condition.values
        self.values.offer([(c, _capital(c)) for c in term.choices], kept)
        self.value.edit.setPlaceholderText(term.hint)
        label = say("How long ago") if term.kind is Kind.SPAN else say("How much") if term.hint else say("Which words")
        self.value.label.say(label)
        self.value.edit.setAccessibleName(label)
        if condition is not None:
            self.value.fill(condition.typed)
            self.substrates.search.fill("")
            # The list takes one: several from the file stay together until another one is chosen.
            self._several = condition.values if condition.how == Compare.ONE_OF.value else ()
        self._list_substrates(None if condition is None else next(iter(condition.values), ""))

    def _condition(self) -> ConditionText:
        term = self._term()
        if term is None:
            return ConditionText()
        order = [c for c in term.choices if c in self.values.values]
        chosen = (self.substrates.value,) if term.kind is Kind.SUBSTRATE and self.substrates.value else tuple(order)
        how = self.how.value or ""
        if term.kind is Kind.SUBSTRATE and how == Compare.IS.value and chosen == self._several[:1]:
            chosen = self._several
        if len(chosen) > 1 and how == Compare.IS.value:
            how = Compare.ONE_OF.value
        return ConditionText(term.id, how, self.value.text(), chosen)

    def _in_hand(self) -> bool:
        """Say whether the condition in hand says what the rule does not have yet."""
        if self._term() is None:
            return False
        if self.place is None:
            return True
        group, number = self.place
        kept = rulespage.write_condition(self.text.group(group)[number])
        return self._condition() != kept or self.group.value != group

    def _put(self) -> None:
        """Put the condition in hand into the rule, or say what is wrong with it; the next one can be typed."""
        self.complain(())
        if self._take_condition():
            self._new_condition(focus=True)

    def _take_condition(self) -> bool:
        """Take the condition in hand into the rule, or say what is wrong with it; says which."""
        text = self._condition()
        group = self.group.value or WHEN
        try:
            if len(text.values) > 1 and text.how == Compare.IS_NOT.value:
                raise Wrong([("value", say("Choose one; for each other that it must not be, add a condition."))])
            condition = rulespage.read_condition(text, self.session.tables.substrates)
            there = list(self.text.group(group))
            if self.place is not None and self.place[0] == group:
                there[self.place[1]] = condition
            elif len(there) >= MOST:
                raise Wrong([("of", say("{n} are the most: write a second rule for the rest.", n=MOST))])
            else:
                there.append(condition)
        except Wrong as wrong:
            self._complain_of(wrong, text)
            return False
        if self.place is not None and self.place[0] != group:
            self._out(self.place)
        self.text = self.text.with_group(group, there)
        self._new_condition()
        return True

    def _complain_of(self, wrong: Wrong, text: ConditionText) -> None:
        term = TERMS.get(text.of)
        field = (
            "of"
            if term is None
            else "substrates"
            if term.kind is Kind.SUBSTRATE
            else "values"
            if term.choices
            else "value"
        )
        message = self.complain([(key if key == "of" else field, said) for key, said in wrong.faults])
        self.said.emit(
            say(
                "Not yet: the condition in hand is not finished. {why} “New condition” leaves it out.",
                why=message,
            )
        )

    def _out(self, place: tuple[str, int]) -> None:
        group, number = place
        rest = [c for i, c in enumerate(self.text.group(group)) if i != number]
        self.text = self.text.with_group(group, rest)

    def _drop(self) -> None:
        if self.place is not None:
            self._out(self.place)
            self._new_condition()
            self.new_condition.setFocus()

    # --- what it would say ---------------------------------------------------------------------------

    def _retell(self) -> None:
        text, session = self._typed(), self.session
        said = rulespage.sentence(text, session.tables)
        self.sentence.say(said or say("Add a condition, and the rule reads back here."))
        tried = rulespage.tried(text, session.current, session.tables, session.now())
        self.tried.say("\n".join(tried))
        self.sentence.setAccessibleName(self.sentence.text())


def how_words(how: Compare) -> str:
    """Say how a term is compared, as on a button."""
    return {
        Compare.IS: say("is"),
        Compare.IS_NOT: say("is not"),
        Compare.ONE_OF: say("is one of"),
        Compare.CONTAINS: say("contains"),
        Compare.AT_LEAST: say("at least"),
        Compare.AT_MOST: say("at most"),
    }[how]


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
