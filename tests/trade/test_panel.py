"""A test panel to scale: nothing overlaps, all lies inside, the strips are spread evenly, labels fit their paper."""

import math
from collections import Counter
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtool.trade.panel import (
    EDGE_MM,
    GAP_MM,
    SCALES,
    NotAPanel,
    deal,
    label_sheets,
    label_size,
    lattices_in,
    lay_out,
    panel_sizes,
    scale_for,
)

sides = st.floats(min_value=0.5, max_value=2_000, allow_nan=False)
counts = st.integers(min_value=1, max_value=12)


@given(counts, sides, sides)
def test_no_strip_overlaps_another_and_all_lie_inside_with_their_labels(count, width, length):
    panel = lay_out(count, width, length)
    parts = [*panel.strips, *panel.labels]
    assert len(panel.strips) == len(panel.labels) == count
    for a, b in combinations(parts, 2):
        assert not a.overlaps(b)
    for part in parts:
        assert panel.bounds.holds(part)
    for label in panel.labels:
        assert panel.hold.holds(label)
    for strip in panel.strips:
        assert not strip.overlaps(panel.hold)
        assert (strip.width, strip.height) == (width, length)


@given(counts, sides, sides)
def test_there_is_room_to_mask_between_two_strips(count, width, length):
    strips = lay_out(count, width, length).strips
    for left, right in pairwise(strips):
        assert math.isclose(right.x - left.right, GAP_MM, rel_tol=1e-6, abs_tol=1e-6)


@given(counts, sides, sides)
def test_a_point_in_a_strip_or_its_label_finds_the_strip(count, width, length):
    panel = lay_out(count, width, length)
    for place, (strip, label) in enumerate(zip(panel.strips, panel.labels, strict=True)):
        assert panel.place_at(strip.x + strip.width / 2, strip.y + strip.height / 2) == place
        assert panel.place_at(label.x + label.width / 2, label.y + 1) == place
    assert panel.place_at(0.0, 0.0) is None
    assert panel.place_at(panel.width_mm - 0.1, panel.height_mm - 0.1) is None


@given(counts, sides, sides, sides, sides)
def test_a_panel_drawn_to_its_scale_fits_the_room(count, width, length, across, down):
    panel = lay_out(count, width, length)
    scale = panel.scale_into(across, down)
    assert panel.width_mm * scale <= across * (1 + 1e-9)
    assert panel.height_mm * scale <= down * (1 + 1e-9)
    times = scale_for(panel, across, down)
    assert panel.width_mm / times <= across * (1 + 1e-9)
    assert panel.height_mm / times <= down * (1 + 1e-9)


def test_a_drawing_takes_the_largest_scale_that_fits():
    panel = lay_out(12, 25, 100)
    assert (panel.width_mm, panel.height_mm) == (12 * 25 + 11 * 6 + 20, 145)
    assert scale_for(panel, 186, 200) == 2.5
    assert scale_for(panel, 386, 145) == SCALES[0] == 1
    assert scale_for(lay_out(12, 2_000, 2_000), 10, 10) > SCALES[-1]


@given(st.integers(min_value=0, max_value=200), st.integers(min_value=1, max_value=12))
def test_the_panels_are_as_few_as_can_be_and_filled_evenly(strips, most):
    sizes = panel_sizes(strips, most)
    assert sum(sizes) == strips
    assert len(sizes) == math.ceil(strips / most)
    assert all(size <= most for size in sizes)
    assert not sizes or max(sizes) - min(sizes) <= 1


@given(st.integers(min_value=1, max_value=12), st.integers(min_value=1, max_value=8))
def test_every_panel_has_nearly_as_many_of_each_system(systems, replicates):
    panels = deal([replicates] * systems, 12)
    assert Counter(kind for panel in panels for kind in panel) == dict.fromkeys(range(systems), replicates)
    for panel in panels:
        held = Counter(panel)
        several = [held.get(kind, 0) for kind in range(systems)]
        assert max(several) - min(several) <= 1


def test_a_cross_cut_keeps_its_distance_from_the_edges_and_the_next_one():
    # six cuts 1 mm apart are 5 mm across: with 5 mm on either side that takes a strip of 15 mm
    assert lattices_in(15, 100, 6, 1.0) == 9
    assert lattices_in(14.9, 100, 6, 1.0) == 0
    assert lattices_in(25, 100, 6, 3.0) == 4  # 4 x 15 + 5 x 5 = 85, and a fifth would take 105
    assert lattices_in(25, 85, 6, 3.0) == 4
    assert lattices_in(25, 84.9, 6, 3.0) == 3
    assert lattices_in(25, 2 * EDGE_MM, 6, 1.0) == 0


@pytest.mark.parametrize(("count", "width", "length"), [(0, 25, 100), (3, 0, 100), (3, 25, -1), (3, math.nan, 100)])
def test_what_is_no_panel_is_refused(count, width, length):
    with pytest.raises(NotAPanel):
        lay_out(count, width, length)


@given(st.integers(min_value=1, max_value=60), sides, st.sampled_from([(210.0, 297.0), (215.9, 279.4)]))
def test_labels_lie_apart_and_on_their_paper(count, width, paper):
    size = label_size(width)
    sheets = label_sheets(count, size, paper)
    assert sum(len(sheet) for sheet in sheets) == count
    for sheet in sheets:
        for a, b in combinations(sheet, 2):
            assert not a.overlaps(b)
        for box in sheet:
            assert box.x >= 12
            assert box.y >= 12
            assert box.right <= paper[0] - 12 + 1e-6
            assert box.bottom <= paper[1] - 12 + 1e-6
    assert all(len(sheet) == len(sheets[0]) for sheet in sheets[:-1])


def test_labels_that_are_larger_than_the_paper_are_refused():
    with pytest.raises(NotAPanel):
        label_sheets(3, (60.0, 25.0), (70.0, 297.0))
