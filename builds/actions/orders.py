"""Orders: made of what is still to order, changed while a draft, sent and frozen, called off."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import UUID

from django.core.files.base import ContentFile
from django.db.models import Max

from builds.actions.checked import check_day, day_words, fresh, put_fields
from builds.actions.door import Gone, Refused, check_version, note_in_journal, write
from builds.engines.material.reckoning import packs_for
from builds.engines.material.sharing import shared_out
from builds.models import (
    Build,
    Delivery,
    Material,
    Need,
    Order,
    OrderLine,
    OrderShare,
    Shop,
    Supplier,
    Task,
    User,
)
from builds.queries.material_totals import MaterialLine, lead_days, material_totals
from builds.queries.opening import opening_times

MOST_PACKS = 10000
MOST_WAIT = timedelta(days=730)
ONE = Decimal(1)
TOO_MANY = f"An order is 1 to {MOST_PACKS:,} packs of a thing."


def make_order(
    *,
    supplier: Supplier | None = None,
    customer_of: Build | None = None,
    materials: Collection[int] | None = None,
    token: UUID | None = None,
    now: datetime,
    by: User | None,
) -> Order:
    """Makes a draft of what is still to order of `supplier` (only `materials`, where given), over all builds
    in the plan; or of what the customer of a build is to bring.

    The same form twice makes one. Refused when nothing is left to order, or when a material is withdrawn.
    """
    with write(plan=False) as shop:
        known = Order.objects.filter(form_token=token).first() if token else None
        if known is not None:
            return known
        if supplier is not None and fresh(Supplier, supplier).withdrawn:
            raise Refused(f"{supplier.name} is withdrawn. Bring it back, or name another supplier.")
        lines = _still_to_order(supplier, customer_of, shop, now)
        chosen = [line for line in lines if materials is None or line.pk in materials]
        whom = supplier.name if supplier else f"{customer_of}’s customer"
        if not chosen:
            raise Refused(f"Nothing of that is left to order from {whom}: it is ordered, here or used.")
        for line in chosen:
            refuse_withdrawn(line.name, line.withdrawn)
        order = _new_order(shop, supplier, customer_of, token, now, by)
        for line in chosen:
            _line_of(order, line)
        note_in_journal(f"Made {order} to {whom}", now=now, by=by, build=customer_of)
    return order


def empty_order(*, supplier: Supplier, token: UUID | None = None, now: datetime, by: User | None) -> Order:
    """Makes a draft with nothing in it yet. The same form twice makes one."""
    with write(plan=False) as shop:
        known = Order.objects.filter(form_token=token).first() if token else None
        return known or _new_order(shop, supplier, None, token, now, by)


def _still_to_order(
    supplier: Supplier | None, customer_of: Build | None, shop: Shop, now: datetime
) -> list[MaterialLine]:
    if customer_of is not None:
        found = material_totals([customer_of], now, shop=shop).by_customer
        return [line for line in found if not line.is_covered]
    totals = material_totals(Build.objects.to_plan(), now, shop=shop, with_stock=True)
    return [line for line in totals.to_order if line.supplier == supplier]


def _new_order(shop: Shop, supplier, customer_of, token, now: datetime, by: User | None) -> Order:
    top = Order.objects.aggregate(top=Max("number"))["top"] or 0
    return Order.objects.create(
        number=top + 1,
        supplier=supplier,
        build=customer_of,
        vat_level=shop.vat_level,
        made_at=now,
        made_by=by,
        form_token=token,
    )


def _line_of(order: Order, found: MaterialLine) -> OrderLine:
    material = Material.objects.get(pk=found.pk)
    shares: dict[int, Decimal] = defaultdict(Decimal)
    for need in found.needs:
        if need.left:
            shares[need.build_pk] += need.left
    packs = found.packs_left
    line = _filled_line(order, material, packs)
    if order.build_id is not None:
        _as_the_customer_brings_it(line, sum(shares.values(), Decimal(0)))
        shares = {order.build_id: line.quantity}
    line.save()
    OrderShare.objects.bulk_create(
        OrderShare(line=line, build_id=build, quantity=quantity) for build, quantity in shares.items()
    )
    return line


def _filled_line(order: Order, material: Material, packs: int) -> OrderLine:
    return OrderLine(
        order=order,
        material=material,
        name=material.name,
        code=material.code,
        packs=packs,
        pack=material.pack,
        price=0 if order.build_id else material.price,
        vat_percent=material.vat_percent,
    )


def _as_the_customer_brings_it(line: OrderLine, quantity: Decimal) -> None:
    """Pieces one by one, anything else as one amount: a customer knows no packs."""
    if line.material.unit == "piece":
        line.pack, line.packs = ONE, packs_for(quantity, ONE)
    else:
        line.pack, line.packs = quantity, 1


def change_order(
    *,
    order: Order,
    packs: Mapping[int, int] | None = None,
    note: str | None = None,
    version: int | None = None,
    now: datetime,
    by: User | None,
) -> Order:
    """Changes a draft: how many packs of each line (by its pk; none takes it out), and the note under it.

    The vans keep their shares as far as the packs go; what is taken out is to order again. Refused at
    "packs-<pk>" where a number can't be.
    """
    with write(plan=False):
        row = _draft(order, version)
        lines = {line.pk: line for line in row.lines.all()}
        for pk, count in (packs or {}).items():
            if pk not in lines:
                raise Gone("One of these lines is not there any more.")
            if not 0 <= count <= MOST_PACKS:
                raise Refused(TOO_MANY, field=f"packs-{pk}")
            if count == 0:
                lines[pk].delete()
            elif count != lines[pk].packs:
                lines[pk].packs = count
                lines[pk].save(update_fields=["packs"])
        if note is not None:
            put_fields(row, {"note": note}, ("note",))
        _save(row)
    return row


def add_line(
    *,
    order: Order,
    material: Material,
    packs: int,
    version: int | None = None,
    now: datetime,
    by: User | None,
) -> OrderLine:
    """Adds something to a draft: for the vans that lack it, the rest for stock."""
    with write(plan=False) as shop:
        row = _draft(order, version)
        material = fresh(Material, material)
        refuse_withdrawn(material.name, material.withdrawn, field="material")
        if row.build_id is not None or material.supplier_id != row.supplier_id:
            raise Refused(
                f"{material.name} is not bought from {row.supplier or 'a customer'}.", field="material"
            )
        if row.lines.filter(material=material).exists():
            raise Refused("It is in this order already. Change how many.", field="material")
        if not 1 <= packs <= MOST_PACKS:
            raise Refused(TOO_MANY, field="packs")
        lacking = [line for line in _still_to_order(row.supplier, None, shop, now) if line.pk == material.pk]
        if lacking:
            line = _line_of(row, lacking[0])
            line.packs = packs
        else:
            line = _filled_line(row, material, packs)
        line.save()
        _save(row)
    return line


def send_order(
    *,
    order: Order,
    sent_on: date,
    paper: tuple[str, bytes],
    expected_on: date | None = None,
    version: int | None = None,
    now: datetime,
    by: User | None,
) -> Order:
    """Says that it went out on `sent_on` and freezes `paper`; from now on its deliveries are expected.

    Each comes on `expected_on`, or after the material's lead time. The tasks that first use what comes
    wait for it. Refused when it is empty or a material was withdrawn.
    """
    with write() as shop:
        row = _draft(order, version)
        check_day(sent_on, "sent_on", not_after=opening_times(shop).day_of(now))
        if expected_on is not None:
            check_day(expected_on, "expected_on")
            if not sent_on <= expected_on <= sent_on + MOST_WAIT:
                raise Refused("It comes after it is sent, within two years.", field="expected_on")
        lines = list(row.lines.select_related("material__supplier"))
        if not lines:
            raise Refused("There is nothing in this order yet.")
        for line in lines:
            refuse_withdrawn(line.name, line.material.withdrawn)
        row.state, row.sent_on, row.expected_on = "sent", sent_on, expected_on
        row.frozen_html = paper[0]
        row.frozen_pdf.save(f"order-{row.number}.pdf", ContentFile(paper[1]), save=False)
        _save(row)
        for line in lines:
            _expect(line, expected_on or sent_on + timedelta(days=lead_days(line.material)))
        note_in_journal(f"Sent {row} on {day_words(sent_on)}", now=now, by=by, build=row.build)
    return row


def _expect(line: OrderLine, day: date) -> None:
    """What is to come of a line: one delivery for each van, and one for stock with what is over."""
    wanted = [(share.build_id, share.quantity) for share in line.shares.order_by("pk")]
    shares, over = shared_out(line.quantity, wanted)
    for build, quantity in shares:
        tasks = tasks_waiting(build, line.material, line.order.build_id is not None)
        expect_part(line, build, quantity, day).tasks.set(tasks)
    if over:
        expect_part(line, None, over, day)


def expect_part(line: OrderLine, build: int | None, quantity: Decimal, day: date) -> Delivery:
    """Adds one delivery of a line. Call inside a write."""
    return Delivery.objects.create(
        build_id=build,
        supplier=line.order.supplier,
        material=line.material,
        what=line.name,
        quantity=quantity,
        expected_on=day,
        first_expected_on=day,
        from_customer=line.order.build_id is not None,
        line=line,
    )


def tasks_waiting(build: int, material: Material, from_customer: bool) -> Iterable[Task]:
    """The tasks that first use it and are still to do."""
    needs = Need.objects.filter(build=build, material=material, customer_supplies=from_customer)
    return Task.objects.kept().filter(needs__in=needs, state="to do").distinct()


def drop_order(*, order: Order, version: int | None = None, now: datetime, by: User | None) -> Order:
    """Calls an order off: what has not come of it is not expected any more, and is to order again."""
    with write():
        row = _now(order, version)
        if row.state == "dropped":
            return row
        waiting = Delivery.objects.filter(line__order=row, arrived_on=None)
        here = Delivery.objects.filter(line__order=row).exclude(arrived_on=None).exists()
        if row.state == "sent" and not waiting.exists():
            raise Refused("All of it is here or was called off already.")
        waiting.delete()
        if not here:
            row.state = "dropped"
        _save(row)
        words = f"Called off what had not come of {row}" if here else f"Called off {row}"
        note_in_journal(words, now=now, by=by, build=row.build)
    return row


def refuse_withdrawn(name: str, withdrawn: bool, field: str | None = None) -> None:
    if withdrawn:
        raise Refused(
            f"{name} is withdrawn, so it can’t be ordered. Bring it back, or choose another material.",
            field=field,
        )


def _draft(order: Order, version: int | None) -> Order:
    row = _now(order, version)
    if row.state != "draft":
        raise Refused(f"{row} is {row.get_state_display()}, so it stays as it is.")
    return row


def _now(order: Order, version: int | None) -> Order:
    row = fresh(Order, order)
    check_version(row, version)
    return row


def _save(row: Order) -> None:
    row.version += 1
    row.save()
