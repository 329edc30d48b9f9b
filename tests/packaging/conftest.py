"""The start scripts as modules, imported from their path as they are no part of the package."""

import importlib
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

FOLDER = Path(__file__).parents[2] / "packaging"
NAMES = ("trouble", "files", "machine", "environment", "window", "start", "test", "lock")


@pytest.fixture(scope="session")
def scripts():
    """Every script by name; the names themselves don't stay importable, as one hides a standard module."""
    kept = {name: sys.modules.pop(name) for name in NAMES if name in sys.modules}
    sys.path.insert(0, str(FOLDER))
    try:
        return SimpleNamespace(**{name: importlib.import_module(name) for name in NAMES})
    finally:
        sys.path.remove(str(FOLDER))
        for name in NAMES:
            sys.modules.pop(name, None)
        sys.modules.update(kept)


@pytest.fixture
def started(monkeypatch):
    """The command line that the sentences repeat."""
    monkeypatch.setattr(sys, "argv", ["packaging/start.py", "my job.json"])
    monkeypatch.setattr(sys, "orig_argv", ["python3", *sys.argv])
    return "python3 packaging/start.py 'my job.json'"
