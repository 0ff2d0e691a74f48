"""A whole service of real processes, and Debian's Chromium, headless, at the width of a phone and of a desk."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from selenium.webdriver import Chrome, ChromeOptions
from selenium.webdriver.chrome.service import Service

from service.app import create_app
from service.records import accounts
from service.records.migrate import migrate
from service.records.store import Store
from service.settings import Settings
from tests.pages.desk import Desk
from tests.pages.firm import Firm
from tests.pages.person import Person

_FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage", "--hide-scrollbars",
)  # fmt: skip


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """The address of a running service and its data directory."""
    data = tmp_path_factory.mktemp("pages")
    environment = {name: value for name, value in os.environ.items() if not name.startswith("LAPWISE_")}
    # these tests make few runs; between them a relay that looks twenty times a second would be most of what is done
    environment["LAPWISE_RELAY_EVERY_S"] = "0.25"
    with (data / "log.jsonl").open("wb") as log:
        process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "service.cli",
                "serve",
                "--data",
                str(data),
                "--port",
                "0",
                "--workers",
                "1",
            ],
            stdout=subprocess.PIPE,
            stderr=log,
            env=environment,
        )
        try:
            assert process.stdout is not None
            line = process.stdout.readline()
            assert line, (data / "log.jsonl").read_text(errors="replace")[-2000:]
            yield json.loads(line)["url"], data
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(60)
            process.stdout.close()


@pytest.fixture(scope="session")
def chromium(served: tuple[str, Path], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chrome]:
    """One browser for all tests; each test begins with none of another's cookies. It ends before the service does."""
    binary, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if binary is None or driver is None:
        pytest.fail("These tests need Debian's packages chromium and chromium-driver: apt-get install them.")
    options = ChromeOptions()
    options.binary_location = binary
    downloads = tmp_path_factory.mktemp("downloads")
    options.add_experimental_option("prefs", {"download.default_directory": str(downloads)})
    for flag in (*_FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    browser = Chrome(options=options, service=Service(driver))
    yield browser
    browser.quit()


def _account_of(data: Path, kind: Any) -> tuple[str, str]:
    """A new account and the secret of its key."""
    store = Store(f"sqlite:///{data / 'lapwise.db'}", pooled=False)
    with store.writing() as session:
        account = accounts.create_account(session, name="Example Airtight Ltd", kind=kind)
        key = accounts.create_key(session, account.id, name="office").secret
    store.close()
    return account.id, key


def _sat(browser: Chrome, desk: Desk, size: str, *, dark: bool) -> Desk:
    """That desk at a screen of that size, with nobody's cookies in the browser."""
    browser.get("about:blank")
    browser.delete_all_cookies()
    browser.execute_cdp_cmd("Network.clearBrowserCookies", {})
    desk.at(size, dark=dark)
    return desk


@pytest.fixture
def desk_at(served: tuple[str, Path], chromium: Chrome) -> Callable[..., Desk]:
    """Somebody of a new account at a screen of that size."""
    url, data = served

    def sit(size: str = "desk", *, dark: bool = False, kind: str = "contractor") -> Desk:
        account, key = _account_of(data, kind)
        return _sat(chromium, Desk(chromium, url, key, account), size, dark=dark)

    return sit


@pytest.fixture(scope="session")
def firm(served: tuple[str, Path]) -> Firm:
    """A firm with something on every page."""
    url, data = served
    account, key = _account_of(data, "merchant")
    made = Firm(url, key, account)
    made.furnish()
    return made


@pytest.fixture
def desk_of(chromium: Chrome) -> Callable[..., Desk]:
    """Somebody of that firm at a screen of that size."""

    def sit(of: Firm, size: str = "desk", *, dark: bool = False) -> Desk:
        return _sat(chromium, Desk(chromium, of.url, of.key, of.account), size, dark=dark)

    return sit


@pytest.fixture(scope="session")
def settings(tmp_path_factory: pytest.TempPathFactory) -> Settings:
    data = tmp_path_factory.mktemp("unscripted")
    made = Settings(
        database_url=f"sqlite:///{data / 'lapwise.db'}",
        broker_url="redis://127.0.0.1:1/0",
        data_dir=data,
        requests_per_minute=100_000,
    )
    store = Store(made.database_url, pooled=False)
    migrate(store)
    store.close()
    return made


@pytest.fixture(scope="session")
def store(settings: Settings) -> Iterator[Store]:
    store = Store(settings.database_url, pool_size=10)
    yield store
    store.close()


@pytest.fixture(scope="session")
def app(settings: Settings, store: Store) -> Flask:
    return create_app(settings, store)


@pytest.fixture
def person(app: Flask, store: Store) -> Callable[..., Person]:
    def make(
        *, scopes: tuple[str, ...] = ("read", "write", "admin"), kind: Any = "contractor", other: Flask = app
    ) -> Person:
        with store.writing() as session:
            account = accounts.create_account(session, name="Example Airtight Ltd", kind=kind)
            made = accounts.create_key(session, account.id, name="office", scopes=scopes)
        return Person(other.test_client(), store, account.id, made.secret, made.key.id)

    return make
