"""The removed area of a cross-cut from a photo, against drawn photos whose removed area is known.

Class limits: ISO 2409 (grades 0 to 5) and ASTM D3359 method B (5B to 0B), as trade/grades.py has them.
"""

from functools import cache

import numpy as np
import pytest
from trade.crosscut_pictures import Scene, Shot, many, shoot

from benchtool.trade.crosscut import (
    UNKNOWN,
    Grid,
    Measured,
    NotAPhoto,
    find_grid,
    mask_bytes,
    mask_from,
    measure,
    open_photo,
    recount,
)
from benchtool.trade.grades import astm_d3359_b, iso_2409

SCENES = many(64, 2, (640, 480))
GROUP = 8


def shown(shot: Shot, cuts: int, off: float = 0.0, seed: int = 0) -> Grid:
    """Give the corners as a hand shows them: `off` spacings beside the crossings (standard deviation)."""
    width, height = shot.scene.size
    corners = np.array(shot.corners) * (width, height)
    step = float(np.linalg.norm(corners[1] - corners[0])) / (cuts - 1)
    corners = corners + np.random.default_rng(seed).normal(0, off * step, (4, 2))
    a, b, c, d = ((float(x / width), float(y / height)) for x, y in corners)
    return Grid((a, b, c, d), cuts)


def classes(percent: float) -> tuple[int, int]:
    percent = round(percent, 1)
    return int(iso_2409(percent)), int(astm_d3359_b(percent)[0])


@cache
def plain(**changes: object) -> tuple[Shot, Measured]:
    shot = shoot(Scene(**{"seed": 11, "size": (640, 480), "share": 0.6, **changes}))  # type: ignore[arg-type]
    return shot, measure(open_photo(shot.data), shown(shot, shot.scene.cuts))


@pytest.mark.parametrize("group", range(len(SCENES) // GROUP))
def test_area_and_class_over_all_combinations(group):
    """Mean error within 2 points of area in every eight photos, each class right or beside it, truth within give."""
    errors, inside, found = [], 0, 0
    for scene in SCENES[group * GROUP : (group + 1) * GROUP]:
        shot = shoot(scene)
        photo = open_photo(shot.data)
        grid = find_grid(photo, scene.cuts)
        found += grid is not None
        measured = measure(photo, grid or shown(shot, scene.cuts, 0.05, scene.seed))
        for told, true in zip(classes(measured.removed_percent), classes(shot.removed), strict=True):
            assert abs(told - true) <= 1, (scene, shot.removed, measured.removed_percent)
        errors.append(abs(measured.removed_percent - shot.removed))
        inside += errors[-1] <= measured.plus_minus
    assert sum(errors) / len(errors) <= 2.0, errors
    assert inside >= GROUP - 1, errors
    assert found >= GROUP - 2


@pytest.mark.parametrize("name", ["large six", "large eleven"])
def test_large_photos(name):
    """A photo from nearer tells the area within a point."""
    scene = Scene(
        seed=31, cuts=6 if name == "large six" else 11, removed=22, size=(2000, 1500), share=0.6, tilt=18, roll=8,
        gradient=0.3, noise=4, blur=1.5,
    )  # fmt: skip
    shot = shoot(scene)
    photo = open_photo(shot.data)
    grid = find_grid(photo, scene.cuts)
    assert grid is not None
    assert measure(photo, grid).removed_percent == pytest.approx(shot.removed, abs=1.0)


def test_nothing_removed_is_nothing():
    _, measured = plain(removed=0.0)
    assert measured.removed_percent == 0
    assert measured.plus_minus < 2
    assert not measured.mask.any()
    assert measured.doubt == ""


@pytest.mark.parametrize("colours", [((40, 70, 150), (190, 190, 185)), ((190, 190, 185), (40, 70, 150))])
def test_all_removed_is_all_whichever_is_darker(colours):
    """What lies around the lattice is the paint: nothing inside is like it."""
    _, measured = plain(removed=100.0, coat=colours[0], bare=colours[1])
    assert measured.removed_percent > 98


def test_mask_lies_on_the_bare_ground():
    """Where the mask is set the straightened picture has the ground's colour, elsewhere the paint's."""
    shot, measured = plain(removed=25.0)
    picture, counted = measured.picture.astype(float), measured.counted
    for mask, colour in ((measured.mask, shot.scene.bare), (counted & ~measured.mask, shot.scene.coat)):
        assert np.abs(np.median(picture[mask], axis=0) - colour).max() < 12
    assert not (measured.mask & ~counted).any()
    assert measured.removed_percent == pytest.approx(100 * measured.mask.sum() / counted.sum())


def test_cuts_are_left_out_and_nothing_else():
    shot, measured = plain(removed=0.0, line=0.08)
    between = (1 - 0.08) ** 2
    assert measured.counted.mean() == pytest.approx(between, abs=0.05)
    assert shot.removed == 0


def test_corners_shown_roughly_are_moved_onto_the_cuts():
    shot, exact = plain(removed=25.0)
    rough = measure(open_photo(shot.data), shown(shot, 6, 0.1, seed=4))
    assert rough.removed_percent == pytest.approx(exact.removed_percent, abs=0.5)
    assert np.abs(np.array(rough.grid.corners) - np.array(exact.grid.corners)).max() < 0.004


def test_corners_in_any_order_measure_alike():
    shot, exact = plain(removed=25.0)
    a, b, c, d = exact.grid.corners
    turned = measure(open_photo(shot.data), Grid((c, b, a, d), 6))
    assert turned.removed_percent == pytest.approx(exact.removed_percent, abs=0.3)


def test_same_photo_same_answer():
    shot, first = plain(removed=25.0)
    again = measure(open_photo(shot.data), shown(shot, 6))
    assert again.removed_percent == first.removed_percent
    assert again.plus_minus == first.plus_minus
    assert (again.mask == first.mask).all()


def test_glare_is_left_out_told_and_makes_unsure():
    _, clear = plain(removed=25.0)
    _, glaring = plain(removed=25.0, glare=0.06)
    assert glaring.counted.sum() < 0.95 * clear.counted.sum()
    assert glaring.plus_minus > clear.plus_minus + 2
    assert "Glare hides" in glaring.doubt


def test_bright_ground_is_no_glare():
    shot, measured = plain(removed=40.0, bare=(249, 249, 248), coat=(150, 30, 30), noise=1.0)
    assert measured.removed_percent == pytest.approx(shot.removed, abs=2)


def test_a_smear_of_adhesive_is_no_bare_ground():
    shot, measured = plain(removed=4.0, coat=(165, 28, 30), bare=(238, 238, 235), tape=14.0)
    assert measured.removed_percent == pytest.approx(shot.removed, abs=2)


def test_a_primer_that_stayed_counts_as_removed():
    """The paint is off down to the primer or to the ground: both are bare of paint (ISO 2409 counts what flaked)."""
    shot, measured = plain(removed=40.0, under=(150, 80, 40))
    assert measured.removed_percent == pytest.approx(shot.removed, abs=2)


def test_paint_and_ground_of_one_colour_tell_nothing():
    _, measured = plain(removed=40.0, coat=(128, 128, 128), bare=(128, 128, 128), line_shade=1.0)
    assert measured.plus_minus == UNKNOWN
    assert "alike" in measured.doubt


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"coat": (14, 14, 15), "bare": (26, 26, 25), "noise": 4.0}, "too dark"),
        ({"coat": (255, 255, 255), "bare": (255, 255, 255), "noise": 0.5}, "burnt out"),
        ({"blur": 7.0}, "not sharp"),
        ({"share": 0.13}, "small in the photo"),
    ],
)
def test_what_is_wrong_with_a_photo_is_told(changes, words):
    _, measured = plain(removed=30.0, **changes)
    assert words in measured.doubt


def test_a_grid_shown_where_there_are_no_cuts_is_doubted():
    wall = np.full((480, 640, 3), 170.0) + np.random.default_rng(1).normal(0, 4, (480, 640, 3))
    photo = open_photo(coded(wall))
    measured = measure(photo, Grid(((0.3, 0.2), (0.7, 0.2), (0.7, 0.8), (0.3, 0.8)), 6))
    assert "No cuts are seen" in measured.doubt
    assert measured.plus_minus >= 15


def test_a_lattice_that_fills_the_picture_can_be_drawn_by_hand():
    """No paint around it to compare with: nothing is measured, and what is drawn by hand then counts."""
    shot, _ = plain(removed=25.0)
    photo = open_photo(shot.data)
    corners = np.array(shot.corners) * shot.scene.size
    (left, top), (right, bottom) = corners.min(axis=0).astype(int), corners.max(axis=0).astype(int)
    tight = open_photo(coded(photo.pixels[top:bottom, left:right]))
    measured = measure(tight, Grid(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)), 6))
    assert measured.plus_minus == UNKNOWN
    assert "Too little of the paint" in measured.doubt
    mask = measured.mask.copy()
    mask[:300] = True
    drawn = recount(measured, mask)
    assert drawn.removed_percent == pytest.approx(100 * (mask & measured.counted).sum() / measured.counted.sum())
    assert drawn.plus_minus < 10


def test_correcting_the_mask_counts_and_makes_surer():
    _, measured = plain(removed=25.0, glare=0.06)
    mask = measured.mask.copy()
    mask[100:260, 100:400] ^= True
    better = recount(measured, mask)
    counted = measured.counted
    assert better.removed_percent == pytest.approx(100 * (mask & counted).sum() / counted.sum())
    assert 0 < better.plus_minus < measured.plus_minus
    assert not (better.mask & ~counted).any()
    assert recount(better, better.mask) is better


def test_a_mask_of_another_size_is_refused():
    _, measured = plain(removed=25.0)
    with pytest.raises(ValueError, match="mask"):
        recount(measured, np.zeros((10, 10), np.bool_))


def test_masks_survive_their_file():
    _, measured = plain(removed=25.0)
    data = mask_bytes(measured.mask)
    assert len(data) < 20_000
    assert data[24] == 1  # bits a pixel, PNG specification (W3C), IHDR
    assert (mask_from(data) == measured.mask).all()


@pytest.mark.parametrize("data", [b"", b"no mask", mask_bytes(np.ones((5, 5), np.bool_))[:-20]])
def test_a_broken_mask_is_refused(data):
    with pytest.raises(NotAPhoto):
        mask_from(data)


@pytest.mark.parametrize(
    ("corners", "cuts"),
    [
        (((0.2, 0.2), (0.2, 0.2), (0.2, 0.2), (0.2, 0.2)), 6),
        (((0.1, 0.1), (0.9, 0.1), (0.5, 0.2), (0.5, 0.9)), 6),
        (((0.1, 0.1), (0.9, float("nan")), (0.9, 0.9), (0.1, 0.9)), 6),
        (((-3.0, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9)), 6),
        (((0.2, 0.2), (0.8, 0.2), (0.8, 0.8), (0.2, 0.8)), 1),
        (((0.2, 0.2), (0.8, 0.2), (0.8, 0.8), (0.2, 0.8)), 400),
    ],
)
def test_corners_that_are_no_lattice_are_refused(corners, cuts):
    shot, _ = plain(removed=25.0)
    with pytest.raises(NotAPhoto) as said:
        measure(open_photo(shot.data), Grid(corners, cuts))
    assert str(said.value).count(".") == 1


def coded(picture: np.ndarray) -> bytes:
    import cv2

    return cv2.imencode(".png", np.clip(picture, 0, 255).astype(np.uint8)[:, :, ::-1])[1].tobytes()
