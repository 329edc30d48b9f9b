"""A trial in a real window on a virtual screen: compared, one chosen, one set up anew, and a photo measured."""

import time
from typing import Any

from builders import COLOUR, ONE_PART_PROMOTER, PROMOTER
from e2e.hands import MARKS, Bench
from trade.crosscut_pictures import Scene, shoot

from benchtool.store.cards import dump

pytestmark = MARKS


def last(screen: dict[str, Any]) -> dict[str, Any]:
    trials = screen.get("trials") or [{}]
    found: dict[str, Any] = trials[-1]
    return found


def says(name: str, words: str) -> Any:
    return lambda s: words in s["widgets"].get(name, {}).get("says", "")


def test_a_trial_is_compared_and_used_and_another_is_set_up_with_a_photo_measured(bench: Bench) -> None:
    cards = bench.folder / "data" / "cards"
    cards.mkdir(parents=True)
    for card in (PROMOTER, ONE_PART_PROMOTER, COLOUR):
        (cards / f"{card.id}.json").write_bytes(dump(card))
    cut = shoot(Scene(seed=3, removed=24, size=(800, 600), share=0.62))
    (bench.folder / "cut.jpg").write_bytes(cut.data)

    bench.start("demo-trial", sees="piece-shell")
    bench.key("shift+t")
    bench.wait(lambda s: s["page"] == "TrialPage", "the page of the trial")
    bench.key("4")
    bench.wait(says("trial-compare-go", "Choose"), "the comparing")
    bench.key("Return")
    bench.wait(lambda s: last(s)["chosen"], "one to be chosen")
    bench.key("Escape")
    bench.wait(lambda s: s["page"] != "TrialPage", "the bench")
    bench.key("u")
    bench.wait(lambda s: not last(s)["chosen"], "the choice to be taken back")

    bench.key("n")
    bench.answer_dialog(str(bench.folder / "offcuts.json"))
    bench.wait(lambda s: not s["pieces"] and "job-title" in s["widgets"], "the new job")
    bench.key("Return")
    bench.wait(lambda s: "piece-name" in s["widgets"], "the form of a piece")
    bench.xdo("type", "--delay", "15", "Bumper")
    bench.key("F6")
    bench.wait(lambda s: "identify-mark" in s["widgets"], "the page that finds out")
    bench.key("m")
    bench.type(">PP+EPDM-TD20<")
    bench.key("Return")
    bench.wait(lambda s: "piece-name" in s["widgets"], "the form again")
    bench.key("Return")
    bench.wait(lambda s: s["pieces"] and "piece-name" not in s["widgets"], "the piece")
    bench.key("shift+t")
    bench.wait(lambda s: "trial-offer-empty" in s["widgets"], "the setting up")
    bench.key("Return")
    bench.wait(lambda s: s["focus"] == "QLineEdit", "the field for a product")
    bench.type("two-part")
    bench.type("base")
    bench.key("ctrl+Return")
    bench.wait(lambda s: "trial-offer-1" in s["widgets"], "the control to be offered")
    bench.key("Tab", "Return")
    bench.wait(says("trial-go", "Set up"), "the trial")
    bench.xdo("mousemove", "900", "400", "click", "--repeat", "6", "5")  # the wheel brings the tests into sight
    time.sleep(1)  # until it lies still
    bench.wait(lambda s: 200 < s["widgets"]["trial-methods-ISO 2409"]["y"] < 540, "the tests")
    bench.click("trial-methods-ISO 2409")
    bench.key("ctrl+Return")
    made = last(bench.wait(lambda s: len(s["trials"]) == 1 and last(s)["strips"] == 6, "six strips"))
    assert made["systems"] == ["Two-part promoter", "No promoter"]
    assert made["controls"] == ["No promoter"]

    bench.key("3")
    bench.click("grade-photo")
    bench.wait(lambda s: "photo-page" in s["widgets"], "the page of a photo")
    bench.key("o")
    bench.answer_dialog(str(bench.folder / "cut.jpg"))
    bench.wait(lambda s: "photo-find" in s["widgets"], "the lattice")
    bench.key("Return")
    bench.wait(lambda s: "photo-strength" in s["widgets"], "the bare area")
    bench.key("Return")
    bench.wait(lambda s: "grade-percent" in s["widgets"] and s["widgets"]["grade-percent"]["says"], "the grade")
    bench.key("Return", "Return")
    graded = last(bench.wait(lambda s: last(s).get("grades"), "the grade in the record"))
    code, percent, from_photo = graded["grades"][0]
    assert code == "3"
    assert abs(percent - cut.removed) <= 3
    assert from_photo
