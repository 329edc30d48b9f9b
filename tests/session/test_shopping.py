"""What is typed on the shop page becomes a record that reads back the same, or a sentence at its field."""

import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec.structs
import pytest
from builders import CLEAR
from hypothesis import given
from hypothesis import strategies as st

from benchtool.job.cards import Gun
from benchtool.job.lots import Lot
from benchtool.job.shop import Shop
from benchtool.session import shoppinglots as cans
from benchtool.session.cardfields import Wrong
from benchtool.session.library import CardLibrary
from benchtool.session.session import Session
from benchtool.session.shop import ShopKeeper
from benchtool.session.shopping import (
    MARKED,
    STRAIGHT,
    TAPERED,
    CupText,
    ToolText,
    read_cup,
    read_marks,
    read_tool,
    tool_words,
    with_cup,
    with_tool,
    with_usual_tools,
    without_cup,
    without_tool,
    write_cup,
    write_tool,
)
from benchtool.session.shoppinglots import Before, LotText, NotADay, read_day, read_lot, write_day, write_lot
from benchtool.session.shoppingusual import UsualText, read_usual, usual_key, write_usual
from benchtool.session.tables import load_tables
from benchtool.trade.measuring import USUAL_TOOLS, Tool, ToolKind
from benchtool.trade.quantities import Measures
from benchtool.trade.units import VolumeUnit
from benchtool.trade.vessel import USUAL_CUPS, Cup, NotACup

MEASURES = Measures()
NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
SYRINGE = ToolText(kind=ToolKind.SYRINGE, step="0.1", capacity="3 mL")


def faults(read: Any) -> dict[str, str]:
    with pytest.raises(Wrong) as wrong:
        read()
    assert all(message[-1] == "." for _, message in wrong.value.faults)
    return dict(wrong.value.faults)


# --- tools -------------------------------------------------------------------------------------------


def test_a_tool_names_itself_and_takes_any_unit() -> None:
    assert read_tool(MEASURES, SYRINGE) == Tool(name="3 mL syringe", kind=ToolKind.SYRINGE, step=0.1, capacity=3)
    ounces = read_tool(MEASURES, replace(SYRINGE, name=" My  syringe ", capacity="1 US fl oz", error="1/10 mL"))
    # 29.5735295625 mL: NIST Handbook 44, Appendix C
    assert (ounces.name, ounces.capacity, ounces.error) == ("My syringe", pytest.approx(29.5735295625), 0.1)


def test_a_scale_is_in_grams() -> None:
    scale = read_tool(MEASURES, ToolText(kind=ToolKind.SCALE, step="0.1", capacity="0.5 kg"))
    assert scale == Tool(name="scale to 0.1 g", kind=ToolKind.SCALE, step=0.1, capacity=500)
    assert "steps of 0.1 g" in tool_words(scale)
    assert set(faults(lambda: read_tool(MEASURES, ToolText(kind=ToolKind.SCALE, step="0.1 mL", capacity="500")))) == {
        "step"
    }


def test_counted_drops_make_the_drop() -> None:
    """20 drops that came to 0.9 mL are 0.045 mL each: 0.9 / 20, worked by hand."""
    counted = ToolText(kind=ToolKind.DROPPER, capacity="1 mL", counted=True, drops="20", drops_mL="0.9")
    tool = read_tool(MEASURES, counted)
    assert tool.step == pytest.approx(0.045)
    assert tool.calibrated
    assert "0.045 mL a drop, counted" in tool_words(tool)
    guess = read_tool(MEASURES, replace(counted, counted=False))
    assert (guess.step, guess.calibrated) == (0.05, False)
    assert "guess" in tool_words(guess)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"kind": None}, "kind"), ({"step": ""}, "step"), ({"step": "0"}, "step"), ({"step": "a bit"}, "step"),
        ({"step": "1 g"}, "step"), ({"capacity": ""}, "capacity"), ({"capacity": "0.05"}, "capacity"),
        ({"capacity": "-3"}, "capacity"), ({"capacity": "3000 L"}, "capacity"), ({"error": "-1"}, "error"),
        ({"error": "much"}, "error"), ({"name": "1 mL syringe"}, "name"), ({"name": "x" * 201}, "name"),
    ],
)  # fmt: skip
def test_a_tool_that_can_t_be_says_so_at_its_field(changes: dict[str, Any], field: str) -> None:
    text = replace(SYRINGE, **changes)
    assert set(faults(lambda: read_tool(MEASURES, text, ["1 mL syringe"]))) == {field}


@pytest.mark.parametrize(
    ("drops", "drops_mL", "field"),
    [("0", "1", "drops"), ("many", "1", "drops"), ("20", "", "drops_mL"), ("20", "0", "drops_mL"),
     ("20", "1 g", "drops_mL"), ("1", "2", "capacity")],
)  # fmt: skip
def test_drops_that_can_t_be(drops: str, drops_mL: str, field: str) -> None:
    text = ToolText(kind=ToolKind.DROPPER, capacity="1 mL", counted=True, drops=drops, drops_mL=drops_mL)
    assert set(faults(lambda: read_tool(MEASURES, text))) == {field}


@given(
    st.sampled_from([k for k in ToolKind if k is not ToolKind.DROPPER]),
    st.floats(0.001, 10),
    st.floats(1, 1000),
    st.none() | st.floats(0, 5),
)
def test_a_tool_reads_back(kind: ToolKind, step: float, times: float, error: float | None) -> None:
    tool = Tool(name="it", kind=kind, step=step, capacity=step * times, error=error)
    back = read_tool(MEASURES, write_tool(tool), (), tool)
    assert (back.step, back.capacity) == (pytest.approx(tool.step), pytest.approx(tool.capacity))
    assert back.error == (None if error is None else pytest.approx(error))


@pytest.mark.parametrize(
    "tool", [*USUAL_TOOLS, Tool(name="d", kind=ToolKind.DROPPER, step=0.045, capacity=1, error=0.01)]
)
def test_the_usual_tools_read_back(tool: Tool) -> None:
    assert read_tool(MEASURES, write_tool(tool), (), tool) == tool


def test_tools_of_a_shop() -> None:
    shop = Shop()
    scale = Tool(name="scale", kind=ToolKind.SCALE, step=0.1, capacity=500)
    more = msgspec.structs.replace(with_tool(shop, scale, None), by_weight=True)
    assert more.tools == (*shop.tools, scale)
    finer = msgspec.structs.replace(shop, tools=shop.tools)
    assert with_tool(finer, scale, "3 mL syringe").tools[1] == scale
    assert len(with_tool(finer, scale, "3 mL syringe").tools) == len(shop.tools)
    assert with_tool(without_tool(shop, "3 mL syringe"), shop.tools[1], None, 1) == shop
    assert without_tool(more, "3 mL syringe").by_weight
    assert not without_tool(more, "scale").by_weight
    assert not without_tool(with_tool(shop, scale, None), "dropper").by_weight
    assert with_tool(shop, scale, None, 0).tools[0] == scale
    assert set(with_usual_tools(without_tool(more, "dropper")).tools) == set(more.tools)
    assert with_usual_tools(shop) == shop


# --- cups --------------------------------------------------------------------------------------------

TAPER = CupText(name="mine", shape=TAPERED, height="60", bottom="4 cm", top="50 mm")


def test_cups_of_each_shape() -> None:
    tapered = read_cup(MEASURES, TAPER)
    assert tapered == Cup(name="mine", height_mm=60, bottom_mm=40, top_mm=50)
    straight = read_cup(MEASURES, replace(TAPER, shape=STRAIGHT, top="nonsense that is not asked"))
    assert straight == Cup(name="mine", height_mm=60, bottom_mm=40, top_mm=40)
    marked = read_cup(MEASURES, replace(TAPER, shape=MARKED, marks="10 mL 12 mm; 20 mL 22 mm"))
    assert marked.marks == ((10, 12), (20, 22))
    assert marked.capacity_mL == 20


@pytest.mark.parametrize(
    "typed",
    ["10 mL 12 mm; 20 mL 22 mm", "10 12; 20 22", "10mL 12mm;20mL 22mm;", "10 mL: 12 mm\n20 mL = 2.2 cm",
     "10 mL at 12 mm; 20 at 22"],
)  # fmt: skip
def test_marks(typed: str) -> None:
    found = read_marks(MEASURES, typed)
    assert [x for mark in found for x in mark] == pytest.approx([10, 12, 20, 22])


def test_marks_in_ounces() -> None:
    ((mL, mm),) = read_marks(MEASURES, "1 1/2 US fl oz 1 1/2 in")
    assert (mL, mm) == (pytest.approx(1.5 * 29.5735295625), pytest.approx(38.1))  # inch: 25.4 mm by definition
    ((mL, _),) = read_marks(MEASURES, "1 12", VolumeUnit.US_FL_OZ)
    assert mL == pytest.approx(29.5735295625)


@pytest.mark.parametrize("typed", ["10 mL", "12 mm 10 mL", "tall", "10 mL 12 g", "x" * 300])
def test_marks_that_can_t_be(typed: str) -> None:
    with pytest.raises(NotACup, match=r"Mark 1"):
        read_marks(MEASURES, typed)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"name": " "}, "name"), ({"name": "other"}, "name"), ({"shape": None}, "shape"), ({"height": ""}, "height"),
        ({"height": "0"}, "height"), ({"bottom": "0 mm"}, "bottom"), ({"bottom": "20 km"}, "bottom"),
        ({"top": "0"}, "top"), ({"top": "wide"}, "top"), ({"top": ""}, "top"), ({"shape": MARKED}, "marks"),
        ({"shape": MARKED, "marks": "20 mL 22 mm; 10 mL 30 mm"}, "marks"),
        ({"shape": MARKED, "marks": "20 mL 70 mm"}, "marks"),
    ],
)  # fmt: skip
def test_a_cup_that_can_t_be_says_so_at_its_field(changes: dict[str, Any], field: str) -> None:
    assert set(faults(lambda: read_cup(MEASURES, replace(TAPER, **changes), ["other"]))) == {field}


@pytest.mark.parametrize(
    "cup", [*USUAL_CUPS, Cup(name="m", height_mm=60, bottom_mm=30, top_mm=30, marks=((5.5, 7), (9, 60)))]
)
def test_cups_read_back(cup: Cup) -> None:
    assert read_cup(MEASURES, write_cup(cup)) == cup


def test_the_cup_in_hand_follows() -> None:
    shop = msgspec.structs.replace(Shop(), cup=USUAL_CUPS[1].name)
    renamed = with_cup(shop, msgspec.structs.replace(shop, cup="").cups[2], USUAL_CUPS[0].name)
    assert renamed.cup == USUAL_CUPS[1].name
    mine = read_cup(MEASURES, TAPER)
    assert with_cup(shop, mine, USUAL_CUPS[1].name).cup == "mine"
    assert without_cup(shop, USUAL_CUPS[1].name).cup == ""
    assert without_cup(shop, USUAL_CUPS[0].name).cup == shop.cup


# --- the usual figures -------------------------------------------------------------------------------


def test_usual_figures_are_read() -> None:
    text = UsualText(
        unit=VolumeUnit.US_FL_OZ, activator="8", rest="4 %", transfer={Gun.MINI: "55"},
        rate={Gun.AIRBRUSH: "1 US fl oz/min"}, loss="0.1", currency=" EUR ", limit="3.5 lb/gal",
    )  # fmt: skip
    shop = read_usual(MEASURES, text, Shop())
    assert (shop.tolerance_activator, shop.tolerance_rest) == (pytest.approx(0.08), pytest.approx(0.04))
    assert shop.transfer_percent == {Gun.MINI: 55}
    assert shop.rate_mL_min == {Gun.AIRBRUSH: pytest.approx(29.5735295625)}
    assert shop.loss_mL == pytest.approx(2.95735295625)
    assert shop.currency == "EUR"
    # 1 lb/gal is 119.826 g/L (453.59237 g / 3.785411784 L)
    assert shop.voc_limit_g_L == pytest.approx(3.5 * 453.59237 / 3.785411784)
    assert shop.tools == Shop().tools
    assert read_usual(MEASURES, write_usual(shop), shop) == shop


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"by_weight": True}, "by_weight"), ({"activator": "0"}, "activator"), ({"activator": "60"}, "activator"),
        ({"activator": "15"}, "activator"), ({"rest": "11"}, "rest"),
        ({"rest": "4 mL"}, "rest"), ({"transfer": {Gun.MINI: "101"}}, usual_key("transfer", Gun.MINI)),
        ({"rate": {Gun.MINI: "0"}}, usual_key("rate", Gun.MINI)), ({"rate": {Gun.MINI: "900 L/s"}}, "rate-mini-gun"),
        ({"loss": "3 g"}, "loss"), ({"loss": "-1"}, "loss"), ({"currency": "x" * 21}, "currency"),
        ({"limit": "420 mL"}, "limit"), ({"limit": "lots"}, "limit"),
    ],
)  # fmt: skip
def test_usual_figures_that_can_t_be(changes: dict[str, Any], field: str) -> None:
    text = replace(write_usual(Shop()), **changes)
    assert set(faults(lambda: read_usual(MEASURES, text, Shop()))) == {field}


def test_a_rounded_loss_stays_as_it_is() -> None:
    shop = msgspec.structs.replace(Shop(), loss_mL=3.14159)
    assert write_usual(shop).loss == "3.14 mL"
    assert read_usual(MEASURES, write_usual(shop), shop) == shop


# --- days --------------------------------------------------------------------------------------------


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> Iterator[None]:
    monkeypatch.setenv("TZ", getattr(request, "param", "UTC"))
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize("zone", ["UTC", "Europe/Berlin", "Pacific/Auckland", "America/Los_Angeles"], indirect=True)
@pytest.mark.parametrize(
    ("typed", "past", "day"),
    [
        ("2026-11-20", True, "2026-11-20"), ("2026.7.1", True, "2026-07-01"), ("2027-07-01", False, "2027-07-01"),
        ("11/2027", False, "2027-11-30"), ("2028-02", False, "2028-02-29"), ("11/2026", True, "2026-11-01"),
        ("2024-02-29", True, "2024-02-29"),
    ],
)  # fmt: skip
def test_a_written_day_shows_the_same_in_each_zone(zone: None, typed: str, past: bool, day: str) -> None:
    at = read_day(typed, NOW, past=past)
    assert write_day(at) == day
    assert at <= NOW or not past


@pytest.mark.parametrize(
    ("typed", "past", "day"),
    [
        ("today", True, "2026-11-25"), ("Yesterday", True, "2026-11-24"), ("3 months", False, "2027-02-25"),
        ("in 3 months", False, "2027-02-25"), ("3 months ago", True, "2026-08-25"), ("3 months", True, "2026-08-25"),
        ("2 weeks", True, "2026-11-11"), ("1 year", False, "2027-11-25"), ("10 d", False, "2026-12-05"),
    ],
)  # fmt: skip
def test_a_day_counted_from_now(zone: None, typed: str, past: bool, day: str) -> None:
    assert write_day(read_day(typed, NOW, past=past)) == day


def test_a_month_on_from_its_last_day(zone: None) -> None:
    assert write_day(read_day("3 months", datetime(2026, 11, 30, 10, tzinfo=UTC), past=False)) == "2027-02-28"
    assert write_day(read_day("4 months", datetime(2026, 12, 31, 10, tzinfo=UTC), past=False)) == "2027-04-30"


@pytest.mark.parametrize(
    ("typed", "past", "why"),
    [
        ("03/04/2026", True, "two ways"), ("2026-13-01", True, "calendar"), ("2026-02-30", True, "calendar"),
        ("13/2027", False, "calendar"), ("2026-11-26", True, "still to come"), ("soon", False, "no day"),
        ("3", False, "no day"), ("3 months ago", False, "is past"), ("in 3 months", True, "still to come"),
        ("9999-12-31", False, "too far"), ("1.5 months", False, "no day"), ("1600-01-01", True, "too far"),
    ],
)  # fmt: skip
def test_no_day(zone: None, typed: str, past: bool, why: str) -> None:
    with pytest.raises(NotADay, match=why):
        read_day(typed, NOW, past=past)


# --- lots --------------------------------------------------------------------------------------------

LOT = LotText(card=CLEAR.id, part="Base", full="1 L")


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Session:
    library = CardLibrary(tmp_path / "cards")
    library.keep(CLEAR)
    return Session(clock, load_tables(), MEASURES, library, ShopKeeper(tmp_path / "shop"))


def test_a_lot_is_read(session: Session) -> None:
    lot = read_lot(
        session,
        replace(LOT, number="B 1", price="48,50", opened="today", use_by="2027-05", keeps="6 months", low="200 mL"),
        "x",
    )
    assert (lot.full_mL, lot.price, lot.low_mL, lot.counted_mL) == (1000, 48.5, 200, None)
    assert lot.opened_on is not None
    assert lot.opened_on <= session.now()
    assert lot.keeps_opened == timedelta(days=182)
    keeper = session.shop
    assert keeper is not None
    keeper.save_lot(lot)
    assert keeper.lots() == (lot,)


@pytest.mark.parametrize("unit", list(VolumeUnit))
def test_an_unchanged_lot_stays_to_the_last_digit(session: Session, unit: VolumeUnit) -> None:
    keeper = session.shop
    assert keeper is not None
    keeper.change(msgspec.structs.replace(keeper.shop, unit=unit))
    lot = Lot(
        id="x", card=CLEAR.id, part="Base", full_mL=946.352946, price=19.999,
        got_on=datetime(2026, 1, 2, 3, 4, tzinfo=UTC),
        best_before=datetime(2027, 1, 2, 3, 4, tzinfo=UTC), keeps_opened=timedelta(days=182), low_mL=77.777777,
        counted_mL=123.456789, counted_on=datetime(2026, 2, 1, tzinfo=UTC),
    )  # fmt: skip
    shown = write_lot(lot, 120.1234567, unit)
    assert shown.left.endswith(unit.value)
    assert read_lot(session, shown, "x", Before(lot, shown)) == lot
    counted = read_lot(session, replace(shown, left="100 mL"), "x", Before(lot, shown))
    assert (counted.counted_mL, counted.counted_on) == (100, session.now())
    assert counted.full_mL == lot.full_mL


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"card": None}, "card"), ({"part": None}, "part"), ({"full": ""}, "full"), ({"full": "0"}, "full"),
        ({"full": "1 kg"}, "full"), ({"left": "2 L"}, "left"), ({"left": "-1"}, "left"), ({"low": "few"}, "low"),
        ({"price": "-1"}, "price"), ({"price": "free"}, "price"), ({"price": "5 shells"}, "price"),
        ({"opened": "2030-01-01"}, "opened"), ({"got": "03/04/2026"}, "got"), ({"use_by": "never"}, "use_by"),
        ({"keeps": "long"}, "keeps"), ({"number": "x" * 201}, "number"),
    ],
)  # fmt: skip
def test_a_lot_that_can_t_be_says_so_at_its_field(session: Session, changes: dict[str, Any], field: str) -> None:
    assert set(faults(lambda: read_lot(session, replace(LOT, **changes), "x"))) == {field}


def test_rows_say_what_is_old_and_low(session: Session) -> None:
    keeper = session.shop
    assert keeper is not None
    long_ago = session.now() - timedelta(days=40)
    keeper.save_lot(Lot(id="a", card=CLEAR.id, part="Base", full_mL=1000, best_before=long_ago, number="Z"))
    keeper.save_lot(Lot(id="b", card="gone", part="Base", full_mL=500, low_mL=600))
    low, old = cans.lot_rows(session, keeper)
    assert (low.lot.id, low.low, low.old) == ("b", True, False)
    assert (old.lot.id, old.low, old.old) == ("a", False, True)
    assert "LOW: 500 mL left of 500 mL" in low.detail
    assert "OLD: 40 days past the date on the can" in old.detail
    assert cans.low_words((low, old)) == "Running low: gone: Base."
    assert cans.low_words((old,)) == ""
    assert [r.lot.id for r in cans.lot_rows(session, keeper, f"{CLEAR.name.split()[0]} z")] == ["a"]
    assert cans.parts_of(CLEAR)[0] == "Base"
    assert not cans.can_use(session, old.lot)
