"""Photos as they come in: checked, turned upright, scaled down, stripped of metadata, with a thumbnail."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import BinaryIO

import pillow_heif
from django.conf import settings
from django.core.files.base import ContentFile
from PIL import Image, ImageFile, ImageOps, UnidentifiedImageError

from builds.actions.door import Gone, Refused, note_in_journal, write
from builds.models import Build, HoldPoint, Person, Photo, Task, Unit, User

LONG_EDGE_PX = 1600
THUMB_EDGE_PX = 400
READABLE = ("JPEG", "PNG", "WEBP", "HEIF", "MPO")

pillow_heif.register_heif_opener()


def keep_photo(
    *,
    file: BinaryIO,
    build: Build,
    now: datetime,
    task: Task | None = None,
    unit: Unit | None = None,
    hold_point: HoldPoint | None = None,
    person: Person | None = None,
    caption: str = "",
    behind: str = "",
    for_customer: bool = True,
    uuid=None,
) -> Photo:
    """Keeps a photo of `build`; refuses what is no picture or too large, in words.

    A photo with a `uuid` that is known already is the same photo sent again: the first one is returned.
    """
    picture, thumb = prepare(file)
    width, height = Image.open(io.BytesIO(picture)).size
    with write(plan=False):
        known = Photo.objects.filter(uuid=uuid).first() if uuid else None
        if known:
            return known
        photo = Photo(
            build=build,
            task=task,
            unit=unit or (task.unit if task else None),
            hold_point=hold_point,
            person=person,
            caption=caption.strip()[:160],
            behind=behind.strip()[:80],
            for_customer=for_customer,
            width_px=width,
            height_px=height,
            taken_at=now,
        )
        if uuid:
            photo.uuid = uuid
        photo.file.save("photo.jpg", ContentFile(picture), save=False)
        photo.thumb.save("small.jpg", ContentFile(thumb), save=False)
        photo.save()
    return photo


def place_photo(*, photo: Photo, behind: str, now: datetime, by: User) -> Photo:
    """Says where in the van a photo was taken; the photo itself stays as it is."""
    behind = " ".join(behind.replace("\x00", "").split())
    if not behind:
        raise Refused("Say where in the van it was taken.", field="behind")
    if len(behind) > 80:
        raise Refused("At most 80 letters, please.", field="behind")
    with write(plan=False):
        fresh = Photo.objects.select_for_update().filter(pk=photo.pk).first()
        if fresh is None:
            raise Gone("That photo is not there any more.")
        if fresh.behind != behind:
            was, fresh.behind = fresh.behind, behind
            fresh.save(update_fields=["behind"])
            words = f"A photo was taken at “{behind}”" + (f", not at “{was}”" if was else "")
            note_in_journal(words, now=now, by=by, build=fresh.build)
        return fresh


def prepare(file: BinaryIO) -> tuple[bytes, bytes]:
    """The picture and its thumbnail as JPEG bytes without metadata; Refused when it can't be read."""
    size = getattr(file, "size", None)
    if size is not None and size > settings.PHOTO_MAX_BYTES:
        most = settings.PHOTO_MAX_BYTES // (1024 * 1024)
        raise Refused(f"This photo is larger than {most} MB. Take it again at a smaller size.", field="photo")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            image = Image.open(file)
            if image.format not in READABLE:
                raise UnidentifiedImageError
            _refuse_if_huge(image)
            with _whole_files_only():
                upright = ImageOps.exif_transpose(image).convert("RGB")
    except Refused:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise Refused(
            "This photo has too many pixels. Take it again at a smaller size.", field="photo"
        ) from None
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError, TypeError):
        raise Refused(
            "This file can't be read as a photo. Send a JPEG, PNG, WebP or HEIC picture.", field="photo"
        ) from None
    return _jpeg(upright, LONG_EDGE_PX, 82), _jpeg(upright, THUMB_EDGE_PX, 75)


@contextmanager
def _whole_files_only() -> Iterator[None]:
    """Lets a cut-off file fail: the PDF renderer tells the imaging library to fill such files with grey."""
    before = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = before


def _refuse_if_huge(image: Image.Image) -> None:
    width, height = image.size
    if width * height > settings.PHOTO_MAX_PIXELS:
        raise Refused("This photo has too many pixels. Take it again at a smaller size.", field="photo")
    if width < 16 or height < 16:
        raise Refused("This picture is too small to show anything.", field="photo")


def _jpeg(image: Image.Image, long_edge: int, quality: int) -> bytes:
    small = image.copy()
    small.thumbnail((long_edge, long_edge), Image.Resampling.LANCZOS)
    clean = Image.new("RGB", small.size)
    clean.paste(small)
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=quality, optimize=True, progressive=True)
    return out.getvalue()
