"""English of the labels and of the code on the cover."""

TEXTS = {
    "labels.title": "Cut labels {reference}",
    "labels.size": "{size} mm",
    "labels.strip": "strip {strip}",
    "labels.roll": "roll {roll}, cut {cut}",
    "labels.none": "Nothing is cut for this job.",
    "pack.code_alt": "Code that leads to this job's page",
    "pack.code": "this job's page",
}
