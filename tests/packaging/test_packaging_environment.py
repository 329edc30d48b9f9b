"""The private environment: what a start still has to do, and that a broken-off set-up is seen."""

import errno
import json
import os
import shutil
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(os.name != "posix", reason="the stand-in environment is laid out as on POSIX")

VERSION = "{}.{}".format(*sys.version_info[:2])


@pytest.fixture
def checkout(tmp_path):
    """A checkout in a folder with a space and a letter beyond ASCII."""
    root = tmp_path / "Größe 1"
    for name, text in {
        "pyproject.toml": "[project]\n",
        "benchtool/__init__.py": "one = 1\n",
        "benchtool/job/card.py": "two = 2\n",
        "resources/demo.json": "{}\n",
        "packaging/lock/run.txt": "pint==1\n",
        "packaging/lock/test.txt": "pint==1\npytest==1\n",
        "packaging/lock/test-source.txt": "old==1\n",
    }.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")
    return root


class Pip:
    """Stands in for the helpers: makes what `python -m venv` and pip would leave."""

    def __init__(self, environment):
        self.environment = environment
        self.commands = []
        self.stamps = []
        self.fail_on = None

    def __call__(self, command, on_line=None):
        self.commands.append(command)
        self.stamps.append(self.environment.stamp())
        site = Path(self.environment.site_packages())
        python = Path(self.environment.python)
        if self.fail_on and self.fail_on in command:
            return 1, "[Errno 28] No space left on device"
        if command[1:3] == ["-m", "venv"]:
            site.mkdir(parents=True)
            python.parent.mkdir()
            python.symlink_to(sys.executable)
            (python.parents[1] / "pyvenv.cfg").touch()
        elif "-r" in command:
            (site / "pint-1.dist-info").mkdir(exist_ok=True)
        else:
            (site / "benchtool").mkdir()
            (site / "benchtool-1.dist-info").mkdir()
        return 0, ""

    def steps(self):
        """The commands since the last look, in short."""
        short = []
        for command in self.commands:
            if command[1:3] == ["-m", "venv"]:
                short.append("venv")
            elif "-r" in command:
                short.append(Path(command[-1]).name)
            else:
                short.append("tool")
        self.commands.clear()
        return short


@pytest.fixture
def place(scripts, checkout, monkeypatch):
    environment = scripts.environment.Environment(str(checkout))
    environment.pip = Pip(environment)
    monkeypatch.setattr(environment, "_call", environment.pip)
    return environment


def test_a_first_start_does_everything_and_a_second_nothing(place, capsys):
    place.prepare("run")
    assert place.pip.steps() == ["venv", "run.txt", "tool"]
    assert capsys.readouterr().err.startswith("First start: fetching what the window needs, about ")
    place.prepare("run")
    assert place.pip.steps() == []
    assert capsys.readouterr() == ("", "")


def test_every_package_comes_by_hash_and_the_tool_as_a_copy_without_the_network(place, checkout):
    place.prepare("test")
    _, wheels, source, tool = place.pip.commands
    assert {"--require-hashes", "--only-binary"} <= set(wheels)
    assert {"--require-hashes", "--no-deps", "--no-build-isolation"} <= set(source)
    assert {"--no-index", "--no-deps", "--no-build-isolation"} <= set(tool)
    assert tool[-1] == str(checkout)
    assert not {"-e", "--editable"} & set(tool)
    said = " ".join(word for command in place.pip.commands for word in command)
    assert "index-url" not in said
    assert "://" not in said


def test_there_is_no_stamp_while_packages_change(place):
    place.prepare("run")
    assert place.pip.stamps == [{}, {}, {}]
    place.pip.stamps.clear()
    place.prepare("test")
    assert place.pip.steps()[-3:] == ["test.txt", "test-source.txt", "tool"]
    assert place.pip.stamps[0] == {}


def test_the_test_set_up_serves_a_start_as_well(place):
    place.prepare("test")
    assert place.outstanding("run") == set()


def test_a_start_is_not_enough_for_the_tests(place):
    place.prepare("run")
    assert place.outstanding("test") == {"fetch", "tool"}


@pytest.mark.parametrize("step", ["venv", "-r", "--no-index"])
def test_a_broken_off_set_up_is_made_again(scripts, place, step):
    place.pip.fail_on = step
    with pytest.raises(scripts.trouble.Trouble, match="The disk is full"):
        place.prepare("run")
    assert place.outstanding("run") == {"make", "fetch", "tool"}
    place.pip.fail_on = None
    place.pip.steps()
    place.prepare("run")
    assert place.pip.steps() == ["venv", "run.txt", "tool"]
    assert place.outstanding("run") == set()


def test_a_tool_install_that_broke_off_is_done_again_without_fetching(scripts, place, checkout):
    place.prepare("run")
    (checkout / "benchtool" / "new.py").touch()
    place.pip.fail_on = "--no-index"
    with pytest.raises(scripts.trouble.Trouble):
        place.prepare("run")
    place.pip.steps()
    (checkout / "benchtool" / "new.py").unlink()  # back to what is stamped, yet what is installed is broken
    assert place.outstanding("run") == {"tool"}
    place.pip.fail_on = None
    place.prepare("run")
    assert place.pip.steps() == ["tool"]
    assert place.outstanding("run") == set()


@pytest.mark.parametrize(
    "harm",
    [
        lambda venv: (venv / "bin" / "python").unlink(),
        lambda venv: shutil.rmtree(venv / "lib" / f"python{VERSION}" / "site-packages" / "pint-1.dist-info"),
        lambda venv: shutil.rmtree(venv / "lib" / f"python{VERSION}" / "site-packages" / "benchtool"),
        lambda venv: shutil.rmtree(venv / "lib"),
        lambda venv: (venv / "setup.json").write_text("{"),
        lambda venv: (venv / "setup.json").write_text("[]"),
        lambda venv: (venv / "setup.json").unlink(),
        lambda venv: shutil.rmtree(venv),
        lambda venv: (shutil.rmtree(venv), venv.write_text("a file")),
    ],
    ids=["python", "package", "tool", "lib", "cut stamp", "odd stamp", "stamp", "all", "file"],
)
def test_a_damaged_environment_is_made_again(place, checkout, harm):
    place.prepare("run")
    place.pip.steps()
    harm(checkout / ".venv")
    assert place.outstanding("run") == {"make", "fetch", "tool"}
    place.prepare("run")
    assert place.pip.steps() == ["venv", "run.txt", "tool"]
    assert place.outstanding("run") == set()


def test_another_pythons_environment_is_made_again(place):
    place.prepare("run")
    stamp = place.stamp()
    stamp["python"] = "3.10"
    Path(place._stamp_path).write_text(json.dumps(stamp), encoding="utf-8")
    assert place.outstanding("run") == {"make", "fetch", "tool"}


def test_a_changed_lock_is_fetched_and_drops_what_the_tests_had(place, checkout):
    place.prepare("test")
    place.pip.steps()
    (checkout / "packaging" / "lock" / "run.txt").write_text("pint==2\n")
    place.prepare("run")
    assert place.pip.steps() == ["run.txt", "tool"]
    assert place.outstanding("test") == {"fetch", "tool"}


def test_only_the_tool_is_installed_again_when_only_it_changed(place, checkout, capsys):
    place.prepare("run")
    place.pip.steps()
    capsys.readouterr()
    (checkout / "resources" / "demo.json").write_text("[]\n")
    place.prepare("run")
    assert place.pip.steps() == ["tool"]
    assert capsys.readouterr().err == "The tool has changed; installing it again.\n"


def test_a_touched_file_changes_nothing(scripts, place, checkout):
    place.prepare("run")
    before = scripts.files.quick_digest(str(checkout)), scripts.files.content_digest(str(checkout))
    os.utime(checkout / "benchtool" / "__init__.py", (1, 1))
    after = scripts.files.quick_digest(str(checkout)), scripts.files.content_digest(str(checkout))
    assert (before[0] == after[0], before[1] == after[1]) == (False, True)
    assert place.outstanding("run") == set()


def test_the_digest_sees_what_an_installed_tool_holds(scripts, checkout):
    def changed(act):
        before = scripts.files.content_digest(str(checkout))
        act()
        return scripts.files.content_digest(str(checkout)) != before

    assert changed(lambda: (checkout / "benchtool" / "__init__.py").write_text("one = 2\n"))
    assert changed(lambda: (checkout / "benchtool" / "job" / "card.py").rename(checkout / "benchtool" / "card.py"))
    assert changed(lambda: (checkout / "resources" / "more.json").touch())
    assert changed(lambda: (checkout / "pyproject.toml").write_text("[tool]\n"))
    assert not changed(lambda: (checkout / "README.md").touch())
    (checkout / "benchtool" / "__pycache__").mkdir()
    assert not changed(lambda: (checkout / "benchtool" / "__pycache__" / "card.pyc").touch())


def test_one_start_at_a_time(scripts, tmp_path):
    path = tmp_path / "lock"
    with path.open("a+b") as first, path.open("a+b") as second:
        assert scripts.files.try_lock(first)
        assert not scripts.files.try_lock(second)
        first.close()
        assert scripts.files.try_lock(second)


def test_what_another_start_did_meanwhile_is_not_done_again(place, monkeypatch, scripts):
    other = scripts.environment.Environment(place.root)
    other._call = Pip(other)

    def let_the_other_finish(file):
        monkeypatch.setattr(scripts.environment, "try_lock", lambda file: True)
        other.prepare("run")
        return True

    monkeypatch.setattr(scripts.environment, "try_lock", let_the_other_finish)
    place.prepare("run")
    assert place.pip.steps() == []
    assert place.outstanding("run") == set()


def test_a_helper_holds_the_lock_of_a_killed_start(scripts, checkout):
    environment = scripts.environment.Environment(str(checkout))
    with environment._only_one():
        probe = "import fcntl, os, sys; fcntl.flock(int(sys.argv[1]), fcntl.LOCK_EX | fcntl.LOCK_NB)"
        status, output = environment._call([sys.executable, "-c", probe, str(environment._lock.fileno())])
    assert (status, output) == (0, ""), "the helper could not take the lock that it should share"


@pytest.mark.parametrize(
    ("error", "writable", "words"),
    [
        (errno.ENOSPC, True, "The disk is full: "),
        (errno.EACCES, False, "You can't write in "),
        (errno.EROFS, False, "You can't write in "),
        (errno.EACCES, True, "Somebody else made the environment in this folder"),
    ],
)
def test_a_disk_that_refuses_is_one_sentence(scripts, place, monkeypatch, error, writable, words):
    def refuse(path, exist_ok):
        raise OSError(error, os.strerror(error), path)

    monkeypatch.setattr(scripts.environment.os, "makedirs", refuse)
    monkeypatch.setattr(scripts.environment.os, "access", lambda path, mode: writable)
    with pytest.raises(scripts.trouble.Trouble) as caught:
        place.prepare("run")
    assert str(caught.value).startswith(words)
    assert "\n" not in str(caught.value)
    assert str(caught.value).count("`") in (2, 4)


def test_an_incomplete_folder_is_one_sentence(scripts, place, checkout):
    (checkout / ".venv").mkdir()
    place.prepare("run")
    (checkout / "packaging" / "lock" / "run.txt").unlink()
    with pytest.raises(scripts.trouble.Trouble, match="This folder is not complete"):
        place.prepare("run")


def test_a_python_without_venv_is_told_the_package(scripts, started, monkeypatch):
    environment = scripts.environment
    monkeypatch.setattr(environment, "can_make_environments", lambda: False)
    monkeypatch.setattr(environment.sys, "executable", "/usr/bin/python3.99")
    monkeypatch.setattr(scripts.machine, "family", lambda: "debian")
    monkeypatch.setattr(scripts.machine, "can_install", lambda: False)
    monkeypatch.setattr(scripts.machine, "is_root", lambda: False)
    monkeypatch.setattr(scripts.machine, "_apt_has_lists", lambda: True)
    with pytest.raises(scripts.trouble.Trouble) as caught:
        environment.need_venv_module(None)
    assert str(caught.value) == (
        "This Python (/usr/bin/python3.99) can't make a private environment; "
        f"run `sudo apt-get install -y python{VERSION}-venv`, then `{started}`."
    )


def test_stray_settings_do_not_reach_the_environment(scripts, monkeypatch):
    monkeypatch.setenv("PYTHONPATH", "/elsewhere")
    monkeypatch.setenv("PIP_TARGET", "/elsewhere")
    monkeypatch.setenv("LC_ALL", "C")
    monkeypatch.setattr(scripts.environment.sys, "platform", "linux")
    environ = scripts.environment.clean_environment()
    assert not {"PYTHONPATH", "PIP_TARGET"} & set(environ)
    assert environ["LC_ALL"] == "C.UTF-8"
    monkeypatch.setenv("LC_ALL", "de_DE.UTF-8")
    assert scripts.environment.clean_environment()["LC_ALL"] == "de_DE.UTF-8"
