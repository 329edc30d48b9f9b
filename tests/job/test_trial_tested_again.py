"""A grade given before the paint had rested is kept, and its test is asked for again."""

from builders import JobBuilder
from trialbuilder import graded, planned, prepared, rested, shell, sprayed, strips_of

from benchtool.job.trialrest import still_to_test
from benchtool.job.windows import all_windows
from benchtool.trade.grades import Method
from benchtool.trade.windows import WindowKind

TESTS = (Method.PLAIN_TAPE, Method.STICK)


def left(bench: JobBuilder, strip: str) -> list[Method]:
    return still_to_test(bench.state.trials["t1"], bench.state.pieces[strip])


def test_all_tests_are_done_once_more_where_all_were_done_too_early() -> None:
    bench = sprayed(prepared(planned(shell(JobBuilder()), methods=TESTS)))
    strip = strips_of(bench)[0]
    for method in TESTS:
        graded(bench, strip, method, "4")
    assert left(bench, strip) == list(TESTS)
    assert WindowKind.DWELL in {w.kind for w in all_windows(bench.state) if w.piece == strip}
    rested(bench)
    graded(bench, strip, Method.STICK, "5")
    assert left(bench, strip) == [Method.PLAIN_TAPE]
    graded(bench, strip, Method.PLAIN_TAPE, "5")
    assert left(bench, strip) == []
    assert WindowKind.DWELL not in {w.kind for w in all_windows(bench.state) if w.piece == strip}
