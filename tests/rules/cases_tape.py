"""Cases for the rules of tape."""

from builders import JobBuilder, minutes
from rules.case_book import coloured, fails, panel, passes


def masked() -> JobBuilder:
    """A panel that was masked bare, with its colour on."""
    return panel().mask().ready("promoter").coats(2, apart=minutes(15)).wait(minutes=30).ready("colour").coat()


def finished() -> JobBuilder:
    """The same, with its last coat on."""
    return masked().wait(minutes=10).coat()


@fails("tape.left-on")
def a_day_after_the_last_coat() -> JobBuilder:
    return finished().wait(hours=24)


@fails("tape.left-on")
def tape_for_a_week_and_paint_still_to_come() -> JobBuilder:
    return masked().wait(days=7)


@passes("tape.left-on")
def the_evening_after_the_last_coat() -> JobBuilder:
    return finished().wait(hours=12)


@passes("tape.left-on")
def lifted_at_once() -> JobBuilder:
    return finished().unmask().wait(days=30)


@passes("tape.left-on")
def a_day_between_two_layers() -> JobBuilder:
    return masked().wait(hours=30)


@passes("tape.left-on")
def never_masked() -> JobBuilder:
    return coloured().wait(days=30)


@fails("tape.heat")
def baked_with_the_tape_on() -> JobBuilder:
    return masked().wait(hours=1).heat(80)


@fails("tape.heat")
def was_baked_and_the_tape_is_still_there() -> JobBuilder:
    return masked().wait(hours=1).heat(80).wait(minutes=30).heat_off().wait(hours=1)


@passes("tape.heat")
def warmed_with_the_tape_on() -> JobBuilder:
    return masked().wait(hours=1).heat(60)


@passes("tape.heat")
def baked_when_the_tape_was_off() -> JobBuilder:
    return masked().unmask().wait(hours=1).heat(80)


@passes("tape.heat")
def taped_when_it_had_cooled() -> JobBuilder:
    bench = panel().ready("promoter").coats(2, apart=minutes(15)).wait(hours=1).heat(80).wait(hours=1).heat_off()
    return bench.wait(hours=24).mask()
