"""Opening hours and closed days as a painter types them."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtool.job.shop import Shop, shop_faults
from benchtool.job.shophours import USUAL_HOURS, Opening, Weekday
from benchtool.session.hoursform import NotHours, closed_text, hours_text, read_closed, read_hours

TODAY = date(2026, 11, 28)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("Mon-Fri 8:00-12:00, 13-18; Sat 9-13", "Mon-Fri 08:00-12:00, 13:00-18:00; Sat 09:00-13:00"),
        ("mon – fri 8 am to 6 pm", "Mon-Fri 08:00-18:00"),
        ("Monday to Thursday 8.30 a.m. - 5.30 p.m.\nFriday 8-noon", "Mon-Thu 08:30-17:30; Fri 08:00-12:00"),
        ("Sat, Sun 10-16", "Sat-Sun 10:00-16:00"),
        ("Mon and Wed 9-17", "Mon 09:00-17:00; Wed 09:00-17:00"),
        ("Fri-Mon 9-12", "Mon 09:00-12:00; Fri-Sun 09:00-12:00"),
        ("8-18", "Mon-Sun 08:00-18:00"),
        ("daily 0:00-24:00", "Mon-Sun 00:00-24:00"),
        ("weekdays 0800-1700; weekend closed", "Mon-Fri 08:00-17:00"),
        ("Sun 20:00-2:00", "Mon 00:00-02:00; Sun 20:00-24:00"),
        ("Sat 18-24", "Sat 18:00-24:00"),
        ("Tues 18-midnight", "Tue 18:00-24:00"),
        ("Tue 9-12, 11-15", "Tue 09:00-15:00"),
        ("Mon closed", "closed"),
        ("", "closed"),
        ("closed", "closed"),
    ],
)
def test_a_week_is_read_as_it_is_meant(typed, said):
    assert hours_text(read_hours(typed)) == said


@pytest.mark.parametrize(
    ("typed", "word"),
    [
        ("Mon-Fri", "no hours"),
        ("Mun 8-12", "no day"),
        ("Mon 8", "no opening"),
        ("Mon 8-12-18", "no opening"),
        ("Mon 8-25", "no time of day"),
        ("Mon 13 pm-18", "no time of day"),
        ("Mon 8-8", "at once"),
        ("Mon 8-12; Mon 13-18", "twice"),
        ("when I feel like it", "no hours"),
        ("Mon <b>8</b>-12", "no day"),
    ],
)
def test_what_is_no_week_is_told_in_a_sentence(typed, word):
    with pytest.raises(NotHours, match=word) as told:
        read_hours(typed)
    assert str(told.value).endswith(".")


def test_the_usual_week_reads_as_it_is_written():
    assert hours_text(USUAL_HOURS) == "Mon-Fri 08:00-18:00"
    assert read_hours(hours_text(USUAL_HOURS)) == USUAL_HOURS


@st.composite
def weeks(draw):
    made = []
    for day in Weekday:
        cuts = sorted(draw(st.sets(st.integers(0, 1440), min_size=0, max_size=6)))
        for a, b in zip(cuts[::2], cuts[1::2], strict=False):
            made.append(Opening(day=day, opens=f"{a // 60:02d}:{a % 60:02d}", closes=f"{b // 60:02d}:{b % 60:02d}"))
    return tuple(made)


@given(weeks())
def test_any_week_comes_back_from_its_text(week):
    assert list(shop_faults(Shop(hours=week))) == []
    assert read_hours(hours_text(week)) == week


@given(st.text(max_size=40))
def test_whatever_is_typed_is_a_week_that_a_shop_holds_or_a_sentence(text):
    told, read = "", ()
    try:
        read = read_hours(text)
    except NotHours as wrong:
        told = str(wrong)
    assert list(shop_faults(Shop(hours=read))) == []
    assert not told or (told.endswith(".") and told[0].isprintable())


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("24 Dec, 2026-12-25 to 2027-01-01", "2026-12-24 to 2027-01-01"),
        ("24 Dec to 2 Jan", "2026-12-24 to 2027-01-02"),
        ("1 May", "2027-05-01"),
        ("May 1, 2nd June 2027", "2027-05-01, 2027-06-02"),
        ("28 Nov", "2026-11-28"),
        ("27 Nov", "2027-11-27"),
        ("3-5 Jan", "2027-01-03 to 2027-01-05"),
        ("3 - 5 Jan", "2027-01-03 to 2027-01-05"),
        ("29 Feb", "2028-02-29"),
        ("24 Dec - 2 Jan 2028", "2027-12-24 to 2028-01-02"),
        ("", ""),
    ],
)
def test_closed_days_are_read_as_they_are_meant(typed, said):
    assert closed_text(read_closed(typed, TODAY)) == said


@pytest.mark.parametrize(
    "typed", ["31 Feb", "tomorrow", "2026-13-01", "5 Jan 2027 to 3 Jan 2027", "2026-01-01 to 2030-01-01", "12.5."]
)
def test_what_is_no_day_is_told_in_a_sentence(typed):
    with pytest.raises(NotHours) as told:
        read_closed(typed, TODAY)
    assert str(told.value).endswith(".")


@given(st.sets(st.integers(0, 900), max_size=60))
def test_any_closed_days_come_back_from_their_text(offsets):
    days = tuple(sorted(TODAY + timedelta(days=i) for i in offsets))
    assert read_closed(closed_text(days), TODAY) == days
