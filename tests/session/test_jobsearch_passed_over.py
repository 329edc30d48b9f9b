"""What a search passes over without a word, and what it says of cups whose can nobody logged."""

from datetime import timedelta

import pytest
from builders import COLOUR
from jobs_folder import put, read, search_of, tank
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.lots import Lot
from benchtool.job.shop import Shop
from benchtool.session.shop import ShopKeeper


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "jobs"


@pytest.fixture
def search(folder, tmp_path):
    made = search_of(folder, place=tmp_path / "cache")
    yield made
    made.close()


def uncanned(job):
    bench = tank(job=job)
    events = [e for e in bench.job.events if not isinstance(e, ev.LotTaken)]
    return replace(bench.job, events=tuple(replace(e, lot=None) if isinstance(e, ev.Poured) else e for e in events))


def test_the_programs_own_files_are_no_unreadable_jobs(folder, search):
    put(folder, "red.json", tank().job)
    keeper = ShopKeeper(folder)
    for n in range(3):
        keeper.change(Shop(currency="EUR" if n % 2 else "USD"))
        keeper.save_lot(Lot(id=f"can-{n}", card=COLOUR.id, part="Base", full_mL=500))
    assert list(folder.glob("*.versions/*"))
    for name, text in (
        ("settings.json", '{"theme": "dark"}'),
        ("cards.json", '{"format": "bench cards", "note": "goes into a \\"bench job\\""}'),
        ("rules.json", '{"format": "bench rules", "of": "bench job"}'),
    ):
        (folder / name).write_text(text, encoding="utf-8")
    versions = folder / "settings.json.versions"
    versions.mkdir()
    (versions / "20260501T000000.000000Z.json").write_text('{"theme": "light"}', encoding="utf-8")
    read(search)
    assert search.faults() == ()
    assert search.readiness.jobs == 1
    assert search.whole


def test_a_mangled_job_beside_its_versions_is_still_told(folder, search):
    path = put(folder, "red.json", tank().job)
    put(folder / "red.json.versions", "20260501T000000.000000Z.json", tank().job)
    path.write_bytes(b"\x00\x01 mangled")
    read(search)
    assert [p.name for p, _ in search.faults()] == ["red.json"]


def test_a_recall_that_finds_nothing_says_which_cups_it_may_have_missed(folder, search):
    put(folder, "a.json", uncanned("job-1"))
    put(folder, "b.json", uncanned("job-2"))
    put(folder, "c.json", tank(job="job-3", lot="C-3").job)
    put(folder, "demo.json", replace(uncanned("job-4"), demo=True))
    recall = read(search).lots_of("B-2")
    assert recall.words == (
        "Lot B-2 is on no piece that was found. 2 cups in 2 jobs have no can logged: it may be on those."
    )
    assert recall.words in recall.text
    found = search.lots_of("C-3")
    assert found.words.endswith(
        "2 more cups of the same product, in 2 jobs, have no can logged: it may be on those too."
    )


def test_a_recall_says_nothing_of_cups_where_each_has_its_can(folder, search):
    put(folder, "c.json", tank(job="job-3", lot="C-3").job)
    assert read(search).lots_of("B-2").words == "Lot B-2 is on no piece that was found."


def test_a_can_named_after_the_pour_is_found(folder, search):
    job = uncanned("job-1")
    pour = next(e for e in job.events if isinstance(e, ev.Poured))
    lot = Lot(id="late", card=COLOUR.id, part="Base", full_mL=500, number="B-2")
    late = ev.LotTaken(id="e900", at=job.events[-1].at + timedelta(minutes=1), lot=lot, pours=(pour.id,))
    put(folder, "a.json", replace(job, events=(*job.events, late)))
    recall = read(search).lots_of("b 2")
    assert recall.words == "Lot B-2 is on 1 piece in 1 job.".replace("B-2", "b 2")
    assert recall.pieces == 1
