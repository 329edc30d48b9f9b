"""What is said early of a trial: what speaks against a stack, what keeps strips from tests; what is half typed."""

import dataclasses
from dataclasses import replace
from datetime import timedelta
from random import Random

import msgspec
import pytest
from builders import COLOUR
from trial_setting import session_of

from benchtool.job import events as ev
from benchtool.job.cards import Gun, Reduction
from benchtool.rules.finding import Severity
from benchtool.session import trialsetup as ts
from benchtool.session.trialagainst import Against, against_strip
from benchtool.session.trialdrafts import TrialDrafts
from benchtool.session.trialkeeping import SetupKeeper
from benchtool.session.trialwords import tape_time_words
from benchtool.store.drafts import DraftFile
from benchtool.trade.substrates import Flex


@pytest.fixture
def session(clock, tmp_path):
    made = session_of(clock, tmp_path)
    yield made
    made.close_all()


def begun(session):
    return ts.begin(session, session.writable().state.pieces["p1"])


def planned(row, **fields):
    return replace(row, plan=msgspec.structs.replace(row.plan, **fields))


def test_a_rigid_activator_on_a_flexible_part_is_said_while_the_system_is_built(session):
    setup = begun(session)
    assert Against(session).of(setup, "s1").said == ()
    bends = replace(setup, material=dataclasses.replace(setup.material, flex=Flex.FLEXIBLE))
    worst = Against(session).of(bends, "s1").said[0]
    assert (worst.severity, worst.layer) == (Severity.STOP, setup.systems[0].rows[0].key)
    assert "Rigid activator" in worst.words


def test_coats_outside_the_range_of_the_card_are_said(session):
    setup = begun(session)
    rows = (planned(setup.systems[0].rows[0], coats=9), *setup.systems[0].rows[1:])
    assert any(x.words.startswith("9 coats of") for x in against_strip(session, rows, ts.stand_in(setup)).said)


def test_a_gun_that_the_card_gives_no_reduction_for_is_said(session):
    row = begun(session).systems[0].rows[0]
    thinned = msgspec.structs.replace(
        row.card, reductions=(Reduction(gun=Gun.FULL, least="5 %", usual="10 %", most="20 %"),)
    )
    for gun, told in ((Gun.FULL, False), (Gun.AIRBRUSH, True)):
        rows = (planned(replace(row, card=thinned), gun=gun),)
        said = against_strip(session, rows, ts.stand_in(begun(session))).said
        assert any("no reduction for" in x.words for x in said) is told


def test_what_a_strip_is_there_to_find_out_is_not_said(session):
    """The bare control on polypropylene: every piece would be told that nothing holds there."""
    setup = begun(session)
    bare = replace(setup, material=dataclasses.replace(setup.material, substrate="pp", known=ev.Known.TOLD))
    assert [x.words for c in bare.systems for x in Against(session).of(bare, c.key).said] == []


def test_the_longer_tape_time_of_a_card_is_said_beside_the_rest(session):
    setup = replace(begun(session), rest="2 min")
    slow = msgspec.structs.replace(setup.systems[0].rows[-1].card, tape=timedelta(hours=24))
    rows = (*setup.systems[0].rows[:-1], replace(setup.systems[0].rows[-1], card=slow))
    told = f"The card of {slow.name} asks for 24 h before tape: that counts."
    assert ts.rest_words(session, ts.change(setup, "s1", rows=rows)) == told
    assert ts.rest_words(session, replace(ts.change(setup, "s1", rows=rows), rest="24 h")) == ""


def test_a_card_without_a_tape_time_lets_the_rest_alone():
    assert tape_time_words(msgspec.structs.replace(COLOUR, tape=None), timedelta(0)) == ""


# --- on disk -------------------------------------------------------------------------------------------


def typed(session):
    setup = ts.shuffle(replace(begun(session), name="Half typed", note="x", rest="36 h"), Random(3))
    age = ts.AgeText(kind=ev.AgeingKind.WATER, lasts="1 d")
    return replace(setup, ageing=(age,), methods=frozenset({ev.Method.NAIL}))


def test_what_is_half_set_up_goes_to_disk_and_back(session, tmp_path):
    drafts, setup = TrialDrafts(DraftFile(tmp_path / "state")), typed(session)
    assert drafts.find("job") is None
    assert drafts.keep("job", setup)
    assert drafts.find("job") == setup
    assert drafts.find("another") is None
    drafts.forget("job")
    assert drafts.find("job") is None


@pytest.mark.parametrize("told", [{}, {"name": 3}, {"name": "x", "systems": [{}]}])
def test_a_draft_that_can_t_be_read_is_no_draft(tmp_path, told):
    file = DraftFile(tmp_path / "state")
    file.put("trial|job", told)
    assert TrialDrafts(file).find("job") is None


def test_a_program_that_was_killed_begins_where_it_was(session, tmp_path):
    first, second = SetupKeeper(session), SetupKeeper(session)
    first.drafts = second.drafts = TrialDrafts(DraftFile(tmp_path / "state"))
    first.take_up(None)
    first.save(session.current, typed(session))
    again = second.take_up(None)
    assert again == typed(session)
    assert second.typed(session.current, again)
    second.written(session.current, again, "t1")
    assert SetupKeeper(session).drafts is None
    third = SetupKeeper(session)
    third.drafts = first.drafts
    assert third.take_up(None).name != "Half typed"
