#!/usr/bin/env python3
"""Draws slippers.svg: one pair of house slippers, all curves as cubic Béziers.

Needs Python 3.11+ and numpy==2.4.6, scipy==1.17.1, shapely==2.2.0.
Run:  python3 demo-data/make/draw_slippers.py      (writes demo-data/slippers.svg, prints the walk table)

Everything is drafted in mm with y up (towards the toe), and negated on writing.
Uppers, soles and felt are drawn for the RIGHT foot, each from its face side:
the upper as seen from above, the sole as seen from the ground.
"""
from math import atan2, degrees
from pathlib import Path

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq, fsolve
from shapely.geometry import LineString, Polygon

FOOT = 250.0          # foot length, Mondopoint
K = FOOT / 250.0      # the draft is a set of shares of the foot length
ALLOWANCE = 6.0
NOTCH = 3.0           # clip depth: half the allowance, 3 mm short of the net line
EASE = 6.0            # mm of the upper's lower edge eased into the sole round the toe
DART = 4.0            # mm taken up by each of the two toe darts, on the net line
DART_LENGTH = 16.0    # from the net line
SIDE = 50.0           # height of the side seam, net
BACK = 60.0           # height of the heel band at the centre back, net
FELT_IN = 1.0         # felt lies this far inside the sole's net line
TOPSTITCH = 5.0       # from the net line of the throat
BINDING = 30.0        # width of the binding
CURVE_TOLERANCE = 0.005

# ---------------------------------------------------------------- curves
# A curve is a list of cubic segments, each a 4 x 2 array.


def bez(s, t):
    u = 1 - t
    return u**3 * s[0] + 3 * u * u * t * s[1] + 3 * u * t * t * s[2] + t**3 * s[3]


def bez_d(s, t):
    u = 1 - t
    return 3 * (u * u * (s[1] - s[0]) + 2 * u * t * (s[2] - s[1]) + t * t * (s[3] - s[2]))


def bez_dd(s, t):
    return 6 * ((1 - t) * (s[2] - 2 * s[1] + s[0]) + t * (s[3] - 2 * s[2] + s[1]))


def split(s, a, b):
    """The part of one segment between parameters a and b."""
    p, q = bez(s, a), bez(s, b)
    h = (b - a) / 3
    return np.array([p, p + bez_d(s, a) * h, q - bez_d(s, b) * h, q])


def unit(v):
    return v / np.hypot(*v)


def left(v):
    return np.array([-v[1], v[0]])


GAUSS_X, GAUSS_W = np.polynomial.legendre.leggauss(24)


def seg_length(s, a=0.0, b=1.0):
    t = (b - a) / 2 * GAUSS_X + (a + b) / 2
    return (b - a) / 2 * sum(w * np.hypot(*bez_d(s, x)) for x, w in zip(t, GAUSS_W))


def length(c):
    return sum(seg_length(s) for s in c)


def at_length(c, d):
    """(segment number, parameter) at the arc length d from the start."""
    for i, s in enumerate(c):
        n = seg_length(s)
        if d <= n or i == len(c) - 1:
            d = min(max(d, 0.0), n)
            if d <= 1e-12:
                return i, 0.0
            if d >= n - 1e-12:
                return i, 1.0
            return i, brentq(lambda t: seg_length(s, 0, t) - d, 0, 1, xtol=1e-13)
        d -= n


def point(c, d):
    i, t = at_length(c, d)
    return bez(c[i], t)


def tangent(c, d):
    i, t = at_length(c, d)
    return unit(bez_d(c[i], t))


def part(c, a, b):
    i, ta = at_length(c, a)
    j, tb = at_length(c, b)
    if i == j:
        return [split(c[i], ta, tb)]
    out = [split(c[i], ta, 1.0)] if ta < 1 - 1e-9 else []
    out += c[i + 1:j]
    if tb > 1e-9:
        out.append(split(c[j], 0.0, tb))
    return out


def reverse(c):
    return [s[::-1].copy() for s in reversed(c)]


def move(c, m):
    return [s @ np.asarray(m, float).T for s in c]


def straight(a, b):
    a, b = np.asarray(a, float), np.asarray(b, float)
    return [np.array([a, a + (b - a) / 3, a + 2 * (b - a) / 3, b])]


def cross(a, b):
    return a[0] * b[1] - a[1] * b[0]


def is_straight(s):
    chord = s[3] - s[0]
    return all(abs(cross(chord, p - s[0])) < 1e-9 * max(1.0, np.hypot(*chord)) for p in s[1:3])


def through(points, closed=False, ends=None):
    """Curvature-continuous cubic spline through the points."""
    p = np.array(points, float)
    if closed:
        p = np.vstack([p, p[:1]])
    # centripetal-to-chord spacing keeps the curvature even
    step = np.hypot(*np.diff(p, axis=0).T) ** 0.8
    u = np.concatenate([[0.0], np.cumsum(step)])
    bc = "periodic" if closed else ("natural" if ends is None else ends)
    f = CubicSpline(u, p, bc_type=bc)
    g = f.derivative()
    return [np.array([f(a), f(a) + g(a) * (b - a) / 3, f(b) - g(b) * (b - a) / 3, f(b)])
            for a, b in zip(u[:-1], u[1:])]


def offset(c, d):
    """The curve offset to its right by d, refitted by cubics (Hermite: end points and tangents)."""
    out = []

    def q(s, t):
        return bez(s, t) - left(unit(bez_d(s, t))) * d

    def q_d(s, t):
        v, a = bez_d(s, t), bez_dd(s, t)
        k = cross(v, a) / np.hypot(*v) ** 3      # + turns left
        return v * (1 + d * k)

    def fit(s, a, b, depth=0):
        h = (b - a) / 3
        p0, p3 = q(s, a), q(s, b)
        f = np.array([p0, p0 + q_d(s, a) * h, p3 - q_d(s, b) * h, p3])
        worst = max(np.hypot(*(bez(f, x) - q(s, a + (b - a) * x))) for x in np.linspace(0.1, 0.9, 9))
        if worst <= CURVE_TOLERANCE or depth > 8:
            out.append(f)
        else:
            m = (a + b) / 2
            fit(s, a, m, depth + 1)
            fit(s, m, b, depth + 1)

    for s in c:
        if is_straight(s):
            n = left(unit(s[3] - s[0])) * d
            out.append(s - n)
        else:
            fit(s, 0.0, 1.0)
    return out


def mitre(a, b):
    """Two offset edges that leave a gap at a corner: run both on straight until they meet."""
    p, u = a[-1][3], unit(a[-1][3] - a[-1][2])
    q, v = b[0][0], unit(b[0][1] - b[0][0])
    s, _ = np.linalg.solve(np.array([u, -v]).T, q - p)
    x = p + s * u
    return straight(p, x) + straight(x, q)


def flat(c, n=200):
    t = np.linspace(0, 1, n, endpoint=False)
    pts = [bez(s, x) for s in c for x in (t if not is_straight(s) else [0.0])]
    return np.array(pts + [c[-1][3]])


def box(c):
    """Exact bounding box: ends and curve extrema."""
    pts = []
    for s in c:
        pts += [s[0], s[3]]
        for k in (0, 1):
            d = np.diff(s[:, k])
            for r in np.roots([d[0] - 2 * d[1] + d[2], 2 * (d[1] - d[0]), d[0]]):
                if abs(r.imag) < 1e-12 and 0 < r.real < 1:
                    pts.append(bez(s, r.real))
    p = np.array(pts)
    return p.min(axis=0), p.max(axis=0)


# ---------------------------------------------------------------- the draft
# Sole, seen from above, right foot: inner side at x < 0, heel at y = 0. Shares of the foot length.
SOLE_NODES = [(0, 0), (.088, .030), (.130, .150), (.150, .350), (.181, .560), (.197, .700),
              (.181, .850), (.122, .985), (-.030, 1.048),
              (-.136, .985), (-.180, .840), (-.185, .690), (-.148, .530), (-.117, .360), (-.123, .150),
              (-.088, .030)]


def sole_net():
    """Counter-clockwise from the heel centre: outer side, toe, inner side."""
    return through([(x * FOOT, y * FOOT) for x, y in SOLE_NODES], closed=True)


def band_net(half):
    """Heel band: lower edge of length 2 x half, ends square to it, top edge. x = 0 is the centre back."""
    def build(a):
        sag, slope = 7.5 * K, 0.115
        end = np.array([a, sag])
        u = unit(np.array([1.0, slope]))
        right_low = [np.array([[0, 0], [0.40 * a, 0], end - u * 0.36 * a, end])]
        top_r = end + left(u) * SIDE
        w = top_r[0]
        right_top = [np.array([top_r, top_r - u * 0.36 * w, [0.34 * w, BACK], [0, BACK]])]
        return right_low, top_r, right_top
    a = brentq(lambda a: length(build(a)[0]) - half, 0.8 * half, half)
    low, corner, top = build(a)
    flip = np.diag([-1, 1])
    return dict(low_r=low, low_l=reverse(move(low, flip)), top_r=top, top_l=reverse(move(top, flip)),
                end_r=straight(low[-1][3], top[0][0]),
                end_l=straight(top[0][0] * [-1, 1], low[-1][3] * [-1, 1]))


def upper_net(len_inner, len_outer):
    """Upper, flat, face up, toe at (0, 0), inner side at x < 0. Lower edge lengths as asked."""
    inner = [(-.142, -.034), (-.252, -.160), (-.308, -.352), (-.330, -.600)]
    outer = [(.138, -.038), (.246, -.170), (.309, -.362), (.338, -.600)]

    def build(k):
        pts = [(x * FOOT, y * FOOT * k[0]) for x, y in reversed(inner)] + [(0, 0)] + \
              [(x * FOOT, y * FOOT * k[1]) for x, y in outer]
        return through(pts)                    # from the inner side end, round the toe, to the outer

    def miss(k):
        c = build(k)
        return [length(c[:4]) - len_inner, length(c[4:]) - len_outer]

    k = fsolve(miss, [1.0, 1.0], xtol=1e-13)
    low = build(k)
    bi, bo = low[0][0], low[-1][3]
    ui, uo = unit(bez_d(low[0], 0)), unit(bez_d(low[-1], 1))     # both along the edge
    ti = bi - left(ui) * SIDE                  # the piece lies to the right of the edge
    to = bo - left(uo) * SIDE
    # throat: square to both side seams, its mid-point square to the centre line
    yc = -0.468 * FOOT
    ki, ko = yc - ti[1], yc - to[1]

    def throat(x):
        m = np.array([x, yc])
        half_o = np.array([to, to - uo * ko * 0.58, m + [0.60 * (to[0] - x), 0], m])
        half_i = np.array([m, m - [0.60 * (x - ti[0]), 0], ti + ui * ki * 0.58, ti])
        return [half_o], [half_i]
    x = brentq(lambda x: length(throat(x)[0]) - length(throat(x)[1]), -15, 15)
    ho, hi = throat(x)
    return dict(low=low, side_o=straight(bo, to), throat_o=ho, throat_i=hi, side_i=straight(ti, bi),
                middle=x)


# ---------------------------------------------------------------- writing
def num(v):
    s = f"{v:.3f}".rstrip("0").rstrip(".")
    return "0" if s in ("-0", "") else s


def xy(p):
    return f"{num(p[0])} {num(-p[1])}"


def path(c, closed=False):
    d = [f"M{xy(c[0][0])}"]
    segs = c
    if closed and is_straight(c[-1]):
        segs = c[:-1]
    for s in segs:
        d.append(f"L{xy(s[3])}" if is_straight(s) else f"C{xy(s[1])} {xy(s[2])} {xy(s[3])}")
    return " ".join(d) + (" Z" if closed else "")


def stroke(a, b):
    return f"M{xy(a)} L{xy(b)}"


class Marks:
    """Notches: the place on the net line, thrown out to the cut line, and a stroke back inwards."""

    def __init__(self):
        self.rows = []

    def add(self, kind, net, d, allowance=ALLOWANCE):
        p, n = point(net, d), left(tangent(net, d))     # the piece lies to the left of the net line
        a = p - n * allowance
        self.rows.append((kind, a, a + n * NOTCH))

    def svg(self, indent="    "):
        return [f'{indent}<path class="notch {k}" d="{stroke(a, b)}"/>' for k, a, b in self.rows]


def check_offset(net, cut, d):
    """The cut line against an independent buffer of the flattened net line."""
    a = Polygon(flat(net))
    b = Polygon(flat(cut))
    want = a.buffer(d, quad_segs=128, join_style="mitre", mitre_limit=5)
    assert a.is_valid and b.is_valid
    return b.boundary.hausdorff_distance(want.boundary)


def dart(net, d):
    """Two legs of equal length from the cut line to the point, DART apart on the net line."""
    a, b = point(net, d - DART / 2), point(net, d + DART / 2)
    mid, n = (a + b) / 2, left(unit(b - a))
    tip = mid + n * DART_LENGTH
    legs = []
    for foot in (a, b):
        out = unit(foot - tip)
        # run on to the cut line: 6 mm out, measured square to the net line
        legs.append(foot + out * ALLOWANCE / abs(out @ n))
    return legs[0], tip, legs[1], a, b


def main():
    here = Path(__file__).resolve().parent.parent
    sole = sole_net()
    whole = length(sole)
    # heel centre -> toe centre along the outer side: where the centre line meets the toe
    near = length(sole[:8])
    toe = brentq(lambda d: point(sole, d)[0] + 0.004 * FOOT, near - 20, near + 10)
    side = 0.496 * FOOT                       # heel centre -> side seam, along the net line
    quarter = 0.5 * side
    tread = 0.376 * FOOT                      # toe centre -> tread notch
    # arc positions on the sole, from the heel centre, counter-clockwise seen from above
    s = dict(heel=0.0, quarter_o=quarter, side_o=side, tread_o=toe - tread, toe=toe,
             tread_i=toe + tread, side_i=whole - side, quarter_i=whole - quarter)

    front_o, front_i = s["side_o"], s["side_i"]
    up = upper_net(front_i - toe + DART + EASE / 2, toe - front_o + DART + EASE / 2)
    band = band_net(side)

    # outlines, each with the piece to the left (counter-clockwise)
    # the upper's lower edge runs inner -> toe -> outer, which is clockwise: turn it round
    up_low = reverse(up["low"])               # outer side end -> toe -> inner side end
    up_net = up_low + reverse(up["side_i"]) + reverse(up["throat_i"]) + reverse(up["throat_o"]) + reverse(up["side_o"])
    throat = reverse(up["throat_i"]) + reverse(up["throat_o"])      # inner -> outer
    o_low, o_si = offset(up_low, ALLOWANCE), offset(reverse(up["side_i"]), ALLOWANCE)
    o_th, o_so = offset(throat, ALLOWANCE), offset(reverse(up["side_o"]), ALLOWANCE)
    up_cut = (o_low + mitre(o_low, o_si) + o_si + mitre(o_si, o_th) + o_th + mitre(o_th, o_so) + o_so
              + mitre(o_so, o_low))

    mirror = np.diag([-1, 1])                 # the sole is drawn from its face side: the ground
    sole_g = reverse(move(sole, mirror))      # counter-clockwise again, from the heel: inner side first
    pos = {k: (whole - v) % whole for k, v in s.items()}
    sole_cut = offset(sole_g, ALLOWANCE)
    felt_cut = offset(sole_g, -FELT_IN)

    b_low = band["low_l"] + band["low_r"]
    b_top = band["top_r"] + band["top_l"]
    band_net_c = b_low + band["end_r"] + b_top + band["end_l"]
    edges = [offset(e, ALLOWANCE) for e in (b_low, band["end_r"], b_top, band["end_l"])]
    band_cut = []
    for i, e in enumerate(edges):
        band_cut += e + mitre(e, edges[(i + 1) % 4])

    # the lining: half, with the centre back on the fold (x = 0)
    h_edges = [offset(e, ALLOWANCE) for e in (band["low_r"], band["end_r"], band["top_r"])]
    foot, head = h_edges[0][0][0], h_edges[2][-1][3]
    half_cut = h_edges[0] + mitre(h_edges[0], h_edges[1]) + h_edges[1] + mitre(h_edges[1], h_edges[2]) + \
        h_edges[2] + straight(head, foot)
    half_net = band["low_r"] + band["end_r"] + band["top_r"]

    # ---- walk
    low_len = length(up_low)
    up_toe = length(up_low[:4])               # outer end -> toe
    rows = []
    U = dict(tread_o=up_toe - tread - DART - EASE / 2, tread_i=up_toe + tread + DART + EASE / 2)
    rows.append(("toe centre to inner tread", U["tread_i"] - up_toe, DART, EASE / 2, s["tread_i"] - toe))
    rows.append(("inner tread to side seam", low_len - U["tread_i"], 0, 0, s["side_i"] - s["tread_i"]))
    bl = length(b_low)
    rows.append(("inner side seam to quarter", bl / 2 - quarter, 0, 0, s["quarter_i"] - s["side_i"]))
    rows.append(("inner quarter to centre back", quarter, 0, 0, whole - s["quarter_i"]))
    rows.append(("centre back to outer quarter", quarter, 0, 0, s["quarter_o"]))
    rows.append(("outer quarter to side seam", bl / 2 - quarter, 0, 0, s["side_o"] - s["quarter_o"]))
    rows.append(("outer side seam to tread", U["tread_o"], 0, 0, s["tread_o"] - s["side_o"]))
    rows.append(("outer tread to toe centre", up_toe - U["tread_o"], DART, EASE / 2, toe - s["tread_o"]))
    print("WALK, net lines, mm")
    print(f"{'seam':30}{'upper/band':>11}{'darts':>7}{'ease':>6}{'sole':>9}{'miss':>8}")
    tot = np.zeros(4)
    for name, a, d, e, b in rows:
        print(f"{name:30}{a:11.3f}{d:7.1f}{e:6.1f}{b:9.3f}{a - d - e - b:8.4f}")
        tot += [a, d, e, b]
        assert abs(a - d - e - b) < 0.01, name
    print(f"{'all round':30}{tot[0]:11.3f}{tot[1]:7.1f}{tot[2]:6.1f}{tot[3]:9.3f}{tot[0]-tot[1]-tot[2]-tot[3]:8.4f}")
    assert abs(low_len + bl - (whole + EASE + 2 * DART)) < 0.01 and 0 <= EASE / whole <= 0.03
    print(f"ease {EASE:.1f} mm = {100 * EASE / whole:.2f} % of the sole's {whole:.2f} mm, all between the tread notches")
    th, bt = length(throat), length(b_top)
    print(f"side seams: upper {length(up['side_i']):.2f} / {length(up['side_o']):.2f}, band ends {length(band['end_r']):.2f}")
    bind_len = th + bt + 2 * ALLOWANCE
    print(f"top line: throat {th:.2f} + band {bt:.2f} = {th + bt:.2f}; binding {bind_len:.2f} with a 6 mm join at each end")

    def corner(a, b):
        u, v = unit(a[-1][3] - a[-1][2]), unit(b[0][1] - b[0][0])
        return 180 - degrees(atan2(cross(u, v), u @ v))
    for name, c1, c2 in (
            ("inner side, sole edge", corner(up_low, reverse(up["side_i"])), corner(b_low, band["end_r"])),
            ("inner side, top line", corner(reverse(up["side_i"]), throat), corner(band["end_r"], b_top)),
            ("outer side, top line", corner(throat, reverse(up["side_o"])), corner(b_top, band["end_l"])),
            ("outer side, sole edge", corner(reverse(up["side_o"]), up_low), corner(band["end_l"], b_low))):
        print(f"corner, {name:24} upper {c1:6.2f} + band {c2:6.2f} = {c1 + c2:6.2f} deg")
        assert abs(c1 + c2 - 180) < 0.5
    print(f"throat mark lies {up['middle']:+.2f} mm from the centre line")
    lo, hi = box(sole)
    print(f"sole net {hi[1]-lo[1]:.2f} x {hi[0]-lo[0]:.2f} mm")
    for name, n, c, d in (("upper", up_net, up_cut, ALLOWANCE), ("sole", sole_g, sole_cut, ALLOWANCE),
                          ("felt sole", sole_g, felt_cut, -FELT_IN), ("heel band", band_net_c, band_cut, ALLOWANCE)):
        e = check_offset(n, c, d)
        print(f"cut line of {name}: {e:.4f} mm from the true offset, {len(c)} segments")
        assert e <= 0.02, name

    # ---- marks: the places on the net lines that the walk above has matched
    m_up = Marks()
    m_up.add("vee", up_low, up_toe)
    m_up.add("slit", up_low, U["tread_i"])
    m_up.add("double", up_low, U["tread_o"])
    m_up.add("slit", throat, th / 2)
    m_sole = Marks()
    m_sole.add("vee", sole_g, pos["toe"])
    m_sole.add("vee", sole_g, 0.0)
    m_sole.add("double", sole_g, pos["tread_o"])
    for k in ("tread_i", "side_i", "side_o", "quarter_i", "quarter_o"):
        m_sole.add("slit", sole_g, pos[k])
    m_band = Marks()
    m_band.add("vee", b_low, bl / 2)
    m_band.add("slit", b_low, bl / 2 - quarter)
    m_band.add("slit", b_low, bl / 2 + quarter)
    m_band.add("slit", b_top, bt / 2)
    m_half = Marks()
    m_half.add("slit", band["low_r"], quarter)

    # Darts sit a little way each side of the toe centre.
    darts = [dart(up_low, up_toe + k * 0.112 * FOOT) for k in (-1, 1)]
    up_poly = Polygon(flat(up_cut))
    for a, tip, b, *_ in darts:
        assert max(LineString(flat(up_cut)).distance(LineString([p, p + 1e-6])) for p in (a, b)) < 0.3
        assert up_poly.contains(LineString([tip, tip + 0.1]))
    stitch = offset(throat, -TOPSTITCH)

    # ---- the page
    W, H = 540, 490
    out = []
    w = out.append
    w('<?xml version="1.0" encoding="UTF-8"?>')
    w('<!-- Drawn by make/draw_slippers.py. Full size: print or project at 100 %. -->')
    w('<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"')
    w('     xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"')
    w(f'     width="{W}mm" height="{H}mm" viewBox="0 0 {W} {H}" preserveAspectRatio="xMidYMid meet">')
    w('  <title>House slippers, foot length 250 mm</title>')
    w('''  <style>
    svg { background: #fbf8f1; }
    path, rect, line, circle, use { fill: none; stroke: #33414e; stroke-width: .35; }
    .cut, [data-role="cut"], #cut-binding { fill: #fff; stroke: #14202b; stroke-width: .7; }
    .cutout { fill: #fbf8f1; stroke: #14202b; stroke-width: .6; }
    .net, [data-role="net"], #net-binding path { stroke: #2e6a9e; stroke-width: .35; stroke-dasharray: 4 1.6; }
    .line, [data-role="line"] { stroke: #7a5c1e; stroke-dasharray: 1.6 1.2; }
    .fold { stroke: #a8322a; stroke-width: .7; stroke-dasharray: 9 2 2 2; }
    .dart { stroke: #7a3f80; stroke-dasharray: 2.4 1; }
    .notch, .notch path { stroke: #a8322a; stroke-width: .6; }
    .grain, [data-role="grain"], #grain-binding { stroke: #33414e; stroke-width: .45; marker-end: url(#head); }
    .drill { stroke: #a8322a; stroke-width: .4; }
    text { font-family: sans-serif; fill: #14202b; text-anchor: middle; font-size: 7px; }
    .small { font-size: 4.2px; fill: #55606a; }
    .note { text-anchor: start; font-size: 4.2px; fill: #55606a; }
    .head { text-anchor: start; font-size: 10px; }
  </style>''')
    w('  <defs>')
    w('    <marker id="head" viewBox="0 0 6 6" refX="6" refY="3" markerWidth="9" markerHeight="9" orient="auto">'
      '<path d="M0 1 L6 3 L0 5" style="fill:none;stroke:#33414e;stroke-width:.6"/></marker>')
    w('    <path id="awl" d="M-2.8 0 H2.8 M0 -2.8 V2.8 M1.6 0 A1.6 1.6 0 1 1 -1.6 0 A1.6 1.6 0 1 1 1.6 0"/>')
    w(f'    <path id="nick" d="M0 0 V{num(-NOTCH)}"/>')
    w('  </defs>')
    w('  <g id="notes">')
    w('    <text class="head" x="14" y="20">House slippers, foot length 250 mm</text>')
    w('    <text class="note" x="14" y="27">Seam allowance 6 mm, included. Solid: cut line. Blue dashes: net line. '
      'One slit: inner side or seam. Double: outer side. Vee: centre line.</text>')
    w('    <rect x="470" y="40" width="50" height="50"/>')
    w('    <text class="small" x="495" y="64">50 × 50 mm</text>')
    w('    <text class="small" x="495" y="70">measure before use</text>')
    w('  </g>')

    def origin(c):
        lo, hi = box(c)
        return (lo + hi) / 2

    def shift(c, x, y):
        """translate(...) that puts the centre of the cut outline at page (x, y)."""
        o = origin(c)
        return f"translate({num(x - o[0])} {num(y + o[1])})"

    def text(x, y, big, small, attr='class="label"'):
        # (x, y) y up, in piece space
        return (f'    <text {attr} x="{num(x)}" y="{num(-y)}">{big}'
                f'<tspan class="small" x="{num(x)}" dy="6.5">{small}</tspan></text>')

    # upper: roles by class
    w('')
    w('  <!-- Upper: each shape says its role by its class. -->')
    w(f'  <g data-piece="upper" data-cut="2" data-pair="yes" transform="{shift(up_cut, 106, 132)}">')
    w(f'    <path class="cut" d="{path(up_cut, True)}"/>')
    w(f'    <path class="net" d="{path(up_net, True)}"/>')
    out.extend(m_up.svg())
    gx = -0.20 * FOOT
    w(f'    <path class="grain" d="{stroke((gx, -108 * K), (gx, -36 * K))}"/>')
    w(f'    <path class="line" inkscape:label="top-stitching, 5 mm from the net line" d="{path(stitch)}"/>')
    for a, tip, b, *_ in darts:
        w(f'    <path class="dart" d="M{xy(a)} L{xy(tip)} L{xy(b)}"/>')
    for dx in (-9, 9):
        w(f'    <use class="drill" xlink:href="#awl" x="{num(dx * K)}" y="{num(100 * K)}"/>')
    w(text(4 * K, -62 * K, "UPPER", "canvas 2, flannel 2, as left and right"))
    w('  </g>')

    # sole: class "piece"; roles by data-role, notches in one sub-group
    w('')
    w('  <!-- Sole: roles by data-role; the notches sit in a sub-group that hands its role down. -->')
    w(f'  <g class="piece" data-name="sole" data-cut="2" data-pair="yes" transform="{shift(sole_cut, 272, 180)}">')
    w(f'    <path data-role="cut" d="{path(sole_cut, True)}"/>')
    w(f'    <path data-role="net" d="{path(sole_g, True)}"/>')
    w('    <g class="notch">')
    for k, a, b in m_sole.rows:
        w(f'      <path data-notch="{k}" d="{stroke(a, b)}"/>')
    w('    </g>')
    w(f'    <line data-role="grain" x1="0" y1="{num(-30 * K)}" x2="0" y2="{num(-138 * K)}"/>')
    w(text(0, 176 * K, "SOLE", "canvas 2, as left and right", 'data-role="label"'))
    w('  </g>')

    # felt sole: told by the editor's label
    lab = "inkscape:label"
    w('')
    w('  <!-- Felt sole: piece and roles told by the label shown in the editor\'s object list. No grain, no net line. -->')
    w(f'  <g {lab}="piece felt sole" data-cut="2" data-pair="yes" transform="{shift(felt_cut, 398, 180)}">')
    w(f'    <path {lab}="cut 1 mm inside the net line" style="fill:#fff;stroke:#14202b;stroke-width:.7" d="{path(felt_cut, True)}"/>')
    w(text(0, 176 * K, "FELT SOLE", "felt 2, as left and right", f'{lab}="label"'))
    w('  </g>')

    # binding: upright strip; roles by id; slits by <use>
    L = bind_len
    w('')
    w('  <!-- Binding: roles by id; every slit is one symbol, used again. -->')
    w(f'  <g id="piece-binding" data-cut="2" transform="translate(24 462)">')
    w(f'    <path id="cut-binding" d="M0 0 H{num(L)} V{num(-BINDING)} H0 Z"/>')
    w('    <g id="net-binding">')
    w(f'      <path d="M{num(ALLOWANCE)} {num(-ALLOWANCE)} H{num(L - ALLOWANCE)}"/>')
    w(f'      <path d="M{num(ALLOWANCE)} 0 V{num(-BINDING)}"/>')
    w(f'      <path d="M{num(L - ALLOWANCE)} 0 V{num(-BINDING)}"/>')
    w('    </g>')
    for i, d in enumerate((0, bt / 2, (bt + th) / 2, bt / 2 + th, bt + th), 1):
        w(f'    <use id="notch-{i}" class="slit" xlink:href="#nick" x="{num(ALLOWANCE + d)}" y="0" style="stroke:#a8322a;stroke-width:.6"/>')
    w(f'    <path id="grain-binding" d="M{num(L * .56)} {num(-BINDING * .6)} H{num(L * .82)}"/>')
    w(f'    <text id="label-binding" x="{num(L * .41)}" y="{num(-BINDING * .6)}">BINDING'
      f'<tspan class="small" x="{num(L * .41)}" dy="6.5">canvas 2</tspan></text>')
    w('  </g>')

    # heel band: nested transform, cutout
    w('')
    w('  <!-- Heel band: drawn upside down in an inner group and turned by its transform. -->')
    o = origin(band_cut)
    w('  <g data-piece="heel band" data-cut="2" transform="translate(156 375)">')
    w(f'    <g transform="rotate(180) translate({num(o[0])} {num(-o[1])})">')
    w(f'      <path class="cut" d="{path(move(band_cut, -np.eye(2)), True)}"/>')
    w(f'      <path class="net" d="{path(move(band_net_c, -np.eye(2)), True)}"/>')
    slot_y = BACK - 15.0
    w(f'      <rect class="cutout" x="-8" y="{num(slot_y - 2.5)}" width="16" height="5" rx="2.5"/>')
    for k, a, b in m_band.rows:
        w(f'      <path class="notch {k}" d="{stroke(-a, -b)}"/>')
    w('    </g>')
    oy = -o[1]
    w(f'    <path class="grain" d="{stroke((-96 * K, 2), (-34 * K, 2))}"/>')
    w(text(62 * K, 2, "HEEL BAND", "canvas 2"))
    w('  </g>')

    # heel band lining: half, on the fold
    w('')
    w('  <!-- Heel band lining: half, with the centre back on the fold. -->')
    w(f'  <g {lab}="piece heel band lining" data-cut="2" transform="{shift(half_cut, 404, 375)}">')
    w(f'    <path class="cut" d="{path(half_cut, True)}"/>')
    w(f'    <path class="net" d="{path(half_net)}"/>')
    w(f'    <path class="fold" d="{stroke(foot, head)}"/>')
    out.extend(m_half.svg())
    w(f'    <path class="grain" d="{stroke((16, 10), (16, 50))}"/>')
    w(text(74 * K, 32, "HEEL BAND LINING", "flannel 2, each cut on the fold"))
    w('  </g>')
    w('</svg>')
    (here / "slippers.svg").write_text("\n".join(out) + "\n", encoding="utf-8")
    for n, c in (("upper", up_cut), ("sole", sole_cut), ("felt sole", felt_cut), ("heel band", band_cut),
                 ("heel band lining", half_cut)):
        lo, hi = box(c)
        print(f"{n}: {hi[0]-lo[0]:.2f} x {hi[1]-lo[1]:.2f} mm")


if __name__ == "__main__":
    main()
