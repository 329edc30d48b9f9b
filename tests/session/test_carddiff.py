"""What is different between two copies of a card, which open jobs use an older one, and taking the new one in."""

import os
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER, JobBuilder
from hypothesis import given
from msgspec.structs import fields, replace
from strategies import cards, examples

from benchtool.job import events as ev
from benchtool.job.cards import Card, CardTime, Chemistry, DoublingPacing, ForcedDry, Origin, OriginKind
from benchtool.session import carddiff
from benchtool.session.carddiff import (
    OlderCopies,
    copies_words,
    differences,
    differences_words,
    layers_of,
    older_copies,
    other_copies,
    take_new,
    users_of,
)
from benchtool.session.library import CardLibrary
from benchtool.session.session import NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures

# --- what is different -----------------------------------------------------------------------------


def said(old: Card, new: Card) -> list[str]:
    return [d.words for d in differences(old, new)]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"flash": timedelta(minutes=10)}, "Flash: 10 min, was 15 min."),
        ({"flash": None}, "Flash: not given any more, was 15 min."),
        ({"stand": timedelta(minutes=5)}, "Stand once activated: 5 min, was not given."),
        ({"chemistry": Chemistry.URETHANE}, None),
        ({"coats_most": 4}, "Coats: 2 to 4, was 2 to 3."),
        ({"solids_percent": 44.5}, "Solids by volume: 44.5 %, was not given."),
        ({"name": "Other clear"}, "Name: Other clear, was Two-part clear."),
        ({"note": "slow"}, "Note: slow, was not given."),
        ({"reducer": "Slow reducer"}, "Reducer: Slow reducer, was not given."),
        (
            {"activators": (replace(CLEAR.activators[0], share="25 % of base"),)},
            "Activator: Slow hardener, 25 % of base, was Slow hardener, 50 % of base.",
        ),
        ({"forced": {CardTime.CURE: ForcedDry(degC=60.0, wait=timedelta(minutes=30))}},
         "Cure in heat: 30 min at 60 °C, was not given."),
        ({"paces": {CardTime.FLASH: DoublingPacing()}},
         "Flash by the air: 2 times as long for 10 °C less, printed for 23 °C, was not given."),
    ],
)  # fmt: skip
def test_a_difference_is_a_sentence(change: dict[str, Any], words: str | None) -> None:
    found = said(CLEAR, replace(CLEAR, **change))
    assert len(found) == 1
    if words is not None:
        assert found == [words]


def test_where_a_value_is_from_is_a_difference_that_changes_no_sum() -> None:
    guess = Origin(kind=OriginKind.GUESS, words="felt so")
    [found] = differences(CLEAR, replace(CLEAR, origins={**CLEAR.origins, "flash": guess}))
    assert found.words == "Flash, where from: a guess, felt so, was not given."
    assert not found.matters
    same = {k: Origin(kind=OriginKind.SHEET, words=v) for k, v in CLEAR.origins.items() if isinstance(v, str)}
    assert [d.key for d in differences(CLEAR, replace(CLEAR, origins=same))] in ([], ["order"])


def test_what_matters_comes_first_and_the_rest_is_counted() -> None:
    new = replace(CLEAR, note="n", name="N", flash=timedelta(minutes=1), cure=timedelta(days=9), tape=timedelta(days=2))
    found = differences(CLEAR, new)
    assert [d.matters for d in found] == [True, True, True, False, False]
    assert differences_words(found, 2).endswith(" 3 more values are different.")
    assert differences_words(found, 4).endswith(" One more value is different.")
    assert "more value" not in differences_words(found, 5)


@examples(25)
@given(card=cards(), other=cards())
def test_there_is_a_difference_exactly_where_two_cards_are_not_the_same(card: Card, other: Card) -> None:
    assert differences(card, replace(card, id="another")) == ()
    assert bool(differences(card, other)) == (card != other)


PARTS = ("activators", "additives", "reductions", "origins")
"""What may be written otherwise, such as in another order, and say the same."""


@examples(25)
@given(card=cards(), other=cards())
def test_no_value_of_a_card_can_change_unsaid(card: Card, other: Card) -> None:
    """Whichever field of a card takes another value, it is told, and as one that matters unless it is words."""
    for name in (field.name for field in fields(Card) if field.name != "id"):
        changed = replace(card, **{name: getattr(other, name)})
        found = differences(card, changed)
        assert bool(found) == (changed != card)
        assert all(d.was != d.now for d in found)
        if name not in PARTS:
            assert "order" not in {d.key for d in found}
            assert any(d.matters for d in found) == (changed != card and name not in ("name", "note", "origins"))


# --- open jobs -------------------------------------------------------------------------------------


@pytest.fixture
def session(tmp_path: Path, clock: Any) -> Any:
    made = Session(clock, load_tables(), Measures(), CardLibrary(tmp_path / "cards"))
    yield made
    made.close_all()


Open = Callable[..., Any]


@pytest.fixture
def opened(tmp_path: Path, session: Session) -> Open:
    """Open a job of two layers of this card, the first of them begun."""

    def make(name: str, card: Card = CLEAR, *, begun: bool = True) -> Any:
        bench = JobBuilder().card(card).piece("panel")
        bench.layer("under", card, coats=2, activator="slow").layer("over", card, coats=1, activator="slow")
        if begun:
            bench.ready("under").coat()
        path = tmp_path / f"{name}.json"
        jobfile.save(path, bench.job)
        return session.open(path)

    return make


def keep(session: Session, card: Card, *, days: float = 3_650) -> None:
    """Keep a card in the library, written so many days after the jobs of the builder."""
    assert session.library is not None
    session.library.keep(card)
    written = session.now().timestamp() + days * 86_400
    os.utime(session.library.folder / f"{card.id}.json", (written, written))
    session.library.look()


NEW = replace(CLEAR, flash=timedelta(minutes=20), note="new sheet")


def test_an_open_job_with_an_older_copy_is_told_with_its_layers_and_what_is_different(
    session: Session, opened: Open
) -> None:
    document = opened("tank")
    keep(session, NEW)
    [copy] = older_copies(session)
    assert (copy.document, copy.copy, copy.card) == (document, CLEAR, NEW)
    assert [(x.piece, x.begun) for x in copy.layers] == [("Panel", True), ("Panel", False)]
    assert [d.words for d in copy.found] == ["Flash: 20 min, was 15 min.", "Note: new sheet, was not given."]
    assert copy.words == "tank uses an older copy (2 layers of it, 1 begun)."
    assert copies_words(session, NEW) == "1 open job uses the older copy: press V to see what is different."
    opened("two", begun=False)
    assert copies_words(session, NEW) == "2 open jobs use the older copy: press V to see what is different."
    assert [u[0].title for u in users_of(session, NEW)] == ["tank", "two"]


def test_how_many_cards_of_a_job_are_older_is_worked_out_only_when_something_changed(
    session: Session, opened: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = opened("tank")
    older = OlderCopies(session)
    assert (older.count(document), older.words(document)) == (0, "")
    keep(session, NEW)
    assert (older.count(document), older.words(document)) == (1, "1 card is newer in your library: V")
    opened("two")
    asked: list[bool] = []
    real = carddiff.older_copies
    monkeypatch.setattr(carddiff, "older_copies", lambda *a: (asked.append(True), real(*a))[1])
    session.apply_to(document, partial(ev.JobDescribed, title="Another name"))
    assert older.count(document) == 1
    assert asked == []
    [copy, _] = other_copies(session)
    take_new(session, copy)
    assert older.count(document) == 0
    assert asked == [True]
    keep(session, replace(NEW, note="a sheet newer yet"))
    assert older.count(document) == 1


def test_a_library_nobody_looked_at_is_not_read_for_it(session: Session, opened: Open, tmp_path: Path) -> None:
    document = opened("tank")
    assert session.library is not None
    other = CardLibrary(session.library.folder)
    other.keep(NEW)
    session.library = CardLibrary(session.library.folder)
    older = OlderCopies(session)
    assert older.count(document) == 0
    assert session.library.known() is None
    session.library.look()
    assert older.count(document) == 1


def test_a_job_that_has_the_same_or_another_card_is_not_told(session: Session, opened: Open) -> None:
    opened("tank")
    keep(session, CLEAR)
    keep(session, COLOUR)
    assert other_copies(session) == ()
    assert copies_words(session, CLEAR) == ""


def test_a_job_whose_copy_is_newer_is_not_called_older(session: Session, opened: Open) -> None:
    opened("tank")
    keep(session, NEW, days=-3_650)
    [copy] = other_copies(session)
    assert not copy.older
    assert "newer" in copy.words
    assert older_copies(session) == ()
    assert copies_words(session, NEW) == ""


def test_nothing_of_a_job_changes_until_the_new_card_is_taken_and_then_only_what_is_not_done(
    session: Session, opened: Open
) -> None:
    document = opened("tank")
    before = document.job
    keep(session, NEW)
    [copy] = older_copies(session)
    assert document.job is before
    words = take_new(session, copy)
    assert words == (
        "tank uses the new card of Two-part clear from now on. "
        "Coats already on and cups already mixed keep the old one."
    )
    [event] = document.job.events[len(before.events) :]
    assert isinstance(event, ev.CardCopied)
    assert event.card == NEW
    under, over = document.state.layers["under"], document.state.layers["over"]
    assert under.coats[0].card == CLEAR
    assert document.state.card_of(over) == NEW
    assert older_copies(session) == ()
    session.undo()
    assert document.state.card_of(over) == CLEAR
    assert len(older_copies(session)) == 1


def test_an_activator_that_the_new_card_has_no_more_is_told(session: Session, opened: Open) -> None:
    opened("tank", begun=False)
    keep(session, replace(NEW, activators=(replace(CLEAR.activators[0], id="fast", name="Fast hardener"),)))
    [copy] = older_copies(session)
    assert take_new(session, copy) == (
        "tank uses the new card of Two-part clear from now on. Slow hardener of its layers is not on the new card: "
        "choose another."
    )


def test_a_job_that_is_only_looked_at_is_told_and_stays(session: Session, opened: Open) -> None:
    document = opened("tank")
    document.read_only = "Looked at only."
    keep(session, NEW)
    [copy] = older_copies(session)
    with pytest.raises(NotNow, match="Looked at only"):
        take_new(session, copy)
    assert document.state.cards[CLEAR.id] == CLEAR


def test_an_id_in_another_case_is_the_same_card(session: Session, opened: Open) -> None:
    document = opened("tank")
    keep(session, replace(NEW, id="CLEAR-2K"))
    [copy] = older_copies(session)
    take_new(session, copy)
    assert document.state.cards == {CLEAR.id: NEW}
    assert len(layers_of(document, "CLEAR-2K")) == 2


def test_without_a_library_nothing_is_older(clock: Any, tmp_path: Path) -> None:
    bare = Session(clock, load_tables(), Measures())
    jobfile.save(tmp_path / "a.json", JobBuilder().card(PROMOTER).job)
    bare.open(tmp_path / "a.json")
    assert other_copies(bare) == ()
    bare.close_all()
