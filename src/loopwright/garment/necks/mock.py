"""The mock neck: a crew neck with a short standing band. Common practice: a band of 5 to 7 cm."""

from loopwright.garment.necks.neck import Neck, each, quarter_ellipse

NECK = Neck(
    name="mock",
    width_cm=each(18, 18.5, 14),
    front_drop_cm=each(8, 8.5, 5.5),
    back_drop_cm=each(2, 2, 1.5),
    band_cm=each(6, 6, 4),
    curve=quarter_ellipse,
    pick_up=0.95,
)
