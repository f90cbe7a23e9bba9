"""Which networks a phone is let in from, by what a router gives out and what it does not."""

from ipaddress import IPv4Address

import pytest

from fitcheck.core.errors import UsageError
from fitcheck.web.phone.home_network import Interface, _interfaces, at_home, is_private

LOOP = Interface("lo", IPv4Address("127.0.0.1"), False, False)


def to(address: str, leads_out: bool = True, shared: bool = True) -> Interface:
    return Interface("x", IPv4Address(address), leads_out, shared)


@pytest.mark.parametrize("address", ["192.168.0.1", "192.168.178.23", "10.0.0.7", "10.255.255.255", "172.16.0.1", "172.31.255.9"])
def test_addresses_that_routers_give_out(address):
    assert is_private(address)
    assert at_home([LOOP, to(address)]) == (address,)


@pytest.mark.parametrize(
    "address",
    [
        "8.8.8.8",
        "172.15.255.255",
        "172.32.0.1",
        "192.167.0.1",
        "192.169.0.1",
        "11.0.0.1",
        "100.64.3.4",  # a carrier's own, shared by its customers
        "169.254.7.7",  # nobody gave it one
        "127.0.0.1",
    ],
)
def test_public_and_other_addresses(address):
    assert not is_private(address)
    with pytest.raises(UsageError, match="public network"):
        at_home([LOOP, to(address)])


@pytest.mark.parametrize("not_one", ["", "::1", "fe80::1", "192.168.1", "example"])
def test_what_is_no_such_address(not_one):
    assert not is_private(not_one)


def test_no_network_at_all():
    with pytest.raises(UsageError, match="in no home network"):
        at_home([LOOP])


def test_a_private_network_of_programs_does_not_hide_a_public_one():
    """A computer in a data centre or on a campus, with containers or a virtual machine on it."""
    with pytest.raises(UsageError, match="public network"):
        at_home([LOOP, to("141.20.1.5"), to("172.17.0.1", leads_out=False)])


def test_a_tunnel_is_no_way_for_a_phone():
    assert at_home([to("10.8.0.2", shared=False), to("192.168.1.5"), to("172.17.0.1", leads_out=False)]) == ("192.168.1.5",)


def test_a_network_without_internet():
    assert at_home([LOOP, to("192.168.4.1", leads_out=False)]) == ("192.168.4.1",)


def test_cable_and_wifi_at_once():
    assert at_home([to("192.168.1.5"), to("192.168.1.6"), to("192.168.1.5")]) == ("192.168.1.5", "192.168.1.6")


def test_this_machine_is_asked():
    """Its own loop is among what the system tells, and no way for a phone."""
    loop = [one for one in _interfaces() if one.address == LOOP.address]
    assert [(one.leads_out, one.shared) for one in loop] == [(False, False)]
