"""The square neck: its centre is held at once, its sides are upright. Common practice: 18 to 22 wide, 8 to 12 deep."""

from loopwright.garment.necks.neck import Neck, each, upright

NECK = Neck(
    name="square",
    width_cm=each(20, 20, 15),
    front_drop_cm=each(10, 10, 6.5),
    back_drop_cm=each(2, 2, 1.5),
    band_cm=each(2.5, 2.5, 2),
    curve=upright,
    pick_up=0.95,
    note="The band is mitred at both corners.",
)
