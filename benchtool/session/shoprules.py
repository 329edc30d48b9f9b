"""The painter's own rules: kept in one file for all jobs, and handed to the rules as data."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from benchtool.job.shoprules import ShopRule, SkippedRule
from benchtool.rules.finding import Tables
from benchtool.rules.ownterms import faults
from benchtool.session.library import NotKept
from benchtool.store.shoprules import NAME, NotWritten, RuleFile, place_of, read_rules, rules_file, written


class RuleNotKept(NotKept):
    """A change of the painter's rules could not be kept; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class OwnRules:
    """The rules that work, and those that are skipped with the reason and the place of each."""

    rules: tuple[ShopRule, ...] = ()
    skipped: tuple[SkippedRule, ...] = ()

    def into(self, tables: Tables) -> Tables:
        """Give the tables with these rules in them."""
        return replace(tables, shop_rules=self.rules, skipped=self.skipped)


def own_rules(path: Path, substrates: Collection[str]) -> OwnRules:
    """Read the rules of a file, or of the one in that folder; a file that is not there holds none."""
    keeper = RuleKeeper(path.parent, substrates, path.name) if path.is_file() else RuleKeeper(path, substrates)
    return keeper.own


class RuleKeeper:
    """The rules kept in a folder, read when they are first asked for and again where their file was changed.

    `substrates` are the ids that a rule may name.
    """

    def __init__(self, folder: Path, substrates: Collection[str], name: str = NAME) -> None:
        self._file = rules_file(folder, name)
        self._substrates = frozenset(substrates)
        self._read: tuple[RuleFile, str, OwnRules] | None = None
        self._removed: tuple[int, Any, ShopRule] | None = None
        self._listeners: list[Callable[[], None]] = []

    @property
    def path(self) -> Path:
        """Where the file lies."""
        return self._file.path

    @property
    def own(self) -> OwnRules:
        """The rules as the file holds them now."""
        held = self._file.read()
        if self._read is None or self._read[0] is not held or self._read[1] != self._file.fault:
            self._read = (held, self._file.fault, self._sorted(held))
        return self._read[2]

    @property
    def fault(self) -> str:
        """Why the file can't be used or written to, as a sentence; empty where it can."""
        self._file.read()
        return self._file.fault

    @property
    def taken(self) -> frozenset[str]:
        """The ids that the file has, those of rules that are skipped among them."""
        ids = (raw.get("id") for raw in self._file.read().rules if isinstance(raw, dict))
        return frozenset(i for i in ids if isinstance(i, str))

    @property
    def can_put_back(self) -> bool:
        """Whether a rule was removed that can be put back."""
        return self._removed is not None

    def subscribe(self, listener: Callable[[], None]) -> None:
        """Call `listener` after every change made here."""
        self._listeners.append(listener)

    def rule(self, rule_id: str) -> ShopRule | None:
        """Find a rule that works; None where there is none of that id."""
        return next((r for r in self.own.rules if r.id == rule_id), None)

    def keep(self, rule: ShopRule) -> None:
        """Keep a rule in place of the one of its id, else as the last one.

        Raises:
            RuleNotKept: it can't be understood, or could not be written.
        """
        wrong = next(faults(rule, self._substrates), None)
        if wrong is not None:
            raise RuleNotKept(wrong[1])
        self._change(lambda rules: _with(rules, rule))

    def remove(self, rule_id: str) -> ShopRule:
        """Take a rule out of the file; `put_back` brings it in again.

        Raises:
            RuleNotKept: there is none of that id, or the file could not be written.
        """
        rule = self.rule(rule_id)
        if rule is None:
            raise RuleNotKept("This rule is no longer in your file: somebody took it out.")
        removed: list[tuple[int, Any]] = []

        def without(rules: tuple[Any, ...]) -> tuple[Any, ...]:
            at = place_of(rules, rule_id)
            if at is None:
                return rules
            removed[:] = [(at, rules[at])]
            return (*rules[:at], *rules[at + 1 :])

        self._change(without)
        if removed:
            self._removed = (*removed[0], rule)
        return rule

    def put_back(self) -> ShopRule:
        """Bring back the rule that was removed last, in its old place.

        Raises:
            RuleNotKept: none was removed, another has its id now, or the file could not be written.
        """
        if self._removed is None:
            raise RuleNotKept("No rule was removed.")
        place, raw, rule = self._removed
        if self.rule(rule.id) is not None:
            raise RuleNotKept("Another rule has its id by now: change that one.")
        self._change(lambda rules: (*rules[:place], raw, *rules[place:]))
        self._removed = None
        return rule

    def _change(self, how: Callable[[tuple[Any, ...]], tuple[Any, ...]]) -> None:
        try:
            self._file.change(lambda held: RuleFile(rules=how(held.rules)))
        except NotWritten as fault:
            raise RuleNotKept(str(fault)) from None
        for listener in tuple(self._listeners):
            listener()

    def _sorted(self, held: RuleFile) -> OwnRules:
        rules: list[ShopRule] = []
        skipped: list[SkippedRule] = []
        if self._file.fault:
            skipped.append(SkippedRule(name="", why=self._file.fault))
        for i, rule in enumerate(read_rules(held)):
            if isinstance(rule, SkippedRule):
                skipped.append(rule)
                continue
            wrong = next(faults(rule, self._substrates), None)
            if wrong is None:
                rules.append(rule)
            else:
                place = ".".join(x for x in (f"$.rules[{i}]", wrong[0]) if x)
                skipped.append(SkippedRule(name=rule.name, why=wrong[1], place=place))
        return OwnRules(tuple(rules), tuple(skipped))


def _with(rules: tuple[Any, ...], rule: ShopRule) -> tuple[Any, ...]:
    found = place_of(rules, rule.id)
    place = len(rules) if found is None else found
    return (*rules[:place], written(rule), *rules[place + 1 :])
