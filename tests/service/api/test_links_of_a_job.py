"""Whoever has a job finds everything that hangs on it without building an address."""

import re

from service.api.all import RESOURCES
from tests.service.api.office import Office

_HANGS_ON_A_JOB = re.compile(r"/v1/jobs/\{job\}/([^/{}]+)")


def test_every_part_of_a_job_is_linked_from_it(office: Office) -> None:
    parts = {
        found[1]
        for resource in RESOURCES
        for operation in resource.operations
        if (found := _HANGS_ON_A_JOB.fullmatch(operation.path))
    }
    assert {"survey", "leaks", "leakage-budget", "ledger", "plan"} <= parts
    job = office.job()
    for links in (
        office.get(f"/v1/jobs/{job}").json["links"],
        office.get("/v1/jobs").json["items"][0]["links"],
    ):
        assert set(links.values()) == {f"/v1/jobs/{job}", *(f"/v1/jobs/{job}/{part}" for part in parts)}


def test_what_a_job_links_to_answers_its_address(office: Office) -> None:
    links = office.get(f"/v1/jobs/{office.job()}").json["links"]
    for name, address in links.items():
        answer = office.get(address)
        assert answer.status_code in (200, 405, 409), (name, answer.text)
