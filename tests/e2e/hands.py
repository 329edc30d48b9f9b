"""A running bench in a window of its own, and the hands that work it by real keys and the mouse."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

DRIVER = Path(__file__).with_name("driver.py")
ROOT = Path(__file__).parents[2]

MARKS = [
    pytest.mark.e2e,
    pytest.mark.skipif(
        shutil.which("Xvfb") is None or shutil.which("xdotool") is None,
        reason="needs Xvfb and xdotool: sudo apt-get install -y xvfb xdotool",
    ),
]


class Bench:
    """A running bench, and the hands that work it."""

    def __init__(self, folder: Path, display: str) -> None:
        self.folder, self.display = folder, display
        self.process: subprocess.Popen[bytes] | None = None
        self.offset = 0.0

    @property
    def environment(self) -> dict[str, str]:
        env = {k: v for k, v in os.environ.items() if not k.startswith("QT_") and k != "WAYLAND_DISPLAY"}
        return env | {"DISPLAY": self.display, "QT_QPA_PLATFORM": "xcb", "PYTHONPATH": str(ROOT), "LC_ALL": "C.UTF-8"}

    def start(self, job: str = "", sees: str = "piece-trim") -> None:
        (self.folder / "screen.json").unlink(missing_ok=True)
        command = [sys.executable, str(DRIVER), str(self.folder), *([job] if job else [])]
        with (self.folder / "log").open("ab") as log:
            self.process = subprocess.Popen(command, env=self.environment, stdout=log, stderr=log, cwd=self.folder)
        self.wait(lambda s: sees in s["widgets"], "the window")
        self.xdo("windowfocus", str(self.screen()["window"]))

    def kill(self) -> None:
        assert self.process is not None
        os.kill(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def xdo(self, *words: str) -> None:
        subprocess.run(["xdotool", *words], env=self.environment, check=True, timeout=20, capture_output=True)

    def screen(self) -> dict[str, Any]:
        try:
            return dict(json.loads((self.folder / "screen.json").read_text()))
        except (OSError, ValueError):
            return {"widgets": {}, "findings": [], "due": [], "coats": [], "waiver": ""}

    def wait(self, until: Callable[[dict[str, Any]], Any], what: str) -> dict[str, Any]:
        end = time.monotonic() + 30
        while time.monotonic() < end:
            screen = self.screen()
            if until(screen):
                return screen
            if self.process is not None and self.process.poll() is not None:
                break
            time.sleep(0.05)
        log = (self.folder / "log").read_text(errors="replace")
        pytest.fail(f"waited in vain for {what}.\n{log[-2000:]}\n{json.dumps(self.screen(), indent=1)[:6000]}")

    def click(self, name: str) -> None:
        place = self.wait(lambda s: name in s["widgets"], name)["widgets"][name]
        self.xdo("mousemove", str(place["x"]), str(place["y"]), "click", "1")

    def key(self, *keys: str) -> None:
        self.xdo("key", *keys)

    def type(self, text: str) -> None:
        self.xdo("type", "--delay", "15", text)
        self.key("Return")

    def answer_dialog(self, text: str) -> None:
        """Type into the dialog that is open: there is no window manager that would give it the keyboard."""
        dialogs = self.wait(lambda s: s.get("dialogs"), "a dialog")["dialogs"]
        self.xdo("windowfocus", str(next(iter(dialogs.values()))))
        self.type(text)
        self.wait(lambda s: not s.get("dialogs"), "the dialog to go")
        self.xdo("windowfocus", str(self.screen()["window"]))

    def clock_on(self, seconds: float) -> None:
        self.offset += seconds
        draft = self.folder / "offset.tmp"
        draft.write_text(str(self.offset))
        draft.replace(self.folder / "offset")
