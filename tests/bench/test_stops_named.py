"""What a painter signs is what they read, and what was said of one job is not said over another."""

from functools import partial
from types import SimpleNamespace

import pytest
from builders import CLEAR
from msgspec.structs import replace
from PySide6.QtCore import Qt

from benchtool.job import events as ev
from benchtool.job.cards import Origin, OriginKind
from benchtool.trade.substrates import Flex


def unknown_piece(bench: SimpleNamespace) -> None:
    piece = ev.Piece(id="cap", name="Cap", substrate="unknown", known=ev.Known.UNKNOWN, flex=Flex.RIGID)
    layer = ev.Layer(id="cap-clear", card=CLEAR.id, coats=2)
    bench.session.apply(
        partial(ev.CardCopied, card=CLEAR),
        partial(ev.PieceAdded, piece=piece),
        partial(ev.LayerAdded, piece="cap", layer=layer),
    )
    bench.session.pick("cap")


def test_every_stop_is_named_before_a_reason_signs_it(bench: SimpleNamespace) -> None:
    unknown_piece(bench)
    bench.window.do("start")
    waiver = bench.window.doing.waiver
    read = waiver.message.text()
    assert not waiver.isHidden()
    bench.bot.keyClicks(waiver.reason.edit, "a trial piece of the shop")
    bench.bot.keyClick(waiver.reason.edit, Qt.Key.Key_Return)
    signed = bench.session.current.state.waivers
    assert len(signed) > 2
    assert all(w.message in read for w in signed)


def test_a_strip_that_came_off_asks_what_was_on_it(bench: SimpleNamespace) -> None:
    unknown_piece(bench)
    bench.window.do("trial")
    bench.bot.keyClick(bench.window.focusWidget(), Qt.Key.Key_Return)
    assert bench.session.piece.trials == []  # no answer is ready for Enter
    bench.window.doing.pick.answer(2)
    strip = bench.window.doing.failed_trial
    bench.bot.keyClicks(strip.fields["note"].edit, "peeled")
    bench.bot.keyClick(strip.fields["note"].edit, Qt.Key.Key_Return)
    [trial] = bench.session.piece.trials
    assert (trial.held, trial.note, trial.cards) == (False, "peeled", (CLEAR.id,))


def test_what_was_said_of_a_job_is_not_said_over_another(bench: SimpleNamespace) -> None:
    bench.window.say("Taken back: wash logged.")
    assert bench.window.status.said.text() != ""
    bench.session.create(bench.session.current.path.with_name("other.job.json"), "Other")
    assert "Taken back" not in bench.window.status.said.text()


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("guess", OriginKind.GUESS),
        ("a guess of mine", OriginKind.GUESS),
        ("Common practice, made up", OriginKind.PRACTICE),
        ("measured on a strip", OriginKind.MEASURED),
        ("told by the maker", OriginKind.TOLD),
        ("sheet of March, page 2", OriginKind.SHEET),
    ],
)
def test_words_alone_tell_the_kind_of_an_origin(words: str, kind: OriginKind) -> None:
    assert replace(CLEAR, origins={"*": words}).origin_of("flash") == Origin(kind=kind, words=words)


def test_a_piece_left_half_typed_is_asked_about_before_the_bench_closes(bench: SimpleNamespace) -> None:
    bench.window.do("piece")
    bench.bot.keyClicks(bench.window.focusWidget(), "Half a piece")
    bench.bot.keyClick(bench.window.focusWidget(), Qt.Key.Key_Escape)
    assert not bench.window.close()
    assert "half typed" in bench.window.doing.pick.question.text()
    bench.window.doing.pick.answer(1)
    assert bench.window.pages.plan.piece.name.text() == "Half a piece"
    bench.window.pages.plan.piece.name.fill("")
    bench.bot.keyClick(bench.window.focusWidget(), Qt.Key.Key_Escape)
