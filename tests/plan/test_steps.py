"""From the real state of a job to chains: what is left, in its order, with waits no shorter than the card's.

The times are those of the cards in tests/builders.py; the sums beside the checks are worked by hand.
"""

from datetime import UTC, timedelta

import pytest
from builders import (
    ADHESIVE_CLEAR,
    CLEAR,
    COLOUR,
    EPOXY,
    ETCH,
    FILLER,
    ONE_PART_PROMOTER,
    PROMOTER,
    START,
    JobBuilder,
    hours,
    minutes,
)
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import CardTime, ForcedDry
from benchtool.job.shop import Shop
from benchtool.plan.hours import ShopHours
from benchtool.plan.search import plan
from benchtool.plan.steps import Left, work_left
from benchtool.plan.work import Chain, Link, Room, Task, Work
from benchtool.rules.preparing import plan_of
from benchtool.trade.mixing import amounts_mL
from benchtool.trade.windows import WindowKind

SHOP = Shop()
OPEN = ShopHours({day: [(0, 1440)] for day in range(7)}, UTC)
BARE = replace(COLOUR, id="bare", name="Silent colour", flash=None, recoat_opens=None, recoat_closes=None)


def left_of(bench: JobBuilder, **more) -> Left:
    return work_left("a", bench.state, SHOP, bench.now, **more)


def chain_of(bench: JobBuilder) -> Chain:
    (chain,) = left_of(bench).chains
    return chain


def said(chain: Chain) -> list[str]:
    return [t.words for t in chain.tasks]


def link(chain: Chain, kind: WindowKind, then: str | None = None) -> Link:
    """The link of this kind into the task of these words; the one that nothing follows without any."""
    (found,) = [
        x for x in chain.links if x.kind is kind and (None if x.then is None else chain.tasks[x.then].words) == then
    ]
    return found


def washed(bench: JobBuilder) -> JobBuilder:
    return bench.prep("wash", "degrease")


def panel(*layers, **more) -> JobBuilder:
    bench = JobBuilder()
    for name, card, activator in layers:
        bench.card(card)
        if name == layers[0][0]:
            bench.piece("panel", **more)
        bench.layer(name, card, activator=activator)
    return bench


def test_a_bare_piece_is_cleaned_and_painted_in_its_order():
    bench = panel(("p", PROMOTER, "rigid"), ("c", COLOUR, None))
    assert said(chain_of(bench)) == [
        "Wash and degrease it",
        "Mix Two-part promoter",
        "Reduce Two-part promoter",
        "Spray coat 1 of Two-part promoter",
        "Spray coat 2 of Two-part promoter",
        "Clean the gun after Two-part promoter",
        "Mix Base colour",
        "Spray coat 1 of Base colour",
        "Clean the gun after Base colour",
    ]


def test_every_wait_to_come_is_the_cards():
    chain = chain_of(washed(panel(("p", PROMOTER, "rigid"), ("c", COLOUR, None), ("k", CLEAR, "slow"))))
    for kind, then, opens, closes in (
        (WindowKind.STAND, "Reduce Two-part promoter", 5, None),
        (WindowKind.STAND, "Spray coat 1 of Two-part promoter", 10, None),
        (WindowKind.FLASH, "Spray coat 2 of Two-part promoter", 15, None),
        (WindowKind.RECOAT, "Spray coat 1 of Base colour", 30, None),
        (WindowKind.RECOAT, "Spray coat 1 of Two-part clear", 20, 24 * 60),
        (WindowKind.POT_LIFE, "Spray coat 2 of Two-part clear", 0, 120),
        (WindowKind.TAPE, None, 24 * 60, None),
        (WindowKind.CURE, None, 7 * 24 * 60, None),
    ):
        found = link(chain, kind, then)
        assert found.opens(START) - START == minutes(opens), (kind, then)
        until = found.closes(START)
        assert (until - START if until is not None else None) == (minutes(closes) if closes is not None else None)
        assert found.constant
    life = link(chain, WindowKind.POT_LIFE, "Spray coat 2 of Two-part clear")
    assert life.from_start
    assert life.by_end
    assert chain.tasks[life.first].words == "Mix Two-part clear"


def test_prep_steps_still_to_do_come_from_the_plan_that_is_given():
    bench = panel(("c", COLOUR, None)).prep("wash")
    piece = bench.state.pieces["panel"]
    prep = {"panel": plan_of(bench.state, piece, bench.tables, bench.now)}
    (chain,) = left_of(bench, prep=prep).chains
    preps = [t for t in chain.tasks if t.work is Work.PREP]
    assert preps[0].id == "a/panel/prep:degrease"
    assert "a/panel/prep:wash" not in [t.id for t in preps]
    assert not any("tack" in t.id for t in preps)
    assert all(not t.booth and t.gun is None for t in preps)


def test_an_unknown_material_asks_for_a_test_strip_and_the_plan_says_that_it_does_not_know_how_long():
    bench = panel(("c", COLOUR, None), substrate="unknown", known="unknown")
    piece = bench.state.pieces["panel"]
    found = left_of(bench, prep={"panel": plan_of(bench.state, piece, bench.tables, bench.now)})
    assert any("test strip" in d.words and d.piece == "panel" for d in found.doubts)


def test_a_coat_being_sprayed_is_a_task_that_was_begun():
    bench = washed(panel(("c", COLOUR, None), ("k", CLEAR, "slow"))).ready("c").start()
    chain = chain_of(bench.wait(minutes=2))
    assert chain.tasks[0].words == "Spray coat 1 of Base colour"
    assert chain.tasks[0].began_at == bench.now - minutes(2)
    assert chain.tasks[0].takes_s == 300
    assert said(chain)[1] == "Clean the gun after Base colour"
    late = chain_of(bench.wait(minutes=30))
    assert late.tasks[0].takes_s == 32 * 60, "it lasts until now at least"
    assert link(late, WindowKind.RECOAT, "Spray coat 1 of Two-part clear").first == 0


def test_a_running_wait_is_what_the_watch_says():
    bench = washed(panel(("p", ONE_PART_PROMOTER, None), ("c", COLOUR, None))).ready("p").coat().wait(minutes=4)
    chain = chain_of(bench)
    flash = link(chain, WindowKind.FLASH, "Spray coat 2 of One-part promoter")
    (window,) = [w for w in bench.all_windows() if w.kind is WindowKind.FLASH]
    assert flash.first is None
    assert flash.since == window.span.started_at
    assert flash.opens(flash.since) == window.span.opens_at
    assert flash.closes(flash.since) == window.span.closes_at
    assert flash.remedy is not None


def test_a_closed_recoat_window_keeps_its_scuff_and_behind_clear_the_shell_is_left_alone():
    bench = washed(panel(("c", COLOUR, None), ("k", CLEAR, "slow"), face="behind clear")).ready("c").coat()
    found = link(chain_of(bench.wait(hours=30)), WindowKind.RECOAT, "Spray coat 1 of Two-part clear")
    assert found.closes(found.since) < bench.now
    assert found.remedy.words == "Scuff the back of Base colour, never the shell"
    scuffed = bench.prep("scuff").wait(minutes=1)
    after = link(chain_of(scuffed), WindowKind.RECOAT, "Spray coat 1 of Two-part clear")
    assert after.closes(after.since) is None


def test_a_finished_piece_gives_only_its_tail_and_nothing_once_that_is_over():
    bench = washed(panel(("k", CLEAR, "slow"))).ready("k").coats(2, apart=minutes(15)).empty()
    chain = chain_of(bench)
    assert chain.tasks == ()
    assert {(x.kind, x.then) for x in chain.links} == {(WindowKind.TAPE, None), (WindowKind.CURE, None)}
    assert left_of(bench.wait(days=8)).chains == []


def test_two_jobs_of_one_id_are_told_apart_by_what_they_are_called_here():
    bench = washed(panel(("c", COLOUR, None)))
    ids = [
        t.id
        for job in ("x/a.json", "y/a.json")
        for c in work_left(job, bench.state, SHOP, START).chains
        for t in c.tasks
    ]
    assert len(set(ids)) == len(ids)


# --- cups --------------------------------------------------------------------------------------------


def test_the_cup_that_stands_is_not_mixed_again():
    bench = washed(panel(("p", PROMOTER, "rigid"))).mix("p").pour("base", 24.5).pour("activator", 0.5).stir("activated")
    bench.wait(minutes=2)
    chain = chain_of(bench)
    assert said(chain)[:2] == ["Reduce Two-part promoter", "Spray coat 1 of Two-part promoter"]
    stand = link(chain, WindowKind.STAND, "Reduce Two-part promoter")
    (window,) = [w for w in bench.all_windows() if w.kind is WindowKind.STAND]
    assert (stand.first, stand.opens(stand.since)) == (None, window.span.opens_at)
    bench.wait(minutes=3).pour("reducer", 25).stir("reduced").wait(minutes=1)
    chain = chain_of(bench)
    assert said(chain)[0] == "Spray coat 1 of Two-part promoter"
    stand = link(chain, WindowKind.STAND, "Spray coat 1 of Two-part promoter")
    (window,) = [w for w in bench.all_windows() if w.kind is WindowKind.STAND]
    assert stand.opens(stand.since) == window.span.opens_at == bench.now + minutes(9)


def test_a_cup_that_is_half_poured_is_finished_first():
    bench = washed(panel(("k", CLEAR, "slow"))).mix("k").pour("base", 30)
    chain = chain_of(bench)
    assert said(chain)[0] == "Mix Two-part clear"
    assert link(chain, WindowKind.POT_LIFE, "Spray coat 2 of Two-part clear").first == 0


def test_pot_life_of_a_cup_that_stands_counts_from_its_real_pour():
    bench = washed(panel(("k", CLEAR, "slow"))).ready("k").wait(minutes=50)
    poured = bench.state.mixes["m1"].activated_at
    for coat in (1, 2):
        life = link(chain_of(bench), WindowKind.POT_LIFE, f"Spray coat {coat} of Two-part clear")
        assert (life.first, life.since, life.by_end) == (None, poured, True)
        assert life.closes(life.since) == poured + hours(2)
        assert life.remedy is not None


def test_a_dead_cup_is_mixed_anew_and_one_that_dies_before_the_shop_opens_too():
    bench = washed(panel(("k", CLEAR, "slow"))).ready("k")
    shut = ShopHours({0: [(480, 481)], 1: [(480, 1080)]}, UTC)  # START is a Monday at 08:00
    (chain,) = left_of(bench.wait(minutes=5), fit=shut.next_fit).chains
    assert said(chain)[0] == "Mix Two-part clear"
    assert any("mix fresh" in d.words for d in left_of(bench, fit=shut.next_fit).doubts)
    assert said(chain_of(bench))[0] == "Spray coat 1 of Two-part clear"
    assert said(chain_of(bench.wait(hours=3)))[0] == "Mix Two-part clear"


def test_where_the_flash_makes_the_coats_too_long_for_one_cup_there_are_several():
    # Mix 10, coat 5, flash 10, coat 5: after 30 min the 20 min of pot life are over, so each coat has its own cup.
    chain = chain_of(washed(JobBuilder().card(FILLER).piece().layer("f", FILLER, coats=3, activator="peroxide")))
    assert [t.work for t in chain.tasks] == [Work.MIX, Work.COAT, Work.CLEAN] * 3
    lives = [x for x in chain.links if x.kind is WindowKind.POT_LIFE]
    assert [(x.first, x.then) for x in lives] == [(0, 1), (1, 2), (3, 4), (4, 5), (6, 7), (7, 8)]
    assert [x.closes(START) - START for x in lives] == [
        minutes(20),
        minutes(15),
    ] * 3  # the cup, and its paint in the gun
    assert [(x.first, x.then) for x in chain.links if x.kind is WindowKind.FLASH] == [(1, 4), (4, 7)]
    # With 35 min two coats come from a cup (10 + 5 + 10 + 5 = 30), the third (45) from another.
    longer = replace(FILLER, pot_life=minutes(35))
    chain = chain_of(washed(JobBuilder().card(longer).piece().layer("f", longer, coats=3, activator="peroxide")))
    assert [t.work for t in chain.tasks] == [
        Work.MIX,
        Work.COAT,
        Work.COAT,
        Work.CLEAN,
        Work.MIX,
        Work.COAT,
        Work.CLEAN,
    ]


def test_the_gun_is_cleaned_after_a_layer_unless_the_cup_is_emptied_or_an_hour_is_gone():
    bench = washed(panel(("c", COLOUR, None), ("k", CLEAR, "slow"))).ready("c").coat().wait(minutes=1)
    assert said(chain_of(bench))[0] == "Clean the gun after Base colour"
    assert said(chain_of(bench.wait(hours=1)))[0] == "Mix Two-part clear"
    again = washed(panel(("c", COLOUR, None), ("k", CLEAR, "slow"))).ready("c").coat().empty().wait(minutes=1)
    assert said(chain_of(again))[0] == "Mix Two-part clear"


# --- what a card does not say ------------------------------------------------------------------------


def test_a_card_without_flash_and_recoat_gives_no_wait_and_a_doubt_that_says_so():
    bench = washed(JobBuilder().card(BARE, CLEAR).piece().layer("c", BARE, coats=2).layer("k", CLEAR, activator="slow"))
    found = left_of(bench)
    chain = found.chains[0]
    for kind, then in (
        (WindowKind.FLASH, "Spray coat 2 of Silent colour"),
        (WindowKind.RECOAT, "Spray coat 1 of Two-part clear"),
    ):
        assert link(chain, kind, then).words == "The card of Silent colour says nothing"
        assert link(chain, kind, then).opens(START) == START
    assert len([d for d in found.doubts if d.layer == "c"]) == 2
    after = left_of(bench.ready("c").coat().wait(minutes=1))
    assert link(after.chains[0], WindowKind.FLASH, "Spray coat 2 of Silent colour").opens(bench.now) <= bench.now
    assert len([d for d in after.doubts if d.layer == "c"]) == 2


def test_an_activated_cup_without_a_pot_life_is_a_doubt():
    bench = washed(panel(("p", PROMOTER, "rigid"), ("k", CLEAR, "slow")))
    (doubt,) = left_of(bench).doubts
    assert (doubt.layer, doubt.words) == (
        "p",
        "The card of Two-part promoter says no pot life: that its cup is sprayed within 4 h of its stand is a guess.",
    )


def test_a_piece_without_layers_is_a_doubt_and_no_chain():
    found = left_of(JobBuilder().piece())
    assert found.chains == []
    assert "No layer is planned on Panel yet." in [d.words for d in found.doubts]


# --- strips ------------------------------------------------------------------------------------------


def test_the_strips_of_a_system_are_one_chain_until_the_trial_is_put_away():
    bench = JobBuilder().plan_trial({"Two-part": [(PROMOTER, "rigid"), COLOUR], "None": [COLOUR]}, each=2)
    chains = left_of(bench).chains
    assert [c.piece_name for c in chains] == ["Two-part, 2 strips", "None, 2 strips"]
    coat = next(t for t in chains[0].tasks if t.work is Work.COAT)
    assert coat.takes_s == 2 * 300
    bench.prep("wash", piece="t1-1").prep("wash", piece="t1-3")
    assert left_of(bench.add(ev.TrialEnded, trial="t1")).chains == []


# --- air ---------------------------------------------------------------------------------------------


def test_the_night_to_come_lengthens_a_wait_to_come_as_it_does_the_watch():
    from benchtool.job.cards import ArrheniusPacing, CardTime

    slow = replace(COLOUR, paces={CardTime.EVERY: ArrheniusPacing(energy_kJ_mol=50.0, reference_degC=20.0)})
    bench = washed(JobBuilder().card(slow, CLEAR).piece().layer("c", slow).layer("k", CLEAR, activator="slow"))
    bench.read_air(20.0, 50.0)
    cold = ev.CoursePoint(at=START + hours(10), air_degC=8.0)
    bench.add(ev.CourseExpected, points=(cold,))
    recoat = link(chain_of(bench), WindowKind.RECOAT, "Spray coat 1 of Two-part clear")
    assert not recoat.constant
    assert recoat.opens(START + hours(1)) - (START + hours(1)) == minutes(20)
    at = START + hours(11)
    assert recoat.opens(at) - at > minutes(35)  # some 2.4 times as long at 8 degC by 50 kJ/mol
    bench.ready("c").at(at).coat()
    (window,) = [w for w in bench.all_windows() if w.kind is WindowKind.RECOAT]
    assert window.span.opens_at == recoat.opens(at)


# --- a painter who follows the plan ------------------------------------------------------------------


def act(bench: JobBuilder, task: Task, piece: str) -> None:
    """Do a task as the plan says, from its start to its end."""
    length = timedelta(seconds=task.takes_s)
    match task.work:
        case Work.PREP:
            bench.at(bench.now + length).prep("wash", "degrease", piece=piece)
        case Work.MIX:
            bench.mix(task.layer)
            cup = bench.mix_state()
            twice = (
                "reducer" in {p.kind.value for p in cup.parts} and bench.state.cards[cup.made.card].stand is not None
            )
            for part, amount in zip(cup.parts, amounts_mL(cup.parts, 50.0), strict=True):
                if part.kind.value != "reducer" or not twice:
                    bench.pour(part.name, amount)
            bench.at(bench.now + length)
            kinds = [p.kind.value for p in cup.parts if p.kind.value != "reducer" or not twice]
            bench.stir({"base": "base", "activator": "activated"}.get(kinds[-1], "reduced"))
        case Work.REDUCE:
            bench.pour("reducer", bench_reducer(bench)).at(bench.now + length).stir("reduced")
        case Work.COAT:
            bench.coat(task.layer, takes=length)
        case Work.SCUFF:
            bench.at(bench.now + length).prep("scuff", piece=piece)
        case Work.CLEAN:
            bench.at(bench.now + length).empty()


def bench_reducer(bench: JobBuilder) -> float:
    from benchtool.job.nextstep import amount_for

    cup = bench.mix_state()
    name = next(p.name for p in cup.parts if p.kind.value == "reducer")
    return amount_for(cup, name)


STACKS = (
    (("p", PROMOTER, "rigid"), ("c", COLOUR, None), ("k", CLEAR, "slow")),
    (("e", EPOXY, "epoxy-b"), ("c", COLOUR, None)),
    (("x", ETCH, None), ("f", FILLER, "peroxide"), ("c", COLOUR, None)),
    (("a", ADHESIVE_CLEAR, None), ("c", COLOUR, None)),
    (("q", ONE_PART_PROMOTER, None), ("c", BARE, None), ("k", CLEAR, "slow")),
)


@pytest.mark.parametrize("stack", STACKS)
@pytest.mark.parametrize("lates", [(0,), (0, 7, 25), (13, 0, 0, 3)])
def test_a_plan_made_anew_after_each_act_never_takes_back_what_was_done(stack, lates):
    """Whoever follows the plan, minutes late at times, is never asked again for what they did, and comes to an end."""
    bench = panel(*stack)
    done: list[str] = []
    for turn in range(40):
        chains = left_of(bench, fit=OPEN.next_fit).chains
        todo = [t.id for c in chains for t in c.tasks]
        assert not {d for d in done if ":fresh:" not in d and ":mix:" not in d and ":reduce:" not in d} & set(todo)
        table = plan(chains, Room(), OPEN, bench.now, effort=200)
        assert not table.cant
        if not table.placed:
            break
        first = table.placed[0]
        assert first.starts_at >= bench.now
        bench.at(first.starts_at + minutes(lates[turn % len(lates)]))
        act(bench, first.task, "panel")
        done.append(first.task.id)
    else:
        pytest.fail(f"it never ends: {done[-8:]}")
    assert bench.state.pieces["panel"].current is None
    waits = ("timing.flash", "timing.recoat-early", "cups.stand")
    early = [f.message for f in bench.findings() if f.rule in waits and "late for the card" not in f.message]
    assert not early


def test_heat_that_is_on_now_shortens_no_wait_of_a_coat_to_come():
    """Nobody sprays under heat: it is taken off before, and no plan knows whether it is put on again."""
    forced = {
        CardTime.FLASH: ForcedDry(degC=60, wait=minutes(5)),
        CardTime.RECOAT_OPENS: ForcedDry(degC=60, wait=minutes(5)),
        CardTime.CURE: ForcedDry(degC=60, wait=minutes(30)),
    }
    card = replace(
        COLOUR, flash=minutes(60), recoat_opens=hours(2), recoat_closes=hours(9), cure=hours(24), forced=forced
    )
    bench = JobBuilder().card(card).piece("panel").layer("a", card, coats=2).layer("b", card, coats=2)
    washed(bench).ready("a").coat("a").wait(minutes=1).heat()
    chain = chain_of(bench.wait(minutes=1))
    end = bench.now + hours(3)
    for kind, wait in ((WindowKind.FLASH, hours(1)), (WindowKind.RECOAT, hours(2)), (WindowKind.CURE, hours(24))):
        to_come = [x for x in chain.links if x.kind is kind and x.first is not None]
        assert to_come, kind
        assert {x.opens(end) for x in to_come} == {end + wait}
    (runs,) = [x for x in chain.links if x.kind is WindowKind.FLASH and x.first is None]
    assert runs.opens(runs.since) < runs.since + minutes(
        10
    )  # what is on the piece dries in the heat, as the watch says
    assert "Heat" in " ".join(d.words for d in left_of(bench).doubts)


def test_a_cup_that_dies_before_its_layer_can_go_on_is_not_planned_with():
    """Mixed at 08:00 with 2 h of pot life, under it a colour that takes 6 h: the cup is dead by then, mix fresh."""
    slow = replace(COLOUR, flash=minutes(30), recoat_opens=hours(6), recoat_closes=None)
    bench = JobBuilder().card(slow, CLEAR).piece("panel").layer("c", slow, 1).layer("k", CLEAR, 2, activator="slow")
    washed(bench).ready("k").wait(minutes=5)
    left = left_of(bench, fit=OPEN.next_fit)
    (chain,) = left.chains
    assert [t.id for t in chain.tasks if ":mix:" in t.id] == ["a/panel/c:mix:1", "a/panel/k:mix:1"]
    assert any("past its pot life by then" in d.words for d in left.doubts)
    table = plan([chain], Room(), OPEN, bench.now)
    assert not [w for w in table.waits if w.missed]


def test_a_recoat_window_without_a_longest_flash_closes_between_coats_and_a_scuff_opens_it():
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, 3, activator="slow").ready().coat()
    chain = chain_of(bench)
    for then in ("Spray coat 2 of Two-part clear", "Spray coat 3 of Two-part clear"):
        found = next(x for x in chain.links if x.kind is WindowKind.FLASH and chain.tasks[x.then].words == then)
        assert found.closes(bench.now) == bench.now + hours(24)
        assert found.remedy is not None
        assert found.remedy.work is Work.SCUFF
