"""The shop's hold points: the list, a new one, what one asks for; and putting one on a task."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.actions import standard_checks as actions
from builds.actions.door import Refused
from builds.models import StandardHoldPoint, StandardTask, Task

from .editing import who
from .forms_checks import CheckForm
from .keeping import kept
from .shop_ways import ways_of_shop

WAY = "owner:standard-list"


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    used = StandardTask.objects.filter(withdrawn=False).exclude(hold_point="")
    tasks: dict[str, list[str]] = {}
    for key, name in used.values_list("hold_point", "name"):
        tasks.setdefault(key, []).append(name)
    rows = [(row, tasks.get(row.key, [])) for row in StandardHoldPoint.objects.all()]
    return render(request, "owner/shop/checks.html", {"ways": ways_of_shop(WAY), "rows": rows})


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    form = CheckForm(request.POST or None)
    if request.method == "POST" and kept(
        form, lambda: actions.add_check(fields=form.values(), **who(request))
    ):
        words = "Put it on a task of a build, or of the library."
        messages.success(request, f"Added: {form.cleaned_data['name']}. {words}")
        return redirect("owner:standard-check-list")
    return _show(request, form, "A new hold point")


@require_http_methods(["GET", "HEAD", "POST"])
def check(request: HttpRequest, standard_check: int) -> HttpResponse:
    found = get_object_or_404(StandardHoldPoint, pk=standard_check)
    form = CheckForm(
        request.POST or None, check=found, of=lambda: [StandardHoldPoint.objects.get(pk=standard_check)]
    )

    def keep() -> None:
        actions.change_check(check=found, fields=form.values(), seen=form.seen_then, **who(request))

    if request.method == "POST" and kept(form, keep):
        messages.success(request, "Kept. Builds that exist keep their checks as they are.")
        return redirect("owner:standard-check-list")
    return _show(request, form, found.name)


@require_POST
def put_on(request: HttpRequest, build: int, task: int) -> HttpResponse:
    """Makes a task of a build end with a hold point."""
    found = get_object_or_404(Task.objects.kept(), pk=task, build=build)
    standard = get_object_or_404(StandardHoldPoint, key=request.POST.get("check", "")[:30])
    try:
        made = actions.put_check_on(task=found, check=standard, **who(request))
    except Refused as error:
        messages.error(request, error.words)
    else:
        messages.success(request, f"It ends with “{made.name}” now; what comes after waits for the pass.")
    return redirect("owner:task", build, task)


def _show(request: HttpRequest, form: CheckForm, title: str) -> HttpResponse:
    context = {"ways": ways_of_shop(WAY), "form": form, "title": title}
    return render(request, "owner/shop/check.html", context, status=form.status)
