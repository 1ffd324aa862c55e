"""Photos come in dirty and are kept clean."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from builds.actions.door import Refused
from builds.actions.photos import LONG_EDGE_PX, THUMB_EDGE_PX, keep_photo, prepare
from builds.models import Photo
from tests import cast


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def picture(width=3000, height=2000, *, kind="JPEG", **save) -> io.BytesIO:
    out = io.BytesIO()
    Image.new("RGB", (width, height), "teal").save(out, kind, **save)
    out.seek(0)
    return out


def test_a_large_photo_is_scaled_down_with_a_thumbnail(small_build, now):
    photo = keep_photo(file=picture(), build=small_build, now=now)

    assert max(photo.width_px, photo.height_px) == LONG_EDGE_PX
    assert max(Image.open(photo.thumb).size) == THUMB_EDGE_PX


def test_a_photo_taken_sideways_is_turned_upright_and_loses_its_position():
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"

    kept, _ = prepare(picture(800, 400, exif=exif))

    image = Image.open(io.BytesIO(kept))
    assert image.size == (400, 800)
    assert dict(image.getexif()) == {}


def test_nothing_but_the_picture_is_kept_of_a_photo_neither_large_nor_small():
    exif = Image.Exif()
    exif[0x010F], exif[0x9003] = "Maker of the camera", "2027:03:01 08:00:00"
    position = exif.get_ifd(0x8825)
    position[1], position[2], position[3], position[4] = "N", (52.0, 11.0, 7.0), "W", (1.0, 22.0, 3.0)
    more = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>exif:GPSLatitude 52,11.1N</x:xmpmeta>"
    sent = picture(800, 400, exif=exif, xmp=more, comment=b"taken at home")
    assert b"GPSLatitude" in sent.getvalue()
    sent.seek(0)

    for made in prepare(sent):
        image = Image.open(io.BytesIO(made))
        assert dict(image.getexif()) == {} == dict(image.getexif().get_ifd(0x8825))
        assert not {"exif", "xmp", "comment", "icc_profile"} & set(image.info)
        for word in (b"GPS", b"Exif", b"adobe:ns", b"Maker of", b"taken at home"):
            assert word not in made


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "HEIF"])
def test_other_kinds_of_picture_are_kept_as_jpeg(kind):
    kept, _ = prepare(picture(300, 200, kind=kind))

    assert Image.open(io.BytesIO(kept)).format == "JPEG"


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"not a picture",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a" + b"\x00" * 40,
        b"\xff\xd8\xff\xe0broken",
    ],
)
def test_what_is_no_picture_is_refused_in_words(content):
    with pytest.raises(Refused, match="JPEG"):
        prepare(io.BytesIO(content))


def test_a_picture_of_too_many_pixels_is_refused(settings):
    settings.PHOTO_MAX_PIXELS = 1000

    with pytest.raises(Refused, match="too many pixels"):
        prepare(picture(100, 100))


def test_a_cut_off_picture_is_refused():
    whole = picture(900, 900).getvalue()

    with pytest.raises(Refused):
        prepare(io.BytesIO(whole[: len(whole) // 3]))


def test_the_same_photo_sent_again_is_kept_once(small_build, now):
    uuid = "0b0b0b0b-0000-4000-8000-000000000001"

    first = keep_photo(file=picture(300, 300), build=small_build, now=now, uuid=uuid)
    again = keep_photo(file=picture(300, 300), build=small_build, now=now, uuid=uuid)

    assert first == again
    assert Photo.objects.count() == 1


def test_a_photo_of_a_task_belongs_to_its_unit(small_build, now):
    task = cast.make_task(small_build, "extra")

    photo = keep_photo(file=picture(300, 300), build=small_build, task=task, now=now)

    assert (photo.task, photo.unit) == (task, None)
