"""The papers of cutting: cutting sheets of a build or a plan, and labels for its parts."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from builds.models import Build, CuttingPlan
from builds.queries.cut_lengths import length_plans
from builds.queries.cutting import board_of, cutting_boards
from builds.reports.cutting_sheets import cutting_sheets_paper
from builds.reports.part_labels import part_labels_paper


@require_safe
def build_sheets(request: HttpRequest, build: int) -> HttpResponse:
    """The cutting sheets of every board of a build, and its lengths."""
    found = get_object_or_404(Build, pk=build)
    boards = cutting_boards([found])
    title = f"Cutting sheets: {found.name}"
    lengths = length_plans(found, request.shop)
    _, pdf = cutting_sheets_paper(title, boards, timezone.now(), shop=request.shop, lengths=lengths)
    return _answer(pdf, f"cutting-{slugify(found.name)}.pdf")


@require_safe
def plan_sheets(request: HttpRequest, plan: int) -> HttpResponse:
    """The cutting sheets of one board."""
    rows = CuttingPlan.objects.select_related("material").prefetch_related("builds", "sheets__cut_by")
    board = board_of(get_object_or_404(rows, pk=plan))
    title = f"Cutting sheets: {board.material.name}"
    _, pdf = cutting_sheets_paper(title, [board], timezone.now(), shop=request.shop)
    return _answer(pdf, f"cutting-{slugify(board.material.name)}.pdf")


@require_safe
def build_labels(request: HttpRequest, build: int) -> HttpResponse:
    """Labels for the pieces of a build's sheets; their codes open the unit's job on a tablet."""
    found = get_object_or_404(Build, pk=build)

    def link_of(unit: int) -> str:
        return request.build_absolute_uri(reverse("floor:unit", args=[unit]))

    title = f"Part labels: {found.name}"
    boards = cutting_boards([found])
    _, pdf = part_labels_paper(title, boards, link_of, timezone.now(), shop=request.shop)
    return _answer(pdf, f"labels-{slugify(found.name)}.pdf")


def _answer(pdf: bytes, name: str) -> HttpResponse:
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response
