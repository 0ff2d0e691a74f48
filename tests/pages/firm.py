"""A firm with something of everything, so that every page has something to show; made through the API. All invented."""

from __future__ import annotations

import io
import json
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import requests
from PIL import Image, ImageDraw

from service.api.pressure_tests import TEST
from tests.models.small_models import fzk_attic
from tests.pages.rooms import ROOM

_BUILDING = json.loads(
    (Path(__file__).parents[2] / "deploy" / "demo" / "building.json").read_text(encoding="utf-8")
)
_PATIENCE_S = 180.0


@dataclass
class Firm:
    """An account, its key, and the names of its things by how routes call them."""

    url: str
    key: str
    account: str
    things: dict[str, str] = field(default_factory=dict)

    def ask(self, method: str, path: str, body: Any = None, **headers: str) -> Any:
        """The JSON of an answer that is no refusal."""
        answer = requests.request(
            method,
            self.url + path,
            json=None if isinstance(body, bytes) else body,
            data=body if isinstance(body, bytes) else None,
            headers={"Authorization": f"Bearer {self.key}", "Prefer": "wait=30", **headers},
            timeout=120,
        )
        assert answer.ok, f"{method} {path}: {answer.text}"
        is_json = answer.headers.get("Content-Type", "") == "application/json"
        return answer.json() if is_json and answer.content else None

    def until_ready(self, path: str) -> Any:
        """What stands there once it is final."""
        give_up = time.monotonic() + _PATIENCE_S
        while True:
            found = self.ask("GET", path)
            if found["final"]:
                assert found["status"] == "ready", found
                return found
            assert time.monotonic() < give_up, f"{path} did not come to an end"

    def furnish(self) -> None:
        """Fills every room of it."""
        say, things = self.ask, self.things
        model = requests.post(
            f"{self.url}/v1/surveys",
            files={"file": ("Example attic.ifc", fzk_attic().text)},
            headers={"Authorization": f"Bearer {self.key}"},
            timeout=60,
        ).json()["id"]
        batch = say(
            "POST", "/v1/batches", {"reference": "November rooms", "jobs": [ROOM, {"reference": "ROOM-3"}]}
        )
        job = say("POST", "/v1/jobs", _BUILDING)["id"]
        self.until_ready(f"/v1/jobs/{job}/plan")
        quote = say("POST", f"/v1/jobs/{job}/quotes", {})["id"]
        while say("GET", f"/v1/quotes/{quote}")["pricing"] != "ready":
            time.sleep(0.1)
        things["token"] = say("POST", f"/v1/quotes/{quote}/link")["url"].rpartition("/")[2]
        say("POST", f"/v1/jobs/{job}/orders", {})
        say(
            "POST",
            f"/v1/jobs/{job}/hours",
            {
                "operations": [
                    {"operation": "hang_membrane", "hours": "6.5"},
                    {"operation": "tape_lap", "hours": "2"},
                ]
            },
        )
        say("POST", "/v1/pressure-tests", {**TEST, "job": job})
        say(
            "POST",
            f"/v1/jobs/{job}/leaks",
            {
                "surface": "ground-west",
                "what": "air at the tape end",
                "found_by": "smoke",
                "strength": "clear",
            },
        )
        customer = say("POST", "/v1/account/customers", {"name": "Example Fitters"})["id"]
        level = {"code": "regular", "name": "Regular customers", "change": "-0.08"}
        say(
            "PUT",
            "/v1/price-levels",
            {"levels": [level], "customers": [{"account": customer, "level": "regular"}]},
            **{"If-Match": "*"},
        )
        say("POST", "/v1/hooks", {"url": "https://hooks.example.com/lapwise", "events": ["plan.ready"]})
        say("PUT", "/v1/account/logo", logo(), **{"Content-Type": "application/octet-stream"})
        products = {
            one["kind"]: one for one in say("GET", "/v1/price-book")["products"]
        }  # one of a kind shows them all
        membrane = products["membrane"]
        left = {"product": membrane["code"], "length_mm": 8200, "width_mm": membrane["width_mm"], "count": 2}
        say(
            "PATCH",
            "/v1/price-book",
            {"products": list(products.values()), "offcuts": [left]},
            **{"If-Match": "*", "Content-Type": "application/merge-patch+json"},
        )
        self.until_ready(f"/v1/surveys/{model}")
        things |= {
            "job": job, "surface": "ground-south", "model": model, "batch": batch["id"], "code": "not_found", "name": "mark.svg",
        }  # fmt: skip


def logo() -> bytes:
    """A plain mark, drawn here."""
    picture = Image.new("RGB", (360, 120), "white")
    ImageDraw.Draw(picture).rectangle((10, 10, 110, 110), fill="#1f5c57")
    ImageDraw.Draw(picture).rectangle((130, 45, 350, 75), fill="#b3420e")
    out = io.BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()
