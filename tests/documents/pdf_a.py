"""What of ISO 19005-3:2012 (PDF/A-3, level A) can be seen in the structure of a file.

The clauses are numbered as recalled (R), not read; the standard is sold, and no validator of it is at hand here. What
needs a content interpreter (every glyph's width, the meaning of the tags) is not looked at.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree as ET

import pypdf
from pypdf.generic import ArrayObject, ContentStream, DictionaryObject, IndirectObject, StreamObject

_RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
_PDFA = "{http://www.aiim.org/pdfa/ns/id/}"
_XMP = "{http://ns.adobe.com/xap/1.0/}"
_IN_STEP = {
    "/Title": "{http://purl.org/dc/elements/1.1/}title",
    "/Author": "{http://purl.org/dc/elements/1.1/}creator",
    "/Producer": "{http://ns.adobe.com/pdf/1.3/}Producer",
    "/Creator": f"{_XMP}CreatorTool",
    "/CreationDate": f"{_XMP}CreateDate",
    "/ModDate": f"{_XMP}ModifyDate",
}
_BLENDS = {
    "/Normal", "/Compatible", "/Multiply", "/Screen", "/Overlay", "/Darken", "/Lighten", "/ColorDodge", "/ColorBurn",
    "/HardLight", "/SoftLight", "/Difference", "/Exclusion", "/Hue", "/Saturation", "/Color", "/Luminosity",
}  # fmt: skip
_ACTIONS = {
    "/Launch", "/Sound", "/Movie", "/ResetForm", "/ImportData", "/Hide", "/SetOCGState", "/Rendition", "/Trans",
    "/GoTo3DView", "/JavaScript",
}  # fmt: skip
_FONT_FILES = {"/FontFile", "/FontFile2", "/FontFile3"}


def faults_of(content: bytes) -> list[str]:
    """Every fault found, each with its clause."""
    reader = pypdf.PdfReader(io.BytesIO(content))
    objects = list(_objects(reader))
    root: Any = reader.trailer["/Root"]
    return [
        *_file(content, reader, objects),
        *_colour(root, reader, objects),
        *_graphics(objects),
        *_fonts(objects),
        *_behaviour(root, objects),
        *_metadata(root, reader),
        *_structure(root, reader),
        *_files(root, objects),
    ]


def _objects(reader: pypdf.PdfReader) -> Iterator[Any]:
    """Every dictionary and stream that can be reached, the direct ones too."""
    seen: set[int] = set()
    waiting: list[Any] = [reader.trailer]
    while waiting:
        one = waiting.pop()
        if isinstance(one, IndirectObject):
            if one.idnum in seen:
                continue
            seen.add(one.idnum)
            one = one.get_object()
        if isinstance(one, DictionaryObject):
            yield one
            waiting.extend(one.raw_get(name) for name in one)
        elif isinstance(one, ArrayObject):
            waiting.extend(list.__iter__(one))


def _file(content: bytes, reader: pypdf.PdfReader, objects: list[Any]) -> Iterator[str]:
    comment = content.split(b"\n", 2)[1]
    if not re.match(rb"%PDF-1\.[0-7]\r?\n", content):
        yield "6.1.2: the header is not %PDF-1.n"
    if comment[:1] != b"%" or len(comment) < 5 or min(comment[1:5]) <= 127:
        yield "6.1.2: no comment of four bytes over 127 after the header"
    if len(reader.trailer.get("/ID", ())) != 2:
        yield "6.1.3: the trailer has no ID"
    if "/Encrypt" in reader.trailer:
        yield "6.1.3: it is encrypted"
    if content.rstrip(b"\r\n")[-5:] != b"%%EOF":
        yield "6.1.3: something follows %%EOF"
    for stream in (one for one in objects if isinstance(one, StreamObject)):
        if {"/F", "/FFilter", "/FDecodeParms"} & set(stream):
            yield "6.1.7.1: a stream lies outside the file"
        filters = stream.get("/Filter", ())
        if {"/LZWDecode", "/Crypt"} & set([filters] if isinstance(filters, str) else filters):
            yield "6.1.7.2: a stream is packed by LZW or encrypted"


def _colour(root: Any, reader: pypdf.PdfReader, objects: list[Any]) -> Iterator[str]:
    intents = [one.get_object() for one in root.get("/OutputIntents", ())]
    intent = next((one for one in intents if one.get("/S") == "/GTS_PDFA1"), None)
    profile = None if intent is None else intent.get("/DestOutputProfile")
    if profile is None:
        yield "6.2.3: no output intent GTS_PDFA1 with a profile"
        return
    icc = profile.get_object().get_data()
    if icc[36:40] != b"acsp" or icc[12:16] not in (b"prtr", b"mntr") or icc[8] > 4:
        yield "6.2.3: the output profile is no ICC profile of a printer or monitor"
    if icc[16:20] != b"RGB " or profile.get_object()["/N"] != 3:
        yield "6.2.3: the output profile is not for three colours"
    for page in reader.pages:
        for _, operator in ContentStream(page.get_contents(), reader).operations:
            if operator in (b"k", b"K"):
                yield "6.2.4.3: CMYK without a profile for it"
    if any("/DeviceCMYK" in (one.get("/ColorSpace"), one.get("/CS")) for one in objects):
        yield "6.2.4.3: CMYK without a profile for it"


def _graphics(objects: list[Any]) -> Iterator[str]:
    for one in objects:
        kind = one.get("/Subtype")
        if "/TR" in one and one.get("/Type") == "/ExtGState":
            yield "6.2.5: a transfer function"
        if str(one.get("/BM", "/Normal")) not in _BLENDS:
            yield "6.2.10: an unknown blend mode"
        if kind == "/Image" and ({"/Alternates", "/OPI"} & set(one) or _is_true(one, "/Interpolate")):
            yield "6.2.8: an image with alternates, OPI or interpolation"
        if kind == "/PS" or (kind == "/Form" and {"/OPI", "/PS", "/Ref"} & set(one)):
            yield "6.2.9: PostScript, OPI or a reference"


def _fonts(objects: list[Any]) -> Iterator[str]:
    for font in (one for one in objects if one.get("/Type") == "/Font"):
        name, kind = font.get("/BaseFont", "?"), font.get("/Subtype")
        if kind == "/Type0":
            if "/ToUnicode" not in font:
                yield f"6.2.11.7: {name} has no ToUnicode"
            continue
        if kind == "/Type3":
            continue
        if not _FONT_FILES & set(font.get("/FontDescriptor", {})):
            yield f"6.2.11.4: {name} is not embedded"
        if kind == "/CIDFontType2" and "/CIDToGIDMap" not in font:
            yield f"6.2.11.3.2: {name} has no CIDToGIDMap"
        if not str(kind).startswith("/CIDFont") and "/ToUnicode" not in font:
            yield f"6.2.11.7: {name} has no ToUnicode"


def _behaviour(root: Any, objects: list[Any]) -> Iterator[str]:
    for one in objects:
        if one.get("/S") in _ACTIONS or "/JS" in one:
            yield f"6.5.1: the action {one.get('/S')}"
        if "/AA" in one:
            yield "6.5.2: additional actions"
        if one.get("/Type") == "/Annot" and one.get("/Subtype") != "/Popup":
            flags = int(one.get("/F", 0))
            if not flags & 4 or flags & (1 | 2 | 32):
                yield f"6.3.2: the annotation {one.get('/Subtype')} is not printed, or hidden"
    if "/XFA" in root.get("/AcroForm", {}):
        yield "6.4.2: an XFA form"
    if "/AlternatePresentations" in root.get("/Names", {}):
        yield "6.10: alternate presentations"
    if "/Requirements" in root:
        yield "6.11: requirements"


def _metadata(root: Any, reader: pypdf.PdfReader) -> Iterator[str]:
    if "/Metadata" not in root:
        yield "6.6.2.1: no metadata"
        return
    packet = ET.fromstring(root["/Metadata"].get_data().decode().split("?>", 1)[1].rsplit("<?xpacket", 1)[0])  # noqa: S314
    told: dict[str, str] = {}
    for description in packet.iter(f"{_RDF}Description"):
        told |= description.attrib
        told |= {inner.tag: "".join(inner.itertext()).strip() for inner in description}
    if (told.get(f"{_PDFA}part"), told.get(f"{_PDFA}conformance")) != ("3", "A"):
        yield "6.6.4: it does not say that it is PDF/A-3, level A"
    for name, tag in _IN_STEP.items():
        said = (reader.metadata or {}).get(name)
        if said is not None and _moment(str(said)) != _moment(told.get(tag, "")):
            yield f"6.6.3: {name} is {said!r} here and {told.get(tag)!r} in the metadata"


def _moment(said: str) -> str:
    """Dates of both notations as their digits, other words as they are."""
    return re.sub(r"\D", "", said) if re.match(r"D:\d{8}|\d{4}-\d\d-\d\dT", said) else said


def _structure(root: Any, reader: pypdf.PdfReader) -> Iterator[str]:
    if not _is_true(root.get("/MarkInfo", {}), "/Marked"):
        yield "6.7.2.2: it is not marked as tagged"
    if "/K" not in root.get("/StructTreeRoot", {}):
        yield "6.7.3.3: it has no structure tree"
    if not root.get("/Lang"):
        yield "6.7.4: it names no language"
    for number, page in enumerate(reader.pages, start=1):
        if "/StructParents" not in page:
            yield f"6.7.3.3: page {number} is not in the structure tree"


def _files(root: Any, objects: list[Any]) -> Iterator[str]:
    associated = [one.get_object() for one in root.get("/AF", ())]
    names = [one.get("/UF") for one in associated]
    for name in sorted({str(name) for name in names if names.count(name) > 1}):
        yield f"6.8: {name} is in AF more than once"
    for spec in (one for one in objects if "/EF" in one):
        name = spec.get("/UF")
        if not name or spec.get("/F") is None:
            yield "6.8: a file has no F or UF"
        if "/AFRelationship" not in spec:
            yield f"6.8: {name} does not say what it is to the document"
        if spec not in associated:
            yield f"6.8: {name} is not in AF"
        stream = spec["/EF"].get("/F", {})
        if "/" not in str(stream.get("/Subtype", "/"))[1:]:
            yield f"6.8: {name} has no media type"
        if "/ModDate" not in stream.get("/Params", {}):
            yield f"6.8: {name} does not say when it was changed"


def _is_true(one: Any, name: str) -> bool:
    """The truth of an entry; the object itself is true whatever it says."""
    return bool(getattr(one.get(name), "value", False))
