"""What must hold before anything is installed: old Pythons, only the standard library, the right way in."""

import ast
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

FOLDER = Path(__file__).parents[2] / "packaging"
NAMES = {"environment", "files", "lock", "machine", "start", "test", "trouble", "window"}
SCRIPTS = [FOLDER / f"{name}.py" for name in sorted(NAMES)]


def imported(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_an_old_python_can_read_it(path):
    tree = ast.parse(path.read_text(encoding="utf-8"), feature_version=(3, 6))
    assert "__future__" not in list(imported(tree))
    annotated = [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.AnnAssign | ast.arg) and node.annotation is not None
    ]
    assert annotated == [], "an annotation may name what an old Python lacks"


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_it_needs_nothing_but_the_standard_library(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    foreign = {name.partition(".")[0] for name in imported(tree)} - sys.stdlib_module_names - NAMES
    assert foreign == set()


@pytest.mark.parametrize("name", ["start.py", "test.py", "lock.py"])
def test_the_version_is_checked_before_anything_newer_is_imported(name):
    tree = ast.parse((FOLDER / name).read_text(encoding="utf-8"))
    top = {module for node in tree.body for module in imported(node) if isinstance(node, ast.ImportFrom | ast.Import)}
    assert top & NAMES == {"trouble"}


@pytest.mark.parametrize("version", [(3, 6, 15), (3, 10, 13)])
def test_an_old_python_is_told_which_command_to_use(scripts, started, monkeypatch, version):
    monkeypatch.setattr(scripts.trouble, "newer_pythons", lambda: iter(["python3.12"]))
    with pytest.raises(scripts.trouble.Trouble) as caught:
        scripts.trouble.check_python(version)
    assert str(caught.value) == (
        f"This needs Python 3.11 or newer and this is Python {'.'.join(map(str, version))}; "
        "run `python3.12 packaging/start.py 'my job.json'`."
    )


def test_without_a_newer_python_the_sentence_says_how_to_get_one(scripts, started, monkeypatch):
    monkeypatch.setattr(scripts.trouble, "newer_pythons", lambda: iter([]))
    monkeypatch.setattr(scripts.trouble.shutil, "which", lambda name: "/usr/bin/apt-get" if name == "apt-get" else None)
    monkeypatch.setattr(scripts.trouble, "_apt_knows", lambda name: name == "python3.11")
    monkeypatch.setattr(scripts.trouble, "is_root", lambda: False)
    monkeypatch.setattr(scripts.trouble.sys, "platform", "linux")
    assert scripts.trouble.how_to_get_python() == (
        "run `sudo apt-get install python3.11 python3.11-venv`, then `python3.11 packaging/start.py 'my job.json'`."
    )


def test_this_python_is_new_enough(scripts):
    scripts.trouble.check_python((3, 11, 0))
    scripts.trouble.check_python()


@pytest.mark.parametrize(
    ("arguments", "window"),
    [
        ([], True),
        (["demo"], True),
        (["job.json"], True),
        (["jobs/tank"], True),
        (["/home/anna/Größe 1/job"], True),
        (["check", "job.json"], False),
        (["mix", "--part", "base=100"], False),
        (["--help"], False),
        (["--version"], False),
    ],
)
def test_what_opens_the_window(scripts, arguments, window):
    assert scripts.start.opens_window(arguments) is window


@pytest.fixture
def begin(scripts, monkeypatch):
    """Runs start() with a stand-in for the set-up; gives what was handed to the tool, and what was looked at."""

    def run(arguments, reason):
        done = SimpleNamespace(prepared=[], looked=False, handed=None)

        class Environment:
            python = "the python"

            def prepare(self, kind):
                done.prepared.append(kind)

        class Window:
            def __init__(self, environment):
                pass

            def check(self):
                done.looked = True

        clean = scripts.environment.clean_environment
        stand_in = SimpleNamespace(Environment=Environment, clean_environment=clean)
        monkeypatch.setitem(sys.modules, "environment", stand_in)
        monkeypatch.setitem(sys.modules, "window", SimpleNamespace(Window=Window))
        monkeypatch.setitem(sys.modules, "machine", SimpleNamespace(no_screen=lambda: reason))

        def hand_over(python, given, _environ):
            done.handed = given
            return 1

        monkeypatch.setattr(scripts.start, "hand_over", hand_over)
        assert scripts.start.main(arguments) == 1, "the tool's exit status comes back"
        assert done.prepared == ["run"]
        return done

    return run


@pytest.mark.parametrize(("arguments", "handed"), [([], []), (["a.json"], ["a.json"])])
def test_with_a_screen_the_window_opens(begin, capsys, arguments, handed):
    done = begin(arguments, None)
    assert (done.handed, done.looked) == (handed, True)
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(("arguments", "handed"), [([], ["check", "demo"]), (["a.json"], ["check", "a.json"])])
def test_without_a_screen_the_job_comes_as_text(begin, capsys, arguments, handed):
    done = begin(arguments, "There is no screen here")
    assert (done.handed, done.looked) == (handed, False)
    assert capsys.readouterr() == ("", "There is no screen here, so here is the job as text.\n")


def test_a_command_needs_no_screen(begin, capsys):
    done = begin(["mix", "--part", "base=100"], "There is no screen here")
    assert (done.handed, done.looked) == (["mix", "--part", "base=100"], False)
    assert capsys.readouterr().err == ""


def test_trouble_is_one_sentence_and_its_own_exit_status(scripts, monkeypatch, capsys):
    def fail(arguments):
        raise scripts.trouble.Trouble("It does not work: run `this`.")

    monkeypatch.setattr(scripts.start, "start", fail)
    assert scripts.start.main([]) == 3
    assert capsys.readouterr() == ("", "It does not work: run `this`.\n")


def test_words_reach_a_terminal_that_lacks_the_letters(scripts):
    class Narrow:
        text = ""

        def write(self, text):
            text.encode("ascii")
            self.text += text

        def flush(self):
            pass

    terminal = Narrow()
    scripts.trouble.say("cd 'Größe 1'", terminal)
    assert terminal.text.endswith("cd 'Gr\\xf6\\xdfe 1'\n")
