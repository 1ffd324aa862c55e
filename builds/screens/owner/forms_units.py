"""The form of a unit: its outer sizes and how it is made, in millimetres as they are typed."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from django import forms

from builds.actions.door import Refused
from builds.actions.making import BOARD_FIELDS, SIZES
from builds.engines.cutting.measures import millimetres
from builds.models import Making, Unit
from builds.queries.joinery import PLAIN, TENTHS, WALLS, Boards

FINE = "To a tenth of a millimetre: 476 or 476.5."
WHOLE = "Whole millimetres: 600."


def size_field(label: str, *, required: bool = True, most_mm: int = 100_000, hint: str = ""):
    """A size in millimetres, kept in tenths by `tenths_of`."""
    return forms.DecimalField(
        label=label,
        required=required,
        min_value=0,
        max_value=most_mm,
        decimal_places=1,
        max_digits=12,
        help_text=hint,
        widget=forms.NumberInput({"inputmode": "decimal", "step": "0.1"}),
        error_messages={"invalid": FINE, "max_decimal_places": FINE, "min_value": "Not less than nothing."},
    )


def tenths_of(mm: Decimal | None) -> int:
    return int(mm * 10) if mm is not None else 0


def _outer(label: str) -> forms.IntegerField:
    return forms.IntegerField(
        label=label,
        min_value=1,
        max_value=100_000,
        widget=forms.NumberInput({"inputmode": "numeric", "step": "1"}),
        error_messages={"invalid": WHOLE, "min_value": "More than nothing."},
    )


def _count(label: str, *, least: int = 0, most: int = 999) -> forms.IntegerField:
    return forms.IntegerField(
        label=label, min_value=least, max_value=most, error_messages={"invalid": "A whole number."}
    )


class UnitForm(forms.Form):
    """How a unit is made. `groups` are its fields as the page sets them; `units` what stands behind one."""

    groups = (
        ("Outside, over everything", ("width_mm", "depth_mm", "height_mm")),
        (
            "Carcass",
            ("board", "has_back", "back_board", "plinth_tenths", "inside", "bays", "shelves"),
        ),
        (
            "Fronts",
            (
                "fronts", "front_board", "doors", "drawers", "drawer_front_tenths", "gap_tenths",
                "front_grain", "hinges", "hinge_from_tenths", "handle_from_tenths", "handle_height_tenths",
            ),
        ),
        ("Frame of the fronts", ("strip", "strip_width_tenths", "rail_width_tenths")),
        ("Against the van", ("wall_back", "wall_left", "wall_right", "scribe_tenths")),
    )  # fmt: skip

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    width_mm = _outer("Width")
    depth_mm = _outer("Depth")
    height_mm = _outer("Height")
    board = forms.ChoiceField(label="Board")
    has_back = forms.BooleanField(label="It has a back", required=False)
    back_board = forms.ChoiceField(label="Back of")
    plinth_tenths = size_field("Plinth, height")
    inside = forms.ChoiceField(label="Inside", choices=Making.INSIDES)
    bays = _count("Bays side by side", least=1)
    shelves = _count("Shelves in a bay")
    fronts = forms.ChoiceField(label="Fronts", choices=Making.FRONTS)
    front_board = forms.ChoiceField(label="Fronts of")
    doors = _count("Doors")
    drawers = _count("Drawers")
    drawer_front_tenths = size_field("Drawer over doors, height")
    gap_tenths = size_field("Gaps, at least")
    front_grain = forms.ChoiceField(label="Grain", choices=Making.GRAINS)
    hinges = forms.ChoiceField(label="Hinges", choices=Making.HINGES)
    hinge_from_tenths = size_field("Hinges from the ends")
    handle_from_tenths = size_field("Handles from the edges")
    handle_height_tenths = size_field("Handles of doors over 1.2 m, up")
    strip = forms.ChoiceField(label="Strip", required=False)
    strip_width_tenths = size_field("Uprights, width")
    rail_width_tenths = size_field("Rails, width")
    wall_back = forms.BooleanField(label="Its back meets the wall", required=False)
    wall_left = forms.BooleanField(label="Its left end meets the wall", required=False)
    wall_right = forms.BooleanField(label="Its right end meets the wall", required=False)
    scribe_tenths = size_field("Scribe allowance")

    def __init__(self, *args, boards: Boards, **kwargs) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self._boards = boards
        for name in BOARD_FIELDS:
            self.fields[name].choices = boards.choices(lengths=name == "strip")
        for name, field in self.fields.items():
            field.unit = "mm" if name.endswith(("_mm", "_tenths")) else ""

    @staticmethod
    def of(unit: Unit, making: Making, boards: Boards) -> UnitForm:
        """The form as the unit is made now."""
        start = {name: getattr(making, name) for name in (*PLAIN, *(f"wall_{wall}" for wall in WALLS))}
        start |= {name: getattr(unit, name) for name in SIZES}
        start |= {f"{name}_tenths": millimetres(getattr(making, f"{name}_tenths")) for name in TENTHS}
        start |= {name: getattr(making, f"{name}_id") or "" for name in BOARD_FIELDS}
        return UnitForm(initial=start | {"version": making.version}, boards=boards)

    def parts(self) -> Iterator[tuple[str, list[forms.BoundField]]]:
        for title, names in self.groups:
            yield title, [self[name] for name in names]

    @property
    def sizes(self) -> dict[str, int]:
        return {name: self.cleaned_data[name] for name in SIZES}

    @property
    def choices(self) -> dict[str, object]:
        """The choices as the action takes them: tenths and boards."""
        given = {name: value for name, value in self.cleaned_data.items() if name not in (*SIZES, "version")}
        for name, value in given.items():
            if name.endswith("_tenths"):
                given[name] = tenths_of(value)
            elif name in BOARD_FIELDS:
                given[name] = self._boards.of(int(value)) if value else None
        return given

    def refuse(self, error: Refused) -> None:
        """Puts an action's words at the field they belong to, by the engine's name or the form's own."""
        names = (error.field or "", f"{error.field}_mm", f"{error.field}_tenths")
        self.add_error(next((name for name in names if name in self.fields), None), error.words)
