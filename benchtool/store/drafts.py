"""What was half typed when the window ended: one small file of drafts, by what each is about."""

import json
import logging
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from benchtool.store import atomic
from benchtool.store.files import read_file

FORMAT = "bench drafts"
NAME = "drafts.json"
LARGEST = 8 * 1024 * 1024
"""Bytes that no such file reaches: a full card as typed is some 10 kB (judgement, no source)."""
MOST = 100
"""Drafts kept; the oldest goes first (judgement, no source)."""

log = logging.getLogger("benchtool")


class DraftFile:
    """The file in `folder`. Nothing here raises: what can't be read is set aside, what can't be written is logged.

    It is read anew before each write, so that two windows do not forget each other's drafts.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / NAME

    def read(self) -> dict[str, Any]:
        """Give the drafts as plain values, the newest last; none where there is no file or it can't be read."""
        return self._read() or {}

    def _read(self) -> dict[str, Any] | None:
        """Give the drafts; None where there is something else in their place."""
        try:
            told = json.loads(read_file(self.path, LARGEST))
        except FileNotFoundError:
            return {}
        except (OSError, ValueError, RecursionError) as fault:
            log.warning("the drafts in %s can't be read: %s", self.path, fault)
            return None
        drafts = told.get("drafts") if isinstance(told, dict) and told.get("format") == FORMAT else None
        return dict(drafts) if isinstance(drafts, dict) else None

    def put(self, about: str, draft: Mapping[str, Any]) -> bool:
        """Keep a draft in place of the one of this name; gives whether the disk took it."""
        drafts = self._read()
        if drafts is None:
            self._set_aside()
            drafts = {}
        drafts.pop(about, None)
        return self._write({**dict(list(drafts.items())[-(MOST - 1) :]), about: draft})

    def drop(self, about: str) -> None:
        """Forget a draft; the file goes with its last one."""
        drafts = self.read()
        if about not in drafts:
            return
        del drafts[about]
        if drafts:
            self._write(drafts)
            return
        try:
            self.path.unlink(missing_ok=True)
        except OSError:
            self._write(drafts)

    def _set_aside(self) -> None:
        """What can't be read is moved aside, not written over: it may hold somebody's work."""
        with suppress(OSError):
            self.path.replace(self.path.with_name(f"{NAME}.broken"))

    def _write(self, drafts: Mapping[str, Any]) -> bool:
        # Plain letters only: so even half a character that was pasted goes there and back.
        data = json.dumps({"format": FORMAT, "drafts": drafts}, indent=1).encode("ascii")
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            atomic.write(self.path, data, keep=0)
        except (OSError, ValueError) as fault:
            log.warning("the drafts can't be kept in %s: %s", self.path, fault)
            return False
        return True
