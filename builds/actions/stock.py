"""Stock: counted, taken, spoilt, put back. A movement is never changed; a count corrects what was wrong."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.db.models import Sum

from builds.actions.door import Refused, note_in_journal, write
from builds.models import Build, Delivery, Material, StockMovement, User
from builds.queries.quantities import in_words, typed_quantity

MOST = Decimal(100000)
NONE = Decimal(0)


def count_stock(
    *,
    material: Material,
    quantity: str,
    place: str = "",
    why: str = "",
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> StockMovement | None:
    """Says how much there is, as typed ("3", "2.4 m"); the difference to what was on record is booked.

    The same form twice counts once.
    """
    with write(plan=False):
        known = _known(token)
        if known is not None:
            return known
        found = read_quantity(quantity, material, least=NONE)
        before = on_hand(material)
        row = book(
            material,
            found - before,
            "counted",
            counted=found,
            place=place,
            why=why,
            token=token,
            now=now,
            by=by,
        )
        words = f"Counted {_words(found, material)} of {material.name}, not {_words(before, material)}"
        note_in_journal(words if found != before else words.split(", not")[0], now=now, by=by)
    return row


def take_from_stock(
    *,
    material: Material,
    quantity: str,
    build: Build | None,
    kind: str = "taken",
    why: str = "",
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> StockMovement:
    """Takes some for a van ("taken"), or says that it is "lost". Refused when there is not so much.

    What is taken for a van covers its needs from then on, as what came for it does.
    """
    with write(plan=False):
        known = _known(token)
        if known is not None:
            return known
        if kind == "taken" and build is None:
            raise Refused("Say which van it is for.", field="build")
        amount = read_quantity(quantity, material)
        there = on_hand(material)
        if amount > there:
            raise Refused(
                f"{_words(there, material)} of it is on record. Count it first if there is more.",
                field="quantity",
            )
        place = _place(material)
        row = book(material, -amount, kind, build=build, place=place, why=why, token=token, now=now, by=by)
        verb = "Took" if kind == "taken" else "Wrote off"
        note_in_journal(f"{verb} {_words(amount, material)} of {material.name}", now=now, by=by, build=build)
    return row


def put_back_in_stock(
    *,
    material: Material,
    quantity: str,
    build: Build | None = None,
    why: str = "",
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> StockMovement:
    """Puts into stock what was left over: of what `build` had taken, if one is named."""
    with write(plan=False):
        known = _known(token)
        if known is not None:
            return known
        amount = read_quantity(quantity, material)
        place = _place(material)
        row = book(material, amount, "back", build=build, place=place, why=why, token=token, now=now, by=by)
        words = f"Put {_words(amount, material)} of {material.name} into stock"
        note_in_journal(words, now=now, by=by, build=build)
    return row


def book(
    material: Material,
    change: Decimal,
    kind: str,
    *,
    counted: Decimal | None = None,
    place: str = "",
    build: Build | None = None,
    delivery: Delivery | None = None,
    why: str = "",
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> StockMovement:
    """Adds one movement, in the material's unit. Call inside a write."""
    row = StockMovement(
        material=material,
        change=change,
        counted=counted,
        kind=kind,
        place=place.strip()[:60] or _place(material),
        build=build,
        delivery=delivery,
        why=why.strip()[:200],
        at=now,
        by=by,
        form_token=token,
    )
    row.save()
    return row


def on_hand(material: Material) -> Decimal:
    """What there is of it by the record; below nothing when more was cut or taken back than was written."""
    total = StockMovement.objects.filter(material=material).aggregate(total=Sum("change"))["total"]
    return total or NONE


def read_quantity(text: str, material: Material, *, least: Decimal | None = None) -> Decimal:
    """What was typed, in the material's unit; refused at "quantity" where it can't be read."""
    try:
        found = typed_quantity(text, material.unit).quantize(Decimal("0.001"))
    except ValueError as error:
        raise Refused(str(error), field="quantity") from None
    if found > MOST or (found < least if least is not None else found <= 0):
        raise Refused("A quantity is more than nothing and at most 100,000.", field="quantity")
    return found


def _known(token: UUID | None) -> StockMovement | None:
    return StockMovement.objects.filter(form_token=token).first() if token else None


def _place(material: Material) -> str:
    """Where it lay last."""
    rows = StockMovement.objects.filter(material=material).exclude(place="")
    return rows.values_list("place", flat=True).first() or ""


def _words(quantity: Decimal, material: Material) -> str:
    return in_words(quantity, material.unit)
