"""Before and after in a real window: a care sheet saved, a job found again and made once more, the day planned."""

import io
from typing import Any

from e2e.hands import MARKS, Bench
from pypdf import PdfReader

pytestmark = MARKS


def page(name: str) -> Any:
    return lambda s: s["page"] == name


def test_a_finished_job_is_handed_over_found_again_and_made_once_more(bench: Bench) -> None:
    bench.start("demo-finished", sees="piece-tray")
    bench.key("shift+j")
    bench.wait(page("PapersPage"), "what leaves the bench")
    bench.key("Down")
    bench.wait(lambda s: any("1 page on" in w["says"] for w in s["widgets"].values()), "the care sheet")
    bench.key("ctrl+s")
    sheet = bench.folder / "care.pdf"
    bench.answer_dialog(str(sheet))
    bench.wait(lambda _: sheet.exists(), "the file")
    text = "\n".join(p.extract_text() for p in PdfReader(io.BytesIO(sheet.read_bytes())).pages)
    assert "How to care for Tea tray" in text
    assert "Wash it" in text
    assert "Wait" not in text

    bench.key("Escape")
    bench.wait(lambda s: s["page"] != "PapersPage", "the bench")
    bench.key("shift+f")
    bench.wait(page("FindPage"), "the finding")
    bench.xdo("type", "--delay", "15", "matched to the cup")
    bench.wait(lambda s: "find-list" in s["widgets"] and "find-empty" not in s["widgets"], "the tray")
    bench.key("Return")
    bench.wait(lambda s: s["page"] != "FindPage", "the job")

    bench.key("shift+r")
    bench.wait(page("AgainPage"), "the page of the next one like it")
    bench.key("ctrl+Return")
    screen = bench.wait(lambda s: s["coats"] == [0, False], "the new job, with nothing on")
    assert [p["name"] for p in screen["pieces"]] == ["Tea tray", "Lamp shade"]
    assert [len(p["layers"]) for p in screen["pieces"]] == [3, 3]

    bench.key("shift+d")
    bench.wait(page("DayPage"), "the day")
    bench.key("t")
    bench.wait(lambda s: "day-stay-until" in s["widgets"], "the question how long the painter stays")
    bench.type("midnight")
    bench.wait(lambda s: "day-stay-until" not in s["widgets"], "the answer to be kept")
    bench.wait(lambda _: "24:00" in (bench.folder / "data" / "shop.json").read_text(), "the shop to stay open")
    bench.kill()
    bench.start(sees="piece-tray")
    assert [p["name"] for p in bench.screen()["pieces"]] == ["Tea tray", "Lamp shade"]
