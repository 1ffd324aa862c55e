"""Cutting: what is laid out for which builds, a better layout, one sheet with its order of cuts."""

from __future__ import annotations

import json
from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import cutting as actions
from builds.actions import cutting_search as search
from builds.actions.door import Refused
from builds.engines.cutting.measures import millimetres
from builds.models import Build, CutSheet, CuttingPlan, Shop
from builds.queries.cutting import BoardPlan, board_of, cutting_boards, plan_sheet, search_tag

from .build_frame import build_or_404, ways_of_build
from .forms_build import refuse_in
from .forms_cutting import SawForm, SearchForm, TogetherForm


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """Every cutting plan of the builds in the plan, and laying out several builds together."""
    return _show_page(request)


@require_POST
def together(request: HttpRequest) -> HttpResponse:
    form = TogetherForm(request.POST, builds=Build.objects.to_plan())
    if form.is_valid():
        try:
            plans = actions.lay_out(
                builds=list(form.cleaned_data["builds"]), now=timezone.now(), by=request.user
            )
        except Refused as error:
            refuse_in(form, error)
        else:
            messages.success(request, _laid_out(plans))
            return redirect("owner:cutting")
    return _show_page(request, form=form, status=422)


@require_POST
def saw(request: HttpRequest) -> HttpResponse:
    form = SawForm(request.POST)
    if form.is_valid():
        try:
            actions.set_saw(**form.tenths(), now=timezone.now(), by=request.user)
        except Refused as error:
            refuse_in(form, error)
        else:
            messages.success(request, "Kept. Plans laid out from now on use it.")
            return redirect("owner:cutting")
    return _show_page(request, saw_form=form, status=422)


@require_safe
def of_build(request: HttpRequest, build: int) -> HttpResponse:
    """The boards of one build, each with its sheets drawn small."""
    found = build_or_404(build)
    boards = _looked_at(cutting_boards([found]))
    context = {
        "build": found,
        "ways": ways_of_build(found, "owner:build-cutting"),
        "boards": boards,
        "is_laid_out": any(board.plan for board in boards),
        "search_form": SearchForm(),
    }
    return render(request, "owner/cutting/build.html", context)


@require_POST
def lay_out_build(request: HttpRequest, build: int) -> HttpResponse:
    """Lays out this build's parts; those of builds that it shared sheets with are laid out with it."""
    found = get_object_or_404(Build, pk=build)
    others = Build.objects.filter(cutting_plans__builds=found).exclude(pk=found.pk).distinct()
    try:
        plans = actions.lay_out(builds=[found, *others], now=timezone.now(), by=request.user)
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, _laid_out(plans))
    return redirect("owner:build-cutting", found.pk)


@require_safe
def plan_page(request: HttpRequest, plan: int) -> HttpResponse:
    """One board over its builds; a fragment when only the board is asked for."""
    return _show_plan(request, plan)


@require_POST
def better(request: HttpRequest, plan: int) -> HttpResponse:
    """Begins to look for a better layout."""
    found = _plan_or_404(plan)
    form = SearchForm(request.POST)
    seconds = form.cleaned_data["seconds"] if form.is_valid() else 0
    search.ask_for_better_layout(plan=found, seconds=seconds, now=timezone.now())
    return _board_again(request, plan)


@require_POST
def stop(request: HttpRequest, plan: int) -> HttpResponse:
    search.stop_layout_search(plan=_plan_or_404(plan), now=timezone.now())
    return _board_again(request, plan)


@require_safe
def how_far(request: HttpRequest, plan: int) -> HttpResponse:
    """How far a search is, asked for again and again; says so once when it has ended."""
    found = CuttingPlan.objects.filter(pk=plan).first()
    if found is not None:
        search.show_if_lost(found, timezone.now())
    tag = search_tag(found)
    if request.headers.get("If-None-Match") == tag:
        return HttpResponseNotModified()
    share = min(100, round(100 * found.seconds_spent / (found.seconds or 1))) if found else 100
    context = {"plan": found, "number": plan, "share": share, "tag": tag}
    response = render(request, "owner/cutting/_how_far.html", context)
    response["ETag"] = tag
    if found is None or not found.is_looking:
        words = found.found if found else "It was laid out anew."
        response["HX-Trigger"] = json.dumps({f"layout-{plan}": True, "say": words})
    return response


@require_safe
def sheet_page(request: HttpRequest, cut_sheet: int) -> HttpResponse:
    """One sheet to scale, its pieces and the order of its cuts."""
    rows = CutSheet.objects.select_related("plan__material", "cut_by")
    found = get_object_or_404(rows, pk=cut_sheet)
    numbers = list(found.plan.sheets.order_by("number").values_list("pk", flat=True))
    at = numbers.index(found.pk)
    context = {
        "material": found.plan.material,
        "plan": found.plan,
        "kerf_mm": millimetres(found.plan.kerf_tenths),
        "sheet": plan_sheet(found, found.plan),
        "of": len(numbers),
        "before": numbers[at - 1] if at else None,
        "after": numbers[at + 1] if at + 1 < len(numbers) else None,
    }
    return render(request, "owner/cutting/sheet.html", context)


def _show_page(
    request: HttpRequest,
    *,
    form: TogetherForm | None = None,
    saw_form: SawForm | None = None,
    status: int = 200,
) -> HttpResponse:
    builds = Build.objects.to_plan()
    context = {
        "boards": _looked_at(cutting_boards(list(builds), drawn=False)),
        "form": form or TogetherForm(builds=builds),
        "saw_form": saw_form or SawForm.of(Shop.objects.get(pk=1) if saw_form else request.shop),
    }
    return render(request, "owner/cutting/page.html", context, status=status)


def _board_again(request: HttpRequest, plan: int) -> HttpResponse:
    return _show_plan(request, plan) if request.htmx else redirect("owner:cutting-plan", plan)


def _show_plan(request: HttpRequest, plan: int) -> HttpResponse:
    template = "owner/cutting/_board.html" if request.htmx else "owner/cutting/plan.html"
    found = _plan_or_404(plan)
    search.show_if_lost(found, timezone.now())
    return render(request, template, {"board": board_of(found), "search_form": SearchForm()})


def _looked_at(boards: Sequence[BoardPlan]) -> Sequence[BoardPlan]:
    for board in boards:
        if board.plan is not None:
            search.show_if_lost(board.plan, timezone.now())
    return boards


def _plan_or_404(pk: int) -> CuttingPlan:
    rows = CuttingPlan.objects.select_related("material").prefetch_related("builds", "sheets__cut_by")
    return get_object_or_404(rows, pk=pk)


def _laid_out(plans: list[CuttingPlan]) -> str:
    unfit = sum(row["count"] for plan in plans for row in plan.unplaced)
    boards = "1 board" if len(plans) == 1 else f"{len(plans)} boards"
    return f"Laid out on {boards}." + (f" {unfit} parts fit no sheet: see below." if unfit else "")
