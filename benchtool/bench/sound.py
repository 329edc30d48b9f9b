"""Sounds and speech. Both are luxuries: with no sound device the words on the screen do the work."""

import logging
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QLoggingCategory, QObject, QTimer, QUrl
from PySide6.QtWidgets import QApplication

from benchtool.session.alarms import Call, Ring

if TYPE_CHECKING:
    from PySide6.QtMultimedia import QSoundEffect
    from PySide6.QtTextToSpeech import QTextToSpeech

log = logging.getLogger(__name__)

SOUND_LASTS_MS = 1_000
"""The longest of the three sounds, with the moment a device needs to begin."""

STILL_SOUNDS_MS = 200
MOST_WAITS = 10
"""So often the words wait another while for a sound that has not ended; then they are spoken all the same."""


class Voice(QObject):
    """Rings, and speaks once the sound is over.

    The multimedia parts are loaded at the first use, well after the first paint. Whatever fails here is left out from
    then on, and `missing` says so where a painter should know.
    """

    def __init__(self, sounds: Path, *, volume: float = 0.8, speak: bool = True, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._sounds = sounds
        self._volume = volume
        self._speak = speak
        self._effects: dict[Call, QSoundEffect] | None = None
        self._speech: QTextToSpeech | None = None
        self._playing: QSoundEffect | None = None
        self._words = ""
        self._waits = 0
        self.missing = ""
        self._pause = QTimer(self)
        self._pause.setObjectName("before-speech")
        self._pause.setSingleShot(True)
        self._pause.timeout.connect(self._say)

    def ring(self, ring: Ring) -> None:
        """Sound this call and speak its words, as far as the machine can."""
        if self._effects is None:
            self._load()
        self.hush()
        effect = self._playing = (self._effects or {}).get(ring.call)
        if effect is not None:
            effect.play()
        else:
            QApplication.beep()
        if self._speech is not None:
            self._words, self._waits = ring.words, MOST_WAITS
            self._pause.start(SOUND_LASTS_MS)

    def say(self, words: str) -> None:
        """Speak these words, without a sound before them."""
        if self._effects is None:
            self._load()
        if self._speech is not None:
            self.hush()
            self._words = words
            self._say()

    def hush(self) -> None:
        """Be silent at once: the painter has heard it, or silenced it."""
        self._pause.stop()
        self._words = ""
        if self._playing is not None:
            self._playing.stop()
            self._playing = None
        if self._speech is not None:
            try:
                self._speech.stop()
            except Exception:  # noqa: BLE001 - see _say
                self._no_speech()

    def _say(self) -> None:
        if self._playing is not None and self._playing.isPlaying() and self._waits > 0:
            self._waits -= 1
            self._pause.start(STILL_SOUNDS_MS)
            return
        words, self._words = self._words, ""
        if self._speech is None or not words:
            return
        try:
            self._speech.say(words)
        except Exception:  # noqa: BLE001 - an engine is somebody else's program: whatever it does, the bench goes on
            self._no_speech()

    def _no_speech(self, *_: object) -> None:
        log.warning("the speech engine failed: alarms sound without words from now on")
        self._speech = None

    def _load(self) -> None:
        self._effects = {}
        # Its chatter about libraries it can do without is no news to a painter.
        QLoggingCategory.setFilterRules("qt.multimedia.*=false\nqt.speech.*=false")
        try:
            from PySide6.QtMultimedia import QMediaDevices, QSoundEffect
        except ImportError:
            self.missing = "This system can't play sounds: alarms are shown in words only."
            return
        if not QMediaDevices.audioOutputs():
            self.missing = "There is no sound device: alarms are shown in words only."
            return
        for call in Call:
            effect = QSoundEffect(self)
            effect.setSource(QUrl.fromLocalFile(str(self._sounds / f"{call.value}.wav")))
            effect.setVolume(self._volume)
            self._effects[call] = effect
        if self._speak:
            self._speech = self._engine()

    def _engine(self) -> "QTextToSpeech | None":
        try:
            from PySide6.QtTextToSpeech import QTextToSpeech

            engines = [e for e in QTextToSpeech.availableEngines() if e != "mock"]
            if not engines:
                return None
            speech = QTextToSpeech(engines[0], self)
            if speech.state() is QTextToSpeech.State.Error:
                log.warning("no speech: %s", speech.errorString())
                return None
            speech.errorOccurred.connect(self._no_speech)
            speech.setVolume(self._volume)
        except Exception:
            log.warning("no speech engine", exc_info=True)
            return None
        return speech
