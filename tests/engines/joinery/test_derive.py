"""Units that joiners know, worked out by hand, and sizes that can't work."""

from __future__ import annotations

import itertools

import pytest

from builds.engines.joinery.derive import derive
from builds.engines.joinery.errors import JoineryError
from builds.engines.joinery.fronts import hinges_at
from builds.engines.joinery.pieces import require_cuttable
from tests.engines.joinery.boards import PLY4, PLY9, PLY12, to_make

BACK = frozenset({"back"})
FRAMED = {"fronts": "framed", "doors": 1}


def sizes(unit) -> dict[str, tuple[int, int, int]]:
    """Count, length and width of each part by its key."""
    return {part.key: (part.count, part.length, part.width) for part in derive(unit).parts}


def test_a_wardrobe_of_twelve_millimetre_board_with_a_plain_door():
    unit = to_make("wardrobe", 5000, 5500, 17000, fronts="plain", doors=1, shelves=2, walls=BACK)

    # depth 550 less the 9 mm door is 541, and 10 mm to scribe; between the sides 500 - 24 = 476
    assert sizes(unit) == {
        "side": (2, 17000, 5510),
        "bottom": (1, 4760, 5510),
        "top": (1, 4760, 5510),
        "back": (1, 16760, 4760),
        "shelf": (2, 4760, 5370),
        "door": (1, 16960, 4960),
    }


def test_an_overhead_run_has_doors_hinged_at_the_top_with_even_gaps():
    unit = to_make("overhead", 18000, 3300, 3800, fronts="plain", doors=3, bays=3, hinges="top", gap=30)

    fronts = derive(unit).fronts

    # 1800 less four gaps of 3 mm, in three: 596
    assert [(f.x, f.width, f.height, f.hinged) for f in fronts] == [
        (30, 5960, 3740, "top"),
        (6020, 5960, 3740, "top"),
        (12010, 5960, 3740, "top"),
    ]
    assert fronts[0].hinges_at == (1000, 4960)
    assert fronts[0].handle_at == (2980, 400)


def test_a_framed_front_is_a_board_with_a_frame_of_free_sizes_before_it():
    unit = to_make(
        "fronts",
        10000,
        200,
        6000,
        fronts="framed",
        doors=2,
        strip_width=350,
        rail_width=400,
        walls=frozenset(),
    )

    parts = sizes(unit)

    # each door (1000 - 3 x 2) / 2 = 497 by 596; uprights over the whole height, rails between them
    assert parts["door"] == (2, 5960, 4970)
    assert parts["door-upright"] == (4, 5960, 350)
    assert parts["door-rail"] == (4, 4970 - 2 * 350, 400)


def test_a_row_longer_than_its_board_is_cut_from_several_strips_in_order():
    unit = to_make("fronts", 36000, 200, 6000, fronts="plain", doors=7, front_grain="across")

    parts = derive(unit).parts

    assert [(p.key, p.run, p.run_place) for p in parts] == [
        ("door-1", "Row 1", 1),
        ("door-2", "Row 1", 2),
        ("door-3", "Row 1", 3),
        ("door-4", "Row 1", 4),
        ("door-5", "Row 2", 1),
        ("door-6", "Row 2", 2),
        ("door-7", "Row 2", 3),
    ]
    assert {p.length for p in parts} == {5120}
    assert {p.width for p in parts} == {5960}


def test_a_stack_of_drawers_is_matched_up_the_grain_from_the_top_down():
    unit = to_make("kitchen", 12000, 5000, 8800, bays=2, doors=1, drawers=3, fronts="plain", shelves=1)

    derived = derive(unit)

    drawers = [p for p in derived.parts if p.run]
    assert [(p.key, p.run, p.run_place) for p in drawers] == [
        ("drawer-front-1", "Stack 1", 1),
        ("drawer-front-2", "Stack 1", 2),
        ("drawer-front-3", "Stack 1", 3),
    ]
    heights = [f.z for f in derived.fronts if f.opens == "drawer"]
    assert heights == sorted(heights, reverse=True)


def test_a_bed_has_slats_with_even_gaps_and_a_middle_board():
    unit = to_make("bed", 18500, 13500, 8000, bays=2, back_board=PLY12)

    derived = derive(unit)

    slats = sorted(p.at[0] for p in derived.pieces if p.key == "slat")
    gaps = [b - a - 700 for a, b in itertools.pairwise(slats)]
    assert len(slats) == 15
    assert set(gaps) <= {571, 572}
    assert max(gaps) <= 600
    assert sizes(unit)["middle"] == (1, 18260, 7880)


def test_a_seat_box_without_doors_has_a_fixed_front_and_a_lid_scribed_to_the_wall():
    parts = {p.key: p for p in derive(to_make("seat_box", 10000, 5500, 4800, walls=BACK)).parts}

    assert sorted(parts) == ["back", "bottom", "end", "front", "lid"]
    assert (parts["lid"].length, parts["lid"].width, parts["lid"].scribe_edges) == (10000, 5600, ("far",))
    assert parts["lid"].finished_edges == ("near", "left", "right")
    assert parts["end"].scribe_edges == ()


def test_a_bed_across_the_van_is_scribed_at_both_ends():
    unit = to_make("bed", 18500, 13500, 5000, walls=frozenset({"left", "right"}), scribe=150)

    front = next(p for p in derive(unit).parts if p.key == "front")

    assert (front.length, front.scribe_tenths, front.scribe_edges) == (18800, 150, ("left", "right"))


def test_a_cupboard_beside_a_wall_gets_a_filler_to_scribe():
    parts = {p.key: p for p in derive(to_make(walls=frozenset({"left"}))).parts}

    assert (parts["filler"].length, parts["filler"].width) == (17000, 400)
    assert parts["bottom"].length == 6000 - 300 - 240


def test_a_drawer_by_itself():
    unit = to_make("drawer", 4000, 4500, 1500, fronts="plain")

    assert sizes(unit) == {
        "drawer-side": (2, 4410, 1500),
        "drawer-end": (2, 3760, 1500),
        "drawer-bottom": (1, 4170, 3760),
        "drawer-front": (1, 1500, 4000),
    }


@pytest.mark.parametrize(("edge", "found"), [(5000, 2), (9000, 2), (9010, 3), (16000, 3), (16960, 4)])
def test_taller_doors_get_more_hinges_evenly_between_the_outer_two(edge, found):
    hinges = hinges_at(edge)

    steps = {b - a for a, b in itertools.pairwise(hinges)}
    assert len(hinges) == found
    assert hinges[0] == edge - hinges[-1] == 1000
    assert max(steps) - min(steps) <= 1


@pytest.mark.parametrize(
    ("kind", "sizes", "choices", "field", "words"),
    [
        ("overhead", (600, 3300, 3800), {"fronts": "plain", "doors": 6, "gap": 100}, "doors", "-1.7 mm each"),
        ("wardrobe", (240, 5500, 17000), {}, "width", "Nothing is left between two sides"),
        ("wardrobe", (6000, 5500, 900), {"plinth": 700}, "height", "Plinth, bottom and top"),
        ("wardrobe", (6000, 60, 17000), {"fronts": "plain", "doors": 1}, "depth", "nothing of a depth"),
        ("wardrobe", (6000, 5500, 9000), {"inside": "rail", "shelves": 1}, "inside", "clothes need 800 mm"),
        ("wardrobe", (6000, 5500, 17000), {"inside": "rail", "rail": None}, "inside", "no tube"),
        ("pantry", (3000, 5000, 1500), {"shelves": 12}, "shelves", "12 shelves"),
        ("kitchen", (9000, 5000, 8800), {"bays": 3, "doors": 4}, "doors", "shared evenly"),
        ("kitchen", (12000, 1500, 8800), {}, "depth", "top rails"),
        ("kitchen", (3000, 5000, 4500), {"drawers": 8}, "drawers", "high"),
        ("fronts", (3000, 200, 600), {"fronts": "framed", "doors": 1}, "rail_width", "leaves -24 mm"),
        ("fronts", (3000, 100, 6000), {"fronts": "framed", "doors": 1}, "depth", "15 mm thick"),
        ("fronts", (3000, 200, 6000), FRAMED | {"strip": None}, "strip", "strip to"),
        ("fronts", (3000, 200, 6000), FRAMED | {"strip_width": 500}, "strip_width", "40 mm"),
        ("fronts", (3000, 200, 6000), {}, "doors", "needs doors"),
        ("seat_box", (8000, 5000, 4000), {"shelves": 1}, "shelves", "takes no shelves"),
        ("worktop", (12000, 5000, 100), {}, "height", "12 mm thick"),
        ("drawer", (900, 4500, 1500), {}, "drawers", "90 mm wide"),
        ("wardrobe", (6000, 5500, 17000), {"inside": "rail", "drawers": 1}, "inside", "Drawers fill all"),
        ("wardrobe", (6000, 5500, 17000), {"bays": 0}, "bays", "1 to 12"),
        ("wardrobe", (6000, 5500, 17000), {"gap": -5}, "gap", "0 mm to 20 mm"),
    ],
)  # fmt: skip
def test_sizes_that_can_not_work_are_refused_with_the_reason(kind, sizes, choices, field, words):
    with pytest.raises(JoineryError) as refused:
        derive(to_make(kind, *sizes, **choices))

    assert words in refused.value.reason
    assert refused.value.field == field


def test_a_hat_shelf_lies_under_drawers_that_lie_over_the_doors():
    unit = to_make("wardrobe", 6000, 5500, 19000, inside="rail", shelves=1, doors=1, drawers=1)

    found = {piece.key: piece for piece in derive(unit).pieces}

    # 250 mm and its own 12 mm under the rail of the drawers; the rail 60 mm under it, 25 mm thick
    assert found["shelf"].at[2] == found["drawer-divider"].at[2] - 2500 - 120
    assert found["rail"].at[2] == found["shelf"].at[2] - 600 - 250


def test_a_panel_larger_than_any_sheet_is_refused_by_name():
    with pytest.raises(JoineryError, match=r"Bottom would be 2,976 mm × 330 mm.*Birch ply 12 mm is bought"):
        derive(to_make("overhead", 30000, 3300, 3800))


def test_a_board_may_turn_only_where_its_grain_may():
    require_cuttable("Back", PLY4, 11000, 20000, grain="any")

    with pytest.raises(JoineryError, match="along the grain"):
        require_cuttable("Side", PLY9, 11000, 20000)
