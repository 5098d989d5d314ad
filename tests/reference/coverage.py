# Exact area coverage of pixels by polygons, by Shapely, on a grid of 48 x 32 px.
# numpy==2.4.6 shapely==2.2.0
# Run: pip install numpy==2.4.6 shapely==2.2.0; python tests/reference/coverage.py
import numpy as np
from shapely import Polygon, affinity, area, box, intersection, is_valid

from common import polys, ring, write

W, H = 48, 32
rng = np.random.default_rng(48032)


def regular(n, r, start=0.0):
    a = start + 2 * np.pi * np.arange(n) / n
    return Polygon(np.c_[r * np.cos(a), r * np.sin(a)])


def star(spikes, spike_deg, r):
    """Spikes with the stated angle at their tips, tips on radius r."""
    half, step = np.deg2rad(spike_deg / 2), np.pi / spikes
    inner = r * np.sin(half) / np.sin(np.pi - half - step)
    a = np.arange(2 * spikes) * step
    q = np.where(np.arange(2 * spikes) % 2 == 0, r, inner)
    return Polygon(np.c_[q * np.cos(a), q * np.sin(a)])


def project(poly, h):
    m = lambda c: (lambda p: p[:, :2] / p[:, 2:])(np.c_[np.array(c)[:, :2], np.ones(len(c))] @ np.array(h, float).T)
    return Polygon(m(poly.exterior.coords), [m(r.coords) for r in poly.interiors])


def placed(poly):
    turn = rng.uniform(0, 360)
    x, y = rng.uniform(-1, 1, 2)
    return affinity.translate(affinity.rotate(poly, turn, origin=(0, 0)), W / 2 + x, H / 2 + y)


slot = Polygon([(-18, -10), (18, -10), (18, 10), (0.75, 10), (0.75, -6), (-0.75, -6), (-0.75, 10), (-18, 10)])
ell = Polygon([(-12, -11), (12, -11), (12, -4), (-4, -4), (-4, 11), (-12, 11)])
hole = Polygon(regular(6, 13).exterior.coords, [regular(32, 4).exterior.coords])
frame = Polygon([(-13, -9), (13, -9), (13, 9), (-13, 9)], [[(-10, -6), (-10, 6), (10, 6), (10, -6)]])
wild = Polygon([(r * np.cos(a), r * np.sin(a)) for r, a in zip(rng.uniform(5, 15, 15), 2 * np.pi * np.arange(15) / 15)])
KEY = [[1.0, 0.12, 0], [0.05, 0.9, 0], [0.011, -0.006, 1]]

SHAPES = [
    ("axis-aligned box on pixel edges", Polygon([(7, 5), (30, 5), (30, 22), (7, 22)])),
    ("axis-aligned box off pixel edges", affinity.translate(Polygon([(0, 0), (21.5, 0), (21.5, 13.25), (0, 13.25)]), *rng.uniform(5, 9, 2))),
    ("triangle", placed(Polygon([(-14, -9), (15, -7), (-3, 12)]))),
    ("star, 6 spikes of 30 degrees", placed(star(6, 30, 14))),
    ("slot 1.5 px wide", placed(slot)),
    ("slot 1.5 px wide, through a keystone", affinity.translate(project(affinity.rotate(slot, 17, origin=(0, 0)), KEY), 24.3, 15.6)),
    ("L", placed(ell)),
    ("hexagon with a round hole", placed(hole)),
    ("frame, 3 px wide, through a keystone", affinity.translate(project(affinity.rotate(frame, -31, origin=(0, 0)), KEY), 22.9, 15.2)),
    ("strip 0.3 px wide", placed(Polygon([(-16, -0.15), (16, -0.15), (16, 0.15), (-16, 0.15)]))),
    ("fifteen-cornered, concave", placed(wild)),
    ("partly outside the grid", affinity.translate(star(5, 30, 15), 45.7, 3.35)),
    ("smaller than a pixel", Polygon([(20.21, 11.33), (20.64, 11.38), (20.47, 11.81)])),
    ("tiny, across the corner of four pixels", Polygon([(19.8, 12.1), (20.05, 11.85), (20.3, 12.05), (20.1, 12.25)])),
]

cells = np.array([[box(i, j, i + 1, j + 1) for i in range(W)] for j in range(H)])
frame_box = box(0, 0, W, H)
cases = []
for name, poly in SHAPES:
    # the rounded corners are the truth
    poly = Polygon([(round(x, 9), round(y, 9)) for x, y in poly.exterior.coords],
                   [[(round(x, 9), round(y, 9)) for x, y in r.coords] for r in poly.interiors])
    assert is_valid(poly) and len(polys(poly)) == 1, name
    cov = area(intersection(cells, poly))
    total = poly.intersection(frame_box).area
    assert abs(cov.sum() - total) < 1e-9, name
    print(f"{name}: area {poly.area:.6f}, inside the grid {total:.6f}, partial pixels {((cov > 1e-12) & (cov < 1 - 1e-12)).sum()}")
    cases.append({
        "name": name, "outer": ring(poly.exterior.coords, 9, True),
        "holes": [ring(r.coords, 9, False) for r in poly.interiors],
        "area": poly.area, "area_in_grid": total,
        "coverage": [[float(f"{abs(round(c, 10)):.10g}") for c in row] for row in cov],
    })

write("coverage.json", {
    "about": "coverage[row][column] = area of the polygon inside the pixel; pixel (column, row) covers [column, column + 1) x [row, row + 1), y down; rounded to 1e-10",
    "rings": "in px; outer and holes turn opposite ways (sign of the shoelace sum: outer +, holes -)",
    "size_px": [W, H], "cases": cases,
})
