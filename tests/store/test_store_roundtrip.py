"""Whatever a painter writes comes back as it was; whatever is done to a file, it opens or is refused in words."""

import copy
import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import inspect
from strategies import examples, jobs, moments, words

from benchtool.job import events as ev
from benchtool.job.lots import Lot
from benchtool.job.nextstep import next_step
from benchtool.job.record import SCHEMA, Job
from benchtool.job.state import fold
from benchtool.job.windows import all_windows, listed
from benchtool.store import jobfile
from benchtool.store.jobfile import JobFileFault


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("job") / "a.json"


@examples(120)
@given(job=jobs())
def test_a_job_comes_back_exactly(file: Path, job: Job) -> None:
    jobfile.save(file, job)
    opened = jobfile.load(file)
    assert opened == jobfile.Opened(job=job)
    assert jobfile.dump(opened.job) == jobfile.dump(job) == file.read_bytes()
    assert fold(opened.job) == fold(job)


@examples(60)
@given(job=jobs(5))
def test_the_file_is_lines_of_utf_8_that_any_reader_of_json_takes(job: Job) -> None:
    text = jobfile.dump(job).decode("utf-8")
    assert text.endswith("}\n")
    assert "\r" not in text
    plain = json.loads(text)
    assert list(plain)[:4] == ["format", "schema", "id", "created"]
    assert [e["at"][-1] for e in plain["events"]] == ["Z"] * len(job.events)
    assert all(list(e)[:3] == ["type", "id", "at"] for e in plain["events"])


@examples(100)
@given(st.timedeltas(timedelta(0), timedelta(days=36_600)))
def test_a_length_of_time_is_written_as_a_sheet_has_it(length: timedelta) -> None:
    text = jobfile.iso_duration(length)
    assert msgspec.json.decode(json.dumps(text), type=timedelta) == length


@pytest.mark.parametrize(
    ("length", "text"),
    [
        (timedelta(0), "PT0S"),
        (timedelta(minutes=15), "PT15M"),
        (timedelta(hours=1, minutes=30), "PT1H30M"),
        (timedelta(hours=24), "P1D"),
        (timedelta(days=7, seconds=1.5), "P7DT1.5S"),
    ],
)
def test_lengths_of_time_by_iso_8601(length: timedelta, text: str) -> None:
    assert jobfile.iso_duration(length) == text


def test_every_time_of_a_record_is_made_utc() -> None:
    """A new field that holds an instant must be brought to UTC in `_event_in_utc` too."""

    def timed(kind: inspect.Type) -> set[str]:
        assert isinstance(kind, inspect.StructType)
        return {f.name for f in kind.fields if "datetime" in str(f.type).replace("datetime.timedelta", "").lower()}

    found = {name for kind in inspect.multi_type_info(ev.Event.__args__) for name in timed(kind)}  # type: ignore[attr-defined]
    assert found == {"at", "really_at", "since", "until", "lot", "points", "promised"}
    assert timed(inspect.type_info(ev.CoursePoint)) == {"at"}
    assert timed(inspect.type_info(Lot)) == {"got_on", "opened_on", "best_before", "counted_on"}


# --- damage ----------------------------------------------------------------------------------------


def open_or_refuse(file: Path, data: bytes, now: datetime) -> None:
    """A damaged file is refused in one line, or all that the bench asks of it can be answered."""
    file.write_bytes(data)
    opened, told = None, ""
    try:
        opened = jobfile.load(file)
    except JobFileFault as fault:
        told = str(fault)
    if opened is None:
        assert told.isprintable()
        return
    state = fold(opened.job)
    for w in listed(all_windows(state), now):
        assert w.words(now)
    for piece in state.pieces.values():
        assert next_step(state, piece, now).words
    if not opened.newer:
        jobfile.save(file, opened.job)
        assert jobfile.load(file).job == opened.job


@examples(150)
@given(job=jobs(8), data=st.data())
def test_bytes_changed_anywhere_open_or_are_refused(file: Path, job: Job, data: st.DataObject) -> None:
    damaged = bytearray(jobfile.dump(job))
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(damaged) - 1))
        gone = data.draw(st.integers(0, 3))
        damaged[at : at + gone] = data.draw(st.binary(max_size=3) | st.sampled_from([b'"', b"}", b"0", b"-", b"null"]))
    open_or_refuse(file, bytes(damaged), data.draw(moments(job)))


odd = st.one_of(
    st.sampled_from([None, True, -1, 0, 1e308, -1e308, 2**63, 1e-320, [], {}, [[]], {"type": "poured"}]),
    st.sampled_from(["P9999999D", "PT0S", "PT1S", "-PT1S", "0001-01-01T00:00:00Z", "9999-12-31T23:59:59.999999Z"]),
    st.sampled_from(["1e300 % of base", "0", "100", "50 % of total", "100 % of activated", "1x Reducer", "٣ % of x"]),
    st.sampled_from(["", "x" * 5_000, "e1", "l4", "c0", "p0"]),
    st.integers(),
    words,
)


def places(value: Any) -> list[tuple[Any, Any]]:
    if isinstance(value, dict):
        inner = list(value.items())
    elif isinstance(value, list):
        inner = list(enumerate(value))
    else:
        return []
    return [(value, k) for k, _ in inner] + [p for _, v in inner for p in places(v)]


@examples(250)
@given(job=jobs(12), data=st.data(), schema=st.sampled_from([SCHEMA, SCHEMA, *range(1, SCHEMA), SCHEMA + 1]))
def test_values_changed_anywhere_open_or_are_refused(file: Path, job: Job, data: st.DataObject, schema: int) -> None:
    plain = json.loads(jobfile.dump(job))
    plain["schema"] = schema
    for _ in range(data.draw(st.integers(1, 2))):
        found = places(plain)
        holder, key = data.draw(st.sampled_from(found))
        match data.draw(st.integers(0, 3)):
            case 0:
                del holder[key]
            case 1 if isinstance(holder, list):
                holder.insert(key, copy.deepcopy(holder[data.draw(st.integers(0, len(holder) - 1))]))
            case 2:
                other, name = data.draw(st.sampled_from(found))
                holder[key] = copy.deepcopy(other[name])
            case _:
                holder[key] = data.draw(odd)
    open_or_refuse(file, json.dumps(plain).encode(), data.draw(moments(job)))
