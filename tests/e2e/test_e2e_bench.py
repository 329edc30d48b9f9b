"""The bench in a real window on a virtual screen, driven by real keys and the mouse, killed and started again."""

import time
from collections.abc import Callable
from typing import Any

from builders import CLEAR, COLOUR, PROMOTER
from e2e.hands import MARKS, Bench
from msgspec.structs import replace

from benchtool.store.cards import dump

pytestmark = MARKS


def has(rule: str) -> Callable[[dict[str, Any]], bool]:
    return lambda s: any(f.startswith(rule) for f in s["findings"])


def lacks(rule: str) -> Callable[[dict[str, Any]], bool]:
    return lambda s: not any(f.startswith(rule) for f in s["findings"])


def test_one_layer_from_the_wrong_activator_to_a_killed_process(bench: Bench) -> None:
    bench.start()
    bench.click("piece-trim")
    bench.click("activator-rigid")
    bench.wait(has("promoter.activator-type"), "the stop about the activator")
    bench.click("activator-flexible")
    bench.wait(lacks("promoter.activator-type"), "the stop to go")

    bench.key("m")
    bench.key("ctrl+a")
    bench.type("60 mL")
    bench.wait(lambda s: s["widgets"].get("mix-go", {}).get("says", "").startswith("Poured"), "the first pour")
    bench.type("1 fl oz")
    bench.wait(lambda s: s["widgets"]["mix-go"]["says"] == "Poured 0.59 mL", "the activator's pour")
    bench.type("1 mL")
    screen = bench.wait(has("mixing.off-ratio"), "the finding about the ratio")
    [words] = [f for f in screen["findings"] if f.startswith("mixing.off-ratio")]
    # Check value, common practice, no source.
    assert "69 % over" in words
    assert "3.38 %" in words
    assert screen["widgets"]["mix-go"]["says"] == "Poured 20 mL"
    bench.click("mix-go")
    bench.wait(lacks("mixing.off-ratio"), "the mix to be mended")

    bench.key("m")
    bench.wait(lambda s: any(d[1] == "stand" and "Trim" in d[0] for d in s["due"]), "the stand time")
    bench.clock_on(5 * 60 + 1)
    bench.wait(lambda s: s["widgets"].get("mix-go", {}).get("says", "").startswith("Poured"), "the reducer's pour")
    bench.click("mix-go")
    bench.wait(lambda s: s["widgets"].get("mix-go", {}).get("says") == "Stirred", "the second stirring")
    bench.click("mix-go")
    bench.clock_on(10 * 60 + 1)
    bench.wait(lacks("timing.stand"), "the second stand time to end")

    bench.key("s")
    bench.wait(lambda s: s["coats"] == [0, True], "coat 1 to start")
    bench.clock_on(180)
    bench.key("d")
    bench.wait(lambda s: s["coats"] == [1, False], "coat 1 to be done")
    bench.clock_on(240)
    bench.key("s")
    screen = bench.wait(lambda s: s["waiver"], "the stop with the time left")
    assert "Wait 10:5" in screen["waiver"] or "Wait 11:0" in screen["waiver"]
    assert screen["coats"] == [1, False]
    bench.key("Escape")
    bench.wait(lambda s: not s["waiver"], "the question to go")

    before = bench.screen()
    bench.kill()
    bench.start()
    after = bench.screen()
    ends = [{(d[0], d[1]): s["now"] + d[3] for d in s["due"] if d[3]} for s in (before, after)]
    assert ends[0]
    assert ends[0].keys() == ends[1].keys()
    for place, end in ends[0].items():
        assert abs(ends[1][place] - end) < 0.01, place
    assert before["pid"] != after["pid"]

    bench.clock_on(11 * 60)
    bench.click("piece-trim")
    bench.wait(lambda s: "act-start" in s["widgets"] and s["widgets"]["act-start"]["says"] == "Start coat 2", "coat 2")
    bench.wait(lacks("timing.flash"), "the flash to be over")
    bench.key("s")
    bench.wait(lambda s: s["coats"] == [1, True], "coat 2 to start")


def says(name: str, words: str) -> Callable[[dict[str, Any]], bool]:
    return lambda s: words in s["widgets"].get(name, {}).get("says", "")


def test_a_small_cup_measured_overpoured_mended_and_sprayed(bench: Bench) -> None:
    bench.start()
    bench.click("piece-trim")
    bench.click("activator-flexible")
    bench.key("m")
    bench.key("ctrl+a")
    bench.type("12 mL")
    bench.wait(says("mix-go", "Poured 6 mL"), "the mark of the base")  # 5.88 mL, as far as the marks go
    bench.key("Return")
    bench.wait(says("mix-go", "Poured 0.12 mL"), "the mark of the activator")
    bench.type("0.3 mL")
    screen = bench.wait(has("mixing.off-ratio"), "the finding about the ratio")
    # 0.3 mL is 2 % of 15 mL: 9 mL more, by hand
    assert screen["widgets"]["mix-go"]["says"] == "Poured 9 mL"
    bench.key("Return")
    bench.wait(lacks("mixing.off-ratio"), "the mix to be mended")
    bench.key("m")
    bench.clock_on(5 * 60 + 1)
    bench.wait(says("mix-go", "Poured 15"), "the reducer's pour")
    bench.click("mix-go")
    bench.wait(says("mix-go", "Stirred"), "the second stirring")
    bench.click("mix-go")
    bench.clock_on(10 * 60 + 1)
    bench.wait(lacks("timing.stand"), "the second stand time to end")

    bench.key("c")
    bench.wait(lambda s: "sums-go" in s["widgets"], "the sums")
    bench.key("Escape")
    bench.wait(lambda s: "part-Base" in s["widgets"], "the bench")
    bench.key("o")
    bench.wait(lambda s: "part-Base" not in s["widgets"], "the shop")
    bench.key("Escape")
    bench.wait(lambda s: "part-Base" in s["widgets"], "the bench again")
    bench.key("s")
    bench.wait(lambda s: s["coats"] == [0, True], "coat 1 to start")


def left(screen: dict[str, Any], place: str, kind: str) -> float:
    """Seconds left of a window, as of the moment the screen was written down."""
    return next((d[3] for d in screen["due"] if place in d[0] and d[1] == kind), -1.0)


def pedal(bench: Bench, coats: list[object]) -> None:
    """Press the hands-free key until the coats stand so: a press that hears what calls does nothing else."""
    for _ in range(8):
        if bench.screen()["coats"] == coats:
            return
        bench.key("Next")
        time.sleep(2)  # within a second and a half of the last it would be taken for a bounce
    assert bench.screen()["coats"] == coats


def test_the_air_cools_a_wait_grows_and_the_pedal_sprays_on(bench: Bench) -> None:
    bench.start()
    bench.click("piece-dome")
    before = bench.wait(lambda s: left(s, "Clear dome", "flash") > 0, "the flash of the demo")
    ends_at = before["now"] + left(before, "Clear dome", "flash")
    bench.key("r")
    bench.wait(lambda s: "reading-air" in s["widgets"], "the strip for a reading")
    bench.xdo("type", "10")
    bench.key("Tab", "ctrl+a")
    bench.type("60")
    cold = bench.wait(lambda s: any("takes 2 times as long" in w for w in s["words"]), "the watch to say why")
    assert any("10 °C below the card's 20" in w for w in cold["words"])
    # By hand: at 10 K below the card's own temperature the rest of the wait, by the demo's card, takes twice as long.
    rest = ends_at - cold["now"]
    assert abs(left(cold, "Clear dome", "flash") - 2 * rest) < 0.05 * rest

    bench.key("g")
    bench.wait(lambda s: "air-plot" in s["widgets"], "the page of the air")
    bench.key("Escape")
    bench.key("f")
    bench.wait(lambda s: s["far"], "the far view")
    bench.clock_on(left(bench.screen(), "Clear dome", "flash") + 2)
    bench.wait(lambda s: any(d[2] == "Now" and "Clear dome" in d[0] for d in s["due"]), "the flash to be over")
    pedal(bench, [1, True])
    assert bench.screen()["far"]
    bench.clock_on(60)
    pedal(bench, [2, False])

    kept = bench.screen()
    bench.kill()
    bench.start()
    again = bench.screen()
    ends = [{(d[0], d[1]): s["now"] + d[3] for d in s["due"] if d[3]} for s in (kept, again)]
    assert ends[0].keys() == ends[1].keys()
    for place, end in ends[0].items():
        assert abs(ends[1][place] - end) < 0.01, place


def test_a_marked_bumper_from_unknown_to_a_full_stack(bench: Bench) -> None:
    """Mark, material, stack in any order and the first step of cleaning, by keys alone; undo takes it back."""
    cards = bench.folder / "data" / "cards"
    cards.mkdir(parents=True)
    red = replace(COLOUR, id="red", name="Bumper red")
    for card in (PROMOTER, red, CLEAR):
        (cards / f"{card.id}.json").write_bytes(dump(card))
    bench.start()

    def newest(screen: dict[str, Any]) -> dict[str, Any]:
        found: dict[str, Any] = screen["pieces"][-1] if screen.get("pieces") else {}
        return found if found.get("name") == "Bumper" else {}

    bench.key("a")
    bench.wait(lambda s: "piece-name" in s["widgets"], "the form of a piece")
    bench.xdo("type", "--delay", "15", "Bumper")
    bench.key("F6")
    bench.wait(lambda s: "identify-mark" in s["widgets"], "the page that finds out")
    bench.key("m")
    bench.type(">PP+EPDM-TD20<")
    bench.key("Return")
    bench.wait(lambda s: "piece-name" in s["widgets"], "the form again")
    bench.key("Return")
    piece = newest(bench.wait(newest, "the piece"))
    assert (piece["substrate"], piece["flex"], piece["mark"]) == ("tpo", "flexible", ">PP+EPDM-TD20<")
    bench.key("z")
    bench.wait(lambda s: s["focus"] == "QLineEdit" and "build-page" in s["widgets"], "the builder")
    for words in (CLEAR.name, red.name, PROMOTER.name):
        bench.type(words)
    bench.key("ctrl+Return")
    piece = newest(bench.wait(lambda s: newest(s).get("layers"), "the stack"))
    assert piece["layers"] == [PROMOTER.id, red.id, CLEAR.id]
    assert piece["activators"][0] == "flexible"
    bench.key("p")
    bench.wait(lambda s: any(name.startswith("prep-") for name in s["widgets"]), "the strip of preparing")
    bench.key("Return")
    piece = newest(bench.wait(lambda s: newest(s).get("steps"), "the first step"))
    assert piece["steps"] == ["wash"]
    bench.key("u", "u")
    bench.wait(lambda s: newest(s).get("layers") == [] and newest(s).get("steps") == [], "both taken back")
