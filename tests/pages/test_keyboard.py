"""Measuring without a mouse: where the focus goes, and that it is always in sight."""

from __future__ import annotations

from collections.abc import Callable

from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys

from tests.pages.desk import Desk

_FOCUS = "return document.activeElement.name || document.activeElement.textContent.trim()"
_UNDER_THE_DOCK = """
  const has = document.activeElement, dock = document.querySelector(".dock");
  return !dock.contains(has) && dock.compareDocumentPosition(has) === Node.DOCUMENT_POSITION_PRECEDING
    && has.getBoundingClientRect().bottom > dock.getBoundingClientRect().top + 1;
"""


def _press(desk: Desk, words: str) -> None:
    """By the keyboard: the focus is on the button when it is pressed."""
    script = "[...document.querySelectorAll('button')].find((one) => one.value === arguments[0]).focus()"
    desk.browser.execute_script(script, words)
    ActionChains(desk.browser).send_keys(Keys.ENTER).perform()
    desk.until(lambda: not desk.all("form[aria-busy]"))


def test_after_a_row_is_taken_away_one_goes_on_beside_it(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at()
    desk.sign_in()
    desk.open("/jobs/new?from=surfaces")
    for number in range(3):
        _press(desk, "add:/surfaces/0/openings")
        desk.until(
            lambda at=number: desk.browser.execute_script(_FOCUS) == f"/surfaces/0/openings/{at}/id",
            what="the focus in the new row",
        )
    _press(desk, "remove:/surfaces/0/openings/1")
    desk.until(lambda: len(desk.all('[name^="/surfaces/0/openings/"][name$="/id"]')) == 2)
    desk.until(lambda: desk.browser.execute_script(_FOCUS) == "/surfaces/0/openings/1/id")
    _press(desk, "remove:/surfaces/0/openings/1")
    desk.until(lambda: len(desk.all('[name^="/surfaces/0/openings/"][name$="/id"]')) == 1)
    desk.until(lambda: "Add an opening" in desk.browser.execute_script(
        "return document.activeElement.textContent"
    ))  # fmt: skip
    desk.browser.execute_script("window.onbeforeunload = null")


def test_what_has_the_focus_is_never_under_the_bar_at_the_foot(desk_at: Callable[..., Desk]) -> None:
    desk = desk_at("phone")
    desk.sign_in()
    desk.open("/jobs/new?from=surfaces")
    seen: list[str] = []
    for _ in range(60):
        ActionChains(desk.browser).send_keys(Keys.TAB).perform()
        seen.append(str(desk.browser.execute_script(_FOCUS)))
        assert not desk.browser.execute_script(_UNDER_THE_DOCK), f"{seen[-1]} is hidden"
        if seen[-1] == "do" and desk.browser.execute_script("return document.activeElement.value") == "save":
            break
    assert {"/reference", "/surfaces/0/_wide", "/surfaces/0/_finish/3"} <= set(seen)
    assert seen[0] == "Skip to the content"
