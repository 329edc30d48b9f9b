"""What a trial proves of a piece: the same material, lot, prep and stack, and tape that held after the rest."""

from datetime import timedelta

import pytest
from builders import CLEAR, COLOUR, ONE_PART_PROMOTER, JobBuilder, hours
from msgspec.structs import replace
from trialbuilder import (
    FINE,
    NAIL,
    STICK,
    TAPE,
    aged,
    choose,
    graded,
    judged,
    lot,
    planned,
    prepared,
    ran,
    rested,
    shell,
    sprayed,
    strips_of,
    tried,
)

from benchtool.job import events as ev
from benchtool.job.trialproof import Proof, prep_alike, proof_of, proved, proved_at
from benchtool.job.validate import faults


def proof(bench: JobBuilder, piece: str = "shell") -> Proof:
    assert list(faults(bench.job)) == []
    state = bench.state
    found = proof_of(state, state.pieces[piece], bench.tables.cleaners)
    assert found is not None
    return found


def is_proved(bench: JobBuilder, piece: str = "shell") -> bool:
    of = bench.state.pieces[piece]
    return proved(of, proof_of(bench.state, of))


def done_alike(bench: JobBuilder) -> JobBuilder:
    """Prepare the shell as the strips were."""
    return bench.prep("mould-release wash", "degrease", piece="shell")


def test_without_a_choice_nothing_speaks_for_a_piece() -> None:
    bench = tried()
    assert proof_of(bench.state, bench.state.pieces["shell"]) is None
    assert not is_proved(bench)


def test_a_trial_of_the_piece_itself_proves_it() -> None:
    bench = done_alike(choose(tried()))
    assert proof(bench).against == ()
    assert proof(bench).to_do == ()
    assert is_proved(bench)
    assert proved_at(bench.state.pieces["shell"], proof(bench)) == bench.now


def test_what_is_not_yet_done_is_told_as_still_to_do_and_not_as_different() -> None:
    found = proof(choose(tried()))
    assert found.holds
    assert found.to_do == (
        "Shell is still to be washed free of mould release, as the strips were.",
        "Shell is still to be degreased, as the strips were.",
    )


def test_once_it_is_painted_prep_that_is_missing_is_different() -> None:
    bench = choose(tried()).prep("degrease", piece="shell").start("promoter", mix=None)
    assert proof(bench).against == ("The strips were washed free of mould release, and Shell was not.",)
    assert proof(bench).to_do == ()
    assert not is_proved(bench)


def test_prep_that_the_strips_had_not_is_different_at_once() -> None:
    bench = done_alike(choose(tried())).prep("scuff", piece="shell", grit=800)
    assert proof(bench).against[0] == "Shell was scuffed with P800, and the strips were not."


def test_masking_tack_and_drying_do_not_matter() -> None:
    bench = done_alike(choose(tried())).prep("mask", "tack", "dry out", "water-break test", piece="shell")
    assert proof(bench).holds


ALIKE = [(800, 800), (800, 1000), (800, 600), (800, None), (None, 240), (320, 360), (320, 280), (750, 800)]
UNLIKE = [(800, 1200), (800, 500), (320, 240), (2500, 5000)]


@pytest.mark.parametrize(
    ("theirs", "its", "alike"), [*((a, b, True) for a, b in ALIKE), *((a, b, False) for a, b in UNLIKE)]
)
def test_grit_within_one_step_of_the_series_counts_as_the_same(theirs, its, alike) -> None:
    bench = shell(JobBuilder())
    prepared(planned(bench, piece="shell"), "scuff", grit=theirs)
    judged(rested(sprayed(bench)), FINE)
    choose(bench).prep("scuff", piece="shell", grit=its).start("promoter", mix=None)
    assert proof(bench).holds is alike


def test_another_cleaner_is_another_prep_and_one_that_was_not_said_is_none() -> None:
    bench = shell(JobBuilder())
    prepared(planned(bench, piece="shell"), "degrease", agent="isopropanol")
    judged(rested(sprayed(bench)), FINE)
    choose(bench)
    bench.prep("degrease", piece="shell")
    assert proof(bench).holds
    assert proof(bench).to_do == ()
    bench.undo().prep("degrease", piece="shell", agent="naphtha")
    names = {i: bench.tables.cleaners[i].name for i in ("naphtha", "isopropanol")}
    assert proof(bench).against == (
        f"Shell was degreased with {names['naphtha']}, and the strips were degreased with {names['isopropanol']}.",
    )


def test_cleaning_after_abrading_counts() -> None:
    bench = shell(JobBuilder())
    prepared(planned(bench, piece="shell"), "degrease", "scuff", "degrease")
    judged(rested(sprayed(bench)), FINE)
    choose(bench).prep("degrease", "scuff", piece="shell")
    assert proof(bench).to_do == ("Shell is still to be cleaned after abrading, as the strips were.",)
    bench.start("promoter", mix=None)
    assert proof(bench).against == ("The strips were cleaned after abrading, and Shell was not.",)


def test_every_strip_of_the_system_has_to_be_like_it() -> None:
    bench = shell(JobBuilder())
    planned(bench, each=2, piece="shell")
    prepared(bench, "degrease")
    prepared(bench, "scuff", only=["t1-4"])
    judged(rested(sprayed(bench)), {"a": {TAPE: ["5", "5"]}})
    choose(bench).prep("degrease", piece="shell")
    assert proof(bench).to_do == ("Shell is still to be scuffed, as the strips were.",)


# --- the lot -------------------------------------------------------------------------------------------


def test_a_trial_of_the_same_lot_proves_another_piece() -> None:
    bench = lot(done_alike(choose(tried(own=False, batch="Sheet 3"))), "shell", " sheet  3 ")
    assert proof(bench).holds


def test_another_lot_is_another_material() -> None:
    bench = lot(choose(tried(own=False, batch="Sheet 3")), "shell", "Sheet 4")
    assert proof(bench).against == ("The trial was done on another lot of the material.",)
    assert not is_proved(bench)


@pytest.mark.parametrize(("theirs", "its"), [("", ""), ("Sheet 3", ""), ("", "Sheet 3")])
def test_a_lot_that_nobody_wrote_down_is_no_same_lot(theirs: str, its: str) -> None:
    bench = choose(tried(own=False, batch=theirs))
    bench = lot(bench, "shell", its) if its else bench
    assert proof(bench).against == ("It is not written down that Shell is of the same lot as the strips.",)


def test_the_lot_of_the_own_piece_must_not_contradict() -> None:
    assert proof(lot(choose(tried(batch="3")), "shell", "3")).holds
    assert proof(choose(tried(batch="3"))).holds
    assert proof(lot(choose(tried(batch="3")), "shell", "4")).against == (
        "The trial was done on another lot of the material.",
    )


def test_another_material_is_not_spoken_for() -> None:
    bench = tried(own=False, batch="3", substrate="abs", known="told")
    bench = lot(choose(bench), "shell", "3")
    assert proof(bench).against == ("The strips were of another material than Shell.",)


def test_an_own_piece_that_is_named_later_keeps_its_trial_and_one_that_is_named_otherwise_does_not() -> None:
    bench = done_alike(choose(tried()))
    named = bench.state.pieces["shell"].piece
    bench.add(ev.PieceChanged, piece=_as(named, "abs"))
    assert proof(bench).holds
    other = tried(substrate="pp", known="told")
    other.add(ev.PieceChanged, piece=_as(named, "abs"))
    assert not proof(choose(other)).holds


def _as(piece: ev.Piece, substrate: str) -> ev.Piece:
    return replace(piece, substrate=substrate, known=ev.Known.MARKED)


# --- the stack -----------------------------------------------------------------------------------------


def test_more_may_go_over_what_was_tried() -> None:
    bench = done_alike(choose(tried())).card(CLEAR)
    bench.add(ev.LayerAdded, piece="shell", layer=ev.Layer(id="clear", card=CLEAR.id, coats=2, activator="slow"))
    assert proof(bench).holds


def test_another_product_under_it_is_another_stack() -> None:
    bench = choose(tried()).card(ONE_PART_PROMOTER)
    bench.add(ev.LayerRemoved, layer="promoter")
    assert proof(bench).against == ("Where the strips had Two-part promoter, Shell has Base colour.",)


def test_a_layer_that_is_missing_is_told() -> None:
    bench = choose(tried()).add(ev.LayerRemoved, layer="colour")
    assert proof(bench).against == ("Base colour was on the strips, and is not planned on Shell.",)


def test_another_activator_is_another_stack_in_the_plan_and_in_the_cup() -> None:
    bench = choose(tried()).change_layer("promoter", activator="flexible")
    assert proof(bench).against == (
        "Two-part promoter was mixed with Rigid activator on the strips; on Shell it is Flexible activator.",
    )
    bench.mix("promoter").change_layer("promoter", activator="rigid")
    assert proof(bench).holds
    bench.prep("mould-release wash", "degrease", piece="shell").start("promoter")
    assert not proof(bench).holds


def test_a_promoter_that_was_passed_over_holds_nothing() -> None:
    bench = done_alike(choose(tried())).start("colour", mix=None).done("colour")
    assert proof(bench).against == ("Where the strips had Two-part promoter, Shell has Base colour.",)


# --- the tests -----------------------------------------------------------------------------------------


def test_scratches_alone_prove_nothing() -> None:
    bench = choose(judged(ran(), {"a": {STICK: ["5"], NAIL: ["5"]}}))
    assert proof(bench).against == ("No strip of Two-part has been tape-tested yet.",)


def test_an_early_grade_is_no_proof_and_a_later_one_is() -> None:
    bench = sprayed(prepared(planned(shell(JobBuilder()), piece="shell")))
    choose(graded(bench, "t1-1", TAPE, "5"))
    assert proof(bench).against == ("Two-part was tape-tested only before its paint had rested.",)
    graded(rested(bench), "t1-1", TAPE, "5")
    assert proof(bench).holds
    assert proof(bench).at == bench.now


def test_the_rest_ends_to_the_second() -> None:
    bench = sprayed(prepared(planned(shell(JobBuilder()), piece="shell", rest=timedelta(hours=30))))
    coat = bench.state.layers["t1-1-b"].last_done
    assert coat is not None
    assert coat.done_at is not None
    bench.at(coat.done_at + hours(30) - timedelta(seconds=1))
    assert not proof(choose(graded(bench, "t1-1", TAPE, "5"))).holds
    bench.wait(seconds=1)
    assert proof(graded(bench, "t1-1", TAPE, "5")).holds


@pytest.mark.parametrize(("method", "grade"), [(TAPE, "3"), (ev.Method.ISO_2409, "2"), (ev.Method.D3359_B, "3B"),
                                               (ev.Method.D3359_A, "0A")])  # fmt: skip
def test_tape_that_took_it_off_proves_the_contrary(method: ev.Method, grade: str) -> None:
    bench = done_alike(choose(tried()))
    graded(bench.wait(hours=1), "t1-1", method, grade)
    assert proof(bench).failed
    assert proof(bench).against[0].startswith("Strip 1 did not hold. ")
    assert proof(bench).against[0].endswith(f": {grade}.")
    best = {TAPE: "5", ev.Method.ISO_2409: "0", ev.Method.D3359_B: "5B", ev.Method.D3359_A: "5A"}
    graded(bench.wait(hours=1), "t1-1", method, best[method])
    assert proof(bench).holds


def test_a_strip_that_failed_after_ageing_fails_the_system() -> None:
    bench = done_alike(choose(tried()))
    aged(bench, ["t1-1"]).wait(hours=1)
    graded(bench, "t1-1", TAPE, "1")
    assert proof(bench).failed
    assert "after water" in proof(bench).against[0]
    assert proof(bench).at == bench.now


def test_strips_without_paint_prove_nothing() -> None:
    bench = choose(planned(shell(JobBuilder()), piece="shell"))
    assert proof(bench).against == ("The strips of Two-part have no paint on yet.",)


def test_strips_that_were_put_away_still_prove() -> None:
    bench = done_alike(choose(tried())).add(ev.TrialEnded, trial="t1").wait(days=90)
    assert proof(bench).holds


# --- beside the quick log ------------------------------------------------------------------------------


def test_of_a_quick_log_and_a_trial_the_last_one_decides() -> None:
    bench = done_alike(choose(tried()))
    assert is_proved(bench)
    bench.wait(hours=1).trial(held=False, piece="shell")
    assert not is_proved(bench)
    choose(bench.wait(hours=1))
    assert is_proved(bench)
    other = done_alike(lot(tried(batch="3"), "shell", "4").trial(piece="shell"))
    assert is_proved(other)
    choose(other.wait(hours=1))
    assert not is_proved(other)
    other.wait(hours=1).trial(piece="shell")
    assert is_proved(other)
    of = other.state.pieces["shell"]
    assert proved_at(of, proof_of(other.state, of)) == other.now


def test_the_choice_made_last_speaks_and_an_undo_brings_back_the_one_before() -> None:
    bench = choose(done_alike(choose(tried())).wait(hours=1), "b")
    assert not proof(bench).holds
    assert proof(bench).system.name == "One-part"
    assert proof(bench.undo()).holds


def test_prep_of_two_pieces_is_alike_both_ways() -> None:
    bench = planned(shell(JobBuilder()))
    one, other = strips_of(bench)[:2]
    bench.prep("wash", "degrease", piece=one).prep("degrease", piece=other)
    pieces = bench.state.pieces
    assert not prep_alike(pieces[one], pieces[other])
    assert not prep_alike(pieces[other], pieces[one])
    bench.prep("wash", piece=other)
    assert prep_alike(bench.state.pieces[one], bench.state.pieces[other])


def test_a_stack_of_colour_alone_is_the_controls() -> None:
    bench = JobBuilder().card(COLOUR).piece("shell", "unknown", known="unknown").layer("colour", COLOUR, 1)
    planned(bench, piece="shell")
    judged(rested(sprayed(prepared(bench))), {"c": {ev.Method.ISO_2409: ["0"]}})
    assert proof(done_alike(choose(bench, "c"))).holds
