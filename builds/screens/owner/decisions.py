"""What customers still have to decide, by when, and which tasks wait for it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from builds.actions import decisions as actions
from builds.models import Build, Decision
from builds.queries.deliveries import decision_line, decision_lines, vans_to_choose

from .forms_deliveries import AgainForm, AnswerForm, QuestionForm
from .keeping import KeptForm, kept
from .shop_ways import ways_of_shop


@require_safe
def listing(request: HttpRequest) -> HttpResponse:
    waiting, answered = decision_lines(timezone.localdate())
    context = {
        "ways": ways_of_shop("owner:decision-list"),
        "waiting": waiting,
        "answered": answered,
        "vans": vans_to_choose(),
    }
    return render(request, "owner/deliveries/decisions.html", context)


@require_safe
def choose(request: HttpRequest) -> HttpResponse:
    """From the chosen van to its form."""
    van = request.GET.get("van", "")
    if not (van.isdecimal() and len(van) < 10):
        return redirect("owner:decision-list")
    return redirect("owner:decision-new", int(van))


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest, build: int) -> HttpResponse:
    found = get_object_or_404(Build, pk=build)
    form = QuestionForm(request.POST or None, build=found)

    def keep() -> None:
        actions.ask(build=found, **form.values(), **_who(request))

    if request.method == "POST" and kept(form, keep):
        messages.success(request, "Kept. It stands on the customer’s next progress sheet.")
        return redirect("owner:decision-list")
    context = {"ways": ways_of_shop("owner:decision-list"), "form": form, "build": found}
    return render(request, "owner/deliveries/decision_new.html", context, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
def decision(request: HttpRequest, decision: int) -> HttpResponse:
    """One question; a POST changes what is asked, by when, and who waits."""
    found = _decision(decision)
    if request.method != "POST":
        return _show(request, found)
    form = _form(found, request.POST)

    def keep() -> None:
        actions.change_decision(decision=found, **form.values(), seen=form.seen_then, **_who(request))

    return _kept_or_shown(request, found, form, keep, "Kept. The plan is made anew.")


@require_POST
def decide(request: HttpRequest, decision: int) -> HttpResponse:
    found = _decision(decision)
    form = AnswerForm(request.POST, of=lambda: [_decision(decision)])

    def keep() -> None:
        actions.decide(decision=found, **form.values(), seen=form.seen_then, **_who(request))

    return _kept_or_shown(request, found, form, keep, "Kept. What waited for it may go ahead.")


@require_POST
def ask_again(request: HttpRequest, decision: int) -> HttpResponse:
    found = _decision(decision)
    form = AgainForm(request.POST, of=lambda: [_decision(decision)])

    def keep() -> None:
        actions.ask_again(decision=found, **form.values(), seen=form.seen_then, **_who(request))

    return _kept_or_shown(request, found, form, keep, "It is asked again.")


@require_POST
def drop(request: HttpRequest, decision: int) -> HttpResponse:
    actions.drop(decision=_decision(decision), **_who(request))
    messages.success(request, "Taken off. Nothing waits for it any more.")
    return redirect("owner:decision-list")


def _kept_or_shown(request, found: Decision, form: KeptForm, keep, words: str) -> HttpResponse:
    if not kept(form, keep):
        return _show(request, found, form)
    messages.success(request, words)
    return redirect("owner:decision", found.pk)


def _show(request: HttpRequest, found: Decision, typed: KeptForm | None = None) -> HttpResponse:
    found = _decision(found.pk) if typed else found

    def now() -> list:
        return [_decision(found.pk)]

    context = {
        "ways": ways_of_shop("owner:decision-list"),
        "decision": found,
        "line": decision_line(found, timezone.localdate()),
        "form": typed if isinstance(typed, QuestionForm) else _form(found),
        "answer_form": typed if isinstance(typed, AnswerForm) else AnswerForm(of=now),
        "again_form": typed if isinstance(typed, AgainForm) else AgainForm(of=now),
    }
    status = typed.status if typed else 200
    return render(request, "owner/deliveries/decision.html", context, status=status)


def _form(found: Decision, data=None) -> QuestionForm:
    return QuestionForm(
        data,
        initial={"what": found.what, "needed_by": found.needed_by},
        build=found.build,
        chosen=tuple(found.tasks.values_list("pk", flat=True)),
        of=lambda: [_decision(found.pk)],
    )


def _decision(pk: int) -> Decision:
    return get_object_or_404(Decision.objects.select_related("build"), pk=pk)


def _who(request: HttpRequest) -> dict:
    return {"now": timezone.now(), "by": request.user}
