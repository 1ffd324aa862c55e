"""Battens, trims, pipe and cable of a build: from which stock lengths which pieces are cut.

Pieces are parts of units and the runs that the owner listed. A material of which no run is listed is
cut for its needs by the metre instead, joined as it comes. One piece is never joined.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from builds.engines.cutting.lengths import LengthsCut, cut_lengths
from builds.engines.cutting.measures import millimetres
from builds.models import Build, Material, Need, Part, Run, Shop

SOLVER_SECONDS = 0.5


@dataclass(frozen=True)
class LengthLine:
    """What is cut: `run` and `version` name a listed run that can be taken off, 0 for others."""

    name: str
    count: int
    length: str
    one_piece: bool
    is_joined: bool
    run: int = 0
    version: int = 0


@dataclass(frozen=True)
class Pattern:
    """So many stock lengths cut alike, into these pieces, with this rest."""

    times: int
    pieces: str
    rest: str


@dataclass(frozen=True)
class LengthPlan:
    """One material: its lines, the stock lengths to cut and what is too long to be cut in one piece."""

    material: Material
    stock: str
    kerf: str
    lines: tuple[LengthLine, ...]
    patterns: tuple[Pattern, ...]
    count: int
    is_proven: bool
    too_long: tuple[LengthLine, ...]


@dataclass(frozen=True)
class _Wanted:
    name: str
    tenths: int
    count: int
    one_piece: bool
    run: int = 0
    version: int = 0


def length_plans(build: Build, shop: Shop) -> tuple[LengthPlan, ...]:
    """The plan of each material sold in lengths, in three queries."""
    wanted: dict[Material, list[_Wanted]] = defaultdict(list)
    parts = Part.objects.filter(unit__build=build, unit__removed_at=None, material__form="length")
    for part in parts.select_related("unit", "material"):
        line = _Wanted(f"{part.name}, {part.unit.name}", part.length_tenths, part.count, True)
        wanted[part.material].append(line)
    listed = set()
    for run in Run.objects.filter(build=build).select_related("material"):
        listed.add(run.material_id)
        line = _Wanted(run.name, run.length_tenths, run.count, run.one_piece, run.pk, run.version)
        wanted[run.material].append(line)
    of_parts = {material.pk for material in wanted} - listed
    needs = Need.objects.filter(build=build, material__form="length", material__unit="m", quantity__gt=0)
    for need in needs.select_related("material", "unit", "installation"):
        is_of_parts = need.material_id in of_parts and need.unit_id is not None and not need.is_typed
        if need.material_id not in listed and not is_of_parts:
            owner = need.unit or need.installation
            name = f"{need.rule or 'by the metre'}, {owner.name if owner else 'whole van'}"
            wanted[need.material].append(_Wanted(name, int(need.quantity * 10000), 1, False))
    plans = [_plan(material, rows, shop) for material, rows in wanted.items()]
    return tuple(sorted(plans, key=lambda plan: (plan.material.order, plan.material.name)))


def _plan(material: Material, rows: Iterable[_Wanted], shop: Shop) -> LengthPlan:
    stock = 10 * material.length_mm if material.length_mm else int(material.pack * 10000)
    kerf = shop.saw_kerf_tenths if material.length_mm else 0  # a coil is cut with shears or a knife
    lines = [(row, _line(row, stock)) for row in rows]
    pieces = [piece for row, _ in lines for piece in _pieces(row, stock) if piece <= stock]
    cut = _cut(stock, kerf, tuple(sorted(pieces)))
    alike = Counter(tuple(sorted(length, reverse=True)) for length in cut.lengths)
    return LengthPlan(
        material=material,
        stock=_mm(stock),
        kerf=_mm(kerf),
        lines=tuple(line for _, line in lines),
        patterns=tuple(_pattern(length, times, stock, kerf) for length, times in alike.items()),
        count=len(cut.lengths),
        is_proven=cut.is_proven,
        too_long=tuple(line for row, line in lines if row.one_piece and row.tenths > stock),
    )


@lru_cache(maxsize=256)
def _cut(stock: int, kerf: int, pieces: tuple[int, ...]) -> LengthsCut:
    return cut_lengths(stock, kerf, pieces, seconds=SOLVER_SECONDS)


def _line(row: _Wanted, stock: int) -> LengthLine:
    is_joined = not row.one_piece and row.tenths > stock
    return LengthLine(row.name, row.count, _mm(row.tenths), row.one_piece, is_joined, row.run, row.version)


def _pieces(row: _Wanted, stock: int) -> list[int]:
    """The pieces of a run: whole lengths and a rest where it may be joined."""
    if row.one_piece or row.tenths <= stock:
        return [row.tenths] * row.count
    whole, rest = divmod(row.tenths, stock)
    return ([stock] * whole + ([rest] if rest else [])) * row.count


def _pattern(length: tuple[int, ...], times: int, stock: int, kerf: int) -> Pattern:
    words = [f"{count} × {_mm(size)}" if count > 1 else _mm(size) for size, count in Counter(length).items()]
    rest = stock - sum(length) - kerf * len(length)
    return Pattern(times, ", ".join(words), _mm(max(0, rest)))


def _mm(tenths: int) -> str:
    return f"{millimetres(tenths)}"
