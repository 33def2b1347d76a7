"""Bundles and a packing list made by hand that change as they are worked on, with jobs as simple as can be."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from stockroom.domain.refusal import Refusal
from stockroom.domain.stamp import Stamp
from stockroom.domain.tags import make_tag
from stockroom.jobs.bundle import BenchBundle, BundleMoved, Tied
from stockroom.jobs.pack import PackingList, PackParcel, PackPiece, PieceMoved, Sent
from stockroom.jobs.sew import Sewn
from stockroom.jobs.spoil import SpoiltPanel
from stockroom.screens.bundling import BenchJobs, PackJobs, Stages
from stockroom.store.bundles import Assembly

SINCE = datetime(2026, 11, 20, 9, 5, tzinfo=UTC)
STAGES: Stages = (("bind", "Binding"), ("sew", "Sewing"), ("out", "Outworker"))
FLOOR, LEFT, RIGHT, PACKET = (make_tag("P", serial) for serial in (301, 302, 303, 304))
BOOT = make_tag("T", 11)
HOOD = make_tag("T", 12)
BUNDLES = (
    BenchBundle(BOOT, "L-1042", "Ann Carpenter", "Touring set / Full boot set", "out: Binding", "bind", "", SINCE, 5,
                "CD", 6, date(2026, 11, 14), 11, (Assembly(LEFT, "Boot side, left", 2),)),
    BenchBundle(HOOD, "L-1043", "Bert Wheeler", "Hood", "at the bench", "", "", SINCE, 5,
                "AB", 3, date(2026, 12, 4), 0),
)  # fmt: skip

OTHERS_LEFT = make_tag("P", 402)


def _piece(tag: str, piece: str, title: str, hand: str = "", **more: object) -> PackPiece:
    fields: dict[str, object] = {
        "tag": tag,
        "piece": piece,
        "title": title,
        "hand": hand,
        "copy": 1,
        "line": 1,
        "kit": "Full boot set",
        "car": "RP 2417",
        "state": "ready",
        "parcel": 0,
        "by": "",
        "must_scan": True,
        "lacks": (),
        "bundle": BOOT,
    }
    return PackPiece(**{**fields, **more})  # type: ignore[arg-type]


PIECES = (
    _piece(FLOOR, "BF", "Boot floor", must_scan=False, panels=("top",)),
    _piece(LEFT, "BSL", "Boot side, left", "left", panels=("face", "band"), sewing="to be sewn from face and band"),
    _piece(RIGHT, "BSR", "Boot side, right", "right"),
    _piece(PACKET, "", "Packet of hardware", bundle="", state="not ready", lacks=("4 turn-button studs not picked",)),
)


class MadeUpBench:
    """What the jobs of the bench answer; `done` is all that they did, in order."""

    def __init__(self, bundles: tuple[BenchBundle, ...] = BUNDLES) -> None:
        self.bundles = bundles
        self.done: list[tuple[object, ...]] = []

    @property
    def jobs(self) -> BenchJobs:
        """The jobs, as the screens are given them."""
        return BenchJobs(lambda _now: self.bundles, lambda: STAGES, self.tie, self.out, self.back, self.sew)

    def tie(self, number: str, stamp: Stamp) -> Tied:
        self.done.append(("tie", number, stamp.by))
        return Tied(number, (), ("Tool bag (line 2): TB shell is not cut.",), True, f"Order {number}: 1 tied, T13X.")

    def out(self, tag: str, stage: str, holder: str, stamp: Stamp) -> BundleMoved:
        titles = dict(STAGES)
        if stage not in titles:
            raise Refusal(f"There is no stage '{stage}'. There are bind, sew and out.")
        where = f"out: {titles[stage]}{f', {holder}' if holder else ''}"
        return self._move(tag, where, stage, holder, stamp)

    def back(self, tag: str, stamp: Stamp) -> BundleMoved:
        return self._move(tag, "at the bench", "", "", stamp)

    def sew(self, tag: str, stamp: Stamp, at: str) -> Sewn:
        self.done.append(("sew", tag, at, stamp.by))
        self.bundles = tuple(
            replace(one, assemblies=tuple(replace(piece, by=stamp.by, at=stamp.at) for piece in one.assemblies))
            if tag in {one.tag, *(piece.tag for piece in one.assemblies)} else one
            for one in self.bundles
        )  # fmt: skip
        return Sewn("L-1042", ((tag, "Boot side, left"),), True, f"Boot side, left ({tag}) is sewn.")

    def _move(self, tag: str, where: str, stage: str, holder: str, stamp: Stamp) -> BundleMoved:
        if tag not in {one.tag for one in self.bundles}:
            raise Refusal(f"No bundle in this shop has the tag {tag}.")
        self.done.append((tag, stage, holder, stamp.by))
        self.bundles = tuple(
            replace(one, where=where, stage=stage, holder=holder, by=stamp.by) if one.tag == tag else one
            for one in self.bundles
        )
        return BundleMoved(tag, "L-1042", "", where, True, f"Bundle {tag} is {where}.")


class MadeUpPacking:
    """What the jobs of packing answer; `done` is all that they did, in order."""

    def __init__(self, pieces: tuple[PackPiece, ...] = PIECES) -> None:
        self.pieces = {piece.tag: piece for piece in pieces}
        self.parcels: dict[int, str] = {}
        self.state = "open"
        self.because = ""
        self.done: list[tuple[object, ...]] = []

    @property
    def jobs(self) -> PackJobs:
        """The jobs, as the screens are given them."""
        return PackJobs(
            self.packing_list, self.pack, self.tick, self.unpack, self.new_parcel, self.close, self.close_incomplete,
            self.spoil,
        )  # fmt: skip

    def packing_list(self, text: str) -> PackingList:
        if text not in {"L-1042", BOOT}:
            raise Refusal(f"There is no order '{text}'.")
        owed = tuple(
            f"{one.title} ({one.tag}): {'; '.join(one.lacks) or 'not packed'}."
            for one in self.pieces.values()
            if one.state != "packed"
        )
        return PackingList(
            "L-1042", make_tag("O", 1), "Ann Carpenter", date(2026, 11, 14), False, self.state,
            BOOT if text == BOOT else "", tuple(self.pieces.values()), self._parcels(), owed, self.because,
        )  # fmt: skip

    def _parcels(self) -> tuple[PackParcel, ...]:
        state = "open" if self.state == "open" else "closed"
        return tuple(
            PackParcel(number, make_tag("K", number), what, state, tuple(
                (one.tag, one.title) for one in self.pieces.values() if one.parcel == number
            ))
            for number, what in self.parcels.items()
        )  # fmt: skip

    def pack(self, number: str, tag: str, stamp: Stamp, parcel: int) -> PieceMoved:
        if tag == OTHERS_LEFT:
            raise Refusal(
                f"That is a second left one: Boot side, left ({tag}) is of order L-1050, not of {number}. Put it back. "
                f"The left of this order is packed; what is missing is Boot side, right ({RIGHT})."
            )
        piece = self.pieces[tag]
        if piece.state == "packed":
            return self._moved(piece, False, f"{piece.title} is in parcel {piece.parcel} already ({piece.by}).")
        if piece.lacks:
            raise Refusal(f"{piece.title} ({tag}) is not ready: {'; '.join(piece.lacks)}.")
        self.parcels.setdefault(parcel, "box")
        self.done.append(("pack", number, tag, parcel, stamp.by))
        self.pieces[tag] = replace(piece, state="packed", parcel=parcel, by=stamp.by)
        return self._moved(piece, True, f"{piece.title} ({tag}) is in parcel {parcel}.")

    def tick(self, number: str, tag: str, stamp: Stamp, parcel: int) -> PieceMoved:
        if self.pieces[tag].must_scan:
            raise Refusal(f"{self.pieces[tag].title} ({tag}) is not ticked but scanned.")
        return self.pack(number, tag, stamp, parcel)

    def unpack(self, number: str, tag: str, stamp: Stamp) -> PieceMoved:
        self.done.append(("unpack", number, tag, stamp.by))
        self.pieces[tag] = replace(self.pieces[tag], state="ready", parcel=0, by="")
        return self._moved(self.pieces[tag], True, f"{self.pieces[tag].title} ({tag}) is out of parcel 1.")

    def _moved(self, piece: PackPiece, changed: bool, sentence: str) -> PieceMoved:
        left = sum(one.state != "packed" for one in self.pieces.values())
        return PieceMoved("L-1042", piece.tag, piece.title, piece.parcel, changed, left, sentence)

    def new_parcel(self, number: str, what: str, stamp: Stamp) -> PackParcel:
        if what not in {"box", "long parcel"}:
            raise Refusal(f"Order {number} is to be sent: a parcel of it is 'box' or 'long parcel', not '{what}'.")
        made = max(self.parcels, default=0) + 1
        self.parcels[made] = what
        self.done.append(("parcel", number, what, stamp.by))
        return self._parcels()[-1]

    def close(self, number: str, stamp: Stamp) -> Sent:
        owed = self.packing_list(number).owed
        if owed:
            raise Refusal(f"Order {number} is not complete: {owed[0]}")
        return self._send(number, "", stamp)

    def close_incomplete(self, number: str, because: str, stamp: Stamp) -> Sent:
        self.because = f"{because} ({stamp.by})"
        return self._send(number, because, stamp)

    def _send(self, number: str, because: str, stamp: Stamp) -> Sent:
        self.done.append(("send", number, because, stamp.by))
        owed = self.packing_list(number).owed
        self.state = "sent"
        return Sent(
            number, make_tag("O", 1), "Ann Carpenter", None, False, ("RP 2417",), ("1 × Full boot set",),
            self._parcels(), owed, because, stamp.by,
        )  # fmt: skip

    def spoil(self, tag: str, panel: str, because: str, stamp: Stamp) -> SpoiltPanel:
        self.done.append(("spoil", tag, panel, because, stamp.by))
        sentence = f"Panel {panel or 'top'} of {self.pieces[tag].title} ({tag}) is to be cut again from R1042L."
        return SpoiltPanel("L-1042", tag, self.pieces[tag].title, panel or "top", "", "D17", (), (), (), sentence)
