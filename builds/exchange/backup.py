"""Backup and restore: the database, the photos and the papers in one dated folder.

A folder of backups holds `benchweek-20270301-080000` and the like, each with the database, `media/`
and `contents.json`, which names every file with its SHA-256. A folder without `contents.json` is not
a backup: it was not finished.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sqlite3
import subprocess
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

NAME = re.compile(r"benchweek-\d{8}-\d{6}")
CONTENTS = "contents.json"
SQLITE_FILE = "database.sqlite3"
POSTGRES_FILE = "database.pgdump"
KEEP = 14
"""How many backups stay unless told otherwise: two weeks of daily ones."""


class BackupFailed(Exception):
    """A backup or restore that could not be done; the words say why and what is untouched."""


@dataclass(frozen=True)
class ShopFiles:
    """Where a shop's things lie: Django's settings of its database, and its folder of photos and papers."""

    database: Mapping[str, Any]
    media: Path

    @property
    def is_sqlite(self) -> bool:
        return self.database["ENGINE"].endswith("sqlite3")


def back_up(files: ShopFiles, *, to: Path, now: datetime, keep: int = KEEP) -> Path:
    """Makes one more backup under `to` and removes all but the newest `keep`.

    It may run while the shop works. The database is read first: a photo's file is written before its
    row, so every photo that the copy knows is on the disk when the files are copied. Gives the new
    folder. Raises BackupFailed; what was there before is untouched then.
    """
    if keep < 1:
        raise BackupFailed("Keep at least one backup.")
    folder = to / f"benchweek-{now.astimezone(UTC):%Y%m%d-%H%M%S}"
    partial = to / f".{folder.name}.unfinished"
    if folder.exists():
        raise BackupFailed(f"{folder} is there already.")
    shutil.rmtree(partial, ignore_errors=True)
    try:
        to.mkdir(parents=True, exist_ok=True)
        partial.mkdir(mode=0o700)
        _copy_database(files, partial)
        if files.media.is_dir():
            shutil.copytree(files.media, partial / "media")
        _write_contents(partial, now)
        partial.rename(folder)
    except OSError as error:
        shutil.rmtree(partial, ignore_errors=True)
        raise BackupFailed(f"The backup was not made: {error}") from error
    except BackupFailed:
        shutil.rmtree(partial, ignore_errors=True)
        raise
    for old in backups_in(to)[keep:]:
        shutil.rmtree(old)
    return folder


def backups_in(folder: Path) -> list[Path]:
    """The finished backups of a folder, newest first."""
    found = (p for p in folder.iterdir() if NAME.fullmatch(p.name) and (p / CONTENTS).is_file())
    return sorted(found, key=lambda p: p.name, reverse=True)


def restore(files: ShopFiles, *, source: Path, now: datetime, replace: bool = False) -> list[Path]:
    """Puts a backup where `files` says; nobody may be using the shop meanwhile.

    Every file is checked against its SHA-256 first. Where something is already, it refuses unless
    `replace`; then the SQLite file and the photos that were there are set aside, not deleted, and
    the list of them comes back. PostgreSQL is restored in one transaction. Raises BackupFailed.
    """
    _check(source)
    kept_as = SQLITE_FILE if files.is_sqlite else POSTGRES_FILE
    if not (source / kept_as).is_file():
        raise BackupFailed(f"{source} was made from another kind of database: it has no {kept_as}.")
    places = [files.media, *([Path(files.database["NAME"])] if files.is_sqlite else [])]
    taken = [str(p) for p in places if _holds_something(p)]
    if taken and not replace:
        raise BackupFailed(f"There is something at {' and '.join(taken)} already. Nothing was changed.")
    stamp = f"{now.astimezone(UTC):%Y%m%d-%H%M%S}"
    if not files.is_sqlite:
        _postgres(files.database, "pg_restore", _RESTORE, source / POSTGRES_FILE, replace)
    aside = [kept for place in places for kept in _set_aside(place, stamp)]
    if files.is_sqlite:
        target = Path(files.database["NAME"])
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(source / SQLITE_FILE, target)
    if (source / "media").is_dir():
        shutil.copytree(source / "media", files.media, dirs_exist_ok=True)
    return aside


def _copy_database(files: ShopFiles, folder: Path) -> None:
    if not files.is_sqlite:
        _postgres(files.database, "pg_dump", ["--format=custom", "--no-owner"], folder / POSTGRES_FILE)
        return
    path = Path(files.database["NAME"])
    if not path.is_file():
        raise BackupFailed(f"There is no database at {path}.")
    with (
        closing(sqlite3.connect(path, timeout=30)) as here,
        closing(sqlite3.connect(folder / SQLITE_FILE)) as there,
    ):
        # All pages in one go: in steps, every write in between would start the copy anew.
        here.backup(there, pages=-1)
        there.execute("PRAGMA journal_mode=DELETE")
        # The tables' own checks call functions that only Django's connections know.
        there.execute("PRAGMA ignore_check_constraints=ON")
        found = there.execute("PRAGMA integrity_check").fetchone()[0]
    if found != "ok":
        raise BackupFailed(f"The copy of the database is damaged: {found}")


_RESTORE = ["--no-owner", "--single-transaction", "--exit-on-error"]


def _postgres(database: Mapping[str, Any], tool: str, options: list[str], file: Path, clean=False) -> None:
    """Runs pg_dump or pg_restore on `database`; the password goes by environment, never by argument."""
    places = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    names = {var: str(database[key]) for var, key in places.items() if database.get(key)}
    if tool == "pg_dump":
        line = [tool, *options, "--file", str(file), database["NAME"]]
    else:
        line = [
            tool,
            *(["--clean", "--if-exists"] if clean else []),
            *options,
            "--dbname",
            database["NAME"],
            str(file),
        ]
    try:
        run = subprocess.run(line, env={**os.environ, **names}, capture_output=True, text=True)
    except FileNotFoundError as error:
        raise BackupFailed(f"{tool} is not installed: apt-get install postgresql-client") from error
    if run.returncode:
        raise BackupFailed(f"{tool} failed: {run.stderr.strip()[-400:]}")


def _write_contents(folder: Path, now: datetime) -> None:
    sums = {str(p.relative_to(folder)): _sha256(p) for p in sorted(folder.rglob("*")) if p.is_file()}
    words = json.dumps({"made_at": now.astimezone(UTC).isoformat(), "sha256": sums}, indent=1)
    (folder / CONTENTS).write_text(words, encoding="utf-8")


def _check(source: Path) -> None:
    try:
        listed: dict[str, str] = json.loads((source / CONTENTS).read_text(encoding="utf-8"))["sha256"]
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise BackupFailed(f"{source} is not a finished backup: it has no readable {CONTENTS}.") from error
    for name, expected in listed.items():
        path = source / name
        if not path.is_file():
            raise BackupFailed(f"{name} is missing in {source}. Nothing was changed.")
        if _sha256(path) != expected:
            raise BackupFailed(f"{name} in {source} is not as it was written. Nothing was changed.")


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _holds_something(place: Path) -> bool:
    return any(place.iterdir()) if place.is_dir() else place.exists()


def _set_aside(place: Path, stamp: str) -> list[Path]:
    """Moves what lies at `place` beside it; SQLite's two companions go with its file."""
    moved = []
    for path in (place, Path(f"{place}-wal"), Path(f"{place}-shm")):
        if path.exists() and (path == place or place.is_file() or moved):
            moved.append(path.rename(path.with_name(f"{path.name}.before-{stamp}")))
    return moved
