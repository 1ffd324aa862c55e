"""What if from the browser: try, see it beside today's plan, keep or drop; wrong, old and double presses."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from lxml import html

from builds.actions.door import write
from builds.actions.planning import replan
from builds.engines.planning.remedies import Remedy, Tried
from builds.models import Absence, Build, ClosedDay, Delivery, Person, Shop, Task, WhatIf
from builds.queries.opening import opening_times
from builds.queries.remedy_words import RemedyWords
from tests import cast


@pytest.fixture
def today():
    return timezone.localdate()


@pytest.fixture
def van(shop, joiner, today):
    build = cast.make_build("Heron", arrives_on=today, promised_on=today + timedelta(days=6))
    cut = cast.make_task(build, "cut", hours=20, place_id="bench", needs_van=False)
    fit = cast.make_task(build, "fit", hours=16, after=(cut,))
    delivery = Delivery.objects.create(
        build=build, what="Worktop", expected_on=today, first_expected_on=today
    )
    delivery.tasks.set([fit])
    asked = cast.make_build("Plover", status="asked", arrives_on=None, promised_on=None)
    cast.make_task(asked, "cut", hours=8, place_id="bench", needs_van=False)
    Shop.objects.update(revision=1)
    replan(now=timezone.now())
    return build


def stretch(kind: str, today, *, first: int = 1, last: int = 12, **more) -> dict:
    days = {"first": today + timedelta(days=first), "last": today + timedelta(days=last)}
    return {"kind": kind} | {f"{kind}-{name}": str(value) for name, value in (days | more).items()}


def mark(client) -> str:
    page = html.fromstring(client.get("/what-if/").content.decode())
    return page.xpath('//input[@name="mark"]/@value')[0]


def test_the_page_offers_what_can_be_tried(owner_client, van):
    page = owner_client.get("/what-if/").text

    for words in (
        "Somebody is away",
        "Start without a part",
        "Another van is taken in",
        "The shop is closed",
    ):
        assert words in page
    assert "Keep it" not in page


def test_each_kind_can_be_tried_and_stands_beside_todays_plan(owner_client, van, joiner, today):
    worktop, plover = Delivery.objects.get().pk, Build.objects.get(name="Plover").pk
    task, monday = Task.objects.get(key="fit").pk, today + timedelta(days=21)
    sent = [
        stretch("away", today, person=joiner.pk),
        {"kind": "late", "late-delivery": worktop, "late-day": str(today + timedelta(days=9))},
        {"kind": "taken in", "taken-in-build": plover, "taken-in-day": str(today + timedelta(days=2))},
        {"kind": "first", "first-build": van.pk, "first-place": "spray"},
        {"kind": "longer", "longer-person": joiner.pk, "longer-minutes": "60"},
        stretch("closed", today, first=20, last=21),
        {"kind": "pin", "pin-task": task, "pin-day": str(monday)},
    ]
    for data in sent:
        assert owner_client.post("/what-if/try/", data).status_code == 302, data
    page = owner_client.get("/what-if/").text

    assert "7 changes" in page
    assert "Worktop (Heron): to come" in page
    assert "Wren Alder works an hour longer each day" in page
    assert "Plover is taken in" in page
    assert "“Fit” (Heron, Whole van) is pinned to the week of" in page
    assert "later" in page
    assert "Keep it" in page


def test_not_waiting_for_a_part_takes_the_place_of_its_other_day(owner_client, van, today):
    worktop = Delivery.objects.get().pk
    late = {"kind": "late", "late-delivery": worktop, "late-day": str(today + timedelta(days=9))}
    owner_client.post("/what-if/try/", late)
    owner_client.post("/what-if/try/", {"kind": "without", "without-delivery": worktop})
    page = owner_client.get("/what-if/").text

    assert "Worktop (Heron): not waited for" in page
    assert "1 change<" in page


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"first": "2020-01-01"}, "That day is over"),
        ({"first": ""}, "required"),
        ({"last": "soon"}, "day"),
        ({"first": "2999-01-01", "last": "2999-01-02"}, "two years ahead"),
        ({"person": "987654"}, "choice"),
        ({"person": "1 OR 1"}, "choice"),
    ],
)
def test_what_cant_be_is_refused_in_place_with_the_input_kept(
    owner_client, van, joiner, today, changed, words
):
    data = stretch("away", today, person=joiner.pk) | {f"away-{k}": v for k, v in changed.items()}
    response = owner_client.post("/what-if/try/", data)
    form = html.fromstring(response.text).xpath('//form[.//input[@value="away"]]')[0]

    assert response.status_code == 422
    assert words in form.text_content()
    assert form.xpath("ancestor::details/@open")
    kept = {n: form.xpath(f'.//input[@name="away-{n}"]/@value') for n in ("first", "last")}
    assert kept == {n: [data[f"away-{n}"]] for n in kept}
    assert not WhatIf.objects.exists()


def test_last_before_first_and_too_long_are_said(owner_client, van, joiner, today):
    for first, last, words in ((9, 2, "before the first"), (1, 200, "more than three months")):
        data = stretch("away", today, first=first, last=last, person=joiner.pk)
        response = owner_client.post("/what-if/try/", data)
        assert response.status_code == 422
        assert words in response.text


@pytest.mark.parametrize("kind", ["", "stop the world", "AWAY"])
def test_there_is_no_other_kind(owner_client, van, kind):
    response = owner_client.post("/what-if/try/", {"kind": kind})

    assert response.status_code == 422
    assert "no such change" in response.text


def test_who_has_left_and_what_is_taken_in_already_cant_be_chosen(owner_client, van, today):
    left = cast.make_person("Osric Vane", "joinery", left_on=today - timedelta(days=1))
    away = owner_client.post("/what-if/try/", stretch("away", today, person=left.pk))
    taken = owner_client.post(
        "/what-if/try/", {"kind": "taken in", "taken-in-build": van.pk, "taken-in-day": str(today)}
    )

    assert (away.status_code, taken.status_code) == (422, 422)
    assert not WhatIf.objects.exists()


def test_a_double_press_tries_once_and_keeps_once(owner_client, van, joiner, today):
    for _ in range(2):
        owner_client.post("/what-if/try/", stretch("away", today, person=joiner.pk))
    assert len(WhatIf.objects.get().changes) == 1

    seen = mark(owner_client)
    for _ in range(2):
        answer = owner_client.post("/what-if/keep/", {"mark": seen}, follow=True)
        assert answer.status_code == 200
    assert Absence.objects.count() == 1
    assert "Kept" in answer.text


def test_dropping_leaves_the_shop_as_it_was(owner_client, van, today):
    owner_client.post("/what-if/try/", stretch("closed", today))
    seen = mark(owner_client)
    page = owner_client.post("/what-if/drop/", {"mark": seen}, follow=True)
    again = owner_client.post("/what-if/drop/", {"mark": seen}, follow=True)

    assert "Dropped. The plan is as it was." in page.text
    assert again.status_code == 200
    assert not ClosedDay.objects.exists()


def test_leaving_the_last_change_out_ends_the_copy(owner_client, van, today):
    owner_client.post("/what-if/try/", stretch("closed", today))
    owner_client.post("/what-if/leave-out/0/", {"mark": mark(owner_client)})

    assert "Keep it" not in owner_client.get("/what-if/").text


def test_an_old_page_is_told_so(owner_client, van, joiner, today):
    owner_client.post("/what-if/try/", stretch("closed", today))
    old = mark(owner_client)
    owner_client.post("/what-if/try/", stretch("away", today, person=joiner.pk))

    for path in ("keep/", "drop/", "leave-out/0/"):
        response = owner_client.post(f"/what-if/{path}", {"mark": old})
        assert response.status_code == 409
        assert "changed in the meantime" in response.text
    assert owner_client.post("/what-if/leave-out/7/", {"mark": mark(owner_client)}).status_code == 409
    assert owner_client.post("/what-if/keep/").status_code == 409
    assert len(WhatIf.objects.get().changes) == 2


def test_what_the_shop_has_moved_away_from_is_said_and_cant_be_kept(owner_client, van, joiner, today):
    owner_client.post("/what-if/try/", stretch("away", today, person=joiner.pk))
    with write():
        Person.objects.update(left_on=today)
    page = owner_client.get("/what-if/").text
    refused = owner_client.post("/what-if/keep/", {"mark": mark(owner_client)})

    assert "Not counted: doesn’t work here any more" in page
    assert "Keep it" not in page
    assert refused.status_code == 422
    assert "Leave it out" in refused.text


def test_what_would_help_by_going_first_leads_to_trying_it(owner_client, van):
    """A remedy of the van's page, followed as the owner would, sends its form as it stands."""
    remedy = Remedy("first", place="inside")
    tried = Tried(remedy, 3.0, {str(van.pk): (0, None)}, {}, 0.0)
    line = RemedyWords(opening_times()).line(tried, str(van.pk))
    page = owner_client.get(reverse(f"owner:{line.url}", args=line.args) + line.query).text

    assert line.asks == "Heron goes first at the place “Inside the van”"
    form = html.fromstring(page).xpath("//details[@open]//form")[0]
    assert owner_client.post("/what-if/try/", dict(form.form_values())).status_code == 302
    assert WhatIf.objects.get().changes[0]["place"] == "inside"


def test_an_address_opens_a_form_with_what_is_chosen_in_it(owner_client, van):
    page = html.fromstring(owner_client.get(f"/what-if/?kind=first&build={van.pk}&place=inside").text)
    strange = owner_client.get("/what-if/?kind=first&build=<b>&place=987654&first=x")

    assert page.xpath("//details[@open]//summary/text()") == ["A van goes first at a place"]
    assert page.xpath('//select[@name="first-place"]/option[@selected]/@value') == ["inside"]
    assert page.xpath('//select[@name="first-build"]/option[@selected]/@value') == [str(van.pk)]
    assert strange.status_code == 200
    assert "<b>" not in strange.text


def test_tasks_to_pin_are_those_of_the_van_that_was_chosen(owner_client, van, today):
    other = cast.make_build("Dunlin", arrives_on=today)
    lining = cast.make_task(other, "lining")
    fit = Task.objects.get(build=van, key="fit")
    offered = '//select[@name="pin-task"]//option/@value'

    def options(path):
        return html.fromstring(owner_client.get(path).text).xpath(offered)

    assert options("/what-if/") == []
    assert options(f"/what-if/?kind=pin&van={other.pk}") == [str(lining.pk)]
    assert options("/what-if/?van=x") == options("/what-if/?van=987654") == []
    for of, task in ((van, lining), (other, fit)):
        data = {"kind": "pin", "van": of.pk, "pin-task": task.pk, "pin-day": str(today)}
        assert owner_client.post("/what-if/try/", data).status_code == 422
    assert not WhatIf.objects.exists()


def queries_with(client, changes: int, today) -> int:
    for k in range(changes):
        client.post("/what-if/try/", stretch("closed", today, first=10 * k + 1, last=10 * k + 8))
    heron = Build.objects.get(name="Heron").pk
    assert "Tasks that move" in client.get("/what-if/").text
    with CaptureQueriesContext(
        connection,
    ) as seen:
        page = client.get(f"/what-if/?van={heron}").text
    assert " to " in page.split('id="moved"')[1].split("</section>")[0], "some task is shown as moved"
    return len(seen)


def test_the_page_asks_as_often_for_three_vans_and_changes_as_for_one(owner_client, van, joiner, today):
    one = queries_with(owner_client, 1, today)
    for name in ("Dunlin", "Curlew"):
        cast.make_task(cast.make_build(name, arrives_on=today), "cut", hours=8)
    cast.make_person("Osric Vane", "joinery")
    with write():
        pass
    three = queries_with(owner_client, 3, today)

    assert one == three
    assert three <= 12
