"""The command `lapwise`, without a server."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from service.cli import main
from service.records import accounts
from service.records.store import Store

HOUSE = Path(__file__).parents[2] / "deploy" / "demo" / "house.json"
SURFACE = {
    "id": "north",
    "kind": "wall",
    "outline_mm": [[0, 0], [4200, 0], [4200, 2450], [0, 2450]],
    "members": {"direction": "up", "centres_mm": 400},
}


def test_a_new_account_gets_a_key_that_works(tmp_path: Path) -> None:
    arguments = [
        "account",
        "create",
        "--name",
        "Example Merchant",
        "--kind",
        "merchant",
        "--data",
        str(tmp_path),
    ]
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0, done.output
    said = json.loads(done.stdout)
    store = Store(f"sqlite:///{tmp_path / 'lapwise.db'}", pooled=False)
    with store.reading() as session:
        key = accounts.find_key(session, said["key"])
        assert key is not None
        assert (key.account_id, accounts.get_account(session, key.account_id).kind) == (
            said["account"],
            "merchant",
        )


@pytest.mark.parametrize("name", ["", "   ", "x" * 121])
def test_an_account_needs_a_name_that_fits(tmp_path: Path, name: str) -> None:
    done = CliRunner().invoke(main, ["account", "create", "--name", name, "--data", str(tmp_path)])
    assert done.exit_code == 1
    assert "--name must have 1 to 120 characters" in done.output


def test_a_job_file_is_planned_and_its_papers_are_saved(tmp_path: Path) -> None:
    (tmp_path / "job.json").write_text(json.dumps({"reference": "PX-014", "surfaces": [SURFACE]}))
    done = CliRunner().invoke(main, ["plan", str(tmp_path / "job.json"), "--pdf", str(tmp_path / "paper")])
    assert done.exit_code == 0, done.output
    plan = json.loads(done.stdout)
    assert [surface["id"] for surface in plan["layout"]["surfaces"]] == ["north"]
    saved = {path.name: path.read_bytes() for path in (tmp_path / "paper").iterdir()}
    assert {"site-pack.pdf", "quote-draft.pdf", "north.svg"} <= set(saved)
    assert any(name.startswith("order-draft-") for name in saved)
    assert all(content.startswith(b"%PDF") for name, content in saved.items() if name.endswith(".pdf"))


def test_the_same_file_gives_the_same_plan(tmp_path: Path) -> None:
    plans = [CliRunner().invoke(main, ["plan", str(HOUSE)]).stdout for _ in range(2)]
    assert plans[0] == plans[1]
    assert len(json.loads(plans[0])["layout"]["surfaces"]) >= 25


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("{", "is not JSON"),
        ('{"reference": "x", "colour": "red"}', "/colour is not a name this object has"),
        (
            json.dumps({"reference": "x", "surfaces": [{**SURFACE, "outline_mm": [[0, 0], [1, 1]]}]}),
            "/surfaces/0",
        ),
        (
            json.dumps(
                {
                    "reference": "x",
                    "surfaces": [{**SURFACE, "outline_mm": [[0, 0], [2000, 2000], [2000, 0], [0, 2000]]}],
                }
            ),
            "/surfaces/0/outline_mm",
        ),
    ],
)
def test_a_file_that_cannot_be_planned_is_refused_in_words(tmp_path: Path, content: str, said: str) -> None:
    (tmp_path / "job.json").write_text(content)
    done = CliRunner().invoke(main, ["plan", str(tmp_path / "job.json")])
    assert done.exit_code == 1
    assert said in done.output
    assert "Traceback" not in done.output
