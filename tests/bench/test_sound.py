"""The three sounds differ in rhythm as well as in pitch, each call plays its own, and the words come after it."""

import cmath
import math
import struct
import wave
from itertools import combinations, groupby
from typing import Any

import pytest

from benchtool.bench.sound import SOUND_LASTS_MS, STILL_SOUNDS_MS, Voice
from benchtool.session.alarms import Call, Ring
from benchtool.session.resources import resource


def samples(call: Call) -> tuple[tuple[int, ...], int]:
    with wave.open(str(resource("sounds") / f"{call.value}.wav")) as sound:
        rate, count = sound.getframerate(), sound.getnframes()
        assert (sound.getnchannels(), sound.getsampwidth()) == (1, 2)
        return struct.unpack(f"<{count}h", sound.readframes(count)), rate


def notes(call: Call) -> list[tuple[float, float]]:
    """When each note begins and how long it lasts (s), by what is loud in the file."""
    data, rate = samples(call)
    each = rate // 100
    loud = [max(abs(s) for s in data[i : i + each]) > 2_000 for i in range(0, len(data) - each, each)]
    found, at = [], 0
    for is_loud, run in groupby(loud):
        length = sum(1 for _ in run)
        if is_loud:
            found.append((at / 100, length / 100))
        at += length
    return found


def pitch(call: Call) -> int:
    """The frequency (Hz) that holds the most of the sound, by the Fourier sum at every 10 Hz."""
    data, rate = samples(call)
    thin = data[::3]  # enough up to 3.6 kHz
    step = 3 * 2 * math.pi / rate

    def power(hz: int) -> float:
        return abs(sum(s * cmath.exp(-1j * step * hz * i) for i, s in enumerate(thin)))

    return max(range(200, 2_000, 20), key=power)


def test_the_sounds_differ_in_rhythm_and_are_short() -> None:
    lengths = {call: [length for _, length in notes(call)] for call in Call}
    assert [len(lengths[c]) for c in (Call.NOW, Call.SOON, Call.LATE)] == [2, 4, 3]
    assert max(lengths[Call.LATE]) > 3 * min(lengths[Call.LATE])
    assert max(lengths[Call.SOON]) < 1.5 * min(lengths[Call.SOON])
    assert all(sum(n) < 1.0 for n in lengths.values())
    assert all(len(samples(c)[0]) / samples(c)[1] * 1_000 <= SOUND_LASTS_MS for c in Call)


def test_no_rhythm_is_another_one_played_faster() -> None:
    """By when the notes begin, against the whole length: a slow player must not turn one into another."""

    def pattern(call: Call) -> list[float]:
        found = notes(call)
        end = found[-1][0] + found[-1][1]
        return [x / end for note in found for x in note]

    for one, other in combinations(Call, 2):
        mine, yours = pattern(one), pattern(other)
        assert len(mine) != len(yours) or max(abs(a - b) for a, b in zip(mine, yours, strict=True)) > 0.1


def test_the_sounds_differ_in_pitch_by_a_third_and_a_laptop_can_play_them() -> None:
    found = {call: pitch(call) for call in Call}
    for one, other in combinations(found.values(), 2):
        assert max(one, other) / min(one, other) >= 1.25, found
    assert all(500 <= hz <= 1_500 for hz in found.values()), found


def test_the_files_are_those_that_the_script_makes() -> None:
    import runpy

    made = runpy.run_path(str(resource("sounds").parent.parent / "packaging" / "sounds.py"))
    for name, of in made["SOUNDS"].items():
        data = tuple(s for hz, seconds in of for s in made["samples"](hz, seconds))
        kept = samples(Call(name))[0]
        assert len(kept) == len(data)
        assert max(abs(a - b) for a, b in zip(kept, data, strict=True)) <= 1  # another machine's sine may round away


class Effect:
    """A sound that is over when it is told."""

    def __init__(self, of: Call, log: list[str]) -> None:
        self.of, self.log, self.lasts = of, log, 0

    def play(self) -> None:
        self.log.append(f"sound {self.of.value}")

    def stop(self) -> None:
        self.log.append("stop")

    def isPlaying(self) -> bool:
        self.lasts -= 1
        return self.lasts >= 0


class Speech:
    def __init__(self, log: list[str], *, broken: bool = False) -> None:
        self.log, self.broken = log, broken

    def say(self, words: str) -> None:
        if self.broken:
            raise RuntimeError("the engine went away")
        self.log.append(words)

    def stop(self) -> None:
        if self.broken:
            raise RuntimeError("the engine went away")


def voice_with(log: list[str], *, broken: bool = False) -> Any:
    voice: Any = Voice(resource("sounds"))
    voice._effects = {c: Effect(c, log) for c in Call}
    voice._speech = Speech(log, broken=broken)
    return voice


@pytest.mark.parametrize("call", Call)
def test_each_call_plays_its_own_sound(qtbot: Any, call: Call) -> None:
    log: list[str] = []
    voice = voice_with(log)
    voice.ring(Ring(call, "Name plate: coat 2 may go on now."))
    assert log == [f"sound {call.value}"]
    voice.hush()


def test_the_words_of_the_ring_are_spoken_after_the_sound(qtbot: Any) -> None:
    log: list[str] = []
    voice = voice_with(log)
    voice.ring(Ring(Call.LATE, "Cup: pot life over."))
    assert voice._pause.isActive()
    assert voice._pause.interval() == SOUND_LASTS_MS
    voice._effects[Call.LATE].lasts = 2
    voice._pause.timeout.emit()
    voice._pause.timeout.emit()
    assert log == ["sound late"]
    assert voice._pause.interval() == STILL_SOUNDS_MS
    voice._pause.timeout.emit()
    assert log == ["sound late", "Cup: pot life over."]
    voice.hush()


def test_a_sound_that_never_ends_holds_the_words_back_only_for_a_while(qtbot: Any) -> None:
    log: list[str] = []
    voice = voice_with(log)
    voice.ring(Ring(Call.LATE, "Cup: pot life over."))
    voice._effects[Call.LATE].lasts = 10_000
    for _ in range(20):
        voice._pause.timeout.emit()
    assert log == ["sound late", "Cup: pot life over."]
    voice.hush()


def test_hushed_before_the_words_nothing_is_spoken(qtbot: Any) -> None:
    log: list[str] = []
    voice = voice_with(log)
    voice.ring(Ring(Call.NOW, "Hood: coat 2 may go on now."))
    voice.hush()
    assert not voice._pause.isActive()
    voice._pause.timeout.emit()
    assert log == ["sound now", "stop"]


def test_a_failing_engine_breaks_nothing_and_is_not_asked_again(qtbot: Any) -> None:
    log: list[str] = []
    voice = voice_with(log, broken=True)
    voice.ring(Ring(Call.NOW, "Hood: coat 2 may go on now."))  # it fails when it is told to stop
    assert voice._speech is None
    assert log == ["sound now"]
    voice._speech = Speech(log, broken=True)
    voice._words = "Hood"
    voice._pause.timeout.emit()  # and when it is told to speak
    assert voice._speech is None
    voice.ring(Ring(Call.NOW, "Hood: coat 2 may go on now."))
    assert not voice._pause.isActive()


def test_without_a_sound_device_it_says_so_once_and_goes_on(qtbot: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from PySide6.QtCore import QLoggingCategory

    QLoggingCategory.setFilterRules("qt.multimedia.*=false")  # as the voice does before it loads the module
    from PySide6 import QtMultimedia

    monkeypatch.setattr(QtMultimedia.QMediaDevices, "audioOutputs", list)
    voice = Voice(resource("sounds"), speak=False)
    voice.ring(Ring(Call.LATE, "Cup: pot life over."))
    assert "words only" in voice.missing
    voice.ring(Ring(Call.LATE, "Cup: pot life over."))
    assert not voice._pause.isActive()
