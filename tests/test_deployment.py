"""What is given to Docker and Kubernetes fits the program: commands, settings, and who may go out.

The files' own schemas are checked by `deploy/validate.sh`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from service.cli import main
from service.settings import Settings

ROOT = Path(__file__).parents[1]
COMPOSE: dict[str, Any] = yaml.safe_load((ROOT / "docker-compose.yml").read_text())
MANIFESTS: list[dict[str, Any]] = [
    manifest
    for file in sorted((ROOT / "deploy" / "kubernetes").glob("*.yaml"))
    for manifest in yaml.safe_load_all(file.read_text())
]
PODS = {
    manifest["metadata"]["name"]: manifest["spec"]["template"]
    for manifest in MANIFESTS
    if manifest["kind"] in ("Deployment", "Job")
}
OURS = {
    name: part for name, part in COMPOSE["services"].items() if str(part.get("image")).startswith("lapwise")
}
COMMANDS = {f"compose {name}": part["command"] for name, part in OURS.items()} | {
    f"cluster {name}": pod["spec"]["containers"][0]["command"] for name, pod in PODS.items()
}


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_one_of_ours(name: str) -> None:
    program, *arguments = COMMANDS[name]
    assert program == "lapwise"
    done = CliRunner().invoke(main, [*arguments, "--help"])
    assert done.exit_code == 0, done.output


def test_both_run_the_same_parts_with_settings_that_exist() -> None:
    assert set(OURS) == set(PODS) == {"api", "worker", "teller", "scheduler", "migrate"}
    known = {f"LAPWISE_{name.upper()}" for name in Settings.__annotations__}
    for name, pod in PODS.items():
        (container,) = pod["spec"]["containers"]
        assert {entry["name"] for entry in container["env"]} <= known
        told = OURS[name]["environment"]
        assert {variable.removesuffix("_FILE") for variable in told} <= known
        assert COMMANDS[f"compose {name}"] == container["command"]
        assert container["securityContext"]["readOnlyRootFilesystem"] is True
        assert pod["spec"]["securityContext"]["runAsNonRoot"] is True
        assert OURS[name]["read_only"] is True


def test_what_tells_hooks_stands_alone_and_alone_goes_out() -> None:
    assert [name for name, command in COMMANDS.items() if "hooks" in command] == [
        "compose teller",
        "cluster teller",
    ]
    assert "--queue" in COMMANDS["compose worker"]
    assert {name for name, part in OURS.items() if "outside" in part["networks"]} == {"api", "teller"}
    assert COMPOSE["networks"]["inside"]["internal"] is True
    policies = [manifest["spec"] for manifest in MANIFESTS if manifest["kind"] == "NetworkPolicy"]
    assert {"podSelector": {}, "policyTypes": ["Ingress", "Egress"]} in policies
    out = {
        (policy["podSelector"]["matchLabels"].get("part", "all"), port["port"])
        for policy in policies
        for rule in policy.get("egress", [])
        for port in rule["ports"]
    }
    assert out == {("all", 53), ("all", 5432), ("all", 6379), ("teller", 443)}


def test_whoever_seals_or_opens_secrets_has_the_key() -> None:
    for name in ("api", "migrate", "teller"):
        told = {entry["name"] for entry in PODS[name]["spec"]["containers"][0]["env"]}
        assert "LAPWISE_SECRETS_KEY" in told
        assert "secrets_key" in OURS[name]["secrets"]
