"""Who has signed in: a signed cookie that names the key, and the token every form carries.

The key itself is never in the cookie. It is looked at again with every request, so a revoked key ends its sessions
at once. The signing secret is the setting `session_secret`, or a file in the data directory made on first use.
"""

from __future__ import annotations

import hashlib
import os
import secrets
from contextlib import suppress
from dataclasses import asdict, dataclass
from hmac import compare_digest
from pathlib import Path

from flask import Request, Response
from itsdangerous import BadSignature, URLSafeTimedSerializer

from service.settings import Settings

_COOKIE = "lapwise_session"
_FORM_COOKIE = "lapwise_form"
_LASTS_S = 14 * 24 * 3600  # a phone that is used on site for a job's two weeks
_FORM_LASTS_S = 3600
_FEWEST_CHARACTERS = 32


class NoSecret(RuntimeError):  # noqa: N818 - reads as what it says
    """Nothing to sign with: neither a setting nor a data directory."""


@dataclass(frozen=True, slots=True)
class SignedIn:
    """What the cookie says."""

    account_id: str
    key_id: str
    csrf: str
    acts_for: str = ""
    """A trade customer of the account's, where a merchant works for one."""


class Sessions:
    """Makes and reads the cookies."""

    def __init__(self, settings: Settings):
        """Reads no file yet."""
        self._settings = settings
        self._secure = settings.public_url.startswith("https:")
        self._secret: str | None = None

    def begin(self, response: Response, account_id: str, key_id: str, acts_for: str = "") -> None:
        """Puts a new session on the answer."""
        signed_in = SignedIn(account_id, key_id, secrets.token_urlsafe(24), acts_for)
        self._set(response, _COOKIE, self._signer("session").dumps(asdict(signed_in)), _LASTS_S)

    def end(self, response: Response) -> None:
        """Takes the session away."""
        response.delete_cookie(_COOKIE, path="/", secure=self._secure, httponly=True, samesite="Lax")

    def of(self, request: Request) -> SignedIn | None:
        """The session of a request; None without one, with a forged one, or with one that is over."""
        cookie = request.cookies.get(_COOKIE)
        if not cookie or not (self._settings.session_secret or self._settings.data_dir):
            return None
        try:
            return SignedIn(**self._signer("session").loads(cookie, max_age=_LASTS_S))
        except (BadSignature, TypeError):
            return None

    def form_token(self, response: Response, token: str) -> None:
        """Remembers, for somebody not signed in yet, which token the form carries."""
        self._set(response, _FORM_COOKIE, self._signer("form").dumps(token), _FORM_LASTS_S)

    def form_is_ours(self, request: Request) -> bool:
        """Was the sign-in form one we gave to this browser?"""
        try:
            token = self._signer("form").loads(request.cookies.get(_FORM_COOKIE, ""), max_age=_FORM_LASTS_S)
        except BadSignature:
            return False
        return isinstance(token, str) and same(token, request.form.get("csrf", ""))

    def _set(self, response: Response, name: str, value: str, lasts_s: int) -> None:
        response.set_cookie(
            name, value, max_age=lasts_s, path="/", secure=self._secure, httponly=True, samesite="Lax"
        )

    def secret(self) -> str:
        """What is signed with. Raises NoSecret."""
        if self._secret is None:
            self._secret = self._settings.session_secret or self._kept_secret()
        return self._secret

    def _signer(self, purpose: str) -> URLSafeTimedSerializer:
        return URLSafeTimedSerializer(
            self.secret(), salt=f"lapwise {purpose}", signer_kwargs={"digest_method": hashlib.sha256}
        )

    def _kept_secret(self) -> str:
        if self._settings.data_dir is None:
            raise NoSecret("Signing in on the pages needs LAPWISE_SESSION_SECRET, 32 characters or more.")
        return _secret_in(self._settings.data_dir / "session-secret")


def same(one: str, other: str) -> bool:
    """Are two tokens the same? Takes as long for every answer."""
    return compare_digest(one.encode(), other.encode())


def new_token() -> str:
    """A token for a form."""
    return secrets.token_urlsafe(24)


def _secret_in(file: Path) -> str:
    """The secret kept in the file; made where there is none, once, however many processes ask."""
    with suppress(FileExistsError):
        fresh = file.with_name(f"{file.name}.{os.getpid()}.{secrets.token_hex(4)}")
        descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            with os.fdopen(descriptor, "w") as out:
                out.write(secrets.token_urlsafe(48))
            os.link(fresh, file)  # whole or not at all, and never over another's
        finally:
            fresh.unlink()
    secret = file.read_text(encoding="ascii").strip()
    if len(secret) < _FEWEST_CHARACTERS:
        raise NoSecret(
            f"{file} holds no secret of {_FEWEST_CHARACTERS} characters; remove it to have one made."
        )
    return secret
