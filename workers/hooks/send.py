"""One attempt to post a message: the name is resolved once, every address judged, and the judged one connected to.

So a name that changes between judging and connecting gains nothing. Redirects are not followed, proxies and netrc of
the environment are not read, and of the answer only its status and a little of its body are looked at.
"""

from __future__ import annotations

import http.client
import ipaddress
import socket
import ssl
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlsplit

from marshmallow import ValidationError

from api_schema.hook import IpAddress, IpNetwork, hook_url, is_public

CONNECT_TIMEOUT_S = 3.0
TOTAL_TIMEOUT_S = 15.0
MOST_ANSWER_BYTES = 16 * 1024


@dataclass(frozen=True, slots=True)
class Attempt:
    """What came of one attempt. `status` is None where nothing answered; `failure` says why in words."""

    status: int | None
    failure: str
    answer: str = ""
    retry_after_s: int | None = None

    @property
    def delivered(self) -> bool:
        """Only 2xx is success; a redirect is not followed and is a failure."""
        return self.status is not None and 200 <= self.status < 300


class AddressRefused(Exception):  # noqa: N818 - read aloud where raised
    """The address may not be sent to."""


def post(url: str, body: bytes, headers: Mapping[str, str], allowed: Sequence[IpNetwork] = ()) -> Attempt:
    """Post `body` once. Never raises for what the other side does; `allowed` networks may be non-public (tests, sites)."""
    try:
        connection = _connection(url, allowed)
    except AddressRefused as refused:
        return Attempt(None, str(refused))
    parts = urlsplit(url)
    target = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    ends = time.monotonic() + TOTAL_TIMEOUT_S
    try:
        connection.request(
            "POST", target, body,
            {**headers, "Content-Type": "application/cloudevents+json", "User-Agent": "Lapwise-hook", "Connection": "close"},
        )  # fmt: skip
        if connection.sock is not None:
            connection.sock.settimeout(max(0.1, ends - time.monotonic()))
        response = connection.getresponse()
        answer = response.read(MOST_ANSWER_BYTES).decode("utf-8", errors="replace")
        return Attempt(response.status, _failure(response.status), answer, _retry_after(response))
    except (OSError, http.client.HTTPException, ssl.SSLError) as error:
        return Attempt(None, f"no answer: {type(error).__name__}")
    finally:
        connection.close()


def _failure(status: int) -> str:
    if 200 <= status < 300:
        return ""
    if 300 <= status < 400:
        return f"answered {status}: a redirect, which is not followed; set the final address."
    return f"answered {status}"


def _retry_after(response: http.client.HTTPResponse) -> int | None:
    written = response.getheader("Retry-After", "")
    return min(int(written), 86_400) if written.isdigit() and len(written) < 7 else None


def _connection(url: str, allowed: Sequence[IpNetwork]) -> http.client.HTTPConnection:
    try:
        hook_url(url, allowed)
    except ValidationError as error:
        raise AddressRefused("the address " + " ".join(str(message) for message in error.messages)) from None
    parts = urlsplit(url)
    host = (parts.hostname or "").encode("idna").decode("ascii")
    port = parts.port or (443 if parts.scheme == "https" else 80)
    address = _judged(host, port, allowed)
    if parts.scheme == "https":
        return _PinnedTls(host, port, address)
    return _Pinned(host, port, address)


def _judged(host: str, port: int, allowed: Sequence[IpNetwork]) -> IpAddress:
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except OSError:
        raise AddressRefused("the name cannot be found") from None
    addresses = [ipaddress.ip_address(str(entry[4][0]).split("%")[0]) for entry in found]
    for address in addresses:
        permitted = any(address in network for network in allowed if network.version == address.version)
        if not permitted and not is_public(address):
            raise AddressRefused("the name leads to an address that is not on the public internet")
    return addresses[0]


class _Pinned(http.client.HTTPConnection):
    def __init__(self, host: str, port: int, address: IpAddress) -> None:
        super().__init__(host, port, timeout=CONNECT_TIMEOUT_S)
        self._address = address

    def connect(self) -> None:
        self.sock = socket.create_connection((str(self._address), self.port), CONNECT_TIMEOUT_S)


class _PinnedTls(_Pinned):
    default_port = 443

    def connect(self) -> None:
        super().connect()
        self.sock = ssl.create_default_context().wrap_socket(self.sock, server_hostname=self.host)
