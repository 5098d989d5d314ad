# The worked point sets in calibration/worked: a projector of throw ratio 1.05 with a
# shifted, bending lens 1500 mm over a table of 1200 x 800 mm, by cv2.projectPoints; a hand
# of 0.5 px and marks wrong by 0.5 mm (1 sigma), and a tape read to 0.5 mm.
# numpy==2.4.6 opencv-python-headless==5.0.0.93
# Run: python tests/reference/worked_points.py
from pathlib import Path

import cv2
import numpy as np

OUT = Path(__file__).parents[2] / "calibration" / "worked"
F = 2016.0
CENTRE = (960.0, 900.0)
K = np.array([[F, 0, CENTRE[0]], [0, F, CENTRE[1]], [0, 0, 1.0]])
DIST = np.array([-0.06, 0, 0, 0, 0])
# Looking straight down: x to the right, y towards the person in the picture.
R = np.array([[1.0, 0, 0], [0, -1, 0], [0, 0, -1]])
LENS = np.array([600.0, 400 + (540 - CENTRE[1]) / F * 1520, 1520.0])


def px(points):
    rvec, _ = cv2.Rodrigues(R)
    out, _ = cv2.projectPoints(np.asarray(points, float)[:, None, :], rvec, -R @ LENS, K, DIST)
    return out[:, 0]


def write(name, head, rows):
    (OUT / name).write_text(head + "".join(",".join(map(str, r)) + "\n" for r in rows))


rng = np.random.default_rng(20)
grid = np.array([(20 + 290 * c, 20 + 760 / 3 * r, 0) for r in range(4) for c in range(5)])
seen = px(grid) + rng.normal(0, 0.5, (20, 2))
given = grid[:, :2] + rng.normal(0, 0.5, (20, 2))
write(
    "twenty-marks.csv",
    "# Twenty marks, 20 mm inside the edge of a table of 1200 x 800 mm, as a hand of 0.5 px\n"
    "# sets them through a lens that bends.\n"
    "mark,table_x_mm,table_y_mm,projector_x_px,projector_y_px\n",
    [(f"{'ABCD'[k // 5]}{k % 5 + 1}", *np.round(g, 1), *np.round(p, 2)) for k, (g, p) in enumerate(zip(given, seen))],
)

# Stuck down anywhere: corners, the middles of the long edges, and two inside.
names = "FL FR BR BL front back left-in right-in".split()
marks = np.array([(12, 15), (1188, 9), (1193, 782), (7, 790), (610, 11), (590, 789), (395, 405), (815, 390)], float)
# Its own frame: FL is the origin and FR lies on the x axis.
turn = np.arctan2(*(marks[1] - marks[0])[::-1])
own = (marks - marks[0]) @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
tape = [
    (names[i], names[j], round(2 * (np.hypot(*(own[i] - own[j])) + rng.normal(0, 0.4))) / 2)
    for i in range(8)
    for j in range(i)
]
tape.sort(key=lambda r: (names.index(r[1]), names.index(r[0])))
tape = [(b, a, mm) for a, b, mm in tape]
write("tape.csv", "# Read from mark to mark, to half a millimetre.\nfrom,to,length\n", tape)
seen = px(np.c_[marks, np.zeros(8)]) + rng.normal(0, 0.5, (8, 2))
write(
    "set-marks.csv",
    "# The pixels set on eight marks whose places a tape tells (tape.csv).\nmark,projector_x_px,projector_y_px\n",
    [(n, *np.round(p, 2)) for n, p in zip(names, seen)],
)

# A board of 60 mm that lies where the light says, within a millimetre, lit on its top.
board = np.array([(300, 200), (900, 200), (900, 600), (300, 600), (600, 400), (600, 200)], float)
seen = px(np.c_[board + (0.6, -0.4), np.full(6, 60.0)]) + rng.normal(0, 0.5, (6, 2))
write(
    "board-marks.csv",
    "# Marks on a board 60 mm thick: the places of the table that they stand over, and the\n"
    "# pixels set on them.\n"
    "table_x_mm,table_y_mm,projector_x_px,projector_y_px\n",
    [(*b, *np.round(p, 2)) for b, p in zip(board, seen)],
)
print("lens", LENS)
