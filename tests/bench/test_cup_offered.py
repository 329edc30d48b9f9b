"""Which cup the mix pane offers: none that is dead, an old one with its age; and how much it proposes for strips."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from builders import COLOUR, EPOXY, PROMOTER, JobBuilder, minutes
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from benchtool.session.trialrun import Kind, next_acts
from benchtool.store import jobfile

THIN = replace(COLOUR, film_um=20.0, solids_percent=25.0)


def opened(bench: SimpleNamespace, tmp_path: Path, job: JobBuilder, piece: str) -> Any:
    path = tmp_path / "cups.json"
    jobfile.save(path, job.job)
    bench.clock.at = job.now
    bench.session.open(path)
    bench.session.pick(piece)
    bench.window.refresh()
    return bench.window.mix


def two_pieces(card: Any, **layer: Any) -> JobBuilder:
    job = JobBuilder().card(card)
    for piece in ("panel", "lid"):
        job.piece(piece).prep("wash", "degrease", piece=piece).layer(f"{piece}-1", card, 2, **layer)
    return job.ready("panel-1")


def test_a_cup_is_offered_until_its_pot_life_is_over(bench: SimpleNamespace, tmp_path: Path) -> None:
    job = two_pieces(EPOXY, activator="epoxy-b")
    mix = opened(bench, tmp_path, job, "lid")
    assert mix.share.isVisible()
    assert mix.share.text().startswith("Use the cup of")
    assert "ago" not in mix.share.text()
    bench.clock.go(seconds=EPOXY.pot_life.total_seconds())
    bench.window.refresh()
    assert not mix.share.isVisible()
    before = bench.session.current.job
    mix.share_cup()
    assert bench.session.current.job is before


def test_an_old_cup_is_offered_with_its_age(bench: SimpleNamespace, tmp_path: Path) -> None:
    mix = opened(bench, tmp_path, two_pieces(COLOUR).wait(hours=6 * 24 + 5), "lid")
    assert mix.share.isVisible()
    assert mix.share.text().endswith("mixed 6 days ago")


def test_a_cup_past_its_pot_life_is_not_shown_as_ready(bench: SimpleNamespace, tmp_path: Path) -> None:
    mix = opened(bench, tmp_path, two_pieces(EPOXY, activator="epoxy-b"), "panel")
    bench.beat(seconds=(EPOXY.stand_reduced or EPOXY.stand or minutes(0)).total_seconds())
    assert mix.amount.text == "Ready"
    bench.beat(seconds=EPOXY.pot_life.total_seconds())
    assert mix.amount.text == "Over"
    assert mix.ask.text() == "Empty it and mix fresh."
    assert "Pot life over" in mix.ratio.text()


@pytest.mark.parametrize(("coats", "proposed"), [(1, "4 mL"), (3, "12 mL")])
def test_from_the_trial_the_amount_is_what_the_strips_take(
    bench: SimpleNamespace, tmp_path: Path, coats: int, proposed: str
) -> None:
    job = JobBuilder().card(THIN).plan_trial({"One": [THIN], "None": [THIN]}, each=2)
    for strip in ("t1-1", "t1-2", "t1-3", "t1-4"):
        job.prep("mould-release wash", "degrease", "abrade", "degrease", "tack", piece=strip)
        job.change_layer(f"{strip}-a", coats=coats)
    mix = opened(bench, tmp_path, job, "t1-1")
    bench.window.do("trial")
    page = bench.window.pages.trial
    page.show_stage("run")
    act = page.run.act
    assert act.amount_mL is not None
    QTest.keyClick(bench.window.focusWidget(), Qt.Key.Key_Return)
    assert mix.field.text() == proposed
    assert 0 <= float(mix.field.text().split()[0]) - act.amount_mL + 1e-9 < 1
    assert mix.field.edit.selectedText() == proposed
    assert not bench.session.current.state.mixes


def test_no_less_is_proposed_than_the_tools_can_measure(bench: SimpleNamespace, tmp_path: Path) -> None:
    solids = [replace(a, solids_percent=40.0) for a in PROMOTER.activators]
    thin = replace(PROMOTER, film_um=10.0, solids_percent=30.0, activators=tuple(solids))
    job = JobBuilder().plan_trial({"Two-part": [(thin, "rigid"), COLOUR], "None": [COLOUR]})
    job.prep("mould-release wash", "degrease", "abrade", "degrease", "tack", piece="t1-1")
    mix = opened(bench, tmp_path, job, "t1-1")
    acts = next_acts(bench.session, bench.session.current, bench.session.current.state.trials["t1"], job.now)
    needed = next(a.amount_mL for a in acts if a.kind is Kind.MIX and a.numbers == (1,))
    proposed = float(mix.field.text().removesuffix(" mL"))
    assert needed is not None
    assert proposed > needed + 1
    assert not [n.text() for n in mix.notes if "smallest cup" in n.text()]
    mix.field.edit.setText(f"{needed:.2f} mL")
    mix.field.edit.setModified(True)
    bench.window.refresh()
    assert [n.text() for n in mix.notes if "smallest cup" in n.text()]


def test_the_first_row_is_chosen_where_it_is_what_was_typed(bench: SimpleNamespace) -> None:
    bench.window.do("piece")
    form = bench.window.pages.plan.piece
    form.material.search.edit.setFocus()
    for typed, meant in (("n", "unknown"), ("nobody", "unknown"), ("nobody ha", "paint-unknown")):
        form.material.search.edit.clear()
        bench.bot.keyClicks(form.material.search.edit, typed)
        assert form.material.value == meant
