"""English of the labels and of the code on the cover."""

TEXTS = {
    "labels.title": "Cut labels {reference}",
    "labels.size": "{size} mm",
    "labels.rip": "{size} mm, ripped",
    "labels.roll": "roll {roll}, cut {cut}",
    "labels.none": "Nothing is cut for this job.",
    "pack.code_alt": "Code that leads to this job's page",
    "pack.code": "this job's page",
    "sheet.job": "Job",
    "sheet.reference": "Reference",
    "sheet.revision": "Revision",
    "sheet.surface": "Surface",
    "sheet.date": "Date",
    "sheet.number": "Sheet",
    "sheet.print": "To scale where it is printed at full size: 100 %, not fitted to the page.",
}
