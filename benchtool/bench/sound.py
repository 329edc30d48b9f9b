"""Sounds and speech. Both are luxuries: with no sound device the words on the screen do the work."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QLoggingCategory, QObject, QUrl
from PySide6.QtWidgets import QApplication

from benchtool.session.alarms import Call, Ring

if TYPE_CHECKING:
    from PySide6.QtMultimedia import QSoundEffect
    from PySide6.QtTextToSpeech import QTextToSpeech


class Voice(QObject):
    """Rings and speaks. The multimedia parts are loaded at the first use, well after the first paint."""

    def __init__(self, sounds: Path, *, volume: float = 0.8, speak: bool = True, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._sounds = sounds
        self._volume = volume
        self._speak = speak
        self._effects: dict[Call, QSoundEffect] | None = None
        self._speech: QTextToSpeech | None = None
        self.missing = ""

    def ring(self, ring: Ring) -> None:
        """Sound and speak this call as far as the machine can."""
        if self._effects is None:
            self._load()
        effect = (self._effects or {}).get(ring.call)
        if effect is not None:
            effect.play()
        else:
            QApplication.beep()
        if self._speech is not None:
            self._speech.say(ring.words)

    def _load(self) -> None:
        self._effects = {}
        # Its chatter about libraries it can do without is no news to a painter.
        QLoggingCategory.setFilterRules("qt.multimedia.*=false")
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
            self._speech = _speech(self)


def _speech(parent: QObject) -> "QTextToSpeech | None":
    try:
        from PySide6.QtTextToSpeech import QTextToSpeech
    except ImportError:
        return None
    engines = [e for e in QTextToSpeech.availableEngines() if e != "mock"]
    return QTextToSpeech(engines[0], parent) if engines else None
