"""Makes the three alarm sounds in resources/sounds/. They differ in rhythm as well as in pitch.

now: two rising notes. soon: four even quick knocks, high. late: a long low note and two short ones.

Every note lies between 500 and 1500 Hz: a laptop's speaker gives little below, and above it falls what an ear
loses with the years or under ear muffs (ISO 7731, danger signals: 300 to 3000 Hz with enough of it below 1500 Hz, as
open summaries give it; from 500 Hz in the edition of 2003, from memory). Pitches lie a third apart at least.
"""

import math
import struct
import wave
from pathlib import Path

RATE = 22_050
SOUNDS = {
    "now": [(660, 0.16), (0, 0.05), (990, 0.30)],
    "soon": [(1320, 0.08), (0, 0.09), (1320, 0.08), (0, 0.09), (1320, 0.08), (0, 0.09), (1320, 0.08)],
    "late": [(523, 0.50), (0, 0.10), (523, 0.12), (0, 0.08), (523, 0.12)],
}


def samples(pitch: int, seconds: float) -> list[int]:
    """Make one note with soft edges, its octave mixed in so that it carries over a fan."""
    count = int(RATE * seconds)
    made = []
    for i in range(count):
        edge = min(1.0, i / (0.01 * RATE), (count - i) / (0.03 * RATE))
        turn = 2 * math.pi * pitch * i / RATE
        made.append(int(20_000 * edge * (0.75 * math.sin(turn) + 0.25 * math.sin(2 * turn))) if pitch else 0)
    return made


def main() -> None:
    """Write the files."""
    folder = Path(__file__).resolve().parent.parent / "resources" / "sounds"
    folder.mkdir(parents=True, exist_ok=True)
    for name, notes in SOUNDS.items():
        data = [s for pitch, seconds in notes for s in samples(pitch, seconds)]
        with wave.open(str(folder / f"{name}.wav"), "wb") as out:
            out.setnchannels(1)
            out.setsampwidth(2)
            out.setframerate(RATE)
            out.writeframes(struct.pack(f"<{len(data)}h", *data))


if __name__ == "__main__":
    main()
