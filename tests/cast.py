"""The fixed cast of the tests: one small workshop, the same people and places everywhere."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from decimal import Decimal

from builds.models import (
    Build,
    Customer,
    Link,
    Material,
    OpeningSpan,
    Part,
    Person,
    Place,
    Shop,
    Task,
    Trade,
    Unit,
    User,
)

NOW = datetime(2027, 3, 1, 8, 0, tzinfo=UTC)
"""A Monday morning in winter time, with no holiday near."""

PLACES = (
    ("bay", "Bay", 3, "jobs", False, False, ""),
    ("inside", "Inside the van", 3, "people", True, True, "bay"),
    ("underneath", "Underneath", 1, "jobs", True, True, "ramps"),
    ("outside", "Outside", None, "jobs", False, False, "out"),
    ("bench", "Bench", 2, "jobs", False, False, ""),
    ("spray", "Spray area", 1, "jobs", False, False, ""),
    ("rack", "Drying rack", 4, "jobs", False, False, ""),
    ("office", "Office", None, "jobs", False, False, ""),
    ("road", "Road", None, "jobs", False, False, "out"),
    ("weighbridge", "Weighbridge", None, "jobs", False, False, "out"),
)

TRADES = (
    ("joinery", "Joinery", False),
    ("finishing", "Finishing", False),
    ("electrical", "Electrical", False),
    ("mains", "Mains", True),
    ("plumbing", "Plumbing", False),
    ("gas", "Gas", True),
    ("heating", "Heating", False),
    ("trim", "Trim", False),
    ("vehicle", "Vehicle", False),
    ("owner", "Owner's work", False),
)


def make_shop() -> Shop:
    """A shop open Monday to Friday 8 to 12:30 and 13 to 17, with every place and trade."""
    shop, _ = Shop.objects.update_or_create(
        pk=1, defaults={"name": "Ember Lane Vans", "plannable_share": Decimal("1.00"), "country": "GB"}
    )
    for day in range(5):
        OpeningSpan.objects.get_or_create(weekday=day, opens=time(8), defaults={"closes": time(12, 30)})
        OpeningSpan.objects.get_or_create(weekday=day, opens=time(13), defaults={"closes": time(17)})
    for order, (key, name, room, counts, per_van, holds_bay, position) in enumerate(PLACES):
        Place.objects.get_or_create(
            key=key,
            defaults={
                "name": name,
                "room": room,
                "counts": counts,
                "per_van": per_van,
                "holds_bay": holds_bay,
                "van_position": position,
                "order": order,
            },
        )
    for order, (key, name, licensed) in enumerate(TRADES):
        Trade.objects.get_or_create(key=key, defaults={"name": name, "licensed": licensed, "position": order})
    return shop


def make_person(name: str, *trades: str, **more) -> Person:
    person = Person.objects.create(name=name, position=Person.objects.count(), **more)
    person.trades.set(Trade.objects.filter(key__in=trades))
    return person


def make_owner(username: str = "rowan") -> User:
    return User.objects.create_user(
        username, password="bench-week-test", first_name="Rowan", last_name="Ember"
    )


def make_build(name: str = "Heron", **more) -> Build:
    customer = Customer.objects.create(name=f"{name}'s people", email="someone@example.org")
    defaults = {"arrives_on": date(2027, 3, 1), "promised_on": date(2027, 5, 14), "status": "agreed"}
    return Build.objects.create(name=name, customer=customer, **(defaults | more))


def make_task(build: Build, key: str, *, after: tuple = (), **more) -> Task:
    """One hour of joinery inside the van unless told otherwise; `after` are tasks or (task, wait)."""
    hours = Decimal(str(more.pop("hours", 1)))
    defaults = {
        "name": key.replace("-", " ").capitalize(),
        "trade_id": "joinery",
        "place_id": "inside",
        "hours": hours,
        "hours_low": hours * Decimal("0.75"),
        "hours_high": hours * Decimal("1.5"),
        "order": Task.objects.filter(build=build).count(),
    }
    task = Task.objects.create(build=build, key=key, **(defaults | more))
    for before in after:
        earlier, wait = before if isinstance(before, tuple) else (before, 0)
        Link.objects.create(before=earlier, after=task, wait_minutes=wait)
    return task


def make_board(key: str = "ply12", **more) -> Material:
    """A board sold in sheets of 2440 x 1220 mm at 60 a sheet."""
    defaults = {
        "name": f"Board {key}",
        "form": "sheet",
        "unit": "m**2",
        "pack": Decimal("2.977"),
        "price": Decimal("60.00"),
        "length_mm": 2440,
        "width_mm": 1220,
        "thickness_mm": Decimal("12.0"),
        "density_kg_m3": 700,
        "waste_percent": Decimal("15.0"),
    }
    return Material.objects.create(key=key, **(defaults | more))


def make_unit(build: Build, name: str = "Kitchen", kind: str = "kitchen", **more) -> Unit:
    return Unit.objects.create(
        build=build, name=name, kind=kind, **({"width_mm": 1000, "depth_mm": 500, "height_mm": 880} | more)
    )


def make_part(unit: Unit, board: Material, name: str, length_mm: int, width_mm: int, **more) -> Part:
    """One part cut along the grain; sizes in millimetres."""
    defaults = {
        "key": name.lower().replace(" ", "-"),
        "thickness_tenths": 120,
        "order": Part.ever.filter(unit=unit).count(),
    }
    return Part.objects.create(
        unit=unit,
        material=board,
        name=name,
        length_tenths=10 * length_mm,
        width_tenths=10 * width_mm,
        **(defaults | more),
    )
