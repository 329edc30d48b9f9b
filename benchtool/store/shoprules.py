"""The painter's own rules in one file: each rule is read by itself, so that one that is wrong spoils no other."""

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

import msgspec
from msgspec import Meta, ValidationError

from benchtool.job.fields import Record
from benchtool.job.shoprules import ShopRule, SkippedRule
from benchtool.store.faults import misshapen
from benchtool.store.files import one_line
from benchtool.store.shopfile import NotWritten, ShopFile

NAME = "shop-rules.json"
FORMAT = "bench rules"
SCHEMA = 1
MOST = 500
"""So many rules nobody can keep in mind (judgement)."""


class RuleFile(Record, frozen=True, kw_only=True, omit_defaults=False):
    """What the file holds: the rules as they are written there, the wrong ones too."""

    rules: Annotated[tuple[Any, ...], Meta(max_length=MOST)] = ()


def rules_file(folder: Path, name: str = NAME) -> ShopFile[RuleFile]:
    """Give the file of rules in `folder`."""
    return ShopFile(folder / name, what="Your rules", head=(FORMAT, SCHEMA), kind=RuleFile, check=_nothing)


def _nothing(_: RuleFile) -> Iterator[tuple[str, str]]:
    yield from ()


def read_rules(file: RuleFile) -> Iterator[ShopRule | SkippedRule]:
    """Give each rule in turn, or why it is no rule: of the wrong shape, or under the id of another."""
    seen: set[str] = set()
    for i, raw in enumerate(file.rules):
        place = f"$.rules[{i}]"
        try:
            rule = msgspec.convert(raw, ShopRule)
        except ValidationError as fault:
            wrong = misshapen(str(fault), place)
            yield SkippedRule(name=_name(raw, i), why=wrong.wrong, place=wrong.place)
            continue
        if rule.id in seen:
            why = f"Another rule above it has the id “{rule.id}” already"
            yield SkippedRule(name=rule.name, why=why, place=f"{place}.id")
            continue
        seen.add(rule.id)
        yield rule


def place_of(rules: tuple[Any, ...], rule_id: str) -> int | None:
    """Find the rule of this id in the file: the first that can be read; None where there is none."""
    for i, raw in enumerate(rules):
        try:
            if msgspec.convert(raw, ShopRule).id == rule_id:
                return i
        except ValidationError:
            continue
    return None


def _name(raw: object, i: int) -> str:
    named = raw.get("name") or raw.get("id") if isinstance(raw, dict) else None
    return one_line(named, 60) if isinstance(named, str) and named.strip() else f"number {i + 1}"


def written(rule: ShopRule) -> Any:
    """Give a rule as the file holds it."""
    return msgspec.json.decode(msgspec.json.encode(rule))


__all__ = ["FORMAT", "NAME", "NotWritten", "RuleFile", "place_of", "read_rules", "rules_file", "written"]
