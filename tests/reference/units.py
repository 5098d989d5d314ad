# Millimetres per unit, exactly, from CSS Values and Units Level 3, section 6.2
# (absolute lengths): 1in = 2.54cm, 1cm = 10mm, 1Q = 1/40 cm, 1pt = 1/72 in,
# 1pc = 1/6 in, 1px = 1/96 in.
# Python >= 3.11, standard library only.
# Run: python tests/reference/units.py
from fractions import Fraction as F

from common import write

cm = F(10)
inch = F(254, 100) * cm
MM = {"mm": cm / 10, "cm": cm, "in": inch, "pt": inch / 72, "pc": inch / 6, "px": inch / 96, "Q": cm / 40}

assert MM["px"] == F(127, 480) and MM["pt"] == F(127, 360) and MM["pc"] == F(127, 30)
write(
    "units.json",
    {
        "about": "millimetres per unit; numerator / denominator is exact, mm is the nearest double shown with 17 digits as text",
        "source": "W3C CSS Values and Units Module Level 3, absolute lengths",
        "units": [
            {"unit": u, "numerator": f.numerator, "denominator": f.denominator, "mm": f"{float(f):.17g}"}
            for u, f in MM.items()
        ],
    },
)
