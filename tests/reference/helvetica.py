# How wide text is in Helvetica, 10 units large, by reportlab's copy of the font's metrics.
#
#     python tests/reference/helvetica.py
#
# reportlab==4.4.4
import json
from pathlib import Path

from reportlab.pdfbase.pdfmetrics import stringWidth

TEXTS = [
    "upper 1", "cut 2, a pair", "heel band lining", "Article 12 (size 255, with lining)",
    "".join(chr(k) for k in range(32, 127)), "4 3/16 in", "WAVE, To, AV", "",
]
rows = [[t, stringWidth(t, "Helvetica", 10)] for t in TEXTS]
Path(__file__).with_name("helvetica.json").write_text(json.dumps(rows, indent=1) + "\n")
