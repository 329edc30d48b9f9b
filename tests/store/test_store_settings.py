"""Settings are never worth a crash."""

import errno
import os
from pathlib import Path
from typing import Any

import pytest

from benchtool.job.cards import Gun
from benchtool.store import settings
from benchtool.store.settings import Settings, with_recent

CHOSEN = Settings(
    theme="dark",
    units="fl oz",
    sound_volume=0.25,
    speak=True,
    window="AdnQywADAAA=",
    recent=("/jobs/b.json", "/jobs/a.json"),
    last_gun=Gun.MINI,
)


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def test_settings_come_back_as_they_were_saved(tmp_path: Path) -> None:
    assert settings.save(tmp_path / "new" / "folder", CHOSEN)
    assert settings.load(tmp_path / "new" / "folder") == CHOSEN
    assert names(tmp_path / "new" / "folder") == ["settings.json"]


def test_without_a_file_the_usual_ones_are_used(tmp_path: Path) -> None:
    assert settings.load(tmp_path) == settings.load(tmp_path / "nowhere") == Settings()
    assert names(tmp_path) == []


def test_unknown_fields_are_passed_over_and_missing_ones_usual(tmp_path: Path) -> None:
    (tmp_path / "settings.json").write_text('{"theme": "light", "planets": [1]}', encoding="utf-8")
    assert settings.load(tmp_path) == Settings(theme="light")
    assert names(tmp_path) == ["settings.json"]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[]",
        b"\xff\xfe",
        b'{"theme": "pink"}',
        b'{"sound_volume": 1.5}',
        b'{"sound_volume": NaN}',
        b'{"recent": "x"}',
        b'{"further": ' + b"[" * 100_000,
        b"x" * 1_000_001,
    ],
)
def test_a_broken_file_is_set_aside(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "settings.json").write_bytes(content)
    (tmp_path / "settings.broken.json").write_bytes(b"an older one")
    assert settings.load(tmp_path) == Settings()
    assert names(tmp_path) == ["settings.broken.json"]
    assert (tmp_path / "settings.broken.json").read_bytes() == content
    assert settings.save(tmp_path, CHOSEN)
    assert settings.load(tmp_path) == CHOSEN


@pytest.mark.skipif(os.name == "nt", reason="POSIX files")
def test_what_is_no_file_at_all(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    os.mkfifo(tmp_path / "a" / "settings.json")
    (tmp_path / "b" / "settings.json").mkdir(parents=True)
    (tmp_path / "c").write_bytes(b"a file where the folder should be")
    for name in "abc":
        assert settings.load(tmp_path / name) == Settings()
    assert not settings.save(tmp_path / "c", CHOSEN)


@pytest.mark.parametrize("code", [errno.EACCES, errno.ENOSPC, errno.EROFS])
def test_a_system_that_refuses_is_no_crash(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    settings.save(tmp_path, CHOSEN)

    def refuse(*_: Any, **__: Any) -> int:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, "open", refuse)
    monkeypatch.setattr(os, "replace", refuse)
    assert settings.load(tmp_path) == Settings()
    assert not settings.save(tmp_path, Settings())
    monkeypatch.undo()
    assert settings.load(tmp_path) == CHOSEN


def test_the_recent_jobs_are_ten_the_newest_first_and_each_once(tmp_path: Path) -> None:
    chosen = Settings()
    for n in [*range(12), 5]:
        chosen = with_recent(chosen, Path(f"{n}.json"))
    assert chosen.recent == tuple(f"{n}.json" for n in (5, 11, 10, 9, 8, 7, 6, 4, 3, 2))
    settings.save(tmp_path, Settings(recent=tuple(map(str, range(20)))))
    assert settings.load(tmp_path).recent == tuple(map(str, range(10)))
