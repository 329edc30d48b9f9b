"""The shop behind the jobs: what is left in each can follows the record, whatever fails meanwhile."""

from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR
from hypothesis import given
from msgspec.structs import replace
from strategies import examples, jobs

from benchtool.job import events as ev
from benchtool.job.costs import job_cost
from benchtool.job.lots import Lot
from benchtool.job.record import Job, last_act, with_events
from benchtool.job.state import fold
from benchtool.rules.finding import Severity
from benchtool.session import acts
from benchtool.session.library import NotKept
from benchtool.session.session import NotNow, Session
from benchtool.session.shop import ShopKeeper, ShopNotKept
from benchtool.session.tables import load_tables
from benchtool.store import atomic
from benchtool.trade.mixing import PartKind
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex

TABLES = load_tables()
HARDENER = "Slow hardener"
BASE = Lot(id="b", card=CLEAR.id, part="Base", full_mL=1000, price=50.0, low_mL=930.0)
SLOW = Lot(id="h", card=CLEAR.id, part=HARDENER, full_mL=500, price=45.0, low_mL=100.0)


def opened(clock: Any, folder: Path, keeper: ShopKeeper | None) -> Session:
    return Session(clock, TABLES, Measures(), shop=keeper)


@pytest.fixture
def keeper(tmp_path: Path) -> ShopKeeper:
    made = ShopKeeper(tmp_path / "data")
    made.save_lot(BASE)
    made.save_lot(SLOW)
    return made


@pytest.fixture
def session(clock: Any, tmp_path: Path, keeper: ShopKeeper) -> Any:
    made = opened(clock, tmp_path, keeper)
    made.create(tmp_path / "tank.json", "Tank")
    piece = ev.Piece(id="p1", name="Tank", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
    made.apply(
        partial(ev.CardCopied, card=CLEAR),
        partial(ev.PieceAdded, piece=piece),
        partial(ev.LayerAdded, piece="p1", layer=ev.Layer(id="l1", card=CLEAR.id, coats=2, activator="slow")),
    )
    for lot in (BASE, SLOW):
        made.apply(acts.take_lot(made, lot))
    yield made
    made.close_all()


def mixed(session: Session, clock: Any, base: float = 40, hardener: float = 20) -> None:
    """Begin a cup and pour into it, each a minute after the one before."""
    assert session.layer is not None
    session.apply(acts.begin_mix(session, session.layer, 60))
    poured(session, clock, "Base", base)
    poured(session, clock, HARDENER, hardener)


def poured(session: Session, clock: Any, part: str, mL: float) -> None:
    clock.go(minutes=1)
    assert session.layer is not None
    mix = session.writable().state.mix_for(session.layer)
    assert mix is not None
    session.apply(acts.pour(session, mix, part, mL, f"{mL:g}"))


def left(keeper: ShopKeeper) -> tuple[float | None, float | None]:
    return keeper.left_mL("b"), keeper.left_mL("h")


# --- drawing ---------------------------------------------------------------------------------------


def test_each_pour_draws_its_can_down_and_an_undo_puts_it_back(
    session: Session, clock: Any, keeper: ShopKeeper
) -> None:
    mixed(session, clock)
    assert left(keeper) == (960, 480)
    session.undo()
    assert left(keeper) == (960, 500)
    session.undo()
    assert left(keeper) == (1000, 500)
    session.redo()
    session.undo()
    session.undo()
    assert left(keeper) == (1000, 500)
    mixed(session, clock, 10, 5)
    assert left(ShopKeeper(keeper.folder)) == (990, 495)


def test_undoing_the_mix_alone_puts_all_of_it_back(session: Session, clock: Any, keeper: ShopKeeper) -> None:
    mixed(session, clock)
    begun = next(e.id for e in session.writable().job.events if isinstance(e, ev.Mixed))
    session.apply(partial(ev.Withdrawn, events=(begun,)))
    assert left(keeper) == (1000, 500)


def test_a_pour_comes_from_the_can_in_hand_then(session: Session, clock: Any, keeper: ShopKeeper) -> None:
    mixed(session, clock)
    keeper.save_lot(replace(BASE, id="b2"))
    session.apply(acts.take_lot(session, replace(BASE, id="b2")))
    poured(session, clock, "Base", 5)
    assert (keeper.left_mL("b"), keeper.left_mL("b2")) == (960, 995)


def test_without_a_can_in_hand_a_pour_draws_nothing(session: Session, clock: Any, keeper: ShopKeeper) -> None:
    session.undo()
    mixed(session, clock)
    assert left(keeper) == (960, 500)


def test_the_job_takes_the_copy_that_the_shop_keeps_now(session: Session, clock: Any, keeper: ShopKeeper) -> None:
    keeper.save_lot(replace(BASE, price=10.0))
    session.apply(acts.take_lot(session, BASE))
    mixed(session, clock)
    assert job_cost(session.writable().state).cost == pytest.approx(40 * 0.01 + 20 * 0.09)
    assert keeper.price_per_mL(BASE) == pytest.approx(0.01)
    assert keeper.price_per_mL(replace(BASE, id="unknown", full_mL=500)) == pytest.approx(0.1)


def test_more_poured_than_it_held_is_nothing_left_and_says_by_how_much(
    session: Session, clock: Any, keeper: ShopKeeper
) -> None:
    mixed(session, clock, hardener=512)
    assert keeper.left_mL("h") == 0
    assert keeper.over_mL("h") == pytest.approx(12)
    assert keeper.over_mL("b") == keeper.over_mL("nowhere") == 0
    assert keeper.left_mL("nowhere") is None


def test_what_runs_low_is_listed_the_emptiest_first(session: Session, clock: Any, keeper: ShopKeeper) -> None:
    assert keeper.low() == ()
    mixed(session, clock, 70, 400)
    assert [x.id for x in keeper.low()] == ["h", "b"]
    session.undo()
    assert [x.id for x in keeper.low()] == ["b"]
    keeper.save_lot(replace(BASE, low_mL=None))
    assert keeper.low() == ()


def test_a_demo_draws_nothing(clock: Any, tmp_path: Path, keeper: ShopKeeper, session: Session) -> None:
    mixed(session, clock)
    document = session.writable()
    session.undo()
    session.undo()
    demo = replace(document.job, id="job-demo", demo=True)
    keeper.book(demo, fold(replace(demo, events=demo.events[:-2])))
    assert left(keeper) == (1000, 500)


def test_a_job_that_is_only_looked_at_draws_nothing(session: Session, clock: Any, keeper: ShopKeeper) -> None:
    mixed(session, clock)
    path = session.writable().path
    old = atomic.versions(path)[0]
    looking = opened(clock, path.parent, keeper)
    looking.open(old, look_only="An earlier version.")
    assert left(ShopKeeper(keeper.folder)) == (960, 480)
    looking.open(path)
    assert looking.current is not None
    assert looking.current.read_only
    assert left(keeper) == (960, 480)
    looking.close_all()


def test_jobs_draw_from_one_can_and_each_is_counted_once(session: Session, clock: Any, keeper: ShopKeeper) -> None:
    mixed(session, clock)
    first = session.writable()
    clock.go(hours=1)
    other = session.create(first.path.with_name("other.json"), "Other")
    session.apply(*(partial(type(e), **fields(e)) for e in first.job.events if not isinstance(e, ev.JobDescribed)))
    assert other.job.id != first.job.id
    assert left(keeper) == (920, 460)
    session.pick_document(first)
    session.undo()
    assert left(keeper) == (920, 480)


def fields(event: ev.Event) -> dict[str, Any]:
    return {k: getattr(event, k) for k in event.__struct_fields__ if k not in ("id", "at", "along_with")}


@examples(40)
@given(job=jobs())
def test_booking_is_by_the_record_alone(tmp_path_factory: pytest.TempPathFactory, job: Job) -> None:
    keeper = ShopKeeper(tmp_path_factory.mktemp("shop"))
    job = replace(job, demo=False)
    for lot in fold(job).lots.values():
        keeper.save_lot(replace(lot, counted_mL=None, counted_on=None))
    empty = replace(job, events=())
    keeper.book(job, fold(job))
    keeper.book(job, fold(job))
    for lot in keeper.lots():
        drawn = fold(job).draws.get(lot.id, 0.0)
        assert keeper.left_mL(lot.id) == max(0.0, lot.full_mL - drawn)
    act = last_act(job)
    if act:
        at = job.events[-1].at
        undone = with_events(job, ev.Withdrawn(id="u1", at=at, events=tuple(e.id for e in act)))
        keeper.book(undone, fold(undone))
        redone = with_events(undone, ev.Withdrawn(id="u2", at=at, events=("u1",)))
        keeper.book(redone, fold(redone))
    for lot in keeper.lots():
        assert keeper.left_mL(lot.id) == max(0.0, lot.full_mL - fold(job).draws.get(lot.id, 0.0))
    keeper.book(empty, fold(empty))
    assert [keeper.left_mL(x.id) for x in keeper.lots()] == [x.full_mL for x in keeper.lots()]


# --- two files of one job --------------------------------------------------------------------------


@pytest.fixture
def copy(session: Session, clock: Any, keeper: ShopKeeper) -> Path:
    """An older copy of the job's file, of before the hardener was poured."""
    mixed(session, clock)
    session.undo()
    path = session.writable().path
    older = path.with_name("copy.json")
    older.write_bytes(path.read_bytes())
    session.redo()
    assert left(keeper) == (960, 480)
    return older


OLDER = (
    "More was drawn from your cans for “Tank” than this file of it says, as if it were an older copy: "
    "nothing is put back until you pour or undo in it."
)


def test_an_older_copy_of_a_job_puts_nothing_back_and_says_so(session: Session, keeper: ShopKeeper, copy: Path) -> None:
    session.open(copy)
    assert left(keeper) == left(ShopKeeper(keeper.folder)) == (960, 480)
    assert keeper.faults == (OLDER,)
    session.apply(partial(ev.PrepDone, piece="p1", step=ev.Prep.WASH))
    session.undo()
    assert left(keeper) == (960, 480)
    assert keeper.faults == (OLDER,)


def test_a_pour_or_an_undo_in_the_copy_makes_it_the_one_that_counts(
    session: Session, clock: Any, keeper: ShopKeeper, copy: Path
) -> None:
    session.open(copy)
    poured(session, clock, HARDENER, 7)
    assert left(keeper) == left(ShopKeeper(keeper.folder)) == (960, 493)
    assert keeper.faults == ()
    session.undo()
    assert left(keeper) == (960, 500)
    assert keeper.faults == ()


def test_the_file_it_was_drawn_by_says_nothing_and_its_undo_puts_back_at_once(
    session: Session, keeper: ShopKeeper, copy: Path
) -> None:
    first = session.writable()
    session.close(session.open(copy))
    assert keeper.faults == ()
    session.pick_document(first)
    path = first.path
    session.close(first)
    session.open(path)
    assert keeper.faults == ()
    assert left(keeper) == (960, 480)
    session.undo()  # of the redo's act: the pour
    assert left(keeper) == left(ShopKeeper(keeper.folder)) == (960, 500)


def test_with_both_files_open_the_one_that_is_worked_in_counts(
    session: Session, clock: Any, keeper: ShopKeeper, copy: Path
) -> None:
    first = session.writable()
    session.open(copy)
    session.pick_document(first)
    session.apply(partial(ev.PrepDone, piece="p1", step=ev.Prep.WASH))
    assert left(keeper) == (960, 480)
    poured(session, clock, "Base", 1)
    assert left(keeper) == (959, 480)
    session.open(copy)
    session.apply(partial(ev.PrepDone, piece="p1", step=ev.Prep.WASH))
    assert left(keeper) == (959, 480)


def test_a_count_settles_what_an_older_copy_left_open(
    session: Session, clock: Any, keeper: ShopKeeper, copy: Path
) -> None:
    session.open(copy)
    clock.go(minutes=1)
    keeper.count("h", 477, clock.now())
    assert keeper.faults == ()
    assert left(keeper) == (960, 477)


def test_an_older_copy_that_cant_be_booked_yet_puts_nothing_back_later(
    session: Session, clock: Any, keeper: ShopKeeper, copy: Path
) -> None:
    file = keeper.folder / "lots.json"
    whole = file.read_bytes()
    file.write_bytes(b"{oops")
    poured(session, clock, "Base", 1)
    session.open(copy)
    file.write_bytes(whole)
    assert keeper.settle()
    assert left(ShopKeeper(keeper.folder)) == (959, 480)


def test_a_pour_said_to_be_of_before_a_count_is_in_the_count(session: Session, clock: Any, keeper: ShopKeeper) -> None:
    mixed(session, clock)
    clock.go(minutes=1)
    keeper.count("h", 470, clock.now())
    poured(session, clock, HARDENER, 5)
    assert left(keeper) == (960, 465)
    session.shift_last_act(-timedelta(minutes=2))
    assert left(keeper) == (960, 470)
    assert keeper.faults == ()


# --- counting --------------------------------------------------------------------------------------


def test_a_count_rules_from_then_on_and_undo_of_what_was_before_moves_nothing(
    session: Session, clock: Any, keeper: ShopKeeper
) -> None:
    mixed(session, clock)
    clock.go(minutes=1)
    keeper.count("b", 800, clock.now())
    assert left(keeper) == (800, 480)
    poured(session, clock, "Base", 10)
    assert left(keeper) == (790, 480)
    session.undo()
    assert left(keeper) == (800, 480)
    session.undo()  # the hardener
    session.undo()  # the base of before the count
    assert left(keeper) == (800, 500)
    session.redo()
    assert left(ShopKeeper(keeper.folder)) == (800, 500)


def test_a_can_that_is_gone_cant_be_counted(clock: Any, keeper: ShopKeeper) -> None:
    with pytest.raises(ShopNotKept, match="no longer"):
        keeper.count("nowhere", 1, clock.now())
    with pytest.raises(NotKept, match="0 or more"):
        keeper.count("b", -1, clock.now())
    assert keeper.left_mL("b") == 1000


# --- keeping ---------------------------------------------------------------------------------------


def test_ids_never_come_back(clock: Any, keeper: ShopKeeper) -> None:
    ids = set()
    for _ in range(4):
        lot = replace(BASE, id=keeper.new_id(clock.now()))
        ids.add(lot.id)
        keeper.save_lot(lot)
    assert len(ids) == 4
    keeper.remove_lot(BASE.id)
    clock.go(seconds=1)
    assert keeper.new_id(clock.now()) not in {*ids, BASE.id}


def test_a_lot_is_changed_in_place_and_taken_out(session: Session, clock: Any, keeper: ShopKeeper) -> None:
    mixed(session, clock)
    keeper.save_lot(replace(BASE, number="A7"))
    assert [x.number for x in keeper.lots()] == ["A7", ""]
    assert left(keeper) == (960, 480)
    assert keeper.lots_for(CLEAR.id, HARDENER) == (SLOW,)
    keeper.remove_lot("b")
    assert [x.id for x in keeper.lots()] == ["h"]
    assert session.writable().state.lots["b"] == BASE
    poured(session, clock, "Base", 3)
    assert keeper.faults == ()


def test_the_shop_is_kept_and_another_window_sees_it(keeper: ShopKeeper) -> None:
    other = ShopKeeper(keeper.folder)
    assert other.shop.currency == ""
    keeper.change(replace(keeper.shop, currency="EUR", cup=keeper.shop.cups[2].name))
    assert other.shop.currency == "EUR"
    assert other.shop.cup == keeper.shop.cups[2].name


# --- what fails ------------------------------------------------------------------------------------


def test_a_booking_that_fails_loses_neither_act_nor_amount(
    session: Session, clock: Any, keeper: ShopKeeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = atomic.write

    def no_lots(path: Path, data: bytes, **keep: int) -> None:
        if path.name == "lots.json":
            raise OSError(28, "No space left on device")
        real(path, data, **keep)

    with monkeypatch.context() as broken:
        broken.setattr(atomic, "write", no_lots)
        mixed(session, clock)
        assert session.writable().unsaved == ""
        assert keeper.faults == ("Your lots are not kept: the disk is full.",)
        assert left(keeper) == (960, 480)  # what is left is told as if it had been written
        assert left(ShopKeeper(keeper.folder)) == (1000, 500)
    session.apply(partial(ev.PrepDone, piece="p1", step=ev.Prep.WASH))
    assert keeper.faults == ()
    assert left(ShopKeeper(keeper.folder)) == (960, 480)


def test_what_waits_to_be_booked_goes_along_with_the_next_change_of_a_can(
    session: Session, clock: Any, keeper: ShopKeeper
) -> None:
    file = keeper.folder / "lots.json"
    whole = file.read_bytes()
    file.write_bytes(b"{oops")
    mixed(session, clock)
    file.write_bytes(whole)
    keeper.save_lot(replace(SLOW, number="A7"))
    assert left(ShopKeeper(keeper.folder)) == (960, 480)


def test_what_is_booked_is_not_booked_again_over_what_another_window_did(
    session: Session, clock: Any, keeper: ShopKeeper
) -> None:
    mixed(session, clock)
    first = session.writable().job
    act = tuple(e.id for e in last_act(first))
    undone = with_events(first, ev.Withdrawn(id="u1", at=clock.now(), events=act))
    ShopKeeper(keeper.folder).book(undone, fold(undone))
    empty = replace(first, id="job-other", events=())
    keeper.book(empty, fold(empty))
    assert left(keeper) == (960, 500)


def test_a_full_disk_keeps_the_act_and_the_can_follows_when_it_is_saved(
    session: Session, clock: Any, keeper: ShopKeeper, full_disk: Any
) -> None:
    with full_disk():
        mixed(session, clock)
        assert session.writable().unsaved
        with pytest.raises(ShopNotKept, match="the disk is full"):
            keeper.save_lot(replace(BASE, number="x"))
        with pytest.raises(ShopNotKept, match="the disk is full"):
            keeper.change(replace(keeper.shop, currency="EUR"))
    assert keeper.shop.currency == ""
    assert session.save_all() == []
    assert left(ShopKeeper(keeper.folder)) == (960, 480)


def test_what_the_last_window_could_not_book_is_booked_when_the_job_is_opened(
    session: Session, clock: Any, keeper: ShopKeeper
) -> None:
    path = session.writable().path
    session.shop = None
    mixed(session, clock)
    session.close_all()
    assert left(keeper) == (1000, 500)
    again = opened(clock, path.parent, keeper)
    again.open(path)
    assert left(keeper) == (960, 480)
    again.close_all()


def test_a_broken_file_of_lots_stops_no_work_and_is_caught_up_with(
    session: Session, clock: Any, keeper: ShopKeeper
) -> None:
    file = keeper.folder / "lots.json"
    whole = file.read_bytes()
    file.write_bytes(b"{oops")
    mixed(session, clock)
    assert session.writable().unsaved == ""
    (told,) = keeper.faults
    assert told.startswith("Your lots can't be read from lots.json: this is no JSON")
    assert file.read_bytes() == b"{oops"
    with pytest.raises(ShopNotKept, match="no JSON"):
        keeper.save_lot(replace(BASE, number="x"))
    file.write_bytes(whole)
    session.apply(partial(ev.PrepDone, piece="p1", step=ev.Prep.WASH))
    assert keeper.faults == ()
    assert left(ShopKeeper(keeper.folder)) == (960, 480)


def test_a_window_that_finds_the_file_broken_keeps_what_is_to_be_booked(
    session: Session, clock: Any, keeper: ShopKeeper
) -> None:
    file = keeper.folder / "lots.json"
    whole = file.read_bytes()
    file.write_bytes(b"{oops")
    fresh = ShopKeeper(keeper.folder)
    session.shop = fresh
    mixed(session, clock)
    assert fresh.lots() == ()
    file.write_bytes(whole)
    assert left(fresh) == (960, 480)
    assert fresh.settle()
    assert left(ShopKeeper(keeper.folder)) == (960, 480)


def test_two_windows_on_two_jobs_share_the_cans(
    session: Session, clock: Any, tmp_path: Path, keeper: ShopKeeper
) -> None:
    mixed(session, clock)
    clock.go(hours=1)
    other = opened(clock, tmp_path, ShopKeeper(keeper.folder))
    first = session.writable()
    other.create(tmp_path / "other.json", "Other")
    other.apply(*(partial(type(e), **fields(e)) for e in first.job.events if not isinstance(e, ev.JobDescribed)))
    assert left(keeper) == (920, 460)
    session.undo()
    assert other.shop is not None
    assert left(other.shop) == (920, 480)
    other.close_all()


def test_a_session_without_a_shop_works_as_before(clock: Any, tmp_path: Path) -> None:
    made = opened(clock, tmp_path, None)
    made.create(tmp_path / "a.json", "A")
    with pytest.raises(NotNow, match="No job"):
        acts.take_lot(opened(clock, tmp_path, None), BASE)
    made.apply(acts.take_lot(made, BASE))
    assert made.writable().state.lots == {"b": BASE}
    made.close_all()


# --- tolerance -------------------------------------------------------------------------------------


def allowed(session: Session) -> dict[PartKind, float | None]:
    assert session.layer is not None
    draft = acts.begin_mix(session, session.layer, 30)
    made = draft(id="x", at=session.now(), along_with=None)
    assert isinstance(made, ev.Mixed)
    return {p.kind: p.tolerance for p in made.parts}


def test_a_part_may_be_off_by_what_the_card_says_else_by_what_the_shop_does(
    session: Session, keeper: ShopKeeper
) -> None:
    assert allowed(session) == {PartKind.BASE: None, PartKind.ACTIVATOR: None}
    keeper.change(replace(keeper.shop, tolerance_activator=0.04, tolerance_rest=0.08))
    assert allowed(session) == {PartKind.BASE: 0.08, PartKind.ACTIVATOR: 0.04}
    activators = (replace(CLEAR.activators[0], tolerance_percent=3.0),)
    session.apply(partial(ev.CardCopied, card=replace(CLEAR, activators=activators)))
    assert allowed(session) == {PartKind.BASE: 0.08, PartKind.ACTIVATOR: 0.03}
    keeper.change(replace(keeper.shop, tolerance_activator=None, tolerance_rest=None))
    assert allowed(session) == {PartKind.BASE: None, PartKind.ACTIVATOR: 0.03}


def test_no_setting_of_the_shop_silences_a_wrong_dose_and_only_the_card_may_allow_more(
    session: Session, clock: Any, keeper: ShopKeeper
) -> None:
    """Common practice, no source: more than a tenth off its share is too much of any activator."""
    keeper.change(replace(keeper.shop, tolerance_activator=0.5, tolerance_rest=0.5))
    assert allowed(session) == {PartKind.BASE: 0.10, PartKind.ACTIVATOR: 0.10}
    mixed(session, clock, 40, 29)
    [stop] = [f for f in session.findings() if f.rule == "mixing.off-ratio"]
    assert (stop.severity, stop.message) == (
        Severity.STOP,
        "Slow hardener is 45 % over: 72.50 % of the base, and the card says 50 % of the base.",
    )
    for _ in range(3):
        session.undo()
    activators = (replace(CLEAR.activators[0], tolerance_percent=50.0),)
    session.apply(partial(ev.CardCopied, card=replace(CLEAR, activators=activators)))
    mixed(session, clock, 40, 29)
    assert [f for f in session.findings() if f.rule == "mixing.off-ratio"] == []


def test_a_pour_may_be_a_guess(session: Session, clock: Any) -> None:
    mixed(session, clock)
    mix = next(iter(session.writable().state.mixes.values()))
    assert not any(p.guess for p in mix.pours)
    assert "mixing.guessed" not in {f.rule for f in session.findings()}
    session.apply(acts.pour(session, mix, HARDENER, 0.1, "2 drops", guess=True))
    [note] = [f for f in session.findings() if f.rule == "mixing.guessed"]
    assert note.severity is Severity.NOTE
    assert HARDENER in note.message


def test_another_product_has_cans_of_its_own(keeper: ShopKeeper) -> None:
    keeper.save_lot(Lot(id="c", card=COLOUR.id, part="Base", full_mL=250))
    assert [x.id for x in keeper.lots_for(COLOUR.id, "Base")] == ["c"]
    assert keeper.left_mL("c") == 250
