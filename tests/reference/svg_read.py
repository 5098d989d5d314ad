# A small SVG reader for the reference values: shapes with exact curves, in mm, y up.
# Written from the SVG 1.1 / SVG 2 text and the drawing convention. Not run by itself.
# Every path is read a second time by svgpathtools and compared.
# numpy==2.4.6 svgpathtools==1.8.0
import cmath
import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import svgpathtools

MM = {"": 25.4 / 96, "px": 25.4 / 96, "mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
INK = "{http://www.inkscape.org/namespaces/inkscape}"
XLINK = "{http://www.w3.org/1999/xlink}"
ROLES = "cut cutout net notch grain fold line dart drill label".split()
NUM = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"


class Curve:
    """A Bezier of degree 1 to 3; points are complex numbers."""

    def __init__(self, *p):
        self.p = [complex(q) for q in p]

    def at(self, t):
        q = list(self.p)
        while len(q) > 1:
            q = [a + (b - a) * t for a, b in zip(q, q[1:])]
        return q[0]

    def slope(self, t):
        n = len(self.p) - 1
        d = Curve(*[n * (b - a) for a, b in zip(self.p, self.p[1:])]).at(t)
        if abs(d) < 1e-9:  # a handle of no length: look a little further in
            e = 1e-5 if t < 0.5 else -1e-5
            d = (self.at(t + e) - self.at(t)) / e
        return d

    def mapped(self, m):
        return Curve(*[m(q) for q in self.p])

    def reverse(self):
        return Curve(*self.p[::-1])

    def pieces(self, tol):
        n = len(self.p) - 1
        if n == 1:
            return 1
        dd = max(abs(a - 2 * b + c) for a, b, c in zip(self.p, self.p[1:], self.p[2:]))
        return max(1, math.ceil(math.sqrt(n * (n - 1) * dd / (8 * tol))))

    def extremes(self):
        ts = [0.0, 1.0]
        n = len(self.p) - 1
        d = [n * (b - a) for a, b in zip(self.p, self.p[1:])]
        for part in (lambda z: z.real, lambda z: z.imag):
            v = [part(z) for z in d]
            if n == 2:
                co = [v[1] - v[0], v[0]]
            elif n == 3:
                co = [v[0] - 2 * v[1] + v[2], 2 * (v[1] - v[0]), v[0]]
            else:
                continue
            ts += [r.real for r in np.roots(co) if abs(r.imag) < 1e-12 and 0 < r.real < 1]
        return [self.at(t) for t in ts]

    def green(self):
        """Half the integral of x dy - y dx; exact for these degrees."""
        x, w = np.polynomial.legendre.leggauss(6)
        n = len(self.p) - 1
        d = Curve(*[n * (b - a) for a, b in zip(self.p, self.p[1:])])
        return sum(0.25 * k * (self.at((s + 1) / 2).conjugate() * d.at((s + 1) / 2)).imag for s, k in zip(x, w))


class Arc:
    """c + u cos(a) + v sin(a), a from a0 to a0 + da: any affine image of a circle's arc."""

    def __init__(self, c, u, v, a0, da):
        self.c, self.u, self.v, self.a0, self.da = c, u, v, a0, da

    def at(self, t):
        a = self.a0 + t * self.da
        return self.c + self.u * math.cos(a) + self.v * math.sin(a)

    def slope(self, t):
        a = self.a0 + t * self.da
        return self.da * (self.v * math.cos(a) - self.u * math.sin(a))

    def mapped(self, m):
        o = m(0j)
        return Arc(m(self.c), m(self.u) - o, m(self.v) - o, self.a0, self.da)

    def reverse(self):
        return Arc(self.c, self.u, self.v, self.a0 + self.da, -self.da)

    def pieces(self, tol):
        r = np.linalg.norm([[self.u.real, self.v.real], [self.u.imag, self.v.imag]], 2)
        return max(1, math.ceil(abs(self.da) / (2 * math.acos(max(0.0, 1 - tol / r)))))

    def extremes(self):
        ts = [0.0, 1.0]
        for a in (math.atan2(self.v.real, self.u.real), math.atan2(self.v.imag, self.u.imag)):
            for k in range(-6, 7):
                t = (a + k * math.pi - self.a0) / self.da
                if 0 < t < 1:
                    ts.append(t)
        return [self.at(t) for t in ts]

    def green(self):
        turn = (self.u.conjugate() * self.v).imag
        return 0.5 * ((self.c.conjugate() * (self.at(1) - self.at(0))).imag + turn * self.da)


def svg_arc(p0, rx, ry, rot, large, sweep, p1):
    """SVG 1.1 appendix F.6: end points to centre."""
    if p0 == p1:
        return []
    rx, ry = abs(rx), abs(ry)
    if rx == 0 or ry == 0:
        return [Curve(p0, p1)]
    e = cmath.exp(1j * math.radians(rot))
    d = (p0 - p1) / 2 / e
    lam = (d.real / rx) ** 2 + (d.imag / ry) ** 2
    if lam > 1:
        rx, ry = rx * math.sqrt(lam), ry * math.sqrt(lam)
    q = (rx * d.imag) ** 2 + (ry * d.real) ** 2
    k = math.sqrt(max(0.0, ((rx * ry) ** 2 - q) / q)) * (-1 if large == sweep else 1)
    cc = complex(k * rx * d.imag / ry, -k * ry * d.real / rx)
    s, f = d - cc, -d - cc
    a0 = math.atan2(s.imag / ry, s.real / rx)
    a1 = math.atan2(f.imag / ry, f.real / rx)
    da = (a1 - a0) % (2 * math.pi)
    if not sweep:
        da -= 2 * math.pi
    arc = Arc(cc * e + (p0 + p1) / 2, rx * e, 1j * ry * e, a0, da)
    assert abs(arc.at(0) - p0) < 1e-6 and abs(arc.at(1) - p1) < 1e-6
    return [arc]


def path_data(d):
    """Sub-paths as (list of segments, closed)."""
    out = []
    pos = start = 0j
    segs, last, ctrl = [], "", None

    def finish(closed):
        nonlocal segs
        if segs:
            out.append((segs, closed))
        segs = []

    for cmd, args in re.findall(r"([MmLlHhVvCcSsQqTtAaZz])([^MmLlHhVvCcSsQqTtAaZz]*)", d):
        up, rel = cmd.upper(), cmd.islower()
        if up == "A":
            v, rest = [], args
            pats = [NUM, NUM, NUM, r"[01]", r"[01]", NUM, NUM]
            k = 0
            while True:
                rest = rest.lstrip(" ,\t\r\n")
                if not rest:
                    break
                m = re.match(pats[k % 7], rest)
                v.append(float(m.group()))
                rest, k = rest[m.end():], k + 1
        else:
            v = [float(x) for x in re.findall(NUM, args)]
        need = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}[up]
        if up == "Z":
            if abs(pos - start) > 0:
                segs.append(Curve(pos, start))
            finish(True)
            pos, last, ctrl = start, "Z", None
            continue
        assert v and len(v) % need == 0, (cmd, args)
        for j in range(0, len(v), need):
            a = v[j:j + need]
            o = pos if rel else 0j
            z = lambda n: complex(a[n], a[n + 1]) + o
            if up == "M" and j == 0:
                finish(False)
                pos = start = z(0)
                last, ctrl = "M", None
                continue
            if up in "ML":
                q, new = z(0), "L"
                if q != pos:
                    segs.append(Curve(pos, q))
            elif up == "H":
                q, new = complex(a[0] + o.real, pos.imag), "L"
                if q != pos:
                    segs.append(Curve(pos, q))
            elif up == "V":
                q, new = complex(pos.real, a[0] + o.imag), "L"
                if q != pos:
                    segs.append(Curve(pos, q))
            elif up in "CS":
                c1 = z(0) if up == "C" else (2 * pos - ctrl if last == "C" else pos)
                c2, q = (z(2), z(4)) if up == "C" else (z(0), z(2))
                segs.append(Curve(pos, c1, c2, q))
                ctrl, new = c2, "C"
            elif up in "QT":
                c1 = z(0) if up == "Q" else (2 * pos - ctrl if last == "Q" else pos)
                q = z(2) if up == "Q" else z(0)
                segs.append(Curve(pos, c1, q))
                ctrl, new = c1, "Q"
            else:
                q, new = complex(a[5], a[6]) + o, "A"
                segs += svg_arc(pos, a[0], a[1], a[2], bool(a[3]), bool(a[4]), q)
            pos, last = q, new
    finish(False)
    check_path(d, out)
    return out


def check_path(d, subs):
    """The same data through svgpathtools: the same end points and mid points."""
    other = [s for s in svgpathtools.parse_path(d) if not (isinstance(s, svgpathtools.Line) and s.start == s.end)]
    mine = [s for segs, _ in subs for s in segs]
    assert len(other) == len(mine), d
    for a, b in zip(mine, other):
        for t in (0.0, 0.3, 0.5, 1.0):
            assert abs(a.at(t) - b.point(t)) < 1e-6, (d, t, a.at(t), b.point(t))


def affine(a=1.0, b=0.0, c=0.0, d=1.0, e=0.0, f=0.0):
    return np.array([[a, c, e], [b, d, f], [0, 0, 1.0]])


def transform(text):
    m = affine()
    for name, args in re.findall(r"([a-zA-Z]+)\s*\(([^)]*)\)", text or ""):
        v = [float(x) for x in re.findall(NUM, args)]
        if name == "matrix":
            k = affine(*v)
        elif name == "translate":
            k = affine(e=v[0], f=v[1] if len(v) > 1 else 0.0)
        elif name == "scale":
            k = affine(a=v[0], d=v[1] if len(v) > 1 else v[0])
        elif name == "rotate":
            s, c = math.sin(math.radians(v[0])), math.cos(math.radians(v[0]))
            k = affine(c, s, -s, c)
            if len(v) > 1:
                k = affine(e=v[1], f=v[2]) @ k @ affine(e=-v[1], f=-v[2])
        elif name == "skewX":
            k = affine(c=math.tan(math.radians(v[0])))
        elif name == "skewY":
            k = affine(b=math.tan(math.radians(v[0])))
        else:
            raise ValueError(name)
        m = m @ k
    return m


def length(text, default=0.0):
    """A length in user units."""
    if text is None:
        return default
    m = re.fullmatch(rf"\s*({NUM})\s*([a-zA-Z]*)\s*", text)
    unit = m.group(2).lower()
    return float(m.group(1)) * (1.0 if unit == "" else MM[unit] / MM["px"])


def view_box(el):
    """viewBox and preserveAspectRatio: viewBox units -> the element's user units."""
    vb = el.get("viewBox")
    if vb is None:
        return affine()
    x, y, w, h = [float(v) for v in re.findall(NUM, vb)]
    ew, eh = length(el.get("width"), w), length(el.get("height"), h)
    if el.get("width") is not None and el.get("height") is None:
        eh = ew * h / w
    if el.get("height") is not None and el.get("width") is None:
        ew = eh * w / h
    par = (el.get("preserveAspectRatio") or "xMidYMid meet").replace("defer", "").split()
    sx, sy = ew / w, eh / h
    if par[0] == "none":
        return affine(a=sx, d=sy, e=-x * sx, f=-y * sy)
    s = max(sx, sy) if "slice" in par else min(sx, sy)
    fx = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}[par[0][1:4]]
    fy = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}[par[0][5:8]]
    return affine(a=s, d=s, e=-x * s + fx * (ew - w * s), f=-y * s + fy * (eh - h * s))


def local(el):
    return el.tag.split("}")[-1] if isinstance(el.tag, str) else ""


def hidden(el):
    style = (el.get("style") or "").replace(" ", "")
    return el.get("display") == "none" or "display:none" in style or \
        el.get("visibility") in ("hidden", "collapse") or "visibility:hidden" in style


def role_of(el):
    if el.get("data-role"):
        return el.get("data-role").strip()
    for tok in (el.get("class") or "").split():
        if tok in ROLES:
            return tok
    for name in (el.get(INK + "label"), el.get("id")):
        if name:
            word = re.split(r"[\s\-_.0-9]", name.strip())[0]
            if word in ROLES:
                return word
    return None


def notch_kind(el):
    if el.get("data-notch"):
        return el.get("data-notch").strip()
    return next((t for t in (el.get("class") or "").split() if t in ("slit", "double", "vee")), None)


def piece_name(el):
    if local(el) != "g":
        return None
    if el.get("data-piece"):
        return el.get("data-piece")
    label, ident = el.get(INK + "label"), el.get("id")
    if "piece" in (el.get("class") or "").split():
        return el.get("data-name") or label or ident
    for name in (label, ident):
        if name and re.match(r"piece[ \-_]", name):
            return name[6:].strip()
    return None


def basic_shape(el):
    """Sub-paths of a basic shape in its own user units."""
    tag = local(el)
    g = lambda k, d=0.0: length(el.get(k), d)
    if tag == "path":
        return path_data(el.get("d") or "")
    if tag in ("polygon", "polyline"):
        v = [float(x) for x in re.findall(NUM, el.get("points") or "")]
        p = [complex(x, y) for x, y in zip(v[::2], v[1::2])]
        if tag == "polygon":
            p.append(p[0])
        return [([Curve(a, b) for a, b in zip(p, p[1:]) if a != b], tag == "polygon")]
    if tag == "line":
        return [([Curve(complex(g("x1"), g("y1")), complex(g("x2"), g("y2")))], False)]
    if tag == "rect":
        x, y, w, h = g("x"), g("y"), g("width"), g("height")
        rx, ry = el.get("rx"), el.get("ry")
        rx, ry = (length(rx) if rx else length(ry)), (length(ry) if ry else length(rx))
        rx, ry = min(rx, w / 2), min(ry, h / 2)
        if rx == 0 or ry == 0:
            return path_data(f"M{x!r} {y!r}h{w!r}v{h!r}h{-w!r}z")
        k = f"a{rx!r} {ry!r} 0 0 1"
        return path_data(f"M{x + rx!r} {y!r}H{x + w - rx!r}{k} {rx!r} {ry!r}V{y + h - ry!r}{k} {-rx!r} {ry!r}"
                         f"H{x + rx!r}{k} {-rx!r} {-ry!r}V{y + ry!r}{k} {rx!r} {-ry!r}z")
    if tag in ("circle", "ellipse"):
        rx, ry = (g("r"), g("r")) if tag == "circle" else (g("rx"), g("ry"))
        return [([Arc(complex(g("cx"), g("cy")), complex(rx), 1j * ry, 0.0, 2 * math.pi)], True)]
    return None


def read(path):
    """{'pieces': {name: {'count', 'pair', 'shapes'}}, 'loose': [...], 'left_out': [...]}; mm, y up, page coordinates."""
    root = ET.parse(path).getroot()
    ids = {el.get("id"): el for el in root.iter() if el.get("id")}
    got = {"pieces": {}, "loose": [], "left_out": []}

    def visit(el, m, piece, role, depth=0):
        tag = local(el)
        if tag in ("defs", "symbol", "clipPath", "mask", "pattern", "marker", "style", "metadata", "title", "desc", "namedview", ""):
            return
        if hidden(el):
            got["left_out"].append((el.get("id") or tag, "hidden"))
            return
        m = m @ transform(el.get("transform"))
        assert "transform" not in (el.get("style") or "")
        own = role_of(el)
        name = piece_name(el)
        if name is not None:
            assert piece is None, "piece groups do not nest"
            assert name not in got["pieces"], name
            piece, role = name, None
            own = own if el.get("data-role") else None
            got["pieces"][name] = {"count": int(el.get("data-cut") or 1), "pair": el.get("data-pair") == "yes", "shapes": []}
        role = own or role
        if tag in ("g", "a", "switch", "svg"):
            if tag == "svg" and depth:
                m = m @ affine(e=length(el.get("x")), f=length(el.get("y"))) @ view_box(el)
            for k in el:
                visit(k, m, piece, role, depth + 1)
            return
        if tag == "use":
            ref = (el.get("href") or el.get(XLINK + "href")).lstrip("#")
            k = m @ affine(e=length(el.get("x")), f=length(el.get("y")))
            target = ids[ref]
            if local(target) == "symbol":
                assert target.get("viewBox") is None
                for c in target:
                    visit(c, k, piece, role, depth + 1)
            else:
                # what the use itself says comes before what its target says
                visit_as(target, k, piece, role, own, depth)
                kind = notch_kind(el)
                if own == "notch" and kind and piece:
                    got["pieces"][piece]["shapes"][-1]["kind"] = kind
            return
        emit(el, tag, m, piece, role)

    def visit_as(el, m, piece, role, forced, depth):
        if forced is None:
            visit(el, m, piece, role, depth + 1)
        elif basic_shape(el) is not None:
            emit(el, local(el), m @ transform(el.get("transform")), piece, forced)
        else:
            # a group used with a role of its own is one shape of that role (say, a drill mark drawn as circle and cross)
            into = got["pieces"][piece]["shapes"] if piece else got["loose"]
            n = len(into)
            visit(el, m, piece, forced, depth + 1)
            parts = [p for p in into[n:] if p["subs"]]
            into[n:] = [{"role": forced, "id": el.get("id"), "tag": "use", "kind": "slit", "subs": [q for p in parts for q in p["subs"]]}]

    def emit(el, tag, m, piece, role):
        f = lambda z: complex(m[0, 0] * z.real + m[0, 1] * z.imag + m[0, 2],
                              -(m[1, 0] * z.real + m[1, 1] * z.imag + m[1, 2]))
        shape = {"role": role, "id": el.get("id"), "tag": tag, "kind": notch_kind(el) or "slit"}
        if tag == "text":
            if piece and role in (None, "label"):
                sp = [t for t in el.iter() if t.get("x") is not None]
                v = lambda k: length(re.findall(NUM + r"[a-z]*", (sp[0] if sp else el).get(k) or "0")[0])
                shape |= {"role": "label", "at": f(complex(v("x"), v("y"))), "text": "".join(el.itertext()).strip(), "subs": []}
                got["pieces"][piece]["shapes"].append(shape)
            return
        subs = basic_shape(el)
        if subs is None:
            got["left_out"].append((el.get("id") or tag, "not a shape"))
            return
        shape["subs"] = [([s.mapped(f) for s in segs], closed) for segs, closed in subs]
        if tag in ("circle", "ellipse"):
            shape["centre"] = shape["subs"][0][0][0].c
        if piece:
            got["pieces"][piece]["shapes"].append(shape)
        else:
            got["loose"].append(shape)

    px = MM["px"]
    visit(root, affine(a=px, d=px) @ view_box(root), None, None)
    return got


def flatten(segs, tol):
    """Points of a run of segments; each lies on the curve, chords within tol of it."""
    pts = [segs[0].at(0.0)]
    for s in segs:
        n = s.pieces(tol)
        pts += [s.at(k / n) for k in range(1, n + 1)]
    return pts
