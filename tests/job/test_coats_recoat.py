"""The recoat window between two coats of one layer, where the card gives no longest flash."""

from datetime import timedelta

from builders import CLEAR, COLOUR, JobBuilder
from msgspec.structs import replace

from benchtool.job.cards import CardTime, Trait
from benchtool.job.learned import waits_on
from benchtool.job.prepplan import Part, Standing, over_plan
from benchtool.job.windows import Window
from benchtool.session.due import short_words
from benchtool.sheets.calendar import entries
from benchtool.sheets.jobsheet_waits import before_coat
from benchtool.trade.windows import Phase, WindowKind

HOUR = timedelta(hours=1)


def between_coats(hours_later: float, *steps: str, **card: object) -> Window:
    """The window of coat 2 of a colour that opens after 30 min and closes after 8 h, with no longest flash."""
    changed = replace(COLOUR, **{"recoat_opens": timedelta(minutes=30), "recoat_closes": timedelta(hours=8), **card})
    bench = JobBuilder().card(changed).piece().prep("wash").layer("colour", changed, 2).ready().coat()
    bench.wait(hours=hours_later)
    for step in steps:
        bench.prep(step)
    (found,) = (w for w in bench.all_windows() if w.kind is WindowKind.FLASH)
    return found


def test_the_recoat_window_closes_between_coats_too_where_the_card_gives_no_longest_flash() -> None:
    # UFGS-09971 gives the recoat window of polyurethane over polyurethane, and takes off the gloss after it.
    flash = between_coats(0)
    started = flash.span.started_at
    assert (flash.span.opens_at - started, flash.span.closes_at) == (COLOUR.flash, started + 8 * HOUR)
    assert flash.words(started + 23 * HOUR) == "Recoat closed 15 h ago: scuff before coat 2"
    assert flash.words(started + HOUR) == "Coat 2 may go on now, for 7:00:00"


def test_a_scuff_after_it_closed_opens_the_next_coat_again_and_one_before_does_not() -> None:
    flash = between_coats(9, "scuff")
    assert flash.span.closes_at is None
    assert flash.phase(flash.span.started_at + 9 * HOUR) is Phase.OPEN
    early = between_coats(7, "scuff")
    assert early.phase(early.span.started_at + 9 * HOUR) is Phase.CLOSED


def test_a_longest_flash_of_the_card_goes_before_its_recoat_window() -> None:
    flash = between_coats(0, flash_most=timedelta(hours=2))
    assert flash.words(flash.span.started_at + 3 * HOUR) == "Coat 2 is 60 min late for the card"


def test_a_window_between_coats_never_closes_before_the_flash() -> None:
    flash = between_coats(0, flash=timedelta(hours=9))
    assert flash.span.closes_at == flash.span.opens_at


def test_what_closed_between_coats_is_scuffed_from_behind_only_on_its_back() -> None:
    bench = clear_first()
    (flash,) = (w for w in bench.all_windows() if w.kind is WindowKind.FLASH)
    later = flash.span.started_at + 30 * HOUR
    assert flash.words(later) == "Recoat closed 6 h ago: scuff the back of the paint, never the shell, before coat 2"


def clear_first() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece(face="behind clear").prep("wash").layer("clear", CLEAR, activator="slow")
    return bench.ready().coat()


def test_what_closed_between_coats_is_cleaned_and_then_scuffed() -> None:
    bench = clear_first()
    state, done = bench.state, bench.now
    for after, need in ((1, Standing.IF_NEEDED), (25, Standing.LATER)):
        steps = over_plan(state.pieces["panel"], "Clear", done + after * HOUR)
        assert next(s.state for s in steps if s.part is Part.SCUFF) is need, after
    clean = steps[0]  # a day old: it was handled, and dirt is not ground in
    assert (clean.part, clean.state) == (Part.DEGREASE, Standing.NEXT)


def test_a_metallic_takes_one_more_coat_of_itself_at_any_time() -> None:
    flash = between_coats(0, traits=(Trait.METALLIC,))
    assert flash.span.closes_at is None


def second_coat(*steps: str) -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, 2, activator="slow").ready().coat()
    return bench.wait(hours=25).prep(*steps).ready().coat()


def test_a_late_coat_stands_on_the_job_sheet_with_its_scuff_or_without() -> None:
    for steps, said in (((), "no scuff logged since"), (("scuff",), "scuffed first")):
        state = second_coat(*steps).state
        piece, layer = state.pieces["panel"], state.layers["clear"]
        words = before_coat(piece, layer, layer.coats[1])
        assert words.startswith("25 h after coat 1: 60 min after it had closed (card 15 min to 24 h); ")
        assert words.endswith(said)


def test_the_record_counts_a_scuffed_late_coat_as_scuffed() -> None:
    for steps, scuffed in (((), False), (("scuff",), True)):
        state = second_coat(*steps).state
        (wait,) = (w for w in waits_on(state, state.pieces["panel"], state.layers["clear"]) if w.time is CardTime.FLASH)
        assert (wait.closes, wait.scuffed) == (wait.since + 24 * HOUR, scuffed)


def test_the_calendar_says_when_a_coat_is_to_be_scuffed_for() -> None:
    bench = clear_first()
    opens, closes = (e for e in entries(bench.all_windows(), bench.now) if e.window.kind is WindowKind.FLASH)
    assert opens.what_to_do == "Spray coat 2."
    assert closes.summary.endswith("recoat closes for coat 2")
    assert closes.what_to_do == (
        "Have coat 2 on before this time. After it, scuff the back of the paint, never the shell, before coat 2."
    )


def test_from_across_the_shop_it_asks_for_a_scuff() -> None:
    bench = clear_first()
    (flash,) = (w for w in bench.all_windows() if w.kind is WindowKind.FLASH)
    assert short_words(flash, Phase.CLOSED) == "Scuff it first"
