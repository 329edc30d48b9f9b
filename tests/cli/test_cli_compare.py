"""`benchtool compare`: the shapes of a file, the scales of grades, and the figures against published ones."""

import json

import pytest
from cli.asking import ask
from hypothesis import given, settings
from hypothesis import strategies as st

FOUR = {
    "plain tape": {"groups": {"one-part": [5], "two-part": [5], "clear": [5], "none": [5]}},
    "stick scratch": {"groups": {"one-part": [3], "two-part": [5], "clear": [4], "none": [1]}},
    "fingernail": {"groups": {"one-part": [3], "two-part": [5], "clear": [4], "none": [2]}},
}
"""Common practice, no source."""


def compare(data, *words):
    return ask("compare", "-", *words, stdin=data if isinstance(data, str) else json.dumps(data))


def values(data):
    said = compare(data, "--json")
    assert said.status == 0, said.err
    return said.values


def refused(data):
    said = compare(data)
    assert said.status == 2
    return said.err


@pytest.mark.parametrize(
    ("groups", "p", "smallest"),
    [
        ([[5, 5, 5], [1, 2, 1]], 0.1, 0.1),  # 2/C(6,3): three against three never get below
        ([[5, 5, 4], [4, 3, 4]], 0.3, 0.1),  # all C(6,3) splits
        ([[5, 5, 5, 5], [1, 2, 1, 3]], 2 / 70, 2 / 70),  # 2/C(8,4)
        ([[19, 22, 16, 29, 24], [20, 11, 17, 12]], 1 / 9, 2 / 126),  # scipy.stats.mannwhitneyu, documented example
        ([[5, 5, 4], [3, 4, 3], [1, 2, 0]], 0.0071429, 6 / 1680),  # Kruskal and Wallis 1952, all 1680 ways
        ([[5, 5, 5], [4, 4, 4], [3, 3, 3]], 6 / 1680, 6 / 1680),
        ([[5], [1]], 1, 1),
        ([[3], [2], [1], [0]], 1, 1),
    ],
)
def test_exact_p(groups, p, smallest):
    got = values({"groups": groups})
    assert got["p_exact"] == pytest.approx(p, abs=1e-6)
    assert got["smallest_possible_p"] == pytest.approx(smallest, abs=1e-6)
    assert sorted(got["order"]) == [f"group {i}" for i in range(1, len(groups) + 1)]


def test_freeman_halton():
    # scipy.stats.fisher_exact documents this table; its random estimate is 0.0603
    groups = [[5] * 8 + [4] * 2 + [3] * 3, [5] + [4] * 5 + [3] * 4]
    assert values({"groups": groups})["freeman_halton_p"] == pytest.approx(0.0571471, abs=1e-6)


def test_four_strips():
    got = values({"tests": FOUR})
    assert got["order"] == ["two-part", "clear", "one-part", "none"]
    assert got["levels"] == [["two-part"], ["clear"], ["one-part"], ["none"]]
    assert got["control"] == ["none"]
    assert got["p_exact"] is None
    assert got["smallest_possible_p"] == 1
    assert [t["p_exact"] for t in got["tests"]] == [1, 1, 1]
    assert [t["tells_apart"] for t in got["tests"]] == [False, True, True]
    assert got["words"] == " ".join(got["sentences"])
    assert got["sentences"][1] == "That is no proof that no promoter is needed."
    assert "With one strip of each, this shows a difference and proves none." in got["sentences"]


def test_for_a_reader():
    text = compare({"tests": FOUR}).out
    assert "tape alone does not tell them apart here; look at the scratch grades.\n" in text
    assert "fingernail:\n  two-part  5\n  clear     4\n  one-part  3\n  none      2\n" in text


SAME = [
    {"groups": {"a": [5, 4], "b": [1, 2]}},
    {"a": [5, 4], "b": [1, 2]},
    [{"name": "a", "grades": [5, 4]}, {"name": "b", "grades": [1, 2]}],
    {"groups": [{"name": "a", "grades": [5, 4]}, {"name": "b", "grades": [1, 2]}]},
    {"tests": {"grades": {"groups": {"a": [5, 4], "b": [1, 2]}}}},
    {"tests": {"grades": {"a": [5, 4], "b": [1, 2]}}},
    {"tests": [{"test": "grades", "groups": {"a": [5, 4], "b": [1, 2]}}]},
    {"groups": {"a": ["5", "4"], "b": ["1", 2]}, "best": "high", "note": "none"},
]


@pytest.mark.parametrize("data", SAME)
def test_the_shapes_of_a_file(data):
    got = values(data)
    assert got["order"] == ["a", "b"]
    assert got["p_exact"] == pytest.approx(1 / 3)
    assert got["tests"][0]["test"] == "grades"


def test_groups_without_names():
    assert values([[1, 2], [5, 4]])["order"] == ["group 2", "group 1"]
    assert values({"groups": [[1], [5]]})["order"] == ["group 2", "group 1"]
    assert values({"groups": {"a": 1, "b": 2}})["order"] == ["b", "a"], "one strip needs no list"


@pytest.mark.parametrize(
    ("data", "order", "scale"),
    [
        # ISO 2409: 0 is best
        ({"scale": "ISO 2409", "groups": {"a": [0, 1], "b": [2, 3]}}, ["a", "b"], "ISO 2409"),
        ({"a": ["class 1"], "b": ["class 0"]}, ["b", "a"], "ISO 2409"),
        ({"tests": {"ISO 2409": {"a": [1], "b": [0]}}}, ["b", "a"], "ISO 2409"),
        # ASTM D3359: 5 is best
        ({"scale": "ASTM D3359 B", "groups": {"a": ["4B"], "b": ["5B"]}}, ["b", "a"], "ASTM D3359 B"),
        ({"method": "D3359 B", "groups": {"a": [4], "b": [5]}}, ["b", "a"], "ASTM D3359 B"),
        ({"a": ["4A"], "b": ["5A"]}, ["b", "a"], "ASTM D3359 A"),
        ({"a": ["0B"], "b": ["5B"]}, ["b", "a"], "ASTM D3359 B"),
        # ISO 15184: harder is better
        ({"a": ["2H"], "b": ["HB"], "c": ["5B"]}, ["a", "b", "c"], "ISO 15184 pencil"),
        ({"scale": "pencil", "groups": {"a": ["5B"], "b": ["1B"]}}, ["b", "a"], "ISO 15184 pencil"),
        ({"best": "low", "groups": {"a": [12.5], "b": [3]}}, ["b", "a"], "figures"),
        ({"groups": {"a": [12.5], "b": [3]}}, ["a", "b"], "figures"),
    ],
)
def test_scales(data, order, scale):
    got = values(data)
    assert got["order"] == order
    assert got["tests"][0]["scale"] == scale
    if scale == "figures":
        assert "figure was taken as the better grade." in got["words"]


def test_every_test_has_its_own_scale():
    got = values({
        "scale": "ISO 2409",
        "tests": {
            "dry": {"a": [0], "b": [4]},
            "wet": {"scale": "ASTM D3359 B", "groups": {"a": ["5B"], "b": ["1B"]}},
        },
    })  # fmt: skip
    assert got["order"] == ["a", "b"]
    assert [t["scale"] for t in got["tests"]] == ["ISO 2409", "ASTM D3359 B"]
    assert got["tests"][1]["groups"][0]["grades"] == ["5B"]


@pytest.mark.parametrize(
    "data",
    [
        {"groups": {"a": [1], "b": [5]}, "control": "b"},
        [{"name": "a", "grades": [1]}, {"name": "b", "grades": [5], "control": True}],
        {"tests": {"plain tape": {"a": [1], "b": [5]}}, "control": "b"},
    ],
)
def test_the_control(data):
    assert values(data)["control"] == ["b"]
    assert "No control" not in values(data)["words"]


@pytest.mark.parametrize(
    "data",
    [
        {"groups": {"a": [1, 2]}},
        {"groups": {"a": [], "b": []}},
        {"groups": {"a": [1], "b": []}},
        [list(range(i, 120, 4)) for i in range(4)],
    ],
)
def test_no_p_says_why(data):
    got = values(data)
    assert got["p_exact"] is None
    assert "two systems" in got["why"] or "too many strips" in got["why"]


@pytest.mark.parametrize(
    ("data", "word"),
    [
        ("", "is no JSON"),
        ("{", "is no JSON"),
        ("[" * 100_000, "nested too deep"),
        ("[[1], [NaN]]", "NaN is no grade"),
        ("[[1], [-Infinity]]", "-Infinity is no grade"),
        ("[[1], [1e999]]", "has to be a number"),
        ("[[1], [%s]]" % ("9" * 5000), "too long"),
        ('{"a": [1], "a": [2]}', "“a” is there twice"),
        ("[]", "no groups"),
        ("{}", "no groups"),
        ("3", "no groups"),
        ("null", "no groups"),
        ('{"groups": {}}', "no groups"),
        ('{"groups": 5}', "no groups"),
        ('{"tests": {}}', "no tests"),
        ('{"tests": {"x": {}}}', "no groups"),
        ("[1, 2]", "one list of grades"),
        ("[[1], [[2]]]", "is no grade"),
        ("[[1], [null]]", "leave out a strip"),
        ("[[1], [true]]", "is no grade"),
        ('[["good"], [1]]', "is no grade known here"),
        ('[["5B"], ["3B"]]', "name the scale"),
        ('{"scale": "cross-cut", "groups": [[1], [2]]}', "write which"),
        ('{"scale": "ASTM D3359", "groups": [[1], [2]]}', "write which"),
        ('{"scale": "guess", "groups": [[1], [2]]}', "guess"),
        ('{"scale": "ISO 2409", "groups": [[1], [6]]}', "“6”"),
        ('{"scale": "ISO 2409", "groups": [[1], [1.5]]}', "1.5"),
        ('{"scale": "ISO 2409", "best": "high", "groups": [[1], [2]]}', "other way round"),
        ('{"best": "most", "groups": [[1], [2]]}', "high or low"),
        ('{"groups": [[1], [2]], "contol": "x"}', "contol"),
        ('{"groups": {"a": [1]}, "control": "x"}', "none of the groups"),
        ('[{"name": "a", "grades": [1]}, {"name": "a", "grades": [2]}]', "twice"),
        ('[{"name": "a"}]', "name and grades"),
        ('[{"name": 3, "grades": [1]}]', "name of a group"),
        ('{"": [1], "b": [2]}', "without a name"),
    ],
)
def test_input_that_is_no_use(data, word):
    assert word in refused(data)


def test_files(tmp_path):
    path = tmp_path / "grades.json"
    path.write_text('\ufeff{"a": [5], "b": [1]}', encoding="utf-8")
    assert ask("compare", str(path), "--json").values["order"] == ["a", "b"]
    path.write_bytes(b"\xff\xfe\x00")
    assert ask("compare", str(path)).status == 2
    for name in (str(tmp_path), str(tmp_path / "none.json"), "a\0b"):
        assert ask("compare", name).status == 2
    assert ask("compare").status == 2


ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=4) | st.sampled_from(["5B", "H", "4A"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["groups", "tests", "scale", "best", "control", "name", "grades", "none", "a"]), inner,
            max_size=3,
        )
    ),
    max_leaves=8,
)  # fmt: skip


@given(ANY)
@settings(max_examples=150, deadline=None)
def test_whatever_is_in_the_file(data):
    said = compare(data, "--json")  # `ask` holds the contract: one line and 2, or one sound object
    assert said.status in (0, 2)
    assert "can't be worked out" not in said.err
    assert compare(data).status == said.status
