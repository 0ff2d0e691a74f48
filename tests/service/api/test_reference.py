"""The OpenAPI document and the pages: complete, valid, true to what is answered, and served by us alone."""

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from flask import Flask

from service import records
from service.api import problems
from service.api.all import RESOURCES
from service.api.examples import JOB
from service.api.leakage import LEAK
from service.api.pressure_tests import TEST
from service.api.problems import KINDS
from tests.models.small_models import fzk_attic
from tests.service.api.office import Office

_VERBS = ("get", "post", "put", "patch", "delete")


@pytest.fixture
def document(office: Office) -> dict[str, Any]:
    return dict(office.get("/v1/openapi.json", Authorization=None).json)


def _operations(document: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, item in document["paths"].items():
        for verb in _VERBS:
            if verb in item:
                yield path, verb, item[verb]


def _fields(document: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for name, schema in document["components"]["schemas"].items():
        for member, field in schema["properties"].items():
            yield f"{name}.{member}", field


def test_every_operation_is_described(document: dict[str, Any]) -> None:
    described = list(_operations(document))
    assert len(described) == sum(len(resource.operations) for resource in RESOURCES) + 3  # health
    for path, verb, operation in described:
        assert len(operation["description"]) > 20, (verb, path)
        assert operation["summary"], (verb, path)
        assert operation["operationId"], (verb, path)
        assert all(answer["description"] for answer in operation["responses"].values())
        for parameter in operation.get("parameters", []):
            assert parameter["description"], (verb, path, parameter)
            assert "example" in parameter or "examples" in parameter["schema"], (verb, path, parameter)
    names = [operation["operationId"] for _, _, operation in described]
    assert len(set(names)) == len(names)


def test_every_field_has_a_description_and_an_example(document: dict[str, Any]) -> None:
    for name, field in _fields(document):
        assert field.get("description"), name
        nested = "$ref" in str(field)
        plain_list = field.get("type") in ("array", ["array", "null"]) and "examples" in str(
            field.get("items", "")
        )
        assert nested or plain_list or "examples" in field, name


def test_every_quantity_names_its_unit(document: dict[str, Any]) -> None:
    endings = {"_m3_h": "m3/h", "_mm": "mm", "_m2": "m2", "_m3": "m3", "_h": "h"}
    for name, field in _fields(document):
        member = name.split(".")[1]
        numeric = "integer" in str(field) or "number" in str(field) or field.get("format") == "decimal"
        for ending, unit in endings.items():
            if ending == "_h" and member.endswith("_m3_h"):
                continue
            if member.endswith(ending) and numeric and not member.endswith(("_per_h", "_per_m2", "m3_h_m2")):
                assert field["x-unit"] == unit, name
                assert f"Unit: {unit}." in field["description"], name


def test_examples_fit_their_own_schema(document: dict[str, Any]) -> None:
    for name, field in _fields(document):
        if "$ref" in str(field):
            continue
        for example in field.get("examples", []):
            jsonschema.validate(example, field, jsonschema.Draft202012Validator)
            assert example is not None, name
    for path, verb, operation in _operations(document):
        for content in operation.get("requestBody", {}).get("content", {}).values():
            if "example" in content:
                _validator(document, content["schema"]).validate(content["example"]), (path, verb)


def _validator(document: dict[str, Any], schema: dict[str, Any]) -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator({**schema, "components": document["components"]})


def test_the_document_is_openapi_3_1(document: dict[str, Any]) -> None:
    assert document["openapi"].startswith("3.1.")
    for schema in document["components"]["schemas"].values():
        jsonschema.Draft202012Validator.check_schema(schema)
    references = set(re.findall(r"#/components/schemas/(\w+)", str(document)))
    assert references <= set(document["components"]["schemas"])
    for path, verb, operation in _operations(document):
        wanted = set(re.findall(r"{(\w+)}", path))
        given = {p["name"] for p in document["paths"][path].get("parameters", []) if p["in"] == "path"}
        assert wanted == given, path
        assert all(re.fullmatch(r"[1-5]\d\d", status) for status in operation["responses"]), (verb, path)
    tags = {tag["name"] for tag in document["tags"]}
    assert {tag for *_, operation in _operations(document) for tag in operation["tags"]} == tags


def test_an_unknown_name_is_refused_by_the_document_as_by_the_service(document: dict[str, Any]) -> None:
    schema = document["paths"]["/v1/jobs"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    validator = _validator(document, schema)
    validator.validate(JOB)
    assert not validator.is_valid({**JOB, "colour": "red"})
    assert not validator.is_valid({name: value for name, value in JOB.items() if name != "reference"})


def test_answers_are_what_the_document_says(
    document: dict[str, Any],
    office: Office,
    plan_now: Callable[[Office, str], None],
    work_now: Callable[[Office], list[str]],
) -> None:
    job = office.job()
    plan_now(office, job)
    quote = office.post(f"/v1/jobs/{job}/quotes").json["id"]
    order = office.post(f"/v1/jobs/{job}/orders").json["items"][0]["id"]
    office.post(f"/v1/jobs/{job}/hours", {"operations": [{"operation": "staple", "hours": "1.25"}]})
    test = office.post("/v1/pressure-tests", {**TEST, "job": job}).json["id"]
    leak = office.post(f"/v1/jobs/{job}/leaks", LEAK).json["id"]
    model = office.upload("/v1/surveys", fzk_attic().text).json["id"]
    batch = office.post("/v1/batches", {"jobs": [JOB, {}]}).json["id"]
    hook = office.post("/v1/hooks", {"url": "https://jobs.example.com/"}).json["id"]
    delivery = office.post(f"/v1/hooks/{hook}/test").json["id"]
    work_now(office)
    seen = 0
    for path, verb, operation in _operations(document):
        if verb != "get" or not path.startswith("/v1/"):
            continue
        answer = office.get(
            path.format(
                job=job,
                quote=quote,
                order=order,
                document="x",
                surface="living-north",
                table="cut-list",
                test=test,
                leak=leak,
                model=model,
                batch=batch,
                hook=hook,
                delivery=delivery,
            )
        )
        assert str(answer.status_code) in operation["responses"], path
        content = operation["responses"][str(answer.status_code)]["content"]
        assert answer.mimetype in content, path
        if answer.is_json and answer.status_code == 200:
            _validator(document, content[answer.mimetype]["schema"]).validate(answer.json)
            seen += 1
    assert seen >= 14


def test_the_reference_page_shows_every_operation_and_every_field(
    office: Office, document: dict[str, Any]
) -> None:
    page = office.get("/reference", Authorization=None).text
    for _, _, operation in _operations(document):
        assert f'id="{operation["operationId"]}"' in page
    for name, schema in document["components"]["schemas"].items():
        assert f'id="shape-{name}"' in page
        assert all(f"<code>{member}</code>" in page for member in schema["properties"])
    assert page.count("{%") == page.count("{{") == 0


class _Links(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.ids: list[str] = []

    def handle_starttag(self, _tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [value for name, value in attrs if name in ("href", "src") and value is not None]
        self.ids += [value for name, value in attrs if name == "id" and value is not None]


@pytest.mark.parametrize("path", ["/", "/reference", "/problems/bad_input"])
def test_pages_load_nothing_from_elsewhere_and_lead_nowhere_dead(office: Office, path: str) -> None:
    links = _Links()
    links.feed(office.get(path, Authorization=None).text)
    assert len(set(links.ids)) == len(links.ids)
    for address in set(links.found):
        if address.startswith("#"):
            assert address[1:] in links.ids, address
            continue
        assert address.startswith("/"), address
        target = office.get(address.split("#")[0], Authorization=None)
        assert target.status_code in (200, 302, 303, 503), address  # 503: not ready, in this test
    style = office.get("/assets/pages.css", Authorization=None).text
    assert not re.search(r"url\(['\"]?(?!['\"]?/assets/)", style)
    assert "@import" not in style
    policy = office.get(path, Authorization=None).headers["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert "http" not in policy


def test_every_state_the_records_refuse_in_is_a_kind_of_problem() -> None:
    said = {
        code
        for file in Path(records.__file__).parent.glob("*.py")
        for code in re.findall(r"NotPossibleNow\(\s*\"(\w+)\"", file.read_text(encoding="utf-8"))
    }
    assert "plan_not_ready" in said
    assert said <= set(KINDS)


def test_every_kind_of_problem_is_told_once() -> None:
    assert len(problems._KINDS) == len(KINDS)


def test_every_kind_of_problem_has_its_page(office: Office) -> None:
    for code, kind in KINDS.items():
        page = office.get(f"/problems/{code}", Authorization=None)
        assert page.status_code == 200
        assert kind.title in page.text.replace("&#39;", "'")
    assert office.get("/problems/none", Authorization=None).status_code == 404
    assert office.get("/assets/none.css", Authorization=None).status_code == 404
    assert office.get("/assets/..%2fhome.py", Authorization=None).status_code == 404


def test_a_page_already_known_is_not_sent_again(office: Office) -> None:
    etag = office.get("/reference").headers["ETag"]
    assert office.get("/reference", If_None_Match=etag).status_code == 304


def test_links_are_absolute_where_the_public_address_is_known(app: Flask, office: Office) -> None:
    app.config["PUBLIC_URL"] = "https://lapwise.example"
    job = office.post("/v1/jobs", JOB)
    assert job.headers["Location"].startswith("https://lapwise.example/v1/jobs/job_")


def test_the_web_process_loads_neither_solver_nor_pdf_engine_nor_queue() -> None:
    heavy = (
        "workers",
        "highspy",
        "scipy",
        "weasyprint",
        "celery",
        "networkx",
        "pandas",
        "matplotlib",
        "ezdxf",
    )
    program = f"import service.app, sys; print([name for name in {heavy!r} if name in sys.modules])"
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
