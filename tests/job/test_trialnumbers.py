"""One number for each strip of a job, the one in its name."""

from datetime import timedelta

import msgspec
import pytest
from compared_trials import NONE, TWO_PART, begun, plan_of

from benchtool.job import events as ev
from benchtool.job.trialnumbers import StripNumber, first_free, number_in, strip_numbers


@pytest.mark.parametrize(
    ("name", "number"),
    [
        ("Strip 1", "1"), ("Strip 16", "16"), ("Strip B1", "B1"), ("Strip Z1.12", "Z1.12"), ("Streifen 7 ", "7"),
        ("The left one", None), ("Strip 0", None), ("", None), ("Shell 2b", None),
    ],
)  # fmt: skip
def test_the_number_of_a_strip_is_read_from_its_name(name: str, number: str | None) -> None:
    read = number_in(name)
    assert (str(read) if read is not None else None) == number


def test_a_number_with_a_letter_is_written_with_it_everywhere() -> None:
    number = StripNumber(3, "B")
    assert (f"{number}", str(number), number.value, StripNumber(3).value) == ("B3", "B3", "B3", 3)


def _named(*names: str) -> dict[str, str]:
    plan = plan_of((TWO_PART, NONE), 2, control=NONE)
    b = begun(plan)
    for strip, name in zip(sorted(plan.strips, key=lambda s: (s.panel, s.place)), names, strict=True):
        piece = b.state.pieces[strip.piece].piece
        b.add(ev.PieceChanged, piece=msgspec.structs.replace(piece, name=name))
    return {str(n): b.state.pieces[p].piece.name for p, n in strip_numbers(b.state.trials[plan.id]).items()}


def test_strips_of_old_keep_the_letter_of_their_trial() -> None:
    assert list(_named("Strip B1", "Strip B2", "Strip B3", "Strip B4")) == ["B1", "B2", "B3", "B4"]


def test_strips_of_a_later_trial_go_on_counting() -> None:
    assert list(_named("Strip 16", "Strip 17", "Strip 18", "Strip 19")) == ["16", "17", "18", "19"]


def test_a_strip_with_another_name_keeps_the_number_of_its_place() -> None:
    assert list(_named("Strip 16", "Fell down", "Strip 18", "Strip 19")) == ["16", "17", "18", "19"]


def test_where_two_are_alike_all_are_numbered_by_their_places() -> None:
    assert list(_named("Strip 7", "Strip 7", "a", "b")) == ["1", "2", "3", "4"]


def test_the_next_trial_begins_after_the_highest_number() -> None:
    plan = plan_of((TWO_PART, NONE), 2, control=NONE)
    b = begun(plan)
    assert first_free(b.state) == 5
    b.wait(seconds=timedelta(days=1).total_seconds())
    b.add(ev.TrialEnded, trial=plan.id)
    assert first_free(b.state) == 5
