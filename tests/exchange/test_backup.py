"""A backup brings the whole shop back in a new place, photos included."""

from __future__ import annotations

import io
import json
import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import psycopg
import pytest
from django.conf import settings as django_settings
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command
from django.db import connection
from PIL import Image

from builds.actions.photos import keep_photo
from builds.exchange.backup import BackupFailed, ShopFiles, back_up, backups_in, restore
from builds.models import FiledPaper, Photo, Task

ON_SQLITE = django_settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")
pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]


@pytest.fixture
def media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    return settings.MEDIA_ROOT


@pytest.fixture
def files(media, small_build, now):
    """A small shop with a build, two photos with their thumbnails, and a filed paper."""
    for colour in ("teal", "maroon"):
        picture = io.BytesIO()
        Image.new("RGB", (300, 200), colour).save(picture, "JPEG")
        picture.seek(0)
        keep_photo(file=picture, build=small_build, now=now)
    paper = FiledPaper(build=small_build, title="Heater's paper", at=now)
    paper.file.save("heater.pdf", ContentFile(b"%PDF-1.7 of a heater"))
    return ShopFiles(connection.settings_dict, media)


@pytest.fixture
def place(tmp_path):
    """Another machine: nothing lies there yet, but on PostgreSQL the database has to be made first."""
    folder, here = tmp_path / "new machine", connection.settings_dict
    if ON_SQLITE:
        yield ShopFiles({**here, "NAME": str(folder / "shop.sqlite3")}, folder / "media")
        return
    name = f"{here['NAME']}_elsewhere"
    with connection.cursor() as cursor:
        cursor.execute(f'DROP DATABASE IF EXISTS "{name}"')
        cursor.execute(f'CREATE DATABASE "{name}"')
    yield ShopFiles({**here, "NAME": name}, folder / "media")
    with connection.cursor() as cursor:
        cursor.execute(f'DROP DATABASE "{name}"')


TABLES = (
    "SELECT name FROM sqlite_master WHERE type = 'table'"
    if ON_SQLITE
    else "SELECT tablename FROM pg_tables WHERE schemaname = 'public'"
)


def opened(database):
    """A connection of its own, that knows nothing of Django."""
    if ON_SQLITE:
        return closing(sqlite3.connect(database["NAME"]))
    known = {"host": database["HOST"], "port": database["PORT"], "user": database["USER"]}
    return psycopg.connect(dbname=database["NAME"], password=database["PASSWORD"], **known)


def rows_of(database) -> dict[str, list]:
    """Every row of every table; none where there is no database yet."""
    if ON_SQLITE and not Path(database["NAME"]).exists():
        return {}
    with opened(database) as there:
        names = sorted(name for (name,) in there.execute(TABLES).fetchall())
        return {n: sorted(there.execute(f'SELECT * FROM "{n}"').fetchall(), key=repr) for n in names}


def contents_of(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_a_restored_shop_has_every_row_and_every_file(files, media, place, tmp_path, now):
    backup = back_up(files, to=tmp_path / "backups", now=now)
    restore(place, source=backup, now=now)

    rows = rows_of(place.database)
    assert rows == rows_of(connection.settings_dict)
    assert len(rows["builds_task"]) == 3
    assert len(rows["builds_photo"]) == 2
    assert contents_of(place.media) == contents_of(media)
    assert len(contents_of(place.media)) == 5


def test_what_is_written_after_the_backup_is_not_in_it(files, small_build, place, tmp_path, now):
    backup = back_up(files, to=tmp_path / "backups", now=now)
    Task.objects.update(name="Changed since")
    restore(place, source=backup, now=now)

    assert "Changed since" not in repr(rows_of(place.database)["builds_task"])


def test_the_commands_bring_back_what_was_lost(files, media, tmp_path, capsys):
    before = contents_of(media)
    call_command("backup", to=tmp_path / "backups")
    (backup,) = backups_in(tmp_path / "backups")
    kept = Photo.objects.count()
    Photo.objects.all().delete()
    next(media.rglob("*.jpg")).unlink()

    call_command("restore", source=backup, replace=True)

    assert Photo.objects.count() == kept == 2
    assert contents_of(media) == before
    assert "is kept as" in capsys.readouterr().out


def test_only_the_newest_backups_stay_and_nothing_else_is_touched(files, tmp_path, now):
    backups = tmp_path / "backups"
    (backups / "holiday pictures").mkdir(parents=True)
    made = [back_up(files, to=backups, now=now + timedelta(days=n), keep=2) for n in range(4)]

    assert backups_in(backups) == [made[3], made[2]]
    assert (backups / "holiday pictures").is_dir()


def test_a_backup_is_for_its_owner_only(files, tmp_path, now):
    backup = back_up(files, to=tmp_path / "backups", now=now)

    assert backup.stat().st_mode & 0o077 == 0


def test_a_restore_over_a_shop_is_refused_and_changes_nothing(files, tmp_path, now):
    backup = back_up(files, to=tmp_path / "backups", now=now)
    Task.objects.update(name="Changed since")

    with pytest.raises(BackupFailed, match="already"):
        restore(files, source=backup, now=now)

    assert set(Task.objects.values_list("name", flat=True)) == {"Changed since"}


@pytest.mark.parametrize("harm", ["changed", "missing", "unfinished"])
def test_a_damaged_backup_is_refused_before_anything_changes(files, place, tmp_path, now, harm):
    backup = back_up(files, to=tmp_path / "backups", now=now)
    photo = next((backup / "media").rglob("*.jpg"))
    if harm == "changed":
        photo.write_bytes(photo.read_bytes() + b"x")
    elif harm == "missing":
        photo.unlink()
    else:
        (backup / "contents.json").write_text(json.dumps([]))

    with pytest.raises(BackupFailed):
        restore(place, source=backup, now=now)

    assert rows_of(place.database) == {}
    assert not place.media.exists()


def test_a_backup_that_fails_leaves_nothing_half_done(files, tmp_path, now):
    nowhere = str(tmp_path / "nowhere.sqlite3") if ON_SQLITE else "nowhere"
    lost = ShopFiles({**files.database, "NAME": nowhere}, files.media)

    with pytest.raises(BackupFailed, match=r"no database|does not exist"):
        back_up(lost, to=tmp_path / "backups", now=now)

    assert list((tmp_path / "backups").iterdir()) == []


def test_the_command_says_in_one_line_what_went_wrong(files, tmp_path):
    with pytest.raises(CommandError, match="not a finished backup"):
        call_command("restore", source=tmp_path)
