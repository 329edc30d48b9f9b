"""The three sounds differ in rhythm as well as in pitch, and each call plays its own."""

import struct
import wave
from itertools import groupby
from typing import Any

import pytest

from benchtool.bench.sound import Voice
from benchtool.session.alarms import Call, Ring
from benchtool.session.resources import resource


def rhythm(call: Call) -> list[float]:
    """How long each note lasts (s), by what is loud in the file."""
    with wave.open(str(resource("sounds") / f"{call.value}.wav")) as sound:
        rate, count = sound.getframerate(), sound.getnframes()
        samples = struct.unpack(f"<{count}h", sound.readframes(count))
    each = rate // 100
    loud = [max(abs(s) for s in samples[i : i + each]) > 2_000 for i in range(0, count - each, each)]
    return [sum(1 for _ in run) / 100 for is_loud, run in groupby(loud) if is_loud]


def test_the_sounds_differ_in_rhythm_and_are_short() -> None:
    notes = {call: rhythm(call) for call in Call}
    assert [len(notes[c]) for c in (Call.NOW, Call.SOON, Call.LATE)] == [2, 3, 3]
    assert max(notes[Call.LATE]) > 3 * min(notes[Call.LATE])
    assert max(notes[Call.SOON]) < 1.5 * min(notes[Call.SOON])
    assert all(sum(n) < 1.0 for n in notes.values())


@pytest.mark.parametrize("call", Call)
def test_each_call_plays_its_own_sound(qtbot: Any, call: Call) -> None:
    played: list[Call] = []

    class Effect:
        def __init__(self, of: Call) -> None:
            self.of = of

        def play(self) -> None:
            played.append(self.of)

    voice = Voice(resource("sounds"))
    voice._effects = {c: Effect(c) for c in Call}  # type: ignore[misc]
    voice.ring(Ring(call, "Name plate: coat 2 may go on now."))
    assert played == [call]


def test_without_a_sound_device_it_says_so_once_and_goes_on(qtbot: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from PySide6.QtCore import QLoggingCategory

    QLoggingCategory.setFilterRules("qt.multimedia.*=false")  # as the voice does before it loads the module
    from PySide6 import QtMultimedia

    monkeypatch.setattr(QtMultimedia.QMediaDevices, "audioOutputs", list)
    voice = Voice(resource("sounds"), speak=False)
    voice.ring(Ring(Call.LATE, "Cup: pot life over."))
    assert "words only" in voice.missing
    voice.ring(Ring(Call.LATE, "Cup: pot life over."))
