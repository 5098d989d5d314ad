# What a draft draws: splines and their lengths by SciPy, parallels by Shapely, and the demo's net lines as they
# stand in slippers.svg, by svgpathtools.
# numpy==2.4.6 scipy==1.17.1 shapely==2.2.0 svgpathtools==1.8.0
# Run: pip install numpy==2.4.6 scipy==1.17.1 shapely==2.2.0 svgpathtools==1.8.0; python tests/reference/draft.py
import xml.etree.ElementTree as ET

import numpy as np
from scipy.integrate import quad
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq
from shapely import Polygon
from svgpathtools import parse_path

from common import HERE, write


def spline(points, start=None, end=None, closed=False):
    """The cubic spline through the points whose steps are the 0.8th power of the chord; start and end are Bezier
    handles (dx, dy), natural where there is none."""
    p = np.array(points, float)
    if closed:
        p = np.vstack([p, p[:1]])
    h = np.hypot(*np.diff(p, axis=0).T) ** 0.8
    u = np.concatenate([[0.0], np.cumsum(h)])
    zero = np.zeros(2)
    first = (2, zero) if start is None else (1, 3 * np.array(start) / h[0])
    last = (2, zero) if end is None else (1, 3 * np.array(end) / h[-1])
    return u, CubicSpline(u, p, bc_type="periodic" if closed else (first, last))


def measured(u, f):
    """Length, and places at shares of it."""
    g = f.derivative()

    def run(a, b):
        inner = [x for x in u if a < x < b]
        ends = [a, *inner, b]
        return sum(quad(lambda t: np.hypot(*g(t)), s, e, epsabs=1e-11, limit=200)[0] for s, e in zip(ends, ends[1:]))

    whole = run(u[0], u[-1])
    rows = []
    for share in (0.0, 0.1, 0.35, 0.5, 0.77, 1.0):
        t = u[0] if share == 0 else u[-1] if share == 1 else brentq(
            lambda x: run(u[0], x) - share * whole, u[0], u[-1], xtol=1e-12)
        d = g(t)
        rows.append([share * whole, *f(t), *(d / np.hypot(*d))])
    return whole, rows


SPLINES = [
    dict(points=[(0, 0), (60, 25), (90, 80), (150, 95)]),
    dict(points=[(0, 0), (60, 25), (90, 80), (150, 95)], start=(0, 30), end=(25, 0)),
    dict(points=[(0, 0), (100, 40)], start=(40, 0), end=(33, 12)),
    dict(points=[(-20, 0), (0, 55), (40, 60), (70, 10), (30, -35)], closed=True),
    dict(points=[(0, 0), (8, 130), (21, 150), (140, 160)], end=(30, -40)),
]
splines = []
for case in SPLINES:
    length, rows = measured(*spline(**case))
    splines.append({**case, "length": length, "s_x_y_dx_dy": rows})

# A parallel inside a closed spline.
u, f = spline(SPLINES[3]["points"], closed=True)
dense = Polygon(f(np.linspace(u[0], u[-1], 40001)[:-1]))
parallels = []
for inside in (1.0, 5.0, -6.0):
    # The spline runs clockwise: its left is outside.
    p = dense.buffer(-inside, quad_segs=256)
    parallels.append(dict(by=-inside if not dense.exterior.is_ccw else inside, area=p.area, length=p.length))

# The drawing. Its y points down; the heel band is drawn turned by 180 degrees.
NS = "{http://www.w3.org/2000/svg}"
root = ET.parse(HERE.parent.parent / "demo-data" / "slippers.svg").getroot()
paths = [e.get("d") for e in root.iter(NS + "path")]


def net(begins):
    found = [d for d in paths if d.startswith(begins)]
    assert len(found) == 1, (begins, len(found))
    return parse_path(found[0])


drawn = {}
for name, begins, sign in (
    ("upper", "M84.5 148.683", (1, -1)),
    ("sole", "M0 0 C8.335", (1, -1)),
    ("felt sole", "M0.001 -1", (1, -1)),
    ("heel band", "M123.689 7.5 C79", (-1, 1)),
    ("heel band lining", "M0 0 C49.475 0", (1, -1)),
):
    path = net(begins)
    whole = path.length(error=1e-9)
    at = [path.point(path.ilength(whole * k / 60)) for k in range(60)]
    drawn[name] = dict(length=whole, points=[[z.real * sign[0], z.imag * sign[1]] for z in at])

write("draft.json", dict(splines=splines, parallel=dict(points=SPLINES[3]["points"], offsets=parallels), drawn=drawn))
