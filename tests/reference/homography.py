# Four-point homographies, table mm -> projector px, three independent ways:
#   numpy  8x8 linear system in double precision (numpy.linalg.solve)
#   opencv cv2.getPerspectiveTransform (takes its points in single precision and
#          forms the products x u, y u, x v, y v in single precision too)
#   exact  the same 8x8 system in rational arithmetic, used only to check numpy
# numpy==2.4.6 opencv-python-headless==5.0.0.93
# Run: pip install numpy==2.4.6 opencv-python-headless==5.0.0.93; python tests/reference/homography.py
from fractions import Fraction as F

import cv2
import numpy as np

from common import write

TABLE = [(0, 0), (1200, 0), (1200, 800), (0, 800)]
MARKS = [(60, 50), (1140, 50), (1140, 750), (60, 750)]
GRID = [(1200 * i / 8, 800 * j / 6) for j in range(7) for i in range(9)]


def system(src, dst):
    rows, rhs = [], []
    for (x, y), (u, v) in zip(src, dst):
        rows += [[x, y, 1, 0, 0, 0, -x * u, -y * u], [0, 0, 0, x, y, 1, -x * v, -y * v]]
        rhs += [u, v]
    return rows, rhs


def solve_numpy(src, dst):
    a, b = system(src, dst)
    return np.append(np.linalg.solve(np.array(a, float), np.array(b, float)), 1).reshape(3, 3)


def solve_exact(src, dst):
    q = lambda pts: [(F(x), F(y)) for x, y in pts]
    a, b = system(q(src), q(dst))
    m = [[F(c) for c in r] + [F(v)] for r, v in zip(a, b)]
    n = len(m)
    for i in range(n):
        p = next(k for k in range(i, n) if m[k][i] != 0)
        m[i], m[p] = m[p], m[i]
        m[i] = [c / m[i][i] for c in m[i]]
        for k in range(n):
            if k != i and m[k][i] != 0:
                m[k] = [c - m[k][i] * d for c, d in zip(m[k], m[i])]
    return [m[i][n] for i in range(n)] + [F(1)]


def apply(h, pts):
    p = np.c_[np.array(pts, float), np.ones(len(pts))] @ np.asarray(h, float).T
    return p[:, :2] / p[:, 2:], p[:, 2]


def apply_exact(h, pts):
    out = []
    for x, y in pts:
        x, y = F(x), F(y)
        w = h[6] * x + h[7] * y + h[8]
        out.append((float((h[0] * x + h[1] * y + h[2]) / w), float((h[3] * x + h[4] * y + h[5]) / w)))
    return np.array(out)


def pose(lens, aim, roll, f, c, pts):
    """Pixels of table points seen from a lens at `lens` that looks at `aim`."""
    lens, aim = np.array(lens, float), np.array(aim, float)
    z = (aim - lens) / np.linalg.norm(aim - lens)
    x = np.cross(z, [0.0, 1.0, 0.0])
    x = -x / np.linalg.norm(x)
    x = x if x[0] > 0 else -x
    y = np.cross(z, x)
    a = np.deg2rad(roll)
    x, y = np.cos(a) * x + np.sin(a) * y, -np.sin(a) * x + np.cos(a) * y
    out = []
    for p in pts:
        d = np.array([*p, 0.0]) - lens
        out.append((f * (d @ x) / (d @ z) + c[0], f * (d @ y) / (d @ z) + c[1]))
    return out


def r64(pts):
    """To 1/64 px, which single precision holds exactly."""
    return [(round(u * 64) / 64, round(v * 64) / 64) for u, v in pts]


HD, UHD = (960, 540), (1920, 1080)
CASES = [
    ("straight down, 1.6 px per mm", TABLE, [(0, 1200), (1920, 1200), (1920, -80), (0, -80)]),
    ("straight down, full-HD frame", TABLE, r64([(150, 1070), (1770, 1070), (1770, -10), (150, -10)])),
    ("keystone, wide at the far edge", TABLE, [(212.5, 1050.25), (1702.75, 1043.5), (1880, 31.25), (40.5, 22)]),
    ("keystone, wide at the near edge", TABLE, [(25.25, 1064.5), (1897.75, 1058), (1651.5, 44.75), (255, 61.25)]),
    ("lens above the middle, 4 degrees out", TABLE, r64(pose((640, 455, 1400), (600, 400, 0), 1.5, 2200, HD, TABLE))),
    ("lens beyond the far edge, table marks", MARKS, r64(pose((600, 1300, 1500), (600, 420, 0), 0, 2500, HD, MARKS))),
    ("lens at a corner, turned", MARKS, r64(pose((-150, 950, 1250), (560, 420, 0), -12, 1900, HD, MARKS))),
    ("upside-down projector", TABLE, [(1870.5, 40.25), (61.25, 52.5), (30, 1049), (1889.75, 1061.5)]),
    ("turned by 90 degrees", TABLE, [(1500.5, 1075), (1492.25, 10.5), (420, 3.25), (431.75, 1068.5)]),
    ("mirrored: through one mirror", TABLE, [(1811, 1040.5), (110.25, 1047), (72.5, 35.75), (1839.5, 28)]),
    ("mirrored and keystoned, single precision cannot hold the pixels", TABLE, [(1802.1, 1041.7), (131.3, 1033.9), (17.3, 44.1), (1893.7, 21.3)]),
    ("4K, lens above the middle", TABLE, r64(pose((580, 380, 1500), (605, 398, 0), -0.7, 4700, UHD, TABLE))),
    ("4K, keystone from the long side", MARKS, r64(pose((620, -450, 1350), (600, 330, 0), 0.4, 3700, UHD, MARKS))),
    ("4K, mirrored", TABLE, [(3801.25, 2101.5), (40.75, 2110), (152.5, 61.25), (3666, 77.75)]),
    ("extreme: grazing from the far side", TABLE, r64(pose((600, 2600, 700), (600, 500, 0), 0, 2300, HD, TABLE))),
    ("extreme: far edge a tenth of the near edge", TABLE, [(10.5, 1070), (1909.5, 1070), (1055, 40.25), (865, 40.25)]),
    ("extreme: small and far away, half of the frame unused", TABLE, [(900.5, 610.25), (1015.75, 601.5), (1010.25, 530), (905, 521.75)]),
    ("four marks near one corner, extrapolated", [(100, 100), (400, 110), (390, 350), (95, 330)],
     [(312.5, 905.25), (741.75, 886.5), (725, 541.25), (309.5, 572)]),
    ("given out of turn on both sides: still good", [(0, 0), (1200, 800), (1200, 0), (0, 800)],
     [(212.5, 1050.25), (1880, 31.25), (1702.75, 1043.5), (40.5, 22)]),
    ("random quad, tenths of a pixel", TABLE, [(87.3, 1001.1), (1799.9, 1066.6), (1850.7, 102.2), (141.9, 15.7)]),
]

out, worst_np, worst_cv = [], 0, 0
for name, src, dst in CASES:
    h = solve_numpy(src, dst)
    hc = cv2.getPerspectiveTransform(np.float32(src), np.float32(dst))
    he = solve_exact(src, dst)
    g, w = apply(h, GRID)
    assert np.all(w > 0), name  # the horizon stays off the table
    gc = cv2.perspectiveTransform(np.array(GRID)[:, None, :], hc)[:, 0]
    ge = apply_exact(he, GRID)
    back, _ = apply(h, src)
    dn, dc = np.abs(g - ge).max(), np.abs(gc - ge).max()
    assert np.abs(back - np.array(dst)).max() < 1e-8, name
    assert dn < 1e-7 and dc < 0.02, (name, dn, dc)
    exact32 = all(float(np.float32(c)) == c for p in dst for c in p)
    worst_np, worst_cv = max(worst_np, dn), max(worst_cv, dc)
    print(f"{name}: numpy {dn:.1e} px, opencv {dc:.1e} px, det {np.linalg.det(h):.3g}")
    out.append({
        "name": name, "table_mm": src, "px": dst, "h_numpy": h, "h_opencv": hc,
        "mirrored": bool(np.linalg.det(h) > 0), "single_precision_holds_px": exact32,
        "numpy_error_px": float(f"{dn:.2g}"), "opencv_error_px": float(f"{dc:.2g}"),
        "grid_px_numpy": g, "grid_px_opencv": gc,
    })

T = [[0, 0], [1200, 0], [1200, 800], [0, 800]]
P = [[212.5, 1050.25], [1702.75, 1043.5], [1880.0, 31.25], [40.5, 22.0]]
third = [[P[0][k] + (P[1][k] - P[0][k]) / 2 for k in (0, 1)]]
DEGENERATE = [
    ("three table points in line", [[0, 0], [600, 0], [1200, 0], [0, 800]], P),
    ("three pixels in line", T, [P[0], third[0], P[1], P[3]]),
    ("three pixels in line, aslant", T, [[100, 100], [500, 300], [900, 500], [120, 900]]),
    ("all four table points in line", [[0, 0], [300, 200], [600, 400], [900, 600]], P),
    ("all four pixels in line", T, [[0, 0], [300, 200], [600, 400], [900, 600]]),
    ("two table points the same", [[0, 0], [0, 0], [1200, 800], [0, 800]], P),
    ("two pixels the same", T, [P[0], P[1], P[1], P[3]]),
    ("all pixels the same", T, [P[0]] * 4),
    ("crossed order: last two pixels exchanged", T, [P[0], P[1], P[3], P[2]]),
    ("crossed order: first two table points exchanged", [T[1], T[0], T[2], T[3]], P),
    ("one pixel inside the triangle of the others", T, [[100, 1000], [1800, 1000], [950, 700], [900, 100]]),
    ("NaN in a table point", [[0, 0], [1200, "NaN"], [1200, 800], [0, 800]], P),
    ("NaN in a pixel", T, [P[0], ["NaN", 1043.5], P[2], P[3]]),
    ("infinite pixel", T, [P[0], P[1], ["inf", 31.25], P[3]]),
    ("minus infinite table point", [["-inf", 0], [1200, 0], [1200, 800], [0, 800]], P),
]

NEARLY = [
    ("three pixels within a thousandth of a line, convex", T, [[100, 100], [500, 299.999], [900, 500], [120, 900]]),
    ("two pixels a thousandth apart", T, [P[0], P[1], [1702.75, 1043.499], P[3]]),
    ("a table of 1.2 mm x 0.8 mm", [[c / 1000 for c in q] for q in T], P),
]

write("homography.json", {
    "about": "four-point homographies, table mm -> projector px; (u w, v w, w) = H (x, y, 1), H by rows",
    "normalised": "h33 = 1; none of these tables has its origin on the horizon",
    "mirrored": "true where det H > 0: table y points away and pixel y points down, so an honest projector has det H < 0",
    "errors": "largest distance per axis, over the grid, from the same system solved in rational arithmetic",
    "worst_numpy_error_px": float(f"{worst_np:.2g}"), "worst_opencv_error_px": float(f"{worst_cv:.2g}"),
    "grid": "9 x 7 table points, x fastest: x = 150 i, y = 800 j / 6",
    "grid_mm": GRID,
    "cases": out,
    "degenerate_about": "each must be refused; \"NaN\", \"inf\" and \"-inf\" stand for those doubles",
    "degenerate": [{"name": n, "table_mm": s, "px": d} for n, s, d in DEGENERATE],
    "nearly_degenerate_about": "no right answer is given: must not yield NaN or panic; refusing is good",
    "nearly_degenerate": [{"name": n, "table_mm": s, "px": d} for n, s, d in NEARLY],
})
