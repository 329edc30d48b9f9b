"""Opening hours and closed days as a painter types them."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtool.job.shop import Shop, shop_faults
from benchtool.job.shophours import USUAL_HOURS, Opening, Weekday
from benchtool.session.hoursform import (
    closed_text,
    extra_text,
    hours_text,
    odd_extra,
    odd_week,
    read_closed,
    read_extra,
    read_hours,
    single_opening,
)
from benchtool.session.hourspans import NotHours

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
        ("8 to 6 weekdays, saturday 9-1", "Mon-Fri 08:00-18:00; Sat 09:00-13:00"),
        ("8-6 weekdays and saturday 9-1, sunday closed", "Mon-Fri 08:00-18:00; Sat 09:00-13:00"),
        ("8-6 mon-fri, sat and sun 9-1", "Mon-Fri 08:00-18:00; Sat-Sun 09:00-13:00"),
        ("8-6 mon, tue, sat 9-1", "Mon-Tue 08:00-18:00; Sat 09:00-13:00"),
        ("7-4 mon and 8-6 tue, sat 9-1", "Mon 07:00-16:00; Tue 08:00-18:00; Sat 09:00-13:00"),
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
        ("Mon 08:00-08:00", "at once"),
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


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("weekdays 8 to 6", "Mon-Fri 08:00-18:00"),
        ("Mon-Sat 9-5", "Mon-Sat 09:00-17:00"),
        ("Mon-Fri 8:00-12:00, 1-5pm", "Mon-Fri 08:00-12:00, 13:00-17:00"),
        ("Mon-Fri 8-12, 1-5", "Mon-Fri 08:00-12:00, 13:00-17:00"),
        ("Mon 8-12, 1:30-5:30", "Mon 08:00-12:00, 13:30-17:30"),
        ("Mon 8-12, 12:30-5", "Mon 08:00-12:00, 12:30-17:00"),
        ("Mon 7-11, 3-7, 8-10", "Mon 07:00-11:00, 15:00-19:00, 20:00-22:00"),
        ("9:00-5:30", "Mon-Sun 09:00-17:30"),
        ("Mon 8 am to 6", "Mon 08:00-18:00"),
        ("Mon 9-5pm", "Mon 09:00-17:00"),
        ("Mon 8-8", "Mon 08:00-20:00"),
        ("Mon 12-1", "Mon 12:00-13:00"),
        ("Sat 1-5", "Sat 13:00-17:00"),
        ("Sat 6-12", "Sat 06:00-12:00"),
        ("Sat 12-5pm", "Sat 12:00-17:00"),
        ("Mon 1pm-5", "Mon 13:00-17:00"),
        ("mon-fri 8am-5pm, sat 9:00-12:30", "Mon-Fri 08:00-17:00; Sat 09:00-12:30"),
        ("Mon-Fri 8-12, 1-5, Sat, Sun 9-1", "Mon-Fri 08:00-12:00, 13:00-17:00; Sat-Sun 09:00-13:00"),
        ("mon-fri 8-5 and sat 9-noon", "Mon-Fri 08:00-17:00; Sat 09:00-12:00"),
        ("every day 9-5", "Mon-Sun 09:00-17:00"),
        ("8 to 6 on weekdays", "Mon-Fri 08:00-18:00"),
        ("9-5 Monday to Friday, 10-2 Saturdays", "Mon-Fri 09:00-17:00; Sat 10:00-14:00"),
        ("every Saturday from 9 to 1", "Sat 09:00-13:00"),
        ("weekdays 8-5, closed weekends", "Mon-Fri 08:00-17:00"),
        ("every day 9-5, closed Sunday", "Mon-Sat 09:00-17:00"),
        ("weekdays 8-5, sat closed, sun closed", "Mon-Fri 08:00-17:00"),
    ],
)
def test_bare_hours_are_read_as_a_painter_means_them(typed, said):
    """No plan may put work into the night because somebody counts to twelve twice."""
    openings = read_hours(typed)
    assert hours_text(openings) == said
    assert odd_week(openings) == ""


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("Mon-Fri 08:00-06:00", "That is open all night, 08:00 to 06:00: is that so?"),
        ("22-6", "That is open all night, 22:00 to 06:00: is that so?"),
        ("Sun 20-4", "That is open all night, 20:00 to 04:00: is that so?"),
        ("Mon 18:00-02:00", "That is open into the night, 18:00 to 02:00: is that so?"),
        ("Mon 6-23", "That is 17 h at a stretch, 06:00 to 23:00: is that so?"),
        ("daily 0:00-24:00", "That is open day and night: is that so?"),
        ("Mon 0-24", "That is 24 h at a stretch, 00:00 to 24:00: is that so?"),
        ("Mon 6-22; Tue 18-24", ""),
        ("Mon-Fri 18-midnight", ""),
    ],
)
def test_a_night_or_a_very_long_day_is_asked_about_and_taken(typed, asked):
    assert odd_week(read_hours(typed)) == asked


def test_a_single_night_is_asked_about_too():
    assert odd_extra(read_extra("today 9-5", TODAY)) == ""
    assert odd_extra(read_extra("today 18:00-06:00", TODAY)) == "That is open all night, 18:00 to 06:00: is that so?"
    assert odd_extra(read_extra("today 18-24; 5 Dec 0-6", TODAY)) == ""


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("Mon 8-05:00", "Mon 08:00-24:00; Tue 00:00-05:00"),
        ("Mon 8 am - 5 am", "Mon 08:00-24:00; Tue 00:00-05:00"),
        ("Mon 8-12, 1 pm-5 pm", "Mon 08:00-12:00, 13:00-17:00"),
        ("Mon 20-4", "Mon 20:00-24:00; Tue 00:00-04:00"),
        ("Mon 8-12, 01:00-05:00", "Mon 01:00-05:00, 08:00-12:00"),
        ("Mon 6-12, 18-24", "Mon 06:00-12:00, 18:00-24:00"),
        ("Mon 9-0:30", "Mon 09:00-24:00; Tue 00:00-00:30"),
    ],
)
def test_hours_that_can_only_be_meant_so_are_taken(typed, said):
    assert hours_text(read_hours(typed)) == said


# --- openings of single days -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("Sat 28 Nov 9-18", "Sat 28 Nov 09:00-18:00"),
        ("28 Nov 9-18", "Sat 28 Nov 09:00-18:00"),
        ("Nov 29 8-12, 1 pm-4 pm", "Sun 29 Nov 08:00-12:00, 13:00-16:00"),
        ("today 9-18, tomorrow 10 to noon", "Sat 28 Nov 09:00-18:00; Sun 29 Nov 10:00-12:00"),
        ("Saturday 9-18; Wed: 18-20", "Sat 28 Nov 09:00-18:00; Wed 2 Dec 18:00-20:00"),
        ("2026-12-05 20-2", "Sat 5 Dec 20:00-24:00; Sun 6 Dec 00:00-02:00"),
        ("Sun, 28 Nov 2027 0900-1800", "Sun 28 Nov 2027 09:00-18:00"),
        ("1st May 2000-2200", "Sat 1 May 20:00-22:00"),
        ("28 Nov 9-12; 28 Nov 12-15", "Sat 28 Nov 09:00-15:00"),
        ("Fri 27 Nov 9-18; Sun 29 Nov 9-12", "Sun 29 Nov 09:00-12:00"),
        ("", ""),
    ],
)
def test_single_openings_are_read_as_they_are_meant(typed, said):
    assert extra_text(read_extra(typed, TODAY), TODAY) == said


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("28 Nov", "has no hours"),
        ("9-18", "names no day"),
        ("Sun 28 Nov 9-18", "no Sunday, but a Saturday"),
        ("2026-11-27 9-18", "is over"),
        ("31 Nov 9-18", "is no day"),
        ("28 Nov 9", "is no opening"),
        ("28 Nov 09:00-09:00", "at once"),
        ("; ".join(f"{TODAY + timedelta(days=i)} 9-18" for i in range(401)), "400 can be kept"),
    ],
)
def test_what_is_no_single_opening_is_told_in_a_sentence(typed, says):
    with pytest.raises(NotHours, match=says) as told:
        read_extra(typed, TODAY)
    assert str(told.value).endswith(".")


@given(st.dictionaries(st.integers(0, 900), st.sets(st.integers(0, 1440), min_size=2, max_size=5), max_size=20))
def test_any_single_openings_come_back_from_their_text(days):
    made = []
    for ahead, cuts in sorted(days.items()):
        ends = sorted(cuts)
        pairs = zip(ends[::2], ends[1::2], strict=False)
        made += [single_opening(TODAY + timedelta(days=ahead), a, b) for a, b in pairs]
    assert list(shop_faults(Shop(extra=tuple(made)))) == []
    assert read_extra(extra_text(made, TODAY), TODAY) == tuple(made)


@given(st.text(max_size=40) | st.text("SatSun28Nov2026 -:,;9180today", max_size=30))
def test_whatever_is_typed_is_single_openings_that_a_shop_holds_or_a_sentence(text):
    told, read = "", ()
    try:
        read = read_extra(text, TODAY)
    except NotHours as wrong:
        told = str(wrong)
    assert list(shop_faults(Shop(extra=read))) == []
    assert not told or (told.endswith(".") and told[0].isprintable())


def test_a_single_opening_that_cant_be_is_told():
    day = TODAY
    turned, over = single_opening(day, 600, 540), (single_opening(day, 540, 700), single_opening(day, 600, 800))
    assert [path for path, _ in shop_faults(Shop(extra=(turned,)))] == [".extra[0].closes"]
    assert [path for path, _ in shop_faults(Shop(extra=over))] == [".extra"]
