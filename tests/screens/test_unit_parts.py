"""Parts of a unit by hand: one at a time and by the list, once, whole, and to be taken back."""

from __future__ import annotations

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.actions.parts import change_making, change_part, remove_part
from builds.models import Journal, Part
from tests import cast
from tests.screens.test_unit_page import WARDROBE, library, start, wardrobe  # noqa: F401

HEAD = "part,how many,length mm,width mm,cut from\n"
TWO = HEAD + "Cleat,4,300,40,ply12\nFiller,1,1700,30,ply12\n"


@pytest.fixture
def unit(small_build):
    found = cast.make_unit(small_build)
    cast.make_part(found, cast.make_board(), "Side", 700, 476, count=2)
    return found


def at(unit, name: str, *more) -> str:
    return reverse(f"owner:{name}", args=[unit.build_id, unit.pk, *more])


def one(unit, **other) -> dict:
    part = unit.parts.get(name="Side")
    sent = {"name": "Cleat", "count": "4", "length_tenths": "300", "width_tenths": "40.5", "grain": "along"}
    return sent | {"material": part.material_id, "token": uuid.uuid4()} | other


def words(answer) -> str:
    return answer.content.decode()


def test_a_part_is_added_once_however_often_its_form_is_sent(owner_client, unit):
    sent = one(unit)

    for _ in range(2):
        answer = owner_client.post(at(unit, "part-new"), sent)
        assert answer.url == at(unit, "unit-page") + "#parts-head"

    part = unit.parts.get(name="Cleat")
    assert (part.by_hand, part.count, part.length_tenths, part.width_tenths) == (True, 4, 3000, 405)
    assert "added by hand" in words(owner_client.get(at(unit, "unit-page")))


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"count": "0"}, "greater than or equal to 1"),
        ({"length_tenths": "-3"}, "Not less than nothing."),
        ({"length_tenths": "9e9"}, "less than or equal to 100000"),
        ({"length_tenths": "4.25"}, "To a tenth of a millimetre: 476 or 476.5."),
        ({"length_tenths": "0"}, "at least"),
        ({"width_tenths": "1300"}, "larger than Board ply12 is bought"),
        ({"name": ""}, "This field is required."),
        ({"name": "x" * 81}, "at most 80"),
        ({"material": "987654"}, "not one of the available choices"),
        ({"scribe_tenths": "12"}, "Say on which edge it is scribed."),
        ({"scribe_edges": "far"}, "Say how much is left to scribe"),
    ],
)
def test_what_can_not_be_cut_is_refused_in_its_place_and_what_was_typed_stays(
    other, said, owner_client, unit
):
    answer = owner_client.post(at(unit, "part-new"), one(unit, note="Keep me", **other))

    assert answer.status_code == 422
    assert said in words(answer)
    assert "Keep me" in words(answer)
    assert unit.parts.count() == 1


def test_a_changed_part_says_so_and_goes_back_to_what_is_worked_out(owner_client, wardrobe):  # noqa: F811
    side = wardrobe.parts.exclude(material=None).first()
    form = owner_client.get(at(wardrobe, "part", side.pk)).context["form"]
    sent = {f.name: f.value() for f in form if f.value() not in (None, "", [])}
    was = (side.length_tenths, side.name)

    owner_client.post(at(wardrobe, "part", side.pk), sent | {"length_tenths": "400", "name": "Short side"})
    page = words(owner_client.get(at(wardrobe, "unit-page")))
    changed = Part.objects.get(pk=side.pk)
    assert (changed.length_tenths, changed.is_changed) == (4000, True)
    assert "changed by hand" in page
    assert at(wardrobe, "part-back", side.pk) in page
    owner_client.post(at(wardrobe, "part-back", side.pk))

    back = Part.objects.get(pk=side.pk)
    assert (back.length_tenths, back.name) == was
    assert not back.is_changed


def test_a_part_taken_out_stays_listed_and_is_put_back(owner_client, wardrobe):  # noqa: F811
    part = wardrobe.parts.first()

    owner_client.post(at(wardrobe, "part-out", part.pk))
    page = words(owner_client.get(at(wardrobe, "unit-page")))
    assert "taken out by hand" in page
    assert not wardrobe.parts.filter(pk=part.pk).exists()
    owner_client.post(at(wardrobe, "part-back", part.pk))

    assert wardrobe.parts.filter(pk=part.pk).exists()


def test_a_part_changed_elsewhere_meanwhile_is_not_written_over(owner_client, unit, now, owner):
    side = unit.parts.get()
    sent = one(unit, version=side.version, name="Mine")
    change_part(part=side, fields={"name": "Theirs"}, version=side.version, now=now, by=owner)

    answer = owner_client.post(at(unit, "part", side.pk), sent)

    assert answer.status_code == 409
    assert "Mine" in words(answer)
    assert unit.parts.get().name == "Theirs"


def test_a_part_that_is_gone_or_another_unit_s_is_not_there(owner_client, unit, now, owner):
    other = cast.make_unit(unit.build, "Bed")
    side = unit.parts.get()

    for name in ("part", "part-out", "part-back"):
        assert owner_client.post(at(other, name, side.pk), one(unit)).status_code == 404
    remove_part(part=side, now=now, by=owner)
    assert owner_client.get(at(unit, "part", side.pk)).status_code == 404


def read(owner_client, unit, text: str, **more):
    return owner_client.post(at(unit, "part-list"), {"text": text, **more})


def taken(owner_client, unit, text: str, **more):
    """Read, then taken, as a browser sends it."""
    token = read(owner_client, unit, text).context["form"].initial["token"]
    return owner_client.post(at(unit, "part-list"), {"text": text, "token": token, "take": "yes", **more})


def test_a_list_is_shown_before_anything_is_added_and_then_added_once(owner_client, unit):
    page = read(owner_client, unit, TWO)
    assert "Add 2 parts" in words(page)
    assert unit.parts.count() == 1
    token = page.context["form"].initial["token"]

    for _ in range(2):
        owner_client.post(at(unit, "part-list"), {"text": TWO, "token": token, "take": "yes"})

    assert list(unit.parts.filter(by_hand=True).values_list("name", "count", "length_tenths")) == [
        ("Cleat", 4, 3000),
        ("Filler", 1, 17000),
    ]
    assert Journal.objects.filter(what__contains="Added 2 parts to Kitchen from a list").count() == 1


def test_the_same_list_again_adds_nothing_unless_it_is_meant(owner_client, unit):
    taken(owner_client, unit, TWO)
    page = words(read(owner_client, unit, TWO))
    assert "there already" in page

    taken(owner_client, unit, TWO)
    assert unit.parts.count() == 3
    taken(owner_client, unit, TWO, once_more="on")

    assert unit.parts.count() == 5


def test_the_parts_as_a_file_read_back_are_all_there_already(owner_client, wardrobe):  # noqa: F811
    answer = owner_client.get(at(wardrobe, "parts-file"))
    before = wardrobe.parts.count()
    file = SimpleUploadedFile("parts.csv", b"\xef\xbb\xbf" + answer.content, "text/csv")

    page = owner_client.post(at(wardrobe, "part-list"), {"file": file})

    assert answer["Content-Type"].startswith("text/csv")
    assert page.context["there"] == before
    assert page.context["new"] == 0


def test_one_bad_line_adds_nothing_and_is_named(owner_client, unit):
    text = TWO + "Wide,1,700,1300,ply12\nGold,1,10,10,gold\n"

    answer = read(owner_client, unit, text, take="yes", token=uuid.uuid4())

    assert answer.status_code == 422
    assert "Line 5, column 5: “gold” is no board" in words(answer)
    only = read(owner_client, unit, TWO + "Wide,1,700,1300,ply12\n", take="yes", token=uuid.uuid4())
    assert "Line 4, column 3: Wide" in words(only)
    assert TWO.strip().splitlines()[-1] in words(only)
    assert unit.parts.count() == 1


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"text": ""}, "Choose a file, or paste its text."),
        ({"text": "x" * 600_000}, "more than 500 kB"),
        ({"file": SimpleUploadedFile("x.csv", b"\xff\xfe\x00")}, "not UTF-8 text"),
        ({"text": HEAD + "Side,1,10,10,ply12\n" * 10_000}, "More than 2,000 lines"),
    ],
)
def test_what_is_no_list_is_said_so(sent, said, owner_client, unit):
    answer = owner_client.post(at(unit, "part-list"), sent)

    assert (answer.status_code, said in words(answer)) == (422, True)


def test_what_was_added_by_hand_stays_when_the_unit_is_made_anew(owner_client, wardrobe, now, owner):  # noqa: F811
    board = wardrobe.parts.first().material
    taken(owner_client, wardrobe, f"part,length mm,width mm,cut from\nCleat,300,40,{board.name}\n")

    change_making(
        unit=wardrobe,
        sizes={"width_mm": 520, "depth_mm": 550, "height_mm": 1700},
        choices={},
        version=None,
        now=now,
        by=owner,
    )

    assert wardrobe.parts.filter(name="Cleat", by_hand=True).exists()


def test_two_thousand_lines_cost_no_more_questions_than_two(owner_client, unit):
    counts = []
    for n in (2, 300):
        text = HEAD + "".join(f"P{n}-{k},1,{100 + k},50,ply12\n" for k in range(n))
        with CaptureQueriesContext(
            connection,
        ) as asked:
            read(owner_client, unit, text)
        counts.append(len(asked))

    assert counts[0] == counts[1] <= 12
