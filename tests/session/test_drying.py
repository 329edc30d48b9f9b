"""Heat and film as typed: units, what is refused, wet turned to dry, and what is said of the card."""

from typing import Any

import pytest
from builders import CLEAR, COLOUR, START, JobBuilder, hours, minutes
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Card, CardTime, ForcedDry
from benchtool.session.cardfields import Wrong
from benchtool.session.drying import HEAT_CAUTION, Taken, read_film, read_heat
from benchtool.trade.quantities import Measures

MEASURES = Measures()
HEATED = replace(
    COLOUR,
    forced={
        CardTime.FLASH: ForcedDry(degC=50, wait=minutes(3)),
        CardTime.RECOAT_OPENS: ForcedDry(degC=60, wait=minutes(10)),
    },
)
SOLID = replace(
    CLEAR, solids_percent=45.0, activators=(replace(CLEAR.activators[0], solids_percent=60.0),), films=((30.0, 1.0),)
)


def bench(card: Card) -> JobBuilder:
    activator = card.activators[0].id if card.activators else None
    return JobBuilder().card(card).piece().layer("layer", card, 2, activator=activator)


def heat(job: JobBuilder, text: str) -> Taken:
    return read_heat(MEASURES, {"heat": text}, job.state.pieces["panel"])


def film(job: JobBuilder, text: str) -> Taken:
    return read_film(MEASURES, {"film": text}, job.state, job.state.layers["layer"])


def made(taken: Taken) -> list[Any]:
    return [draft(id="x", at=START) for draft in taken.drafts]


def wrong(act: Any, job: JobBuilder, text: str) -> str:
    with pytest.raises(Wrong) as fault:
        act(job, text)
    ((key, message),) = fault.value.faults
    assert key == act.__name__
    return str(message)


@pytest.mark.parametrize(("text", "degC"), [("60", 60), ("140 °F", 60), ("60,5 °C", 60.5), ("30", 30), ("200 C", 200)])
def test_heat_is_read_in_either_scale(text: str, degC: float) -> None:
    (event,) = made(heat(bench(COLOUR), text))
    assert isinstance(event, ev.HeatStarted)
    assert event.degC == pytest.approx(degC)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("20", "20 °C is no heat: it begins at 30 °C"),
        ("60 F", "is no heat"),
        ("250", "if that was 250 °F, it is 121 °C"),
        ("900", "No paint is held at 900 °C."),
        ("warm", ""),
        ("", "No heat is on"),
        ("off", "No heat is on"),
    ],
)
def test_what_is_no_heat_is_refused(text: str, told: str) -> None:
    assert told in wrong(heat, bench(COLOUR), text)


def test_heat_is_told_with_the_times_of_the_card_and_its_caution() -> None:
    job = bench(HEATED)
    assert "Nothing is on it yet" in heat(job, "60").words
    job.coat(mix=None)
    assert heat(job, "60").words == (
        f"60 °C on Panel. In heat by the card of Base colour: flash 3 min, next layer 10 min. {HEAT_CAUTION}"
    )
    assert "flash 3 min." in heat(job, "55").words
    assert "counts heat from 50 °C on: its waits go by the air." in heat(job, "45").words
    assert "gives no time in heat" in heat(bench(COLOUR).coat(mix=None), "60").words
    assert "If 140 was °F, undo it (U) and type 60 °C." in heat(job, "140").words
    assert "°F, undo" not in heat(job, "140 °C").words


def test_heat_is_taken_off_and_changed() -> None:
    job = bench(HEATED).add(ev.HeatStarted, piece="panel", degC=60)
    for text in ("off", "", "heat off"):
        (event,) = made(heat(job, text))
        assert isinstance(event, ev.HeatEnded)
    assert [type(e) for e in made(heat(job, "80"))] == [ev.HeatEnded, ev.HeatStarted]


@pytest.mark.parametrize(
    ("text", "um"), [("40", 40), ("40 µm", 40), ("1.5 mil", 38.1), ("dry 40", 40), ("0,04 mm", 40)]
)
def test_a_dry_film_is_read_in_um_and_mil(text: str, um: float) -> None:
    (event,) = made(film(bench(COLOUR), text))
    assert (event.um, event.wet_um) == (pytest.approx(um), None)


def test_a_wet_film_is_turned_to_dry_by_the_solids_as_sprayed() -> None:
    """Two parts at 45 % and one at 60 % are 50 %: of 100 µm wet 50 stay. With as much reducer again, 25."""
    job = bench(SOLID)
    for text in ("100 µm wet", "wet 100", "0.1 mm wet film", "100 wet"):
        (event,) = made(film(job, text))
        assert (event.um, event.wet_um) == (pytest.approx(50), pytest.approx(100))
    assert film(job, "100 wet").words == (
        "Dry film of 50 µm a coat noted: 100 µm wet at 50 % solids as sprayed. "
        "50 µm thick, more than the card's 30: takes 2.8 times as long, a guess on the safe side."
    )
    thinned = replace(COLOUR, solids_percent=50.0)
    job = bench(thinned)
    assert made(film(job, "100 wet"))[0].um == pytest.approx(25)
    job.ready().coat()
    assert made(film(job, "4 mil wet"))[0].um == pytest.approx(25.4)
    job.add(ev.CardCopied, card=replace(thinned, reductions=())).wait(minutes=10)
    assert made(film(job, "100 wet"))[0].um == pytest.approx(25)  # the coat came out of the cup as it was made


def test_without_solids_the_dry_film_is_asked_for() -> None:
    assert wrong(film, bench(COLOUR), "100 wet") == "Base colour gives no volume solids of Base: write the dry film."
    assert "Slow hardener" in wrong(film, bench(replace(CLEAR, solids_percent=45.0)), "100 µm wet")


@pytest.mark.parametrize("text", ["", "0", "-4", "thick", "40 mm", "4 °C", "wet"])
def test_what_is_no_film_is_refused(text: str) -> None:
    assert wrong(film, bench(COLOUR), text)


def test_what_a_film_does_is_told() -> None:
    assert film(bench(COLOUR), "40").words == (
        "Dry film of 40 µm a coat noted. The card says nothing of thicker films, so it changes no wait."
    )
    assert film(bench(SOLID), "30").words.endswith("That is as thick as the card's times are for.")
    assert "If 1.5 was mil, undo it (U) and type 1.5 mil." in film(bench(COLOUR), "1.5").words
    assert "was mil" not in film(bench(COLOUR), "1.5 µm").words


def test_what_is_typed_moves_the_windows() -> None:
    job = bench(replace(HEATED, recoat_opens=hours(1), films=((20.0, 1.0), (40.0, 2.0)))).coat(mix=None)
    before = {w.key: w.span.opens_at for w in job.all_windows()}
    for draft in (*film(job, "40").drafts, *heat(job, "60").drafts):
        job.add(draft.func, **draft.keywords)  # type: ignore[attr-defined]
    after = {w.key: w.span.opens_at for w in job.all_windows()}
    assert before.keys() == after.keys()
    assert set(after.values()) == {job.now + minutes(6)}
