"""A job for what is told of the painter's own rules."""

from dataclasses import replace

from builders import JobBuilder
from rules.case_book import fails, passes

from benchtool.job.shoprules import Condition, ShopRule, SkippedRule, Weight
from benchtool.session.tables import load_tables

WORKS = ShopRule(
    id="thick", name="Thick", weight=Weight.NOTE, words="No.", when=(Condition(of="coats", is_="at least", value=9),)
)


@fails("own.skipped")
def one_rule_can_t_be_read() -> JobBuilder:
    gone = SkippedRule(name="Moon", why="“moon” is nothing that a rule can look at.", place="$.rules[0].when[0].of")
    return JobBuilder(tables=replace(load_tables(), shop_rules=(WORKS,), skipped=(gone,))).piece()


@passes("own.skipped")
def all_rules_work() -> JobBuilder:
    return JobBuilder(tables=replace(load_tables(), shop_rules=(WORKS,))).piece()
