"""A unit's parts as CSV: written for a spreadsheet, read back line by line with the place of every error."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal, InvalidOperation

from builds.engines.cutting.measures import millimetres
from builds.exchange.csv_files import Cells, as_meant, csv_text
from builds.exchange.list_files import Column, UnreadableList, fields_of, lines_of, text_of, whole_of
from builds.models import Material, Part
from builds.queries.part_lists import PartRow
from builds.queries.price_lists import ListError

MOST_LINES = 2000
EDGES = tuple(edge for edge, _ in Part.EDGES)


COLUMNS = (
    Column("part", "name", "its name, 80 letters at most", True),
    Column("how many", "count", "1 to 999; 1 where it is empty"),
    Column("length mm", "length_tenths", "along the grain, to a tenth: 476.5", True),
    Column("width mm", "width_tenths", "across the grain, to a tenth", True),
    Column("thickness mm", "thickness_tenths", "only where the board has none of its own"),
    Column("cut from", "material", "the board or length, named as it is here", True),
    Column("grain", "grain", "along or any; along where it is empty"),
    Column("finished edges", "finished_edges", "near, far, left, right, with blanks between"),
    Column("scribe mm", "scribe_tenths", "what is left to scribe, in the sizes already"),
    Column("scribe edges", "scribe_edges", "near, far, left, right, with blanks between"),
    Column("strip", "run", "the same word for parts cut side by side from one strip"),
    Column("place in strip", "run_place", "1 for the first"),
    Column("note", "note", "200 letters at most"),
)


def parts_csv(parts: Iterable[Part]) -> str:
    """The parts as the file that `read_parts` reads; each with its material."""
    return csv_text([[column.head for column in COLUMNS], *(_cells(part) for part in parts)])


def _cells(part: Part) -> list[object]:
    return [
        part.name,
        part.count,
        millimetres(part.length_tenths),
        millimetres(part.width_tenths),
        millimetres(part.thickness_tenths),
        part.material.name,
        part.grain,
        " ".join(part.finished_edges),
        millimetres(part.scribe_tenths) if part.scribe_tenths else "",
        " ".join(part.scribe_edges),
        part.run,
        part.run_place or "",
        part.note,
    ]


def read_parts(text: str, materials: Iterable[Material]) -> tuple[PartRow, ...]:
    """The lines of a list of parts: CSV (RFC 4180), or cells parted by tabs as spreadsheets copy them.

    The first line names the columns, in any order. Raises UnreadableList with every error by line and
    column; what a part can't be is for the action to say.
    """
    lines = lines_of(text, most=MOST_LINES, parted_by="\t" if "\t" in text.split("\n", 1)[0] else ",")
    head = fields_of(lines[0], COLUMNS)
    named = {m.name.casefold(): m for m in materials} | {m.key.casefold(): m for m in materials}
    errors: list[ListError] = []
    rows = [row for cells in lines[1:] if (row := _row(cells, head, named, errors)) is not None]
    if not errors and not rows:
        errors.append(ListError(lines[0].line, None, "Below the heads stands nothing."))
    if errors:
        raise UnreadableList(errors)
    return tuple(rows)


def _row(
    cells: Cells, head: dict[str, int], materials: Mapping[str, Material], errors: list[ListError]
) -> PartRow | None:
    if any(cell.strip() for cell in cells.cells[len(head) :]):
        words = f"{len(cells.cells)} cells, but {len(head)} columns. Quote a cell that has a comma in it."
        errors.append(ListError(cells.line, len(head) + 1, words))
        return None
    fields: dict[str, object] = {}
    before = len(errors)
    for field, at in head.items():
        text = as_meant(cells.cells[at]).strip() if at < len(cells.cells) else ""
        try:
            fields[field] = _material(text, materials) if field == "material" else READ[field](text)
        except ValueError as error:
            errors.append(ListError(cells.line, at + 1, str(error)))
    if len(errors) > before:
        return None
    columns = tuple((field, at + 1) for field, at in head.items())
    return PartRow(cells.line, columns, {n: v for n, v in fields.items() if v is not None})


def _material(text: str, materials: Mapping[str, Material]) -> Material:
    if not text:
        raise ValueError("Say what it is cut from.")
    found = materials.get(text.casefold())
    if found is None:
        raise ValueError(
            f"“{text[:40]}” is no board or length here. Name it as it stands among the materials."
        )
    if found.withdrawn:
        raise ValueError(f"“{found.name}” was withdrawn. Choose another, or bring it back.")
    return found


def _name(text: str) -> str:
    if not text:
        raise ValueError("Give it a name.")
    return text_of(80)(text)


def _size(text: str) -> int:
    value = _tenths(text)
    if not value:
        raise ValueError("Give a size of more than nothing.")
    return value


def _tenths(text: str) -> int | None:
    if not text:
        return None
    try:
        value = Decimal(text)
    except InvalidOperation:
        hint = " Write it with a point: 476.5." if "," in text else ""
        raise ValueError(f"“{text[:30]}” is no number.{hint}") from None
    if not value.is_finite() or not 0 <= value < 100_000:
        raise ValueError(f"{text[:30]} is not 0 to under 100000 mm.")
    if value * 10 != int(value * 10):
        raise ValueError(f"{text[:30]} is finer than a tenth of a millimetre.")
    return int(value * 10)


def _grain(text: str) -> str:
    word = text.casefold() or "along"
    if word not in ("along", "any"):
        raise ValueError(f"“{text[:30]}” is neither along nor any.")
    return word


def _edges(text: str) -> list[str]:
    words = text.casefold().replace(",", " ").split()
    strange = [word for word in words if word not in EDGES]
    if strange:
        raise ValueError(f"“{strange[0][:30]}” is no edge. Known are {', '.join(EDGES)}.")
    return [edge for edge in EDGES if edge in words]


READ: dict[str, Callable[[str], object]] = {
    "name": _name,
    "count": whole_of(1, 999),
    "length_tenths": _size,
    "width_tenths": _size,
    "thickness_tenths": _tenths,
    "grain": _grain,
    "finished_edges": _edges,
    "scribe_tenths": _tenths,
    "scribe_edges": _edges,
    "run": text_of(40),
    "run_place": whole_of(1, 99),
    "note": text_of(200),
}
