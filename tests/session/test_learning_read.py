"""What is read for learning, when a share comes and goes while it is read."""

from pathlib import Path

import pytest
from builders import COLOUR, JobBuilder

from benchtool.session import learningread
from benchtool.session.jobreading import Reader
from benchtool.session.learningread import Kept, look
from benchtool.store import jobfile
from benchtool.store.jobfolders import JobFileFault


def read(folder: Path, known: dict[Path, Kept]) -> dict[Path, Kept]:
    reader = Reader((folder,), look, known, "test")
    for _ in reader.reading():
        pass
    return reader.kept


@pytest.mark.parametrize("gone", [True, False])
def test_a_job_that_was_not_there_for_a_moment_is_read_when_it_is_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, gone: bool
) -> None:
    folder, away = tmp_path / "jobs", tmp_path / "away"
    path = folder / "one.json"
    folder.mkdir()
    jobfile.save(path, JobBuilder().card(COLOUR).piece("a").layer("l", COLOUR, 1).coat(mix=None).job)
    real = learningread.read_job

    def falls_off(asked: Path) -> object:
        if not gone:
            raise JobFileFault(asked, "You may not read this file: have its rights changed, or copy it")
        folder.rename(away)
        return real(asked)

    with monkeypatch.context() as patch:
        patch.setattr(learningread, "read_job", falls_off)
        first = read(folder, {})
    assert first[path].title == ""
    if gone:
        away.rename(folder)
    again = read(folder, first)
    assert again[path].title == "one"
    looked: list[Path] = []
    monkeypatch.setattr(learningread, "read_job", lambda asked: looked.append(asked) or real(asked))
    assert read(folder, again) == again
    assert looked == []
