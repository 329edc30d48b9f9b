"""The parts of a card's mix as typed: activators, additives, reductions, and whether they make a mix together."""

from collections.abc import Iterator
from itertools import product

from msgspec.structs import replace

from benchtool.job.cards import Activator, Additive, Card, Gun, Reduction, recipe
from benchtool.job.state import recipe_parts
from benchtool.session.cardfields import DENSITY, LONGEST_NAME, Reader, as_it_was, clean, free_slug
from benchtool.session.cardmore import read_flow, read_shelf_lives, read_voc
from benchtool.session.cardtext import CardText
from benchtool.trade.mixing import NotAShare, Of, Share, parse_share
from benchtool.trade.saying import say
from benchtool.trade.substrates import Suits


def has_odd_activators(card: Card | None) -> bool:
    """Whether a card file gives activators to a one-part product; the form then shows them all the same."""
    return card is not None and not card.two_part and bool(card.activators)


_THINNED_HOW = "Its spray viscosity is given: say the usual reduction too, 0 % of base where none goes in."


class PartsReader(Reader):
    """Reads what a card has several of; `ids` gives the id of each part by its row, such as `activator-0`."""

    def __init__(self, faults: list[tuple[str, str]]) -> None:
        super().__init__(faults)
        self.ids: dict[str, str] = {}
        self.clashes: list[tuple[str, str]] = []

    def activators(self, text: CardText, before: Card | None) -> tuple[Activator, ...]:
        """Read the activators, each with the id it had before."""
        made: list[Activator] = []
        taken = {row.id for row in text.activators if row.id}
        for i, row in enumerate(text.activators):
            if row.empty:
                continue
            name = self.name(f"activator-{i}-name", row.name, "Give this activator its name.")
            share = clean(row.share)[:LONGEST_NAME]
            if not share:
                self.faults.append((f"activator-{i}-share", "Say how much of it goes in, such as 2 % of base."))
            else:
                self.share(f"activator-{i}-share", share)
            if row.suits is None:
                self.faults.append((f"activator-{i}-suits", "Say what it suits: rigid parts, flexible ones or any."))
            activator_id = row.id or free_slug(name or "activator", taken)
            taken.add(activator_id)
            self.ids[f"activator-{i}"] = activator_id
            was = before.activator(activator_id) if before is not None else None
            density = self.number(f"activator-{i}-density", row.density, "g/mL", *DENSITY)
            keeps, keeps_opened = read_shelf_lives(self, f"activator-{i}-", row.keeps, row.keeps_opened)
            made.append(
                Activator(
                    id=activator_id,
                    name=name or "?",
                    suits=row.suits or Suits.ANY,
                    share=share or "0",
                    density_g_mL=density,
                    solids_percent=self.number(f"activator-{i}-solids", row.solids, "%", 0, 100),
                    voc=read_voc(self, f"activator-{i}-", name or "?", row.voc, density),
                    keeps=keeps,
                    keeps_opened=keeps_opened,
                    tolerance_percent=self.number(f"activator-{i}-tolerance", row.tolerance, "%", 0, 50),
                    maker=as_it_was(row.maker, was.maker if was is not None else ""),
                )
            )
        if text.two_part and not made:
            self.faults.append(("activator-0-name", "A two-part product needs an activator: name at least one."))
        return tuple(made)

    def additives(self, text: CardText) -> tuple[Additive, ...]:
        """Read the additives, each with the id it had before."""
        made: list[Additive] = []
        taken = {row.id for row in text.additives if row.id}
        for i, row in enumerate(text.additives):
            if row.empty:
                continue
            name = self.name(f"additive-{i}-name", row.name, say("Give this additive its name."))
            share = clean(row.share)[:LONGEST_NAME]
            if not share:
                missing = say("Say how much of it goes in, such as 5 % of base.")
                self.faults.append((f"additive-{i}-share", missing))
            else:
                self.share(f"additive-{i}-share", share)
            additive_id = row.id or free_slug(name or "additive", taken)
            taken.add(additive_id)
            self.ids[f"additive-{i}"] = additive_id
            if row.suits is None:
                missing = say("Say what it suits: rigid parts, flexible ones or any.")
                self.faults.append((f"additive-{i}-suits", missing))
            made.append(
                Additive(
                    id=additive_id,
                    name=name or "?",
                    suits=row.suits or Suits.ANY,
                    share=share or "0",
                    density_g_mL=self.number(f"additive-{i}-density", row.density, "g/mL", *DENSITY),
                )
            )
        return tuple(made)

    def reductions(self, text: CardText) -> Iterator[Reduction]:
        """Read how far it is reduced for each gun."""
        for gun in Gun:
            typed = [clean(t)[:LONGEST_NAME] for t in text.reductions.get(gun, ("", "", ""))]
            flow_s, flow_cup = read_flow(self, f"flow-{gun.value}-", text.flows.get(gun, ("", "")))
            if not any(typed):
                if flow_s is not None and flow_cup is not None:
                    self.faults.append((f"reduction-{gun.value}-usual", _THINNED_HOW))
                continue
            least, usual, most = typed
            if not usual:
                self.faults.append((f"reduction-{gun.value}-usual", "Say the usual one; least and most are extra."))
                continue
            read = []
            for name, share in (("least", least), ("usual", usual), ("most", most)):
                read.append(self.share(f"reduction-{gun.value}-{name}", share) if share else None)
            for (name, low), high in zip((("usual", read[0]), ("most", read[1])), read[1:], strict=True):
                if low is not None and high is not None and _less(high, low):
                    self.clashes.append((f"reduction-{gun.value}-{name}", "It is less than the one before it."))
                    self.faults.append(self.clashes[-1])
            yield Reduction(
                gun=gun, least=least or usual, usual=usual, most=most or usual, flow_cup=flow_cup, flow_s=flow_s
            )


def _less(a: Share, b: Share) -> bool:
    same = a.of is b.of and a.named.lower() == b.named.lower()
    return same and a.of is not Of.PARTS and a.value < b.value


def unmixable(card: Card) -> Iterator[tuple[str, str]]:
    """Find the shares of a card that do not make a mix together, by the field they stand in."""
    bare = replace(card, reductions=())
    choices: tuple[Activator | None, ...] = card.activators or (None,)
    for i, activator in enumerate(card.activators):
        try:
            recipe_parts(recipe(bare, activator, Gun.AIRBRUSH))
        except NotAShare as wrong:
            yield f"activator-{i}-share", str(wrong)
            return
    every = tuple(a.id for a in card.additives)
    for i, additive in enumerate(card.additives):
        try:
            recipe_parts(recipe(bare, choices[0], Gun.AIRBRUSH, (additive.id,)))
        except NotAShare as wrong:
            yield f"additive-{i}-share", str(wrong)
            return
    for reduction in card.reductions:
        for name in ("usual", "least", "most"):
            tried = replace(card, reductions=(replace(reduction, usual=getattr(reduction, name)),))
            try:
                for choice, more in product(choices, ((), every)):
                    recipe_parts(recipe(tried, choice, reduction.gun, more))
            except NotAShare as wrong:
                yield f"reduction-{reduction.gun.value}-{name}", str(wrong)
                return


def share_told(typed: str) -> str:
    """Say how a share was understood, or nothing where it can't be read."""
    try:
        return parse_share(typed, plain=False).words()
    except NotAShare:
        return ""
