"""Every screen at every width and in both lights: no sideways scrolling, nothing serious found by axe."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from builds.actions import decisions, deliveries, floor
from builds.actions.builds import NewBuild, start_build
from builds.actions.composing import InstallationChoice, UnitChoice
from builds.actions.cutting import lay_out
from builds.actions.floor import By
from builds.actions.library import load_standard_library
from builds.actions.links import make_customer_link
from builds.actions.planning import replan
from builds.actions.price_lists import look_at_list
from builds.actions.sheets import draft_progress_sheet
from builds.actions.standard_checks import put_check_on
from builds.actions.tablets import add_tablet
from builds.actions.what_if import try_change
from builds.models import HoldPoint, Material, Place, StandardHoldPoint, Task, Trade, UnitKind, User
from builds.queries.opening import monday_of
from tests import cast
from tests.browser.looking import faults
from tests.lan.cast import served_on_the_lan

FRAGMENTS_AND_FILES = {
    "owner:plan-state", "owner:van-fields", "owner:unit-row", "owner:job-sheet", "owner:sheet-pdf",
    "owner:prices-file",
    "owner:material-pdf", "owner:shop-parts", "owner:tablet-code-drawing", "owner:move", "customer:sheet-pdf",
    "customer:photo", "floor:photo", "owner:cutting-how-far", "owner:cutting-pdf", "owner:cutting-plan-pdf",
    "owner:labels-pdf", "owner:trust-drawing", "owner:trust-authority", "owner:parts-file", "owner:unit-pdf",
    "owner:better-progress", "owner:build-helps", "owner:build-chances",
}  # fmt: skip
"""Routes that are no page of their own: parts of pages, pictures, PDFs."""


@dataclass
class Things:
    """One of each thing that an address may name, by the name of its argument."""

    ids: dict[str, object]


@pytest.fixture
def things(site, settings, tmp_path) -> Things:
    """A shop with one build under way, and one of everything that has a page."""
    served_on_the_lan(settings, tmp_path)
    now = timezone.now()
    owner = User.objects.filter(username="rowan").first() or cast.make_owner()
    load_standard_library(now=now)
    wren = cast.make_person("Wren Alder", "joinery", "finishing", "owner", "vehicle", competence="on record")
    cast.make_person("Sable Quill", "electrical", "plumbing", "heating", "trim")
    today = timezone.localdate()
    new = NewBuild(
        name="Heron",
        customer_name="Marian Ashdown",
        arrives_on=today - timedelta(days=8),
        promised_on=today + timedelta(days=90),
        price_agreed=Decimal(31000),
        van={"load_length_mm": 3000, "load_width_mm": 1800, "load_height_mm": 1900, "plated_mass_kg": 3500},
        units=(UnitChoice("kitchen", "Kitchen", 1200, 500, 880),),
        installations=tuple(InstallationChoice(k) for k in ("floor", "lining", "insulation", "gas")),
    )
    build = start_build(new=new, now=now, by=owner)
    task = Task.objects.filter(build=build, standard="vinyl").get()
    common = {"now": now, "by": owner}
    delivery = deliveries.expect_delivery(
        build=build, what="Floor covering", expected_on=today, tasks=[task], **common
    )
    decision = decisions.ask(build=build, what="Colour", needed_by=today, **common)
    sheet = draft_progress_sheet(build=build, monday=monday_of(today), **common)
    by = By(person=wren)
    floor.add_snag(build=build, text="Scratch by the door", by=by, now=now)
    brief = Task.objects.get(build=build, standard="brief")
    ticked = floor.tick_task(task=brief, hours="3", by=by, now=now).event
    late = By(person=wren, uuid=uuid4(), device_at=now)
    floor.tick_task(task=brief, hours="5", by=late, now=now)
    hose = StandardHoldPoint.objects.get(key="openings_hose")
    put_check_on(task=task, check=hose, **common)
    tablet, _ = add_tablet(name="Paint tablet", **common)
    link, token = make_customer_link(build=build, **common)
    kitchen = build.units.get()
    cutting = lay_out(builds=[build], **common)[0]
    board = Material.objects.get(key="ply15")
    looked_at = look_at_list(
        supplier=board.supplier, text="material,price of a pack\nBirch ply 15 mm,74.00\n", **common
    )
    replan(now=now)
    day = (today + timedelta(days=9)).isoformat()
    late = {"kind": "late", "delivery": delivery.pk, "day": day, "words": "Floor covering: to come later"}
    try_change(change=late, now=now)
    return Things(
        {
            "unit": kitchen.pk,
            "part": kitchen.parts.first().pk,
            "plan": cutting.pk,
            "cut_sheet": cutting.sheets.first().pk,
            "build": build.pk,
            "task": task.pk,
            "person": wren.pk,
            "delivery": delivery.pk,
            "decision": decision.pk,
            "sheet": sheet.pk,
            "tablet": tablet.pk,
            "link": link.pk,
            "token": token,
            "event": ticked.pk,
            "standard_check": hose.pk,
            "check": HoldPoint.objects.get(kind="gas_tightness").pk,
            "material": Material.objects.first().pk,
            "supplier": looked_at.supplier_id,
            "price_list": looked_at.pk,
            "kind": UnitKind.objects.first().pk,
            "place": Place.objects.first().pk,
            "trade": Trade.objects.first().pk,
        }
    )


def pages(namespace: str, known: dict) -> list[tuple[str, str]]:
    """(name, address) of every page of an audience that shows with a GET."""
    resolver = next(
        r for r in get_resolver().url_patterns if isinstance(r, URLResolver) and r.namespace == namespace
    )
    found = []
    for entry in resolver.url_patterns:
        if not isinstance(entry, URLPattern) or f"{namespace}:{entry.name}" in FRAGMENTS_AND_FILES:
            continue
        converters = entry.pattern.converters
        if all(name in known for name in converters):
            given = {name: _value(name, converter, known) for name, converter in converters.items()}
            found.append((entry.name, reverse(f"{namespace}:{entry.name}", kwargs=given)))
    return found


def _value(name: str, converter: object, known: dict) -> object:
    """The library names its tasks by key, builds name theirs by number."""
    return "vinyl" if name == "task" and type(converter).__name__ == "SlugConverter" else known[name]


def seen(page, site: str, namespace: str, known: dict) -> tuple[list[str], list[str]]:
    """What is wrong with the pages of an audience, and the names of those that were looked at."""
    wrong, names = [], []
    for name, path in pages(namespace, known):
        response = page.request.get(site + path, max_redirects=0)
        if response.status in (302, 405) or "text/html" not in response.headers.get("content-type", ""):
            continue
        names.append(name)
        if response.status != 200:
            wrong.append(f"{path} answers {response.status}")
            continue
        wrong += faults(page, site + path)
    return wrong, names


def test_every_owner_screen_stands_every_width_and_light(as_owner, site, things):
    wrong, names = seen(as_owner, site, "owner", things.ids)

    assert wrong == []
    assert {"week", "wall", "crew", "build-page", "build-work", "task", "shop", "material"} <= set(names)


def test_every_floor_screen_stands_every_width_and_light(on_tablet, site, things):
    wrong, names = seen(on_tablet, site, "floor", things.ids)

    assert wrong == []
    assert {"names", "job-sheet", "hold-point", "van"} <= set(names)


def test_the_customers_page_and_the_sign_in_stand_every_width_and_light(page, site, things):
    wrong, names = seen(page, site, "customer", things.ids)

    assert wrong + faults(page, f"{site}/sign-in/") == []
    assert names
