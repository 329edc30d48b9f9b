"""The file of a printed plan: written whole or not at all, over nothing but an earlier plan."""

from datetime import datetime
from pathlib import Path

from benchtool.session.ownfile import file_stem, save_own
from benchtool.store.faults import SaveFault
from benchtool.trade.saying import say

__all__ = ["CREATOR", "SUFFIX", "SaveFault", "save_plan", "suggested_name"]

CREATOR = "Plan of a paint shop"
"""Stands in each file, so that no other file is written over."""
SUFFIX = ".pdf"
_MARK = CREATOR.encode("utf-16-be")
"""As such a file writes it down among its first lines."""
_HEAD = 8_192


def save_plan(path: Path, data: bytes) -> None:
    """Write the plan, atomically and durably (see `store.atomic`), over nothing but an earlier plan.

    Raises:
        SaveFault: it was not written; the message says why and what to do.
    """
    save_own(path, data, lambda head: head.startswith(b"%PDF") and _MARK in head, _HEAD)


def suggested_name(at: datetime) -> str:
    """Suggest a file name that every system takes: `Plan 2026-03-16.pdf`, by the day here."""
    return f"{file_stem(say('Plan'))} {at.astimezone().date().isoformat()}{SUFFIX}"
