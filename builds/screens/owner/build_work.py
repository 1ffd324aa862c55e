"""The work of one build: the list, bulk ticks, one task with its links, and what may be done to it."""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from builds.actions import network
from builds.actions import tasks as actions
from builds.actions.door import Refused
from builds.actions.floor import bulk_tick, reopen
from builds.models import Build, Link, StandardHoldPoint, Task, Trade
from builds.queries.build_work import build_work, task_page

from .build_frame import build_or_404, ways_of_build
from .forms_build import refuse_in
from .forms_task import LinkForm, NewTaskForm, SplitForm, TaskForm


@require_safe
def page(request: HttpRequest, build: int) -> HttpResponse:
    found = build_or_404(build)
    words, only = request.GET.get("words", "")[:80], request.GET.get("only", "")[:30]
    context = {
        "build": found,
        "work": build_work(found, shop=request.shop, words=words, only=only),
        "ways": ways_of_build(found, "owner:build-work"),
        "words": words,
        "only": only,
        "trades": Trade.objects.all(),
        "states": [word for word, _ in Task.STATES],
    }
    template = "owner/builds/_work.html" if request.htmx else "owner/builds/work.html"
    return render(request, template, context)


@require_POST
def tick_many(request: HttpRequest, build: int) -> HttpResponse:
    """Ticks what was done before the tool arrived; asks for no dates."""
    found = get_object_or_404(Build, pk=build)
    chosen = _chosen(request, found)
    named = request.POST.get("competent_person", "")
    done = bulk_tick(build=found, tasks=chosen, user=request.user, now=timezone.now(), competent_person=named)
    if done.ticked:
        messages.success(request, f"{_tasks(len(done.ticked))} ticked as done before.")
    if done.checks_left:
        names = ", ".join(t.hold_point.name for t in done.checks_left)
        messages.warning(request, f"Left to do, because their checks are not on record: {names}.")
    if done.held:
        names = ", ".join(sorted({check for _, check in done.held}))
        messages.warning(
            request, f"{_tasks(len(done.held))} left to do, because these checks come first: {names}."
        )
    if done.unnamed:
        names = ", ".join(t.name for t in done.unnamed)
        messages.warning(request, f"Left to do; name the competent person who did it: {names}.")
    if not any((done.ticked, done.checks_left, done.held, done.unnamed)):
        messages.error(request, "Choose the tasks that are done first.")
    return redirect("owner:build-work", found.pk)


@require_POST
def merge(request: HttpRequest, build: int) -> HttpResponse:
    found = get_object_or_404(Build, pk=build)
    try:
        kept = actions.merge_tasks(tasks=_chosen(request, found), now=timezone.now(), by=request.user)
    except Refused as error:
        messages.error(request, error.words)
        return redirect("owner:build-work", found.pk)
    messages.success(request, f"Merged into “{kept.name}”.")
    return redirect("owner:task", found.pk, kept.pk)


def new(request: HttpRequest, build: int) -> HttpResponse:
    """Adds a task, a job nobody planned among them."""
    found = build_or_404(build)
    if request.method != "POST":
        start = {"token": uuid.uuid4(), "unplanned_job": "unplanned" in request.GET, "needs_van": True}
        return _show_new(request, found, NewTaskForm(initial=start, build=found))
    form = NewTaskForm(request.POST, build=found)
    if form.is_valid():
        given = form.cleaned_data
        try:
            task = actions.add_task(
                build=found,
                fields=form.fields_given,
                after=given["after"],
                before=given["before"],
                unplanned_job=given["unplanned_job"],
                token=given["token"],
                now=timezone.now(),
                by=request.user,
                **form.owner,
            )
        except Refused as error:
            refuse_in(form, error)
        else:
            messages.success(request, f"“{task.name}” is in the build; the plan takes it in now.")
            return redirect("owner:task", found.pk, task.pk)
    return _show_new(request, found, form, status=422)


def _show_new(request: HttpRequest, build: Build, form: NewTaskForm, status: int = 200) -> HttpResponse:
    context = {"build": build, "form": form, "ways": ways_of_build(build, "owner:build-work")}
    return render(request, "owner/builds/task_new.html", context, status=status)


def task(request: HttpRequest, build: int, task: int) -> HttpResponse:
    """Shows one task; a POST changes it."""
    found = _task_or_404(build, task)
    if request.method != "POST":
        return _show_task(request, found)
    form = TaskForm(request.POST)
    if form.is_valid():
        try:
            actions.change_task(
                task=found,
                fields=form.fields_given,
                version=form.cleaned_data["version"],
                now=timezone.now(),
                by=request.user,
            )
        except Refused as error:
            refuse_in(form, error)
            return _show_task(request, found, form=form, status=error.status)
        messages.success(request, "Kept; the plan takes it in now.")
        return redirect("owner:task", build, task)
    return _show_task(request, found, form=form, status=422)


@require_POST
def split(request: HttpRequest, build: int, task: int) -> HttpResponse:
    found = _task_or_404(build, task)
    form = SplitForm(request.POST, prefix="split")
    if form.is_valid():
        try:
            actions.split_task(task=found, **form.cleaned_data, now=timezone.now(), by=request.user)
        except Refused as error:
            refuse_in(form, error)
            return _show_task(request, found, split=form, status=error.status)
        messages.success(request, "Split in two.")
        return redirect("owner:task", build, task)
    return _show_task(request, found, split=form, status=422)


@require_POST
def copy(request: HttpRequest, build: int, task: int) -> HttpResponse:
    made = actions.copy_task(task=_task_or_404(build, task), now=timezone.now(), by=request.user)
    messages.success(request, "Copied with its links. This is the copy.")
    return redirect("owner:task", build, made.pk)


@require_POST
def remove(request: HttpRequest, build: int, task: int) -> HttpResponse:
    found = _task_or_404(build, task)
    try:
        actions.remove_task(task=found, now=timezone.now(), by=request.user)
    except Refused as error:
        messages.error(request, error.words)
        return redirect("owner:task", build, task)
    messages.success(request, f"“{found.name}” is out; what waited for it waits for what it waited for.")
    return redirect("owner:build-work", build)


@require_POST
def open_again(request: HttpRequest, build: int, task: int) -> HttpResponse:
    """Opens a ticked task again for rework."""
    found = _task_or_404(build, task)
    try:
        reopen(
            task=found,
            why=request.POST.get("why", ""),
            hours_left=request.POST.get("hours_left", ""),
            user=request.user,
            now=timezone.now(),
        )
    except Refused as error:
        messages.error(request, error.words)
    return redirect("owner:task", build, task)


@require_POST
def link_add(request: HttpRequest, build: int, task: int) -> HttpResponse:
    found = _task_or_404(build, task)
    form = LinkForm(request.POST, task=found, prefix="link")
    if not form.is_valid():
        return _show_task(request, found, link=form, status=422)
    other, waits = form.cleaned_data["other"], form.cleaned_data["side"] == "before"
    before, after = (other, found) if waits else (found, other)
    minutes = round((form.cleaned_data["wait_hours"] or 0) * 60)
    try:
        network.add_link(
            before=before, after=after, wait_minutes=minutes, now=timezone.now(), by=request.user
        )
    except Refused as error:
        form.add_error(None, error.words)
        return _show_task(request, found, link=form, status=error.status)
    return redirect("owner:task", build, task)


@require_POST
def link_remove(request: HttpRequest, build: int, task: int, link: int) -> HttpResponse:
    rows = Link.objects.filter(after__build=build)
    network.remove_link(link=get_object_or_404(rows, pk=link), now=timezone.now(), by=request.user)
    return redirect("owner:task", build, task)


def _show_task(request, found: Task, *, form=None, split=None, link=None, status: int = 200) -> HttpResponse:
    context = {
        "build": found.build,
        "ways": ways_of_build(found.build, "owner:build-work"),
        "about": task_page(found, shop=request.shop),
        "form": form or TaskForm.of(found),
        "split": split or SplitForm(prefix="split", initial={"version": found.version}),
        "link": link or LinkForm(task=found, prefix="link"),
        "checks": StandardHoldPoint.objects.values_list("key", "name"),
    }
    return render(request, "owner/builds/task.html", context, status=status)


def _task_or_404(build: int, task: int) -> Task:
    rows = Task.objects.kept().select_related(
        "build__customer", "unit", "installation", "hold_point", "trade", "place"
    )
    return get_object_or_404(rows, pk=task, build=build)


def _chosen(request: HttpRequest, build: Build) -> list[Task]:
    ids = [int(pk) for pk in request.POST.getlist("task")[:2500] if pk.isdecimal() and len(pk) < 10]
    return list(Task.objects.kept().filter(build=build, pk__in=ids))


def _tasks(count: int) -> str:
    return "1 task" if count == 1 else f"{count} tasks"
