"""The turtle or roll neck: a crew neck with a long tube that folds over. Common practice: 18 to 22 cm high."""

from loopwright.garment.necks.neck import Neck, each, quarter_ellipse

NECK = Neck(
    name="turtle",
    width_cm=each(18, 18.5, 14),
    front_drop_cm=each(8, 8.5, 5.5),
    back_drop_cm=each(2, 2, 1.5),
    band_cm=each(20, 20, 13),
    curve=quarter_ellipse,
    pick_up=0.95,
    trim="collar",
    note="The tube folds outwards: link it so that its good side shows when folded.",
)
