"""Every sentence that is said to the painter can be drawn out of the code and translated."""

import importlib.util
import json
import sys
from pathlib import Path
from types import ModuleType

import pytest

from benchtool.rules.engine import ALL
from benchtool.rules.finding import PRACTICE
from benchtool.trade.saying import say, say_n

SCRIPT = Path(__file__).parents[2] / "packaging" / "words.py"


@pytest.fixture(scope="module")
def drawn() -> ModuleType:
    spec = importlib.util.spec_from_file_location("drawn_words", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["drawn_words"] = module  # a dataclass looks its own module up
    spec.loader.exec_module(module)
    return module


def code(folder: Path, text: str) -> Path:
    made = folder / "code"
    made.mkdir()
    (made / "one.py").write_text(text, encoding="utf-8")
    return made


def test_every_sentence_in_the_code_is_literal_and_filled_in_by_name(drawn) -> None:
    wrong = [f"{call.place}: it {call.fault}" for call in drawn.calls() if call.fault]
    assert wrong == []


def test_the_list_holds_the_sentences_of_code_tables_rules_and_records_once(drawn) -> None:
    words = drawn.words()
    assert len(words) == len(set(words)) > 300
    assert {"Your rule: {words}", "stop", "caution", "polyolefin"} <= set(words)
    assert "Nobody can tell from looking whether paint will hold on a material that nobody has named." in words


def test_all_that_a_rule_is_registered_with_is_drawn(drawn) -> None:
    words = set(drawn.words())
    for rule in ALL:
        assert {rule.title, rule.reason, rule.source, rule.remedy} <= words
    assert PRACTICE in words


GOOD = [
    'say("Wait {time}.", time=1)',
    'say("Wait.")',
    'say("Wait {time}.", **named)',
    'say_n("{n} coat", "{n} coats", n)',
    'say_n("one coat of {name}", "{n} coats of {name}", n, name=1)',
    "say(row.note)",
    "say(kind.value.capitalize())",
]
BAD = [
    ('say(f"Wait {time}.")', "is no sentence in the code"),
    ("say(words)", "is no sentence in the code"),
    ('say("a" if x else "b")', "is no sentence in the code"),
    ('say("Wait {time}.")', "leaves ['time'] unfilled"),
    ('say("Wait {time}.", other=1)', "leaves ['time'] unfilled"),
    ('say("Wait {time}.", time=1, other=1)', "fills in ['other']"),
    ('say("Wait {}.", time=1)', "is no name"),
    ('say("Wait {time.", time=1)', "is no sentence to fill in"),
    ('say_n("one coat of {name}", "{n} coats", n)', "leaves ['name'] unfilled"),
    ("say(row.colour)", "is no sentence in the code"),
]


@pytest.mark.parametrize("line", GOOD)
def test_what_can_be_drawn_out_is_fine(drawn, tmp_path: Path, line: str) -> None:
    [call] = drawn.calls(code(tmp_path, line))
    assert (call.place, call.fault) == ("code/one.py:1", "")


@pytest.mark.parametrize(("line", "fault"), BAD)
def test_what_can_not_be_drawn_out_is_named_with_its_place(drawn, tmp_path: Path, line: str, fault: str) -> None:
    [call] = drawn.calls(code(tmp_path, f"\n{line}"))
    assert call.place == "code/one.py:2"
    assert fault in call.fault


def test_a_catalogue_keeps_what_is_translated(drawn, tmp_path: Path) -> None:
    file = tmp_path / "de.json"
    file.write_text(json.dumps({"stop": "Halt", "gone": "weg"}), encoding="utf-8")
    assert drawn.main([str(file)]) == 0
    made = json.loads(file.read_text(encoding="utf-8"))
    assert made["stop"] == "Halt"
    assert made["caution"] == ""
    assert "gone" not in made
    assert list(made) == drawn.words()


def test_what_is_drawn_out_is_what_is_said() -> None:
    assert say("Wait {time}.", time="6:20") == "Wait 6:20."
    assert say_n("{n} coat", "{n} coats", 2) == "2 coats"
