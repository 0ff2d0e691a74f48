"""English words of what the analysis of a fan test says, by key.

Every key is a whole sentence, so that a language may order its words as it likes. Where one sentence differs in a few
words only, it is put together here, in the table of one language, and not by the engine.
"""

from __future__ import annotations

from collections.abc import Mapping

_ZERO_FLOW = {
    1: "{mean_1} Pa {when_1}",
    2: "{mean_1} Pa {when_1} and {mean_2} Pa {when_2}",
    3: "{mean_1} Pa {when_1} and {mean_2} Pa {when_2} and {mean_3} Pa {when_3}",
    4: "{mean_1} Pa {when_1} and {mean_2} Pa {when_2} and {mean_3} Pa {when_3} and {mean_4} Pa {when_4}",
}
_LEAST = {
    "plain": "about {wanted_pa} Pa is wanted",
    "zero_flow": "about {wanted_pa} Pa is wanted ({times} times the zero-flow pressure)",
}
_SIDES = {"depressurisation": "below", "pressurisation": "above"}
_NEAR = {"above": "lies {percent} % above", "below": "lies {percent} % below"}
_FAR = {"times": "is {times} times"}
_SLIPS = {
    "unknown": "",
    "digits": "Have two digits changed places, {meant} m³/h? ",
    "pressure": "Was the pressure {meant} Pa? ",
}
_LARGE_SLIPS = {  # they put a reading far off only
    key: f"The flow looks {words}: a decimal point that slipped, or a fan range read wrongly? "
    for key, words in (
        ("ten_small", "ten times too small"),
        ("ten_large", "ten times too large"),
        ("hundred_small", "a hundred times too small"),
        ("hundred_large", "a hundred times too large"),
    )
}
_MEASURED = "{value} {unit} at 50 Pa (95 % interval {low} to {high})"

PRESSURE_WORDS: Mapping[str, str] = {
    # how it was reckoned
    "test_method.iso_9972": "Plain least-squares line through ln(flow) and ln(pressure) after ISO 9972, flows corrected by the ratio of absolute temperatures and brought to 20 °C and 101 325 Pa.",
    "test_method.flow_weighted": "Least-squares line through ln(flow) and ln(pressure) weighted by flow squared, flows corrected by the square root of the ratio of absolute temperatures, as in the Canadian energy audits.",
    "test_interval.scatter": "Two-sided 95 % by Student's t, from the scatter of the readings about the line. Faults of the instruments, the wind's slow changes and the measured volume or area come on top.",
    # beside the target
    "test_target.unit.n50_per_h": "air changes per hour",
    "test_target.unit.q50_m3_h_m2": "m³/(h·m²)",
    "test_target.met": f"{_MEASURED} lies under the target of {{target}} with its whole interval.",
    "test_target.not_met": f"{_MEASURED} lies over the target of {{target}} with its whole interval.",
    "test_target.unclear_under": f"{_MEASURED}: the measured value is not over the target of {{target}}, but the interval reaches across it. A repeat of the same test could come out over. Whoever set the target decides whether the measured value alone counts.",
    "test_target.unclear_over": f"{_MEASURED}: the measured value is over the target of {{target}}, but the interval reaches across it. A repeat of the same test could come out under. Whoever set the target decides whether the measured value alone counts.",
    "test_check.target.no_size": "The size that the target is stated by is not known: give the internal volume for air changes, the envelope area for flow by area.",
    # the weather
    "test_check.wind.not_noted": "The wind was not noted.",
    "test_check.wind.strong": "Wind of {wind_m_s} m/s is over {limit_m_s} m/s: gusts move the pressure; repeat on a calmer day.",
    "test_check.wind.met": "Wind of {wind_m_s} m/s, not over {limit_m_s} m/s.",
    "test_check.warm_air.no_height": "The building's height is not given, so the pull of warm air (height × temperature difference) is not checked.",
    "test_check.warm_air.strong": "Height {height_m} m × temperature difference {difference_k} K = {product_m_k} m·K, over {limit_m_k} m·K: the zero-flow pressure will hardly be steady; test when it is milder.",
    "test_check.warm_air.met": "Height {height_m} m × temperature difference {difference_k} K = {product_m_k} m·K, not over {limit_m_k} m·K.",
    # both directions
    "test_check.directions_agree.far": "The two directions differ by {percent} % at 50 Pa: something opens one way only. Look for flaps, loose membrane, sashes that lift off their seals.",
    "test_check.directions_agree.met": "The two directions differ by {percent} % at 50 Pa.",
    "test_check.directions_agree.one": "One direction only; a leak that opens the other way is not seen. Both directions and their mean say more.",
    # the zero-flow pressure
    "test_check.zero_flow.not_read_after": "No zero-flow pressure was read after the steps; seal the fan and read it again.",
    "test_check.zero_flow.before_above": "before (mean above zero)",
    "test_check.zero_flow.before_below": "before (mean below zero)",
    "test_check.zero_flow.after_above": "after (mean above zero)",
    "test_check.zero_flow.after_below": "after (mean below zero)",
    **{
        f"test_check.zero_flow.over_{count}": f"Zero-flow pressure is {means}; more than {{limit_pa}} Pa either way voids the test. Wait for less wind or a smaller temperature difference."
        for count, means in _ZERO_FLOW.items()
    },
    "test_check.zero_flow.met": "Zero-flow pressure {zero_flow_pa} Pa, within {limit_pa} Pa.",
    # the steps
    "test_check.steps.few": "{count} steps; at least {least} are wanted, 8 to 10 are better.",
    "test_check.steps.met": "{count} steps, at least {least} are wanted.",
    **{
        f"test_check.lowest_pressure.{key}.{why}": words
        for why, wanted in _LEAST.items()
        for key, words in (
            ("low", f"The lowest step is {{lowest_pa}} Pa; {wanted}: so low, wind and the zero-flow drown the reading. Leave the lowest steps out."),
            ("high", f"The lowest step is {{lowest_pa}} Pa; {wanted}. Areas at 4 and 10 Pa are drawn out further beyond the readings."),
            ("met", f"The lowest step is {{lowest_pa}} Pa; {wanted}."),
        )
    },
    "test_check.highest_pressure.short": "The highest step is {highest_pa} Pa after the zero-flow is taken off; {wanted_pa} Pa is wanted, or the flow at 50 Pa is drawn out beyond the readings. Go to 55 to 60 Pa.",
    "test_check.highest_pressure.met": "The highest step is {highest_pa} Pa, at least {wanted_pa} Pa.",
    "test_check.step_width.wide": "The widest step is {gap_pa} Pa, from {from_pa} Pa; about 10 Pa or less is wanted.",
    "test_check.step_width.met": "The widest step is {gap_pa} Pa, from {from_pa} Pa.",
    # the signs
    **{
        f"test_check.sign.{key}.{direction}": words
        for direction, side in _SIDES.items()
        for key, words in (
            ("met", f"All readings lie {side} zero, as they do in {direction}."),
            ("all_other", f"All readings have the other sign than {direction} gives (inside less outside, {side} zero). If only the size was typed, check that the zero-flow readings carry the same sign habit, since they are taken off."),
            ("one_other", f"Reading {{reading}} is {{pressure_pa}} Pa, the others lie {side} zero: a lost minus sign? As typed it counts as {{counts_pa}} Pa."),
        )
    },
    # the fit
    "test_check.exponent.met": "Exponent n = {n}, within {least} to {most}.",
    "test_check.exponent.outside": "Exponent n = {n}, outside {least} to {most}: no leak behaves so. Something moved during the test, or a reading or the zero-flow is wrong.",
    "test_check.r_squared.met": "r² = {r_squared} of the plain fit, at least {least}.",
    "test_check.r_squared.under": "r² = {r_squared} of the plain fit, under {least}: the readings do not lie on one line. See the readings named below.",
    # readings that stand apart
    "test_check.outlier.none": "No reading stands apart from the others.",
    **{
        f"test_check.outlier.{far}.{slip}": f"Reading {{reading}} ({{pressure_pa}} Pa, {{flow_m3_h}} m³/h) {lies} what the other readings put there, about {{expected_m3_h}} m³/h. {asks}Check it against the site sheet; then think of a gust, a door opened, a fan range changed or the flow not yet steady."
        for those, slips in ((_NEAR, _SLIPS), (_FAR, {**_SLIPS, **_LARGE_SLIPS}))
        for far, lies in those.items()
        for slip, asks in slips.items()
    },
}  # fmt: skip
