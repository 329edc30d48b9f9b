"""The lock files: whole, hashed, without any address, and in step with pyproject.toml."""

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

FOLDER = Path(__file__).parents[2] / "packaging"
LOCKS = ["run.txt", "test.txt", "test-source.txt"]


def text_of(name):
    return (FOLDER / "lock" / name).read_text(encoding="utf-8")


def pins(name):
    """{package: version}; one version of each everywhere, so that what is tested is what is used."""
    found = re.findall(r"(?m)^([a-z0-9.-]+)==([^\s;]+)", text_of(name))
    assert len(found) == len(dict(found))
    return dict(found)


def asked(*groups):
    project = tomllib.loads((FOLDER.parent / "pyproject.toml").read_text(encoding="utf-8"))
    words = list(project["project"]["dependencies"])
    for group in groups:
        words += project["dependency-groups"][group]
    return [Requirement(word) for word in words]


@pytest.mark.parametrize("name", LOCKS)
def test_every_package_is_hashed_and_nothing_else_is_in_the_file(name):
    lines = text_of(name).splitlines()
    assert lines[0].startswith("# Made by `python3 packaging/lock.py`")
    body = "\n".join(lines[2:]) + "\n"
    pin = r"[a-z0-9.-]+==\S+(?: ; [^\\\n]+)?(?: \\\n    --hash=sha256:[0-9a-f]{64})+\n"
    assert re.fullmatch(f"(?:{pin})+", body)


def test_the_test_lock_holds_the_run_lock():
    assert pins("run.txt").items() <= pins("test.txt").items()


@pytest.mark.parametrize(
    ("groups", "names"), [(["build"], ["run.txt"]), (["build", "test"], ["test.txt", "test-source.txt"])]
)
def test_the_locks_hold_what_pyproject_asks_for(groups, names):
    locked = {package: version for name in names for package, version in pins(name).items()}
    for requirement in asked(*groups):
        assert requirement.specifier.contains(locked[canonicalize_name(requirement.name)])


def test_joining_and_splitting_keeps_every_line(scripts):
    entries = scripts.lock.entries(text_of("test.txt"))
    assert list(entries) == list(pins("test.txt"))
    assert "".join(entries.values()) == "".join(text_of("test.txt").splitlines(keepends=True)[2:])


def test_a_lock_with_an_address_is_refused(scripts, monkeypatch, tmp_path):
    monkeypatch.setattr(scripts.lock, "ROOT", str(tmp_path))
    with pytest.raises(scripts.trouble.Trouble, match="address"):
        scripts.lock.write_lock("run.txt", "x", {"a": "a @ https://registry.example/a.whl\n"})
    assert not (tmp_path / "run.txt").exists()
