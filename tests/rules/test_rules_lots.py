"""What the rule on old lots says, and how often."""

from builders import CLEAR, START, JobBuilder, hours, minutes
from rules.cases_lots import DAY, HARDENER, KEEPS, opened, to_clear

from benchtool.rules.finding import Severity

RULE = "lots.past-date"


def test_it_says_which_can_by_how_much_and_by_what() -> None:
    found = opened(35, keeps_opened=30 * DAY).one(RULE)
    assert found.severity is Severity.CAUTION
    assert found.message == "The can of Slow hardener (lot 7) is 5 days past how long it keeps once opened."
    assert "cloudy" in found.remedy
    by_date = to_clear().take(CLEAR, "Base", best_before=START - 3 * DAY).one(RULE)
    assert by_date.message == "The can of Base is 3 days past the date on the can."
    assert "cloudy" not in by_date.remedy
    by_shelf = to_clear(KEEPS).take(KEEPS, "Base", got_on=START - 370 * DAY).one(RULE)
    assert by_shelf.message == "The can of Base is 5 days past its shelf life."


def test_the_earliest_end_is_the_one_that_counts() -> None:
    bench = opened(40, keeps_opened=30 * DAY, best_before=START - DAY)
    assert "10 days past how long it keeps once opened" in bench.one(RULE).message


def test_it_comes_with_time_alone() -> None:
    bench = to_clear().take(CLEAR, HARDENER, best_before=START + hours(1))
    assert bench.of(RULE, START + hours(1)) == ()
    assert bench.of(RULE, START + hours(1) + minutes(1))


def test_one_can_is_one_matter_before_and_after_the_coats() -> None:
    bench = to_clear().take(CLEAR, HARDENER, best_before=START - DAY)
    bench.piece("lid").prep("wash").layer("lid-clear", CLEAR, activator="slow")
    before = bench.one(RULE)
    bench.waive(before).ready("clear").share("lid-clear").coat("clear").wait(minutes=5).coat("lid-clear")
    assert bench.one(RULE).key == before.key
    assert bench.one(RULE).waived


def test_what_went_on_is_told_by_the_age_it_had_when_poured() -> None:
    bench = to_clear().take(CLEAR, HARDENER, best_before=START - DAY).ready().coats(2, apart=minutes(15)).empty()
    told = bench.one(RULE, START + 900 * DAY)
    assert (
        told.message
        == "Coat 1 of Two-part clear was mixed from the can of Slow hardener when it was 24 h past the date on the can."
    )
    assert "Test" in told.remedy


def test_it_never_stands_in_the_way_of_a_coat() -> None:
    bench = to_clear().take(CLEAR, HARDENER, best_before=START - DAY).ready()
    assert bench.in_the_way() == set()
    assert RULE in bench.rules()


def test_undoing_the_can_takes_the_finding_back() -> None:
    bench: JobBuilder = to_clear().take(CLEAR, HARDENER, best_before=START - DAY)
    assert bench.of(RULE)
    assert bench.undo().of(RULE) == ()
