"""Small cases of planning, drawn by chance that falls the same each time, on a grid of 10 min."""

from datetime import timedelta
from random import Random

from chainbuilder import ChainBuilder, at

from benchtool.job.cards import Gun
from benchtool.plan.hours import ShopHours
from benchtool.plan.work import Room

STEP = timedelta(minutes=10)
HOURS = ((480, 560), (600, 660))
"""08:00-09:20 and 10:00-11:00 on Monday."""
NOW, UNTIL = at(480), at(660)
SHOP_OPEN = [(at(a), at(b)) for a, b in HOURS]


def shop(zone):
    return ShopHours({0: HOURS}, zone)


def small_case(seed, pieces=3):
    """Give chains and a room. Deadlines lie a second after the grid, so that the last start before one is on it."""
    dice = Random(seed)
    chains = []
    for n in range(pieces):
        built = ChainBuilder(
            "abcdef"[n], promised=at(480 + dice.randrange(2, 18) * 10) if dice.random() < 0.4 else None
        )
        for k in range(dice.choice((1, 2, 2, 3))):
            built.task(
                dice.choice((10, 10, 20)), booth=dice.random() < 0.5, gun=Gun.MINI if dice.random() < 0.5 else None
            )
            if k and dice.random() < 0.8:
                opens = dice.choice((0, 10, 20, 30, 60))
                closes = None if dice.random() < 0.4 else opens + dice.choice((0, 10, 20)) + 1 / 60
                built.link(k - 1, k, opens, closes, scuff=10 if dice.random() < 0.3 else None)
        if dice.random() < 0.3:
            built.link(len(built.tasks) - 1, None, dice.choice((10, 40)))
        chains.append(built.chain())
    return chains, Room(hands=dice.choice((1, 1, 2)), booths=dice.choice((1, 2)))
