"""What somebody at a screen does with the pages, in words, and what axe-core says of a page."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.select import Select

_PATIENCE_S = 120.0
_OFTEN_S, _SELDOM_S = 0.03, 0.25
_SERIOUS = ("serious", "critical")
SIZES = {"phone": (360, 740), "desk": (1280, 900)}
_SEEN = ("color-contrast", "link-in-text-block", "scrollable-region-focusable")
"""The rules that depend on how wide the screen is and which colours it has; the others judge the markup alone."""


@cache
def _axe() -> str:
    return (Path(__file__).parent / "axe.min.js").read_text(encoding="utf-8")


@dataclass
class Desk:
    """A browser, and who sits at it."""

    browser: Chrome
    url: str
    key: str
    account: str

    def at(self, size: str, *, dark: bool = False) -> None:
        """Takes the page that is open, and those after it, to a screen of that size and those colours."""
        width, height = SIZES[size]
        self.browser.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": size == "phone"},
        )
        features = [
            {"name": "prefers-color-scheme", "value": "dark" if dark else "light"},
            {"name": "prefers-reduced-motion", "value": "reduce"},
        ]
        self.browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})

    def open(self, path: str) -> None:
        self.browser.get(self.url + path)

    def sign_in(self) -> None:
        self.open("/sign-in")
        self.browser.find_element(By.ID, "key").send_keys(self.key)
        self.press("Sign in")
        self.until(lambda: self.path() == "/jobs")

    def path(self) -> str:
        return self.browser.current_url.removeprefix(self.url).partition("?")[0].partition("#")[0]

    def text(self) -> str:
        return str(self.browser.execute_script("return document.getElementById('content').innerText"))

    def all(self, css: str) -> list[WebElement]:
        return self.browser.find_elements(By.CSS_SELECTOR, css)

    def one(self, css: str) -> WebElement:
        return self.browser.find_element(By.CSS_SELECTOR, css)

    def named(self, pointer: str) -> WebElement:
        self.until(lambda: not self.all("form[aria-busy]"))
        return self.all(f'[name="{pointer}"]')[-1]

    def type(self, pointer: str, words: str) -> None:
        field = self.named(pointer)
        field.clear()
        field.send_keys(words)
        self.browser.execute_script("arguments[0].dispatchEvent(new Event('change', {bubbles: true}))", field)

    def choose(self, pointer: str, words: str) -> None:
        Select(self.named(pointer)).select_by_visible_text(words)

    def labelled(self, words: str) -> WebElement:
        """The field that is seen with this label, the first of several."""
        script = """
          return [...document.querySelectorAll("label")].find((one) => one.textContent.trim() === arguments[0] && one.control?.offsetParent)?.control ?? null;
        """
        found = self.browser.execute_script(script, words)
        assert found is not None, f"no field is labelled “{words}” on {self.path()}:\n{self.text()[:1500]}"
        return found  # type: ignore[no-any-return]

    def write_day(self, field: WebElement, day: str) -> None:
        """Enters a day, written 2027-03-01; keys would depend on the browser's language."""
        self.browser.execute_script(
            "arguments[0].value = arguments[1]; arguments[0].dispatchEvent(new Event('change', {bubbles: true}))",
            field,
            day,
        )

    def press(self, words: str, *, within: str = "") -> None:
        """Presses the button or link that says so, the first of several."""
        script = """
          const said = (one) => [...one.childNodes].filter((n) => !(n.classList?.contains("hidden-words"))).map((n) => n.textContent).join("").trim();
          return [...document.querySelectorAll((arguments[1] || "body") + " :is(button, a, summary)")]
            .filter((one) => !one.classList.contains("hidden-words") && one.offsetParent !== null).find((one) => said(one) === arguments[0]) ?? null;
        """

        def pressed() -> bool:
            """Raises where the page renews that part between finding and pressing; `until` then tries again."""
            found = self.browser.execute_script(script, words, within)
            assert found is not None, f"nothing says “{words}” on {self.path()}:\n{self.text()[:1500]}"
            self.browser.execute_script(
                "arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", found
            )
            found.click()
            return True

        self.until(lambda: not self.all("form[aria-busy]"))
        self.until(pressed)

    def until(self, holds: Any, *, what: str = "") -> None:
        """Asks often at first, for what is done at once, and seldom where something is worked out."""
        give_up, pause = time.monotonic() + _PATIENCE_S, _OFTEN_S
        while True:
            try:
                if holds():
                    return
            except StaleElementReferenceException:
                pass
            assert time.monotonic() < give_up, (
                f"{what or 'it'} did not come to pass on {self.path()}:\n{self.text()[:1500]}"
            )
            time.sleep(pause)
            pause = min(_SELDOM_S, pause * 1.5)

    def overflow_px(self) -> int:
        """How far the page reaches past the screen sideways."""
        script = "return document.documentElement.scrollWidth - document.documentElement.clientWidth"
        return int(self.browser.execute_script(script))

    @contextmanager
    def axe_everywhere(self) -> Iterator[None]:
        """While this lasts axe comes with every page, instead of being sent to each that is looked at."""
        made = self.browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": _axe()})
        try:
            yield
        finally:
            self.browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", made)

    def fits(self) -> None:
        """Nothing may reach past the screen."""
        assert self.overflow_px() <= 0, f"{self.path()} reaches {self.overflow_px()} px past the screen"

    def in_reach(self) -> None:
        """What is pressed with a thumb is 44 px each way, but for links in the run of a sentence."""
        script = """
          const small = [];
          for (const one of document.querySelectorAll("a, button, summary, input:not([type=hidden]), select, textarea")) {
            if (!one.offsetParent || one.closest(".hidden-words, .skip, [id$='-summary']") || getComputedStyle(one, "::after").position === "absolute") continue;
            const in_words = getComputedStyle(one).display === "inline" && one.closest("p, li, td, dd, h2, h3");
            const area = (one.type === "checkbox" || one.type === "radio") ? one.closest(".tick, label, li, tr, fieldset") ?? one : one;
            const {width, height} = area.getBoundingClientRect();
            if (!in_words && (width < 43.5 || height < 43.5)) small.push(`${one.textContent.trim() || one.name}: ${Math.round(width)} × ${Math.round(height)}`);
          }
          return small;
        """
        small = self.browser.execute_script(script)
        assert not small, f"{self.path()}: " + "; ".join(small)

    def look(self, *, alike: str = "", markup: bool = True) -> None:
        """Nobody may be shut out, and nothing may reach past the screen.

        `alike` names parts that are made like others: they are taken out before axe looks, which takes seconds a
        thousand elements. Without `markup` only what width and colours decide is looked at.
        """
        self.fits()
        if alike:
            self.browser.execute_script(
                "document.querySelectorAll(arguments[0]).forEach((one) => one.remove())", alike
            )
        if not self.browser.execute_script("return 'axe' in window"):
            self.browser.execute_script(_axe())
        script = """
          const grave = axe._audit.rules.filter((rule) => rule.enabled && !["minor", "moderate"].includes(rule.impact));
          const rules = grave.map((rule) => rule.id).filter((id) => arguments[0] === null || arguments[0].includes(id));
          axe.run({resultTypes: ["violations"], runOnly: rules, preload: false}).then(arguments[arguments.length - 1]);
        """  # rules that can find nothing serious are left out
        found = self.browser.execute_async_script(script, None if markup else list(_SEEN))
        grave = [
            f"{one['id']} ({one['impact']}): {one['help']}: {one['nodes'][0]['html'][:200]} {one['nodes'][0]['failureSummary']}"
            for one in found["violations"]
            if one["impact"] in _SERIOUS
        ]
        assert not grave, f"{self.path()}:\n" + "\n".join(grave)

    def complaints(self) -> list[str]:
        """What the browser's console complained of: scripts that failed, things refused by the policy."""
        return [
            entry["message"]
            for entry in self.browser.get_log("browser")
            if entry["level"] == "SEVERE" and "status of 4" not in entry["message"]
        ]

    def fetched(self, address: str) -> tuple[str, bytes]:
        """What the browser is given at an address of the page: media type and bytes."""
        script = """
          const done = arguments[arguments.length - 1];
          fetch(arguments[0]).then(async (answer) => {
            const bytes = new Uint8Array(await answer.arrayBuffer());
            done([answer.headers.get("Content-Type"), Array.from(bytes)]);
          });
        """
        kind, content = self.browser.execute_async_script(script, address)
        return str(kind), bytes(content)
