"""What this machine is called on the network."""

from __future__ import annotations

from ipaddress import ip_address

import pytest

from workshop.lan import names
from workshop.lan.authority import LanError


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ("shed.local", "shed.local"),
        (" Shed.Local ", "shed.local"),
        ("vans.example", "vans.example"),
        ("", "till.local"),
    ],
)
def test_a_name_is_as_given_or_the_machine_s_own(given, name, monkeypatch):
    monkeypatch.setattr(names.socket, "gethostname", lambda: "till.lan")

    assert names.own_name(given) == name


@pytest.mark.parametrize(
    "given", ["two words", "a_b", "-x", "x-", "..", "192.168.1.4", "é", "a" * 64, "x;ls", "*.local"]
)
def test_what_is_no_name_is_refused_in_words(given):
    with pytest.raises(LanError, match="is no name on a network"):
        names.own_name(given)


def test_addresses_are_those_that_a_tablet_can_reach():
    for found in names.addresses():
        assert not ip_address(found).is_loopback


def test_a_machine_without_network_has_no_address(monkeypatch):
    monkeypatch.setattr(names, "_way_out", list)
    monkeypatch.setattr(names, "_listed", lambda: ["127.0.0.1", "169.254.3.3", "fe80::1", "junk"])

    assert names.addresses() == []
