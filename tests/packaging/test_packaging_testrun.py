"""The test run sums up what it ran, and fails when anything did."""

import sys
from types import SimpleNamespace

import pytest

REPORT = """\
<?xml version="1.0" encoding="utf-8"?>
<testsuites><testsuite name="pytest" errors="1" failures="2" skipped="3" tests="20" time="1"></testsuite></testsuites>
"""


def test_counting_a_report(scripts, tmp_path):
    path = tmp_path / "report.xml"
    path.write_text(REPORT)
    assert scripts.test.read_report(path) == {"passed": 14, "failed": 3, "skipped": 3}


def test_a_missing_or_broken_report_counts_nothing(scripts, tmp_path):
    nothing = {"passed": 0, "failed": 0, "skipped": 0}
    assert scripts.test.read_report(tmp_path / "none.xml") == nothing
    (tmp_path / "cut.xml").write_text(REPORT[:60])
    assert scripts.test.read_report(tmp_path / "cut.xml") == nothing


@pytest.fixture
def run(scripts, monkeypatch, capsys):
    """Runs test() with stand-ins for the set-up and the steps; gives status, output, pytest's arguments."""

    def go(arguments=(), checks=True, smoke=True, pytest_status=0, counts=(5, 0, 1), lacking=None):
        given = []
        ran = []

        def step(name, passed):
            def one(environment, environ):
                ran.append(name)
                return [(name, passed)]

            return one

        def run_pytest(environment, environ, words):
            given.extend(words)
            return pytest_status, dict(zip(("passed", "failed", "skipped"), counts, strict=True))

        class Environment:
            def prepare(self, kind):
                assert kind == "test"

        stand_in = SimpleNamespace(Environment=Environment, clean_environment=dict)
        monkeypatch.setitem(sys.modules, "environment", stand_in)
        monkeypatch.setattr(scripts.test, "run_checks", step("ruff check", checks))
        monkeypatch.setattr(scripts.test, "run_smoke", step("installed tool", smoke))
        monkeypatch.setattr(scripts.test, "run_pytest", run_pytest)
        monkeypatch.setattr(scripts.test, "window_tests", lambda environment: lacking)
        status = scripts.test.test(list(arguments))
        return SimpleNamespace(status=status, lines=capsys.readouterr().out.splitlines(), given=given, ran=ran)

    return go


def test_all_well(run):
    done = run()
    assert done.status == 0
    assert done.lines[-1] == "7 passed, 0 failed, 1 skipped"
    assert done.ran == ["ruff check", "installed tool"]


@pytest.mark.parametrize(
    ("trouble", "last"),
    [
        ({"checks": False}, "6 passed, 1 failed, 1 skipped"),
        ({"smoke": False}, "6 passed, 1 failed, 1 skipped"),
        ({"pytest_status": 1, "counts": (4, 1, 1)}, "6 passed, 1 failed, 1 skipped"),
        ({"pytest_status": 5, "counts": (0, 0, 0)}, "2 passed, 1 failed, 0 skipped"),
    ],
)
def test_any_failure_fails_the_run_and_the_rest_still_runs(run, trouble, last):
    done = run(**trouble)
    assert done.status == 1
    assert done.lines[-1] == last
    assert done.ran == ["ruff check", "installed tool"]
    assert any(line.endswith("FAILED") for line in done.lines)


def test_arguments_go_to_pytest_alone(run):
    done = run(["-k", "cup"])
    assert (done.ran, done.given) == ([], ["-k", "cup"])


def test_window_tests_that_cannot_run_are_left_out_in_plain_sight(run):
    done = run(lacking="The window tests are left out: run `this`.")
    assert done.given == ["-m", "not e2e", "--numprocesses=auto", "--dist=worksteal"]
    assert done.lines[-2] == "The window tests are left out: run `this`."
    assert done.status == 0
