"""A hook: an address of the account's that is told of events, and what may be such an address."""

from __future__ import annotations

import ipaddress
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlsplit

from marshmallow import ValidationError

from api_schema.fields import choice, list_of, text, truth

EVENTS = ("plan.ready", "plan.failed", "quote.issued", "quote.accepted", "quote.declined", "document.ready",
          "batch.finished", "hook.test")  # fmt: skip
LONGEST_ADDRESS = 500

IpAddress = ipaddress.IPv4Address | ipaddress.IPv6Address
IpNetwork = ipaddress.IPv4Network | ipaddress.IPv6Network

# Ranges that `is_global` lets through though nobody outside should be reached there: IANA special-purpose registries.
_NEVER: tuple[IpNetwork, ...] = tuple(
    ipaddress.ip_network(network)
    for network in ("192.0.0.0/24", "192.88.99.0/24", "fec0::/10", "2001::/23", "3fff::/20", "5f00::/16")
)
_NAT64 = (ipaddress.IPv6Network("64:ff9b::/96"), ipaddress.IPv6Network("64:ff9b:1::/48"))


@dataclass(frozen=True, slots=True)
class NewHook:
    """A hook to be set up."""

    url: Annotated[
        str,
        text(
            "Where events are posted: https, port 443.",
            example="https://jobs.example.com/lapwise",
            shortest=9,
            longest=LONGEST_ADDRESS,
        ),
    ]
    events: Annotated[
        tuple[str, ...],
        list_of(choice("An event.", EVENTS), "The events it is told of; all where empty.", most=len(EVENTS)),
    ] = ()
    active: Annotated[bool, truth("False pauses it.", example=True)] = True
    note: Annotated[str, text("What it is for.", example="office job list")] = ""


def hook_url(url: str, allowed: Sequence[IpNetwork] = ()) -> str:
    """The address as it will be used, its host name in ASCII (IDNA).

    Only the shape is judged here; what the name resolves to is judged each time something is sent.

    Raises:
        ValidationError: in words, where events may not be posted there.
    """
    if any(ord(letter) <= ord(" ") for letter in url):
        raise ValidationError("has spaces or control characters in it; remove them.")
    try:
        parts = urlsplit(url)
        port = parts.port
        host = (parts.hostname or "").encode("idna").decode("ascii")
    except (ValueError, UnicodeError):
        raise ValidationError("is not an address we can read.") from None
    if parts.username is not None or parts.password is not None:
        raise ValidationError("may not carry a name or password.")
    if not host or parts.fragment:
        raise ValidationError(
            "must be a full address without a # part, like https://jobs.example.com/lapwise."
        )
    literal = _literal(host)
    if literal is not None and any(
        literal in network for network in allowed if network.version == literal.version
    ):
        return url
    if parts.scheme != "https" or port not in (None, 443):
        raise ValidationError("must begin with https:// and use port 443.")
    if literal is not None and not is_public(literal):
        raise ValidationError("is not an address on the public internet.")
    if literal is None and (
        "." not in host or host.endswith((".localhost", ".local", ".internal", ".home.arpa"))
    ):
        raise ValidationError("is not a name on the public internet.")
    return url


def is_public(address: IpAddress) -> bool:
    """May something be sent to this address? Unwraps IPv4 carried in IPv6 (mapped, 6to4, NAT64, Teredo) and judges that.

    `ipaddress.is_global` alone calls NAT64, 6to4 and site-local addresses and multicast global.
    """
    if isinstance(address, ipaddress.IPv6Address):
        inner = _carried(address)
        if inner is not None:
            return is_public(inner)
        if any(address in network for network in _NAT64) or address.sixtofour or address.teredo:
            return False
    if address.is_multicast or address.is_unspecified or address.is_reserved:
        return False
    if any(address in network for network in _NEVER if network.version == address.version):
        return False
    return address.is_global


def _carried(address: ipaddress.IPv6Address) -> ipaddress.IPv4Address | None:
    if address.ipv4_mapped is not None:
        return address.ipv4_mapped
    if address in _NAT64[0]:
        return ipaddress.IPv4Address(int(address) & 0xFFFF_FFFF)
    return address.sixtofour


def _literal(host: str) -> IpAddress | None:
    try:
        return ipaddress.ip_address(host)
    except ValueError:
        pass
    # 127.1, 0x7f000001 and 2130706433 are addresses to a resolver; a name never ends in a number (RFC 3696 section 2)
    if host.rsplit(".", maxsplit=1)[-1][:1].isdigit():
        raise ValidationError("must write an IP address in full, or better a name.")
    return None
