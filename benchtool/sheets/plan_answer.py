"""A plan as values for scripts: its steps and waits, what falls into the night, what is missed, what can't fit."""

from datetime import datetime, tzinfo

from benchtool.plan.latest import Latest
from benchtool.plan.stepsday import DayPlan
from benchtool.plan.work import Cost, Placed, Waiting
from benchtool.sheets.plan_words import next_words, nights, told_of
from benchtool.sheets.state_answer import stamp
from benchtool.sheets.values import Values, with_why
from benchtool.trade.windows import FOR_GOOD


def plan_answer(plan: DayPlan, zone: tzinfo | None = None) -> Values:
    """Give a whole plan. Times are RFC 3339 in UTC; those in sentences are by the clock on the wall in `zone`."""
    table = plan.timetable
    return {
        "at": stamp(plan.asked_at),
        "until": stamp(table.until),
        "by": table.by.value,
        "proved": table.proved,
        "next": next_words(plan, plan.asked_at, zone),
        "jobs": [{"job": key, "title": title} for key, title in plan.jobs.items()],
        "steps": [_step(plan, p) for p in table.placed],
        "waits": [_wait(plan, w) for w in table.waits],
        "night": [
            {**_of(plan, w.job, w.piece), "layer": w.layer, "kind": w.kind.value, "words": w.words,
             "opens_at": _stamp(w.opens_at), "closes_at": _stamp(w.closes_at), "goes_on_at": stamp(at),
             **({"why": "it does not close"} if w.closes_at is None else {})}
            for w, at in nights(plan)
        ],
        "missed": [_wait(plan, w) for w in table.waits if w.missed],
        "cant": [{**_of(plan, c.job, c.piece), "piece_name": c.piece_name, "because": c.because} for c in table.cant],
        "latest": [_latest(plan, x) for x in plan.latest],
        "order": [_of(plan, *key) for key in table.order],
        "doubts": [{**_of(plan, d.job, d.piece), "piece_name": d.piece_name, "words": d.words} for d in plan.doubts],
        "cost": _cost(table.cost),
        "as_they_came": _cost(table.simple),
        "sentences": [{"word": t.word, "sentence": t.sentence, "trouble": t.trouble} for t in told_of(plan, zone)],
        "faults": list(plan.faults),
    }  # fmt: skip


def _of(plan: DayPlan, job: str, piece: str) -> Values:
    return {"job": job, "piece": piece, "piece_name": plan.piece_name(job, piece)}


def _stamp(at: datetime | None) -> str | None:
    return stamp(at) if at is not None and at < FOR_GOOD else None


def _step(plan: DayPlan, placed: Placed) -> Values:
    task = placed.task
    why = []
    if task.layer is None:
        why.append("it is about the whole piece")
    if task.coat is None:
        why.append("it is no coat")
    if placed.booth is None:
        why.append("it takes no booth")
    values: Values = {
        **_of(plan, task.job, task.piece),
        "layer": task.layer,
        "layer_name": plan.layer_name(task.job, task.piece, task.layer) or None,
        "work": task.work.value,
        "coat": task.coat,
        "starts_at": stamp(placed.starts_at),
        "ends_at": stamp(placed.ends_at),
        "begun": task.began_at is not None,
        "hand": placed.hand + 1,
        "booth": placed.booth + 1 if placed.booth is not None else None,
        "words": task.words,
    }
    return with_why(values, why)


def _wait(plan: DayPlan, wait: Waiting) -> Values:
    why = []
    if wait.layer is None:
        why.append("it is about the whole piece")
    if wait.closes_at is None:
        why.append("it does not close")
    if wait.opens_at >= FOR_GOOD:
        why.append("it never ends in this air")
    values: Values = {
        **_of(plan, wait.job, wait.piece),
        "layer": wait.layer,
        "kind": wait.kind.value,
        "words": wait.words,
        "from_at": stamp(wait.from_at),
        "opens_at": _stamp(wait.opens_at),
        "closes_at": _stamp(wait.closes_at),
        "missed": wait.missed,
    }
    return with_why(values, why)


def _latest(plan: DayPlan, latest: Latest) -> Values:
    values: Values = {
        **_of(plan, latest.job, latest.piece),
        "task": latest.task.words,
        "planned_at": stamp(latest.planned_at),
        "begin_by": stamp(latest.for_today),
        "begin_by_for_promise": _stamp(latest.for_promise),
    }
    return with_why(values, ["it is promised for no day, or can't be done by then"])


def _cost(cost: Cost) -> Values:
    return {
        "left_out": cost.left_out, "missed": cost.missed, "late_s": cost.late_s, "last_s": cost.last_s,
        "sum_s": cost.sum_s,
    }  # fmt: skip
