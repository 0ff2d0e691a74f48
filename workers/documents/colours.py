"""The firm's colour as it can be read: what is written in it is dark enough on white paper, also printed in grey."""

from __future__ import annotations

_LEAST_CONTRAST = 4.5  # of body text on its ground: WCAG 2.1, success criterion 1.4.3 (published)
_STEPS = 50


def ink_of(colour: str) -> str:
    """A colour such as #f2c230 darkened, its hue kept, until letters of it stand out from white; dark ones as they are.

    Raises ValueError where it is not six hexadecimal digits behind a #.
    """
    channels = [int(colour[at : at + 2], 16) for at in (1, 3, 5)]
    for step in range(_STEPS + 1):
        darker = [channel * (_STEPS - step) // _STEPS for channel in channels]
        if contrast_on_white(darker) >= _LEAST_CONTRAST:
            return "#" + "".join(f"{channel:02x}" for channel in darker)
    return "#000000"


def contrast_on_white(channels: list[int]) -> float:
    """The contrast ratio of WCAG 2.1 between a colour of three channels from 0 to 255 and white, from 1 to 21."""
    red, green, blue = (_linear(channel / 255) for channel in channels)
    return 1.05 / (0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05)


def _linear(share: float) -> float:
    """A channel of sRGB as light."""
    return share / 12.92 if share <= 0.04045 else float(((share + 0.055) / 1.055) ** 2.4)
