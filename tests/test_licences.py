"""The list of licences is in step with the lock, and names what is copyleft."""

from __future__ import annotations

import importlib.util
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def _script(name: str):  # type: ignore[no-untyped-def]
    described = importlib.util.spec_from_file_location(name, ROOT / "deploy" / f"{name}.py")
    assert described is not None
    assert described.loader is not None
    module = importlib.util.module_from_spec(described)
    described.loader.exec_module(module)
    return module


licences, audited = _script("licences"), _script("audited")
LOCKED = licences.locked((ROOT / "requirements.lock").read_text())
TEXT = (ROOT / "deploy" / "licences.md").read_text()
ROWS = [
    tuple(cell.strip() for cell in line.split("|")[1:4]) for line in TEXT.splitlines() if line[:2] == "| "
]


def test_every_locked_package_is_listed_in_its_version_or_said_to_be_absent() -> None:
    absent = set(TEXT.rstrip().splitlines()[-1].removeprefix("Not installed here: ").rstrip(".").split(", "))
    listed = {(name, version) for name, version, _ in ROWS[2:]}
    assert len(listed) > 40
    assert listed == {(name, version) for name, version in LOCKED if name not in absent}, (
        "run: .venv/bin/python deploy/licences.py"
    )


def test_the_licences_are_those_the_installed_packages_name() -> None:
    for name, version, licence in ROWS[2:]:
        try:
            found = distribution(name)
        except PackageNotFoundError:
            continue
        if found.version == version:
            assert licences.licence_of(found) == licence, name
        assert licence != "not said"


def test_copyleft_licences_are_named_above_the_table() -> None:
    copyleft = {name for name, _, licence in ROWS[2:] if licences.is_copyleft(licence)}
    assert copyleft == {"psycopg", "psycopg-binary", "pyphen"}  # another one wants a judgement of its own
    assert all(name in TEXT.split("Judgement:")[0] for name in copyleft)


_FINE = '{"name": "a", "version": "1", "vulns": []}'
_SKIPPED = '{"name": "b", "skip_reason": "not found"}'
_BAD = '{"name": "c", "version": "2", "vulns": [{"id": "EX-1", "fix_versions": ["3"]}]}'


@pytest.mark.parametrize(
    ("packages", "said", "end"),
    [
        ([_FINE], "1 packages looked up, no known", 0),
        ([_FINE, _SKIPPED], "NOT looked up: b", 0),
        ([_FINE, _BAD, _SKIPPED], "c 2: EX-1, mended in 3", 1),
        ([_SKIPPED], "AUDIT LEFT OUT", 0),
    ],
)
def test_a_finding_fails_and_what_was_not_looked_up_is_said(packages: list[str], said: str, end: int) -> None:
    told, ended = audited.judged('{"dependencies": [' + ",".join(packages) + "]}", "", 0)
    assert (said in told, ended) == (True, end), told


def test_an_audit_that_reaches_nobody_is_left_out_and_one_that_breaks_fails() -> None:
    assert audited.judged("", "ServiceError: Max retries exceeded", 1)[1] == 0
    assert audited.judged("", "Traceback: something else", 1)[1] == 1
