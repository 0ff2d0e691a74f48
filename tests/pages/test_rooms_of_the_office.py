"""The pages of the office: settings with where they come from, keys, changes tried on a plan, and both colour schemes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import requests

from tests.pages.desk import Desk
from tests.pages.rooms import ROOM


def _job(desk: Desk, body: dict[str, Any]) -> str:
    answer = requests.post(
        f"{desk.url}/v1/jobs",
        json=body,
        headers={"Authorization": f"Bearer {desk.key}", "Prefer": "wait=30"},
        timeout=60,
    )
    assert answer.json()["status"] == "ready", answer.text
    return str(answer.json()["id"])


def test_a_changed_value_becomes_yours_and_says_so(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at()
    desk.sign_in()
    desk.open("/standard")
    assert "common practice: at least 100 mm" in desk.text()
    desk.type("/lap_mm", "12 cm")
    desk.press("Save the standard")
    desk.until(lambda: "Saved." in desk.text())
    assert desk.named("/lap_mm").get_attribute("value") == "120"
    assert "yours" in desk.text()
    desk.type("/lap_mm", "wide")
    desk.press("Save the standard")
    desk.until(lambda: desk.all("#summary"))
    assert "is not a length we can read" in desk.text()
    assert desk.named("/lap_mm").get_attribute("value") == "wide"


def test_a_price_in_the_book_changes_the_next_plan(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at()
    desk.sign_in()
    job = _job(desk, ROOM)
    desk.open("/price-book")
    desk.one("#find").send_keys("tape LAP")
    found = [one.text for one in desk.all("details.product summary > b") if one.is_displayed()]
    assert found == ["Lap tape 60 mm", "Lap tape 60 mm, trade"]
    assert len([one for one in desk.all("h3.group") if one.is_displayed()]) == 1
    desk.one("#find").send_keys(" of gold")
    desk.until(lambda: desk.one("[data-none]").is_displayed())
    for _ in "tape LAP of gold":
        desk.one("#find").send_keys("\b")
    desk.one('summary[id="at.products.0"]').click()
    desk.type("/products/0/packs/0/price", "500")
    desk.type("/products/0/packs/0/_breaks", "6: 480; 20: 470")
    desk.type("/products/0/packs/1/price", "300")
    desk.type("/rules/tax_rate", "19 %")
    desk.press("Add a product")
    desk.until(lambda: len(desk.all('[name$="/code"]')) > 0 and "new product" in desk.text())
    desk.press("Undo")
    desk.until(lambda: "new product" not in desk.text())
    desk.press("Save the price book")
    desk.until(lambda: "Saved." in desk.text())
    book = desk_api(desk, "/v1/price-book")
    assert book["products"][0]["packs"][0]["breaks"][1] == {"from_packs": 20, "price": "470"}
    assert book["products"][0]["provenance"] == "yours"
    assert book["products"][1]["provenance"] == "invented"
    assert book["rules"]["tax_rate"] == "0.19"
    before = desk_api(desk, f"/v1/jobs/{job}/plan")["price"]["net"]
    desk.open(f"/jobs/{job}/plan")
    desk.press("Plan with these")
    desk.until(lambda: "This plan beside the one made" in desk.text(), what="the comparison")
    assert float(desk_api(desk, f"/v1/jobs/{job}/plan")["price"]["net"]) > float(before)


def test_a_wider_lap_is_tried_on_one_job_alone_and_taken_back(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at()
    desk.sign_in()
    job = _job(desk, ROOM)
    desk.open(f"/jobs/{job}/plan")
    desk.type("lap_mm", "30 cm")
    desk.press("Plan with these")
    desk.until(lambda: "This plan beside the one made" in desk.text(), what="the comparison")
    assert "lap 300 (your standard: 100)" in desk.text()
    assert desk_api(desk, "/v1/standard")["lap_mm"] == 100
    desk.press("Go back to the former plan")
    desk.until(
        lambda: "your standard: 100" not in desk.text() and "Strips, surface by surface" in desk.text()
    )


def test_undo_takes_back_rows_and_words_and_unsaved_work_is_not_left_unasked(
    desk_at: Callable[..., Desk],
) -> None:
    desk = desk_at()
    desk.sign_in()
    job = _job(desk, ROOM)
    desk.open(f"/jobs/{job}/measure?at=/surfaces/0")
    desk.press("Add an opening")
    desk.until(lambda: desk.all('[name="/surfaces/0/openings/1/id"]'))
    for name, words in (("_left", "4 m"), ("_low", "0"), ("_wide", "90 cm"), ("_high", "2.1 m")):
        desk.type(f"/surfaces/0/openings/1/{name}", words)
    desk.until(
        lambda: len(desk.all("[data-drawing] path.opening")) == 2, what="the new opening in the drawing"
    )
    desk.press("Undo")
    assert desk.named("/surfaces/0/openings/1/_high").get_attribute("value") == ""
    for _ in range(4):
        desk.press("Undo")
    desk.until(lambda: not desk.all('[name="/surfaces/0/openings/1/id"]'))
    desk.type("/title", "Another room")
    assert _would_ask_before_leaving(desk)
    desk.press("Save")
    desk.until(lambda: "Saved." in desk.text())
    assert desk.named("/title").get_attribute("value") == "Another room"
    assert not _would_ask_before_leaving(desk)


def _would_ask_before_leaving(desk: Desk) -> bool:
    # a driver answers the real question unseen, so the page is asked whether it would put it
    script = "const leaving = new Event('beforeunload', {cancelable: true}); dispatchEvent(leaving); return leaving.defaultPrevented"
    return bool(desk.browser.execute_script(script))


def test_many_jobs_from_one_file_are_each_judged_alone(desk_at: Callable[..., Desk], tmp_path: Path) -> None:
    file = tmp_path / "jobs.json"
    file.write_text(
        json.dumps([ROOM, {**ROOM, "reference": "ROOM-2"}, {"reference": "ROOM-3"}]), encoding="utf-8"
    )
    desk = desk_at()
    desk.sign_in()
    desk.open("/batches")
    desk.one("#jobs").send_keys(str(file))
    desk.one("#reference").send_keys("November rooms")
    desk.press("Send the batch")
    desk.until(lambda: desk.path().startswith("/batches/"))
    desk.until(lambda: not desk.all("progress"), what="the end of the batch")
    desk.until(lambda: len(desk.all(".state.ready")) == 2, what="two planned jobs")
    assert "is empty; give at least one surface" in desk.text()
    desk.look()
    kind, table = desk.fetched(desk.one('a[href$="results.csv"]').get_attribute("href"))
    assert kind.startswith("text/csv")
    assert table.decode().count("ROOM-") == 3


def test_a_hook_shows_its_secret_once_and_can_be_removed(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at()
    desk.sign_in()
    desk.open("/account/hooks")
    desk.type("/url", "http://jobs.example.com/")
    desk.press("Set it up")
    desk.until(lambda: desk.all("#summary"))
    assert "must begin with https" in desk.text()
    desk.type("/url", "https://jobs.example.com/lapwise")
    desk.press("Set it up")
    desk.until(lambda: desk.all("#made"))
    secret = desk.one("#made").text
    desk.look()
    desk.open("/account/hooks")
    assert secret not in desk.browser.page_source
    desk.press("Pause")
    desk.until(lambda: "paused" in desk.text())
    desk.press("Remove")
    desk.until(lambda: "No hooks yet." in desk.text())


def test_a_key_is_shown_once_and_ends_its_sessions_when_revoked(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at()
    desk.sign_in()
    desk.open("/account/keys")
    desk.type("/name", "phone of the crew")
    desk.press("Make the key")
    desk.until(lambda: desk.all("#made"))
    secret = desk.one("#made").text
    assert requests.get(f"{desk.url}/v1/jobs", headers={"Authorization": f"Bearer {secret}"}, timeout=30).ok
    desk.open("/account/keys")
    assert secret not in desk.browser.page_source
    desk.press("New secret")  # one's own: both open for a day
    desk.until(lambda: desk.all("#made"))
    for opens in (desk.one("#made").text, desk.key):
        assert requests.get(
            f"{desk.url}/v1/jobs", headers={"Authorization": f"Bearer {opens}"}, timeout=30
        ).ok
    desk.open("/account/keys")
    assert desk.text().count("until") == 1
    desk.press("Revoke")
    desk.until(lambda: desk.path() == "/sign-in", what="being signed out by one's own revoked key")


def test_a_plan_page_shows_every_surface_of_a_house_at_its_first_paint(desk_at: Callable[..., Desk]) -> None:
    house = json.loads((Path(__file__).parents[2] / "deploy" / "demo" / "house.json").read_text())
    desk = desk_at("phone")
    desk.sign_in()
    job = _job(desk, house)
    desk.open(f"/jobs/{job}/plan")
    assert len(desk.all(".cards svg")) == len(house["surfaces"])
    timing = "return performance.getEntriesByName('first-contentful-paint')[0]?.startTime"
    desk.until(lambda: desk.browser.execute_script(timing) is not None, what="the first paint")
    print(f"\nfirst paint of the demonstration house's plan: {desk.browser.execute_script(timing):.0f} ms")


def desk_api(desk: Desk, path: str) -> Any:
    answer = requests.get(desk.url + path, headers={"Authorization": f"Bearer {desk.key}"}, timeout=30)
    return answer.json()
