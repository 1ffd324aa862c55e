"""Benchweek's nouns, one file each."""

from .build import BodySize, Build, Journal, PromiseTold, Stage
from .customer import Customer, CustomerLink, Decision, Variation
from .cutting import CutSheet, CuttingPlan, Run
from .event import FloorEvent
from .evidence import CheckRecord, FiledPaper, HoldPoint, Note, Photo, Snag
from .material import Delivery, Material, Need, StandardNeed, Supplier
from .order import Order, OrderLine, OrderShare, PriceList, Receipt
from .part import Making, Part
from .people import Absence, CalendarLink, Person, PersonHours, Tablet, Trade, User, VisitDay
from .place import Place
from .plan import PlanRow, PlanState, Proposal, ToldRow, WhatIf
from .sheet import ProgressSheet, SheetPhoto
from .shop import ClosedDay, OpeningSpan, Shop
from .standard import Caution, StandardHoldPoint, StandardLink, StandardTask
from .stock import Offcut, OffcutEvent, StockMovement
from .task import Link, Pin, Task
from .unit import Installation, InstallationKind, Unit, UnitKind

__all__ = [
    "Absence",
    "BodySize",
    "Build",
    "CalendarLink",
    "Caution",
    "CheckRecord",
    "ClosedDay",
    "Customer",
    "CustomerLink",
    "CutSheet",
    "CuttingPlan",
    "Decision",
    "Delivery",
    "FiledPaper",
    "FloorEvent",
    "HoldPoint",
    "Installation",
    "InstallationKind",
    "Journal",
    "Link",
    "Making",
    "Material",
    "Need",
    "Note",
    "Offcut",
    "OffcutEvent",
    "OpeningSpan",
    "Order",
    "OrderLine",
    "OrderShare",
    "Part",
    "Person",
    "PersonHours",
    "Photo",
    "Pin",
    "Place",
    "PlanRow",
    "PlanState",
    "PriceList",
    "ProgressSheet",
    "PromiseTold",
    "Proposal",
    "Receipt",
    "Run",
    "SheetPhoto",
    "Shop",
    "Snag",
    "Stage",
    "StandardHoldPoint",
    "StandardLink",
    "StandardNeed",
    "StandardTask",
    "StockMovement",
    "Supplier",
    "Tablet",
    "Task",
    "ToldRow",
    "Trade",
    "Unit",
    "UnitKind",
    "User",
    "Variation",
    "VisitDay",
    "WhatIf",
]
