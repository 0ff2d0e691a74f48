"""An account at a desk with an HTTP client."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service.api import strict_json
from service.api.examples import JOB


@dataclass
class Office:
    """An account and its key, at a desk with an HTTP client."""

    client: FlaskClient
    account: str
    key: str
    headers: dict[str, str] = field(default_factory=dict)

    def send(self, method: str, path: str, body: Any = None, **headers: str | None) -> TestResponse:
        """One request; header names are written with underscores, None leaves a usual header out."""
        patch = method == "PATCH"
        sent: dict[str, str | None] = {"Authorization": f"Bearer {self.key}", **self.headers}
        raw: bytes | None = None
        if body is not None:
            raw = body if isinstance(body, bytes) else strict_json.write(body).encode()
            sent["Content-Type"] = "application/merge-patch+json" if patch else "application/json"
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        kept = {name: value for name, value in sent.items() if value is not None}
        return self.client.open(path, method=method, data=raw, headers=kept)

    def get(self, path: str, **headers: str | None) -> TestResponse:
        return self.send("GET", path, **headers)

    def post(self, path: str, body: Any = None, **headers: str | None) -> TestResponse:
        return self.send("POST", path, body, **headers)

    def upload(
        self, path: str, content: bytes, *, name: str = "house.ifc", part: str = "file", **headers: str | None
    ) -> TestResponse:
        """A form with one file."""
        head = f'--part\r\nContent-Disposition: form-data; name="{part}"; filename="{name}"\r\n\r\n'
        form = head.encode() + content + b"\r\n--part--\r\n"
        return self.send(
            "POST", path, form, **{"Content_Type": "multipart/form-data; boundary=part", **headers}
        )

    def job(self, **changes: Any) -> str:
        """A job that was sent; gives its id."""
        answer = self.post("/v1/jobs", {**JOB, **changes})
        assert answer.status_code in (201, 202), answer.text
        return str(answer.json["id"])
