"""What a record shows of the painter's own waits, cups and pours, worked by hand."""

from datetime import timedelta

import pytest
from builders import CLEAR, COLOUR, PROMOTER, URETHANE, JobBuilder, hours, minutes
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cardpaces import DoublingPacing
from benchtool.job.cards import CardTime
from benchtool.job.learned import how_measured, learned
from benchtool.job.learnedcases import How, Kept, Wait

FLASH, OPENS = CardTime.FLASH, CardTime.RECOAT_OPENS


def waits(b: JobBuilder, time: CardTime) -> list[Wait]:
    return [w for w in learned(b.state).waits if w.time is time]


def coats(*apart: float) -> JobBuilder:
    """A colour with a flash of 10 min and 15 at most, its coats so many minutes apart."""
    card = replace(COLOUR, flash_most=minutes(15))
    b = JobBuilder().card(card).piece("panel", name="Panel").layer("l1", card, len(apart) + 1).coat(mix=None)
    for each in apart:
        b.wait(minutes=each).coat(mix=None)
    return b


def test_a_flash_is_the_wait_between_two_coats_beside_what_the_card_asks() -> None:
    first, second = waits(coats(9, 12), FLASH)
    assert (first.took, first.asked, first.kept) == (minutes(9), minutes(10), Kept.EARLY)
    assert (second.took, second.coat, second.kept) == (minutes(12), 2, Kept.WITHIN)
    assert (second.by_card, second.closes_by_card) == (minutes(10), minutes(15))
    assert (second.place.piece, second.place.piece_name, second.place.layer) == ("panel", "Panel", "l1")


@pytest.mark.parametrize(
    ("apart", "kept"), [(9.99, Kept.EARLY), (10, Kept.WITHIN), (15, Kept.WITHIN), (15.01, Kept.LATE)]
)
def test_both_ends_of_a_window_are_within(apart: float, kept: Kept) -> None:
    assert [w.kept for w in waits(coats(apart), FLASH)] == [kept]


def test_a_wait_that_the_cold_asked_for_is_no_longer_wait_of_the_painters_own() -> None:
    # Doubled for 10 degrees colder: at 10 degrees the flash of 10 min takes 20 min; 30 min are half as long again.
    card = replace(COLOUR, paces={FLASH: DoublingPacing(reference_degC=20.0)})
    b = JobBuilder().card(card).piece().layer("l1", card, 2).read_air(10.0, 50.0)
    b.coat(mix=None).wait(minutes=30).coat(mix=None)
    (wait,) = waits(b, FLASH)
    assert wait.asked == minutes(20)
    assert wait.took == minutes(30)
    assert wait.in_card_time == minutes(15)
    assert wait.kept is Kept.WITHIN


def test_a_coat_taken_back_counts_for_nothing_and_a_corrected_one_as_it_was() -> None:
    b = coats(12, 12)
    assert len(waits(b, FLASH)) == 2
    b.undo().undo()
    assert len(waits(b, FLASH)) == 1
    done = next(e for e in b.job.events if isinstance(e, ev.CoatDone))
    began = [e for e in b.job.events if isinstance(e, ev.CoatStarted)][1]
    b.correct(done.id, began.at - minutes(8))
    assert [w.took for w in waits(b, FLASH)] == [minutes(8)]


def test_the_next_layer_after_the_window_is_late_and_says_that_it_was_scuffed() -> None:
    def over(wait_h: float, *, scuff: bool) -> Wait:
        b = JobBuilder().card(COLOUR, CLEAR).piece().layer("l1", COLOUR, 1).layer("l2", CLEAR, 2)
        b.coat("l1", mix=None).wait(hours=wait_h)
        if scuff:
            b.prep("scuff")
        b.coat("l2", mix=None)
        (wait,) = waits(b, OPENS)
        return wait

    assert (over(1, scuff=False).kept, over(1, scuff=True).scuffed) == (Kept.WITHIN, False)
    late = over(25, scuff=True)
    assert (late.kept, late.scuffed, late.closes_by_card) == (Kept.LATE, True, hours(24))
    assert over(25, scuff=False).scuffed is False
    assert late.place.layer == "l1"


def test_stand_times_end_with_the_reducer_and_with_the_first_coat() -> None:
    b = JobBuilder().card(PROMOTER).piece().layer("l1", PROMOTER, activator="rigid").mix("l1", make_mL=40)
    b.pour("base", 20).pour("activator", 0.4).stir("activated").wait(minutes=6)
    b.pour("reducer", 20.4).stir("reduced").wait(minutes=8).coat()
    (stand,), (reduced,) = waits(b, CardTime.STAND), waits(b, CardTime.STAND_REDUCED)
    assert (stand.took, stand.by_card, stand.kept) == (minutes(6), minutes(5), Kept.WITHIN)
    assert (reduced.took, reduced.by_card, reduced.kept) == (minutes(8), minutes(10), Kept.EARLY)


def test_a_pot_life_is_a_deadline_from_the_activator_to_the_last_coat() -> None:
    b = JobBuilder().card(CLEAR).piece().layer("l1", CLEAR, 2, activator="slow").mix("l1", make_mL=30)
    b.pour("base", 20).pour("activator", 10).stir("activated").wait(minutes=30).coat().wait(minutes=100).coat()
    (life,) = waits(b, CardTime.POT_LIFE)
    assert (life.took, life.asked, life.kept) == (minutes(130), None, Kept.LATE)
    assert life.in_card_time == minutes(130)


def test_tape_and_cure_are_known_only_where_something_was_done_after() -> None:
    b = JobBuilder().card(CLEAR).piece().layer("l1", CLEAR, 2).coats(2, apart=minutes(20))
    assert waits(b, CardTime.TAPE) == waits(b, CardTime.CURE) == []
    b.wait(hours=10).prep("tack").wait(hours=10).mask().wait(hours=1).unmask().wait(hours=147).prep("wash")
    (tape,), (cure,) = waits(b, CardTime.TAPE), waits(b, CardTime.CURE)
    assert (tape.took, tape.kept) == (hours(20), Kept.EARLY)
    assert (cure.took, cure.kept) == (timedelta(days=7), Kept.WITHIN)


def test_a_strip_says_so() -> None:
    b = JobBuilder().plan_trial({"None": [COLOUR], "Two": [COLOUR]})
    b.change_layer("t1-1-a", coats=2).coat("t1-1-a", mix=None).wait(minutes=12).coat("t1-1-a", mix=None)
    assert [w.place.strip for w in waits(b, FLASH)] == [True]


def cup(left_mL: float | None = None) -> JobBuilder:
    b = JobBuilder().card(URETHANE).piece().layer("l1", URETHANE, 2, activator="hard").mix("l1", make_mL=60)
    return b.pour("base", 40, typed="40 mL").pour("activator", 22, typed="22 mL").coat().empty(left_mL=left_mL)


def test_what_is_left_of_a_cup_is_waste_and_where_nobody_said_it_is_not_known() -> None:
    (use,) = learned(cup(15.5).state).cups
    assert (use.wanted_mL, use.poured_mL, use.left_mL, use.wasted) == (60, 62, 15.5, 0.25)
    (unsaid,) = learned(cup().state).cups
    assert unsaid.wasted is None
    (nothing,) = learned(cup(0.0).state).cups
    assert nothing.wasted == 0.0


def test_a_cup_that_was_never_used_is_no_case() -> None:
    b = JobBuilder().card(COLOUR).piece().layer("l1", COLOUR, 1).mix("l1").pour("base", 10)
    assert learned(b.state).cups == ()


def test_a_part_is_held_against_its_share_of_what_was_poured_of_the_rest() -> None:
    # 50 % of 40 mL base are 20 mL; 22 mL are 10 % too much, whatever the 60 mL of the cup.
    (pour,) = learned(cup().state).pours
    assert (pour.part, pour.wanted_mL, pour.poured_mL) == ("Clear hardener", pytest.approx(20), 22)
    assert pour.off_percent == pytest.approx(10)
    assert pour.how is How.MEASURED
    assert pour.within is (pour.allowed_percent >= 10)


def test_a_reducer_with_a_range_is_the_painters_choice_and_no_error() -> None:
    b = JobBuilder().card(COLOUR).piece().layer("l1", COLOUR, 1).mix("l1")
    b.pour("base", 20, typed="20 mL").pour("reducer", 30, typed="30 mL").coat(mix=None)
    assert learned(b.state).pours == ()


@pytest.mark.parametrize(
    ("typed", "how"),
    [
        (["22.4 g on the scale"], How.WEIGHED),
        (["12 drops"], How.DROPS),
        (["1 drop", "2 mL"], How.DROPS),
        (["20 mL"], How.MEASURED),
        (["1/2 fl oz"], How.MEASURED),
        ([""], How.AS_ASKED),
        (["2 mL", ""], How.AS_ASKED),
    ],
)
def test_how_a_part_was_measured_is_read_from_the_painters_words(typed: list[str], how: How) -> None:
    assert how_measured(typed) is how


def test_a_touch_up_holds_the_same_wait_once_more_and_it_is_known_again() -> None:
    (a,), (b) = waits(coats(12), FLASH), waits(coats(12), FLASH)
    assert [w.same for w in b] == [a.same]
    assert waits(coats(13), FLASH)[0].same != a.same
