"""Run everything that must hold: `python3 packaging/test.py [PYTEST ARGUMENTS]`.

Sets up the same private environment as start.py, with the test tools of packaging/lock/test.txt, then runs
the linters, the type checker, the import contract, the installed tool from another folder, and the tests on
the working copy. With arguments only pytest runs, with those. The exit status is 0 only if all passed.
"""

import os
import subprocess
import sys
import tempfile

from trouble import EXIT_TROUBLE, Trouble, check_python, say

LINT_IMPORTS = "import sys; from importlinter.cli import lint_imports_command as run; sys.exit(run())"

CHECKS = [
    ("ruff check", ["-m", "ruff", "check", "."]),
    ("ruff format", ["-m", "ruff", "format", "--check", "."]),
    ("mypy", ["-m", "mypy"]),
    ("import contract", ["-c", LINT_IMPORTS]),
]

# What the installed tool must answer from anywhere: arguments, accepted statuses, words in the answer.
SMOKE = [
    # An imperial gallon is 4.54609 L (Weights and Measures Act 1985), a fluid ounce its 160th part.
    (["mix", "--ratio", "4:1:1", "--make", "1 imperial fl oz", "--json"], (0,), "28.41"),
    (["check", "demo", "--json"], (0, 1), '"windows"'),  # a demo job may well hold a finding
]


def out(words):
    """Print where the tests' own output goes."""
    say(words, sys.stdout)


def run_checks(environment, environ):
    """Run each linter from the checkout; a list of (name, passed)."""
    results = []
    for name, command in CHECKS:
        out("== " + name)
        status = subprocess.call([environment.python, *command], cwd=environment.root, env=environ)
        results.append((name, status == 0))
    return results


def run_smoke(environment, environ):
    """Ask the installed tool, away from the checkout; a list of (name, passed)."""
    results = []
    with tempfile.TemporaryDirectory() as elsewhere:
        for arguments, statuses, words in SMOKE:
            name = "installed tool: " + arguments[0]
            out("== " + name)
            done = subprocess.run(
                [environment.python, "-P", "-m", "benchtool", *arguments],
                cwd=elsewhere,
                env=environ,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                encoding="utf-8",
                errors="replace",
                check=False,
            )
            passed = done.returncode in statuses and words in done.stdout
            if not passed:
                out("exit status %d, and it said:\n%s" % (done.returncode, done.stdout.rstrip()))
            results.append((name, passed))
    return results


ON_ALL_CORES = ("--numprocesses=auto", "--dist=worksteal")
"""Everything would take a quarter of an hour on one core."""


def run_pytest(environment, environ, arguments):
    """Run the tests on the working copy; (exit status, {"passed": n, "failed": n, "skipped": n})."""
    out("== pytest")
    with tempfile.TemporaryDirectory() as folder:
        report = os.path.join(folder, "report.xml")
        command = [environment.python, "-m", "pytest", "--junitxml=" + report, *arguments]
        status = subprocess.call(command, cwd=environment.root, env=environ)
        return status, read_report(report)


def read_report(path):
    """Count the outcomes in a JUnit report; a missing one counts nothing."""
    from xml.etree import ElementTree

    counts = {"passed": 0, "failed": 0, "skipped": 0}
    try:
        suites = ElementTree.parse(path).getroot().iter("testsuite")
    except (OSError, ElementTree.ParseError):
        return counts
    for suite in suites:
        failed = int(suite.get("failures", 0)) + int(suite.get("errors", 0))
        skipped = int(suite.get("skipped", 0))
        counts["failed"] += failed
        counts["skipped"] += skipped
        counts["passed"] += int(suite.get("tests", 0)) - failed - skipped
    return counts


def window_tests(environment):
    """Whether the tests with a real window can run; installs what they need where that is allowed.

    Gives None, or the sentence that says why they are left out.
    """
    import machine
    from window import Window

    if not sys.platform.startswith("linux"):
        return "The window tests need a virtual X screen, so they are left out on this system."
    window = Window(environment)

    def lacking():
        return window.missing(["xcb"])[0] | machine.missing_programs(["Xvfb", "xdotool"])

    missing = lacking()
    if missing and machine.can_install():
        machine.install(machine.packages(missing, "debian"), environment.log)
        missing = lacking()
    if missing:
        return "The window tests are left out: " + machine.missing_sentence(missing, "a virtual screen")
    return None


def test(arguments):
    """Set up, run everything, sum up."""
    check_python()
    from environment import Environment, clean_environment

    environment = Environment()
    environment.prepare("test")
    without_window = window_tests(environment)
    environ = clean_environment()
    environ["PYTHONUNBUFFERED"] = "1"
    results = []
    if not arguments:
        results = run_checks(environment, environ) + run_smoke(environment, environ)
        arguments = [*ON_ALL_CORES]
    if without_window:
        out(without_window)
        arguments = ["-m", "not e2e", *arguments]
    status, counts = run_pytest(environment, environ, arguments)
    if status != 0 and counts["failed"] == 0:
        counts["failed"] = 1  # pytest itself failed, or found no test
    out("== in short")
    for name, passed in results:
        out("%s: %s" % (name, "passed" if passed else "FAILED"))
        counts["passed" if passed else "failed"] += 1
    out("pytest: %s" % ("passed" if status == 0 else "FAILED"))
    if without_window:
        out(without_window)
    out("%(passed)d passed, %(failed)d failed, %(skipped)d skipped" % counts)
    return 0 if counts["failed"] == 0 else 1


def main(arguments):
    """The exit status of a test run."""
    try:
        return test(arguments)
    except Trouble as trouble:
        say(str(trouble))
        return EXIT_TROUBLE
    except KeyboardInterrupt:
        say("Stopped.")
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
