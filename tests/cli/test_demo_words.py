"""The two words that stand for a demo job are told wherever a painter asks for help with them."""

from typing import Any

import pytest
from builders import JobBuilder
from cli.asking import ask
from msgspec.structs import replace

from benchtool.app import main


@pytest.mark.parametrize("word", ["demo", "demo-trial", "demo-finished"])
@pytest.mark.parametrize("flag", ["--help", "-h"])
def test_help_on_a_demo_tells_both(word: str, flag: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([word, flag]) == 0
    told = capsys.readouterr()
    assert told.out.startswith(f"benchtool {word}: ")
    assert "benchtool sheet demo-finished" in told.out
    assert not told.err


def test_the_usage_names_both(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    assert "demo, demo-trial, demo-finished" in capsys.readouterr().out


def test_help_on_trials_names_the_demo_of_a_trial(capsys: pytest.CaptureFixture[str]) -> None:
    told: Any = ask("trial", "--help")
    assert "demo-trial" in (told.out or capsys.readouterr().out)


def test_a_demo_without_a_trial_names_the_one_that_has_it() -> None:
    job = JobBuilder().job
    assert "demo-trial" not in ask("trial", "demo", job=lambda _: replace(job, demo=False)).out
    assert "benchtool trial demo-trial" in ask("trial", "demo", job=lambda _: replace(job, demo=True)).out
