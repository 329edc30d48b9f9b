"""The shop's two files: what was kept comes back, nothing is written over what another window or a hand wrote."""

import json
import os
import subprocess
import sys
import threading
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples
from strategies import lots as some_lots

from benchtool.job.cards import Gun
from benchtool.job.lots import Lot
from benchtool.job.shop import Shop
from benchtool.job.shophours import ExtraOpening
from benchtool.store import atomic, shopfile
from benchtool.store.lots import Lots, lots_file, with_draws, with_lot, without_lot
from benchtool.store.shop import Kept, shop_file
from benchtool.store.shopfile import NotWritten
from benchtool.trade.measuring import Tool, ToolKind
from benchtool.trade.mixing import PartKind
from benchtool.trade.vessel import Cup

Watch = Callable[[Path], Any]
ROOT = Path(__file__).resolve().parents[2]
NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
CAN = Lot(id="can", card="clear-2k", part="Base", full_mL=1000, opened_on=NOW, keeps_opened=timedelta(days=90))
MINE = Shop(
    tools=(Tool(name="my scale", kind=ToolKind.SCALE, step=0.1, capacity=500, error=0.2),),
    cups=(Cup(name="jar", height_mm=50, bottom_mm=40, top_mm=40, marks=((10.0, 8.5), (20.0, 16.5))),),
    cup="jar",
    by_weight=True,
    tolerance_activator=0.05,
    tolerance_rest=0.1,
    transfer_percent={Gun.AIRBRUSH: 65.0},
    rate_mL_min={Gun.MINI: 40.0},
    loss_mL=3.5,
    currency="EUR",
    voc_limit_g_L=420.0,
    extra=(ExtraOpening(day=date(2026, 11, 28), opens="09:00", closes="24:00"),),
)


def add(lot: Lot) -> Callable[[Lots], Lots]:
    return lambda lots: with_lot(lots, lot)


# --- coming back -----------------------------------------------------------------------------------


def test_a_shop_comes_back_as_it_was_kept(tmp_path: Path) -> None:
    shop_file(tmp_path / "new" / "folder").change(lambda _: Kept(shop=MINE))
    again = shop_file(tmp_path / "new" / "folder")
    assert again.read().shop == MINE
    assert again.fault == ""


def test_without_a_file_there_are_the_usual_tools_and_cups_and_no_lots(tmp_path: Path) -> None:
    shop, lots = shop_file(tmp_path), lots_file(tmp_path)
    assert shop.read().shop == Shop()
    assert shop.read().shop.tools
    assert shop.read().shop.cups
    assert lots.read() == Lots()
    assert (shop.fault, lots.fault) == ("", "")
    assert list(tmp_path.iterdir()) == []


def test_the_usual_ones_are_written_out_so_that_no_later_version_changes_them(tmp_path: Path) -> None:
    shop_file(tmp_path).change(lambda _: Kept(shop=replace(Shop(), currency="EUR")))
    plain = json.loads((tmp_path / "shop.json").read_bytes())["shop"]
    assert [t["name"] for t in plain["tools"]] == [t.name for t in Shop().tools]
    assert set(plain) == set(Shop.__struct_fields__)


@examples(60)
@given(lots=st.lists(st.integers(0, 9), unique=True, max_size=4).flatmap(
    lambda ids: st.tuples(*(some_lots(f"lot-{i}", CLEAR) for i in ids))
))  # fmt: skip
def test_lots_come_back_exactly(tmp_path_factory: pytest.TempPathFactory, lots: tuple[Lot, ...]) -> None:
    folder = tmp_path_factory.mktemp("lots")
    kept = Lots(lots=lots, drawn={"job-1": {x.id: 1 / 3 for x in lots}} if lots else {})
    lots_file(folder).change(lambda _: kept)
    assert lots_file(folder).read() == kept


def test_a_file_a_person_can_read_with_its_times_in_utc(tmp_path: Path) -> None:
    at = datetime(2026, 3, 2, 11, 30, tzinfo=timezone(timedelta(hours=2)))
    lots_file(tmp_path).change(add(replace(CAN, opened_on=at)))
    text = (tmp_path / "lots.json").read_text(encoding="utf-8")
    assert '"opened_on": "2026-03-02T09:30:00Z"' in text
    assert '\n      "id": "can",\n' in text
    assert '"P90D"' in text
    assert text.endswith("}\n")


def test_what_changes_nothing_is_not_written(tmp_path: Path) -> None:
    file = lots_file(tmp_path)
    file.change(add(CAN))
    before = file.path.stat().st_ino
    file.change(add(CAN))
    assert file.path.stat().st_ino == before


def test_earlier_versions_are_kept(tmp_path: Path) -> None:
    file = lots_file(tmp_path)
    for n in range(3):
        file.change(add(replace(CAN, id=f"can{n}")))
    assert len(atomic.versions(file.path)) == 2


# --- a file that is not to be written over ---------------------------------------------------------

WHOLE = json.dumps({"format": "bench lots", "schema": 1, "lots": [], "drawn": {}})
LOT = {"id": "a", "card": "c", "part": "Base", "full_mL": 5}


def holding(**told: Any) -> bytes:
    return json.dumps({**json.loads(WHOLE), **told}).encode()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"{", "breaks off"),
        (b"[]", "{ }"),
        (b"\xff\xfe", "."),
        (WHOLE[:-4].encode(), "breaks off"),
        (WHOLE.replace("bench lots", "bench job").encode(), "$.format"),
        (holding(schema=0), "$.schema"),
        (holding(schema="1"), "$.schema"),
        (holding(planets=1), "“planets” is no field that belongs here (at $.planets)"),
        (holding(lots=[{**LOT, "full_mL": 0}]), "must be more than 0 (at $.lots[0].full_mL)"),
        (holding(lots=[{**LOT, "opened_on": "2026-03-02T09:30:00"}]), "$.lots[0].opened_on"),
        (holding(lots=[{**LOT, "opened_on": "0001-01-01T00:00:00Z"}]), "no such time (at $.lots[0].opened_on)"),
        (holding(lots=[LOT, LOT]), "two lots of the id “a” (at $.lots[1].id)"),
        (holding(lots=[{**LOT, "counted_mL": 1}]), "both its amount and its day (at $.lots[0].counted_on)"),
        (holding(drawn={"job-1": {"a": -1}}), "0 or more"),
        (holding(drawn={"job 1": {"a": 1}}), "not written as it must be"),
        (b'{"x":' * 100_000, "."),
    ],
    ids=range(17),
)
def test_a_file_that_cant_be_read_is_told_of_and_left_alone(
    tmp_path: Path, untouched: Watch, content: bytes, words: str
) -> None:
    file = lots_file(tmp_path)
    file.path.write_bytes(content)
    (tmp_path / ".lots.json.lock").touch()
    with untouched(file.path):
        assert file.read() == Lots()
        assert words in file.fault
        assert file.fault.startswith("Your lots can't be read from lots.json: ")
        assert file.fault.endswith("; mend it, or bring back a copy.")
        assert file.fault.isprintable()
        with pytest.raises(NotWritten) as refused:
            file.change(add(CAN))
        assert str(refused.value) == file.fault


def test_a_broken_file_names_its_last_good_version_and_what_was_read_before_is_still_shown(tmp_path: Path) -> None:
    file = lots_file(tmp_path)
    file.change(add(CAN))
    file.change(add(replace(CAN, id="other")))
    good = atomic.versions(file.path)[0]
    held = file.read()
    file.path.write_bytes(b"{oops")
    assert file.read() == held
    assert f"bring back lots.json.versions/{good.name}." in file.fault
    file.path.write_bytes(good.read_bytes())
    assert file.read() == Lots(lots=(CAN,))
    assert file.fault == ""
    file.change(add(replace(CAN, id="third")))
    assert len(lots_file(tmp_path).read().lots) == 2


def test_a_newer_file_is_shown_and_not_changed(tmp_path: Path, untouched: Watch) -> None:
    file = lots_file(tmp_path)
    file.path.write_bytes(holding(schema=2, planets=1, lots=[{**LOT, "colour": "red"}]))
    (tmp_path / ".lots.json.lock").touch()
    with untouched(file.path):
        assert file.read().lots == (Lot(id="a", card="c", part="Base", full_mL=5.0),)
        assert "newer version" in file.fault
        with pytest.raises(NotWritten, match="newer version"):
            file.change(add(CAN))


def test_a_newer_shop_keeps_the_tools_that_this_version_knows(tmp_path: Path) -> None:
    file = shop_file(tmp_path)
    tool = {"name": "jug", "kind": "graduated cup", "step": 5, "capacity": 100, "colour": "red"}
    told = {"format": "bench shop", "schema": 9, "shop": {"tools": [tool], "robots": 3}}
    file.path.write_text(json.dumps(told), encoding="utf-8")
    assert [t.name for t in file.read().shop.tools] == ["jug"]
    assert "newer version" in file.fault


@pytest.mark.parametrize(
    ("shop", "words"),
    [
        ({"tools": [{"name": "x", "kind": "syringe", "step": 5, "capacity": 2}]}, "$.shop.tools[0]"),
        ({"cups": [{"name": "x", "height_mm": 5, "bottom_mm": 0, "top_mm": 3}]}, "$.shop.cups[0]"),
        ({"tolerance_rest": 0}, "$.shop.tolerance_rest"),
        ({"transfer_percent": {"airbrush": 101}}, "$.shop.transfer_percent"),
        ({"rate_mL_min": {"broom": 1}}, "broom"),
        ({"unit": "pint"}, "“pint” is none of the words"),
        ({"loss_mL": -1}, "$.shop.loss_mL"),
        ({"extra": [{"day": "2026-11-28", "opens": "18:00", "closes": "09:00"}]}, "$.shop.extra[0].closes"),
        ({"extra": [{"day": "Saturday", "opens": "09:00", "closes": "18:00"}]}, "$.shop.extra[0].day"),
    ],
)
def test_a_shop_that_cant_be_is_told_with_its_place(tmp_path: Path, shop: dict[str, Any], words: str) -> None:
    file = shop_file(tmp_path)
    file.path.write_text(json.dumps({"format": "bench shop", "schema": 1, "shop": shop}), encoding="utf-8")
    assert file.read().shop == Shop()
    assert words in file.fault
    assert ". (" not in file.fault


def test_a_tolerance_wider_than_the_trades_is_read_as_the_trades_and_the_file_stays(
    tmp_path: Path, untouched: Watch
) -> None:
    """10 % of its share is what the trade takes for an activator: common practice, no source."""
    file = shop_file(tmp_path)
    told = {"tolerance_activator": 0.5, "tolerance_rest": 0.11, "currency": "EUR"}
    file.path.write_text(json.dumps({"format": "bench shop", "schema": 1, "shop": told}), encoding="utf-8")
    with untouched(file.path):
        shop = file.read().shop
    assert file.fault == ""
    assert (shop.tolerance_activator, shop.tolerance_rest, shop.currency) == (0.10, 0.10, "EUR")
    for kind in PartKind:
        assert shop.tolerance(kind) == 0.10
    assert replace(shop, tolerance_activator=0.3, tolerance_rest=None).tolerance(PartKind.ACTIVATOR) == 0.10
    assert replace(shop, tolerance_activator=0.08).tolerance(PartKind.ACTIVATOR) == 0.08
    assert replace(shop, tolerance_rest=None).tolerance(PartKind.BASE) is None


def test_what_could_not_be_read_again_is_not_written(tmp_path: Path) -> None:
    file = lots_file(tmp_path)
    file.change(add(CAN))
    for wrong in (float("nan"), float("inf"), -1.0, 2e6):
        with pytest.raises(NotWritten, match=r"not kept: .*\$\.lots\[0\]\.counted_mL"):
            file.change(add(replace(CAN, counted_mL=wrong, counted_on=NOW)))
    with pytest.raises(NotWritten, match="zone"):
        file.change(add(replace(CAN, opened_on=NOW.replace(tzinfo=None))))
    assert lots_file(tmp_path).read() == Lots(lots=(CAN,))
    twice = replace(MINE, cups=MINE.cups * 2)
    with pytest.raises(NotWritten, match="two cups have the name “jar”"):
        shop_file(tmp_path).change(lambda _: Kept(shop=twice))
    assert not (tmp_path / "shop.json").exists()


# --- a disk, a process and a window that fail ------------------------------------------------------


def test_a_full_disk_leaves_the_file_as_it_was(tmp_path: Path, full_disk: Any, untouched: Watch) -> None:
    file = lots_file(tmp_path)
    file.change(add(CAN))
    with full_disk(), untouched(file.path), pytest.raises(NotWritten) as refused:
        file.change(add(replace(CAN, id="other")))
    assert str(refused.value) == "Your lots are not kept: the disk is full."
    assert file.read() == Lots(lots=(CAN,))
    file.change(add(replace(CAN, id="other")))
    assert len(file.read().lots) == 2


@pytest.mark.skipif(os.name == "nt", reason="POSIX files")
def test_what_is_no_file_at_all(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    os.mkfifo(tmp_path / "a" / "lots.json")
    (tmp_path / "b" / "lots.json").mkdir(parents=True)
    (tmp_path / "c").write_bytes(b"a file where the folder should be")
    (tmp_path / "d").mkdir()
    (tmp_path / "d" / "lots.json").symlink_to("gone")
    for name in "abcd":
        file = lots_file(tmp_path / name)
        assert file.read() == Lots()
        with pytest.raises(NotWritten, match=r"^Your lots .*\.$"):
            file.change(add(CAN))


KILLED = """
import os, sys
from pathlib import Path
from benchtool.job.lots import Lot
from benchtool.store.lots import lots_file, with_lot
file = lots_file(Path(sys.argv[1]))
Path.replace = lambda *_: os._exit(9)
file.change(lambda lots: with_lot(lots, Lot(id="late", card="c", part="Base", full_mL=1.0)))
"""


def test_a_process_killed_in_the_middle_of_a_save_leaves_the_old_file_and_no_lock(tmp_path: Path) -> None:
    file = lots_file(tmp_path)
    file.change(add(CAN))
    before = file.path.read_bytes()
    run = subprocess.run([sys.executable, "-c", KILLED, tmp_path], env={**os.environ, "PYTHONPATH": str(ROOT)})
    assert run.returncode == 9
    assert list(tmp_path.glob(".*.tmp"))
    assert file.path.read_bytes() == before
    file.change(add(replace(CAN, id="next")))
    assert [x.id for x in lots_file(tmp_path).read().lots] == ["can", "next"]


def test_two_windows_lose_nothing_of_each_other(tmp_path: Path) -> None:
    one, other = lots_file(tmp_path), lots_file(tmp_path)
    one.change(add(CAN))
    assert other.read().lots == (CAN,)
    other.change(add(replace(CAN, id="b")))
    one.change(add(replace(CAN, id="c")))
    assert [x.id for x in other.read().lots] == ["can", "b", "c"]
    assert one.read() == other.read()


def test_windows_that_write_at_once_lose_nothing(tmp_path: Path) -> None:
    def work(name: str) -> None:
        file = lots_file(tmp_path)
        for n in range(10):
            file.change(add(replace(CAN, id=f"{name}{n}")))

    windows = [threading.Thread(target=work, args=(name,)) for name in "abc"]
    for window in windows:
        window.start()
    for window in windows:
        window.join()
    assert len(lots_file(tmp_path).read().lots) == 30


def test_a_window_that_holds_on_is_not_waited_for_without_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shopfile, "PATIENCE_S", 0.01)
    other = lots_file(tmp_path)

    def meanwhile(lots: Lots) -> Lots:
        with pytest.raises(NotWritten, match="another window"):
            other.change(add(replace(CAN, id="b")))
        return with_lot(lots, CAN)

    lots_file(tmp_path).change(meanwhile)
    assert other.read().lots == (CAN,)


# --- the sums --------------------------------------------------------------------------------------


def test_what_a_job_drew_takes_the_place_of_what_it_drew() -> None:
    lots = with_draws(Lots(lots=(CAN,)), "job-1", {"can": 5.0, "gone": 1.0})
    assert lots.drawn == {"job-1": {"can": 5.0}}
    assert with_draws(lots, "job-1", {"can": 5.0}) is lots
    assert with_draws(lots, "job-1", {"can": 7.0}).drawn == {"job-1": {"can": 7.0}}
    assert with_draws(lots, "job-1", {}).drawn == {}
    assert with_draws(lots, "job-2", {"can": 1.0}).drawn == {"job-1": {"can": 5.0}, "job-2": {"can": 1.0}}


def test_a_count_holds_all_that_was_drawn_before() -> None:
    other = replace(CAN, id="other")
    lots = Lots(lots=(CAN, other), drawn={"job-1": {"can": 5.0}, "job-2": {"can": 1.0, "other": 2.0}})
    counted = with_lot(lots, replace(CAN, counted_mL=20.0, counted_on=NOW))
    assert counted.drawn == {"job-2": {"other": 2.0}}
    again = with_draws(counted, "job-1", {"can": 3.0})
    assert with_lot(again, replace(counted.lots[0], note="at the back")).drawn == again.drawn


def test_a_lot_that_is_taken_out_takes_its_draws_along() -> None:
    lots = Lots(lots=(CAN,), drawn={"job-1": {"can": 5.0}})
    assert without_lot(lots, "can") == Lots()
    assert without_lot(lots, "other") == lots
