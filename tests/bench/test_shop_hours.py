"""The hours of the shop page: the week drawn as it is typed, what is wrong said at its field, all of it kept."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.bench.weekdraw import WeekBars, spoken
from benchtool.job.cards import Gun
from benchtool.job.shop import Shop, shop_faults
from benchtool.job.shophours import USUAL_HOURS, Opening, Takes, Weekday
from benchtool.plan.stepsday import room_of
from benchtool.session.cardfields import Wrong
from benchtool.session.hoursform import single_opening
from benchtool.session.shoppinghours import HoursText, gun_key, read_hours, takes_key, write_hours

TODAY = date(2026, 3, 14)


@given(
    st.integers(0, 20), st.integers(0, 20), st.dictionaries(st.sampled_from(list(Gun)), st.integers(0, 20)),
    st.dictionaries(st.sampled_from(list(Takes)), st.integers(1, 1_440).map(float)),
)  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_what_is_kept_comes_back_as_it_was(booths, hands, guns, takes):
    full = Shop()
    shop = Shop(
        booths=booths, hands=hands, guns={g: guns.get(g, 0) for g in Gun}, takes_min={**full.takes_min, **takes}
    )
    assert read_hours(write_hours(shop), shop, TODAY) == shop


def test_every_fault_is_told_at_its_own_field():
    typed = HoursText(
        hours="Mon-Fri late", closed="nonsense", booths="many", hands="-1",
        guns=dict.fromkeys(Gun, "21"), takes=dict.fromkeys(Takes, "two days"),
    )  # fmt: skip
    with pytest.raises(Wrong) as wrong:
        read_hours(typed, Shop(), TODAY)
    keys = {key for key, _ in wrong.value.faults}
    assert keys == {
        "hours", "closed", "booths", "hands", *(gun_key(g) for g in Gun), *(takes_key(t) for t in Takes),
    }  # fmt: skip
    assert all(said.endswith(".") for _, said in wrong.value.faults)


@pytest.mark.parametrize("minutes", ["0", "0 min", "25 h", "-5"])
def test_no_work_takes_nothing_or_more_than_a_day(minutes):
    text = write_hours(Shop())
    typed = HoursText(
        hours=text.hours, booths="1", hands="1", guns=text.guns, takes={**text.takes, Takes.COAT: minutes}
    )
    with pytest.raises(Wrong) as wrong:
        read_hours(typed, Shop(), TODAY)
    assert [key for key, _ in wrong.value.faults] == [takes_key(Takes.COAT)]


def test_a_night_is_kept_as_two_openings_that_the_shop_takes():
    text = write_hours(Shop())
    typed = HoursText(hours="Fri 20-2", booths="1", hands="2", guns=text.guns, takes=text.takes)
    shop = read_hours(typed, Shop(), TODAY)
    assert not list(shop_faults(shop))
    assert [(o.day, o.opens, o.closes) for o in shop.hours] == [
        (Weekday.FRIDAY, "20:00", "24:00"), (Weekday.SATURDAY, "00:00", "02:00"),
    ]  # fmt: skip


def test_the_week_is_said_whole_for_who_cant_see_it(qtbot):
    bars = WeekBars(__import__("benchtool.bench.look", fromlist=["Look"]).Look())
    qtbot.addWidget(bars)
    bars.show_week((*USUAL_HOURS[:1], Opening(day=Weekday.SUNDAY, opens="09:00", closes="12:00")))
    assert bars.accessibleName() == spoken(bars.openings)
    assert "Mon 08:00 to 18:00; Tue closed;" in bars.accessibleName()
    assert bars.accessibleName().endswith("Sun 09:00 to 12:00.")
    assert not bars.grab().isNull()


@pytest.fixture
def sheet(bench: Any) -> Any:
    page = bench.window.pages.shop
    page.ask("hours")
    bench.window.pages.setCurrentWidget(page)
    heard: list[str] = []
    page.said.connect(heard.append)
    page.hours.heard = heard
    return page.hours


def test_the_week_is_drawn_as_it_is_typed_and_nothing_while_it_cant_be_read(sheet):
    assert sheet.week.openings == USUAL_HOURS
    sheet.hours.edit.setText("Sat 9-13")
    assert [(o.day, o.opens) for o in sheet.week.openings] == [(Weekday.SATURDAY, "09:00")]
    assert sheet.hours.told.text() == "4 h a week"
    sheet.hours.edit.setText("Sat 9-")
    assert sheet.week.unread
    assert not sheet.week.openings
    assert "can't be read" in sheet.week.accessibleName()
    assert sheet.hours.told.text() == "not read yet"
    sheet.hours.edit.setText("closed")
    assert sheet.week.openings == ()
    assert sheet.hours.told.text() == "never open"
    assert not sheet.week.unread


def test_a_night_is_asked_about_beside_the_field_and_kept_all_the_same(sheet, bench):
    sheet.hours.edit.setText("weekdays 8 to 6")
    assert sheet.hours.told.text() == "50 h a week"
    assert sheet.hours.remarked.text() == ""
    sheet.hours.edit.setText("Mon 08:00-06:00")
    assert sheet.hours.remarked.text() == "That is open all night, 08:00 to 06:00: is that so?"
    sheet.extra.edit.setText("28 Nov 2026 20:00-06:00")
    sheet.enter()
    assert sheet.heard[-1].startswith("Kept")
    assert sheet.hours.remarked.text().endswith("is that so?")
    sheet.hours.edit.setText("Mon 8")
    assert sheet.hours.remarked.text() == ""


def test_it_is_kept_in_the_shop_and_there_again(sheet, bench):
    sheet.hours.edit.setText("Mon-Thu 7:30-16; Sat 9-13")
    sheet.closed.edit.setText("2026-12-24 to 2026-12-26")
    sheet.booths.edit.setText("2")
    sheet.takes[Takes.COAT].edit.setText("8")
    sheet.enter()
    shop = bench.session.shop.shop
    assert len(shop.hours) == 5
    assert shop.closed_days == (date(2026, 12, 24), date(2026, 12, 25), date(2026, 12, 26))
    assert shop.booths == 2
    assert shop.takes_min[Takes.COAT] == 8
    assert sheet.heard[-1].startswith("Kept")
    sheet.enter()
    assert sheet.heard[-1] == "Nothing was changed."


def test_what_is_wrong_keeps_nothing_and_loses_nothing_typed(sheet, bench):
    before = bench.session.shop.shop
    sheet.hours.edit.setText("Mon-Fri 8-12")
    sheet.hands.edit.setText("two")
    sheet.enter()
    assert bench.session.shop.shop == before
    assert sheet.hands.text() == "two"
    assert sheet.hours.text() == "Mon-Fri 8-12"
    assert sheet.hands.fault.text()
    assert sheet.heard[-1].startswith("Not yet:")
    sheet.ask()
    assert sheet.hours.text() == "Mon-Fri 8-12"


def test_a_shop_that_never_opens_is_kept_and_said(sheet, bench):
    sheet.hours.edit.setText("closed")
    sheet.enter()
    assert bench.session.shop.shop.hours == ()
    assert "nothing can be planned" in sheet.heard[-1]


def test_a_gun_that_the_figures_do_not_name_is_there_once_as_the_plan_takes_it():
    shop = Shop(guns={Gun.MINI: 2})
    assert {gun: int(write_hours(shop).guns[gun]) for gun in Gun} == room_of(shop).guns


@pytest.mark.parametrize("typed", ["0021", "00201", "21", "9" * 30])
def test_more_than_can_be_kept_is_told_with_any_noughts_before_it(typed):
    with pytest.raises(Wrong) as wrong:
        read_hours(replace(write_hours(Shop()), booths=typed), Shop(), TODAY)
    assert [name for name, _ in wrong.value.faults] == ["booths"]


def test_openings_of_single_days_are_shown_typed_and_cleared(sheet, bench):
    today = bench.session.now().astimezone().date()
    sheet.extra.edit.setText("today 9-18; tomorrow 20-1")
    sheet.enter()
    kept = bench.session.shop.shop.extra
    assert [(o.day - today).days for o in kept] == [0, 1, 2]
    assert sheet.extra.text().endswith("00:00-01:00")
    sheet.enter()
    assert sheet.heard[-1] == "Nothing was changed."
    sheet.extra.edit.setText("9-18")
    sheet.enter()
    assert "names no day" in sheet.extra.fault.text()
    assert bench.session.shop.shop.extra == kept
    sheet.extra.edit.setText("")
    sheet.enter()
    assert bench.session.shop.shop.extra == ()


@given(st.dictionaries(st.integers(0, 800), st.tuples(st.integers(0, 719), st.integers(720, 1440)), max_size=5))
@settings(max_examples=40, deadline=None)
def test_openings_of_single_days_come_back_as_they_were(days):
    extra = tuple(single_opening(TODAY + timedelta(days=d), *days[d]) for d in sorted(days))
    shop = Shop(extra=extra)
    assert read_hours(write_hours(shop, TODAY), shop, TODAY) == shop


def test_what_is_over_is_not_shown_and_goes_when_another_is_written():
    over, ahead = (single_opening(TODAY + timedelta(days=d), 540, 720) for d in (-7, 7))
    shop = Shop(extra=(over, ahead))
    text = write_hours(shop, TODAY)
    assert text.extra == "Sat 21 Mar 09:00-12:00"
    assert read_hours(text, shop, TODAY) == shop
    assert read_hours(replace(text, extra=""), shop, TODAY).extra == ()


def test_half_typed_hours_lose_no_opening_that_was_written_on_the_page_of_the_day(sheet, bench):
    sheet.hours.edit.setText("Mon-Fri 7-15")
    shop, today = bench.session.shop.shop, bench.session.now().astimezone().date()
    stayed = (single_opening(today, 540, 1080),)
    bench.session.shop.change(msgspec.structs.replace(shop, extra=stayed))
    sheet.ask()
    assert sheet.hours.text() == "Mon-Fri 7-15"
    sheet.enter()
    assert bench.session.shop.shop.extra == stayed
    assert bench.session.shop.shop.hours[0].opens == "07:00"
