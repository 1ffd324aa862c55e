"""One van on the tablet: its snags, what is behind its panels, what is fitted and its papers."""

from __future__ import annotations

from functools import partial

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import filing, floor
from builds.models import Build, FiledPaper, Installation, Person, Snag
from builds.models.evidence import PLACES_IN_VAN
from builds.queries.evidence import van_page
from builds.screens.files import paper_response

from .evidence import file_of, place_of
from .queued import in_work
from .sheet import Trouble, answered


@require_safe
def page(request: HttpRequest, person: int, build: int) -> HttpResponse:
    return _show(request, person, build=_build_of(request, build))


@require_POST
def put_right(request: HttpRequest, person: int, build: int, snag: int) -> HttpResponse:
    van = _build_of(request, build)
    found = get_object_or_404(Snag, pk=snag, build=van)
    return _answered(
        request,
        person,
        van,
        f"put-right {snag}",
        lambda by: floor.put_right(snag=found, by=by, now=timezone.now()),
    )


@require_POST
def snag(request: HttpRequest, person: int, build: int) -> HttpResponse:
    van, text = _build_of(request, build), request.POST.get("text", "")
    return _answered(
        request,
        person,
        van,
        f"van-snag {build}",
        lambda by: floor.add_snag(build=van, text=text, by=by, now=timezone.now()),
    )


@require_POST
def photo(request: HttpRequest, person: int, build: int) -> HttpResponse:
    van = _build_of(request, build)
    return _answered(
        request,
        person,
        van,
        f"van-photo {build}",
        lambda by: floor.add_photo(
            file=file_of(request), build=van, behind=place_of(request), by=by, now=timezone.now()
        ),
    )


@require_POST
def paper(request: HttpRequest, person: int, build: int, installation: int) -> HttpResponse:
    """Files a serial number, a photo of a plate or a PDF against an installation."""
    van = _build_of(request, build)
    owner = get_object_or_404(Installation, pk=installation, build=van)
    return _answered(
        request,
        person,
        van,
        f"paper {installation}",
        lambda by: filing.file_paper(
            build=van,
            installation=owner,
            file=request.FILES.get("paper"),
            title=request.POST.get("title", ""),
            serial_number=request.POST.get("serial_number", ""),
            by=by,
            now=timezone.now(),
        ),
    )


@require_safe
def paper_file(request: HttpRequest, uuid) -> HttpResponse:
    rows = FiledPaper.objects.filter(withdrawn_at=None, build__status="agreed").exclude(file="")
    return paper_response(get_object_or_404(rows, uuid=uuid))


def _answered(request: HttpRequest, person: int, van: Build, at: str, act) -> HttpResponse:
    show, address = partial(_show, build=van), reverse("floor:van", args=[person, van.pk])
    return answered(request, person, at, act, show=show, address=address)


def _build_of(request: HttpRequest, pk: int) -> Build:
    return get_object_or_404(Build, pk=pk, **in_work(request, "status"))


def _show(request: HttpRequest, person: int, trouble: Trouble | None = None, *, build: Build) -> HttpResponse:
    reader = get_object_or_404(Person.objects.working(), pk=person)
    context = {
        "van": van_page(build),
        "person": reader.name,
        "person_pk": person,
        "trouble": trouble,
        "places_in_van": PLACES_IN_VAN,
    }
    template = "floor/van/_van.html" if request.htmx else "floor/van/page.html"
    return render(request, template, context, status=trouble.status if trouble else 200)
