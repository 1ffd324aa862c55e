"""Benchweek as `serve_lan` starts it: an authority of its own, names and the plain page."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from workshop.lan.authority import CERTIFICATE, Authority, authority_in


def served_on_the_lan(settings, folder: Path) -> Authority:
    made = authority_in(folder / "lan", ["shed.local", "192.168.4.20"], datetime.now(UTC))
    settings.LAN_AUTHORITY = str(folder / "lan" / CERTIFICATE)
    settings.LAN_ADDRESSES = ["https://shed.local:8443"]
    settings.LAN_TRUST = "http://192.168.4.20:8080/"
    return made
