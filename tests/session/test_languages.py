"""Sentences in another language."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtool.session.languages import catalogue, language_of
from benchtool.trade.saying import say, say_n, speak


@pytest.fixture(autouse=True)
def _english_again():
    yield
    speak({})


@pytest.mark.parametrize(
    ("environment", "language"),
    [
        ({}, "en"),
        ({"LANG": "de_DE.UTF-8"}, "de"),
        ({"LANG": "de_DE.UTF-8", "LC_ALL": "pt-BR"}, "pt"),
        ({"LANG": "C.UTF-8"}, "en"),
        ({"LC_MESSAGES": "fr"}, "fr"),
    ],
)
def test_the_language_of_the_system(environment: dict[str, str], language: str) -> None:
    assert language_of(environment) == language


def test_a_catalogue_speaks_and_what_it_does_not_hold_stays_english(tmp_path: Path) -> None:
    (tmp_path / "words").mkdir()
    words = {"{n} coat": "{n} Gang", "{n} coats": "{n} Gänge", "Wash it.": "Waschen.", "{a} on {b}.": "{a} auf {c}."}
    (tmp_path / "words" / "de.json").write_text(json.dumps(words), encoding="utf-8")
    found, wrong = catalogue(tmp_path, "de")
    assert wrong == "de.json: 1 sentences are left out, since their gaps differ"
    speak(found)
    assert (say("Wash it."), say("Dry it."), say("{a} on {b}.", a=1, b=2)) == ("Waschen.", "Dry it.", "1 on 2.")
    assert (say_n("{n} coat", "{n} coats", 1), say_n("{n} coat", "{n} coats", 3)) == ("1 Gang", "3 Gänge")


@pytest.mark.parametrize("text", ["", "{", "[1]", "\ud800".encode("utf-8", "surrogatepass")])
def test_a_broken_catalogue_is_told_and_english_stays(tmp_path: Path, text: str | bytes) -> None:
    (tmp_path / "words").mkdir()
    path = tmp_path / "words" / "de.json"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    found, wrong = catalogue(tmp_path, "de")
    assert found == {}
    assert wrong.startswith("de.json")
    assert catalogue(tmp_path, "fr") == ({}, "")


@given(st.text(), st.text())
def test_what_is_filled_in_is_never_read_as_a_sentence(name: str, other: str) -> None:
    assert say("{a} and {b}", a=name, b=other) == f"{name} and {other}"
