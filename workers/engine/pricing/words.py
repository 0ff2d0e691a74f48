"""What operations are called on a quote."""

from __future__ import annotations

from api_schema.outputs import OperationName

OPERATION_WORDS: dict[OperationName, str] = {
    "set_up_room": "Set up rooms",
    "hang_membrane": "Hang membrane",
    "hang_piece": "Measure, cut and offer up pieces",
    "tape_lap": "Tape laps",
    "tape_corner": "Tape internal corners",
    "seal_timber_edge": "Seal edges to timber",
    "seal_masonry_edge": "Seal edges to masonry",
    "seal_slab_edge": "Seal edges to slab",
    "seal_frame": "Seal to frames",
    "cut_out_opening": "Cut out openings",
    "fit_collar": "Fit collars",
    "tape_captive": "Tape pipes without a free end",
    "tape_section": "Tape round timber and steel",
    "staple": "Staple",
    "fix_batten": "Fix battens",
    "check_layer": "Check the layer",
    "clear_away": "Clear away",
    "pre_test_walk": "Walk round before the pressure test",
}
