"""A plan on paper: what is folded on the screen is unfolded, what is only pressed is left out."""

from __future__ import annotations

from collections.abc import Callable

from tests.pages.desk import Desk
from tests.pages.firm import Firm

_SEEN = """
  const seen = (one) => one.checkVisibility({contentVisibilityAuto: true}) && one.getBoundingClientRect().height > 0;
  return [...document.querySelectorAll(arguments[0])].filter(seen).length;
"""


def test_the_cuts_of_every_roll_are_printed_though_they_are_folded(
    firm: Firm, desk_of: Callable[..., Desk]
) -> None:
    desk = desk_of(firm)
    desk.sign_in()
    desk.open(f"/jobs/{firm.things['job']}/plan")
    rolls = len(desk.all(".one-roll"))
    rows = len(desk.all(".one-roll tbody tr"))
    assert rows >= rolls > 0
    assert desk.browser.execute_script(_SEEN, ".one-roll tbody tr") == 0
    assert desk.browser.execute_script(_SEEN, "nav, main button") > 0
    desk.browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert desk.browser.execute_script(_SEEN, ".one-roll tbody tr") == rows
        assert desk.browser.execute_script(_SEEN, "nav, main button") == 0
        assert desk.overflow_px() <= 0
    finally:
        desk.browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
