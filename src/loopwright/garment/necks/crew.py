"""The crew neck: a half ellipse at the base of the neck, with a band. Common practice: 17 to 19 wide, 7 to 9 deep."""

from loopwright.garment.necks.neck import Neck, each, quarter_ellipse

NECK = Neck(
    name="crew",
    width_cm=each(18, 18.5, 14),
    front_drop_cm=each(9, 9.5, 6),
    back_drop_cm=each(2, 2, 1.5),
    band_cm=each(2, 2, 1.5),
    curve=quarter_ellipse,
    pick_up=0.95,
)
