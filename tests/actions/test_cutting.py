"""Cutting plans: laid out at once, together or apart, anew when parts change, better when asked for."""

from __future__ import annotations

from datetime import timedelta

import pytest

from builds.actions.cutting import lay_out, set_saw
from builds.actions.cutting_search import ask_for_better_layout, search_layout, stop_layout_search
from builds.actions.door import Gone, Refused
from builds.models import CutSheet, CuttingPlan, Offcut, Shop
from tests import cast

pytestmark = pytest.mark.database


class Ticks:
    """A stopwatch that moves on by itself at each look."""

    def __init__(self, step=0.01):
        self.at, self.step = 0.0, step

    def __call__(self):
        self.at += self.step
        return self.at


@pytest.fixture
def board(shop):
    return cast.make_board()


@pytest.fixture
def kitchen(board):
    """A kitchen with two sides, four shelves and a pair of fronts."""
    unit = cast.make_unit(cast.make_build())
    cast.make_part(unit, board, "Side", 880, 500, count=2)
    cast.make_part(unit, board, "Shelf", 976, 480, count=4)
    cast.make_part(unit, board, "Left front", 495, 700, run="fronts", run_place=1)
    cast.make_part(unit, board, "Right front", 495, 700, run="fronts", run_place=2)
    return unit


def pieces_of(plan):
    return sorted(piece["name"] for sheet in plan.sheets.all() for piece in sheet.pieces)


def offcut_of(board, now, length_mm=1000, width_mm=600):
    return Offcut.objects.create(material=board, length_mm=length_mm, width_mm=width_mm, kept_at=now)


def test_every_part_of_a_build_is_on_a_sheet_at_once(kitchen, now):
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)

    assert pieces_of(plan) == ["Left front", "Right front", *["Shelf"] * 4, *["Side"] * 2]
    assert (plan.kerf_tenths, plan.trim_tenths) == (30, 100)


def test_fronts_of_one_run_lie_side_by_side_a_kerf_apart(kitchen, now):
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)

    fronts = [p for s in plan.sheets.all() for p in s.pieces if "front" in p["name"]]
    left, right = sorted(fronts, key=lambda piece: piece["x"])
    assert (left["name"], right["x"]) == ("Left front", left["x"] + left["length"] + 30)


def test_a_row_of_fronts_longer_than_any_sheet_is_cut_singly_and_said(kitchen, board, now):
    cast.make_part(kitchen, board, "Long front", 1900, 700, run="fronts", run_place=3)

    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)

    assert "longer than any sheet" in plan.notes[0]
    assert "Long front" in pieces_of(plan)


def test_two_builds_together_share_sheets(kitchen, board, now):
    other = cast.make_unit(cast.make_build("Plover"), "Wardrobe")
    cast.make_part(other, board, "Door", 600, 400)

    (plan,) = lay_out(builds=[kitchen.build, other.build], now=now, by=None)

    assert {p["van"] for s in plan.sheets.all() for p in s.pieces} == {"Heron", "Plover"}
    assert plan.sheets.count() == 2  # 3.4 m² and 0.2 m², which apart would take two sheets and one


def test_a_build_laid_out_alone_again_leaves_the_other_a_plan_of_its_own(kitchen, board, now):
    other = cast.make_unit(cast.make_build("Plover"), "Wardrobe")
    cast.make_part(other, board, "Door", 600, 400)
    lay_out(builds=[kitchen.build, other.build], now=now, by=None)

    lay_out(builds=[kitchen.build], now=now, by=None)

    groups = {tuple(plan.builds.values_list("name", flat=True)) for plan in CuttingPlan.objects.all()}
    assert groups == {("Heron",), ("Plover",)}


def test_laid_out_twice_is_laid_out_once(kitchen, now):
    lay_out(builds=[kitchen.build], now=now, by=None)
    lay_out(builds=[kitchen.build], now=now, by=None)

    assert CuttingPlan.objects.count() == 1


def test_an_offcut_that_is_there_is_used_before_a_full_sheet(kitchen, board, now):
    small = cast.make_unit(cast.make_build("Plover"), "Box")
    cast.make_part(small, board, "Lid", 500, 400)
    rest = offcut_of(board, now)

    (plan,) = lay_out(builds=[small.build], now=now, by=None)

    assert [sheet.offcut for sheet in plan.sheets.all()] == [rest]


def test_an_offcut_on_one_plan_is_not_offered_to_another(kitchen, board, now):
    offcut_of(board, now)
    for name in ("Plover", "Avocet"):
        unit = cast.make_unit(cast.make_build(name), "Box")
        cast.make_part(unit, board, "Lid", 500, 400)
        lay_out(builds=[unit.build], now=now, by=None)

    assert CutSheet.objects.filter(offcut__isnull=False).count() == 1


def test_a_part_that_fits_no_sheet_is_named(kitchen, board, now):
    cast.make_part(kitchen, board, "Long side", 2600, 300)

    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)

    assert [(row["name"], row["unit_name"], row["count"]) for row in plan.unplaced] == [
        ("Long side", "Kitchen", 1)
    ]


def test_a_board_without_a_size_is_refused_by_name(kitchen, board, now):
    board.length_mm = None
    board.save()

    with pytest.raises(Refused, match="Board ply12 has no sheet size"):
        lay_out(builds=[kitchen.build], now=now, by=None)


def test_nothing_to_cut_is_refused(shop, now):
    with pytest.raises(Refused, match="Nothing is left to cut"):
        lay_out(builds=[cast.make_build()], now=now, by=None)


def test_what_is_cut_stays_cut_and_the_rest_is_laid_out_anew(kitchen, board, now):
    cast.make_part(kitchen, board, "Back", 2000, 1100)
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)
    first = plan.sheets.get(number=1)
    CutSheet.objects.filter(pk=first.pk).update(cut_at=now)

    (again,) = lay_out(builds=[kitchen.build], now=now, by=None)

    rest = sorted([*pieces_of(again), *(piece["name"] for piece in first.pieces)])
    assert rest == ["Back", "Left front", "Right front", *["Shelf"] * 4, *["Side"] * 2]
    assert again.sheets.first().number == 2


def test_a_unit_whose_cutting_was_ticked_as_a_whole_is_not_laid_out(kitchen, board, now):
    cast.make_task(kitchen.build, "cut-parts", unit=kitchen, standard="cut", state="done")
    other = cast.make_unit(kitchen.build, "Wardrobe")
    cast.make_part(other, board, "Door", 600, 400)

    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)

    assert pieces_of(plan) == ["Door"]


def test_a_part_cut_before_its_size_changed_is_cut_again(kitchen, board, now):
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)
    plan.sheets.update(cut_at=now)
    kitchen.parts.filter(name="Side").update(length_tenths=9000)

    (again,) = lay_out(builds=[kitchen.build], now=now, by=None)

    assert pieces_of(again) == ["Side", "Side"]


def test_a_search_keeps_a_better_layout_and_says_what_it_gained(kitchen, board, now):
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)
    before = max(r[2] * r[3] for s in plan.sheets.all() for r in s.leftovers)

    ask_for_better_layout(plan=plan, seconds=5, now=now, in_worker=False)
    search_layout(plan.pk, clock=Ticks(), time_now=lambda: now)

    plan.refresh_from_db()
    after = max(r[2] * r[3] for s in plan.sheets.all() for r in s.leftovers)
    assert after > before
    assert (plan.is_looking, plan.found.split(":")[0]) == (False, "Better")
    assert pieces_of(plan) == ["Left front", "Right front", *["Shelf"] * 4, *["Side"] * 2]


def test_a_search_that_finds_nothing_better_leaves_the_sheets_as_they_were(kitchen, now):
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)
    ask_for_better_layout(plan=plan, seconds=5, now=now, in_worker=False)
    search_layout(plan.pk, clock=Ticks(), time_now=lambda: now)
    kept = list(plan.sheets.values_list("pk", flat=True))

    ask_for_better_layout(plan=plan, seconds=1, now=now, in_worker=False)
    search_layout(plan.pk, clock=Ticks(0.5), time_now=lambda: now)

    plan.refresh_from_db()
    assert (plan.found, list(plan.sheets.values_list("pk", flat=True))) == ("Found nothing better.", kept)


def test_a_stopped_search_ends_with_the_best_so_far(kitchen, now):
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)
    ask_for_better_layout(plan=plan, seconds=600, now=now, in_worker=False)
    stop_layout_search(plan=plan, now=now)

    search_layout(plan.pk, clock=Ticks(0.4), time_now=lambda: now)

    plan.refresh_from_db()
    assert not plan.is_looking
    assert plan.seconds_spent < 600


def test_a_sheet_cut_while_it_looks_ends_the_search_without_a_change(kitchen, now):
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)
    ask_for_better_layout(plan=plan, seconds=3, now=now, in_worker=False)
    cut_meanwhile = []

    def clock():
        if not cut_meanwhile:
            cut_meanwhile.append(plan.sheets.update(cut_at=now))
        return ticks()

    ticks = Ticks()
    search_layout(plan.pk, clock=clock, time_now=lambda: now)

    plan.refresh_from_db()
    assert "changed while it looked" in plan.found
    assert plan.sheets.filter(cut_at=None).count() == 0


def test_a_search_whose_worker_was_lost_can_be_stopped_and_asked_for_again(kitchen, now):
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)
    ask_for_better_layout(plan=plan, seconds=60, now=now, in_worker=False)
    later = now + timedelta(minutes=5)

    stop_layout_search(plan=plan, now=later)

    plan.refresh_from_db()
    assert (plan.is_looking, plan.found) == (False, "The search was lost.")


def test_a_plan_laid_out_anew_is_gone_for_who_still_looks_at_it(kitchen, now):
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)
    lay_out(builds=[kitchen.build], now=now, by=None)

    with pytest.raises(Gone):
        ask_for_better_layout(plan=plan, seconds=10, now=now, in_worker=False)


@pytest.mark.parametrize("seconds", [0, -1, 601])
def test_a_search_lasts_between_a_second_and_ten_minutes(kitchen, now, seconds):
    (plan,) = lay_out(builds=[kitchen.build], now=now, by=None)

    with pytest.raises(Refused, match="between a second and ten minutes"):
        ask_for_better_layout(plan=plan, seconds=seconds, now=now, in_worker=False)


def test_the_saw_is_set_and_absurd_settings_are_refused(shop, now):
    set_saw(kerf_tenths=32, trim_tenths=50, now=now, by=None)

    found = Shop.objects.get(pk=1)
    assert (found.saw_kerf_tenths, found.sheet_trim_tenths) == (32, 50)
    with pytest.raises(Refused, match="saw cut"):
        set_saw(kerf_tenths=201, trim_tenths=50, now=now, by=None)
    with pytest.raises(Refused, match="trimmed off"):
        set_saw(kerf_tenths=32, trim_tenths=-1, now=now, by=None)
