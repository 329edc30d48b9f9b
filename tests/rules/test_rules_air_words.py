"""What the rules of air say, word by word.

Dew points by psychrolib 2.5.0 (ASHRAE Handbook - Fundamentals, chapter 1): 20 °C 60 % 12.01 °C.
"""

from datetime import timedelta

from builders import COLOUR, JobBuilder
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import CardTime, EvaporationPacing
from benchtool.rules.finding import Severity
from benchtool.sheets.air_answer import AirSheet
from benchtool.trade.air import Air

WATERBORNE = replace(COLOUR, name="Waterborne base", paces={CardTime.EVERY: EvaporationPacing()})


def to_colour(card=COLOUR) -> JobBuilder:
    return JobBuilder().card(card).piece().prep("wash", "degrease").layer("colour", card, 2)


def test_air_that_dries_nothing_is_named_before_the_coat() -> None:
    finding = to_colour(WATERBORNE).read_air(12, 100).one("air.never-dries")
    assert finding.message == "In this air (12 °C, 100 %) a coat of Waterborne base does not dry."
    assert finding.remedy == "Warm or dry the air, then log a new reading (R)."
    assert finding.severity is Severity.CAUTION


def test_air_that_is_only_expected_to_dry_nothing_is_named_as_expected() -> None:
    # 20 °C and 60 % hold as much water as air of 12.0 °C can: at 11 it is saturated
    job = to_colour(replace(WATERBORNE, flash=timedelta(minutes=30))).read_air(20, 60)
    job.add(ev.CourseExpected, points=(ev.CoursePoint(at=job.now + timedelta(minutes=19), air_degC=11),))
    assert job.one("air.never-dries").message.startswith("In the air that is expected (11 °C, 100 %) a coat")


def test_a_margin_is_rounded_as_the_panel_rounds_it() -> None:
    dew = Air(air_degC=20, humidity_percent=60).dew_point_degC
    for margin, words in ((2.9996, "only 2.99 °C"), (2.5, "only 2.5 °C"), (-1.2346, "1.23 °C")):
        message = to_colour().read_air(20, 60, surface_degC=dew + margin).one("air.dew-point").message
        panel = AirSheet(Air(air_degC=20, humidity_percent=60, surface_degC=dew + margin)).words
        assert message.startswith(f"The surface is {words} ")
        assert f"is {words} (" in panel
