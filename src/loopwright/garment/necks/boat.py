"""The boat neck: wide and shallow, from shoulder to shoulder. Common practice: 24 to 30 wide, 2 to 4 deep in front."""

from loopwright.garment.necks.neck import Neck, each, quarter_ellipse

NECK = Neck(
    name="boat",
    width_cm=each(26, 27, 16),
    front_drop_cm=each(3, 3, 2.5),
    back_drop_cm=each(2, 2, 1.5),
    band_cm=each(2, 2, 1.5),
    curve=quarter_ellipse,
    pick_up=0.98,
)
