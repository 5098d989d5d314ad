# Seams walked by another program: curved edges with notches, and the demo's seams.
# numpy==2.4.6 scipy==1.17.1 shapely==2.2.0 svgpathtools==1.8.0
# Run: pip install numpy==2.4.6 scipy==1.17.1 shapely==2.2.0 svgpathtools==1.8.0; python tests/reference/walk.py
#
# curves: an arc of an ellipse (length by SciPy's elliptic integral of the second kind) and a
# logarithmic spiral (closed form), each sewn to a straight edge, with notches on the cut line
# 6 mm off; pairs of notches by SciPy's linear_sum_assignment, positions by brentq.
# demo: net lines of slippers.svg, read by ElementTree and svgpathtools alone; where a notch
# belongs by casting its ray with Shapely on a finely flattened net line.
import math
import xml.etree.ElementTree as ET

import numpy as np
import svgpathtools
from scipy.integrate import quad
from scipy.optimize import brentq, linear_sum_assignment
from scipy.special import ellipeinc
from shapely import LineString, Point
from shapely.ops import nearest_points

from common import HERE, write

# ---------------------------------------------------------------- curves
A, B = 160.0, 90.0


def ellipse(t):
    return np.array([A * math.cos(t), B * math.sin(t)])


def ellipse_length(t0, t1):
    # ds = sqrt(A² sin² + B² cos²) dt = A sqrt(1 - m cos²) dt; with u = t - pi/2, cos² t = sin² u.
    m = 1 - (B / A) ** 2
    return A * (ellipeinc(t1 - math.pi / 2, m) - ellipeinc(t0 - math.pi / 2, m))


K = 0.25


def spiral(t):
    r = 60.0 * math.exp(K * t)
    return np.array([r * math.cos(t), r * math.sin(t)])


def spiral_length(t0, t1):
    return 60.0 * math.sqrt(1 + K * K) / K * (math.exp(K * t1) - math.exp(K * t0))


def slope(f, t, h=1e-6):
    d = (f(t + h) - f(t - h)) / (2 * h)
    return d / math.hypot(*d)


def curve(name, f, length, t0, t1, chosen, straight, tolerance=1.0):
    """`chosen`: (length along the curve, kind); `straight`: the same on the straight edge."""
    whole = length(t0, t1)
    check = quad(lambda t: math.hypot(*((f(t + 1e-6) - f(t - 1e-6)) / 2e-6)), t0, t1, limit=200)[0]
    assert abs(check - whole) < 1e-5, (check, whole)
    notches = []
    for s, kind in chosen:
        t = brentq(lambda t: length(t0, t) - s, t0, t1, xtol=1e-13)
        d = slope(f, t)
        inward = np.array([-d[1], d[0]])
        notches.append({"at": f(t) - 6 * inward, "inward": inward, "kind": kind})
    n = 900
    line = [f(t0 + (t1 - t0) * k / n) for k in range(n + 1)]
    cost = np.array([[abs(a - b) if abs(a - b) <= 10 else 1e3 for b, _ in straight] for a, _ in chosen])
    rows, cols = linear_sum_assignment(cost)
    pairs = [(i, j) for i, j in zip(rows, cols) if cost[i, j] < 1e3]
    landings = [{"along": chosen[i][0], "lands": straight[j][0], "off": chosen[i][0] - straight[j][0],
                 "same_kind": chosen[i][1] == straight[j][1], "agrees": bool(cost[i, j] <= tolerance)}
                for i, j in pairs]
    return {"name": name, "length": whole, "line": np.array(line).round(9), "notches": notches,
            "straight": [{"s": s, "kind": k} for s, k in straight], "landings": landings}


CURVES = [
    curve("ellipse", ellipse, ellipse_length, 0.2, 2.6,
          [(40.0, "slit"), (101.5, "vee"), (210.25, "double"), (260.0, "slit")],
          [(40.4, "slit"), (104.0, "vee"), (210.25, "slit")]),
    curve("spiral", spiral, spiral_length, -0.5, 2.0,
          [(35.0, "double"), (88.8, "slit"), (120.0, "slit")],
          [(36.7, "double"), (80.9, "slit"), (120.0, "vee")]),
]

# ---------------------------------------------------------------- the demo
SVG = HERE.parent.parent / "demo-data" / "slippers.svg"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"


def group(root, name):
    for g in root.iter("{http://www.w3.org/2000/svg}g"):
        if name in (g.get("data-piece"), g.get("data-name")) or g.get(LABEL) == f"piece {name}":
            return g
    raise KeyError(name)


def role(el):
    return (el.get("data-role") or el.get("class") or "").split(" ")[0]


def net(g):
    return next(svgpathtools.parse_path(p.get("d")) for p in g.iter("{http://www.w3.org/2000/svg}path")
                if role(p) == "net")


def runs(path):
    """From corner to corner, as written: a corner is where the direction jumps by over 25°."""
    out, run = [], []
    for i, seg in enumerate(path):
        run.append(seg)
        last = i == len(path) - 1
        nxt = path[0] if last else path[i + 1]
        turn = abs(np.angle(nxt.unit_tangent(0) / seg.unit_tangent(1))) > math.radians(25)
        if turn or last:
            out.append(svgpathtools.Path(*run))
            run = []
    return out


def dense(path, n=4000):
    """A fine polyline and the arc length at its vertices."""
    pts, s, total = [], [], 0.0
    for seg in path:
        m = 2 if isinstance(seg, svgpathtools.Line) else n
        for k in range(m):
            p = seg.point(k / (m - 1))
            if pts:
                total += abs(p - pts[-1])
            pts.append(p)
            s.append(total)
    return np.array(pts), np.array(s)


def along(line, p):
    """Arc length at which a point lies on a polyline."""
    return LineString([(z.real, z.imag) for z in line]).project(Point(p.real, p.imag))


def feet(g, path):
    """Where the inward ray of each notch meets the path, as arc lengths, with the kind."""
    line, _ = dense(path)
    shape = LineString([(z.real, z.imag) for z in line])
    out = []
    for el in g.iter("{http://www.w3.org/2000/svg}path"):
        kind = el.get("data-notch") or (el.get("class", "").split(" ") + ["", ""])[1]
        parent_notch = el.get("data-notch") is not None
        if role(el) != "notch" and not parent_notch:
            continue
        stroke = svgpathtools.parse_path(el.get("d"))
        a, b = stroke.start, stroke.end
        end = a + (b - a) / abs(b - a) * 14
        hit = shape.intersection(LineString([(a.real, a.imag), (end.real, end.imag)]))
        if hit.is_empty:
            continue
        p = nearest_points(Point(a.real, a.imag), hit)[1]
        out.append((float(shape.project(p)), kind))
    return sorted(out)


def taken(g, path):
    """What each dart takes of the path: (from, to)."""
    line, _ = dense(path)
    shape = LineString([(z.real, z.imag) for z in line])
    out = []
    for el in g.iter("{http://www.w3.org/2000/svg}path"):
        if role(el) != "dart":
            continue
        legs = svgpathtools.parse_path(el.get("d"))
        pts = [legs.start] + [s.end for s in legs]
        hit = shape.intersection(LineString([(z.real, z.imag) for z in pts]))
        at = sorted(shape.project(q) for q in getattr(hit, "geoms", [hit]))
        if len(at) == 2:
            out.append(at)
    return sorted(out)


def demo():
    root = ET.parse(SVG).getroot()
    up, sole, band, lining = (group(root, n) for n in ("upper", "sole", "heel band", "heel band lining"))
    # Written clockwise on the page or not, a length is a length.
    edges = {}
    u = runs(net(up))
    for name, part in zip(("lower", "inner side", "throat", "outer side"), sorted_upper(u)):
        edges[f"upper: {name}"] = part.length()
    b = runs(net(band))
    low, top = max(b, key=lambda p: p.length()), sorted(b, key=lambda p: p.length())[-2]
    ends = sorted(b, key=lambda p: p.length())[:2]
    edges["heel band: lower"] = low.length()
    edges["heel band: outer end"] = ends[0].length()
    edges["heel band: inner end"] = ends[1].length()
    middle = feet(band, top)
    assert len(middle) == 1
    edges["heel band: top, outer half"] = middle[0][0]
    edges["heel band: top, inner half"] = top.length() - middle[0][0]
    h = runs(net(lining))
    edges["heel band lining: lower"] = h[0].length()
    edges["heel band lining: end"] = h[1].length()
    edges["heel band lining: top"] = h[2].length()
    s = net(sole)
    at = feet(sole, s)
    # From the heel, inner side first: quarter, side seam, tread, toe, tread, side seam, quarter.
    stops = [f for f in at if 1 < f[0] < s.length() - 1]
    assert [k for _, k in stops] == ["slit", "slit", "slit", "vee", "double", "slit", "slit"], stops
    side_i, side_o = stops[1][0], stops[5][0]
    edges["sole: front"] = side_o - side_i
    edges["sole: back"] = s.length() - edges["sole: front"]
    lower = next(p for p in u if abs(p.length() - edges["upper: lower"]) < 1e-9)
    darts = taken(up, lower)
    shut = sum(b - a for a, b in darts)

    def closed(x):
        return x - sum(min(max(x, a), b) - a for a, b in darts)

    front = [closed(x) for x, _ in feet(up, lower)]
    assert len(front) == 3
    # The sole's, from its outer side seam, as the upper's lower edge is written.
    mates = [side_o - x for x, _ in stops[2:5]][::-1]
    first = front if abs(front[0] - mates[0]) < 5 else [closed(lower.length()) - x for x in front[::-1]]
    back = [x for x, _ in feet(band, low)]
    ring = [s.length() - side_o + x for x in (stops[0][0],)]
    seams = [
        {"name": "side, inner", "one": edges["upper: inner side"], "other": edges["heel band: inner end"]},
        {"name": "side, outer", "one": edges["upper: outer side"], "other": edges["heel band: outer end"]},
        {"name": "sole, front", "one": edges["upper: lower"] - shut, "other": edges["sole: front"],
         "notches_one": first, "notches_other": mates},
        {"name": "sole, back", "one": edges["heel band: lower"], "other": edges["sole: back"],
         "notches_one": back,
         "notches_other": [stops[6][0] - side_o, s.length() - side_o, ring[0]]},
        {"name": "band and lining, sole", "one": edges["heel band: lower"], "other": 2 * edges["heel band lining: lower"]},
        {"name": "band and lining, top", "one": edges["heel band: top, outer half"], "other": edges["heel band lining: top"]},
        {"name": "lining, side", "one": edges["upper: outer side"], "other": edges["heel band lining: end"]},
    ]
    return {"edges": [{"edge": k, "length": v} for k, v in edges.items()], "dart_mm": shut, "seams": seams}


def sorted_upper(parts):
    """Lower edge, inner side seam, throat, outer side seam, by where they are: x < 0 is inner."""
    lower = max(parts, key=lambda p: p.length())
    rest = [p for p in parts if p is not lower]
    throat = max(rest, key=lambda p: p.length())
    sides = sorted((p for p in rest if p is not throat), key=lambda p: p.point(0.5).real)
    return lower, sides[0], throat, sides[1]


write("walk.json", {"curves": CURVES, "demo": demo()})
