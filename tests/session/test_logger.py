"""A data logger's file becomes readings: the same ones however it grew, and what was left out is said."""

import codecs
import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch
from zoneinfo import ZoneInfo

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.job.events import ReadingTaken
from benchtool.session.logger import LoggedReading, LoggerColumns, LoggerFile, NotALogger, Polled, TimeFormat, guess
from benchtool.session.loggerguess import read_value
from benchtool.session.loggertimes import LoggerTimes
from benchtool.store import loggerfile

LAW = settings(max_examples=150, deadline=None, derandomize=True, database=None)
BERLIN = ZoneInfo("Europe/Berlin")
START = datetime(2026, 5, 1, 10, tzinfo=UTC)
READ = loggerfile.Tail.read


def write(folder: Path, text: str | bytes, name: str = "log.csv") -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def append(path: Path, text: str | bytes) -> None:
    with path.open("ab") as file:
        file.write(text if isinstance(text, bytes) else text.encode())


def columns(path: Path, **changes: object) -> LoggerColumns:
    usual = {
        "delimiter": ",", "decimal": ".", "time_column": "Time", "air_column": "Temp", "humidity_column": "RH",
        "time_format": TimeFormat.YEAR_FIRST,
    }  # fmt: skip
    return LoggerColumns(path=path, **(usual | changes))


def at(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


def lines(*rows: tuple[float, float, float]) -> str:
    return "".join(f"{at(minutes):%Y-%m-%d %H:%M:%S},{air},{humidity}\n" for minutes, air, humidity in rows)


def told(polled: Polled) -> str:
    return " ".join(polled.faults)


# --- the law: however the file grew --------------------------------------------------------------------


TIMES = st.one_of(
    st.integers(0, 7200).map(
        lambda s: f"{datetime(2026, 10, 25, tzinfo=UTC) + timedelta(seconds=s + 4000):%d.%m.%Y %H:%M:%S}"
    ),
    st.sampled_from(["Zeit", "", "01.01.1970 00:00:00", "25.10.2026 02:30:00", "#", "25.10.2036 02:30:00"]),
)
VALUES = st.one_of(
    st.decimals(15, 25, places=1).map(lambda d: str(d).replace(".", ",")),
    st.sampled_from(["", "400", "68", "-999", "21.5", "nan", "x", "20,0 °C"]),
)
ROWS = st.one_of(
    st.tuples(TIMES, VALUES, VALUES).map(";".join),
    st.sampled_from(["Zeit;Temp;RH", "RH;Zeit;Temp", "Zeit;Temp", "", "#;;", '"25.10.2026 02:45:00";"20,5;"', "a,b,c"]),
)


def poll_all(log: LoggerFile) -> tuple[list[LoggedReading], Polled]:
    got: list[LoggedReading] = []
    while True:
        polled = log.poll(datetime(2026, 10, 26, tzinfo=UTC), most_pieces=1)
        got += polled.readings
        if not polled.more:
            return got, polled


@LAW
@given(
    rows=st.lists(ROWS, max_size=40),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "cp1252", "utf-16-le"]),
    ending=st.sampled_from(["\n", "\r\n"]),
    cuts=st.lists(st.integers(0, 1600), max_size=8),
)
def test_any_way_of_appending_gives_the_same_readings(rows, encoding, ending, cuts):
    bom = codecs.BOM_UTF16_LE if encoding == "utf-16-le" else b""
    data = bom + "".join(f"{row}{ending}" for row in ["Zeit;Temp;RH", *rows]).encode(encoding)
    with TemporaryDirectory() as folder:
        form = {
            "delimiter": ";", "decimal": ",", "time_column": "Zeit", "zone": BERLIN,
            "time_format": TimeFormat.DAY_FIRST,
        }  # fmt: skip
        whole = write(Path(folder), data, "whole.csv")
        expected, last = poll_all(LoggerFile(columns(whole, **form)))
        grown = write(Path(folder), b"", "grown.csv")
        log, got, before = LoggerFile(columns(grown, **form)), [], 0
        with patch.object(loggerfile, "CHUNK", 256):
            for cut in [*sorted(cuts), len(data)]:
                append(grown, data[before:cut])
                before = max(before, min(cut, len(data)))
                more, polled = poll_all(log)
                got += more
    assert got == expected
    assert polled.newest == last.newest
    assert all(a.at < b.at for a, b in pairwise(got))


WILD = st.lists(
    st.lists(st.text(max_size=6) | TIMES | VALUES | st.sampled_from(["-", "²", "٣", '"', "1e999", "0001-01-01 00:00"])),
    max_size=12,
)


@LAW
@given(rows=WILD, delimiter=st.sampled_from(",;\t|"), raw=st.binary(max_size=300) | st.none())
def test_nothing_in_a_file_makes_it_stumble(rows, delimiter, raw):
    text = "\n".join(["Zeit;Temp;RH".replace(";", delimiter), *map(delimiter.join, rows), ""])
    with TemporaryDirectory() as folder:
        path = write(Path(folder), raw if raw is not None else text.encode(errors="replace"))
        try:
            found = guess(path, BERLIN)
        except NotALogger:
            found = columns(path, time_column="Zeit", time_format=None, zone=BERLIN, delimiter=delimiter)
        log = LoggerFile(found)
        polled = log.poll()
        # What a line holds is never taken for trouble with the file.
        assert "log.csv has a name" not in told(polled)
        assert "\n" not in "".join(polled.faults)
        assert all(0 < reading.humidity_percent <= 100 for reading in polled.readings)


@st.composite
def courses(draw) -> list[tuple[int, float, float]]:
    """Readings as (s, degC, %), rising; every second so fast that most are left out."""
    t, air, humidity, rows = 0, 20.0, 50.0, []
    for step in draw(st.lists(st.sampled_from([5, 10, 30, 59, 60, 61, 600, 4000]), min_size=1, max_size=60)):
        t += step
        air = min(30, max(10, round(air + draw(st.sampled_from([0, 0, 0, 0.04, -0.06, 0.1, -1.0])), 2)))
        humidity = min(90, max(20, round(humidity + draw(st.sampled_from([0, 0, 0.4, -0.3, 5.0])), 1)))
        rows.append((t, air, humidity))
    return rows


FORMS = {
    TimeFormat.YEAR_FIRST: "%Y-%m-%dT%H:%M:%S",
    TimeFormat.DAY_FIRST: "%d.%m.%Y %H:%M:%S",
    TimeFormat.MONTH_FIRST: "%m/%d/%Y %I:%M:%S %p",
}


@LAW
@given(
    rows=courses(),
    form=st.sampled_from([*FORMS, TimeFormat.EPOCH]),
    dialect=st.sampled_from([(",", "."), (";", ","), (";", "."), ("\t", ",")]),
    names=st.sampled_from(
        ["Date,Temp (°C),RH %", "Zeit,Lufttemperatur,Luftfeuchte", "Fecha,Temperatura,Humedad", "Date,Température,Hum."]
    ),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    unit=st.sampled_from("CF"),
)
def test_what_was_written_is_guessed_and_read(rows, form, dialect, names, encoding, unit):
    delimiter, decimal = dialect
    start = datetime(2026, 5, 14, 9, tzinfo=UTC)  # a fourteenth is no month

    def stamp(t: int) -> str:
        when = start + timedelta(seconds=t)
        return f"{when.timestamp():.0f}" if form is TimeFormat.EPOCH else f"{when.astimezone(BERLIN):{FORMS[form]}}"

    def row(t: int, air: float, humidity: float) -> str:
        degrees = air if unit == "C" else air * 1.8 + 32
        values = [f"{degrees:.4f}", f"{humidity:.1f}"]
        return delimiter.join([stamp(t), *(v.replace(".", decimal) for v in values)])

    header = names.replace("°C", f"°{unit}").replace(",", delimiter)
    text = "\n".join([header, *(row(*r) for r in rows), ""])
    with TemporaryDirectory() as folder:
        found = guess(write(Path(folder), text.encode(encoding)), BERLIN)
        assert (found.delimiter, found.time_format) == (delimiter, form)
        if unit == "C" or "°F" in header:
            assert found.unit == unit
        polled = LoggerFile(replace(found, unit=unit)).poll()
    expected = [
        LoggedReading(start + timedelta(seconds=t), pytest.approx(air, abs=0.006), pytest.approx(humidity, abs=0.06))
        for t, air, humidity in rows
    ]
    assert polled.newest == expected[-1]
    written = {e.at: e for e in expected}
    assert all(reading == written[reading.at] for reading in polled.readings)
    _assert_thinned_well(rows, [(r.at - start).total_seconds() for r in polled.readings])


def _assert_thinned_well(rows: list[tuple[int, float, float]], kept: list[float]) -> None:
    """Hold the rule as it is written against what was kept, row by row."""
    by_time = {t: (air, humidity) for t, air, humidity in rows}
    after = {a[0]: b[0] - a[0] for a, b in pairwise(rows)}
    assert kept[0] == rows[0][0]
    for t, air, humidity in rows:
        held = max(k for k in kept if k <= t)
        moved = abs(air - by_time[held][0]) >= 0.1 - 1e-4 or abs(humidity - by_time[held][1]) >= 1 - 1e-4
        if moved and held != t:
            # 1e-2: in °F the written figure is rounded
            clearly = abs(air - by_time[held][0]) >= 0.11 or abs(humidity - by_time[held][1]) >= 1.01
            assert not clearly or (t - held < 60 and after.get(t, 0) <= 60)
    for a, b in pairwise(kept):
        assert b - a >= 60 or after[b] > 60
        changed = abs(by_time[a][0] - by_time[b][0]) >= 0.08 or abs(by_time[a][1] - by_time[b][1]) >= 0.98
        assert changed or b - a >= 1800
    for t, _, _ in rows:
        assert t - max(k for k in kept if k <= t) < 1800


# --- guessing ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "air", "humidity", "surface"),
    [
        ("Time,Air,Humidity,Surface", "Air", "Humidity", "Surface"),
        ("Time,Dew point,RH,Temp,Panel", "Temp", "RH", "Panel"),
        ("Zeit,Taupunkt,Oberflächentemperatur,Luftfeuchtigkeit,Lufttemperatur",
         "Lufttemperatur", "Luftfeuchtigkeit", "Oberflächentemperatur"),
        ("Heure,Humidité,Température,Point de rosée", "Température", "Humidité", None),
        ("Fecha,Temperatura superficie,Temperatura aire,Humedad relativa",
         "Temperatura aire", "Humedad relativa", "Temperatura superficie"),
        ("Ora,Umidità,Temperatura,Rugiada", "Temperatura", "Umidità", None),
        ("Tijd,Luchtvochtigheid,Temperatuur,Dauwpunt", "Temperatuur", "Luchtvochtigheid", None),
        ("Tid,Luftfuktighet,Lufttemperatur,Yta", "Lufttemperatur", "Luftfuktighet", "Yta"),
        ("Czas,Wilgotność,Temperatura,Powierzchnia", "Temperatura", "Wilgotność", "Powierzchnia"),
        ("Čas,Vlhkost,Teplota,Povrch", "Teplota", "Vlhkost", "Povrch"),
        ("Aika,Kosteus,Lämpötila,Pinta", "Lämpötila", "Kosteus", "Pinta"),
        ("Time,Battery,Temp 1,Air temp,RH", "Air temp", "RH", None),
        ("Temp,RH,Time", "Temp", "RH", None),
    ],
)  # fmt: skip
def test_columns_go_by_their_names(tmp_path, header, air, humidity, surface):
    width = header.count(",")
    row = ",".join(f"{20 + i}.5" for i in range(width))
    line = f"{row},2026-05-14 12:00" if header.endswith("Time") else f"2026-05-14 12:00,{row}"
    found = guess(write(tmp_path, f"{header}\n{line}\n"))
    assert (found.air_column, found.humidity_column, found.surface_column) == (air, humidity, surface)
    assert found.asks == ()
    assert any(f"“{air}”" in sentence for sentence in found.said)
    assert len(LoggerFile(found).poll().readings) == 1


@pytest.mark.parametrize(
    ("rows", "air", "humidity"),
    [
        ("1,1777629600,20.5,50\n2,1777629660,20.6,50\n3,1777629720,20.6,51\n", "3", "4"),
        ("1777629600,65,20.5\n1777629660,65,20.6\n", "3", "2"),
        ("1777629600,20.5,0.9,65\n1777629660,20.6,0.9,65\n", "2", "4"),
        ("1777629600123,20.5,65\n1777629660123,20.6,65\n", "2", "3"),
    ],
)
def test_without_names_columns_go_by_their_values(tmp_path, rows, air, humidity):
    found = guess(write(tmp_path, rows))
    assert (found.header, found.air_column, found.humidity_column) == (False, air, humidity)
    assert "by its values" in " ".join(found.said)
    assert LoggerFile(found).poll().readings[0].at.replace(microsecond=0) == START.replace(hour=10)


def test_a_head_of_other_lines_and_a_line_of_units_are_passed_over(tmp_path):
    text = "Logger X;\nSerial;123\n\nNr;Zeit;Temp;Feuchte\n;;°C;%\n1;14.05.2026 12:00:00;20,5;51\n"
    found = guess(write(tmp_path, text.encode("utf-16")), BERLIN)
    assert (found.time_column, found.air_column, found.humidity_column) == ("Zeit", "Temp", "Feuchte")
    polled = LoggerFile(found).poll()
    assert polled.readings == (LoggedReading(datetime(2026, 5, 14, 10, tzinfo=UTC), 20.5, 51),)
    assert polled.faults == ()


def test_date_and_time_may_stand_apart(tmp_path):
    found = guess(write(tmp_path, "Date,Time,Temp,RH\n5/14/2026,1:05 PM,20,50\n"))
    assert (found.date_column, found.time_column, found.time_format) == ("Date", "Time", TimeFormat.MONTH_FIRST)
    assert LoggerFile(found).poll().readings[0].at == datetime(2026, 5, 14, 13, 5, tzinfo=UTC)


def test_fahrenheit_goes_by_values_where_nothing_else_makes_sense(tmp_path):
    found = guess(write(tmp_path, "Time,Temp,RH\n2026-05-14 12:00,68,50\n"))
    assert found.unit == "F"
    assert "only makes sense in °F" in " ".join(found.said)
    assert LoggerFile(found).poll().readings[0].air_degC == 20


@pytest.mark.parametrize(
    ("dates", "form"),
    [
        (["03/04/2026", "13/04/2026"], TimeFormat.DAY_FIRST),
        (["03/04/2026", "03/13/2026"], TimeFormat.MONTH_FIRST),
        (["03/04/2026", "04/04/2026"], TimeFormat.DAY_FIRST),
        (["03/04/2026", "03/05/2026"], TimeFormat.MONTH_FIRST),
        (["3.4.2026"], TimeFormat.DAY_FIRST),
        (["2026/3/4"], TimeFormat.YEAR_FIRST),
        (["03/04/2026", "03/04/2026"], None),
    ],
)
def test_the_order_of_day_and_month_is_settled_or_asked(tmp_path, dates, form):
    # The telling date stands beyond the first piece that is looked at.
    head = [dates[0]] * 500
    text = "Time,Temp,RH\n" + "".join(f"{d} 12:{i // 60:02}:{i % 60:02},20,50\n" for i, d in enumerate(head))
    found = guess(write(tmp_path, text + "".join(f"{d} 13:00:00,25,50\n" for d in dates[1:])))
    assert found.time_format is form
    assert (found.asks == ()) is (form is not None)
    polled = LoggerFile(found).poll()
    if form is None:
        assert found.asks == ("Is 03/04/2026 written with the day or with the month first?",)
        assert polled.readings == ()
        assert "Is 03/04/2026" in told(polled)
    else:
        expected = {TimeFormat.DAY_FIRST: (4, 3), TimeFormat.MONTH_FIRST: (3, 4), TimeFormat.YEAR_FIRST: (3, 4)}[form]
        assert (polled.readings[0].at.month, polled.readings[0].at.day) == expected


def test_an_open_order_settles_itself_as_the_file_grows_and_nothing_is_lost(tmp_path):
    path = write(tmp_path, "Time,Temp,RH\n03/04/2026 23:50,20,50\n")
    log = LoggerFile(columns(path, time_format=None))
    assert "day or with the month" in told(log.poll())
    assert log.poll() == Polled()
    append(path, "04/04/2026 00:00,21,50\n")
    assert [r.at for r in log.poll().readings] == [
        datetime(2026, 4, 3, 23, 50, tzinfo=UTC), datetime(2026, 4, 4, 0, 0, tzinfo=UTC)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no whole line"),
        ("hello\nworld\n", "No line"),
        ("Time,Temp,RH\n2026-05-14 12:00,21,5,55,0\n2026-05-14 12:01,21,5,55,0\n", "both its columns and its decimals"),
        ("Time,Temp,RH\n2026-05-14 12:01,20,50\n2026-05-14 12:00,20,50\n2026-05-14 11:59,20,50\n", "stands first"),
        (b"\x00\x01\x02\x03" * 100_000, "lines"),
    ],
)
def test_what_is_no_logger_is_refused_in_a_sentence(tmp_path, text, words):
    with pytest.raises(NotALogger, match=words) as caught:
        guess(write(tmp_path, text))
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)


def test_a_missing_file_is_refused_and_a_missing_column_asked_for(tmp_path):
    with pytest.raises(NotALogger, match="not there"):
        guess(tmp_path / "none.csv")
    found = guess(write(tmp_path, "Time,Temp\n2026-05-14 12:00,20\n"))
    assert found.asks == ("Which column holds the humidity?",)
    assert "Choose the columns" in told(LoggerFile(found).poll())


# --- times ---------------------------------------------------------------------------------------------


def read_times(form: TimeFormat, zone: object, *texts: str, step: float = 0) -> list[datetime | None]:
    reader, got, last = LoggerTimes(form, zone), [], -math.inf
    for text in texts:
        seconds = reader.utc(text, last, step)
        got.append(None if seconds is None else datetime.fromtimestamp(seconds, UTC))
        last = last if seconds is None else max(last, seconds)
    return got


@pytest.mark.parametrize(
    ("form", "text", "utc"),
    [
        (TimeFormat.YEAR_FIRST, "2026-05-14T12:00:00Z", "2026-05-14T12:00:00+00:00"),
        (TimeFormat.YEAR_FIRST, "2026-05-14T12:00:00+05:30", "2026-05-14T06:30:00+00:00"),
        (TimeFormat.YEAR_FIRST, "2026-05-14 12:00:00,250", "2026-05-14T10:00:00.250000+00:00"),
        (TimeFormat.YEAR_FIRST, "20260514T120000", "2026-05-14T10:00:00+00:00"),
        (TimeFormat.YEAR_FIRST, "2026/5/14 9:05", "2026-05-14T07:05:00+00:00"),
        (TimeFormat.DAY_FIRST, "14.05.2026 12:00", "2026-05-14T10:00:00+00:00"),
        (TimeFormat.DAY_FIRST, "14. 5. 26 9.05.07", "2026-05-14T07:05:07+00:00"),
        (TimeFormat.DAY_FIRST, "1/2/2026 12:00", "2026-02-01T11:00:00+00:00"),
        (TimeFormat.MONTH_FIRST, "1/2/2026 12:00:30 AM", "2026-01-01T23:00:30+00:00"),
        (TimeFormat.MONTH_FIRST, "05/14/2026, 12:30 p.m.", "2026-05-14T10:30:00+00:00"),
        (TimeFormat.MONTH_FIRST, "05/14/2026 1:30\u202fPM", "2026-05-14T11:30:00+00:00"),
        (TimeFormat.EPOCH, "1778760000", "2026-05-14T12:00:00+00:00"),
        (TimeFormat.EPOCH, "1778760000,5", "2026-05-14T12:00:00.500000+00:00"),
        (TimeFormat.EPOCH, "1778760000500", "2026-05-14T12:00:00.500000+00:00"),
        (TimeFormat.DAY_FIRST, "31.02.2026 12:00", None),
        (TimeFormat.DAY_FIRST, "14.05.2026 24:01", None),
        (TimeFormat.DAY_FIRST, "14.05.2026", None),
        (TimeFormat.MONTH_FIRST, "05/14/2026 13:00 PM", None),
        (TimeFormat.YEAR_FIRST, "noon", None),
        (TimeFormat.EPOCH, "nan", None),
        (TimeFormat.EPOCH, "1e300", None),
    ],
)
def test_times_as_loggers_write_them(form, text, utc):
    assert read_times(form, BERLIN, text) == [None if utc is None else datetime.fromisoformat(utc)]


@pytest.mark.parametrize(
    ("zone", "minutes"),
    [(zone, m) for zone in ("Europe/Berlin", "America/New_York") for m in (1, 7, 10, 30, 45, 60)]
    # Half an hour comes twice there. Steps longer than that can't be told apart, and the first pass is taken.
    + [("Australia/Lord_Howe", m) for m in (1, 7, 10, 30)],
)
def test_the_hour_that_comes_twice_rises(zone, minutes):
    place = ZoneInfo(zone)
    day = {"Europe": (10, 25), "America": (11, 1), "Australia": (4, 5)}[zone.split("/")[0]]
    start = datetime(2026, *day, 0, 0, tzinfo=place).astimezone(UTC)
    times = [start + timedelta(minutes=minutes * i) for i in range(360 // minutes)]
    texts = [f"{t.astimezone(place):%Y-%m-%d %H:%M:%S}" for t in times]
    assert any(t.astimezone(place).fold for t in times)
    assert read_times(TimeFormat.YEAR_FIRST, place, *texts, step=60 * minutes) == times


def test_a_line_out_of_order_in_that_hour_is_not_taken_for_the_second_pass():
    got = read_times(TimeFormat.DAY_FIRST, BERLIN, "25.10.2026 02:31", "25.10.2026 02:30", "25.10.2026 02:31", step=60)
    assert [f"{t:%H:%M}" for t in got if t] == ["00:31", "00:30", "00:31"]


def test_a_pause_into_the_second_pass_is_read_as_one():
    got = read_times(TimeFormat.DAY_FIRST, BERLIN, "25.10.2026 02:40", "25.10.2026 02:10", step=60)
    assert [f"{t:%H:%M}" for t in got if t] == ["00:40", "01:10"]


def test_a_fixed_zone_has_no_such_hour():
    winter = timezone(timedelta(hours=1))
    got = read_times(TimeFormat.DAY_FIRST, winter, "25.10.2026 02:59", "25.10.2026 02:00")
    assert [f"{t:%H:%M}" for t in got if t] == ["01:59", "01:00"]


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("21.5", ".", (21.5, "")),
        ("21,5", ",", (21.5, "")),
        ("21,5", ".", None),
        ("−3.5 °C", ".", (-3.5, "C")),
        ("70 °F", ".", (70, "F")),
        ("70 degF", ".", (70, "F")),
        ("55 %RH", ".", (55, "")),
        ("1.013,2", ",", None),
        ("---", ".", None),
    ],
)
def test_values_with_and_without_their_units(text, decimal, value):
    assert read_value(text, decimal) == value


# --- what is wrong is said -----------------------------------------------------------------------------

HEAD = "Time,Temp,RH\n"


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("2026-05-01 10:05,400,50", "line 3 left out: air of 400 °C can't be"),
        ("2026-05-01 10:05,20,0", "above 0 and at most 100 %, and 0 % is not"),
        ("2026-05-01 10:05,20,101", "101 % is not"),
        ("2026-05-01 10:05,20,0.5", "write it in percent"),
        ("2026-05-01 10:05,68,50", "but 68 °F can. If the logger writes °F, choose °F"),
        ("2026-05-01 10:05,nan,50", "“nan” is no number"),
        ("2026-05-01 10:05,,50", "a value is missing"),
        ('2026-05-01 10:05,"21,5",50', "“21,5” is no number. Choose the decimal comma"),
        ("2026-05-01 10:05,20", "“2026-05-01 10:05,20” has too few columns"),
        ("yesterday,20,50", "“yesterday” is no time"),
        ("1970-01-01 00:00,20,50", "never set"),
        ("2026-05-01 09:00,20,50", "01 May 2026, 10:00 is followed by 01 May 2026, 09:00"),
        ("2026-06-01 09:00,20,50", "lies ahead of this computer's time"),
    ],
)
def test_a_line_that_is_no_reading_is_left_out_and_said_once(tmp_path, row, words):
    path = write(tmp_path, HEAD + lines((0, 20, 50)) + f"{row}\n")
    log = LoggerFile(columns(path))
    polled = log.poll(at(10))
    assert words in told(polled)
    assert len(polled.faults) == 1
    assert polled.offers_fahrenheit is ("68" in row)
    assert polled.newest == LoggedReading(START, 20, 50)
    append(path, f"{row}\n")
    assert log.poll(at(10)).faults == ()
    append(path, lines((6, 25, 50)))
    polled = log.poll(at(10))
    assert (polled.faults, polled.newest) == ((), LoggedReading(at(6), 25, 50))


def test_a_fault_is_told_again_after_a_look_without_it(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 20, 50), (1, 400, 50), (2, 400, 50)))
    log = LoggerFile(columns(path))
    assert told(log.poll()) == "log.csv, 2 lines left out, the first is line 3: air of 400 °C can't be."
    append(path, lines((3, 20, 50)))
    assert log.poll().faults == ()
    append(path, lines((4, 300, 50)))
    assert "300 °C" in told(log.poll())


def test_a_fault_is_not_told_again_after_a_look_at_nothing(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 20, 50), (1, 400, 50)))
    log = LoggerFile(columns(path))
    log.poll()
    assert log.poll().faults == ()
    append(path, lines((2, 400, 50)))
    assert log.poll().faults == ()


def test_fahrenheit_is_not_offered_where_it_was_chosen(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 68, 50), (5, 140, 50)))
    polled = LoggerFile(columns(path, unit="F")).poll()
    assert [r.air_degC for r in polled.readings] == [20]
    assert told(polled) == "log.csv, line 3 left out: 60 °C at 50 % can't be."
    assert not polled.offers_fahrenheit


def test_a_dates_order_chosen_wrongly_is_said(tmp_path):
    path = write(tmp_path, HEAD + "05/12/2026 10:00,20,50\n05/13/2026 10:00,20,50\n")
    polled = LoggerFile(columns(path, time_format=TimeFormat.DAY_FIRST)).poll()
    assert "“05/13/2026 10:00” is no time with the day first. Choose again" in told(polled)


def test_a_surface_that_cant_be_costs_only_the_surface(tmp_path):
    path = write(tmp_path, "Time,Temp,RH,S\n2026-05-01 10:00,20,50,400\n2026-05-01 10:05,20,50,19\n")
    polled = LoggerFile(columns(path, surface_column="S")).poll()
    assert [r.surface_degC for r in polled.readings] == [None, 19]
    assert "a surface of “400” can't be" in told(polled)


def test_duplicates_are_skipped_without_a_word(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 20, 50), (0, 20, 50), (5, 22, 50), (5, 22, 50), (5, 23, 50)))
    polled = LoggerFile(columns(path)).poll()
    assert polled.newest == LoggedReading(at(5), 22, 50)
    assert [r.air_degC for r in polled.readings] == [20, 22]
    assert polled.faults == ()


@pytest.mark.parametrize(
    ("second", "kept"),
    [
        ("10:01,20.1,50,15", True), ("10:01,20.09,50,15", False), ("10:01,20,51,15", True), ("10:01,20,50.9,15", False),
        ("10:01,20,50,15.1", True), ("10:01,20,50,15.09", False), ("10:01,20,50,", True), ("10:00:59,30,90,", False),
    ],
)  # fmt: skip
def test_what_changes_less_than_can_be_told_is_left_out_but_newest(tmp_path, second, kept):
    path = write(tmp_path, f"Time,Temp,RH,S\n2026-05-01 10:00,20,50,15\n2026-05-01 {second}\n")
    polled = LoggerFile(columns(path, surface_column="S")).poll()
    assert len(polled.readings) == 1 + kept
    assert polled.newest is not None
    assert polled.newest.at > START


def test_a_gap_is_told_but_not_a_slow_logger(tmp_path):
    slow = lines(*((60 * i, 20, 50) for i in range(5)))
    path = write(tmp_path, HEAD + slow)
    log = LoggerFile(columns(path))
    assert len(log.poll().faults) == 1  # after one step of an hour nobody knows that it is the usual one
    append(path, lines((300, 20, 50), (360, 20, 50), (360 + 600, 20, 50)))
    assert told(log.poll()) == "No reading for 10 h: from 01 May 2026, 16:00 to 02 May 2026, 02:00."
    quick = write(tmp_path, HEAD + lines((0, 20, 50), (1, 20, 50), (51, 20, 50)), "quick.csv")
    assert "No reading for 50 min" in told(LoggerFile(columns(quick)).poll())


def test_a_change_before_a_pause_is_not_lost(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 20, 50), (0.5, 10, 50), (120, 10, 50)))
    assert [(r.at, r.air_degC) for r in LoggerFile(columns(path)).poll().readings] == [
        (at(0), 20), (at(0.5), 10), (at(120), 10),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("delimiter", "words"), [(",", "parted by semicolons, not by commas: choose semicolons"), ("\t", "semicolons")]
)
@pytest.mark.parametrize("header", [True, False])
def test_a_wrong_delimiter_is_said_once(tmp_path, delimiter, words, header):
    path = write(tmp_path, ("Time;Temp;RH\n" if header else "") + lines((0, 20, 50), (1, 21, 50)).replace(",", ";"))
    named = {} if header else {"time_column": "1", "air_column": "2", "humidity_column": "3"}
    log = LoggerFile(columns(path, delimiter=delimiter, header=header, **named))
    polled = log.poll()
    assert len(polled.faults) == 1
    assert words in told(polled)
    assert log.poll().faults == ()


def test_a_column_that_is_gone_is_named_and_one_that_moved_is_followed(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 20, 50)))
    log = LoggerFile(columns(path))
    log.poll()
    append(path, "RH,Time,Temp\n51,2026-05-01 10:10,22\n")
    polled = log.poll()
    assert (polled.newest, polled.faults) == (LoggedReading(at(10), 22, 51), ())
    append(path, "Time,Temp\n2026-05-01 10:15,23\n")
    assert told(log.poll()) == "The column “RH” is not in log.csv, which has Time, Temp: choose its columns again."
    assert log.poll().faults == ()
    assert log.newest == LoggedReading(at(10), 22, 51)


def test_a_surface_column_that_is_gone_leaves_the_air(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 20, 50)))
    polled = LoggerFile(columns(path, surface_column="Panel")).poll()
    assert len(polled.readings) == 1
    assert "“Panel” is not in log.csv" in told(polled)


# --- the file comes and goes ---------------------------------------------------------------------------


def test_a_file_begun_anew_repeats_nothing(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 20, 50), (5, 21, 50), (10, 22, 50)))
    log = LoggerFile(columns(path))
    assert len(log.poll().readings) == 3
    path.write_text(HEAD + lines((5, 21, 50)), encoding="utf-8")
    polled = log.poll()
    assert polled.readings == ()
    assert told(polled) == "log.csv was begun anew: only what is newer than the last reading counts."
    append(path, lines((10, 22, 50), (15, 23, 50)))
    polled = log.poll()
    assert [r.air_degC for r in polled.readings] == [23]
    assert polled.faults == ()


def test_a_file_begun_anew_in_the_hour_that_comes_twice_repeats_nothing(tmp_path):
    head = "Time,Temp,RH\n25.10.2026 02:00,20,50\n25.10.2026 02:20,21,50\n"
    path = write(tmp_path, head + "25.10.2026 02:40,22,50\n")
    log = LoggerFile(columns(path, zone=BERLIN, time_format=TimeFormat.DAY_FIRST))
    assert len(log.poll().readings) == 3
    path.write_text(head, encoding="utf-8")
    assert log.poll().readings == ()
    assert log.newest is not None
    assert log.newest.air_degC == 22


def test_a_missing_file_leaves_the_last_reading_and_says_its_age(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 20, 50)))
    log = LoggerFile(columns(path))
    log.poll()
    path.unlink()
    polled = log.poll(at(50))
    held = "log.csv is not there: the last reading, 20 °C and 50 %, 50 min old, still holds."
    assert (polled.faults, polled.newest) == ((held,), LoggedReading(START, 20, 50))
    assert log.poll(at(51)).faults == ()
    assert log.words(at(52)) == held.replace("50 min", "52 min")
    write(tmp_path, HEAD + lines((0, 20, 50), (52, 21, 50)))
    assert log.poll(at(52)).newest == LoggedReading(at(52), 21, 50)
    assert log.words(at(52)) == ""


def test_a_locked_file_is_told_apart(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 20, 50)))
    log = LoggerFile(columns(path))
    with patch.object(Path, "open", side_effect=PermissionError(13, "no")):
        assert told(log.poll()) == (
            "log.csv is locked, or you have no right to read it, and no reading was taken from it yet."
        )
    assert len(log.poll().readings) == 1


def test_words_tell_age_and_a_clock_that_is_ahead(tmp_path):
    path = write(tmp_path, HEAD)
    log = LoggerFile(columns(path))
    log.poll()
    assert log.words(START) == "There is no reading in log.csv yet."
    append(path, lines((0, 18.2, 55), (1, 18.2, 55)))
    log.poll()
    assert log.words(at(15)) == ""
    assert log.words(at(51)) == "No reading for 50 min: 18.2 °C and 55 % still holds."
    append(path, lines((180, 18.2, 55)))
    assert "lies ahead of this computer's time. Set the logger's clock" in told(log.poll(at(60)))
    assert log.words(at(60)) == (
        "The logger's time is 2 h ahead of this computer's: set its clock, or choose its zone."
    )
    append(path, lines((61, 18.2, 55)))
    log.poll(at(61))
    assert log.words(at(61)) == ""
    assert log.left_out == {"ahead": 1}


def test_air_that_stands_still_is_kept_each_half_hour(tmp_path):
    path = write(tmp_path, HEAD + lines(*((m, 20, 50) for m in range(0, 100, 5))))
    assert [r.at for r in LoggerFile(columns(path)).poll().readings] == [at(0), at(30), at(60), at(90)]


def test_what_was_left_out_is_counted_by_its_kind(tmp_path):
    rows = [(0, 20, 50), (0, 20, 50), (-5, 20, 50), (1, 400, 50), (2, 20, 50), (100, 20, 50)]
    log = LoggerFile(columns(write(tmp_path, HEAD + lines(*rows) + "2026-05-01 11:50,x,50\n")))
    log.poll(at(120))
    assert log.left_out == {"twice": 1, "back": 1, "air": 1, "value": 1}
    assert log.pauses == [98 * 60]


def test_reading_ahead_for_the_order_of_the_date_ends_when_told(tmp_path):
    path = write(tmp_path, "Time,Temp,RH\n" + "01/02/2026 10:00,20,50\n" * 40 + "13/02/2026 10:00,21,50\n")
    log = LoggerFile(columns(path, time_format=None))
    with patch.object(loggerfile, "CHUNK", 256), patch.object(loggerfile.Tail, "read", autospec=True) as read:
        read.side_effect = READ
        looks, got = 0, []
        while True:
            read.reset_mock()
            polled = log.poll(most_pieces=1)
            assert read.call_count <= 1
            got += polled.readings
            looks += 1
            if not polled.more:
                break
    assert looks > 6
    assert [r.air_degC for r in got] == [20, 21]


def test_after_a_restart_the_same_readings_follow(tmp_path):
    rows = [(i / 4, 20 + (i % 50) / 50, 50 + i % 3 / 2) for i in range(400)]
    path = write(tmp_path, HEAD + lines(*rows))
    whole = LoggerFile(columns(path)).poll().readings
    assert 5 < len(whole) < 100
    for held in whole:
        again = LoggerFile(columns(path), after=held.at).poll().readings
        assert again == whole[whole.index(held) + 1 :]


def test_old_faults_and_gaps_are_no_news_to_a_job_that_began_later(tmp_path):
    path = write(tmp_path, HEAD + lines((0, 20, 50), (5, 400, 50), (100, 21, 50), (101, 22, 50)))
    assert len(LoggerFile(columns(path)).poll().faults) == 2
    assert LoggerFile(columns(path), after=at(100)).poll().faults == ()


def test_the_record_of_a_job_can_hold_whatever_is_given(tmp_path):
    extreme = [(t, air, humidity) for t, (air, humidity) in enumerate(
        (a, h) for a in (-40, -31, -30, 0, 50, 51, 70, 71, 100) for h in (0.05, 0.2, 1, 50, 100)
    )]  # fmt: skip
    path = write(tmp_path, HEAD + lines(*extreme))
    readings = LoggerFile(columns(path)).poll().readings
    assert {-30, 50, 70} <= {r.air_degC for r in readings}
    for r in readings:
        event = ReadingTaken(id="e1", at=r.at, air_degC=r.air_degC, humidity_percent=r.humidity_percent)
        assert msgspec.json.decode(msgspec.json.encode(event), type=ReadingTaken) == event
