"""The default set of points of measure: from the body, with ease, for what the designer did not type.

In: body, ease, population. Out: points in cm, each with where it comes from. Source: production reference 1.6, 2, 12.1.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from loopwright.garment.blocks.set_in_crew import cap_height_of, shoulder_drop_cm
from loopwright.garment.bodies import Body
from loopwright.garment.measures import as_point, check_widths
from loopwright.sources.table import table


def usual_points(body: Body, ease_cm: float, typed: Mapping[str, float]) -> dict[str, tuple[float, str]]:
    """Every point of measure as (cm, words); `typed` points are used where others follow from them, and returned too.

    Full upper arm, armhole depth and underarm sleeve follow the same way from the body.

    Raises:
        Problem: typed measures that contradict each other or the body's.
    """
    parts = {row.text("part"): row[body.population] for row in table(__package__, "ease_parts")}
    parts |= {name: body[name] for name in parts if name in body.figures and name in OF_THE_BODY}
    points: dict[str, tuple[float, str]] = {name: (value, "typed") for name, value in typed.items()}

    def take(name: str, value: float, words: str) -> float:
        return points.setdefault(name, (value, words))[0]

    chest = take("half_chest", (body.girth_cm + ease_cm) / 2, f"(body {body.girth_cm:g} + ease {ease_cm:g}) / 2")
    take("half_hem", chest + parts["hem_over_chest"], f"half chest {parts['hem_over_chest']:+g}")
    wide, widest = body["biacromial"] + parts["across_shoulder"], parts["across_over_chest"] * chest
    words = (
        f"{parts['across_over_chest']:g} of the half chest" if wide > widest else "shoulder breadth of the body + ease"
    )
    across = take("across_shoulder", min(wide, widest), words)
    neck = take("neck_width", parts["neck_width"], "usual crew neck")
    take("front_neck_drop", parts["front_neck_drop"], "usual crew neck")
    take("back_neck_drop", parts["back_neck_drop"], "usual crew neck")
    check_widths(
        {"half_chest": chest, "across_shoulder": across, "neck_width": neck}
        | {name: value for name, value in typed.items() if name == "armhole_straight"},
        "measures of the base size",
    )
    shoulder = (across - neck) / 2
    drop = take(
        "shoulder_drop",
        round(shoulder_drop_cm(shoulder_length_cm=shoulder, angle_deg=parts["shoulder_angle_deg"]), 1),
        f"shoulder at {parts['shoulder_angle_deg']:g}°",
    )
    inset = (chest - across) / 2
    if "armhole_straight" not in typed:
        depth = body["nape_to_armpit"] + parts["armhole_depth"]
        around = {"shoulder_drop": drop, "half_chest": chest, "across_shoulder": across}
        take(*as_point("armhole_depth", depth, around), "armpit level of the body + ease")
    straight = points["armhole_straight"][0]
    arm = take("half_upper_arm", (body["upper_arm"] + parts["upper_arm"]) / 2, "upper arm of the body + ease, half")
    take("half_cuff", (body["wrist"] + parts["cuff"]) / 2, "wrist of the body + ease, half")
    height = math.sqrt(max(straight**2 - inset**2, 0.0))
    cap = cap_height_of(inset_cm=inset, armhole_height_cm=height, upper_arm_cm=2 * arm)
    underarm = body["outseam"] + parts["underarm_less_outseam"]
    take("sleeve_from_shoulder", underarm + cap, "arm of the body, less the armhole, with the cap")
    take("length", body["back_waist"] + parts["length_below_waist"], "back waist length of the body + hip length")
    for name in ("hem_rib", "cuff_rib", "neckband"):
        take(name, parts[name], "usual")
    return points


OF_THE_BODY = ("neck_width", "front_neck_drop", "length_below_waist")  # parts that grow with a child's height
