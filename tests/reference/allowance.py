# Offsets that differ by edge, by Shapely: an outline united with (or less) a strip along
# each edge and what lies between strips at outer corners; circles and ellipses.
#
#     pip install shapely==2.2.0 numpy==2.4.6 scipy==1.17.1
#     python tests/reference/allowance.py
import math

import numpy as np
import shapely
import shapely.ops
from scipy.special import ellipe
from shapely import Polygon

from common import poly_json, polys, write

assert shapely.__version__ == "2.2.0" and np.__version__ == "2.4.6"
CORNER = math.cos(math.radians(25))   # within a side: an arc below, a corner above
LIMIT = 4.0
ARC = 1e-5                            # of arcs here, mm
HAIR = 1e-6                           # mm


def unit(v):
    return v / np.hypot(*v)


def between(v, e0, e1, d0, d1, out, arc):
    """What an outer corner adds to two strips: an arc's sector, or a mitre."""
    m0, m1 = (out * np.array([e[1], -e[0]]) for e in (e0, e1))
    a, b = v + m0 * d0, v + m1 * d1
    sin, cos = out * (e0[0] * e1[1] - e0[1] * e1[0]), float(e0 @ e1)
    if arc:
        turn = math.atan2(sin, cos)
        n = max(2, math.ceil(turn / 2 / math.acos(max(-1, 1 - ARC / d0)))) if d0 > ARC else 2
        way = [m0 * math.cos(t) + e0 * math.sin(t) for t in np.linspace(0, turn, n + 1)]
        return Polygon([v, *(v + d0 * w for w in way)])
    if abs(sin) < 1e-12 and cos > 0:
        return Polygon([v, a, b]) if d0 != d1 else Polygon()
    # a + s e0 = b + u e1
    s, u = np.linalg.solve(np.array([e0, -e1]).T, b - a)
    if s < -1e-12:
        mid = [v + m0 * d1 / cos]
    elif u > 1e-12:
        mid = [v + m1 * d0 / cos]
    else:
        x = a + s * e0
        far = LIMIT * max(d0, d1)
        if np.hypot(*(x - v)) > far:
            w = unit(x - v)
            mid = [a + e0 * (far - (a - v) @ w) / (e0 @ w), b + e1 * (far - (b - v) @ w) / (e1 @ w)]
        else:
            mid = [x]
    return Polygon([v, a, *mid, b])


def run_on(p, e, side, k, d, d1):
    """What is shrunk off beyond the end of the wider strip at a corner between two sides: its
    line runs on until it meets the offset line of the other side, wherever along that. None
    where it needs not, or meets none within the limit."""
    n, q = len(p), (k + 1) % len(p)
    after = d1 > d
    wide, near = (e[q], e[k]) if after else (e[k], e[q])
    # The other side's points, from the corner on; left of an outline is within.
    run, at = [p[q]], q
    step = -1 if after else 1
    while True:
        edge = (at - 1) % n if after else at
        if side[edge] != side[k if after else q] or len(run) > n:
            break
        at = (at + step) % n
        run.append(p[at])
    line = shapely.LineString(run)
    less = min(d, d1)
    if less > 0:
        line = line.offset_curve(-less if after else less, join_style="mitre", mitre_limit=20)
    deep = np.array([-wide[1], wide[0]])
    start = p[q] + deep * max(d, d1)
    way = -wide if after else wide
    # Begins at the corner, whichever way Shapely runs it.
    ends = [np.array(line.coords[j]) for j in (0, -1)]
    square = p[q] + np.array([-near[1], near[0]]) * less
    if np.hypot(*(ends[1] - square)) < np.hypot(*(ends[0] - square)):
        line = line.reverse()
    if (np.array(line.coords[0]) - start) @ deep >= 0:
        return None
    far = LIMIT * max(d, d1)
    hits = shapely.LineString([start - way * 1e3, start + way * 1e3]).intersection(line)
    hits = [g for g in getattr(hits, "geoms", [hits]) if g.geom_type == "Point"]
    if not hits:
        return None
    x = min(hits, key=line.project)
    end = np.array([x.x, x.y])
    if (end - start) @ way < -1e-9 or np.hypot(*(end - p[q])) > far:
        return None
    back = shapely.ops.substring(line, 0, line.project(x))
    # Both lobes, where the way back crosses the end of the strip.
    return shapely.make_valid(Polygon([p[q], start, end, *list(back.coords)[::-1]]))


def moved(ring, side, by, grow):
    """The outline grown by the positive distances, or shrunk by the negative ones."""
    out = 1 if grow else -1
    reach = [max(0.0, out * b) for b in by]
    n = len(ring)
    p = np.array(ring, float)
    e = [unit(p[(k + 1) % n] - p[k]) for k in range(n)]
    parts = []
    for k in range(n):
        q, d = (k + 1) % n, reach[side[k]]
        if d > 0:
            m = out * np.array([e[k][1], -e[k][0]]) * d
            parts.append(Polygon([p[k], p[q], p[q] + m, p[k] + m]))
        d1 = reach[side[q]]
        if d == 0 and d1 == 0:
            continue
        sin, cos = out * (e[k][0] * e[q][1] - e[k][1] * e[q][0]), float(e[k] @ e[q])
        if sin > 0:
            smooth = side[k] == side[q] and cos >= CORNER
            parts.append(between(p[q], e[k], e[q], d, d1, out, smooth))
        elif out < 0 and cos < CORNER and side[k] != side[q] and d != d1 and (more := run_on(p, e, side, k, d, d1)):
            parts.append(more)
        elif out < 0 and cos < CORNER:
            # A strip that ends short of the other's line runs on to it.
            m0, m1 = (out * np.array([w[1], -w[0]]) for w in (e[k], e[q]))
            a, b = p[q] + m0 * d, p[q] + m1 * d1
            s, u = np.linalg.solve(np.array([e[k], -e[q]]).T, b - a)
            x = a + s * e[k]
            if (s > 0 or u < 0) and np.hypot(*(x - p[q])) <= LIMIT * max(d, d1):
                parts += [Polygon([p[q], a, x]), Polygon([p[q], x, b])]
    parts = [g if g.geom_type != "Polygon" or g.is_valid else g.buffer(0) for g in parts if g.area > 0]
    whole = Polygon(p)
    assert whole.is_valid
    # Neighbours share edges that are equal but for rounding: the hairs between are closed.
    strips = shapely.union_all(parts)
    for d in (HAIR, -HAIR):
        strips = strips.buffer(d, join_style="mitre", mitre_limit=20)
    whole = whole.union(strips) if grow else whole.difference(strips)
    for d in (HAIR, -HAIR) if grow else (-HAIR, HAIR):
        whole = whole.buffer(d, join_style="mitre", mitre_limit=20)
    return whole


def case(name, ring, side, by):
    grow = max(by) > 0
    assert grow == (min(by) >= 0), name
    found = moved(ring, side, by, grow)
    # Thinner than a thousandth is no cloth.
    found = [g for g in polys(found) if g.area > 1e-3 * g.length]
    return {
        "name": name, "ring": ring, "side": side, "by": by,
        "area": sum(g.area for g in found),
        "parts": poly_json(shapely.MultiPolygon(found)) if found else [],
    }


def arc(cx, cy, r, a, b, n):
    return [(cx + r * math.cos(t), cy + r * math.sin(t)) for t in np.linspace(math.radians(a), math.radians(b), n)]


def rounded(points):
    return [(round(float(x), 9), round(float(y), 9)) for x, y in points]


def outlines():
    """Outlines by name: points, the side of the edge from each."""
    sole = [(100 * math.sin(t) * (1 + 0.12 * math.sin(t)) + 7 * math.cos(2 * t), -38 * math.cos(t) * (1 + 0.2 * math.sin(t)))
            for t in np.linspace(0, 2 * math.pi, 180, endpoint=False)]
    yield "sole", sole, [0] * 180
    yield "sole in four", sole, [k // 45 for k in range(180)]
    # An upper: straight back, throat cut out of the top, curved sides.
    top = arc(0, 60, 30, 0, -180, 40)
    upper = [(-80, -60), (80, -60), (75, 60), *top, (-75, 60)]
    yield "upper", upper, [0, 1, 2, *[3] * 39, 4, 5]
    yield "ell", [(0, 0), (90, 0), (90, 40), (40, 40), (40, 90), (0, 90)], list(range(6))
    # Two wide ends and a neck of 12 mm between them.
    neck = [(0, 0), (60, 0), (60, 24), (120, 24), (120, 0), (180, 0), (180, 60), (120, 60), (120, 36), (60, 36), (60, 60), (0, 60)]
    yield "neck", neck, [0, 0, 1, 0, 0, 2, 0, 0, 1, 0, 0, 2]
    # A slit of 5 mm, open above.
    slit = [(0, 0), (100, 0), (100, 80), (52.5, 80), (52.5, 20), (47.5, 20), (47.5, 80), (0, 80)]
    yield "slit", slit, [0, 1, 2, 3, 3, 3, 2, 1]
    # A pouch whose mouth of 6 mm closes and whose room does not.
    pouch = [(0, 0), (100, 0), (100, 80), (53, 80), (53, 60), (75, 60), (75, 20), (25, 20), (25, 60), (47, 60), (47, 80), (0, 80)]
    yield "pouch", pouch, [0] * 12
    star = [((90, 34)[k % 2] * math.cos(k * math.pi / 7), (90, 34)[k % 2] * math.sin(k * math.pi / 7)) for k in range(14)]
    yield "star", star, list(range(14))
    yield "needle", [(0, 0), (120, 6), (0, 12)], [0, 1, 2]


def main():
    rng = np.random.default_rng(6)
    cases = []
    for name, ring, side in outlines():
        ring, count = rounded(ring), max(side) + 1
        for sets, lo, hi in (("allowed", 3, 14), ("carved", -9, -0.3), ("carved deep", -26, -2)):
            by = np.round(rng.uniform(lo, hi, count), 3)
            if sets == "carved" and count > 2:
                by[1] = 0
            cases.append(case(f"{name}, {sets}", ring, side, [float(b) + 0.0 for b in by]))
        # Necks that part, and outlines of which nothing is left.
        for by in {"neck": ([-1, -6.5, -1], [-7, -7, -7], [-30.5, 0, -30.5]), "star": ([-15] * 14, [-26] * 14),
                   "pouch": ([-11], [-13]), "slit": ([-2, -25, -2, -1], [-1, -1, -10, -24]),
                   "upper": ([-1, -20, -8, -12, -8, -20], [-60] * 6), "needle": ([-2, -2, -2], [-5.9] * 3),
                   "ell": ([-20.5] * 6, [-3, -3, -37.5, -37.5, -3, -3])}.get(name, ()):
            cases.append(case(f"{name}, {by}", ring, side, [float(b) for b in by]))
    for seed in range(40):
        n = int(rng.integers(5, 26))
        turns = np.sort(rng.uniform(0, 2 * math.pi, n))
        if max(np.diff(turns, append=turns[0] + 2 * math.pi)) > 2.8 or min(np.diff(turns)) < 0.02:
            continue
        r = rng.uniform(25, 100, n)
        ring = rounded((ri * math.cos(t), ri * math.sin(t)) for ri, t in zip(r, turns))
        sides = int(rng.integers(2, 5))
        side = sorted(int(s) for s in rng.integers(0, sides, n))
        lo, hi = ((1, 15), (-12, -0.2))[seed % 2]
        by = [float(x) for x in np.round(rng.uniform(lo, hi, sides), 3)]
        cases.append(case(f"random {seed}", ring, side, by))

    # Curves that begin square to the sides, and then leave the strip carved off those behind.
    wave = [(x, 24 * math.sin(math.pi * (x + 80) / 160) ** 2) for x in np.linspace(-80, 80, 33)]
    bulge = [*((x, -y) for x, y in wave), *((-x, 50 + y) for x, y in wave)]
    bulge, side = rounded(bulge), [*[0] * 32, 1, *[2] * 32, 3]
    for by in ([-1, -14, -1, -14], [0, -20, 0, -5], [-3, -18, -6, -1], [-14, -1, -20, 0], [4, 12, 6, 9]):
        cases.append(case(f"bulge, {by}", bulge, side, [float(b) for b in by]))

    ellipses = []
    for a, b, d in [(50, 50, 6), (120, 45, 6), (90, 20, 10), (140, 50, -6), (60, 58, -20)]:
        # Circumference by the complete elliptic integral; a parallel curve is longer by
        # 2 pi d, and its area by L d + pi d^2 (Steiner), where no centre of curvature is passed.
        around = 4 * a * float(ellipe(1 - (b / a) ** 2))
        assert d > 0 or -d < b * b / a
        ellipses.append({"a": a, "b": b, "by": d, "length": around + 2 * math.pi * d,
                         "area": math.pi * a * b + around * d + math.pi * d * d})
    write("allowance.json", {"cases": cases, "ellipses": ellipses})


if __name__ == "__main__":
    main()
