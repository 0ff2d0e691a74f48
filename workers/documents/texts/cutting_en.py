"""English of slanted cuts and of splices."""

TEXTS = {
    "key.splice": "splice to tape",
    "slanted.alt": "{left} and {right}, parted by a slanted cut; face up, the start of the roll to the left.",
    "slanted.turned_short": "{piece} turned",
    "slanted.piece": "{piece}: {long_edge} edge {long_mm}, {short_edge} edge {short_mm}, slanted at its {at}",
    "slanted.hangs": "{edges}. It comes from one cut with {partner}.",
    "slanted.label": "slanted at its {at}, from one cut with {partner}, face\u00a0up",
    "slanted.label_turned": "slanted at its {at}, from one cut with {partner}; turned half round, never over",
    "slanted.size": "{long_mm} {long_edge}, {short_mm} {short_edge} edge × {width}\u00a0mm",
    "edge.upper": "upper",
    "edge.lower": "lower",
    "edge.left": "left",
    "edge.right": "right",
    "end.start": "start",
    "end.end": "end",
    "splice.part": "{part} is part {number} of {piece}; its other part, {other}, comes from roll\u00a0{roll}",
    "splice.label": "part {number} of {piece}; {other} comes from roll {roll}",
    "splice.hang": "{piece} is spliced: hang {first}, then {second} over its end by {overlap} mm on the member {at} mm "
    "from the start of {first}. Staple both there and tape the joint like a lap.",
}
