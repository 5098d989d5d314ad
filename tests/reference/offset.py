# Areas of grown polygons and of bands, by Shapely.
# numpy==2.4.6 shapely==2.2.0
# Run: pip install numpy==2.4.6 shapely==2.2.0; python tests/reference/offset.py
import math

import numpy as np
from shapely import Polygon, affinity, unary_union

from common import polys, ring, write
from shapes import arc_error, grow

QS = 128
rng = np.random.default_rng(20)


def regular(n, r, start=0.0):
    a = start + 2 * np.pi * np.arange(n) / n
    return np.c_[r * np.cos(a), r * np.sin(a)]


def star(spikes, spike_deg, r):
    half, step = np.deg2rad(spike_deg / 2), np.pi / spikes
    inner = r * np.sin(half) / np.sin(np.pi - half - step)
    a = np.arange(2 * spikes) * step
    q = np.where(np.arange(2 * spikes) % 2 == 0, r, inner)
    return np.c_[q * np.cos(a), q * np.sin(a)]


def convex(n, r):
    return Polygon([(r * np.cos(a), 0.6 * r * np.sin(a)) for a in np.sort(rng.uniform(0, 2 * np.pi, n))])


def rough(n, lo, hi):
    a = 2 * np.pi * (np.arange(n) + rng.uniform(-0.35, 0.35, n)) / n
    q = rng.uniform(lo, hi, n)
    return Polygon(np.c_[q * np.cos(a), q * np.sin(a)])


slot = Polygon([(-40, -25), (40, -25), (40, 25), (0.75, 25), (0.75, -15), (-0.75, -15), (-0.75, 25), (-40, 25)])
slot7 = Polygon([(-40, -25), (40, -25), (40, 25), (3.5, 25), (3.5, -15), (-3.5, -15), (-3.5, 25), (-40, 25)])
ell = Polygon([(-30, -30), (30, -30), (30, -10), (-10, -10), (-10, 30), (-30, 30)])
u = Polygon([(0, 0), (70, 0), (70, 50), (45, 50), (45, 20), (25, 20), (25, 50), (0, 50)])
sq = Polygon([(0, 0), (60, 0), (60, 40), (0, 40)])


def below(poly, gap, under):
    """Shift so that the highest corner lies `gap` below y = under, at x = 0."""
    top = max(poly.exterior.coords, key=lambda c: c[1])
    return affinity.translate(poly, -top[0], under - gap - top[1])


def holed(outer, holes):
    return Polygon(outer, [np.array(h) for h in holes])


CASES = [
    ("square", sq, []),
    ("triangle, sharp", Polygon([(0, 0), (90, 0), (8, 22)]), []),
    ("regular 96-gon, r 40", Polygon(regular(96, 40)), []),
    ("random convex 1", convex(12, 60), []),
    ("random convex 2", convex(25, 90), []),
    ("random concave 1", rough(11, 20, 70), []),
    ("random concave 2", rough(24, 30, 60), []),
    ("random concave 3", rough(60, 45, 60), []),
    ("random concave 4", rough(120, 50, 55), []),
    ("star, 5 spikes of 30 degrees", Polygon(star(5, 30, 60)), []),
    ("star, 8 spikes of 30 degrees", Polygon(star(8, 30, 50)), []),
    ("slot 1.5 mm wide", slot, []),
    ("slot 7 mm wide", slot7, []),
    ("L", ell, []),
    ("U", u, []),
    ("square hole of 8 mm", holed(sq.exterior.coords, [[(26, 16), (26, 24), (34, 24), (34, 16)]]), []),
    ("two round holes of 8 mm", holed([(0, 0), (80, 0), (80, 50), (0, 50)],
     [(regular(48, 4) + (20, 25))[::-1], (regular(48, 4) + (58, 22))[::-1]]), []),
    ("round hole of 5 mm, which a band of 3 mm fills", holed(sq.exterior.coords, [(regular(64, 2.5) + (30, 20))[::-1]]), []),
    ("close neighbour, 2 mm away", sq, [affinity.translate(sq, 62, 0)]),
    ("close neighbours on three sides, 2 mm away", sq,
     [affinity.translate(sq, 62, 3), affinity.translate(sq, -62, -5), affinity.translate(sq, -1, 42)]),
    ("close neighbour, aslant, 2 mm at its nearest", ell, [below(affinity.rotate(sq, 20, origin=(0, 0)), 2, -30)]),
    ("neighbour inside the hole", holed([(0, 0), (80, 0), (80, 60), (0, 60)], [[(20, 15), (20, 45), (60, 45), (60, 15)]]),
     [Polygon([(22, 17), (58, 17), (58, 43), (22, 43)])]),
    ("neighbour touches", sq, [affinity.translate(sq, 60, 0)]),
]


def fix(p):
    """The rounded corners are the truth."""
    q = Polygon([(round(x, 9), round(y, 9)) for x, y in p.exterior.coords],
                [[(round(x, 9), round(y, 9)) for x, y in r.coords] for r in p.interiors])
    assert q.is_valid and q.geom_type == "Polygon"
    return q


cases = []
for name, poly, near in CASES:
    poly, near = fix(poly), [fix(n) for n in near]
    hood = unary_union(near) if near else Polygon()
    assert poly.intersection(hood).area < 1e-9, name
    res = []
    step = math.pi / (2 * QS)
    for w in (3.0, 1.0):
        plain = poly.buffer(w, quad_segs=QS, join_style="round")
        careful = grow(poly, w, QS)
        band = careful.difference(poly).difference(hood)
        # arcs are chords: the area lost is at most this, summed over all outward turns
        chords = 0.0
        for i, r in enumerate((poly.exterior, *poly.interiors)):
            c = np.array(r.coords)[:-1]
            c = c if r.is_ccw == (i == 0) else c[::-1]  # the region lies to the left
            e = (np.roll(c, -1, 0) - c) @ (1, 1j)
            turn = np.clip(np.angle(np.roll(e, -1) / e), 0, None)
            chords += (turn / step + 1)[turn > 0].sum()
        lost = 0.5 * w * w * chords * (step - math.sin(step)) + 1e-9
        if not poly.interiors and poly.convex_hull.area - poly.area < 1e-9:
            true = poly.area + w * poly.length + math.pi * w * w
            assert -1e-9 <= true - careful.area <= lost, (name, true - careful.area)
        rel = abs(plain.area - careful.area)
        print(f"{name} w={w}: buffer {careful.area:.6f}, plain buffer() differs by {rel:.2e}, arc area error < {lost:.1e}")
        res.append({
            "w": w, "buffer_area": careful.area, "buffer_perimeter": careful.length, "buffer_parts": len(polys(careful)),
            "buffer_holes": sum(len(p.interiors) for p in polys(careful)), "band_area": band.area,
            "area_too_small_by_at_most": lost, "shapely_buffer_area": plain.area,
        })
    cases.append({
        "name": name, "outer": ring(poly.exterior.coords, 9, True),
        "holes": [ring(r.coords, 9, False) for r in poly.interiors],
        "neighbours": [ring(n.exterior.coords, 9, True) for n in near],
        "area": poly.area, "perimeter": poly.length, "results": res,
    })

write("offset.json", {
    "about": "areas in mm2, lengths in mm, perimeters with those of the holes; band = (polygon grown by w) - polygon - neighbours; a hole that the growth fills is part of the band",
    "arcs": f"quad_segs = {QS}: chords lie at most {arc_error(3, QS):.1e} mm inside the true arc at w = 3, so areas are a little small",
    "shapely_buffer_area": "the same by one call of buffer(w, quad_segs=128, join_style=round), which drops shallow dents first",
    "cases": cases,
})
