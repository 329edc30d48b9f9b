"""What is said of strips of a trial and of what is done to them."""

from collections.abc import Sequence
from datetime import timedelta

from benchtool.job import events as ev
from benchtool.job.cards import Card
from benchtool.job.nextstep import CupAct
from benchtool.session.trialsteps import Kind, StripStep
from benchtool.trade.grademethods import tape_window
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say


def strips_words(numbers: Sequence[int]) -> str:
    """Name strips by their numbers: `strip 4`, `strips 1, 5 and 9`, `strips 1 to 12`."""
    runs: list[list[int]] = []
    for n in sorted(numbers):
        if runs and n == runs[-1][-1] + 1:
            runs[-1].append(n)
        else:
            runs.append([n])
    parts: list[str] = []
    for run in runs:
        parts += [say("{a} to {b}", a=run[0], b=run[-1])] if len(run) > 2 else [str(n) for n in run]
    if len(numbers) == 1:
        return say("strip {number}", number=parts[0])
    if len(parts) < 2:
        return say("strips {numbers}", numbers="".join(parts))
    return say("strips {numbers} and {last}", numbers=", ".join(parts[:-1]), last=parts[-1])


def upper(text: str) -> str:
    """Begin with a capital."""
    return text[:1].upper() + text[1:]


def lower(text: str) -> str:
    """Go on inside a sentence."""
    return text[:1].lower() + text[1:]


def short(step: StripStep, layer: str, coats: int) -> str:
    """Say what is done in a few words, without naming strips; `coats` have been begun on `layer`."""
    method = step.method.value if step.method is not None else ""
    aged = ", ".join(k.value for k in step.aged)
    graded = say("{method}, after {aged}", method=method, aged=aged) if aged else method
    kind = step.ageing.kind if step.ageing is not None else ev.AgeingKind.FLEX
    return {
        Kind.FINISH: lambda: say("Spraying coat {n} of {layer}", n=coats, layer=layer),
        Kind.COAT: lambda: say("Coat {n} of {layer}", n=coats + 1, layer=layer),
        Kind.MIX: lambda: say("Mix {layer}", layer=layer),
        Kind.SCUFF: lambda: step.planned.name if step.planned is not None else "",
        Kind.PREP: lambda: step.planned.name if step.planned is not None else "",
        Kind.PRESS: lambda: say("Press tape on: {test}", test=graded),
        Kind.PULL: lambda: say("Pull the tape: {test}", test=graded),
        Kind.GRADE: lambda: say("Grade: {test}", test=graded),
        Kind.AGE: lambda: upper(kind.value),
        Kind.TAKE_OUT: lambda: say("End of: {ageing}", ageing=kind.value),
        Kind.PLAN: lambda: say("No paint is planned"),
    }.get(step.kind, lambda: "")()


# --- paint -----------------------------------------------------------------------------------------------


def mixing(step: StripStep, layer: str, strips: str, *, several: bool) -> str:
    """Say what the cup of these strips asks for; `several` strips take one cup."""
    if step.stale and step.mix is not None:
        return say(
            "The cup of {layer} is past its pot life by then: empty it, and mix fresh for {strips}.",
            layer=layer,
            strips=strips,
        )
    if step.cup is None or step.mix is None:
        one = say("Mix {layer} for {strips}: one cup for them all.", layer=layer, strips=strips)
        return one if several else say("Mix {layer} for {strips}.", layer=layer, strips=strips)
    what = {
        CupAct.WAIT: say("it stands before it is reduced"),
        CupAct.STIR: say("stir it well, scraping the sides"),
        CupAct.MEND: say("it is out of ratio, mend it"),
    }.get(step.cup.act, say("pour {part}", part=step.cup.part))
    return say("{layer} for {strips}: {what}.", layer=layer, strips=strips, what=what)


def tape_time_words(card: Card, rest: timedelta) -> str:
    """Say that a card asks for more time before tape than the rest before the tests gives; "" where it does not."""
    if card.tape is None or card.tape <= rest:
        return ""
    time = span_words(card.tape.total_seconds())
    return say("The card of {card} asks for {time} before tape: that counts.", card=card.name, time=time)


def pot_life_words(layer: str, *, soon: bool = True) -> str:
    """Say by what a coat is timed that only its cup hurries: it is urgent only where that is `soon`."""
    if soon:
        return say("The pot life of {layer} is running out.", layer=layer)
    return say("The cup of {layer} lasts till then.", layer=layer)


# --- tests -----------------------------------------------------------------------------------------------


def pressing(trial: ev.Trial, method: ev.Method, strips: str) -> str:
    """Say how tape is pressed on, and when it comes off."""
    least, most = tape_window(method, trial.tape_stays)
    if most is None:
        return say(
            "Press tape on {strips}, and leave it on for {time}.",
            strips=strips,
            time=span_words(least.total_seconds()),
        )
    cut = say("Cut {strips} by {method} as Grade tells, then press the tape on.", strips=strips, method=method.value)
    if least:
        pull = say(
            "Pull it {least} to {most} later, one strip at a time.",
            least=span_words(least.total_seconds()),
            most=span_words(most.total_seconds()),
        )
    else:
        pull = say("Pull it within {most}, one strip at a time.", most=span_words(most.total_seconds()))
    return f"{cut} {pull}"


def grading(step: StripStep, strips: str) -> str:
    """Say which test comes."""
    method = step.method.value if step.method is not None else ""
    if step.aged:
        aged = ", ".join(k.value for k in step.aged)
        return say("Grade {strips} by {method}, after {aged}.", strips=strips, method=method, aged=aged)
    return say("Grade {strips} by {method}.", strips=strips, method=method)


# --- ageing ----------------------------------------------------------------------------------------------


def ageing_title(ageing: ev.Ageing, strips: str) -> str:
    """Say on a button that strips are being aged now."""
    return {
        ev.AgeingKind.WATER: say("{strips} are in the water", strips=upper(strips)),
        ev.AgeingKind.HEAT: say("{strips} are in the heat", strips=upper(strips)),
        ev.AgeingKind.COLD: say("{strips} are in the cold", strips=upper(strips)),
    }.get(ageing.kind, say("{strips} were bent", strips=upper(strips)))


def ageing_sentence(ageing: ev.Ageing, strips: str) -> str:
    """Say what to do with strips to age them: where, how warm, for how long."""
    if ageing.kind is ev.AgeingKind.FLEX:
        if ageing.mandrel_mm is None:
            return say("Bend {strips} over the mandrel, paint outwards.", strips=strips)
        return say("Bend {strips} over a {mm} mm mandrel, paint outwards.", strips=strips, mm=f"{ageing.mandrel_mm:g}")
    put = {
        ev.AgeingKind.WATER: say("Put {strips} into water.", strips=strips),
        ev.AgeingKind.HEAT: say("Put {strips} into the oven.", strips=strips),
    }.get(ageing.kind, say("Put {strips} into the freezer.", strips=strips))
    told = [put]
    if ageing.degC is not None:
        told.append(say("It is to be {degC} °C there.", degC=f"{ageing.degC:g}"))
    if ageing.lasts:
        told.append(say("They stay for {time}.", time=span_words(ageing.lasts.total_seconds())))
    return " ".join(told)


def taking_out(kind: ev.AgeingKind, strips: str) -> str:
    """Say that strips come out again."""
    return {
        ev.AgeingKind.WATER: say("Take {strips} out of the water and dab them dry.", strips=strips),
        ev.AgeingKind.HEAT: say("Take {strips} out of the heat.", strips=strips),
        ev.AgeingKind.COLD: say("Take {strips} out of the cold.", strips=strips),
    }.get(kind, say("Let {strips} lie flat again.", strips=strips))


HOT_DEGC = 50.0
"""degC: what is warmer burns a hand that holds it (ISO 13732-1 gives 51 °C for a minute's touch; from memory)."""


def ageing_caution(ageing: ev.Ageing) -> str:
    """Say what can hurt when strips go in or come out; "" for nothing."""
    if ageing.kind is ev.AgeingKind.HEAT or (ageing.degC is not None and ageing.degC > HOT_DEGC):
        return say("Hot: take gloves. Paint gives off solvent in the heat: no flame, fresh air.")
    if ageing.kind is ev.AgeingKind.COLD:
        return say("Cold metal sticks to the skin: take gloves.")
    return ""
