"""A job begun with a designer's model, and a job brought to its end: in the browser, with a real worker."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import requests

from tests.models.small_models import fzk_attic
from tests.pages.desk import Desk
from tests.pages.rooms import ROOM


def test_a_job_begins_with_a_building_model(desk_at: Callable[..., Desk], tmp_path: Path) -> None:
    file = tmp_path / "Example attic.ifc"
    file.write_bytes(fzk_attic().text)
    desk = desk_at("phone")
    desk.sign_in()
    desk.open("/jobs/new")
    desk.one('.doors a[href="/models"]').click()
    desk.until(lambda: desk.path() == "/models")
    desk.one("#file").send_keys(str(file))
    desk.press("Read the model")
    desk.until(lambda: desk.path().startswith("/models/"))
    desk.until(lambda: "What was found" in desk.text(), what="the end of reading")
    said = desk.text()
    assert "4 walls" in said
    assert "2 slopes" in said
    assert "Members are not read" in said
    assert len(desk.all(".cards svg")) == 7
    desk.press("Begin a job with this")
    desk.until(lambda: desk.path() == "/jobs/new")
    assert desk.named("/title").get_attribute("value") == "Example attic"
    assert desk.named("/surfaces/6/id").get_attribute("value").startswith("Attic-")
    assert float(desk.named("/volume_m3").get_attribute("value")) > 217
    desk.type("/reference", "ATTIC")
    desk.press("Save and plan")
    desk.until(lambda: "Strips, surface by surface" in desk.text(), what="the plan")
    assert len(desk.all(".cards svg")) == 7
    assert desk.complaints() == []


def test_a_job_is_finished_with_what_was_used_and_stands_beside_its_quote(
    desk_at: Callable[..., Desk],
) -> None:
    desk = desk_at()
    desk.sign_in()
    headers = {"Authorization": f"Bearer {desk.key}", "Prefer": "wait=30"}
    job = requests.post(f"{desk.url}/v1/jobs", json=ROOM, headers=headers, timeout=60).json()["id"]
    desk.open(f"/jobs/{job}/fit")
    desk.press("Finish the job")
    desk.until(lambda: desk.path().endswith("/ledger"))
    assert "The job is finished" in desk.text()
    assert "Finished " in desk.text()
    desk.open(f"/jobs/{job}/fit")
    assert "The job was finished on" in desk.text()
    assert not desk.all('form[action$="/finish"]')
    desk.open("/offcuts")
    assert "a job," in desk.text()

    other = requests.post(
        f"{desk.url}/v1/jobs",
        json={**ROOM, "reference": "ROOM-2", "title": "Two"},
        headers=headers,
        timeout=60,
    ).json()["id"]
    desk.open(f"/jobs/{other}/fit")
    desk.type("/used/0/packs", "some")
    desk.press("Finish the job")
    desk.until(lambda: desk.all("#end-summary"))
    assert desk.named("/used/0/packs").get_attribute("aria-invalid") == "true"
    desk.look()
    desk.type("/used/0/packs", "1,5")
    desk.press("Finish the job")
    desk.until(lambda: desk.path().endswith("/ledger"))
    assert "Materials used" in desk.text()
    desk.press("All jobs")
    desk.until(lambda: desk.path() == "/ledger")
    assert "Two" in desk.text()
    assert desk.complaints() == []
