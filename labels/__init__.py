"""Everything that goes on paper: plain data in, PDF bytes out. Knows nothing of the shop.

ReportLab, python-barcode and the font are loaded by the first page that is drawn, not by importing this.
"""

from labels.claim import claim_pdf
from labels.claiming import ClaimPaper, Flaw, ShortLength
from labels.drift_report import drift_pdf
from labels.drifting import DriftLot, DriftPaper
from labels.errors import PaperError
from labels.fitting import FittingPiece, FittingSheet, FittingStep
from labels.fitting_sheet import fitting_sheet_pdf
from labels.packing import PackedParcel, PackedPiece, PackingListPaper
from labels.packing_list import packing_list_pdf
from labels.pick_list import pick_list_pdf
from labels.picking import CutPanel, OpenLine, PickCut, PickLine, PickList
from labels.purchase_order import purchase_order_pdf
from labels.purchasing import OrderedLine, PurchaseOrderPaper
from labels.reorder_report import reorder_report_pdf
from labels.reordering import ReorderLine, ReorderReport, SupplierProposals
from labels.sheet import Sheet, load_sheet, sheet_names
from labels.tag_sheets import tags_pdf
from labels.tags import BinTag, BundleTag, KitTag, LowTag, PartTag, PieceTag, PlaceTag, RollTag, SwatchTag, Tag

__all__ = [
    "BinTag",
    "BundleTag",
    "ClaimPaper",
    "CutPanel",
    "DriftLot",
    "DriftPaper",
    "FittingPiece",
    "FittingSheet",
    "FittingStep",
    "Flaw",
    "KitTag",
    "LowTag",
    "OpenLine",
    "OrderedLine",
    "PackedParcel",
    "PackedPiece",
    "PackingListPaper",
    "PaperError",
    "PartTag",
    "PickCut",
    "PickLine",
    "PickList",
    "PieceTag",
    "PlaceTag",
    "PurchaseOrderPaper",
    "ReorderLine",
    "ReorderReport",
    "RollTag",
    "Sheet",
    "ShortLength",
    "SupplierProposals",
    "SwatchTag",
    "Tag",
    "claim_pdf",
    "drift_pdf",
    "fitting_sheet_pdf",
    "load_sheet",
    "packing_list_pdf",
    "pick_list_pdf",
    "purchase_order_pdf",
    "reorder_report_pdf",
    "sheet_names",
    "tags_pdf",
]
