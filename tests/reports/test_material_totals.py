"""The material totals as a paper: renders quietly, is tagged, says its rules."""

from __future__ import annotations

import io
import logging
from datetime import date
from decimal import Decimal

import pytest
from pypdf import PdfReader

from builds.models import Material, Need, Supplier
from builds.reports.material_totals import material_totals_paper
from tests import cast


@pytest.fixture
def build(shop):
    yard = Supplier.objects.create(name="Test Yard", lead_days=7, minimum_order=Decimal(200))
    ply = Material.objects.create(
        key="ply",
        name="Ply & <board>",
        form="sheet",
        unit="m**2",
        pack=Decimal("2.977"),
        price=Decimal("59.90"),
        supplier=yard,
        thickness_mm=12,
        density_kg_m3=700,
        rule="area with waste",
        length_mm=2440,
        width_mm=1220,
    )
    build = cast.make_build(arrives_on=date(2027, 3, 1))
    task = cast.make_task(build, "cut-parts")
    Need.objects.create(
        build=build, material=ply, quantity=Decimal("5.5"), waste_percent=15, task=task, rule="board area"
    )
    return build


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def test_it_renders_without_a_warning_and_is_tagged(build, shop, now, caplog):
    with caplog.at_level(logging.WARNING):
        _, pdf = material_totals_paper([build], now, shop=shop)

    assert [r.message for r in caplog.records] == []
    root = PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712  a PDF boolean
    assert "/StructTreeRoot" in root


def test_it_says_rule_waste_packs_price_vat_and_mass(build, shop, now):
    _, pdf = material_totals_paper([build], now, shop=shop)

    words = text_of(pdf)
    for said in ("area with waste", "15 %", "3 sheets", "£179.70", "£35.94", "£215.64", "46.2", "TEST YARD"):
        assert said in words


def test_markup_in_a_name_is_only_a_name(build, shop, now):
    page, _ = material_totals_paper([build], now, shop=shop)

    assert "Ply &amp; &lt;board&gt;" in page


def test_no_builds_give_a_paper_that_says_so(shop, now):
    _, pdf = material_totals_paper([], now, shop=shop)

    assert "Nothing is needed" in text_of(pdf)
