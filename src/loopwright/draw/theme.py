"""Colour, line and type of every drawing and page: paper, ink, one thread. Values in one place.

Line weights in px of the screen; a print sheet multiplies them. Fills that touch differ by pattern, never by hue alone.
"""

from __future__ import annotations

PAPER = "#FBFBF9"
BOARD = "#EEF0ED"
INK = "#172024"
INK_2 = "#515C61"
INK_3 = "#7B868A"
THREAD = "#A3195B"
TINT = "#F8E8F0"
TONE_1 = "#EBEEEC"
TONE_2 = "#D3DAD8"
TONE_3 = "#9BA7A8"
RULE = "#C6CDCB"
HAIR = "#E1E5E3"

OUTLINE = 1.5
BOUND_OFF = 3.2
DIMENSION = 0.7
SHORT_ROW = 0.4
NARROWING = 1.0
WIDENING = 0.7
VALUE_LINE = 1.8

SANS = '"Source Sans Pro", "Helvetica Neue", Arial, sans-serif'
SERIF = '"Source Serif Pro", Georgia, serif'

# Dash of the line under a figure or along a whisker, by basis: the better known, the more solid.
EVIDENCE_DASH = {
    "measured": "",
    "simulated": "",
    "published": "7 3",
    "common practice": "3 3",
    "assumed": "1.5 2.5",
    "identity": "",
    "entered": "",
}
