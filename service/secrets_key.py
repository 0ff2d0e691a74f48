"""The key that secrets are sealed with: where it comes from, and what is said where it does not fit."""

from __future__ import annotations

import base64
import os
import secrets
from contextlib import suppress
from pathlib import Path

import structlog

from service.records.sealing import SealedAnew, Sealer, seal_all
from service.records.store import Store
from service.settings import Settings

KEY_FILE = "secrets.key"
log = structlog.get_logger(__name__)


def new_key() -> str:
    """A fresh Fernet key: 32 random bytes in URL-safe base64."""
    return base64.urlsafe_b64encode(secrets.token_bytes(32)).decode("ascii")


def key_file_in(data_dir: Path) -> Path:
    """The data directory's key file, for its owner alone; made where there is none, once, however many ask."""
    file = data_dir / KEY_FILE
    if file.exists():
        return file
    fresh = file.with_name(f"{file.name}.{os.getpid()}.{secrets.token_hex(4)}")
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(descriptor, "w") as out:
            out.write(new_key() + "\n")
            out.flush()
            os.fsync(out.fileno())
        with suppress(FileExistsError):
            os.link(fresh, file)  # whole or not at all, and never over another's
    finally:
        fresh.unlink()
    return file


def sealer_of(settings: Settings) -> Sealer:
    """Seals with the keys of the settings."""
    return Sealer(settings.secrets_keys)


def seal_everything(store: Store, settings: Settings) -> SealedAnew:
    """Seals what is not yet sealed with the newest key, and says in the log what none of the keys opens."""
    sealer = sealer_of(settings)
    with store.writing() as session:
        done = seal_all(session, sealer)
    if not sealer.has_key:
        log.warning("secrets of hooks are kept unsealed", do="set LAPWISE_SECRETS_KEY")
    if done.sealed:
        log.info("secrets sealed", count=done.sealed)
    if done.lost:
        log.error("secrets of hooks cannot be opened: the key they were sealed with is missing",
                  hooks=list(done.lost), do=LOST)  # fmt: skip
    return done


LOST = (
    "Put the key they were sealed with back (LAPWISE_SECRETS_KEY, or the data directory's secrets.key); where it is "
    "lost for good, change the secret of each hook (POST /v1/hooks/{hook}/rotate) and give it to the receiver."
)
