"""The hooded neck: one piece linked round the neck, folded at the centre back and closed along its top.

Its measures, height and depth, are points of their own (common practice: 33 to 36 high, 23 to 26 deep for adults).
"""

from loopwright.garment.necks.neck import Neck, each, quarter_ellipse

NECK = Neck(
    name="hood",
    width_cm=each(20, 20.5, 15),
    front_drop_cm=each(9, 9.5, 6),
    back_drop_cm=each(2, 2, 1.5),
    band_cm=each(34, 36, 27),
    curve=quarter_ellipse,
    pick_up=1.0,
    trim="hood",
    note="No cord at a child's hood: see the cautions.",
)
