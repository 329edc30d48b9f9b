"""What the scenarios in a real window share: a screen that only they see."""

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from e2e.hands import Bench


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    reader, writer = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writer), "-screen", "0", "1280x720x24", "-nolisten", "tcp"],
        pass_fds=[writer], stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(writer)
    with os.fdopen(reader) as told:
        display = f":{told.readline().strip()}"
    made = Bench(tmp_path, display)
    try:
        yield made
    finally:
        if made.process is not None and made.process.poll() is None:
            made.process.kill()
            made.process.wait()
        server.terminate()
        server.wait()
