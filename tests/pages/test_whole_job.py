"""A new user takes a job all the way, at a phone and at a desk; every page on the way is looked at."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.pages.desk import Desk


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_a_new_user_takes_a_house_from_its_footprint_to_recorded_hours(
    desk_at: Callable[..., Desk], size: str
) -> None:
    desk = desk_at(size)
    desk.open("/jobs")
    assert desk.path() == "/sign-in"
    desk.sign_in()
    assert "No jobs yet" in desk.text()
    assert "Before the first quote goes out" in desk.text()
    desk.look()

    _describe_a_house(desk)
    _mend_what_is_wrong(desk)
    job = desk.path().split("/")[2]
    _read_the_plan(desk, job)
    _quote_it(desk, job)
    _order_it(desk, job)
    _fit_it(desk, job)
    _test_it(desk, job)

    desk.open("/jobs")
    assert "Bungalow at the ford" in desk.text()
    assert "quote accepted" in desk.text()
    assert desk.complaints() == []


def _describe_a_house(desk: Desk) -> None:
    desk.press("Measure the first job")
    desk.one('a[href="/jobs/new?from=building"]').click()
    desk.until(lambda: desk.all("[data-house] svg"))
    assert "A plain number is millimetres" in desk.text()
    desk.type("/reference", "FORD-1")
    desk.type("/title", "Bungalow at the ford")
    desk.type("/customer/name", "Example Homes")
    before = desk.one("[data-house]").get_attribute("innerHTML")
    desk.type("/building/storeys/0/_long", "12.5 m")
    desk.until(
        lambda: desk.one("[data-house]").get_attribute("innerHTML") != before,
        what="the picture of a longer house",
    )
    before = desk.one("[data-house]").get_attribute("innerHTML")
    desk.choose("/building/storeys/0/roof/form", "hip")
    desk.until(
        lambda: desk.one("[data-house]").get_attribute("innerHTML") != before,
        what="the picture of a hipped roof",
    )
    desk.press("Add an opening")
    desk.until(lambda: desk.all('[name="/building/openings/0/wall"]'))
    desk.type("/building/openings/0/wall", "south")
    desk.type("/building/openings/0/from_left_mm", "2 m")
    desk.type("/building/openings/0/_up", "900 mm")
    desk.type("/building/openings/0/width_mm", "1.8 metres wide")
    desk.type("/building/openings/0/height_mm", "120 cm")
    desk.press("Add a pipe, cable or section")
    desk.until(lambda: desk.all('[name="/building/penetrations/0/wall"]'))
    desk.type("/building/penetrations/0/wall", "north")
    desk.type("/building/penetrations/0/from_left_mm", "3 m")
    desk.type("/building/penetrations/0/_up", "30 cm")
    desk.type("/building/penetrations/0/diameter_mm", "110")
    assert "Not saved yet." in desk.text()


def _mend_what_is_wrong(desk: Desk) -> None:
    desk.press("Save and plan")
    desk.until(lambda: desk.all("#summary"))
    assert "One thing needs correcting" in desk.one("#summary").text
    wrong = desk.named("/building/openings/0/width_mm")
    assert wrong.get_attribute("aria-invalid") == "true"
    said = desk.one(
        f"#{wrong.get_attribute('aria-describedby').split()[-1].replace('.', chr(92) + '.')}"
    ).text
    assert "is not a length we can read" in said
    assert wrong.get_attribute("value") == "1.8 metres wide"
    desk.look()
    desk.one("#summary a").click()
    desk.type("/building/openings/0/width_mm", "1.8 m")
    svg = desk.one("[data-house]").get_attribute("innerHTML")
    assert 'class="opening"' in svg
    desk.press("Save and plan")
    desk.until(lambda: desk.path().endswith("/plan"))


def _read_the_plan(desk: Desk, job: str) -> None:
    desk.until(lambda: "Strips, surface by surface" in desk.text(), what="the plan")
    said = desk.text()
    for part in ("Cut list, roll by roll", "Take-off", "Hours to expect", "Price before tax", "ground-south"):
        assert part in said
    desk.open(f"/jobs/{job}/surfaces/ground-south")
    drawing = desk.one(".paper svg")
    assert "ground-south" in drawing.get_attribute("textContent")
    assert "Strips in laying order" in desk.text()


def _quote_it(desk: Desk, job: str) -> None:
    desk.open(f"/jobs/{job}/quote")
    assert "The prices are invented" in desk.text()
    desk.look()
    desk.press("Issue the quote")
    desk.until(lambda: "The quote was issued" in desk.text())
    desk.until(lambda: desk.all('a[href^="/documents/"]'), what="the quote's PDF")
    _is_a_pdf(desk, 'a[href^="/documents/"]')
    desk.press("Customer accepted")
    desk.until(lambda: "the customer accepted" in desk.text())
    desk.look()


def _order_it(desk: Desk, job: str) -> None:
    desk.open(f"/jobs/{job}/order")
    desk.look()
    desk.press("Make the orders")
    desk.until(lambda: "The orders were made" in desk.text())
    desk.until(lambda: desk.all('a[href^="/documents/"]'), what="an order's PDF")
    _is_a_pdf(desk, 'a[href^="/documents/"]')


def _fit_it(desk: Desk, job: str) -> None:
    desk.open(f"/jobs/{job}/fit")
    pack = '[aria-labelledby="site"] > .buttons a[href^="/documents/"]'
    desk.until(lambda: desk.all(pack), what="the site pack")
    _is_a_pdf(desk, pack)
    hang = next(
        field
        for field in desk.all('input[name$="/hours"]')
        if field.accessible_name.startswith("Hang membrane")
    )
    hang.send_keys("6,5")
    desk.type("/note", "Dry, no wind.")
    desk.press("Record these hours")
    desk.until(lambda: "The hours were recorded" in desk.text())
    assert "Hang membrane 6.5 h" in desk.text()


def _test_it(desk: Desk, job: str) -> None:
    desk.open(f"/jobs/{job}/test")
    assert "Where it matters most" in desk.text()
    desk.type("/directions/0/zero_flow_before_pa", "-1,2")
    desk.type("/directions/0/indoor_c", "21")
    desk.type("/directions/0/outdoor_c", "5")
    invented = [(-61, 287), (-51, 253), (-41, 218), (-31, 181), (-21, 138), (-11, 88)]
    for step, (pressure, flow) in enumerate(invented):
        desk.type(f"/directions/0/readings/{step}/pressure_pa", str(pressure))
        desk.type(f"/directions/0/readings/{step}/flow_m3_h", str(flow))
    desk.press("Work it out")
    desk.until(lambda: "Flow at 50 Pa" in desk.text(), what="the test's result")
    assert len(desk.all("svg.plot circle")) == len(invented)
    desk.look()


def _is_a_pdf(desk: Desk, link: str) -> None:
    kind, content = desk.fetched(str(desk.one(link).get_attribute("href")))
    assert kind == "application/pdf"
    assert content.startswith(b"%PDF-")
