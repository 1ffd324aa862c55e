"""People: the list, one person with their week, absences, booked days and PIN."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.actions import people as actions
from builds.actions import pins
from builds.models import Absence, OpeningSpan, Person, PersonHours, VisitDay
from builds.queries.people import people_list, person_page

from .forms_people import AbsenceForm, LeaveForm, PersonForm, PinForm, VisitForm
from .forms_week import WeekForm, copied_from, monday_copied
from .keeping import KeptForm, kept
from .shop_ways import ways_of_shop


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    context = {"ways": ways_of_shop("owner:person-list"), "people": people_list(timezone.localdate())}
    return render(request, "owner/shop/people.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    form = PersonForm(request.POST or None)

    def keep() -> None:
        form.made = actions.add_person(**form.values(), now=timezone.now(), by=request.user)

    if request.method == "POST" and kept(form, keep):
        messages.success(request, f"{form.made.name} is here. The plan is made anew.")
        return redirect("owner:person", form.made.pk)
    context = {"ways": ways_of_shop("owner:person-list"), "form": form}
    return render(request, "owner/shop/person_new.html", context, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
def person(request: HttpRequest, person: int) -> HttpResponse:
    found = get_object_or_404(Person, pk=person)
    if request.method != "POST":
        return _show(request, found)
    form = _person_form(person, request.POST)

    def keep() -> None:
        fields = form.values()
        trades = fields.pop("trades")
        actions.change_person(
            person=found, fields=fields, trades=trades, seen=form.seen_then, **_who(request)
        )

    return _kept_or_shown(request, found, form, keep, "Kept. The plan is made anew.")


@require_http_methods(["GET", "HEAD", "POST"])
def hours(request: HttpRequest, person: int) -> HttpResponse:
    found = get_object_or_404(Person, pk=person)
    data = request.POST or None
    copy = data.get("copy") if data else None
    if copy:
        data = monday_copied(data) if copy == "monday" else copied_from(_shop_week(), data)
    form = WeekForm(data, week=_week_of(found), of=lambda: list(found.hours.all()))

    def keep() -> None:
        actions.set_hours(person=found, spans=form.spans(), seen=form.seen_then, **_who(request))

    if data is not None and not copy and kept(form, keep):
        messages.success(request, "Kept. The plan is made anew.")
        return redirect("owner:person", found.pk)
    context = {"ways": ways_of_shop("owner:person-list"), "form": form, "person": found, "copied": copy}
    return render(request, "owner/shop/person_hours.html", context, status=form.status)


@require_POST
def absence_add(request: HttpRequest, person: int) -> HttpResponse:
    found = get_object_or_404(Person, pk=person)
    form = AbsenceForm(request.POST)

    def keep() -> None:
        actions.add_absence(person=found, **form.values(), **_who(request))

    return _kept_or_shown(request, found, form, keep, "Kept. The plan goes around it.")


@require_POST
def absence_remove(request: HttpRequest, person: int, absence: int) -> HttpResponse:
    found = get_object_or_404(Absence, pk=absence, person_id=person)
    actions.remove_absence(absence=found, **_who(request))
    messages.success(request, "Taken back. The plan is made anew.")
    return redirect("owner:person", person)


@require_POST
def visit_add(request: HttpRequest, person: int) -> HttpResponse:
    found = get_object_or_404(Person, pk=person)
    form = VisitForm(request.POST)

    def keep() -> None:
        actions.book_visit(person=found, **form.values(), **_who(request))

    return _kept_or_shown(request, found, form, keep, "Booked. The plan is made anew.")


@require_POST
def visit_cancel(request: HttpRequest, person: int, visit: int) -> HttpResponse:
    found = get_object_or_404(VisitDay, pk=visit, person_id=person)
    actions.cancel_visit(visit=found, **_who(request))
    messages.success(request, "Cancelled. The plan is made anew.")
    return redirect("owner:person", person)


@require_POST
def pin(request: HttpRequest, person: int) -> HttpResponse:
    found = get_object_or_404(Person, pk=person)
    if "clear" in request.POST:
        pins.clear_pin(person=found, **_who(request))
        messages.success(request, f"{found.name} has no PIN any more.")
        return redirect("owner:person", found.pk)
    form = PinForm(request.POST)

    def keep() -> None:
        pins.set_pin(person=found, pin=form.cleaned_data["pin"], **_who(request))

    return _kept_or_shown(request, found, form, keep, f"{found.name} signs with the new PIN from now on.")


@require_POST
def leave(request: HttpRequest, person: int) -> HttpResponse:
    found = get_object_or_404(Person, pk=person)
    form = LeaveForm(request.POST)

    def keep() -> None:
        actions.leave(person=found, on=form.cleaned_data["left_on"], **_who(request))

    return _kept_or_shown(request, found, form, keep, f"{found.name} gets no work any more.")


@require_POST
def come_back(request: HttpRequest, person: int) -> HttpResponse:
    found = get_object_or_404(Person, pk=person)
    actions.come_back(person=found, **_who(request))
    messages.success(request, f"{found.name} works here again. The plan is made anew.")
    return redirect("owner:person", found.pk)


def _kept_or_shown(request, found: Person, form: KeptForm, keep, words: str) -> HttpResponse:
    if not kept(form, keep):
        return _show(request, found, form)
    messages.success(request, words)
    return redirect("owner:person", found.pk)


def _show(request: HttpRequest, found: Person, typed: KeptForm | None = None) -> HttpResponse:
    today = timezone.localdate()
    empty = (_person_form(found.pk), AbsenceForm(), VisitForm(), PinForm(), LeaveForm())
    forms = {type(form).__name__: typed if type(typed) is type(form) else form for form in empty}
    context = {
        "ways": ways_of_shop("owner:person-list"),
        "page": person_page(found, today),
        "person": found,
        "typed": typed,
        "form": forms["PersonForm"],
        "absence_form": forms["AbsenceForm"],
        "visit_form": forms["VisitForm"],
        "pin_form": forms["PinForm"],
        "leave_form": forms["LeaveForm"],
    }
    return render(request, "owner/shop/person.html", context, status=typed.status if typed else 200)


def _person_form(pk: int, data=None) -> PersonForm:
    def now() -> list:
        row = Person.objects.get(pk=pk)
        return [row, *row.trades.all()]

    return PersonForm(data, instance=Person.objects.get(pk=pk), of=now)


def _week_of(found: Person) -> dict[int, list]:
    week: dict[int, list] = {}
    for span in PersonHours.objects.filter(person=found):
        week.setdefault(span.weekday, []).append((span.starts, span.ends))
    return week


def _shop_week() -> dict[int, list]:
    week: dict[int, list] = {}
    for span in OpeningSpan.objects.all():
        week.setdefault(span.weekday, []).append((span.opens, span.closes))
    return week


def _who(request: HttpRequest) -> dict:
    return {"now": timezone.now(), "by": request.user}
