"""The one place that reads the environment.

Every value has a default that suits one machine. Addresses may also come from a file: ``NAME_FILE`` names a file
whose contents are the value, so that passwords need not stand in the environment.
"""

from __future__ import annotations

import base64
import ipaddress
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from environs import Env, EnvError

MIB = 1024 * 1024
_LARGEST = 10**9


class SettingsError(ValueError):
    """The environment asks for something that cannot be; the text says what to change."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What a process of ours may be told. Addresses are kept out of `repr`, since they may hold passwords."""

    database_url: str = field(default="sqlite:///lapwise-data/lapwise.db", repr=False)
    """SQLAlchemy URL: ``sqlite:///FILE`` or ``postgresql://…``."""
    broker_url: str = field(default="redis://127.0.0.1:6379/0", repr=False)
    """Redis-protocol broker: ``redis://…``, ``rediss://…`` or ``redis+socket://FILE``."""
    limits_url: str = field(default="memory://", repr=False)
    """Where request rates are counted (`limits` storage URL); memory counts for each web process alone."""
    session_secret: str = field(default="", repr=False)
    """Signs the cookies of people who sign in on the pages; where not given, a file in `data_dir` holds one."""
    secrets_key: str = field(default="", repr=False)
    """Seals secrets that must be read back (those hooks are signed with): a Fernet key, or several with commas between,
    the one that seals first and older ones after it. `lapwise serve` makes one in its directory."""
    data_dir: Path | None = None
    """Where `lapwise serve` keeps everything; None in a deployment on servers of its own."""
    public_url: str = ""
    """Address clients reach us under, for absolute links; empty gives relative links."""

    retry_delay_s: float = 1.0
    """Wait before the second attempt; doubled for each further one."""
    lease_s: float = 15.0
    """A worker not heard from for this long has lost its run."""
    heartbeat_s: float = 3.0
    """How often a worker says it is alive, and hears that its run was cancelled; well under a third of the lease."""
    sweep_s: float = 2.0
    """How often lost runs are looked for."""
    relay_every_s: float = 0.05
    """How often the scheduler looks for runs to announce."""
    dispatch_ahead: int = field(default_factory=lambda: 2 * (os.cpu_count() or 1))
    """Runs of a kind announced and not yet begun; more only where more are running. Short queues keep turns fair."""
    redispatch_s: float = 15.0
    """An announced run nobody began is announced again after this."""
    relay_lag_limit_s: float = 10.0
    """`/readyz` says that the relay is behind where it announced nothing for this long although runs wait."""
    queue_age_limit_s: float = 60.0
    """`/readyz` says that the workers are behind where a run has waited this long."""
    plan_time_limit_s: int = 240
    """Seconds a plan may take before its process is ended."""
    render_time_limit_s: int = 120
    """Seconds a document may take before its process is ended."""
    worker_memory_kib: int = 400_000
    """A worker process that ever held this is replaced after its task."""
    run_memory_kib: int = 800_000
    """A run is broken off where its process holds more than this; above `worker_memory_kib`."""

    max_request_bytes: int = 5 * MIB
    """Longest request body taken."""
    requests_per_minute: int = 1200
    """Requests an account may send in a minute."""
    log_level: str = "INFO"
    """DEBUG, INFO, WARNING or ERROR."""
    keep_removed_days: int = 30
    """Removed jobs and fan tests are purged after this, with their plans, documents and files."""
    keep_issued_days: int = 3650
    """Removed jobs that a quote was issued or an order placed from are purged after this."""
    hooks_allowed: str = ""
    """Networks hooks may reach though they are not public, and without https: ``10.1.0.0/16,192.168.4.0/24``."""

    def __post_init__(self) -> None:
        """Refuses values that cannot work together."""
        if self.heartbeat_s * 2 > self.lease_s:
            raise SettingsError("LAPWISE_HEARTBEAT_S must be at most half of LAPWISE_LEASE_S.")
        if self.run_memory_kib <= self.worker_memory_kib:
            raise SettingsError("LAPWISE_RUN_MEMORY_KIB must be above LAPWISE_WORKER_MEMORY_KIB.")
        if not self.database_url.startswith(("sqlite:///", "postgresql", "postgres://")):
            raise SettingsError("LAPWISE_DATABASE_URL must begin with sqlite:/// or postgresql://.")
        if not self.broker_url.startswith(("redis://", "rediss://", "redis+socket://")):
            raise SettingsError("LAPWISE_BROKER_URL must begin with redis://, rediss:// or redis+socket://.")
        if not all(_is_key(key) for key in self.secrets_keys):
            raise SettingsError(
                "LAPWISE_SECRETS_KEY must be 32 random bytes in URL-safe base64 (several with commas between): "
                "openssl rand -base64 32 | tr '+/' '-_'"
            )
        if self.keep_issued_days < self.keep_removed_days:
            raise SettingsError("LAPWISE_KEEP_ISSUED_DAYS must not be below LAPWISE_KEEP_REMOVED_DAYS.")
        try:
            _ = self.hook_networks
        except ValueError as error:
            raise SettingsError(
                f"LAPWISE_HOOKS_ALLOWED must list networks like 10.1.0.0/16: {error}"
            ) from None

    @property
    def secrets_keys(self) -> tuple[str, ...]:
        """`secrets_key`, read: the key that seals, then older ones."""
        return tuple(key.strip() for key in self.secrets_key.split(",") if key.strip())

    @property
    def recovery_s(self) -> float:
        """Longest from a worker's first death to its run being announced to the others, where the scheduler runs.

        Either the lease of what it did runs out, is swept and waits for its second attempt; or it was told of a run
        and died before it began it, and the run is announced again.
        """
        found_s = max(self.lease_s + self.retry_delay_s, self.redispatch_s)
        return found_s + self.sweep_s + self.relay_every_s

    @property
    def hook_networks(self) -> tuple[ipaddress.IPv4Network | ipaddress.IPv6Network, ...]:
        """`hooks_allowed`, read."""
        return tuple(
            ipaddress.ip_network(network.strip())
            for network in self.hooks_allowed.split(",")
            if network.strip()
        )


_SECRETS = ("database_url", "broker_url", "limits_url", "session_secret", "secrets_key")


def _is_key(key: str) -> bool:
    try:
        return len(base64.b64decode(key, altchars=b"-_", validate=True)) == 32
    except ValueError:
        return False


def from_environment() -> Settings:
    """The settings of ``LAPWISE_…`` variables (``LAPWISE_LEASE_S=20`` and so on).

    Raises:
        SettingsError: naming the variable that cannot be used.
    """
    env = Env(prefix="LAPWISE_")
    readers: dict[str, Callable[[str], Any]] = {"int": env.int, "float": env.float, "str": env.str}
    given: dict[str, Any] = {}
    try:
        for name, kind in Settings.__annotations__.items():
            variable = name.upper()
            file = env.str(f"{variable}_FILE", None) if name in _SECRETS else None
            if file:
                given[name] = Path(file).read_text(encoding="utf-8").strip()
            elif env.str(variable, ""):
                given[name] = readers.get(kind, env.path)(variable)
        for name, value in given.items():
            if isinstance(value, int | float) and not 0 < value < _LARGEST:
                raise SettingsError(f"LAPWISE_{name.upper()} must be above 0 and of ordinary size.")
    except (EnvError, OSError) as error:
        raise SettingsError(str(error)) from error
    return Settings(**given)
