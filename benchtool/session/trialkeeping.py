"""Keeps what is half set up of a trial: of each job, and of each trial in it; of a new one on disk as well."""

from dataclasses import replace
from pathlib import Path

from benchtool.session import trialsetup
from benchtool.session.document import Document
from benchtool.session.session import Session
from benchtool.session.trialdrafts import TrialDrafts
from benchtool.session.trialkinds import Setup

_Key = tuple[Path, str]


class SetupKeeper:
    """The set-ups that are not written yet, by the file of the job and the trial; `""` is the one that is new.

    Of a trial that was changed in the job meanwhile, only what can still be changed of it is kept.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self._kept: dict[_Key, tuple[Setup, Setup]] = {}
        self._fresh: dict[_Key, Setup] = {}
        self._written: dict[Path, tuple[str, Setup]] = {}
        self.drafts = TrialDrafts(session.drafts().file) if session.drafts is not None else None

    def take_up(self, trial: str | None) -> Setup:
        """Give the set-up of this trial of the job in hand, or of a new one: as it was left, else as the job has it.

        A new one that was set up and undone is there again.

        Raises:
            NotNow: no job is open, it is read-only, or the trial can't be changed any more.
        """
        document = self.session.writable()
        state = document.state
        key = document.path, trial or ""
        if trial is not None and trial in state.trials:
            fresh = trialsetup.begin_from(self.session, state.trials[trial])
            begun_as, kept = self._kept.pop(key, (fresh, fresh))
            self._fresh[key] = fresh
            if begun_as == fresh or kept == begun_as:
                return kept if begun_as == fresh else fresh
            return _carried(kept, fresh)
        key = document.path, ""
        undone = self._written.get(document.path)
        if undone is not None and undone[0] not in state.trials:
            del self._written[document.path]
            self._fresh[key] = Setup()  # it is not written: it counts as typed
            return replace(undone[1], first=trialsetup.first_free(state))
        fresh = trialsetup.begin(self.session, self.session.piece)
        on_disk = self.drafts.find(document.job.id) if self.drafts is not None and key not in self._kept else None
        begun_as, kept = self._kept.pop(key, (fresh, on_disk or fresh))
        self._fresh[key] = fresh
        gone = kept.piece is not None and kept.piece not in state.pieces
        if kept == begun_as:
            return fresh
        kept = replace(kept, first=fresh.first)
        return replace(kept, piece=None) if gone else kept

    def keep(self, document: Document | None, setup: Setup) -> None:
        """Keep a set-up of this job that is left, if anything in it is the painter's."""
        if document is None:
            return
        key = document.path, setup.trial or ""
        if self.typed(document, setup):
            self._kept[key] = self._fresh[key], setup
        else:
            self._kept.pop(key, None)

    def save(self, document: Document | None, setup: Setup) -> None:
        """Keep a new set-up on disk as well, if anything in it is the painter's; else nothing is kept of it there."""
        if self.drafts is None or document is None or setup.trial is not None:
            return
        if self.typed(document, setup):
            self.drafts.keep(document.job.id, setup)
        else:
            self.drafts.forget(document.job.id)

    def written(self, document: Document, setup: Setup, trial: str | None) -> None:
        """A set-up was written into the job as this trial; an undo brings a new one back."""
        self._kept.pop((document.path, setup.trial or ""), None)
        if setup.trial is None and self.drafts is not None:
            self.drafts.forget(document.job.id)
        if setup.trial is None and trial is not None:
            self._written[document.path] = trial, setup

    def typed(self, document: Document | None, setup: Setup) -> bool:
        """Say whether anything in this set-up is the painter's."""
        fresh = self._fresh.get((document.path, setup.trial or "")) if document is not None else None
        return fresh is not None and setup != fresh

    def waits(self) -> tuple[Document, str | None] | None:
        """Say of which open job and trial (None: a new one) something is half set up, None where nothing is."""
        open_ = {d.path: d for d in self.session.documents}
        return next(((open_[path], trial or None) for path, trial in self._kept if path in open_), None)


def _carried(kept: Setup, fresh: Setup) -> Setup:
    """Carry what was typed over to the trial as the job has it now."""
    return replace(fresh, name=kept.name, methods=kept.methods, rest=kept.rest, ageing=kept.ageing, note=kept.note)
