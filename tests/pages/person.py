"""Somebody with a key and a browser of the simplest kind: the real application, without scripts."""

from __future__ import annotations

import re
from dataclasses import dataclass

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api_schema.job import Job
from api_schema.shape import dump, load
from service.records import jobs
from service.records.store import Store
from tests.pages.rooms import ROOM

TOKEN = re.compile(r'name="csrf" value="([^"]+)"')


@dataclass
class Person:
    """Somebody with a key and a browser of the simplest kind."""

    client: FlaskClient
    store: Store
    account: str
    key: str
    key_id: str

    def sign_in(self, *, key: str | None = None, onward: str = "/jobs") -> TestResponse:
        token = self.token("/sign-in")
        return self.client.post("/sign-in", data={"csrf": token, "key": key or self.key, "next": onward})

    def token(self, path: str) -> str:
        found = TOKEN.search(self.client.get(path).text)
        assert found is not None
        return found[1]

    def job(self) -> str:
        with self.store.writing() as session:
            return jobs.create_job(session, self.account, dump(load(Job, ROOM))).id
