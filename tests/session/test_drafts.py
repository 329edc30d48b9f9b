"""Drafts of cards on disk: there and back whole, tolerant of a broken file, never in the way."""

import json
import os
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import cards

from benchtool.job.cards import Card, Gun, Hazard
from benchtool.session.cardreading import CardText, write_card
from benchtool.session.drafts import CardDraft, CardDrafts

FRESH = write_card(CLEAR)
HALF = replace(FRESH, name="Half a na", times={"flash": "15 mi"}, hazards=frozenset({Hazard.DUST}))


@pytest.fixture
def drafts(tmp_path: Path) -> CardDrafts:
    return CardDrafts(tmp_path / "state")


def test_a_draft_is_there_for_the_next_window_and_goes_once_it_is_kept(drafts: CardDrafts, tmp_path: Path) -> None:
    assert drafts.find("") is None
    assert drafts.keep("", CardDraft(FRESH, FRESH))
    assert drafts.keep("", CardDraft(HALF, FRESH))
    assert CardDrafts(tmp_path / "state").find("") == CardDraft(HALF, FRESH)
    assert [p.name for p in (tmp_path / "state").iterdir()] == ["drafts.json"]
    drafts.forget("")
    assert drafts.find("") is None
    assert list((tmp_path / "state").iterdir()) == []


@given(card=cards(), name=st.text(st.characters(), max_size=30))
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_a_card_says_goes_there_and_back(tmp_path: Path, card: Card, name: str) -> None:
    text = replace(write_card(card), name=name, reductions={Gun.MINI: ("\ud800", "", "half")})
    drafts = CardDrafts(tmp_path)
    assert drafts.keep("x", CardDraft(text, CardText()))
    assert drafts.find("x") == CardDraft(text, CardText())


def test_two_windows_do_not_forget_each_others_drafts(tmp_path: Path) -> None:
    one, other = CardDrafts(tmp_path), CardDrafts(tmp_path)
    one.keep("a|LIBRARY", CardDraft(HALF, FRESH))
    other.keep("b|LIBRARY", CardDraft(HALF, FRESH))
    one.forget("a|LIBRARY")
    assert one.find("b|LIBRARY") is not None


@pytest.mark.parametrize("content", [
    b"", b"{", b"[]", b"\xff\xfe", b"[" * 100_000, b'{"format": "bench drafts", "drafts": 3}',
    b'{"format": "bench drafts", "drafts": {"": {"typed": 7}}}',
])  # fmt: skip
def test_a_broken_file_is_no_draft_and_stops_nothing(drafts: CardDrafts, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "state").mkdir()
    file = tmp_path / "state" / "drafts.json"
    file.write_bytes(content)
    assert drafts.find("") is None
    drafts.forget("nothing")
    assert drafts.keep("", CardDraft(HALF, FRESH))
    assert drafts.find("") == CardDraft(HALF, FRESH)


def test_a_broken_file_is_moved_aside_and_not_written_over(drafts: CardDrafts, tmp_path: Path) -> None:
    (tmp_path / "state").mkdir()
    (tmp_path / "state" / "drafts.json").write_bytes(b'{"format": "bench drafts", "drafts": {"": {"ty')
    drafts.keep("", CardDraft(HALF, FRESH))
    assert (tmp_path / "state" / "drafts.json.broken").read_bytes().endswith(b'{"ty')


def test_what_the_next_version_writes_or_a_hand_broke_costs_only_that_draft(drafts: CardDrafts, tmp_path: Path) -> None:
    drafts.keep("a", CardDraft(HALF, FRESH))
    drafts.keep("b", CardDraft(HALF, FRESH))
    file = tmp_path / "state" / "drafts.json"
    told = json.loads(file.read_text())
    told["drafts"]["a"]["typed"]["duty"] = "no such duty"
    file.write_text(json.dumps(told))
    assert drafts.find("a") is None
    assert drafts.find("b") == CardDraft(HALF, FRESH)


def test_no_more_than_a_hundred_are_kept_the_newest(drafts: CardDrafts) -> None:
    for i in range(102):
        drafts.keep(f"c{i}|LIBRARY", CardDraft(CardText(name=str(i)), CardText()))
    assert drafts.find("c1|LIBRARY") is None
    assert drafts.find("c2|LIBRARY") is not None
    assert drafts.find("c101|LIBRARY") is not None


def test_a_full_disk_and_a_folder_that_is_none_are_told_by_the_answer(
    drafts: CardDrafts, tmp_path: Path, full_disk: Any
) -> None:
    with full_disk():
        assert not drafts.keep("", CardDraft(HALF, FRESH))
    (tmp_path / "file").write_bytes(b"")
    assert not CardDrafts(tmp_path / "file").keep("", CardDraft(HALF, FRESH))
    assert os.listdir(tmp_path / "state") == []  # noqa: PTH208 - a half-written file would be seen
