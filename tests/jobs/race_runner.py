"""One racer of a race between processes: does one job on one shop each time it is told to go.

Run as a program: WHERE, then the jobs to be done, one argument a round ('reserve NUMBER', 'cancel NUMBER', 'take KEY',
'use TAG NUMBER', 'receive PURCHASE ITEM AMOUNT').
It writes 'ready' when its shop is open, waits for a line on its input before each round, and writes what came of it:
'done', or 'refused' and the sentence.
"""

from __future__ import annotations

import sys

from stockroom.domain.arrival import Arrival
from stockroom.domain.order import CarRequest
from stockroom.domain.refusal import Refusal
from stockroom.jobs.change import cancel, set_quantity
from stockroom.jobs.count import close
from stockroom.jobs.pick import pick
from stockroom.jobs.receive import receive
from stockroom.jobs.reserve import reserve, reserve_what_there_is
from stockroom.jobs.take import take
from stockroom.jobs.use import use
from stockroom.store.database import Shop
from tests.shops import STAMP, line, order


def run(shop: Shop, job: str) -> None:
    """Does one job."""
    what, name = job.split(" ", 1)
    if what == "reserve":
        reserve(shop, name, STAMP)
    elif what == "some":
        reserve_what_there_is(shop, name, STAMP)
    elif what == "cancel":
        cancel(shop, name, STAMP)
    elif what == "pick":
        number, tag = name.rsplit(" ", 1)
        pick(shop, number, tag, STAMP)
    elif what == "use":
        tag, number = name.split(" ", 1)
        use(shop, tag, number, STAMP)
    elif what == "close":
        close(shop, int(name), STAMP)
    elif what == "double":
        set_quantity(shop, name, 1, 2, STAMP)
    elif what == "receive":
        purchase, item, amount = name.split(" ")
        receive(shop, Arrival(item, (amount,), "B2", purchase, lot=purchase), STAMP)
    else:
        car = CarRequest(name, trim_colour="red", hood_colour="fawn")
        take(shop, order(line("tonneau", car=car), cars=[car], number=f"of {name}"), STAMP)


def say(what: str) -> None:
    """One line of output, at once."""
    sys.stdout.write(f"{what}\n")
    sys.stdout.flush()


def main(where: str, *jobs: str) -> None:
    """Opens the shop and races."""
    with Shop.open(where) as shop:
        with shop.read():
            say("ready")
        for job in jobs:
            sys.stdin.readline()
            try:
                run(shop, job)
            except Refusal as refusal:
                say(f"refused {refusal}")
            else:
                say("done")


if __name__ == "__main__":
    main(*sys.argv[1:])
