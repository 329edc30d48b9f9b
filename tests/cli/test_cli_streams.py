"""What goes wrong around a command: closed pipes, full disks, Ctrl+C, narrow encodings, help; and the real program."""

import importlib.util
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from cli.asking import MEASURES, START, TABLES, ask

from benchtool.cli import COMMANDS, run

ROOT = Path(__file__).parents[2]
MIX = ["mix", "--ratio", "4:1", "--make", "50mL"]
needs_app = pytest.mark.skipif(importlib.util.find_spec("benchtool.app") is None, reason="there is no app.py yet")


def into(out, *argv, err=None):
    """Run a command that writes to `out`; give its status and what it said on standard error."""
    err = err if err is not None else io.StringIO()
    status = run(
        argv,
        now=lambda: START,
        tables=lambda: TABLES,
        measures=lambda: MEASURES,
        open_job=lambda name: (_ for _ in ()).throw(KeyboardInterrupt),
        out=out,
        err=err,
    )
    return status, err


@pytest.mark.parametrize(("poured", "status"), [([], 0), (["--poured", "base=40mL", "--poured", "activator=20mL"], 1)])
def test_a_reader_that_has_had_enough(poured, status):
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "w") as out:
        got, err = into(out, *MIX, *poured)
        out.write("what Python flushes at its end")  # must not break either
    assert (got, err.getvalue()) == (status, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_a_disk_that_is_full():
    with Path("/dev/full").open("w") as out:
        status, err = into(out, *MIX)
        out.write("what Python flushes at its end")
    assert status == 2
    assert len(err.getvalue().splitlines()) == 1
    assert "can't be written" in err.getvalue()


def test_no_standard_error_is_no_trouble_either():
    gone = io.StringIO()
    gone.close()
    assert into(io.StringIO(), "mix", err=gone)[0] == 2


def test_ctrl_c():
    """130 is 128 and the number of SIGINT, as a shell gives it (POSIX: above 128; common practice: 128 + n)."""
    out = io.StringIO()
    status, err = into(out, "check", "tank.job")
    assert (status, out.getvalue(), err.getvalue()) == (130, "", "")


def test_a_narrow_encoding():
    raw = io.BytesIO()
    out = io.TextIOWrapper(raw, encoding="ascii")
    status, err = into(out, "mix", "--part", "Größe=4", "--make", "50mL")
    assert (status, err.getvalue()) == (0, "")
    assert b"Gr??e" in raw.getvalue()
    told = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    assert into(io.StringIO(), "mix", "--part", "Größe", err=told)[0] == 2
    assert b"Gr??e" in told.buffer.getvalue()


@pytest.mark.parametrize(
    "argv", [["--help"], ["-h"], ["mix", "--json", "-h"], *([c, "--help"] for c in sorted(COMMANDS))]
)
def test_help_helps(argv):
    said = ask(*argv)
    assert said.status == 0
    assert "usage: benchtool" in said.out
    assert "\x1b" not in said.out
    for command in COMMANDS if len(argv) == 1 else ():
        assert f"\n    {command} " in said.out


@pytest.mark.parametrize("argv", [["mark", ">PP<"], ["identify"], ["rules", "recoat"]])
@pytest.mark.parametrize("more", [[], ["--json"]])
def test_an_answer_ends_its_last_line(argv, more):
    said = ask(*argv, *more)
    assert said.status in (0, 1)
    assert said.out.endswith("\n")
    assert not said.out.endswith("\n\n")


@pytest.mark.parametrize("argv", [[], ["polish"], ["--json"], ["check"], ["check", "a", "b"], ["check", "--at"], [""]])
def test_a_line_without_a_command_is_one_line(argv):
    said = ask(*argv)
    assert said.status == 2
    assert "--help" in said.err
    assert "usage" not in said.err


def test_the_commands_are_known_before_anything_heavy_is_loaded():
    code = (
        "import sys, benchtool.cli as cli; print(sorted(cli.COMMANDS)); "
        "heavy = ('argparse', 'PySide6', 'msgspec', 'pint', 'benchtool.job', 'benchtool.trade'); "
        "print([m for m in heavy if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == [str(sorted(COMMANDS)), "[]"]


@needs_app
class TestTheProgram:
    def start(self, *argv, **options):
        return subprocess.run(
            [sys.executable, "-m", "benchtool", *argv], cwd=ROOT, capture_output=True, text=True, timeout=60, **options
        )

    def test_answers_a_script(self):
        recipe = ["--part", "base=100", "--part", "activator=2%base", "--part", "reducer=1xactivated"]
        poured = ["--poured", "base=1floz", "--poured", "activator=1mL"]
        done = self.start("mix", *recipe, "--make", "30mL", *poured, "--json")
        values = json.loads(done.stdout)
        assert (done.returncode, done.stderr) == (1, "")
        assert values["parts"][1]["off_percent"] == pytest.approx(69.07, abs=5e-3)
        assert values["parts"][0]["add_mL"] == pytest.approx(20.43, abs=5e-3)

    def test_refuses_in_one_line(self):
        done = self.start("mix", "--part", "base")
        assert (done.returncode, done.stdout) == (2, "")
        assert len(done.stderr.splitlines()) == 1

    @pytest.mark.parametrize(
        ("argv", "key", "value"),
        [
            (["size", "--area", "1.5m2", "--dry", "25um", "--solids", "30", "--transfer", "50"], "paint_mL", 250),
            (["flow", "Ford 4", "30"], "viscosity_mm2_s", 98.21),
            (["convert", "1 imperial fl oz", "mL"], "value", 28.413),
        ],
    )
    def test_answers_each_sum(self, argv, key, value):
        done = self.start(*argv, "--json")
        assert (done.returncode, done.stderr) == (0, "")
        assert json.loads(done.stdout)[key] == pytest.approx(value, rel=1e-4)

    def test_reads_standard_input(self):
        parts = json.dumps([{"volume": 1000, "voc": 500}, {"volume": 1000, "voc": 0, "water": 998.2}])
        done = self.start("voc", "-", "--limit", "420", "--json", input=parts)
        assert (done.returncode, done.stderr) == (1, "")
        assert json.loads(done.stdout)["regulatory_g_per_L"] == pytest.approx(500)

    @pytest.mark.skipif(sys.platform != "linux", reason="the folder of a person's data is named by XDG on Linux")
    def test_takes_the_painters_own_tools(self, tmp_path):
        env = {**os.environ, "XDG_DATA_HOME": str(tmp_path)}
        done = self.start("mix", *MIX[1:], "--tools", "shop", "--json", env=env)
        assert (done.returncode, done.stderr) == (0, "")
        assert json.loads(done.stdout)["parts"][0]["tool"]
        (tmp_path / "benchtool").mkdir(exist_ok=True)
        (tmp_path / "benchtool" / "shop.json").write_text("{", encoding="utf-8")
        done = self.start("mix", *MIX[1:], "--tools", "shop", env=env)
        assert (done.returncode, done.stdout) == (2, "")
        assert len(done.stderr.splitlines()) == 1
        assert "shop.json" in done.stderr

    def test_checks_the_demo(self):
        done = self.start("check", "demo", "--json")
        assert done.returncode in (0, 1)
        assert json.loads(done.stdout)["demo"] is True
        assert done.stderr == ""

    def test_says_what_is_wrong_with_a_missing_file(self, tmp_path):
        done = self.start("check", str(tmp_path / "none.job"))
        assert (done.returncode, done.stdout) == (2, "")
        assert len(done.stderr.splitlines()) == 1

    @pytest.mark.skipif(os.name != "posix", reason="the pipe of a POSIX shell")
    def test_is_quiet_when_its_reader_leaves(self):
        reading, writing = os.pipe()
        os.close(reading)
        with os.fdopen(writing, "w") as out:
            done = subprocess.run(
                [sys.executable, "-m", "benchtool", *MIX, "--json"],
                cwd=ROOT, stdout=out, stderr=subprocess.PIPE, text=True, timeout=60,
            )  # fmt: skip
        assert (done.returncode, done.stderr) == (0, "")
