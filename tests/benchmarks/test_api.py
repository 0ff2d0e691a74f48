"""How long the web process takes to take a job in: printed, not asserted."""

import json
import statistics
import time
from pathlib import Path

import pytest

from service.app import create_app
from service.records import accounts
from service.records.migrate import migrate
from service.records.store import Store
from service.settings import Settings

HOUSE = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"


@pytest.mark.benchmark
def test_sending_the_demo_house(tmp_path: Path) -> None:
    settings = Settings(database_url=f"sqlite:///{tmp_path / 'lapwise.db'}", requests_per_minute=100_000)
    store = Store(settings.database_url)
    migrate(store)
    client = create_app(settings, store).test_client()
    with store.writing() as session:
        account = accounts.create_account(session, name="Example Airtight Ltd", kind="contractor")
        key = accounts.create_key(session, account.id, name="benchmark").secret
    body = json.dumps(json.loads(HOUSE.read_text(encoding="utf-8"))).encode()
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
    walls_ms, cpus_ms = [], []
    for _ in range(40):
        wall, cpu = time.perf_counter(), time.process_time()
        assert client.post("/v1/jobs", data=body, headers=headers).status_code == 202
        walls_ms.append((time.perf_counter() - wall) * 1000)
        cpus_ms.append((time.process_time() - cpu) * 1000)
    store.close()
    print(
        f"POST /v1/jobs, demo house ({len(body) / 1000:.0f} kB), SQLite with every commit on disk: median "
        f"{statistics.median(walls_ms):.0f} ms, of which {statistics.median(cpus_ms):.0f} ms on the processor"
    )
