"""A trial as text: what the page says first, every grade, and no more proved than there is."""

from datetime import UTC, timedelta

from compared_trials import CLEAR, NONE, ONE_PART, TWO_PART, begun, graded, plan_of, shell, worn
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.trialcompared import compared
from benchtool.sheets.trial_text import WIDTH as WIDTH_OF_TEXT
from benchtool.sheets.trial_text import answer_of, doubts_of, figures_of, places_of, strips_words, trial_text
from benchtool.trade.exact import rank_two
from benchtool.trade.ranking import rank

Method = ev.Method


def text(b) -> str:
    state = b.state
    return trial_text(state, state.trials["t1"], b.tables, UTC)


def answer(b) -> tuple[str, ...]:
    trial = b.state.trials["t1"]
    return answer_of(trial, compared(b.state, trial))


def flat(words: str) -> str:
    return " ".join(words.split())


def test_the_shell_is_told_with_its_order_its_doubt_and_the_bare_control() -> None:
    """Common practice, no source: all hold plain tape, by stick and nail two-part > clear > one-part > none."""
    b, _ = shell()
    order, doubt, control = answer(b)
    places = [order.index(name) for name in (TWO_PART, CLEAR, ONE_PART, NONE)]
    assert places == sorted(places)
    assert "With one strip of each, this shows a difference and proves none." in doubt
    assert "Four of each can: 16 strips." in doubt
    assert "tape alone does not tell them apart here; look at the scratch grades" in control
    assert "That is no proof that no promoter is needed." in control


def test_it_is_said_which_end_of_each_scale_is_best() -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE, methods=(Method.ISO_2409, Method.STICK))
    b = graded(begun(plan), plan, {n: {Method.ISO_2409: "0", Method.STICK: "5"} for n in (TWO_PART, NONE)})
    assert "The best grade is 0 in Cross-cut, ISO and 5 in Stick." in flat(text(b))


def test_the_tape_is_never_called_a_proof_that_no_promoter_is_needed() -> None:
    b, _ = shell()
    said = flat(text(b))
    assert said.count("no promoter is needed") == said.count("no proof that no promoter is needed") == 1


def test_three_of_each_can_never_get_below_a_tenth() -> None:
    plan = plan_of((TWO_PART, NONE), 3, control=NONE)
    b = graded(begun(plan), plan, {TWO_PART: {Method.STICK: "555"}, NONE: {Method.STICK: "000"}})
    assert "0.10" in answer(b)[1]
    assert "proves none" in answer(b)[1]
    assert float(rank_two((5, 5, 5), (0, 0, 0)).p) == 0.1


def test_with_enough_strips_it_is_said_whether_chance_could_have_done_it() -> None:
    plan = plan_of((TWO_PART, NONE), 4, control=NONE)
    clear = graded(begun(plan), plan, {TWO_PART: {Method.STICK: "5555"}, NONE: {Method.STICK: "0000"}})
    assert "exact p 0.029 in one test" in answer(clear)[1]
    near = graded(begun(plan), plan, {TWO_PART: {Method.STICK: "5444"}, NONE: {Method.STICK: "4444"}})
    assert answer(near)[1].startswith(f"Chance alone could have put {TWO_PART} before {NONE}")


def test_early_grades_are_told_with_their_strips_and_shown_in_brackets() -> None:
    plan = plan_of((TWO_PART, NONE), 2, control=NONE)
    b = graded(begun(plan), plan, {TWO_PART: {Method.STICK: ["5", ""]}}, after=timedelta(hours=2))
    graded(b, plan, {NONE: {Method.STICK: "11"}})
    said = flat(text(b))
    assert "1 grade was given before the paint had rested" in said
    assert "Grade strip 1 again." in said
    assert "(5) –" in said


def test_a_system_without_grades_is_named_in_the_answer_when_there_is_no_order() -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE)
    b = graded(begun(plan), plan, {TWO_PART: {Method.STICK: "5"}})
    assert answer(b)[0] == "No order can be given yet."
    assert NONE in answer(b)[1]


def test_nothing_graded_says_what_is_to_come() -> None:
    plan = plan_of((TWO_PART, NONE), 2, control=NONE)
    said = flat(text(begun(plan)))
    assert "Nothing is graded yet." in said
    assert "Plain tape, no cuts: every strip." in said


def test_where_it_let_go_is_told_by_strip_and_nothing_came_off_is_not() -> None:
    b, plan = shell()
    for strip, place in ((plan.strips[0], ev.FailurePlace.SUBSTRATE), (plan.strips[1], ev.FailurePlace.NOTHING)):
        b.add(ev.Graded, trial="t1", strip=strip.piece, method=Method.PLAIN_TAPE, grade="3", place=place)
    trial = b.state.trials["t1"]
    assert places_of(compared(b.state, trial)) == (f"{ONE_PART}: strip 1, Plain tape: down to the bare material.",)


def test_what_was_chosen_and_put_away_is_in_it() -> None:
    b, _ = shell()
    b.add(ev.SystemChosen, trial="t1", system="sys2", piece="shell").add(ev.TrialEnded, trial="t1")
    said = flat(text(b))
    assert f"{TWO_PART} was chosen for Shell" in said
    assert "The strips were put away" in said


def test_a_name_with_control_characters_moves_no_cursor() -> None:
    b, plan = shell()
    ugly = replace(plan.systems[0], name="Pro\x1b[2Jmoter\n\tof=two|parts")
    b.add(ev.TrialReplanned, trial=replace(plan, systems=(ugly, *plan.systems[1:])))
    said = text(b)
    assert "\x1b" not in said
    assert "of=two|parts" in said


def test_no_line_is_wider_than_a_terminal_however_ugly_the_trial() -> None:
    b, _ = worn(12, 2)
    state = b.state
    quick = compared(state, state.trials["t1"], lambda systems, tests: rank(systems, tests, 1_000))
    said = trial_text(state, state.trials["t1"], b.tables, UTC, quick)
    assert max(map(len, said.splitlines())) <= WIDTH_OF_TEXT
    for i in range(12):
        assert f"wet on wet {i}" in flat(said)


def test_figures_that_are_still_counted_are_left_out_and_told() -> None:
    b, _ = worn(6, 2)
    trial = b.state.trials["t1"]
    quick = compared(b.state, trial, lambda systems, tests: rank(systems, tests, 10))
    told = figures_of(quick, counting=True)
    assert told[0] == "More is still being counted."
    assert not any("no other is given" in words for words in told)
    assert any("no other is given" in words for words in figures_of(quick))


def test_never_an_asymptotic_p() -> None:
    b, _ = worn(4, 3)
    said = text(b).lower()
    assert "chi" not in said.split()
    assert "approx" not in said
    assert "≈" not in said


def test_the_doubts_say_that_three_tests_on_one_strip_are_one_strip() -> None:
    plan = plan_of((TWO_PART, NONE), 2, control=NONE)
    b = graded(begun(plan), plan, {TWO_PART: {Method.STICK: "55"}, NONE: {Method.STICK: "11"}})
    trial = b.state.trials["t1"]
    assert any("three tests on one strip are one strip" in d for d in doubts_of(trial, compared(b.state, trial)))


def test_strips_are_named_shortly() -> None:
    assert strips_words([3]) == "strip 3"
    assert strips_words([1, 5, 9]) == "strips 1, 5 and 9"
    assert strips_words([1, 2], 2) == "every strip"
