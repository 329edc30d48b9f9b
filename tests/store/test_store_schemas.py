"""Files of older and newer schemas, and the published JSON Schema."""

import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples, jobs

from benchtool.job import events as ev
from benchtool.job.cards import CardTime, Origin, OriginKind
from benchtool.job.record import SCHEMA, Job
from benchtool.session.session import NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.store.jobfile import JobFileFault, Opened
from benchtool.store.schema import schema
from benchtool.trade.quantities import Measures

PUBLISHED = Path(__file__).resolve().parents[2] / "resources" / "job.schema.json"
FROZEN = {n: Path(__file__).with_name("frozen") / f"job.schema-{n}.json" for n in (1, 2, 3, 4, 5)}
"""A job with an event of every kind, as the program wrote it while the schema was 1 to 5."""

SINCE: dict[int, set[str]] = {
    1: {"LotTaken", "CourseExpected"},
    2: {"FilmMeasured", "HeatStarted", "HeatEnded", "ClockAnswered"},
    3: set(),
    4: {
        "TrialPlanned", "TrialReplanned", "TrialEnded", "TapePressed", "AgeingBegun", "AgeingOver", "Graded",
        "SystemChosen",
    },
    5: {"TakenFrom", "PhotoAdded"},
}  # fmt: skip
"""The kinds of event that came after a schema: schema 4 brought fields and no kind."""

NEWER = SCHEMA + 1


def write(path: Path, plain: Any) -> None:
    path.write_text(json.dumps(plain), encoding="utf-8")


# --- newer -----------------------------------------------------------------------------------------


def test_a_newer_file_that_holds_nothing_new_opens_read_only(path: Path, job: Job) -> None:
    plain = json.loads(path.read_bytes())
    write(path, {**plain, "schema": 7})
    opened = jobfile.load(path)
    assert opened.newer
    assert opened.notes == ()
    assert opened.job.schema == 7
    assert opened.job.events == job.events


def test_what_a_newer_file_holds_more_is_left_out_and_told(path: Path, job: Job) -> None:
    plain = json.loads(path.read_bytes())
    plain |= {"schema": NEWER, "shop": {"name": "x"}}
    plain["events"][1]["card"]["gloss"] = 90
    plain["events"][4]["parts"][0]["batch"] = [1, 2]
    plain["events"].insert(5, {"type": "lamp lit", "id": "e5a", "at": "2026-03-02T09:35:30Z", "watt": 500})
    plain["events"].append(
        {"type": "prep done", "id": "e9", "at": "2026-03-02T10:00:00Z", "piece": "p1", "step": "ice"}
    )
    plain["events"].append("?")
    write(path, plain)
    opened = jobfile.load(path)
    assert opened.newer
    assert opened.job.events == job.events
    assert opened.notes == (
        "$.shop is left out: this version does not know it",
        "$.events[1].card.gloss is left out: this version does not know it",
        "$.events[4].parts[0].batch is left out: this version does not know it",
        "$.events[5] is left out: this version does not know “lamp lit”",
        "$.events[9] is left out: “ice” is none of the words that may stand here (at $.events[9].step)",
        "$.events[10] is left out: A group of fields in { } belongs here and not text (at $.events[10])",
    )


def test_events_that_lost_what_they_speak_of_are_left_out_too(path: Path, job: Job) -> None:
    plain = json.loads(path.read_bytes())
    plain["schema"] = NEWER
    plain["events"][3]["type"] = "layer sketched"
    write(path, plain)
    opened = jobfile.load(path)
    assert opened.job.events == job.events[:3]
    assert [n.partition(" is left out: ")[::2] for n in opened.notes] == [
        ("$.events[3]", "this version does not know “layer sketched”"),
        ("$.events[4]", "there is no layer “l1” before this event"),
        ("$.events[6]", "there is no layer “l1” before this event"),
        ("$.events[7]", "there is no layer “l1” before this event"),
        ("$.events[5]", "there is no mix “m1” before this event"),
    ]


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"created": None}, "$.created"),
        ({"created": "1960-01-01T00:00:00Z"}, "$.created"),
        ({"id": "a b"}, "$.id"),
        ({"events": {"1": 2}}, "$.events"),
        ({"demo": "maybe"}, "$.demo"),
    ],
)
def test_a_newer_file_without_a_head_is_refused(path: Path, change: dict[str, Any], place: str) -> None:
    plain = json.loads(path.read_bytes())
    write(path, {**plain, "schema": NEWER, **change})
    with pytest.raises(JobFileFault) as fault:
        jobfile.load(path)
    assert fault.value.place == place


@examples(40)
@given(job=jobs(10))
def test_nothing_is_lost_of_a_newer_file_that_only_says_so(tmp_path_factory: pytest.TempPathFactory, job: Job) -> None:
    path = tmp_path_factory.getbasetemp() / "newer.json"
    path.write_bytes(of_schema(NEWER, job))
    opened = jobfile.load(path)
    assert (opened.newer, opened.notes, opened.job.events) == (True, (), job.events)


def of_schema(number: int, job: Job) -> bytes:
    """Write a job as it stands, under another number."""
    told = f'"schema": {SCHEMA}'.encode()
    written = jobfile.dump(job)
    assert written.count(told, 0, 60) == 1
    return written.replace(told, f'"schema": {number}'.encode(), 1)


def test_a_newer_file_is_read_only_in_the_window(path: Path, job: Job, session: Session) -> None:
    path.write_bytes(of_schema(NEWER, job))
    before = path.read_bytes()
    document = session.open(path)
    assert document.read_only == "It was made by a newer version of this tool: shown read-only."
    with pytest.raises(NotNow, match="newer version"):
        session.apply(partial(ev.PrepDone, piece="p1", step=ev.Prep.WASH))
    assert path.read_bytes() == before


def test_what_was_added_since_schema_1_tells_an_older_program_that_it_is_newer() -> None:
    """Schema 1 knew no lots, guesses, left-overs, contents or shelf lives; a file of it could not hold them."""
    assert SCHEMA >= 2
    frozen = FROZEN[1].read_text(encoding="utf-8")
    assert not any(f'"{word}"' in frozen for word in ("lot", "guess", "left_mL", "voc", "keeps", "reducer_keeps"))


def test_what_was_added_since_schema_2_tells_an_older_program_that_it_is_newer() -> None:
    """Schema 2 knew no forced dry, film or heat, and nothing that the painter said of a clock."""
    assert SCHEMA >= 3
    frozen = FROZEN[2].read_text(encoding="utf-8")
    assert not any(f'"{word}"' in frozen for word in ("forced", "films", "film measured", "heat started"))


def test_what_was_added_since_schema_3_tells_an_older_program_that_it_is_newer() -> None:
    """Schema 3 knew no chemistry, carrier or origin with its page, no mark or clue, and not how a step was done."""
    assert SCHEMA >= 4
    frozen = FROZEN[3].read_text(encoding="utf-8")
    new = (
        *("maker", "chemistry", "carrier", "traits", "additives", "dust_free", "film_most_um", 'kind": "guess'),
        *("mark", "clues", "shape", "joined", "agent", "grit", "passed", "metal_cup"),
    )
    assert not any(f'"{word}"' in frozen for word in new)


def test_an_origin_that_a_newer_version_says_more_of_keeps_what_is_known(path: Path, job: Job) -> None:
    plain = json.loads(path.read_bytes()) | {"schema": NEWER}
    sheet = {"kind": "data sheet", "words": "Sheet 7", "page": "2", "day": "2026-03-01"}
    plain["events"][1]["card"]["origins"] = {"*": "a demo", "flash": sheet | {"seen_by": "me"}}
    plain["events"][1]["card"]["additives"] = [
        {"id": "flex", "name": "Flex additive", "suits": "flexible", "share": "5 % of base", "smell": "strong"}
    ]
    write(path, plain)
    opened = jobfile.load(path)
    card = next(e.card for e in opened.job.events if isinstance(e, ev.CardCopied))
    told = Origin(kind=OriginKind.SHEET, words="Sheet 7", page="2", day="2026-03-01")
    assert card.origins == {"*": "a demo", "flash": told}
    assert [a.name for a in card.additives] == ["Flex additive"]
    assert opened.notes == (
        '$.events[1].card.origins["flash"].seen_by is left out: this version does not know it',
        "$.events[1].card.additives[0].smell is left out: this version does not know it",
    )


def test_of_what_a_newer_card_says_of_air_and_heat_only_the_unknown_is_left_out(path: Path, job: Job) -> None:
    plain = json.loads(path.read_bytes()) | {"schema": NEWER}
    plain["events"][1]["card"]["paces"] = {"flash": {"model": "doubling", "factor": 3.0, "humid": True}}
    plain["events"][1]["card"]["forced"] = {"cure": {"degC": 60.0, "wait": "PT1H", "lamp": "short wave"}}
    write(path, plain)
    opened = jobfile.load(path)
    assert [type(e) for e in opened.job.events] == [type(e) for e in job.events]
    card = next(e.card for e in opened.job.events if isinstance(e, ev.CardCopied))
    assert (card.paces[CardTime.FLASH].factor, card.forced[CardTime.CURE].degC) == (3.0, 60.0)
    assert opened.notes == (
        '$.events[1].card.paces["flash"].humid is left out: this version does not know it',
        '$.events[1].card.forced["cure"].lamp is left out: this version does not know it',
    )


# --- older -----------------------------------------------------------------------------------------


@pytest.fixture
def session(clock: Any) -> Any:
    made = Session(clock, load_tables(), Measures())
    yield made
    made.close_all()


@pytest.fixture(params=FROZEN.values(), ids=map(str, FROZEN))
def frozen(request: pytest.FixtureRequest) -> Path:
    """The job of an older schema, not to be written to."""
    file: Path = request.param
    return file


@pytest.fixture
def old(tmp_path: Path, frozen: Path) -> Path:
    """A copy of the job of an older schema."""
    file = tmp_path / "old.json"
    file.write_bytes(frozen.read_bytes())
    return file


def test_a_file_of_an_older_schema_opens_as_it_was(old: Path, frozen: Path) -> None:
    opened = jobfile.load(old)
    assert not opened.newer
    assert opened.notes == ()
    assert opened.job.schema == SCHEMA
    kinds = {type(e).__name__ for e in opened.job.events}
    number = json.loads(frozen.read_bytes())["schema"]
    later = set().union(*(kinds_of for since, kinds_of in SINCE.items() if since >= number))
    assert kinds == {kind.__name__ for kind in ev.Event.__args__} - later
    assert of_schema(number, opened.job) == frozen.read_bytes()


def test_a_file_of_an_older_schema_is_written_anew_only_when_something_changes(
    old: Path, frozen: Path, session: Session, untouched: Callable[[Path], Any]
) -> None:
    with untouched(old):
        document = session.open(old)
        assert document.read_only == ""
        session.findings()
        session.tick()
        assert session.save_all() == []
        document.lock.release()
        old.with_name(f".{old.name}.lock").unlink(missing_ok=True)
    session.close_all()
    assert old.read_bytes() == frozen.read_bytes()
    session.open(old)
    session.apply(partial(ev.PrepDone, piece="hull", step=ev.Prep.WASH))
    written = json.loads(old.read_bytes())
    assert written["schema"] == SCHEMA
    assert written["events"][:-1] == json.loads(frozen.read_bytes())["events"]
    (kept,) = jobfile.atomic.versions(old)
    assert kept.read_bytes() == frozen.read_bytes()


@examples(40)
@given(job=jobs(), number=st.integers(1, SCHEMA - 1))
def test_a_file_opens_the_same_whichever_schema_it_says(
    tmp_path_factory: pytest.TempPathFactory, job: Job, number: int
) -> None:
    path = tmp_path_factory.getbasetemp() / "older.json"
    path.write_bytes(of_schema(number, job))
    assert jobfile.load(path) == Opened(job=job)


def test_older_files_are_brought_up_step_by_step_in_memory(
    path: Path, job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    def rename(plain: dict[str, Any]) -> dict[str, Any]:
        assert plain["schema"] == 1
        return {("note" if k == "remark" else k): v for k, v in plain.items()}

    def shout(plain: dict[str, Any]) -> dict[str, Any]:
        return {**plain, "note": plain["note"].upper()}

    monkeypatch.setattr(jobfile, "SCHEMA", 3)
    monkeypatch.setattr(jobfile, "MIGRATIONS", (rename, shout))
    write(path, {**json.loads(path.read_bytes()), "schema": 1, "remark": "quiet"})
    before = path.read_bytes()
    opened = jobfile.load(path)
    assert (opened.job.schema, opened.job.note, opened.job.events) == (3, "QUIET", job.events)
    assert not opened.newer
    assert path.read_bytes() == before
    jobfile.save(path, opened.job)
    assert jobfile.load(path) == Opened(job=opened.job)
    write(path, {**json.loads(path.read_bytes()), "schema": 2})
    assert jobfile.load(path).job.note == "QUIET"
    write(path, {**json.loads(before), "nonsense": 1})
    with pytest.raises(JobFileFault, match="“nonsense” is no field that belongs here"):
        jobfile.load(path)


def test_there_is_a_step_for_each_older_schema() -> None:
    assert len(jobfile.MIGRATIONS) == jobfile.SCHEMA - 1


# --- the published schema --------------------------------------------------------------------------


def test_the_published_schema_is_the_one_of_the_records() -> None:
    assert PUBLISHED.read_bytes() == schema(), (
        "write schema() of benchtool/store/schema.py to resources/job.schema.json"
    )


@pytest.fixture(scope="module")
def validator() -> jsonschema.Draft202012Validator:
    document = json.loads(schema())
    jsonschema.Draft202012Validator.check_schema(document)
    assert document["$id"] == f"urn:benchtool:job:{SCHEMA}"
    return jsonschema.Draft202012Validator(document)


@examples(40)
@given(job=jobs())
def test_the_schema_takes_what_is_saved(validator: jsonschema.Draft202012Validator, job: Job) -> None:
    validator.validate(json.loads(jobfile.dump(job)))


def test_the_schema_takes_an_older_file_too(validator: jsonschema.Draft202012Validator, frozen: Path) -> None:
    validator.validate(json.loads(frozen.read_bytes()))


@pytest.mark.parametrize(
    "wrong",
    [
        {"format": "other"},
        {"schema": 0},
        {"id": "a b"},
        {"created": None},
        {"further": 1},
        {"events": [{"type": "tea drunk", "id": "e1", "at": "2026-03-02T09:30:00Z"}]},
        {"events": [{"type": "coat done", "id": "e1", "at": "2026-03-02T09:30:00Z"}]},
        {"events": [{"type": "poured", "id": "e1", "at": "2026-03-02T09:30:00Z", "mix": "m", "part": "p", "mL": -1}]},
    ],
)
def test_the_schema_refuses_what_is_wrong(
    path: Path, validator: jsonschema.Draft202012Validator, wrong: dict[str, Any]
) -> None:
    plain = json.loads(path.read_bytes())
    validator.validate(plain)
    assert not validator.is_valid({**plain, **wrong})
