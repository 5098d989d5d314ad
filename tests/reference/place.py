# Where a piece fits on cloth, by Shapely; which cells a polygon touches and holds, by Shapely; where a set of cells
# fits into another, by SciPy; the largest rectangle of free cells, by trying all.
# numpy==2.4.6 scipy==1.17.1 shapely==2.2.0
# Run: pip install numpy==2.4.6 scipy==1.17.1 shapely==2.2.0; python tests/reference/place.py
import numpy as np
from scipy.signal import correlate2d
from shapely import Polygon, affinity, box
from shapely.ops import unary_union

from common import ring, write

rng = np.random.default_rng(47)
STEP = 3  # mm between the places that are told
ROUNDING = 0.05  # mm²: what is forgiven of each that it lies off or over
ROOMY = 2.0  # mm: more than the diagonal of a cell of 1 mm


def blob(n, wide, high, rough, at=(0.0, 0.0)):
    far = 1 - rough * rng.random(n)
    angle = 2 * np.pi * np.arange(n) / n
    return Polygon([(round(at[0] + f * wide / 2 * np.cos(a), 4), round(at[1] + f * high / 2 * np.sin(a), 4)) for f, a in zip(far, angle)])


def hooked(wide, high):
    """A piece with a slot from its right."""
    w, h = wide / 2, high / 2
    return Polygon([(-w, -h), (w, -h), (w, -h / 3), (-w / 3, -h / 4), (-w / 3, h / 4), (w, h / 3), (w, h), (-w, h)])


def fit_case(piece, outline, holes, taken, gap, turn, mirrored):
    """Rows from the lowest: 3 it fits with room all round, 2 it fits, 1 but for less than ROUNDING, 0 it does not."""
    turned = affinity.scale(piece, -1 if mirrored else 1, 1, origin=(0, 0))
    turned = affinity.rotate(turned, turn, origin=(0, 0))
    blocked = unary_union(holes)
    x0, y0, x1, y1 = outline.bounds
    lines = []
    for y in range(int(np.floor(y0)), int(y1) + 1, STEP):
        line = ""
        for x in range(int(np.floor(x0)), int(x1) + 1, STEP):
            there = affinity.translate(turned, x, y)
            off = [there.difference(outline).area] + [there.intersection(h).area for h in holes]
            clear = all(there.distance(t) >= gap for t in taken)
            wide = there.buffer(ROOMY)
            if not clear or max(off) > ROUNDING:
                line += "0"
            elif max(off) > 1e-9:
                line += "1"
            elif not (outline.covers(wide) and not wide.intersects(blocked) and all(wide.distance(t) >= gap for t in taken)):
                line += "2"
            else:
                line += "3"
        lines.append(line)
    return {
        "piece": ring(piece.exterior.coords, 4, True),
        "outline": ring(outline.exterior.coords, 4, True),
        "holes": [ring(h.exterior.coords, 4, True) for h in holes],
        "taken": [ring(t.exterior.coords, 4, True) for t in taken],
        "gap": gap,
        "turn_deg": turn,
        "mirrored": mirrored,
        "first": [int(np.floor(x0)), int(np.floor(y0))],
        "step": STEP,
        "rows": lines,
    }


fits = [
    fit_case(
        blob(14, 46, 30, 0.3),
        blob(30, 170, 130, 0.12),
        [blob(9, 16, 12, 0.3, (-38, 12)), blob(7, 9, 14, 0.2, (30, -33))],
        [blob(12, 40, 26, 0.2, (34, 20)), blob(12, 34, 30, 0.2, (-18, -30))],
        3.0,
        turn,
        mirrored,
    )
    for turn, mirrored in [(0.0, False), (27.5, False), (-93.25, True)]
]
fits.append(
    fit_case(hooked(60, 40), blob(40, 180, 140, 0.08), [blob(10, 8, 7, 0.2, (10, 5))], [], 2.0, 12.0, False)
)


def cells_case(shape, side, columns, rows):
    """1 touched by the inside, 2 held whole; rows from the lowest."""
    lines = []
    for r in range(rows):
        line = ""
        for c in range(columns):
            cell = box(c * side, r * side, (c + 1) * side, (r + 1) * side)
            area = shape.intersection(cell).area
            line += "2" if cell.area - area < 1e-9 else "1" if area > 1e-7 else "0"
        lines.append(line)
    return {
        "outer": ring(shape.exterior.coords, 6, True),
        "holes": [ring(h.coords, 6, False) for h in shape.interiors],
        "cell": side,
        "rows": lines,
    }


def moved(shape, x, y):
    return affinity.translate(shape, x, y)


cells = [
    cells_case(moved(blob(17, 26, 18, 0.4), 16, 12), 1.0, 34, 26),
    cells_case(moved(blob(11, 26, 18, 0.6), 16, 12).difference(box(12.3, 10.2, 15.7, 13.1)), 0.8, 40, 30),
    # Edges along the grid's lines, and spikes thinner than a cell.
    cells_case(Polygon([(2, 3), (9, 3), (9, 8), (2, 8)]), 1.0, 12, 11),
    cells_case(Polygon([(1.2, 1.1), (20.4, 5.3), (1.2, 1.5)]), 1.0, 22, 8),
    cells_case(Polygon([(1, 1), (5.2, 8.5), (2.4, 14.9), (1.9, 14.2), (4.1, 8.2)]), 1.0, 8, 16),
]


def text(mask):
    return ["".join("1" if v else "0" for v in row) for row in mask]


def erode_case(columns, rows, share, piece):
    free = rng.random((rows, columns)) < share
    free[rows // 3 : 2 * rows // 3, columns // 6 : 5 * columns // 6] = True
    hits = correlate2d(free.astype(int), piece.astype(int), mode="valid")
    return {"free": text(free), "piece": text(piece), "fits": text(hits == piece.sum())}


def disc(n):
    y, x = np.mgrid[:n, :n] - (n - 1) / 2
    mask = x * x + y * y <= n * n / 4
    return mask & ~((abs(x) < n / 8) & (abs(y) < n / 8))


erode = [
    erode_case(150, 40, 0.995, disc(9)),
    erode_case(70, 50, 0.99, rng.random((5, 7)) < 0.7),
    erode_case(200, 12, 0.999, np.ones((3, 66), bool)),
]


def rectangle_case(columns, rows, share):
    free = rng.random((rows, columns)) < share
    sums = np.pad(free, ((1, 0), (1, 0))).cumsum(0).cumsum(1)
    best = 0
    for a in range(rows):
        for b in range(a + 1, rows + 1):
            for c in range(columns):
                for d in range(c + 1, columns + 1):
                    if sums[b, d] - sums[a, d] - sums[b, c] + sums[a, c] == (b - a) * (d - c):
                        best = max(best, (b - a) * (d - c))
    return {"free": text(free), "area": int(best)}


rectangles = [rectangle_case(23, 14, s) for s in (0.5, 0.8, 0.95, 0.0)] + [rectangle_case(70, 5, 0.93)]

write("place.json", {"fits": fits, "cells": cells, "erode": erode, "rectangles": rectangles})
