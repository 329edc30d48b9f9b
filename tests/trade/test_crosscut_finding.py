"""The lattice is found where it is, or not at all."""

import cv2
import numpy as np
import pytest
from trade.crosscut_pictures import Scene, shoot

from benchtool.trade.crosscut import Grid, find_grid, open_photo

HIGH, WIDE = 480, 640


def opened(picture: np.ndarray) -> object:
    return open_photo(cv2.imencode(".png", np.clip(picture, 0, 255).astype(np.uint8))[1].tobytes())


def off(grid: Grid, corners: tuple[tuple[float, float], ...], size: tuple[int, int]) -> float:
    """Give how far the worst corner is off, in spacings, however the lattice is turned."""
    got, true = np.array(grid.corners) * size, np.array(corners) * size
    step = np.linalg.norm(true[0] - true[1]) / (grid.cuts - 1)
    return min(float(np.abs(np.roll(got, k, axis=0) - true).max()) for k in range(4)) / float(step)


@pytest.mark.parametrize("cuts", [6, 11])
@pytest.mark.parametrize("tilt", [0, 25])
@pytest.mark.parametrize("roll", [0, 17, 44])
def test_lattices_are_found_however_they_are_held(cuts, tilt, roll):
    scene = Scene(seed=7, cuts=cuts, removed=12, size=(WIDE, HIGH), share=0.55, tilt=tilt, tilt_about=35, roll=roll)
    shot = shoot(scene)
    grid = find_grid(open_photo(shot.data), cuts)
    assert grid is not None
    assert off(grid, shot.corners, scene.size) < 0.1
    (ax, ay), (bx, by), (cx, cy), _ = grid.corners
    assert (bx - ax) * (cy - by) - (by - ay) * (cx - bx) > 0  # clockwise on a picture whose rows run down


@pytest.mark.parametrize(("there", "asked"), [(11, 6), (6, 11), (7, 6), (5, 6), (10, 11)])
def test_another_number_of_cuts_is_not_found(there, asked):
    """Six of eleven cuts would be a lattice of a quarter of the area."""
    shot = shoot(Scene(seed=3, cuts=there, removed=10, size=(WIDE, HIGH), share=0.6))
    photo = open_photo(shot.data)
    assert find_grid(photo, asked) is None
    assert find_grid(photo, there) is not None


def test_a_lattice_with_most_of_it_gone_is_not_taken_for_one_beside_it():
    """Cuts hardly seen, most squares off, light across: found where it is, or not."""
    for seed in range(6):
        scene = Scene(
            seed=600 + seed, cuts=6, removed=45, size=(WIDE, HIGH), share=0.6, coat=(120, 120, 122),
            bare=(146, 146, 144), line_shade=0.9, burr=18, tilt=10, gradient=0.2, shadow=0.22, noise=5, roll=9,
        )  # fmt: skip
        shot = shoot(scene)
        grid = find_grid(open_photo(shot.data), 6)
        assert grid is None or off(grid, shot.corners, scene.size) < 0.3


def wall(chance):
    return np.full((HIGH, WIDE, 3), 190.0) + chance.normal(0, 3, (HIGH, WIDE, 3))


def fur(chance):
    body = cv2.resize(chance.normal(0, 1, (8, 10)).astype(np.float32), (WIDE, HIGH), interpolation=cv2.INTER_CUBIC)
    hair = cv2.GaussianBlur(chance.normal(0, 1, (HIGH, WIDE)).astype(np.float32), (0, 0), sigmaX=1, sigmaY=10)
    return np.dstack([80 + 35 * body, 100 + 40 * body, 120 + 50 * body]) + (hair / hair.std() * 25)[..., None]


def graph_paper(chance):
    paper = np.full((HIGH, WIDE, 3), 235.0)
    paper[:, np.arange(WIDE) % 40 < 3] = 120
    paper[np.arange(HIGH) % 40 < 3] = 120
    return paper


def tiles(chance):
    floor = np.full((HIGH, WIDE, 3), 170.0)
    floor[:, np.arange(WIDE) % 90 < 7] = 90
    floor[np.arange(HIGH) % 90 < 7] = 90
    return floor


def stripes(chance):
    cloth = np.full((HIGH, WIDE, 3), 200.0)
    cloth[:, np.arange(WIDE) % 60 < 6] = 60
    return cloth


def bricks(chance):
    built = np.full((HIGH, WIDE, 3), 150.0)
    for k, top in enumerate(range(0, HIGH, 50)):
        built[top : top + 6] = 210
        for left in range(60 * (k % 2), WIDE, 120):
            built[top : top + 50, left : left + 6] = 210
    return built


def chess(chance):
    y, x = np.mgrid[0:HIGH, 0:WIDE] // 55
    return np.where((x + y) % 2, 40.0, 220.0)[..., None] * np.ones(3)


def keys(chance):
    board = np.full((HIGH, WIDE, 3), 220.0)
    for i in range(5):
        for j in range(5):
            board[50 + i * 75 : 115 + i * 75, 130 + j * 75 : 195 + j * 75] = 40
    return board


def writing(chance):
    page = np.full((HIGH, WIDE, 3), 245, np.uint8)
    for top in range(40, HIGH, 32):
        cv2.putText(page, "degrease twice, then wait for it", (20, top), cv2.FONT_HERSHEY_SIMPLEX, 1, (30, 30, 30), 2)
    return page


def snow(chance):
    return chance.normal(128, 40, (HIGH, WIDE, 3))


def one_grey(chance):
    return np.full((HIGH, WIDE, 3), 128.0)


@pytest.mark.parametrize(
    "drawn",
    [wall, fur, graph_paper, tiles, stripes, bricks, chess, keys, writing, snow, one_grey],
    ids=lambda f: f.__name__,
)
@pytest.mark.parametrize("cuts", [6, 11])
def test_other_things_are_no_lattice(drawn, cuts):
    assert find_grid(opened(drawn(np.random.default_rng(5))), cuts) is None


def test_a_tiny_picture_has_none():
    assert find_grid(opened(np.zeros((64, 64, 3))), 6) is None
