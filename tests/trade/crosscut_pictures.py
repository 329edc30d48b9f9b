"""Photos of cross-cuts drawn by rule: the removed area of each is known to the pixel.

A panel is drawn flat and large: coat, cuts, flakes. The truth is counted there (bare area between the cuts over all
area between the cuts, inside the outermost cuts). Then it is photographed: skewed, lit unevenly, blurred, given
glare, noise and compression. Everything comes from the seed.
"""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

Colour = tuple[int, int, int]
ACROSS = 2.2
"""The panel drawn, in widths of the lattice; beyond it the picture is mirrored."""


@dataclass(frozen=True)
class Scene:
    name: str = ""
    seed: int = 1
    cuts: int = 6
    removed: float = 10.0  # percent aimed at; the truth is what was drawn
    coat: Colour = (40, 70, 150)
    bare: Colour = (190, 190, 185)
    under: Colour | None = None  # a primer that stays in half of the flakes
    size: tuple[int, int] = (800, 600)
    share: float = 0.5  # of the picture's height that the lattice takes
    line: float = 0.06  # width of a cut in spacings
    line_shade: float = 0.85  # how light the ground is inside a cut
    burr: float = 0.0  # a light rim raised beside the cuts
    jitter: float = 0.01  # unequal spacing and slant of the cuts, in spacings
    tilt: float = 0.0  # degrees out of the picture's plane
    tilt_about: float = 0.0  # degrees, the axis of the tilt
    roll: float = 0.0  # degrees in the picture's plane
    gradient: float = 0.0  # light lost from one side to the other
    vignette: float = 0.0  # light lost in the corners
    shadow: float = 0.0  # light lost in a soft-edged shadow over part of the panel
    glare: float = 0.0  # share of the lattice under glare
    noise: float = 2.0  # standard deviation, grey levels of 255
    blur: float = 0.6  # standard deviation, pixels
    quality: int = 90  # JPEG
    metallic: float = 0.0  # sparkle of the coat, grey levels
    texture: float = 0.0  # cloudiness of coat and ground, grey levels
    orange_peel: float = 0.0  # shading of an uneven coat, grey levels
    thick: float = 0.0  # shading at the edges of the flakes
    tape: float = 0.0  # how strongly a smear of adhesive lightens a part of the panel
    background: Colour | None = None  # the bench, where the panel ends beside the lattice


@dataclass(frozen=True)
class Shot:
    scene: Scene
    data: bytes
    removed: float  # percent, the truth
    corners: tuple[tuple[float, float], ...]  # of the outermost cuts, shares of the picture


def shoot(scene: Scene) -> Shot:
    """Draw the panel and photograph it."""
    chance = np.random.default_rng(scene.seed)
    lattice = max(300, int(scene.size[1] * scene.share * 1.15))
    panel, removed, ends = _panel(scene, lattice, chance)
    picture, corners = _photograph(scene, panel, ends, chance)
    ok, coded = cv2.imencode(".jpg", picture[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, scene.quality])
    assert ok
    width, height = scene.size
    shares = tuple((float((x + 0.5) / width), float((y + 0.5) / height)) for x, y in corners)
    return Shot(scene, coded.tobytes(), removed, shares)


def _panel(scene: Scene, lattice: int, chance: np.random.Generator) -> tuple[np.ndarray, float, np.ndarray]:
    side = int(lattice * ACROSS)
    start = (side - lattice) / 2
    step = lattice / (scene.cuts - 1)
    across, down, band, edges = _cuts(scene, side, start, step, chance)
    inside = (across > 0) & (across < scene.cuts - 1) & (down > 0) & (down < scene.cuts - 1)
    bare = _flakes(scene, across, down, band, inside, step, chance)
    counts = inside & ~band
    removed = 100 * float((bare & counts).sum()) / float(counts.sum())
    return _paint(scene, bare, band, step, chance), removed, edges


def _cuts(
    scene: Scene, side: int, start: float, step: float, chance: np.random.Generator
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Give each pixel's place in spacings across and down, where the cuts are, and the lattice's corners."""
    y, x = np.mgrid[0:side, 0:side].astype(np.float32)
    middle = side / 2
    n = scene.cuts
    slants = chance.normal(0, scene.jitter / 4, (2, n)) if scene.jitter else np.zeros((2, n))
    moved = chance.normal(0, scene.jitter, (2, n)) if scene.jitter else np.zeros((2, n))
    places = start + step * (np.arange(n)[None, :] + moved)
    over = chance.uniform(0.3, 1.2, (2, n, 2)) * step
    band = np.zeros((side, side), np.uint8)
    at = []
    for way, (along, along_other) in enumerate(((x, y), (y, x))):
        ticks = np.full((side, side), -1.0, np.float32)
        offsets = []
        for i in range(n):
            offsets.append(along - (places[way, i] + slants[way, i] * (along_other - middle)).astype(np.float32))
            ends = [start - over[way, i, 0], start + (n - 1) * step + over[way, i, 1]]
            corners = []
            for end, side_ways in ((0, -1), (0, 1), (1, 1), (1, -1)):
                at_end = places[way, i] + slants[way, i] * (ends[end] - middle) + side_ways * scene.line * step / 2
                corners.append((at_end, ends[end]) if way == 0 else (ends[end], at_end))
            cv2.fillConvexPoly(band, np.round(np.array(corners) * 16).astype(np.int32), 1, shift=4)
        for i in range(n - 1):
            between = (offsets[i] >= 0) & (offsets[i + 1] < 0)
            first, second = offsets[i][between], offsets[i + 1][between]
            ticks[between] = i + first / np.maximum(first - second, 1e-3)
        ticks[offsets[-1] >= 0] = n
        at.append(ticks)
    corners = []
    for i, j in ((0, 0), (n - 1, 0), (n - 1, n - 1), (0, n - 1)):
        # x = px + sx (y - m), y = py + sy (x - m)
        matrix = np.array([[1, -slants[0, i]], [-slants[1, j], 1]])
        right = np.array([places[0, i] - slants[0, i] * middle, places[1, j] - slants[1, j] * middle])
        corners.append(np.linalg.solve(matrix, right))
    return at[0], at[1], band.astype(bool), np.array(corners)


def _flakes(
    scene: Scene,
    across: np.ndarray,
    down: np.ndarray,
    band: np.ndarray,
    inside: np.ndarray,
    step: float,
    chance: np.random.Generator,
) -> np.ndarray:
    """Take flakes off until the share aimed at is gone: corners first, then ribbons, then squares."""
    n = scene.cuts - 1
    bare = np.zeros(across.shape, bool)
    if scene.removed <= 0:
        return bare
    if scene.removed >= 100:
        return inside.copy()
    side = across.shape[0]
    counts = inside & ~band
    total = float(counts.sum())
    start = (side - n * step) / 2
    want = scene.removed
    gone = 0.0
    for _ in range(6000):
        if gone >= want - 0.15:
            break
        rest = (want - gone) / 100 * total  # pixels still to take
        kind = chance.choice(3, p=(1, 0, 0) if want < 5 else (0.6, 0.4, 0) if want < 15 else (0.3, 0.35, 0.35))
        i, j = (int(k) for k in chance.integers(0, n, 2))
        if kind == 2 and rest > 0.6 * step * step:
            points = _ragged([(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)], 0.04, 8, chance)
        elif kind == 1 and rest > 0.06 * step * step:
            points = _ribbon(i, j, chance.uniform(0.08, 0.3), chance.uniform(0.5, 1.0), chance)
        else:
            reach = min(chance.uniform(0.12, 0.5), max(0.05, np.sqrt(max(rest, 1.0) * 1.8) / step))
            points = _corner(i, j, float(reach), chance)
        left, top = (max(0, int(start + (k - 0.3) * step)) for k in (i, j))
        here = np.s_[top : top + int(1.6 * step), left : left + int(1.6 * step)]
        drawn = np.zeros(across[here].shape, np.uint8)
        at = start - np.array([left, top]) + points * step
        cv2.fillPoly(drawn, [np.round(at * 16).astype(np.int32)], 1, shift=4)
        # a flake breaks at the cuts of its own square, where it does not break before
        own = (across[here] >= i) & (across[here] < i + 1) & (down[here] >= j) & (down[here] < j + 1)
        new = drawn.astype(bool) & own & ~bare[here] & inside[here]
        bare[here] |= new
        gone += 100 * float((new & counts[here]).sum()) / total
    return bare


def _corner(i: int, j: int, reach: float, chance: np.random.Generator) -> np.ndarray:
    """A chip at one corner of square (i, j)."""
    ci, cj = chance.integers(0, 2, 2)
    sx, sy = 1 - 2 * int(ci), 1 - 2 * int(cj)
    angles = np.linspace(0, np.pi / 2, 7)
    radii = reach * chance.uniform(0.6, 1.15, 7)
    points = [(i + ci - 0.06 * sx, j + cj - 0.06 * sy)]
    points += [(i + ci + sx * r * np.cos(a), j + cj + sy * r * np.sin(a)) for a, r in zip(angles, radii, strict=True)]
    points[1] = (points[1][0], j + cj - 0.06 * sy)
    points[-1] = (i + ci - 0.06 * sx, points[-1][1])
    return np.array(points)


def _ribbon(i: int, j: int, deep: float, long: float, chance: np.random.Generator) -> np.ndarray:
    """A strip along one edge of square (i, j)."""
    at = chance.uniform(0, 1 - long)
    steps = np.linspace(at, at + long, 9)
    depth = deep * chance.uniform(0.6, 1.3, 9)
    edge = [(s, -0.06) for s in (at + long, at)]
    inner = [(s, d) for s, d in zip(steps, depth, strict=True)]
    points = np.array(inner + edge)
    side = int(chance.integers(0, 4))
    if side % 2:
        points[:, 1] = 1 - points[:, 1]
    if side >= 2:
        points = points[:, ::-1]
    return points + np.array([i, j])


def _ragged(corners: list[tuple[float, float]], rough: float, parts: int, chance: np.random.Generator) -> np.ndarray:
    points = [
        np.array(a) * (1 - s) + np.array(b) * s + chance.normal(0, rough, 2)
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
        for s in np.linspace(0, 1, parts, endpoint=False)
    ]
    middle = np.mean(corners, axis=0)
    return np.array([middle + (p - middle) * 1.02 for p in points])


def _clouds(shape: tuple[int, int], scale: float, chance: np.random.Generator) -> np.ndarray:
    """Smooth random field of unit spread."""
    small = chance.normal(0, 1, (max(4, int(shape[0] / scale)), max(4, int(shape[1] / scale)))).astype(np.float32)
    grown = cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    return grown / max(float(grown.std()), 1e-6)


def _paint(scene: Scene, bare: np.ndarray, band: np.ndarray, step: float, chance: np.random.Generator) -> np.ndarray:
    shape = (bare.shape[0], bare.shape[1])
    coat = np.broadcast_to(np.array(scene.coat, np.float32), (*shape, 3)).copy()
    ground = np.broadcast_to(np.array(scene.bare, np.float32), (*shape, 3)).copy()
    if scene.metallic:
        grain = cv2.GaussianBlur(chance.normal(0, 1, shape).astype(np.float32), (0, 0), max(0.6, step / 120))
        coat += (scene.metallic * grain / grain.std())[..., None]
    if scene.texture:
        coat += (scene.texture * 0.5 * _clouds(shape, step / 5, chance))[..., None]
        ground += (scene.texture * _clouds(shape, step / 8, chance))[..., None]
    if scene.orange_peel:
        coat += (scene.orange_peel * _clouds(shape, step / 12, chance))[..., None]
    if scene.under is not None:
        stays = _clouds(shape, step * 1.2, chance) > 0
        ground[stays] = np.array(scene.under, np.float32)
    picture = np.where(bare[..., None], ground, coat)
    if scene.burr:
        rim = cv2.dilate(band.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=max(1, int(step / 60)))
        picture[(rim > 0) & ~band & ~bare] += scene.burr
    if scene.thick:
        soft = cv2.GaussianBlur(bare.astype(np.float32), (0, 0), max(0.8, step / 80))
        picture += (scene.thick * 6 * cv2.Sobel(soft, cv2.CV_32F, 1, 1, ksize=3))[..., None]
    picture[band] = ground[band] * scene.line_shade
    return picture


def _photograph(
    scene: Scene, panel: np.ndarray, ends: np.ndarray, chance: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    width, height = scene.size
    side = panel.shape[0]
    to_photo = _camera(scene, side, chance)
    if scene.background is not None:
        cut = int(side * 0.14)
        panel = panel.copy()
        panel[: cut // 2] = scene.background
        panel[:, :cut] = scene.background
        panel[-cut:] = scene.background
    picture = cv2.warpPerspective(
        panel, to_photo, (width, height), flags=cv2.INTER_AREA, borderMode=cv2.BORDER_REFLECT_101
    )
    picture = _light(scene, picture, to_photo, ends, chance)
    if scene.blur:
        picture = cv2.GaussianBlur(picture, (0, 0), scene.blur)
    if scene.noise:
        picture = picture + chance.normal(0, scene.noise, (height, width, 3)).astype(np.float32)
    corners = cv2.perspectiveTransform(ends[None].astype(np.float64), to_photo)[0]
    return np.clip(np.round(picture), 0, 255).astype(np.uint8), corners


def _camera(scene: Scene, side: int, chance: np.random.Generator) -> np.ndarray:
    """Give the homography from the panel to the photo: a pinhole at 2.5 lattice widths' distance."""
    width, height = scene.size
    lattice = side / ACROSS
    tilt, about, roll = (np.deg2rad(a) for a in (scene.tilt, scene.tilt_about, scene.roll))
    axis = np.array([np.cos(about), np.sin(about), 0.0]) * tilt
    turn, _ = cv2.Rodrigues(axis)
    flat, _ = cv2.Rodrigues(np.array([0.0, 0.0, roll]))
    turn = turn @ flat
    far = 4.0 * lattice
    seen = scene.share * height / lattice * far
    centre = np.array([width / 2, height / 2]) + chance.uniform(-0.04, 0.04, 2) * (width, height)
    camera = np.array([[seen, 0, centre[0]], [0, seen, centre[1]], [0, 0, 1.0]])
    plane = np.column_stack([turn[:, 0], turn[:, 1], [0, 0, far]])
    shift = np.array([[1, 0, -side / 2], [0, 1, -side / 2], [0, 0, 1.0]])
    return camera @ plane @ shift


def _light(
    scene: Scene, picture: np.ndarray, to_photo: np.ndarray, ends: np.ndarray, chance: np.random.Generator
) -> np.ndarray:
    height, width = picture.shape[:2]
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    u, v = (x - width / 2) / (width / 2), (y - height / 2) / (height / 2)
    light = np.ones((height, width), np.float32)
    if scene.gradient:
        toward = chance.uniform(0, 2 * np.pi)
        light *= 1 - scene.gradient * (0.5 + 0.5 * (u * np.cos(toward) + v * np.sin(toward)))
    if scene.vignette:
        light *= 1 - scene.vignette * (u * u + v * v) / 2
    if scene.shadow:
        toward = chance.uniform(0, 2 * np.pi)
        edge = (u * np.cos(toward) + v * np.sin(toward) - chance.uniform(-0.1, 0.25)) / 0.12
        light *= 1 - scene.shadow / (1 + np.exp(-edge))
    lit = picture * light[..., None]
    if scene.tape:
        smear = np.clip(_clouds((height, width), height * 0.35, chance), 0, 1)
        lit += (scene.tape * smear)[..., None]
    if scene.glare:
        corners = cv2.perspectiveTransform(ends[None].astype(np.float64), to_photo)[0]
        side = np.sqrt(cv2.contourArea(corners.astype(np.float32)))
        spots = int(chance.integers(1, 3))
        for _ in range(spots):
            at = corners.mean(axis=0) + chance.uniform(-0.3, 0.3, 2) * side
            radius = side * np.sqrt(scene.glare / spots / np.pi)
            stretch, lean = chance.uniform(1.0, 1.8), chance.uniform(0, np.pi)
            dx, dy = x - at[0], y - at[1]
            p = (dx * np.cos(lean) + dy * np.sin(lean)) / stretch
            q = (-dx * np.sin(lean) + dy * np.cos(lean)) * stretch
            away = np.sqrt(p * p + q * q) / radius
            lit += (420 / (1 + np.exp((away - 1) / 0.08)))[..., None].astype(np.float32)
    return lit


PAIRS: dict[str, tuple[Colour, Colour]] = {
    "blue on grey": ((40, 70, 150), (190, 190, 185)),
    "white on pale grey": ((236, 236, 232), (208, 206, 200)),
    "black on steel": ((28, 28, 30), (150, 152, 155)),
    "red on white": ((165, 28, 30), (238, 238, 235)),
    "silver on black": ((150, 152, 158), (35, 35, 38)),
    "yellow on primer": ((220, 180, 40), (135, 120, 105)),
    "grey on grey": ((120, 120, 122), (146, 146, 144)),
    "beige on clear": ((205, 190, 165), (182, 170, 150)),
    "green on brown": ((30, 70, 45), (110, 80, 60)),
}
REMOVED = (0, 0.8, 2, 4, 6, 9, 12, 18, 25, 33, 42, 55, 68, 80, 92, 100)


def many(count: int, seed: int, size: tuple[int, int] = (800, 600)) -> list[Scene]:
    """Give scenes over all combinations of colours, areas, light, skew and faults of a photo."""
    chance = np.random.default_rng(seed)

    def some(low: float, high: float) -> float:
        return float(chance.uniform(low, high))

    scenes = []
    for k in range(count):
        name = list(PAIRS)[k % len(PAIRS)]
        coat, bare = PAIRS[name]
        made: dict[str, Any] = {
            "cuts": 6 if chance.random() < 0.6 else 11,
            "share": some(0.4, 0.72),
            "line": some(0.04, 0.09),
            "line_shade": some(0.6, 1.0),
            "roll": some(-20, 20),
            "jitter": some(0, 0.025),
            "noise": some(1, 6),
            "blur": some(0.4, 1.3),
            "quality": int(chance.integers(65, 96)),
        }
        if chance.random() < 0.6:
            made |= {"tilt": some(5, 25), "tilt_about": some(0, 180)}
        for fault, often, low, high in (
            ("gradient", 0.5, 0.1, 0.45),
            ("vignette", 0.3, 0.1, 0.35),
            ("shadow", 0.25, 0.15, 0.35),
            ("glare", 0.25, 0.01, 0.08),
            ("metallic", 0.25, 5, 18),
            ("texture", 0.3, 2, 7),
            ("orange_peel", 0.3, 1, 4),
            ("thick", 0.3, 3, 12),
            ("tape", 0.15, 5, 15),
        ):
            if chance.random() < often:
                made[fault] = some(low, high)
        if chance.random() < 0.25:
            made["background"] = (120, 90, 60)
        if chance.random() < 0.2:
            made["burr"] = 20.0
        if chance.random() < 0.15:
            made["under"] = tuple(int(v) for v in np.clip(np.array(bare) * 0.6 + (60, 30, 10), 0, 255))
        removed = REMOVED[(k * 7 + k // 16) % len(REMOVED)]
        scenes.append(Scene(name=name, seed=seed * 1000 + k, coat=coat, bare=bare, removed=removed, size=size, **made))
    return scenes
