"""The service units hold this folder's own paths and nothing that would break their lines."""

from __future__ import annotations

import configparser
from io import StringIO

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command


def units_in(folder) -> dict[str, configparser.ConfigParser]:
    found = {}
    for path in folder.iterdir():
        found[path.name] = configparser.ConfigParser(interpolation=None)
        found[path.name].optionxform = str
        found[path.name].read_string(path.read_text())
    return found


def test_the_units_start_https_after_a_power_cut_and_back_up_every_night(tmp_path):
    call_command(
        "service_units",
        user="bench",
        name="shed.local",
        backups="/srv/kept",
        out=str(tmp_path),
        stdout=StringIO(),
    )

    units = units_in(tmp_path)
    service = units["benchweek.service"]["Service"]
    assert service["User"] == "bench"
    assert service["ExecStart"].endswith(f"{settings.BASE_DIR}/manage.py serve_lan --name shed.local")
    assert (service["Restart"], units["benchweek.service"]["Install"]["WantedBy"]) == (
        "always",
        "multi-user.target",
    )
    backup = units["benchweek-backup.service"]["Service"]
    assert backup["ExecStart"].endswith("manage.py backup --to /srv/kept --keep 14")
    assert units["benchweek-backup.timer"]["Timer"]["Persistent"] == "true"


def test_behind_a_proxy_it_serves_this_machine_only(tmp_path):
    call_command("service_units", plain=True, out=str(tmp_path), stdout=StringIO())

    assert (
        "serve --host 127.0.0.1 --port 8000"
        in units_in(tmp_path)["benchweek.service"]["Service"]["ExecStart"]
    )


@pytest.mark.parametrize(
    "odd", [{"user": "a b"}, {"name": "x\nExecStartPre=/bin/x"}, {"backups": "/my backups"}]
)
def test_what_would_break_a_line_is_refused(odd, tmp_path):
    with pytest.raises(CommandError, match="can't stand in a service unit"):
        call_command("service_units", **odd, out=str(tmp_path))

    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_told(tmp_path):
    with pytest.raises(CommandError, match="can't be written"):
        call_command("service_units", out=str(tmp_path / "none"), stdout=StringIO())
