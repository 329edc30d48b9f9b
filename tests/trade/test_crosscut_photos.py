"""Cross-cuts photographed by a renderer that knows what it took off: how far off the measuring is, and where it fails.

The pictures are made by crosscut_pictures.py: skewed, unevenly lit, with glare, noise, shadows, and light on light.
"""

from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest
from trade.crosscut_pictures import Scene, Shot, many, shoot

from benchtool.trade.crosscut import Measured, mask_bytes, mask_from, measure, recount
from benchtool.trade.crosscutfind import find_grid
from benchtool.trade.crosscutgrid import Grid
from benchtool.trade.crosscutphoto import NotAPhoto, open_photo
from benchtool.trade.grades import astm_d3359_b, iso_2409

SMALL = (640, 480)
SCENES = many(60, 2, SMALL)
"""Over all colours, areas and faults of a photo; another seed than the one that the measuring was made by."""


@cache
def looked_at(k: int) -> tuple[Shot, Measured, bool]:
    """Give the photo, what was measured, and whether its lattice was found; else its corners are shown."""
    shot = shoot(SCENES[k])
    photo = open_photo(shot.data)
    found = find_grid(photo, shot.scene.cuts)
    corners = (shot.corners[0], shot.corners[1], shot.corners[2], shot.corners[3])
    return shot, measure(photo, found or Grid(corners, shot.scene.cuts)), found is not None


def steps_apart(true: float, got: float) -> int:
    """By how many classes two areas differ at most, by either standard."""
    iso = abs(int(iso_2409(true)) - int(iso_2409(got)))
    return max(iso, abs(int(astm_d3359_b(true)[0]) - int(astm_d3359_b(got)[0])))


@pytest.mark.parametrize("k", range(len(SCENES)), ids=[f"{s.name}-{s.seed}" for s in SCENES])
def test_the_class_is_right_or_the_next(k: int) -> None:
    shot, measured, _ = looked_at(k)
    assert steps_apart(shot.removed, measured.removed_percent) <= 1, (shot.removed, measured.removed_percent)


def test_the_mean_error_is_at_most_two_points_and_most_lattices_are_found() -> None:
    looked = [looked_at(k) for k in range(len(SCENES))]
    errors = [abs(measured.removed_percent - shot.removed) for shot, measured, _ in looked]
    assert sum(errors) / len(errors) <= 2
    assert sum(found for *_, found in looked) >= 0.8 * len(looked)
    within = [e <= measured.plus_minus for e, (_, measured, _) in zip(errors, looked, strict=True)]
    assert sum(within) >= 0.85 * len(within)


@pytest.mark.parametrize("removed", [0, 10, 50, 80])
def test_a_plain_photo_is_measured_to_a_point_or_two(removed: float) -> None:
    shot = shoot(Scene(seed=5, removed=removed, size=SMALL))
    photo = open_photo(shot.data)
    grid = find_grid(photo, 6)
    assert grid is not None
    assert measure(photo, grid).removed_percent == pytest.approx(shot.removed, abs=2.5)


def test_the_same_photo_gives_the_same_answer() -> None:
    shot = shoot(SCENES[3])
    photos = [open_photo(shot.data) for _ in range(2)]
    grids = [find_grid(photo, shot.scene.cuts) for photo in photos]
    assert grids[0] == grids[1]
    corners = (shot.corners[0], shot.corners[1], shot.corners[2], shot.corners[3])
    first, second = (measure(photo, Grid(corners, shot.scene.cuts)) for photo in photos)
    assert first.removed_percent == second.removed_percent
    assert np.array_equal(first.mask, second.mask)


def test_what_a_hand_marks_counts_and_comes_back_from_its_file() -> None:
    shot = shoot(Scene(seed=5, removed=0, size=SMALL))
    photo = open_photo(shot.data)
    corners = (shot.corners[0], shot.corners[1], shot.corners[2], shot.corners[3])
    measured = measure(photo, Grid(corners, 6))
    mask = np.zeros_like(measured.mask)
    mask[:, : mask.shape[1] // 2] = True
    half = recount(measured, mask)
    assert half.removed_percent == pytest.approx(50, abs=4)
    assert np.array_equal(mask_from(mask_bytes(mask)), mask)


@pytest.mark.parametrize("seed", range(4))
def test_something_else_is_no_lattice(seed: int) -> None:
    chance = np.random.default_rng(seed)
    picture = cv2.GaussianBlur(chance.integers(0, 255, (480, 640, 3)).astype(np.uint8), (0, 0), 1 + 3 * seed)
    ok, coded = cv2.imencode(".jpg", picture)
    assert ok
    assert find_grid(open_photo(coded.tobytes()), 6) is None


def test_a_blank_wall_is_no_lattice() -> None:
    ok, coded = cv2.imencode(".png", np.full((480, 640, 3), 200, np.uint8))
    assert ok
    assert find_grid(open_photo(coded.tobytes()), 6) is None


@pytest.mark.parametrize("data", [b"", b"no photo", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"])
def test_what_is_no_photo_is_said_in_a_sentence(data: bytes) -> None:
    with pytest.raises(NotAPhoto, match=r"\.$"):
        open_photo(data)


def test_a_photo_broken_off_is_said() -> None:
    data = shoot(Scene(seed=5, size=SMALL)).data
    with pytest.raises(NotAPhoto, match="broken off"):
        open_photo(data[: len(data) // 2])


def test_much_glare_widens_the_doubt_and_says_so() -> None:
    plain, glaring = (
        looked for looked in (shoot(replace(Scene(seed=5, removed=20, size=SMALL), glare=g)) for g in (0.0, 0.25))
    )
    doubts = []
    for shot in (plain, glaring):
        corners = (shot.corners[0], shot.corners[1], shot.corners[2], shot.corners[3])
        doubts.append(measure(open_photo(shot.data), Grid(corners, 6)))
    assert doubts[1].plus_minus > doubts[0].plus_minus
    assert "lare" in doubts[1].doubt
