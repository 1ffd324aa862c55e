"""A unit drawn with its sizes: the views of the engine, laid out for a screen or a paper.

A unit of the drawing is a pixel at its natural size; a view is as large as fits its box, to scale.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from builds.engines.cutting.measures import millimetres
from builds.engines.joinery.unit import Derived, Front
from builds.engines.joinery.views import Chain, Interval, View, views_of
from builds.templatetags.words import listed

MOST_WIDE, MOST_HIGH, LEAST_WIDE = 330, 350, 150
MARGIN, ROW, LETTER = 12, 24, 7
OVER = 5
"""How far a dimension's end lines reach over it."""


@dataclass(frozen=True, slots=True)
class DrawnShape:
    look: str
    x: str
    y: str
    width: str
    height: str
    middle_x: str
    middle_y: str
    round: str


@dataclass(frozen=True, slots=True)
class DrawnSize:
    """A dimension: its line with the strokes at its ends as one path, and its figure, turned if upright."""

    path: str
    words: str
    x: str
    y: str
    turn: str


@dataclass(frozen=True, slots=True)
class DrawnWords:
    words: str
    x: str
    y: str
    anchor: str


@dataclass(frozen=True, slots=True)
class DrawnView:
    title: str
    label: str
    width: int
    height: int
    shapes: tuple[DrawnShape, ...]
    sizes: tuple[DrawnSize, ...]
    opens: tuple[str, ...]
    hinges: tuple[str, ...]
    hinge_words: tuple[DrawnWords, ...]
    handles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FrontLine:
    """A door or drawer front in words: size, hinges from its lower or left end, handle from lower left."""

    name: str
    size: str
    hinges: str
    handle: str
    frame: str


@dataclass(frozen=True, slots=True)
class UnitDrawing:
    views: tuple[DrawnView, ...]
    fronts: tuple[FrontLine, ...]
    gaps: str


def unit_drawing(derived: Derived, name: str) -> UnitDrawing:
    """The drawing of a unit, and its fronts in words; asks nothing of the database."""
    gap = derived.unit.gap
    return UnitDrawing(
        views=tuple(_drawn(views_of(derived), name)),
        fronts=_front_lines(derived.fronts),
        gaps=f"{_mm(gap)} mm" if derived.fronts else "",
    )


def _drawn(views: Sequence[View], name: str) -> Iterable[DrawnView]:
    """The first view as large as its box takes it, others to the same scale unless that is too small."""
    first = _Sheet(views[0])
    yield first.drawn(name)
    for view in views[1:]:
        yield _Sheet(view, max(first.scale, LEAST_WIDE / view.width)).drawn(name)


def _front_lines(fronts: Iterable[Front]) -> tuple[FrontLine, ...]:
    """A line for equal fronts: "Door 1, 3 and 5"."""
    alike: dict[FrontLine, list[str]] = {}
    for front in fronts:
        kind, number = front.name.rsplit(" ", 1)
        alike.setdefault(_front_line(front, kind), []).append(number)
    return tuple(replace(line, name=f"{line.name} {listed(numbers)}") for line, numbers in alike.items())


def _front_line(front: Front, name: str) -> FrontLine:
    hinges, handle = "", ""
    if front.hinged:
        hinges = f"{front.hinged}, at {', '.join(_mm(at) for at in front.hinges_at)}"
    if front.handle_at:
        right, up = front.handle_at
        handle = f"{_mm(right)} in, {_mm(up)} up"
    upright, rail = front.frame
    frame = f"{_mm(upright)} and {_mm(rail)}" if upright else ""
    return FrontLine(name, f"{_mm(front.width)} × {_mm(front.height)}", hinges, handle, frame)


class _Sheet:
    """One view on its sheet: scale, margins for its dimensions, and where a point of the unit falls."""

    def __init__(self, view: View, scale: float = 1.0) -> None:
        self.view = view
        self.scale = min(scale, MOST_WIDE / view.width, MOST_HIGH / view.height)
        rows = {side: 1 + max((c.row for c in view.chains if c.side == side), default=-1) for side in SIDES}
        self.left = MARGIN + ROW * rows["left"]
        self.right = MARGIN + ROW * rows["right"]
        self.below = MARGIN + ROW * rows["below"]
        self.wide, self.high = view.width * self.scale, view.height * self.scale

    def x(self, tenths: int) -> float:
        return self.left + tenths * self.scale

    def y(self, tenths: int) -> float:
        return MARGIN + self.high - tenths * self.scale

    def drawn(self, name: str) -> DrawnView:
        view = self.view
        sizes = [size for chain in view.chains for size in self._chain(chain)]
        outer = f"{_mm(view.width)} by {_mm(view.height)} mm"
        return DrawnView(
            title=view.title,
            label=f"{name}, {view.title[0].lower()}{view.title[1:]}: {outer}",
            width=round(self.left + self.wide + self.right),
            height=round(MARGIN + self.high + self.below),
            shapes=tuple(self._shapes()),
            sizes=tuple(sizes),
            opens=tuple("M" + "L".join(self._point(*corner) for corner in line) for line in view.opens),
            hinges=tuple(self._mark(x, y, turned, 5) for x, y, turned, _ in view.hinges),
            hinge_words=tuple(self._hinge_words()),
            handles=tuple(self._mark(x, y, turned, 6) for x, y, turned in view.handles),
        )

    def _shapes(self) -> Iterable[DrawnShape]:
        for shape in self.view.shapes:
            wide, high = shape.width * self.scale, shape.height * self.scale
            x, y = self.x(shape.x), self.y(shape.y + shape.height)
            yield DrawnShape(
                shape.look, f"{x:.1f}", f"{y:.1f}", f"{max(wide, 0.6):.1f}", f"{max(high, 0.6):.1f}",
                f"{x + wide / 2:.1f}", f"{y + high / 2:.1f}", f"{wide / 2:.1f}",
            )  # fmt: skip

    def _chain(self, chain: Chain) -> Iterable[DrawnSize]:
        out = ROW * (chain.row + 1) - 6
        for span in chain.spans:
            if chain.side == "below":
                yield self._level(span, MARGIN + self.high + out)
            else:
                yield self._upright(
                    span, self.left - out if chain.side == "left" else self.left + self.wide + out
                )

    def _level(self, span: Interval, y: float) -> DrawnSize:
        a, b = self.x(span[0]), self.x(span[1])
        words = _mm(span[1] - span[0])
        return DrawnSize(
            path=f"M{a:.1f} {y:.1f}H{b:.1f}M{a:.1f} {y - OVER:.1f}V{y + OVER:.1f}"
            f"M{b:.1f} {y - OVER:.1f}V{y + OVER:.1f}",
            words=words if b - a >= len(words) * LETTER else "",
            x=f"{(a + b) / 2:.1f}",
            y=f"{y - 4:.1f}",
            turn="",
        )

    def _upright(self, span: Interval, x: float) -> DrawnSize:
        a, b = self.y(span[0]), self.y(span[1])
        words = _mm(span[1] - span[0])
        middle = (a + b) / 2
        return DrawnSize(
            path=f"M{x:.1f} {a:.1f}V{b:.1f}M{x - OVER:.1f} {a:.1f}H{x + OVER:.1f}"
            f"M{x - OVER:.1f} {b:.1f}H{x + OVER:.1f}",
            words=words if a - b >= len(words) * LETTER else "",
            x=f"{x - 4:.1f}",
            y=f"{middle:.1f}",
            turn=f"rotate(-90 {x - 4:.1f} {middle:.1f})",
        )

    def _mark(self, x: int, y: int, turned: bool, half: int) -> str:
        at_x, at_y = self.x(x), self.y(y)
        if turned:
            return f"M{at_x - half:.1f} {at_y:.1f}H{at_x + half:.1f}"
        return f"M{at_x:.1f} {at_y - half:.1f}V{at_y + half:.1f}"

    def _hinge_words(self) -> Iterable[DrawnWords]:
        for x, y, turned, along in self.view.hinges:
            if along is None:
                continue
            at_x, at_y = self.x(x), self.y(y)
            if turned:
                down = 14 if y > self.view.height // 2 else -7
                yield DrawnWords(_mm(along), f"{at_x:.1f}", f"{at_y + down:.1f}", "middle")
            elif x > self.view.width // 2:
                yield DrawnWords(_mm(along), f"{at_x - 5:.1f}", f"{at_y + 4:.1f}", "end")
            else:
                yield DrawnWords(_mm(along), f"{at_x + 5:.1f}", f"{at_y + 4:.1f}", "start")

    def _point(self, x: int, y: int) -> str:
        return f"{self.x(x):.1f} {self.y(y):.1f}"


SIDES = ("left", "right", "below")


def _mm(tenths: int) -> str:
    return f"{millimetres(tenths)}"
