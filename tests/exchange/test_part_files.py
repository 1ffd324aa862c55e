"""Lists of parts: what is written is read back alike, and every error says its line and column."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.exchange.list_files import UnreadableList
from builds.exchange.part_files import parts_csv, read_parts
from builds.models import Material, Part

PLY = Material(pk=1, key="ply12", name="Birch ply, 12 mm", form="sheet")
OLD = Material(pk=2, key="old", name="Old board", form="sheet", withdrawn=True)
BOARDS = (PLY, OLD)
HEAD = "part,how many,length mm,width mm,cut from\r\n"


def errors_of(text: str) -> list[str]:
    with pytest.raises(UnreadableList) as caught:
        read_parts(text, BOARDS)
    return [str(error) for error in caught.value.errors]


def test_a_list_is_read_with_its_columns_in_any_order():
    head = "cut from,part,width mm,length mm,finished edges\r\n"
    lines = '"Birch ply, 12 mm",Side,476.5,700,far near\r\nply12,Top,10,20,\r\n'

    rows = read_parts(head + lines, BOARDS)

    assert [(row.line, row.fields) for row in rows] == [
        (
            2,
            {
                "material": PLY,
                "name": "Side",
                "width_tenths": 4765,
                "length_tenths": 7000,
                "finished_edges": ["near", "far"],
            },
        ),
        (
            3,
            {"material": PLY, "name": "Top", "width_tenths": 100, "length_tenths": 200, "finished_edges": []},
        ),
    ]


def test_cells_copied_out_of_a_spreadsheet_are_parted_by_tabs():
    rows = read_parts("Part\tLength mm\tWidth mm\tCut from\nSide, left\t700\t476.5\tply12\n", BOARDS)

    assert rows[0].fields["name"] == "Side, left"


def test_a_quoted_line_break_counts_for_the_lines_after_it():
    text = HEAD + '"Side\r\nleft",1,700,400,ply12\r\nTop,1,x,400,ply12\r\n'

    assert errors_of(text) == ["Line 4, column 3: “x” is no number."]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (",1,700,400,ply12", "Line 2, column 1: Give it a name."),
        ("Side,0,700,400,ply12", "Line 2, column 2: “0” is not a whole number from 1 to 999."),
        ("Side,1,-700,400,ply12", "Line 2, column 3: -700 is not 0 to under 100000 mm."),
        ("Side,1,0,400,ply12", "Line 2, column 3: Give a size of more than nothing."),
        ("Side,1,700,4.25,ply12", "Line 2, column 4: 4.25 is finer than a tenth of a millimetre."),
        ("Side,1,NaN,400,ply12", "Line 2, column 3: NaN is not 0 to under 100000 mm."),
        ("Side,1,1e9,400,ply12", "Line 2, column 3: 1e9 is not 0 to under 100000 mm."),
        ("Side,1,700,400,", "Line 2, column 5: Say what it is cut from."),
        ("Side,1,700,400,gold", "Line 2, column 5: “gold” is no board or length here."),
        ("Side,1,700,400,Old board", "Line 2, column 5: “Old board” was withdrawn."),
        ("Side,1,700,400,ply12,more", "Line 2, column 6: 6 cells, but 5 columns."),
        ('Side,1,"700,5",400,ply12', "Line 2, column 3: “700,5” is no number. Write it with a point: 476.5."),
    ],
)
def test_every_cell_that_cannot_be_is_named_by_line_and_column(line, said):
    (found,) = errors_of(HEAD + line + "\r\n")

    assert found.startswith(said)


def test_all_errors_of_a_list_are_told_at_once():
    assert len(errors_of(HEAD + "Side,0,x,y,gold\r\n" * 3)) == 12
    assert len(errors_of(HEAD + "Side,0,x,y,gold\r\n" * 30)) == 50


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Line 1: There is nothing in it."),
        ("part,length mm,width mm,cut from\r\n", "Line 1: Below the heads stands nothing."),
        ("part;length mm\r\n", "Line 1, column 1: The columns are parted by semicolons."),
        ("part,colour\r\n", "Line 1, column 2: “colour” is no column here."),
        ("part,part\r\n", "Line 1, column 2: The column “part” stands there twice."),
        ("part,length mm\r\n", "Line 1: A column is missing: width mm, cut from."),
        (HEAD + '"Side,1', "Line 2: A quotation mark is not closed"),
        (HEAD + "Side,1,1,1,ply12\r\n" * 2001, "Line 2002: More than 2,000 lines."),
        ("\x00\x01", "Line 1: This is no text file."),
    ],
)
def test_what_is_no_list_of_parts_is_told(text, said):
    assert errors_of(text)[0].startswith(said)


texts = st.text(st.characters(codec="utf-8", exclude_characters="\x00\r"), min_size=1, max_size=40)
names = texts.map(str.strip).filter(bool)
edges = st.lists(st.sampled_from(("near", "far", "left", "right")), unique=True)


@given(
    name=names,
    note=texts.map(str.strip),
    count=st.integers(1, 999),
    sizes=st.tuples(*[st.integers(1, 90_000)] * 3),
    finished=edges,
    grain=st.sampled_from(("along", "any")),
    run=st.sampled_from(("", "fronts")),
)
def test_what_is_written_is_read_back_alike(name, note, count, sizes, finished, grain, run):
    length, width, thickness = sizes
    ordered = [edge for edge in ("near", "far", "left", "right") if edge in finished]
    values = {"name": name, "note": note, "count": count, "length_tenths": length, "width_tenths": width}
    values |= {"thickness_tenths": thickness, "finished_edges": ordered, "grain": grain, "run": run}
    part = Part(material=PLY, **values)

    (row,) = read_parts(parts_csv([part]), BOARDS)

    found = {n: v for n, v in row.fields.items() if n in values}
    assert found == values
    assert not any(cell[:1] in "=+-@" for cell in parts_csv([part]).splitlines()[1].split(",")[:1] if cell)
