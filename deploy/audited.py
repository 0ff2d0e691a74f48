"""Reads what pip-audit found: `audited.py REPORT MESSAGES EXIT_CODE`. Ends with 1 where there is a vulnerability."""

from __future__ import annotations

import json
import sys
from pathlib import Path

_UNREACHABLE = (
    "ServiceError",
    "ConnectionError",
    "ConnectError",
    "Max retries",
    "timed out",
    "Could not connect",
)


def judged(report: str, messages: str, code: int) -> tuple[str, int]:
    """What to say, and how to end."""
    if not report.strip():
        if any(word in messages for word in _UNREACHABLE):
            return _left_out("the advisories could not be reached"), 0
        return f"pip-audit failed ({code}):\n{messages}", code or 1
    packages = json.loads(report)["dependencies"]
    looked_up = [package for package in packages if "skip_reason" not in package]
    found = [
        f"  {package['name']} {package['version']}: {finding['id']}"
        + (f", mended in {', '.join(finding['fix_versions'])}" if finding["fix_versions"] else "")
        for package in looked_up
        for finding in package["vulns"]
    ]
    if found:
        return "Known vulnerabilities:\n" + "\n".join(found), 1
    if not looked_up:
        return _left_out(f"none of {len(packages)} packages is known to the advisory service reached here"), 0
    said = f"{len(looked_up)} packages looked up, no known vulnerability."
    skipped = [package["name"] for package in packages if "skip_reason" in package]
    return said + (f"\n!!! NOT looked up: {', '.join(skipped)}" if skipped else ""), 0


def _left_out(why: str) -> str:
    bar = "!" * 78
    return f"{bar}\n!!! VULNERABILITY AUDIT LEFT OUT: {why}.\n!!! Run deploy/audit.sh where it can be.\n{bar}"


if __name__ == "__main__":
    report, messages, code = sys.argv[1:]
    said, end = judged(Path(report).read_text(), Path(messages).read_text(), int(code))
    sys.stdout.write(said + "\n")
    sys.exit(end)
