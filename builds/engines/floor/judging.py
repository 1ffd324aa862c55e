"""Readings of a check held against its limits: arithmetic only. A person passes or fails a check.

A field is a mapping with `key`, `label` and `kind`:

- "number": `unit`, `least` and `most` (either may be missing), `basis` names where the limits are from;
- "yes": ticked or not; `wanted` is what it should be (true unless said);
- "choice": one of `choices`, `wanted` where one is wanted;
- "text": anything, never judged;
- "difference": worked out, the first of `of` less the second; `verb` tells it ("dropped");
- "percent_drop": the same in percent of the first;
- "sum": the fields of `of` added up.

`must` says whether a reading has to be given: yes unless said, except for texts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

Field = Mapping[str, Any]
WORKED_OUT = ("difference", "percent_drop", "sum")
LARGEST = Decimal(10) ** 9
LONGEST_TEXT = 400


@dataclass(frozen=True)
class Judgement:
    """Readings as text by field key, what the limits say of them, and what can't be read, by field key."""

    readings: dict[str, str]
    remarks: tuple[str, ...]
    errors: dict[str, str]

    @property
    def is_within(self) -> bool:
        return not self.remarks


def judge(fields: Sequence[Field], typed: Mapping[str, Any]) -> Judgement:
    """Reads what was typed and holds it against the limits of `fields`.

    Gives remarks in words ("dropped 12 mbar, more than the 10 of the rule (EN 1949)") and never a
    verdict. Unreadable or missing readings come back as errors; nothing is raised.
    """
    readings: dict[str, str] = {}
    numbers: dict[str, Decimal] = {}
    remarks: list[str] = []
    errors: dict[str, str] = {}
    for spec in fields:
        key, kind = str(spec["key"]), str(spec.get("kind", "number"))
        if kind in WORKED_OUT:
            number = _worked_out(kind, [numbers.get(str(k)) for k in spec.get("of", ())])
            if number is not None:
                numbers[key], readings[key] = number, plain(number)
                remarks += _of_number(spec, number)
            continue
        text = str(typed.get(key) or "").strip()
        problem = _unreadable(spec, kind, text)
        if problem:
            errors[key] = problem
        elif kind == "number" and text:
            numbers[key] = _number(text) or Decimal(0)
            readings[key] = plain(numbers[key])
            remarks += _of_number(spec, numbers[key])
        else:
            readings[key] = _kept(kind, text)
            remarks += _of_word(spec, kind, readings[key])
    return Judgement(readings, tuple(remarks), errors)


def plain(number: Decimal) -> str:
    """A number without trailing noughts or exponent."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _number(text: str) -> Decimal | None:
    try:
        number = Decimal(text.replace(",", ".").replace("−", "-"))
    except InvalidOperation:
        return None
    return number if number.is_finite() and abs(number) < LARGEST else None


def _unreadable(spec: Field, kind: str, text: str) -> str:
    must = spec.get("must", kind != "text")
    if kind == "yes":
        return ""
    if not text:
        return "Needed." if must else ""
    if kind == "number" and _number(text) is None:
        return "This has to be a number."
    if kind == "choice" and text not in spec.get("choices", ()):
        return "Choose one of these."
    if len(text) > LONGEST_TEXT:
        return f"At most {LONGEST_TEXT} letters, please."
    return ""


def _kept(kind: str, text: str) -> str:
    if kind == "yes":
        return "yes" if text.lower() in ("yes", "on", "true", "1") else "no"
    return text


def _worked_out(kind: str, parts: list[Decimal | None]) -> Decimal | None:
    known = [p for p in parts if p is not None]
    if len(known) < len(parts) or not known:
        return None
    if kind == "sum":
        return sum(known, Decimal(0))
    first, second = known[0], known[1]
    if kind == "difference":
        return first - second
    if first == 0:
        return None
    return ((first - second) / first * 100).quantize(Decimal("0.1"), ROUND_HALF_UP)


def _of_number(spec: Field, number: Decimal) -> list[str]:
    unit = f" {spec['unit']}" if spec.get("unit") else ""
    basis = f" ({spec['basis']})" if spec.get("basis") else ""
    said = f"{spec.get('verb') or spec['label'] + ':'} {plain(number)}{unit}"
    least, most = spec.get("least"), spec.get("most")
    if most is not None and number > Decimal(str(most)):
        return [f"{said}, more than the {plain(Decimal(str(most)))} of the rule{basis}"]
    if least is not None and number < Decimal(str(least)):
        return [f"{said}, less than the {plain(Decimal(str(least)))} of the rule{basis}"]
    return []


def _of_word(spec: Field, kind: str, reading: str) -> list[str]:
    if kind == "yes":
        wanted = "yes" if spec.get("wanted", True) else "no"
    elif kind == "choice" and spec.get("wanted") and reading:
        wanted = str(spec["wanted"])
    else:
        return []
    return [] if reading == wanted else [f"{spec['label']}: {reading}, where “{wanted}” is wanted"]
