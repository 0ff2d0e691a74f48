"""What of the firm stands on its paper beside its words: its logo."""

from __future__ import annotations

from dataclasses import dataclass, field

LOGO = "logo.png"


@dataclass(frozen=True, slots=True)
class Letterhead:
    """The firm's logo as PNG, already made fit for print; nothing where it has none."""

    logo: bytes = field(default=b"", repr=False)

    @property
    def assets(self) -> dict[str, bytes]:
        """What a page's head may show."""
        return {LOGO: self.logo} if self.logo else {}


PLAIN = Letterhead()
