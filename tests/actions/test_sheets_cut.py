"""A whole sheet ticked as cut: cutting goes on, stock and offcuts are booked, all can be taken back."""

from __future__ import annotations

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest

from builds.actions import floor
from builds.actions.cutting import lay_out
from builds.actions.door import Gone, Refused
from builds.actions.floor import By
from builds.actions.floor_events import state_of
from builds.actions.sheets_cut import cut_sheet
from builds.actions.stock import book, on_hand
from builds.models import CutSheet, FloorEvent, Offcut, Task
from tests import cast

pytestmark = pytest.mark.database


@pytest.fixture
def board(shop):
    return cast.make_board()


@pytest.fixture
def by(joiner):
    return By(person=joiner)


def make_box(build, board, name: str, sides: int) -> Task:
    """A unit of `sides` of 1.17 m², two of which fill a sheet, and the task of cutting it: 4 hours."""
    unit = cast.make_unit(build, name)
    cast.make_part(unit, board, "Side", 2000, 585, count=sides)
    return cast.make_task(
        build, f"cut-{name}", unit=unit, standard="cut", hours=4, place_id="bench", needs_van=False
    )


@pytest.fixture
def cut(board) -> Task:
    """The cutting of a kitchen of three sides, on two sheets."""
    return make_box(cast.make_build(), board, "Kitchen", sides=3)


def laid_out(*tasks: Task, now) -> list[CutSheet]:
    lay_out(builds=list({task.build for task in tasks}), now=now, by=None)
    return list(CutSheet.objects.filter(cut_at=None).order_by("number"))


def again(task: Task) -> Task:
    return Task.objects.get(pk=task.pk)


def test_a_sheet_cut_leaves_the_hours_of_the_parts_still_to_cut(cut, by, now):
    first, _ = laid_out(cut, now=now)

    cut_sheet(task=cut, sheet=first.pk, hours="1.5", by=by, now=now)

    task = again(cut)
    assert (task.state, task.hours_left) == ("under way", Decimal("1.33"))
    assert CutSheet.objects.get(pk=first.pk).cut_by == by.person


def test_the_last_sheet_finishes_the_cutting_with_the_hours_of_all(cut, by, now):
    for sheet in laid_out(cut, now=now):
        cut_sheet(task=cut, sheet=sheet.pk, hours="1.5", by=by, now=now)

    task = again(cut)
    assert (task.state, task.hours_taken, task.hours_left) == ("done", Decimal("3.00"), None)


def test_another_units_cutting_goes_on_with_the_sheet_it_shares(cut, board, by, now):
    other = make_box(cut.build, board, "Wardrobe", sides=1)
    sheets = laid_out(cut, other, now=now)
    shared = next(s for s in sheets if len({piece["unit"] for piece in s.pieces}) == 2)

    cut_sheet(task=cut, sheet=shared.pk, hours="2", by=by, now=now)

    assert (again(other).state, again(other).hours_taken) == ("done", Decimal("1.00"))
    assert again(cut).state == "under way"


def test_a_unit_whose_cutting_may_not_start_yet_is_left_as_it_is(cut, board, by, now):
    other = make_box(cut.build, board, "Wardrobe", sides=1)
    before = cast.make_task(cut.build, "measure")
    other.links_in.create(before=before)
    shared = next(s for s in laid_out(cut, other, now=now) if len({p["unit"] for p in s.pieces}) == 2)

    cut_sheet(task=cut, sheet=shared.pk, hours="2", by=by, now=now)

    assert again(other).state == "to do"


def test_a_rest_worth_keeping_becomes_an_offcut(cut, board, by, now):
    _, last = laid_out(cut, now=now)

    answer = cut_sheet(task=cut, sheet=last.pk, hours="1", by=by, now=now)

    kept = Offcut.objects.filter(cut_for=cut.build)
    assert kept.count() == len([r for r in last.leftovers if min(r[2:]) >= 1500 and max(r[2:]) >= 4000]) > 0
    assert "to keep" in answer.words


def test_a_sheet_of_the_stock_is_taken_out_of_it(cut, board, by, now):
    book(board, 3 * board.pack, "counted", now=now, by=None)
    first, _ = laid_out(cut, now=now)

    cut_sheet(task=cut, sheet=first.pk, hours="1", by=by, now=now)

    assert on_hand(board) == 2 * board.pack


def test_a_sheet_that_came_for_the_van_alone_leaves_the_stock_alone(cut, board, by, now):
    first, _ = laid_out(cut, now=now)

    cut_sheet(task=cut, sheet=first.pk, hours="1", by=by, now=now)

    assert on_hand(board) == 0


def test_an_offcut_that_is_cut_is_used(cut, board, by, now):
    rest = Offcut.objects.create(material=board, length_mm=2100, width_mm=700, kept_at=now)
    sheets = laid_out(cut, now=now)
    from_rest = next(sheet for sheet in sheets if sheet.offcut_id)

    cut_sheet(task=cut, sheet=from_rest.pk, hours="1", by=by, now=now)

    rest.refresh_from_db()
    assert (rest.state, rest.used_for) == ("used", cut.build)


def test_taking_it_back_takes_everything_back(cut, board, by, now):
    other = make_box(cut.build, board, "Wardrobe", sides=1)
    book(board, 3 * board.pack, "counted", now=now, by=None)
    shared = next(s for s in laid_out(cut, other, now=now) if len({p["unit"] for p in s.pieces}) == 2)
    event = cut_sheet(task=cut, sheet=shared.pk, hours="2", by=by, now=now).event

    floor.undo(event=event, by=by, now=now + timedelta(minutes=1))

    assert (again(cut).state, again(other).state) == ("to do", "to do")
    assert CutSheet.objects.get(pk=shared.pk).cut_at is None
    assert not Offcut.objects.filter(state="there").exists()
    assert on_hand(board) == 3 * board.pack


def test_the_same_press_twice_cuts_once(cut, board, joiner, now):
    first, _ = laid_out(cut, now=now)
    by = By(person=joiner, uuid=uuid.uuid4())

    one, two = (cut_sheet(task=cut, sheet=first.pk, hours="1", by=by, now=now) for _ in range(2))

    assert (one.event, two.again) == (two.event, True)
    assert FloorEvent.objects.filter(verb="sheet cut").count() == 1


def test_a_sheet_cut_by_somebody_else_is_refused_by_name(cut, by, now):
    first, _ = laid_out(cut, now=now)
    cut_sheet(task=cut, sheet=first.pk, hours="1", by=by, now=now)

    with pytest.raises(Refused, match="cut already by Wren Alder"):
        cut_sheet(task=cut, sheet=first.pk, hours="1", by=by, now=now)


def test_a_sheet_laid_out_anew_is_gone(cut, by, now):
    first, _ = laid_out(cut, now=now)
    laid_out(cut, now=now)

    with pytest.raises(Gone, match="laid out anew"):
        cut_sheet(task=cut, sheet=first.pk, hours="1", by=by, now=now)


def test_a_sheet_of_another_unit_is_refused(cut, board, by, now):
    stranger = make_box(cast.make_build("Plover"), board, "Wardrobe", sides=2)
    first, _ = laid_out(cut, now=now)

    with pytest.raises(Refused, match="Nothing of “Wardrobe”"):
        cut_sheet(task=stranger, sheet=first.pk, hours="1", by=by, now=now)


def test_cutting_that_may_not_start_yet_is_refused_and_nothing_is_booked(cut, board, by, now):
    cut.links_in.create(before=cast.make_task(cut.build, "measure"))
    first, _ = laid_out(cut, now=now)

    with pytest.raises(Refused, match="“Measure” is not done"):
        cut_sheet(task=cut, sheet=first.pk, hours="1", by=by, now=now)

    assert CutSheet.objects.get(pk=first.pk).cut_at is None
    assert not Offcut.objects.exists()


@pytest.mark.parametrize("hours", ["", "x", "-1", "1e9"])
def test_hours_that_are_none_are_refused(cut, by, now, hours):
    first, _ = laid_out(cut, now=now)

    with pytest.raises(Refused, match="Hours"):
        cut_sheet(task=cut, sheet=first.pk, hours=hours, by=by, now=now)


def test_the_state_is_the_same_made_from_the_events_again(cut, board, by, now):
    for sheet in laid_out(cut, now=now):
        cut_sheet(task=cut, sheet=sheet.pk, hours="1.25", by=by, now=now)
    task = again(cut)

    assert state_of(task) == {name: getattr(task, name) for name in state_of(task)}


def test_a_search_that_runs_meanwhile_does_not_lay_the_cut_sheet_out_again(cut, by, now):
    first, _ = laid_out(cut, now=now)
    version = first.plan.version

    cut_sheet(task=cut, sheet=first.pk, hours="1", by=by, now=now)

    first.plan.refresh_from_db()
    assert first.plan.version == version + 1
