"""What the mix pane shows is what `benchtool mix` answers for the same cup, tools, scale and mistakes."""

import io
import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from benchtool import cli
from benchtool.job import events as ev
from benchtool.job.cards import CardTime, DoublingPacing
from benchtool.job.state import LayerState, Mix
from benchtool.session import acts
from benchtool.session.amounts import one_part_mL, read_make, read_pour
from benchtool.session.cupacts import empty, pour, step_of
from benchtool.session.cupview import CupView, caution_words, cup_view, plan_view
from benchtool.session.demo import demo_job
from benchtool.session.mending import mend_ways
from benchtool.session.owned import cup_for
from benchtool.session.session import Session
from benchtool.session.shop import ShopKeeper
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.measuring import USUAL_TOOLS, Tool, ToolKind
from benchtool.trade.quantities import Measures, NotAnAmount
from benchtool.trade.units import VolumeUnit
from benchtool.trade.vessel import Cup

SCALE = Tool(name="scale", kind=ToolKind.SCALE, step=0.01, capacity=500)
CUP = Cup(name="tapered", height_mm=42, bottom_mm=38, top_mm=48)
RECIPE = ["--part", "base=100", "--part", "activator=2%base", "--part", "reducer=1xactivated"]
NAMES = {"base": "Base", "activator": "Flexible activator", "reducer": "Promoter reducer"}


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Session:
    """The demo's flexible strip in hand with the flexible activator; nothing poured yet."""
    path = tmp_path / "demo.json"
    jobfile.save(path, replace(demo_job(clock.now()), demo=False))
    made = Session(clock, load_tables(), Measures(), shop=ShopKeeper(tmp_path / "shop"))
    made.open(path)
    made.pick("trim")
    layer = made.layer
    assert layer is not None
    made.apply(acts.change_layer(layer, activator="flexible"))
    return made


def own(session: Session, **changes: Any) -> None:
    assert session.shop is not None
    session.shop.change(replace(session.shop.shop, **changes))


def layer_of(session: Session) -> LayerState:
    assert session.layer is not None
    return session.layer


def cup_of(session: Session) -> Mix:
    assert session.current is not None
    mix = session.current.state.mix_for(layer_of(session))
    assert mix is not None
    return mix


def view_of(session: Session) -> CupView:
    assert session.current is not None
    layer, mix = layer_of(session), cup_of(session)
    step = step_of(layer, mix, session, session.now())
    return cup_view(session, session.current.state, layer, mix, step)


def begun(session: Session, make: str, **poured: str) -> None:
    session.apply(acts.begin_mix(session, layer_of(session), read_make(session, layer_of(session), make)))
    for part, typed in poured.items():
        act = pour(session, cup_of(session), NAMES[part], typed, 0.0)
        assert act is not None
        session.apply(act.draft)


def told(*args: str, ask: Callable[..., Any] = Measures) -> dict[str, Any]:
    """Ask the command line and give its JSON answer."""
    out, err = io.StringIO(), io.StringIO()

    def nothing(*_: Any) -> Any:
        raise AssertionError("a mix needs neither clock nor job")

    cli.run(
        ["mix", *RECIPE, *args, "--tolerance", "base=5", "--tolerance", "reducer=5", "--json"],
        now=nothing,
        tables=nothing,
        measures=ask,
        open_job=nothing,
        out=out,
        err=err,
    )
    assert not err.getvalue()
    answer: dict[str, Any] = json.loads(out.getvalue())
    return answer


@pytest.mark.parametrize("make", ["6 mL", "12 mL", "30 mL", "1/2 fl oz", "2.5 tsp", "58 mL"])
def test_the_plan_shows_the_marks_that_the_command_line_gives(session: Session, make: str) -> None:
    view = plan_view(session, layer_of(session), read_make(session, layer_of(session), make))
    answer = told("--make", make, "--tools", "usual")
    for row, part in zip(view.parts, answer["parts"], strict=True):
        assert row.to_mL == pytest.approx(part["measured_mL"])
        assert (part["tool"] or "") in row.how
    allowed = {"base": 5, "activator": 10, "reducer": 5}
    within = all(abs(p["worst_percent"] or 0) <= allowed[p["name"]] for p in answer["parts"])
    assert any("At worst" in words for words, _ in view.notes) is within


@pytest.mark.parametrize(("base", "activator"), [("1 fl oz", "1 mL"), ("6 mL", "0.3 mL"), ("5 mL", "0.05 mL")])
def test_an_overpour_is_mended_the_same_way(session: Session, base: str, activator: str) -> None:
    own(session, cups=(Cup(name="wide", height_mm=100, bottom_mm=90, top_mm=90),))
    begun(session, "12 mL", base=base, activator=activator)
    card = cup_of(session).card
    assert card is not None
    ways = mend_ways(session, cup_of(session), card)
    answer = told("--make", "12mL", "--poured", f"base={base}", "--poured", f"activator={activator}")
    assert ways.exact is not None
    assert ways.enough is not None
    assert ways.exact.add_mL == pytest.approx([p["add_mL"] for p in answer["parts"]], abs=1e-9)
    assert ways.enough.add_mL == pytest.approx([p["add_enough_mL"] for p in answer["parts"]], abs=1e-9)


def test_the_dipstick_is_the_same(session: Session) -> None:
    own(session, cups=(CUP,), tools=())
    view = plan_view(session, layer_of(session), 30)
    assert view.cup == CUP
    answer = told("--make", "30mL", "--cup", "38,48,42")
    level = 0.0
    for row, part in zip(view.parts, answer["parts"], strict=True):
        level += row.to_mL
        assert CUP.height_mm_of(level) == pytest.approx(part["fill_mm"])


def test_the_first_pour_is_that_of_the_plan(session: Session) -> None:
    plan = plan_view(session, layer_of(session), 12)
    begun(session, "12 mL")
    assert view_of(session).log_mL == plan.parts[0].to_mL


@pytest.mark.parametrize("base_mL", [4.1, 5.83, 6.0, 7.77, 9.9])
def test_whatever_was_poured_of_the_base_enter_logs_an_activator_within_what_is_allowed(
    session: Session, base_mL: float
) -> None:
    begun(session, "12 mL", base=f"{base_mL} mL")
    asked = view_of(session)
    assert abs(asked.log_mL / (0.02 * base_mL) - 1) <= 0.10
    assert asked.log_mL == pytest.approx(round(asked.log_mL / 0.01) * 0.01)  # a mark of the 1 mL syringe


def test_a_card_without_density_is_told_where_it_is_weighed(session: Session) -> None:
    from benchtool.session.planning import copy_card

    assert session.current is not None
    card = session.current.state.card_of(layer_of(session))
    assert card is not None
    session.apply(copy_card(replace(card, density_g_mL=None)))
    own(session, tools=(SCALE,), by_weight=True)
    view = plan_view(session, layer_of(session), 12)
    assert any("density" in words for words, _ in view.notes)
    assert view.parts[0].amount.endswith(" mL")
    begun(session, "12 mL")
    assert view_of(session).big.endswith(" mL")
    with pytest.raises(NotAnAmount, match="density"):
        read_pour(session, cup_of(session), "Base", "5.2 g")


def test_plain_parts_can_be_counted(session: Session) -> None:
    begun(session, "12 mL")
    one = one_part_mL(cup_of(session).parts, 12)
    assert one == pytest.approx(12 / 204)  # 100 + 2 + 102 parts, by hand
    assert read_pour(session, cup_of(session), "Base", "100 parts").mL == pytest.approx(100 * 12 / 204)


def test_a_bare_number_is_in_the_unit_that_was_chosen(session: Session) -> None:
    begun(session, "12 mL")
    own(session, unit=VolumeUnit.IMPERIAL_FL_OZ)
    assert read_pour(session, cup_of(session), "Base", "1").mL == pytest.approx(28.4130625)  # NIST Handbook 44, C
    own(session, unit=VolumeUnit.US_FL_OZ)
    assert read_pour(session, cup_of(session), "Base", "1").mL == pytest.approx(29.5735295625)
    assert view_of(session).big.endswith("US fl oz")


def test_a_counted_dropper_is_no_guess(session: Session) -> None:
    begun(session, "12 mL", base="6 mL")
    name = NAMES["activator"]
    assert read_pour(session, cup_of(session), name, "3 drops").guess
    dropper = Tool(name="my dropper", kind=ToolKind.DROPPER, step=0.04, capacity=1, calibrated=True)
    own(session, tools=(dropper,))
    counted = read_pour(session, cup_of(session), name, "3 drops")
    assert not counted.guess
    assert counted.mL == pytest.approx(0.12)


def test_a_cup_in_hand_is_kept_to_and_else_the_smallest_that_can_be_stirred_is_taken(session: Session) -> None:
    little, large = Cup(name="little", height_mm=30, bottom_mm=28, top_mm=28), CUP
    own(session, cups=(large, little))
    assert session.shop is not None
    assert cup_for(session.shop.shop, 12) == little
    assert cup_for(session.shop.shop, 17.5) == large  # 18.5 mL to the brim leaves no room to stir
    assert cup_for(session.shop.shop, 500) is None
    own(session, cup="tapered")
    assert cup_for(session.shop.shop, 1) == large


def test_too_much_for_its_pot_life_is_said_with_what_can_be_sprayed(session: Session) -> None:
    """4 h less 5 and 10 min stand less one flash of 15 min leave 210 min at 0.02 mL a minute: 4.2 mL, by hand."""
    own(session, rate_mL_min={layer_of(session).plan.gun: 0.02})
    view = plan_view(session, layer_of(session), 12)
    assert any("4.2 mL can be sprayed" in words for words, _ in view.notes)
    own(session, rate_mL_min={layer_of(session).plan.gun: 2.0})
    assert not any("can be sprayed" in words for words, _ in plan_view(session, layer_of(session), 12).notes)


def test_a_cup_that_is_planned_goes_by_the_air_in_force(session: Session) -> None:
    """Twice as fast at 31 degC: 2 h less the 15 min of stand less the flash of 15 min leave 90 min."""
    own(session, rate_mL_min={layer_of(session).plan.gun: 0.02})
    document = session.current
    assert document is not None
    card = document.state.card_of(layer_of(session))
    assert card is not None
    paces = {CardTime.POT_LIFE: DoublingPacing(reference_degC=21)}
    session.apply(partial(ev.CardCopied, card=replace(card, paces=paces)))
    session.apply(partial(ev.ReadingTaken, air_degC=31, humidity_percent=50))
    (told,) = (words for words, _ in plan_view(session, layer_of(session), 12).notes if "can be sprayed" in words)
    assert told.startswith(
        "Only 1.8 mL can be sprayed before its pot life ends. In this air: pot life 2 h, not the 4 h"
    )


def test_a_cup_that_cannot_be_mended_says_how_close_it_gets(session: Session) -> None:
    own(session, cups=(Cup(name="little", height_mm=30, bottom_mm=28, top_mm=28),), tools=())
    begun(session, "12 mL", base="6 mL", activator="1 mL")
    words = " ".join(w for w, _ in view_of(session).notes)
    assert "can't be mended" in words
    assert "wastes 7 mL" in words


def test_a_can_too_small_limits_the_mending(session: Session) -> None:
    from benchtool.job.lots import Lot

    assert session.shop is not None
    lot = Lot(id="can", card=layer_of(session).plan.card, part="Base", full_mL=8, number="7")
    session.shop.save_lot(lot)
    session.apply(acts.take_lot(session, lot))
    begun(session, "12 mL", base="6 mL", activator="0.3 mL")
    card = cup_of(session).card
    assert card is not None
    ways = mend_ways(session, cup_of(session), card)
    assert ways.exact is None
    assert ways.best is not None
    assert ways.best.add_mL[0] <= 2 + 1e-9


def test_the_cautions_end_once(session: Session) -> None:
    assert session.current is not None
    clear = session.current.state.cards["clear-two-part"]
    assert len(clear.hazards) == 2
    said = caution_words(session.tables, clear.hazards)
    assert said.count("licensed practice") == 1
    assert "asthma" in said
    assert "sparks" in said
    assert said.endswith("licensed practice decide.")


def test_more_left_over_than_went_in_is_refused(session: Session) -> None:
    begun(session, "12 mL", base="6 mL")
    with pytest.raises(NotAnAmount, match="more than went into"):
        empty(session, cup_of(session), "6.5 mL")
    session.apply(empty(session, cup_of(session), "2 mL").draft)
    assert session.current is not None
    assert list(session.current.state.mixes.values())[-1].left_mL == 2


def test_a_stand_time_is_no_pour(session: Session, clock: Any) -> None:
    from benchtool.session.cupacts import stir

    begun(session, "12 mL", base="6 mL", activator="0.12 mL")
    step = step_of(layer_of(session), cup_of(session), session, session.now())
    act = stir(cup_of(session), step, counts=True)
    assert act is not None
    session.apply(act.draft)
    clock.go(seconds=60)
    view = view_of(session)
    assert not view.big
    assert "stand" in view.ask.lower()


# --- what a painter can run into -------------------------------------------------------------------------


KITCHEN = Tool(name="kitchen scale", kind=ToolKind.SCALE, step=0.1, capacity=5_000)


@pytest.mark.parametrize("make_mL", [30, 60, 90, 600])
def test_the_window_judges_a_scale_by_its_worst_readings_as_the_command_line_does(
    session: Session, make_mL: float
) -> None:
    own(session, tools=(KITCHEN,), by_weight=True)
    answer = told(
        "--make", f"{make_mL}mL", "--scale", "0.1g", "--density", "base=0.88", "--density", "activator=1.02",
        "--density", "reducer=0.87",
    )  # fmt: skip
    allowed = {"base": 5, "activator": 10, "reducer": 5}
    within = all(abs(p["weighed_worst_percent"] or 0) <= allowed[p["name"]] for p in answer["parts"])
    tones = {tone for words, tone in plan_view(session, layer_of(session), make_mL).notes if "% off" in words}
    assert tones == ({"quiet"} if within else {"trouble"})


def test_the_cup_it_names_for_a_scale_can_be_weighed_on_it(session: Session) -> None:
    own(session, tools=(SCALE,), by_weight=True)
    [words] = [w for w, _ in plan_view(session, layer_of(session), 6).notes if "Make" in w]
    size = float(words.split("Make ")[1].split(" mL")[0])
    tones = {tone for w, tone in plan_view(session, layer_of(session), size).notes if "% off" in w}
    assert tones == {"quiet"}


def test_a_cup_at_its_brim_is_no_bottomless_one(session: Session) -> None:
    own(session, cups=(Cup(name="only", height_mm=32, bottom_mm=30, top_mm=40),), tools=())  # 31 mL
    begun(session, "30 mL", base="31 mL", activator="1 mL")
    view = view_of(session)
    assert view.part == ""
    assert view.big == "Start afresh"
    assert view.log_mL == 0
    assert any("the cup holds 31 mL" in w for w, _ in view.notes)


def test_an_empty_can_is_blamed_and_not_the_cup(session: Session) -> None:
    from benchtool.job.lots import Lot

    assert session.shop is not None
    lot = Lot(id="can", card=layer_of(session).plan.card, part="Base", full_mL=35, number="7")
    session.shop.save_lot(lot)
    session.apply(acts.take_lot(session, lot))
    begun(session, "60 mL", base="30 mL", activator="1 mL")
    words = " ".join(w for w, _ in view_of(session).notes)
    assert "only 5 mL Base is left" in words
    assert "the cup holds" not in words


def test_a_larger_cup_is_named_before_it_runs_over(session: Session) -> None:
    little, large = Cup(name="little", height_mm=30, bottom_mm=28, top_mm=28), CUP
    own(session, cups=(little, large), tools=())
    begun(session, "12 mL", base="6 mL", activator="0.4 mL")
    assert any("Take a larger cup: tapered." in w for w, _ in view_of(session).notes)


def test_a_dose_below_the_step_of_the_scale_gets_one_step_and_is_called_too_coarse(session: Session) -> None:
    coarse = Tool(name="parcel scale", kind=ToolKind.SCALE, step=1, capacity=5000)
    own(session, tools=(coarse, *USUAL_TOOLS), by_weight=True)
    begun(session, "12 mL", base="5 g")
    view = view_of(session)
    assert view.big == "6 g"
    assert view.log_mL > 0
    assert any("Take the 1 mL syringe for it (W)" in w for w, _ in view.notes)
    own(session, tools=(coarse,))
    assert not any("Take the" in w for w, _ in view_of(session).notes)


def test_past_the_end_of_the_scale_the_rest_is_measured_by_volume(session: Session) -> None:
    small = Tool(name="pocket scale", kind=ToolKind.SCALE, step=0.01, capacity=17.5)
    own(session, tools=(small,), by_weight=True)
    begun(session, "40 mL", base="17.3 g")
    begun_view = view_of(session)
    assert any("ends at 17.5 g" in w for w, _ in begun_view.notes)
    assert begun_view.big.endswith(" mL")


def test_on_the_scale_each_row_is_what_the_display_shows(session: Session) -> None:
    own(session, tools=(SCALE,), by_weight=True)
    begun(session, "12 mL", base="5.2 g")
    amounts = [p.amount for p in view_of(session).parts]
    assert amounts[0] == "5.20 g"
    assert [a.endswith(" g") for a in amounts] == [True] * 3
    shown = [float(a.removesuffix(" g")) for a in amounts]
    assert shown == sorted(shown)


@pytest.mark.parametrize(("unit", "typed", "kept"), [
    (VolumeUnit.ML, "6", "6 mL"), (VolumeUnit.US_FL_OZ, "1/2", "1/2 US fl oz"), (VolumeUnit.ML, "6 cc", "6 cc"),
])  # fmt: skip
def test_the_record_keeps_a_bare_number_with_its_unit(
    session: Session, unit: VolumeUnit, typed: str, kept: str
) -> None:
    own(session, unit=unit)
    begun(session, "20 mL", base=typed)
    assert cup_of(session).pours[-1].typed == kept


def test_an_ounce_is_the_one_the_painter_measures_in_and_else_asked_about(session: Session) -> None:
    begun(session, "60 mL")
    with pytest.raises(NotAnAmount, match="of volume or of weight"):
        read_pour(session, cup_of(session), "Base", "1 oz")
    own(session, unit=VolumeUnit.IMPERIAL_FL_OZ)
    assert read_pour(session, cup_of(session), "Base", "1 oz").mL == pytest.approx(28.4130625)
    own(session, unit=VolumeUnit.US_FL_OZ)
    assert read_pour(session, cup_of(session), "Base", "1/2 oz").mL == pytest.approx(29.5735295625 / 2)


@pytest.mark.parametrize("text", ["2%", "2 % of base", "1:1", "4:1:1", "10 percent"])
def test_a_share_is_no_amount(session: Session, text: str) -> None:
    begun(session, "60 mL")
    with pytest.raises(NotAnAmount, match="is a share"):
        read_pour(session, cup_of(session), "Base", text)


def test_far_too_much_is_told_in_times_and_not_in_percent(session: Session) -> None:
    begun(session, "12 mL", base="6 mL", activator="5 mL")
    assert view_of(session).parts[1].wrong == "42 times too much"  # 5 mL for 0.12 mL, by hand


def test_a_guess_by_drops_stays_one_in_the_record(session: Session) -> None:
    begun(session, "12 mL", base="6 mL", activator="3 drops")
    assert [p.guess for p in cup_of(session).pours] == [False, True]
    assert session.current is not None
    rules = {f.rule for f in session.findings()}
    assert "mixing.guessed" in rules
