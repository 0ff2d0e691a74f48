"""The short list of what elements are by themselves says what WeasyPrint's own long one says of our pages."""

import re
from pathlib import Path

import pytest
from weasyprint import CSS, HTML

from api_schema.job import Job
from api_schema.plan import Plan
from tests.documents.test_every_document import KINDS, every_document
from workers.documents import renderer

TEMPLATES = Path(renderer.__file__).parent / "templates"
PLAIN = {"a", "span"}  # in a line, and nothing else, unless a sheet says so


def test_every_document_is_the_same_bytes_with_weasyprint_s_own_list(
    planned_house: tuple[Job, Plan], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[int] = []
    theirs = HTML._ua_stylesheets  # the name that WeasyPrint asks for: gone from a later version, this fails

    def counted(page: HTML, forms: bool = False) -> list[CSS]:
        asked.append(1)
        return list(theirs(page, forms))

    ours = every_document(planned_house)
    monkeypatch.setattr(renderer._Page, "_ua_stylesheets", counted)
    assert every_document(planned_house) == ours
    assert len(asked) == len(KINDS)


@pytest.mark.parametrize("template", sorted(TEMPLATES.glob("*.html")), ids=lambda path: path.stem)
def test_every_element_of_a_template_is_in_the_list(template: Path) -> None:
    rules = re.sub(
        r"/\*.*?\*/|\{[^{}]*\}", " ", (TEMPLATES / "elements.css").read_text(encoding="utf-8"), flags=re.S
    )
    named = set(re.findall(r"[a-z]\w*", rules)) | PLAIN
    used = set(re.findall(r"<([a-z][a-z0-9]*)", template.read_text(encoding="utf-8")))
    assert used <= named, f"say in elements.css what {sorted(used - named)} are by themselves"
