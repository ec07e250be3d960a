"""The V neck: two straight edges, narrowed with marks from two centre needles. Common practice: 18 to 24 deep."""

from loopwright.garment.necks.neck import Neck, each, straight

NECK = Neck(
    name="V",
    width_cm=each(18, 18.5, 14),
    front_drop_cm=each(21, 22, 13),
    back_drop_cm=each(2, 2, 1.5),
    band_cm=each(2.5, 2.5, 2),
    curve=straight,
    pick_up=0.92,
    is_fashioned=True,
    note="The band is mitred or lapped at the centre front.",
)
