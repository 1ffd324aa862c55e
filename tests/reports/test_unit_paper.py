"""A unit's paper: drawing, fronts, parts and the code that opens it on a tablet; tagged, and no money."""

from __future__ import annotations

import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from builds.models import Unit
from builds.reports.unit_paper import unit_paper
from tests.screens.test_unit_page import WARDROBE, library, start  # noqa: F401


@pytest.fixture
def unit(start) -> Unit:  # noqa: F811
    made = start(WARDROBE).units.get()
    return Unit.objects.select_related("build__customer", "making").get(pk=made.pk)


def test_the_paper_has_the_drawing_every_part_and_the_way_to_the_tablet(unit, now, shop):
    page, pdf = unit_paper(unit, "https://shed.local/floor/unit/1/", now, shop=shop)

    paper = PdfReader(io.BytesIO(pdf))
    words = " ".join(sheet.extract_text() for sheet in paper.pages)
    assert paper.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert "From the front" in page
    for part in unit.parts.all():
        assert part.name in words
    assert "Code that opens this unit on a tablet" in page
    assert "price" not in words.lower()


def test_a_unit_that_cannot_be_made_says_so_on_its_paper(unit, now, shop):
    Unit.objects.filter(pk=unit.pk).update(width_mm=10)
    unit.refresh_from_db()

    page, _ = unit_paper(unit, "https://shed.local/", now, shop=shop)

    assert "It can’t be made like this" in page


def test_the_owner_gets_it_as_a_pdf(owner_client, unit):
    answer = owner_client.get(reverse("owner:unit-pdf", args=[unit.build_id, unit.pk]))

    assert (answer["Content-Type"], answer.content[:5]) == ("application/pdf", b"%PDF-")
