"""Writes deploy/licences.md: under which licence each package stands that a deployment runs (requirements.lock).

From the metadata of the installed packages: `.venv/bin/python deploy/licences.py`.
"""

from __future__ import annotations

import re
import sys
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

ROOT = Path(__file__).parents[1]
LOCK, LIST = ROOT / "requirements.lock", ROOT / "deploy" / "licences.md"
_COPYLEFT = re.compile(r"\b(A?GPL|LGPL|MPL|EPL|EUPL|CDDL)|General Public|Mozilla Public", re.IGNORECASE)
_LONGEST = 70

_HEAD = """# Licences of what a deployment runs

Made by `deploy/licences.py` from the metadata of the packages in `requirements.lock`; a test keeps the two in step.
Packages of other systems than Linux and of older Python versions stand at the end as "not installed here".

"""


def locked(lock: str) -> list[tuple[str, str]]:
    """(name, version) of every package of a lock, in its order."""
    return re.findall(r"^([A-Za-z0-9._-]+)==([^ ;\\]+)", lock, re.MULTILINE)


def licence_of(found: Distribution) -> str:
    """What the package itself says: its SPDX expression, its classifiers, or its licence field."""
    about = found.metadata
    if expression := about.get("License-Expression"):
        return str(expression)
    classes = [
        line.split(" :: ")[-1] for line in about.get_all("Classifier", []) if line.startswith("License ::")
    ]
    field = " ".join(str(about.get("License") or "").split())
    if field and len(field) <= _LONGEST:
        return field
    return " and ".join(one for one in classes if one != "OSI Approved") or field[:_LONGEST] or "not said"


def is_copyleft(licence: str) -> bool:
    """Does it ask something of those who pass the package on, beyond keeping its notices?"""
    return _COPYLEFT.search(licence) is not None


def written(lock: str) -> str:
    """The file's text."""
    rows, absent, copyleft, unsaid = [], [], [], []
    for name, version in locked(lock):
        try:
            licence = licence_of(distribution(name))
        except PackageNotFoundError:
            absent.append(name)
            continue
        rows.append(f"| {name} | {version} | {licence} |")
        if is_copyleft(licence):
            copyleft.append(f"{name} ({licence})")
        if licence == "not said":
            unsaid.append(name)
    judged = f"{len(rows)} packages. Copyleft: {', '.join(copyleft) or 'none'}. "
    judged += f"Not said in their metadata: {', '.join(unsaid) or 'none'}.\n\n"
    table = "| package | version | licence |\n| --- | --- | --- |\n" + "\n".join(rows) + "\n"
    return _HEAD + judged + _JUDGEMENT + table + f"\nNot installed here: {', '.join(absent) or 'none'}.\n"


_JUDGEMENT = """\
Judgement: nothing here hinders offering Lapwise as a service or passing it on. The permissive licences ask for their
notices to be kept, which an image that holds the packages whole does. psycopg is LGPL-3.0 and is used as it comes, as a
library that can be replaced; whoever changes it must pass the change on. Pyphen may be taken under MPL 1.1, which is
chosen here; it too is used unchanged, and its hyphenation patterns have licences of their own, named in its package.
Inside wheels stand libraries with other licences (recalled from memory, not read from metadata): GEOS in shapely
(LGPL-2.1), libpq in psycopg-binary (PostgreSQL licence). The PDF engine loads Pango (LGPL-2.0 or later) from the
system. ifcopenshell, needed for building models alone and not in this lock, is LGPL-3.0 (from memory). This is an
engineer's reading and no legal advice.

"""

if __name__ == "__main__":
    LIST.write_text(written(LOCK.read_text(encoding="utf-8")), encoding="utf-8")
    sys.stdout.write(f"{LIST.relative_to(ROOT)} written\n")
