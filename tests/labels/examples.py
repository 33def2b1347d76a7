"""Papers of the demo's world for the tests to draw."""

from datetime import date

from labels import (
    BinTag,
    BundleTag,
    ClaimPaper,
    CutPanel,
    DriftLot,
    DriftPaper,
    FittingPiece,
    FittingSheet,
    FittingStep,
    Flaw,
    KitTag,
    LowTag,
    OpenLine,
    PackedParcel,
    PackedPiece,
    PackingListPaper,
    PartTag,
    PickCut,
    PickLine,
    PickList,
    PieceTag,
    PlaceTag,
    ReorderLine,
    ReorderReport,
    RollTag,
    ShortLength,
    SupplierProposals,
    Tag,
)

LONG = "A very long name that nobody would give and somebody will, with Árvíztűrő tükörfúrógép and Съешь же ещё " * 6
WORDLESS = "Donaudampfschifffahrt" * 30
HOSTILE = "<b>bold</b> [red]x[/red] &amp; \x00\x1b[31m\u202e =1+1"

ROLL = RollTag(
    code="R000123K",
    title="Ribbed boot carpet",
    item="RBC-MAROON",
    colour="maroon",
    dye_lot="4471",
    length="23 450 mm, measured",
    width="1 370 mm usable",
    place="rack 2, shelf 3",
    received="3 November 2026",
    mass="mass 34 kg",
    lifting_caution="two people or the roll trolley",
)
BIN = BinTag("B000042C", "Snap fastener, socket half, nickel", "SF-SOCK-N", "hardware", "each", "bin 14")
PIECE = PieceTag(
    code="P004211Q",
    piece="BS-07",
    title="Wheel arch cover",
    order="1042",
    car="Plover Series 2, chassis 2217",
    kit="full boot set",
    hand="left hand",
    steps=(3, 17),
    steps_total=41,
    holes_marked="2 for the strap",
    holes_solid="4 along the top",
    change="strap holes 12 mm lower",
    note="Glue the front edge first.",
)
KIT = KitTag("K000311X", "Full boot set", "1042", "Őrsi Katalin", "Plover Series 2", "box 1 of 2", "3 December", "sent")
LOW = LowTag(
    "B000043A",
    "Contact adhesive, 5 l",
    "Scan this when 2 are left.",
    "contact-adhesive",
    "solvent cabinet",
    "Highly flammable; vapour harmful.",
    "Closed, away from flame and sparks.",
    "The supplier's safety data sheet and your own rules come first.",
)
PLACE = PlaceTag("L000021A", "Rack 2 · shelf 3", "21 of 60")
BUNDLE = BundleTag(
    "T000014Y", "Full boot set", "1042", "Őrsi Katalin", "Plover Series 2", "7 pieces", "3 December 2026"
)
PART = PartTag("G000005L", "hood frame", "1042", "Őrsi Katalin", "Plover Series 2", "3 December 2026 (IG)")
TAGS: tuple[Tag, ...] = (ROLL, BIN, LOW, PIECE, KIT, BUNDLE, PLACE, PART)

CUT = PickCut(
    from_mm=1200,
    to_mm=4450,
    width_mm=1370,
    panels=(
        CutPanel("BS-01", ((0, 0), (1400, 0), (1400, 700), (700, 800), (0, 700)), "Boot floor"),
        CutPanel("BS-02L", ((1500, 0), (2200, 0), (2100, 500), (1500, 400)), "Wheel arch, left hand"),
        CutPanel("BS-02R", ((2300, 0), (3000, 0), (2900, 500), (2300, 400)), "Wheel arch", "rear edge 20 mm longer"),
    ),
)
CLOTH_PICK = PickLine(
    place="Rack 1, shelf 2",
    tag="R000123K",
    title="Ribbed boot carpet",
    quantity="3 250 mm",
    item="RBC-MAROON",
    colour="maroon",
    swatch=(110, 20, 35),
    roll="R000123K",
    dye_lot="4471",
    reason="This roll because its dye lot covers the whole boot set.",
    changes=("right wheel arch 20 mm longer at the rear",),
    mass_g=34_120,
    lifting_caution="two people or the roll trolley",
    cut=CUT,
    for_what="full boot set",
)
BIN_PICK = PickLine("Bin 14", "B000042C", "Snap fastener, socket half", "28", "SF-SOCK-N", reason="24 needed, 4 spare.")
PICKS = PickList(
    order="1042",
    order_code="O001042W",
    customer="Őrsi Katalin, Пётр Иванов, Θεοδώρα Παππά",
    wanted="overdue since 3 November 2026",
    delivery="fitted here",
    printed="IG, 25 November 2026, 09:14",
    lines=(CLOTH_PICK, BIN_PICK),
    cars=("Plover Series 2, chassis 2217",),
    changes=("handles bag is the long one",),
    waiting=(OpenLine("Handles bag", "Waits for: long or short.", "1", "handles bag"),),
    short=(OpenLine("Leathercloth, tan", "Short by 1 200 mm.", "2 400 mm", "door-opening trim"),),
    cautions=("Blades: cut away from yourself.", "Lifting: over 23 kg two people; local rules decide."),
    overdue=True,
)
STEP = FittingStep(
    number=2,
    what="Lay the wheel arch covers, left hand first",
    kit="full boot set",
    pieces=(
        FittingPiece("BS-02", "Wheel arch cover", "P004202B", "left hand", "left solid: 2 at the top"),
        FittingPiece("BS-02", "Wheel arch cover", "P004203C", "right hand"),
        FittingPiece("BS-03", "Packet of fasteners"),
    ),
    unbolt=("rear lamps, both hands",),
    refit=("rear lamps, earth lead first",),
    cautions=("Drilling near the fuel tank: disconnect the battery and look behind the panel.",),
    changes=("right hand 20 mm longer",),
    note="Let it tack for ten minutes.",
)
FITTING = FittingSheet(
    car="Plover Series 2, chassis 2217",
    steps_total=41,
    steps=(STEP,),
    car_code="C000012Y",
    orders="1042, 1043",
    customer="Őrsi Katalin",
    kits="full boot set, tonneau cover",
    delivery="fitted here",
    printed="IG, 25 November 2026",
    waiting=("The handles bag waits for an answer: long or short.",),
    cautions=("Blades: cut away from yourself.",),
)
LATE = ReorderLine(
    item="SF-SOCK-N",
    title="Snap fastener, socket half",
    held="1 240",
    reserved="310",
    on_order="500",
    need="1 000",
    quantity="1 500",
    cost="184.50",
    reason="Under the reorder point of 1 000.",
    mark="late",
    weekly_use=(0, 3, 12, 0, 40, 8, 0, 15),
)
REORDER = ReorderReport(
    shop="Lindow Trim",
    week="2026-W48",
    suppliers=(SupplierProposals("Harrow Fastenings", (LATE,), "lead time 12 days", "184.50"),),
    printed="IG, 25 November 2026",
    total="184.50",
    remarks=("Purchase 88 is 4 days late.",),
)
PACKED = PackedPiece("P004211Q", "Wheel arch cover", "BS-07", "left", "full boot set, Plover Series 2")
PACKING = PackingListPaper(
    order="1042",
    order_code="O001042W",
    customer="Őrsi Katalin, Пётр Иванов, Θεοδώρα Παππά",
    delivery="sent",
    printed="IG, 25 November 2026, 09:14",
    parcels=(
        PackedParcel("K000311X", "Parcel 1 of 2, box", (PACKED, PackedPiece("P004213M", "Packet of hardware"))),
        PackedParcel("K000312W", "Parcel 2 of 2, long parcel", (PackedPiece("P004214L", "Hood stick", "HS-01"),)),
    ),
    cars=("Plover Series 2, chassis 2217",),
    kits="1 × Full boot set",
    sent_incomplete="Sent incomplete: the customer cannot wait (IG).",
    owed=("Wheel arch cover, right (P004212P): panel side not cut yet.",),
)
DRIFT = DriftPaper(
    shop="Lindow Trim",
    title="Leathercloth, dark blue",
    item="leathercloth/dark-blue",
    supplier="Westing Coated Cloths",
    master="L* 24.2, a* 2.6, b* -20.3 under D65/10°, of the colour",
    matches_to=1.0,
    eye_to=1.5,
    how="CIEDE2000, kL:kC:kH 1:1:1",
    printed="AB, 25 November 2026, 09:14",
    lots=(
        DriftLot("N2104", date(2026, 3, 4), 24.3, 2.5, -20.1, 0.1, -0.1, 0.2, 0.17, 1, 0.0, "matches"),
        DriftLot("N2222", date(2026, 6, 20), 24.9, 2.4, -19.4, 0.7, -0.2, 0.9, 0.82, 3, 0.12, "matches"),
        DriftLot("N2251", date(2026, 9, 23), 25.6, 2.2, -18.9, 1.4, -0.4, 1.4, 1.31, 2, 0.05, "by eye"),
        DriftLot("N2270", date(2026, 11, 18), 26.6, 2.0, -18.2, 2.4, -0.6, 2.1, 2.08, 1, 0.0, "no match"),
    ),
    said="2 of 4 lots match the master. The latest, lot N2270, is lighter, greener and yellower than it.",
    apart=("Roll R26N, lot N2270, in Q1 in quarantine: does not match lot N2222, ΔE00 up to 2.17.",),
    left_out=("lot N2290, read once under A/10°: the master is under D65/10°.",),
)
CLAIM = ClaimPaper(
    shop="Lindow Trim",
    supplier="Hollin Cloth Mill",
    roll_code="R000123K",
    item="RBC-MAROON",
    title="Ribbed boot carpet",
    printed="IG, 25 November 2026, 09:14",
    purchase="P-0598",
    label="P-0598 roll 1",
    colour="maroon",
    dye_lot="4471",
    width="1 370 mm",
    received="3 November 2026",
    short=ShortLength(
        "10.00 m", "9.40 m", "0.60 m less than it came in with.", ("0.60 m less, measured by IG on 4 November.",)
    ),
    flaws=(Flaw("1.20 m to 1.26 m", "slub"), Flaw("4.00 m to 4.10 m", "stain")),
    flawed="0.16 m in all.",
)
