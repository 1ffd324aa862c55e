"""Whatever can be made adds up: pieces fill the outer sizes, never meet, and weigh what their board does."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from itertools import combinations

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from builds.engines.joinery.derive import derive
from builds.engines.joinery.errors import JoineryError
from builds.engines.joinery.pieces import mass_kg
from builds.engines.joinery.unit import Derived, ToMake
from tests.engines.joinery.boards import MADE_AS, PLY4, PLY12, to_make

FULL = ("seat_box", "bench_box", "bed", "overhead", "kitchen", "wardrobe", "pantry")


@st.composite
def units(draw, kinds=tuple(MADE_AS)) -> ToMake:
    kind = draw(st.sampled_from(kinds))
    rail = kind in ("wardrobe", "pantry") and draw(st.booleans())
    box = kind in ("seat_box", "bench_box", "bed")
    return to_make(
        kind,
        draw(st.integers(2500, 24000)),
        draw(st.integers(2000, 12000)),
        draw(st.integers(2000, 21000)),
        has_back=draw(st.booleans()),
        plinth=draw(st.sampled_from((0, 0, 600, 813))),
        inside="rail" if rail else "shelves",
        bays=draw(st.integers(1, 4)),
        shelves=0 if box else draw(st.integers(0, 4)),
        fronts=draw(st.sampled_from(("none", "plain", "framed"))),
        doors=draw(st.integers(0, 6)),
        drawers=draw(st.sampled_from((0, 0, 1, 3))),
        hinges=draw(st.sampled_from(("left", "right", "pairs", "top", "bottom"))),
        front_grain=draw(st.sampled_from(("up", "across"))),
        gap=draw(st.integers(0, 60)),
        strip_width=draw(st.integers(200, 400)),
        rail_width=draw(st.integers(200, 400)),
        scribe=draw(st.integers(0, 200)),
        walls=frozenset(draw(st.sets(st.sampled_from(("back", "left", "right"))))),
    )


def made(unit: ToMake) -> Derived:
    try:
        return derive(unit)
    except JoineryError:
        reject()


@settings(deadline=None)
@given(units())
def test_pieces_stand_inside_the_outer_sizes_and_never_in_each_other(unit):
    derived = made(unit)

    for piece in derived.pieces:
        assert min(piece.at) >= 0
        assert min(piece.size) > 0
        assert all(end <= outer for end, outer in zip(piece.ends_at, unit.outer, strict=True))
        assert piece.extent(piece.thick) == piece.board.thickness
    for a, b in combinations(derived.pieces, 2):
        apart = any(a.ends_at[n] <= b.at[n] or b.ends_at[n] <= a.at[n] for n in range(3))
        assert apart, (a, b)


@settings(deadline=None)
@given(units(kinds=FULL))
def test_the_pieces_of_a_carcass_reach_every_outer_face(unit):
    derived = made(unit)

    first = tuple(min(p.at[n] for p in derived.pieces) for n in range(3))
    last = tuple(max(p.ends_at[n] for p in derived.pieces) for n in range(3))
    assert (first, last) == ((0, 0, 0), unit.outer)


@settings(deadline=None)
@given(units(kinds=("overhead", "wardrobe", "pantry")))
def test_two_sides_and_what_stands_between_add_up_to_the_width(unit):
    unit = replace(unit, walls=unit.walls - {"left", "right"})

    parts = {part.key: part for part in made(unit).parts}

    assert parts["side"].count == 2
    assert 2 * parts["side"].thickness + parts["bottom"].length == unit.width
    allowance = unit.scribe if "back" in unit.walls else 0
    assert parts["side"].width == unit.depth - unit.front_thickness + allowance
    assert parts["bottom"].width == parts["side"].width


@settings(deadline=None)
@given(units(kinds=("overhead", "wardrobe", "fronts", "kitchen")))
def test_gaps_between_doors_and_to_the_ends_are_even_and_fill_the_width(unit):
    unit = replace(unit, drawers=0, walls=frozenset(), fronts="plain", doors=max(1, unit.doors))

    doors = sorted(made(unit).fronts, key=lambda front: front.x)

    ends = [0, *(door.x + door.width for door in doors)]
    gaps = [b - a for a, b in zip(ends, [*(door.x for door in doors), unit.width], strict=True)]
    assert len({door.width for door in doors}) == 1
    assert min(gaps) >= unit.gap
    assert max(gaps) - unit.gap <= (1 if unit.bays in (1, len(doors)) else 2)
    assert sum(gaps) + sum(door.width for door in doors) == unit.width


@settings(deadline=None)
@given(units())
def test_parts_are_the_pieces_with_their_scribe_allowance(unit):
    derived = made(unit)

    pieces = Counter(piece.board.key for piece in derived.pieces)
    parts = Counter[str]()
    for part in derived.parts:
        parts[part.board.key] += part.count
    assert pieces == parts
    assert len({part.key for part in derived.parts}) == len(derived.parts)
    for part in derived.parts:
        assert bool(part.scribe_edges) == bool(part.scribe_tenths)
        assert part.length <= part.most_length
        assert part.width <= part.most_width


@settings(deadline=None)
@given(units(kinds=("bed", "wardrobe", "shower_cubicle")))
def test_the_mass_of_the_parts_is_their_boards_volume_by_its_density(unit):
    unit = replace(unit, scribe=0, inside="shelves", fronts="none", back_board=PLY4)

    derived = made(unit)

    volumes: dict[int, int] = {}
    for piece in derived.pieces:
        x, y, z = piece.size
        volumes[piece.board.density_kg_m3] = volumes.get(piece.board.density_kg_m3, 0) + x * y * z
    from_volume = sum(Decimal(volume) / 10**12 * density for density, volume in volumes.items())
    of_parts = sum(mass_kg(p.board, p.length, p.width, p.thickness, p.count) for p in derived.parts)
    assert abs(of_parts - from_volume) <= Decimal("0.0005") * len(derived.parts)


CHECKS = {
    test_pieces_stand_inside_the_outer_sizes_and_never_in_each_other: units(),
    test_the_pieces_of_a_carcass_reach_every_outer_face: units(kinds=FULL),
    test_two_sides_and_what_stands_between_add_up_to_the_width: units(
        kinds=("overhead", "wardrobe", "pantry")
    ),
    test_gaps_between_doors_and_to_the_ends_are_even_and_fill_the_width: units(
        kinds=("overhead", "wardrobe", "fronts", "kitchen")
    ),
    test_parts_are_the_pieces_with_their_scribe_allowance: units(),
    test_the_mass_of_the_parts_is_their_boards_volume_by_its_density: units(
        kinds=("bed", "wardrobe", "shower_cubicle")
    ),
}


@pytest.mark.prove
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__.removeprefix("test_"))
def test_ten_thousand_units_add_up_too(check):
    long = settings(max_examples=10_000, deadline=None, suppress_health_check=list(HealthCheck))

    long(given(CHECKS[check])(check.hypothesis.inner_test))()


def test_a_known_board_weighs_what_its_data_sheet_says():
    # birch plywood data sheet: 18 mm, 1220 x 2440, 36.7 kg; density 685 kg/m3
    sheet = replace(PLY12, thickness=180, density_kg_m3=685)

    assert abs(mass_kg(sheet, 24400, 12200, 180) - Decimal("36.7")) < Decimal("0.05")
