"""A client that openapi-python-client makes of the served description does the main job against the real service."""

from __future__ import annotations

import importlib
import json
import os
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

HOUSE = Path(__file__).parents[1] / "deploy" / "demo" / "house.json"
_PATIENCE_S = 120
_ENVIRONMENT = {name: value for name, value in os.environ.items() if not name.startswith("LAPWISE_")}


@pytest.fixture
def served(tmp_path: Path) -> Iterator[str]:
    command = [sys.executable, "-m", "service.cli", "serve", "--data", str(tmp_path / "data"), "--port", "0", "--workers", "1"]  # fmt: skip
    with (tmp_path / "log.jsonl").open("wb") as log:
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=log, env=_ENVIRONMENT)
        assert process.stdout is not None
        try:
            line = process.stdout.readline()
            assert line, (tmp_path / "log.jsonl").read_text(errors="replace")[-2000:]
            yield json.loads(line)["url"]
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(60)
            process.stdout.close()


@pytest.fixture
def first_key(served: str, tmp_path: Path) -> str:
    made = subprocess.run(
        [sys.executable, "-m", "service.cli", "account", "create", "--name", "Example Airtight Ltd", "--data", str(tmp_path / "data")],
        check=True, capture_output=True, env=_ENVIRONMENT,
    )  # fmt: skip
    return str(json.loads(made.stdout)["key"])


@pytest.fixture
def made_client(
    served: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[str], Any]]:
    """Gives the modules of the client, by their names within it."""
    with urllib.request.urlopen(f"{served}/v1/openapi.json", timeout=30) as answer:
        (tmp_path / "openapi.json").write_bytes(answer.read())
    (tmp_path / "config.yaml").write_text("post_hooks: []\n")
    out = tmp_path / "made" / "lapwise_client"
    made = subprocess.run(
        [sys.executable, "-m", "openapi_python_client", "generate", "--path", str(tmp_path / "openapi.json"),
         "--config", str(tmp_path / "config.yaml"), "--meta", "none", "--output-path", str(out)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert made.returncode == 0, made.stdout + made.stderr
    monkeypatch.syspath_prepend(str(out.parent))
    yield lambda name: importlib.import_module(f"lapwise_client.{name}")
    for name in [name for name in sys.modules if name.split(".")[0] == "lapwise_client"]:
        del sys.modules[name]


def _until(what: Callable[[], Any]) -> Any:
    give_up = time.monotonic() + _PATIENCE_S
    while not (found := what()):
        assert time.monotonic() < give_up, "it did not come"
        time.sleep(0.2)
    return found


def test_a_made_client_sends_a_job_waits_for_its_plan_quotes_it_and_fetches_the_paper(
    served: str, first_key: str, made_client: Callable[[str], Any]
) -> None:
    client_of = made_client("client").AuthenticatedClient
    models = made_client("models")
    with client_of(base_url=served, token=first_key, timeout=60, raise_on_unexpected_status=True) as admin:
        key = made_client("api.keys.make_key").sync(
            client=admin,
            body=models.KeyWishInput.from_dict({"name": "job list", "scopes": ["read", "write"]}),
        )
    with client_of(base_url=served, token=key.secret, timeout=60) as client:
        house = models.JobInput.from_dict(json.loads(HOUSE.read_text(encoding="utf-8")))
        send = made_client("api.jobs.send_job").sync_detailed
        sent = send(client=client, body=house, idempotency_key='"first-house"')
        again = send(client=client, body=house, idempotency_key='"first-house"')
        assert (int(sent.status_code), again.parsed.id) == (202, sent.parsed.id)

        read_plan = made_client("api.plans.read_plan").sync

        def ready() -> Any:
            plan = read_plan(sent.parsed.id, client=client, prefer="wait=20")
            return plan if plan is not None and plan.status == "ready" else None

        plan = _until(ready)
        assert len(plan.layout.surfaces) == len(house.surfaces)
        assert plan.cut_list.rolls_opened > 0

        quote = made_client("api.quotes.issue_quote").sync(sent.parsed.id, client=client)
        assert (quote.state, quote.price.net) == ("issued", plan.price.net)

        list_documents = made_client("api.documents.list_documents").sync

        def paper() -> Any:
            found = list_documents(sent.parsed.id, client=client, kind=models.ListDocumentsKind("quote"))
            return found.items[0] if found.items else None

        document = _until(paper)
        fetched = made_client("api.documents.read_document").sync_detailed(document.id, client=client)
        assert (int(fetched.status_code), fetched.content[:5]) == (200, b"%PDF-")
        assert len(fetched.content) == document.size
