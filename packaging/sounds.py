"""Makes the three alarm sounds in resources/sounds/. They differ in rhythm as well as in pitch.

now: two rising notes. soon: three even knocks. late: a long low note and two short ones.
"""

import math
import struct
import wave
from pathlib import Path

RATE = 22_050
SOUNDS = {
    "now": [(660, 0.16), (0, 0.05), (990, 0.30)],
    "soon": [(780, 0.09), (0, 0.11), (780, 0.09), (0, 0.11), (780, 0.09)],
    "late": [(330, 0.55), (0, 0.10), (330, 0.12), (0, 0.08), (330, 0.12)],
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
