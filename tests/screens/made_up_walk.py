"""A walk made by hand that changes as it is walked, with jobs as simple as can be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stockroom.domain.quantities import show_length
from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import make_tag
from stockroom.jobs.cut import CutMade
from stockroom.jobs.other_stock import AnotherLot
from stockroom.jobs.pick import Picked, Walk, WalkStop
from stockroom.jobs.replan import RollPutRight
from stockroom.jobs.shorter import DoesNotGo, Shorter
from stockroom.screens.fetching import PickJobs

CARPET = make_tag("R", 1042)
OTHER_CARPET = make_tag("R", 1043)
OTHER_LOT = make_tag("R", 1044)
BINDING = make_tag("R", 2001)
STUDS = make_tag("B", 77)
CLIPS = make_tag("B", 78)
STRANGER = make_tag("B", 900)

STOPS = (
    WalkStop("L-1042", "Shelf 1", 1, BINDING, "binding/red", "Edge binding, red", "red", "narrow", "D17", "pick",
             "3.10 m", 0, 0, ("BF", "BSL left", "BSR right"), False),
    WalkStop("L-1042", "Rack 3, upper", 2, CARPET, "boot-carpet/red", "Ribbed boot carpet, red", "red", "cloth", "D17",
             "cut", "1.30 m", 2100, 3400, ("BF", "BSL left"), True),
    WalkStop("L-1042", "Bin 12", 5, STUDS, "stud", "Turn-button stud", "", "hardware", "", "pick", "8", 0, 0,
             ("BF",), False),
    WalkStop("L-1043", "Bin 12", 5, STUDS, "stud", "Turn-button stud", "", "hardware", "", "pick", "4", 0, 0,
             ("TC",), False),
    WalkStop("L-1043", "Bin 13", 6, CLIPS, "clip", "Spring clip", "", "hardware", "", "pick", "6", 0, 0,
             ("TC",), False),
)  # fmt: skip
WAITING = ("Order L-1042, line 2 waits for bag-length: Is the handles bag the long one or the short one?",)
SHORT = ("Order L-1042: BRB face needs 0.52 m of ribbed boot carpet, red.",)


class MadeUpWalk:
    """What the jobs of picking answer; `done` is all that they did, in order."""

    def __init__(self, stops: Sequence[WalkStop] = STOPS, offcut: str = "") -> None:
        self.offcut = offcut
        self.stops = list(stops)
        self.taken: list[tuple[WalkStop, str]] = []
        self.done: list[tuple[object, ...]] = []

    @property
    def jobs(self) -> PickJobs:
        """The jobs, as the screens are given them."""
        return PickJobs(
            self.walk, self.pick, self.pick_mixed, self.pick_short, self.put_back, self.cut, self.measure,
            self.mark_flaw, self.keep_side_piece,
        )  # fmt: skip

    def walk(self, numbers: Sequence[str]) -> Walk:
        mine = tuple(stop for stop in self.stops if stop.order in numbers)
        done = tuple(f"{stop.amount} of {stop.title} from {stop.tag} ({by})" for stop, by in self.taken)
        first = "L-1042" in numbers
        return Walk(tuple(numbers), mine, done, WAITING if first else (), SHORT if first else ())

    def pick(self, number: str, tag: str, stamp: Stamp) -> Picked:
        planned = next((one for one in self.stops if one.order == number and one.how == "cut"), None)
        if tag == OTHER_LOT and planned is not None:
            raise AnotherLot(f"{tag} is dye lot D21; order {number} holds dye lot D17.", number, tag)
        if tag == OTHER_CARPET and planned is not None:
            return self._moved(planned, tag, "pick", stamp)
        return self._pick("pick", number, tag, "", stamp)

    def pick_mixed(self, number: str, tag: str, because: str, stamp: Stamp) -> Picked:
        planned = next(one for one in self.stops if one.order == number and one.how == "cut")
        return self._moved(planned, tag, f"mix, {because}", stamp)

    def _moved(self, planned: WalkStop, tag: str, what: str, stamp: Stamp) -> Picked:
        self.done.append((what, planned.order, tag, stamp.by))
        self.stops[self.stops.index(planned)] = replace(planned, tag=tag)
        return Picked(planned.order, tag, f"{tag} will do too: it was planned on {planned.tag}.", True, 3, to_cut=True)

    def pick_short(self, number: str, tag: str, there: int, stamp: Stamp) -> Picked:
        return self._pick(f"only {there}", number, tag, f" {there} was there.", stamp)

    def _pick(self, what: str, number: str, tag: str, more: str, stamp: Stamp) -> Picked:
        stop = next((one for one in self.stops if (one.order, one.tag) == (number, tag)), None)
        if stop is None:
            if any((one.order, one.tag) == (number, tag) for one, _ in self.taken):
                return Picked(number, tag, f"{tag} was taken already. Nothing is taken again.", False, 0)
            raise Refusal(f"{tag} is something else; order {number} needs nothing from there. Put it back.")
        if stop.how == "cut":
            return Picked(number, tag, f"{tag} is the right roll.", False, 0, to_cut=True)
        self.done.append((what, number, tag, stamp.by))
        self.stops.remove(stop)
        self.taken.append((stop, stamp.by))
        return Picked(number, tag, f"{stop.amount} of {stop.title} taken from {tag}.{more}", True, 0)

    def put_back(self, number: str, tag: str, stamp: Stamp) -> Picked:
        for stop, by in self.taken:
            if (stop.order, stop.tag) == (number, tag):
                self.taken.remove((stop, by))
                self.stops = sorted((*self.stops, stop), key=STOPS.index)
                self.done.append(("put back", number, tag, stamp.by))
                return Picked(number, tag, f"{stop.amount} of {stop.title} is back in {tag}.", True, 0)
        raise Refusal(f"Nothing was picked from {tag} for order {number}, so nothing is put back.")

    def cut(self, number: str, tag: str, stamp: Stamp, cut_mm: int, said: Shorter) -> CutMade:
        if cut_mm < 1000 and said is Shorter.ASKED:
            raise DoesNotGo(f"Panel face of BF does not go on {show_length(cut_mm)}.", number, tag)
        if cut_mm > 5000:
            raise Refusal(f"{show_length(cut_mm)} cannot be cut from {tag}: there are 5.00 m.")
        how = "cut" if said is Shorter.ASKED else f"cut, {said.value}"
        self.done.append((how, number, tag, cut_mm, stamp.by))
        stop = next(one for one in self.stops if one.order == number and one.how == "cut")
        self.stops.remove(stop)
        left = 5000 - cut_mm
        return CutMade(
            number,
            tag,
            stop.to_mm - stop.from_mm,
            cut_mm,
            left,
            (f"{show_length(left)} is left on {tag}.",),
            self.offcut,
            (),
        )

    def measure(self, tag: str, true_mm: int, stamp: Stamp) -> RollPutRight:
        self.done.append(("measure", tag, true_mm, stamp.by))
        return RollPutRight(tag, true_mm, 1, (), ("Order L-1050: hood cloth, fawn: 0.40 m",))

    def mark_flaw(self, tag: str, from_mm: int, to_mm: int, what: str, stamp: Stamp) -> RollPutRight:
        self.done.append(("flaw", tag, from_mm, to_mm, what, stamp.by))
        return RollPutRight(tag, 5000, 0, ("L-1050",), ())

    def keep_side_piece(self, tag: str, length_mm: int, width_mm: int, place: str, stamp: Stamp) -> str:
        self.done.append(("side piece", tag, length_mm, width_mm, place, stamp.by))
        return make_tag("R", 3000)
