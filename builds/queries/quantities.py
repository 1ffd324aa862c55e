"""Quantities with their units, carried by Pint from what is typed to what is printed; units never mix."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, ROUND_UP, Decimal, InvalidOperation

import pint

ureg = pint.UnitRegistry(non_int_type=Decimal, cache_folder=None)
ureg.define("piece = []")

Quantity = pint.Quantity

ML_OF_A_LITRE = ureg.Quantity(Decimal(1), "litre").to("ml").magnitude

TYPED = re.compile(r"^\s*([0-9]+(?:[.,][0-9]+)?)\s*([a-zA-Z²³]*[23]?)\s*$")
TYPED_UNITS = {
    "mm": "mm", "cm": "cm", "m": "m", "mm²": "mm**2", "cm²": "cm**2", "m²": "m**2", "m2": "m**2",
    "l": "litre", "litre": "litre", "litres": "litre", "ml": "ml", "g": "g", "kg": "kg", "piece": "piece",
    "pieces": "piece",
}  # fmt: skip
WORDS = {"m": "m", "m**2": "m²", "litre": "l", "ml": "ml", "kg": "kg", "piece": ""}


class UnitsDiffer(ValueError):
    """A quantity of another kind than the one wanted: a length where litres are counted."""


def quantity(value: Decimal, unit: str) -> Quantity:
    return ureg.Quantity(value, unit)


def typed_quantity(text: str, unit: str) -> Decimal:
    """What somebody typed, "2400 mm" or "2.4", in `unit`.

    Raises ValueError when it can't be read and UnitsDiffer when it is of another kind.
    """
    found = TYPED.match(text)
    if found is None:
        raise ValueError("That is no quantity. Write a number, with a unit if you like: 2400 mm.")
    number, name = found.groups()
    known = TYPED_UNITS.get(name) if name else unit
    if known is None:
        raise ValueError(f"“{name}” is no unit here. Use mm, cm, m, m², ml, l, g, kg or pieces.")
    try:
        value = ureg.Quantity(Decimal(number.replace(",", ".")), known).to(unit).magnitude
    except pint.DimensionalityError:
        raise UnitsDiffer(f"This is counted in {unit_words(unit)}, not in {name}.") from None
    except InvalidOperation:
        raise ValueError("That is no quantity.") from None
    return Decimal(value)


def total(quantities: list[Quantity], unit: str) -> Quantity:
    """The sum in `unit`; raises UnitsDiffer when they are not all of one kind.

    What is in one unit is added up before it is converted: converting is the slow part.
    """
    by_unit: dict[pint.Unit, Decimal] = {}
    for q in quantities:
        by_unit[q.units] = by_unit.get(q.units, Decimal(0)) + q.magnitude
    found = Decimal(0)
    try:
        for units, magnitude in by_unit.items():
            found += ureg.Quantity(magnitude, units).to(unit).magnitude
    except pint.DimensionalityError as error:
        raise UnitsDiffer(str(error)) from None
    return ureg.Quantity(found, unit)


def in_words(value: Decimal, unit: str) -> str:
    """A quantity as it is read: "12.4 m²", "3", "750 ml"."""
    if unit == "litre" and 0 < abs(value) < 1:
        value, unit = value * ML_OF_A_LITRE, "ml"
    places = Decimal("0.01") if abs(value) < 10 else Decimal("0.1")
    if unit in ("ml", "piece"):
        places = Decimal(1)
    text = f"{value.quantize(places, ROUND_UP if unit == 'piece' else ROUND_HALF_UP):f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{text} {WORDS[unit]}".strip()


FORM_WORDS = {
    "sheet": ("sheet", "sheets"),
    "length": ("length", "lengths"),
    "area": ("pack", "packs"),
    "liquid": ("tin", "tins"),
    "cartridge": ("cartridge", "cartridges"),
    "mass": ("pack", "packs"),
    "piece": ("pack", "packs"),
}


def pack_words(pack: Decimal, unit: str) -> str:
    """What one pack holds, to follow "3 sheets": "of 2.98 m²", "of 310 ml"; "" for single pieces."""
    return "" if unit == "piece" and pack == 1 else f"of {in_words(pack, unit)}"


def packs_in_words(packs: int, form: str, pack: Decimal, unit: str) -> str:
    """How many are bought: "4 sheets", "1 tin", "3"."""
    if unit == "piece" and pack == 1:
        return str(packs)
    return f"{packs} {FORM_WORDS[form][packs != 1]}"


def unit_words(unit: str) -> str:
    return WORDS[unit] or "pieces"
