"""The demo's vans and customers: what goes into each, when it comes, what it waits for. All invented."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from builds.actions.composing import InstallationChoice, UnitChoice

Sizes = tuple[int, int, int]


@dataclass(frozen=True)
class Parcel:
    """A delivery: what, the standard tasks that wait for it, its week from the history's start and weekday.

    `came` tells that it came on its day; `put_off_weeks` how much later it is now to come; `material` names
    what of the list of materials it is.
    """

    what: str
    tasks: tuple[str, ...]
    week: int
    weekday: int
    from_customer: bool = False
    came: bool = True
    put_off_weeks: int = 0
    material: str = ""


@dataclass(frozen=True)
class Question:
    what: str
    tasks: tuple[str, ...]
    week: int
    weekday: int
    answer: str = ""


@dataclass(frozen=True)
class DemoVan:
    """One van. Weeks count from the Monday that the history starts on; `phases_before` were done by then.

    `promise_days` is how many days after the first forecast the owner promised the handover for.
    """

    name: str
    customer: str
    email: str
    body: str
    registration: str
    arrives_week: int
    promise_days: int
    price: Decimal
    units: tuple[UnitChoice, ...]
    installations: tuple[InstallationChoice, ...]
    notes: str = ""
    phases_before: tuple[str, ...] = ()
    parcels: tuple[Parcel, ...] = ()
    questions: tuple[Question, ...] = ()
    status: str = "agreed"


def _units(*rows: tuple[str, str, Sizes, str]) -> tuple[UnitChoice, ...]:
    return tuple(UnitChoice(kind, name, *sizes, where) for kind, name, sizes, where in rows)


def _fitted(*kinds: str, **counts: int) -> tuple[InstallationChoice, ...]:
    return tuple(InstallationChoice(kind, counts.get(kind, 1)) for kind in kinds)


BASE = ("floor", "insulation", "lining", "twelve_volt", "waste", "water")

HERON = DemoVan(
    name="Heron",
    customer="Marian and Tobias Ashdown",
    email="ashdown@example.org",
    body="long_high",
    registration="HE12 RON",
    arrives_week=-5,
    promise_days=10,
    price=Decimal("38400.00"),
    units=_units(
        ("kitchen", "Kitchen", (1250, 500, 880), "left, behind the door"),
        ("overhead", "Overhead left", (1700, 330, 380), "left"),
        ("wardrobe", "Wardrobe", (450, 550, 1750), "right, behind the seat"),
        ("bed", "Bed over the garage", (1850, 1350, 800), "rear"),
        ("worktop", "Worktop", (1250, 520, 30), "kitchen"),
        ("fronts", "Doors and fronts", (3600, 20, 600), ""),
    ),
    installations=_fitted(
        *BASE,
        "side_windows",
        "ventilation",
        "heating",
        "gas",
        "mains",
        "solar",
        "fridge",
        "upholstery",
        side_windows=2,
        solar=2,
    ),
    phases_before=(
        "Agree and order",
        "Clear and prepare",
        "Openings and roof",
        "Seats and underneath",
        "First fix",
        "Insulate and line",
        "Floor",
    ),
    parcels=(
        Parcel("Worktop board, oak", ("oil_top",), 1, 2, material="top27"),
        Parcel("Fridge", ("fridge",), 3, 1, material="fridge"),
        Parcel(
            "Cushions and mattress", ("blinds",), 6, 0, from_customer=False, came=False, material="cushions"
        ),
    ),
    questions=(
        Question("Colour of the fronts", ("coat_1",), 1, 1, "sage green, satin"),
        Question("Handles: rings or bars", ("hang",), 6, 2),
    ),
)
KESTREL = DemoVan(
    name="Kestrel",
    customer="Odile Farrant",
    email="farrant@example.org",
    body="medium_high",
    registration="KE57 REL",
    arrives_week=-1,
    promise_days=22,
    price=Decimal("31250.00"),
    units=_units(
        ("seat_box", "Seat box, left", (1000, 550, 480), "left"),
        ("kitchen", "Kitchen", (1100, 480, 880), "right, at the door"),
        ("overhead", "Overhead right", (1600, 330, 380), "right"),
        ("bed", "Pull-out bed", (1900, 1200, 450), "rear"),
        ("worktop", "Worktop", (1100, 500, 30), "kitchen"),
    ),
    installations=_fitted(
        *BASE,
        "side_windows",
        "ventilation",
        "heating",
        "mains",
        "solar",
        "charging",
        "fridge",
        side_windows=1,
        solar=1,
    ),
    parcels=(
        Parcel("Window, right", ("bond_windows",), 1, 1, material="window"),
        Parcel("Air heater and ducts", ("heater_plate",), 2, 0, material="heater"),
        Parcel("Fridge", ("fridge",), 7, 3, came=False, material="fridge"),
    ),
    phases_before=("Agree and order", "Clear and prepare"),
    questions=(Question("Floor covering", ("vinyl",), 2, 3, "dark oak vinyl"),),
)
TEAL = DemoVan(
    name="Teal",
    customer="Bram and Nell Caswell",
    email="caswell@example.org",
    body="medium_low",
    registration="TE41 LVN",
    arrives_week=2,
    promise_days=3,
    price=Decimal("24900.00"),
    units=_units(
        ("seat_box", "Bench seat box", (1100, 550, 460), "left"),
        ("kitchen", "Pull-out kitchen", (900, 450, 800), "rear"),
        ("bench_box", "Low locker", (800, 450, 400), "right"),
    ),
    installations=_fitted(
        *BASE, "side_windows", "ventilation", "heating", "swivels", "charging", side_windows=2, swivels=2
    ),
    notes="They travel to the coast in summer; the date matters.",
    parcels=(
        Parcel("Side windows, two", ("bond_windows",), 4, 0, came=False, put_off_weeks=6, material="window"),
        Parcel("Swivel plates", ("swivels",), 3, 2, from_customer=True, material="swivel"),
    ),
    questions=(Question("Tap: folding or fixed", ("sink",), 6, 4),),
)
PLOVER = DemoVan(
    name="Plover",
    customer="The Hollins family",
    email="hollins@example.org",
    body="extra_long_high",
    registration="PL33 VER",
    arrives_week=5,
    promise_days=16,
    price=Decimal("46800.00"),
    units=_units(
        ("kitchen", "Kitchen", (1400, 520, 900), "left"),
        ("overhead", "Overhead left", (2000, 340, 380), "left"),
        ("overhead", "Overhead right", (1500, 340, 380), "right"),
        ("wardrobe", "Wardrobe", (500, 580, 1800), "right"),
        ("bed", "Bunk bed", (1900, 1400, 900), "rear"),
        ("shower_cubicle", "Shower cubicle", (800, 650, 1850), "middle"),
        ("worktop", "Worktop", (1400, 540, 30), "kitchen"),
    ),
    installations=_fitted(
        *BASE,
        "side_windows",
        "ventilation",
        "heating",
        "water_heater",
        "gas",
        "mains",
        "solar",
        "charging",
        "fridge",
        "belted_seats",
        "upholstery",
        side_windows=3,
        ventilation=2,
        solar=3,
        belted_seats=2,
    ),
    parcels=(
        Parcel("Seat frame with its test papers", ("seat_frame",), 8, 0, came=False, material="belted_seat"),
    ),
)
DUNLIN = DemoVan(
    name="Dunlin",
    customer="Piers Oakhanger",
    email="oakhanger@example.org",
    body="small_low",
    registration="",
    arrives_week=12,
    promise_days=10,
    price=Decimal("14500.00"),
    units=_units(
        ("bed", "Folding bed", (1800, 1200, 300), "rear"),
        ("bench_box", "Low locker", (700, 420, 380), "left"),
    ),
    installations=_fitted("floor", "insulation", "lining", "twelve_volt"),
    notes="Wants to know when it could be ready.",
    status="asked",
)
VANS = (HERON, KESTREL, TEAL, PLOVER, DUNLIN)
