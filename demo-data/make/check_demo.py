#!/usr/bin/env python3
"""Checks the demo job from the files alone: reads slippers.svg and job.toml, and proves the lay.

Needs Python 3.11+ and numpy==2.4.6, svgpathtools==1.8.0, shapely==2.2.0; pillow==13.0.0 for a picture.
Run:  python3 demo-data/make/check_demo.py [PICTURE.png]
Does not import draw_slippers.py. Exit status 1 if anything is wrong.
"""
import re
import sys
import tomllib
import xml.etree.ElementTree as ET
from math import cos, radians, sin
from pathlib import Path

import numpy as np
from shapely import affinity, contains_xy
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union
from svgpathtools import Line, parse_path

HERE = Path(__file__).resolve().parent.parent
SVG = "{http://www.w3.org/2000/svg}"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
HREF = "{http://www.w3.org/1999/xlink}href"
ROLES = ("cut", "cutout", "net", "notch", "grain", "fold", "line", "dart", "drill", "label")
TABLE = (1200, 800)
faults = []


def need(ok, text):
    if not ok:
        faults.append(text)
        print("FAULT:", text)


def word(s):
    return re.split(r"[ \-_.0-9]", s or "")[0]


def role_of(e):
    for w in [e.get("data-role", ""), *e.get("class", "").split(), word(e.get(LABEL)), word(e.get("id"))]:
        if w in ROLES:
            return w
    return None


def piece_name(e):
    if e.tag != SVG + "g":
        return None
    if e.get("data-piece"):
        return e.get("data-piece")
    if "piece" in e.get("class", "").split():
        return e.get("data-name") or e.get(LABEL) or e.get("id")
    for s in (e.get(LABEL, ""), e.get("id", "")):
        m = re.match(r"piece[ \-_](.+)", s)
        if m:
            return m.group(1)
    return None


def transform(s):
    m = np.eye(3)
    for f, a in re.findall(r"(\w+)\(([^)]*)\)", s or ""):
        v = [float(x) for x in re.split(r"[ ,]+", a.strip())]
        if f == "translate":
            t = np.array([[1, 0, v[0]], [0, 1, v[1] if len(v) > 1 else 0], [0, 0, 1]])
        elif f == "rotate":
            c, n = cos(radians(v[0])), sin(radians(v[0]))
            t = np.array([[c, -n, 0], [n, c, 0], [0, 0, 1]])
        else:
            raise ValueError(f)
        m = m @ t
    return m


def shape(e, ids, m):
    """(svgpathtools path, matrix) of one shape."""
    g = lambda k: float(e.get(k, 0))
    t = e.tag.removeprefix(SVG)
    if t == "path":
        return parse_path(e.get("d")), m
    if t == "line":
        return parse_path(f"M{g('x1')},{g('y1')} L{g('x2')},{g('y2')}"), m
    if t == "rect":
        x, y, w, h, r = (g(k) for k in ("x", "y", "width", "height", "rx"))
        if r:
            return parse_path(f"M{x+r},{y} H{x+w-r} A{r},{r} 0 0 1 {x+w},{y+r} V{y+h-r} A{r},{r} 0 0 1 {x+w-r},{y+h} "
                              f"H{x+r} A{r},{r} 0 0 1 {x},{y+h-r} V{y+r} A{r},{r} 0 0 1 {x+r},{y} Z"), m
        return parse_path(f"M{x},{y} h{w} v{h} h{-w} Z"), m
    if t == "use":
        o = ids[(e.get("href") or e.get(HREF)).lstrip("#")]
        return shape(o, ids, m @ transform(f"translate({g('x')} {g('y')})") @ transform(o.get("transform")))
    return None


def points(path, m, step=0.25):
    z = []
    for s in path:
        n = 1 if isinstance(s, Line) else max(8, int(s.length(error=1e-4) / step))
        z += [s.point(i / n) for i in range(n)]
    z.append(path[-1].end)
    p = np.array([[c.real, c.imag, 1] for c in z]) @ m.T
    return p[:, :2] * [1, -1]


def read(file):
    root = ET.parse(file).getroot()
    size = [float(root.get(k).removesuffix("mm")) for k in ("width", "height")]
    assert root.get("viewBox") == f"0 0 {size[0]:g} {size[1]:g}", "scale is not 1"
    ids = {e.get("id"): e for e in root.iter() if e.get("id")}
    pieces = {}

    def walk(e, m, piece, role):
        m = m @ transform(e.get("transform"))
        name = piece_name(e)
        if name and piece is None:
            piece = pieces[name] = dict(name=name, count=int(e.get("data-cut", 1)), pair=e.get("data-pair") == "yes",
                                        **{r: [] for r in ROLES})
        elif piece is not None:
            role = role_of(e) or role
        if e.tag in (SVG + "defs", SVG + "style", SVG + "title"):
            return
        if piece is not None and e.tag == SVG + "text" and role == "label":
            piece["label"].append(((m @ [float(e.get("x")), float(e.get("y")), 1])[:2] * [1, -1], "".join(e.itertext())))
        elif piece is not None:
            s = shape(e, ids, m)
            if s:
                need(role, f"{piece['name']}: a shape without a role")
                k = [e.get("data-notch")] + e.get("class", "").split()
                kind = next((x for x in k if x in ("slit", "double", "vee")), "slit")
                closed = abs(s[0][0].start - s[0][-1].end) < 1e-6
                piece[role].append(dict(p=points(*s), kind=kind, closed=closed, path=s))
        for c in e:
            walk(c, m, piece, role)

    walk(root, np.eye(3), None, None)
    return pieces


def exact_box(path, m):
    """Boxes of straight and cubic segments after a transform without skew (turns by 90 degrees only)."""
    x0, x1, y0, y1 = path.bbox()
    c = np.array([[x, y, 1] for x in (x0, x1) for y in (y0, y1)]) @ m.T
    c = c[:, :2] * [1, -1]
    return c.min(axis=0), c.max(axis=0)


def main():
    pieces = read(HERE / "slippers.svg")
    used = set()
    for n, p in pieces.items():
        need(len(p["cut"]) == 1 and p["cut"][0]["closed"], f"{n}: no closed cut line")
        poly = Polygon(p["cut"][0]["p"])
        need(poly.is_valid and poly.is_simple, f"{n}: cut line crosses itself")
        lo, hi = exact_box(*p["cut"][0]["path"])
        o = p["origin"] = (lo + hi) / 2
        rel = lambda q: q - o
        p["poly"] = affinity.translate(poly, *-o)
        for c in p["cutout"]:
            hole = affinity.translate(Polygon(c["p"]), *-o)
            need(p["poly"].contains(hole), f"{n}: cutout outside")
            p["poly"] = p["poly"].difference(hole)
        edge = p["poly"].exterior
        for k in p["notch"]:
            q = rel(k["p"])
            a, b = (q[0], q[-1]) if edge.distance(Point(q[0])) < edge.distance(Point(q[-1])) else (q[-1], q[0])
            d = float(np.hypot(*(b - a)))
            need(edge.distance(Point(a)) < 0.02, f"{n}: notch off the cut line by {edge.distance(Point(a)):.3f}")
            need(p["poly"].contains(Point(b)), f"{n}: notch points outwards")
            need(abs(d - 3) < 0.01, f"{n}: notch depth {d:.3f}")
            for net in p["net"]:
                gap = LineString(rel(net["p"])).distance(LineString([a, b]))
                # binding: the slits at both ends stand on the join lines, and meet the sewing line's end 3 mm on
                need(gap > 1 or n == "binding", f"{n}: notch {gap:.2f} mm from the net line")
        for r in ("net", "line", "grain", "dart", "drill", "fold"):
            for s in p[r]:
                need(p["poly"].buffer(0.3).covers(LineString(rel(s["p"]))), f"{n}: {r} leaves the piece")
        for q, _ in p["label"]:
            need(p["poly"].contains(Point(rel(q))), f"{n}: label outside")
        used |= {r for r in ROLES if p[r]}
        w = hi - lo
        marks = ", ".join(f"{len(p[r])} {r}" for r in ROLES if p[r])
        print(f"{n:17} {w[0]:7.2f} x {w[1]:6.2f} mm  cut {p['count']}{' pair' if p['pair'] else '     '}  {marks}")
    need(used == set(ROLES), f"roles not used: {set(ROLES) - used}")
    page = [(n, affinity.translate(p["poly"], *p["origin"])) for n, p in pieces.items()]
    for i, (n, a) in enumerate(page):
        for m, b in page[i + 1:]:
            need(a.distance(b) > 5, f"page: {n} and {m} too near")

    job = tomllib.loads((HERE / "job.toml").read_text())
    panels, on_table, laid = {}, {}, []
    for p in job["panel"]:
        out = Polygon(p["outline_mm"])
        need(out.is_valid, p["name"])
        t = p["on_table"]
        to = lambda g, t=t: affinity.translate(affinity.rotate(g, t["turn_deg"], (0, 0)), t["x_mm"], t["y_mm"])
        keep = [(k["name"], Polygon(k["outline_mm"])) for k in p.get("keep_out", [])]
        x0, y0, x1, y1 = p["photo"]["box_mm"]
        need(box(x0, y0, x1, y1).contains(out), f"{p['name']}: photo smaller than the panel")
        panels[p["name"]] = dict(out=out, keep=keep, to=to, p=p)
        on_table[p["name"]] = to(out)
        b = to(out).bounds
        need(b[0] >= 25 and b[1] >= 25 and b[2] <= TABLE[0] - 25 and b[3] <= TABLE[1] - 25, f"{p['name']}: off the table {b}")
        print(f"panel {p['name']:8} on table x {b[0]:.1f}..{b[2]:.1f}, y {b[1]:.1f}..{b[3]:.1f}")
        if (HERE / p["photo"]["file"]).exists():
            # the picture: table shows only outside the outline and inside keep-outs
            from PIL import Image
            a = np.array(Image.open(HERE / p["photo"]["file"]))
            need(a.shape[2] == 4, "photo without alpha")
            z = a.shape[1] / (x1 - x0)
            need(abs(a.shape[0] / (y1 - y0) - z) < 1e-9, "photo: pixels not square")
            bad = out.buffer(-1)
            for _, g in keep:
                bad = bad.difference(g.buffer(-1))
            r, c = np.nonzero(a[..., 3] < 255)
            n = int(contains_xy(bad, x0 + (c + .5) / z, y1 - (r + .5) / z).sum())
            need(n == 0, f"{p['name']}: {n} see-through pixels in good cloth")
    names = list(on_table)
    for i, a in enumerate(names):
        for b in names[i + 1:]:
            need(on_table[a].distance(on_table[b]) > 5, f"panels {a} and {b} touch")
            print(f"panels {a} - {b}: {on_table[a].distance(on_table[b]):.1f} mm")
    got = {}
    for k, q in enumerate(job["placed"], 1):
        pc, pn = pieces[q["piece"]], panels[q["panel"]]

        def lay(g, q=q):
            if q["face"] == "down":
                g = affinity.scale(g, -1, 1, origin=(0, 0))
            return affinity.translate(affinity.rotate(g, q["turn_deg"], (0, 0)), q["x_mm"], q["y_mm"])
        g = lay(pc["poly"])
        tag = f"{q['piece']} {k} ({q['face']})"
        need(pn["out"].covers(g), f"{tag}: not inside {q['panel']}")
        if not pc["fold"]:
            room = pn["out"].exterior.distance(g)
            need(room >= 7, f"{tag}: {room:.1f} mm from the panel's edge")
        for name, hole in pn["keep"]:
            need(g.distance(hole) >= 7, f"{tag}: {g.distance(hole):.1f} mm from {name}")
        for s in pc["grain"]:
            v = np.array(lay(LineString(s["p"] - pc["origin"])).coords)
            a = np.degrees(np.arctan2(*(v[-1] - v[0])[::-1])) - pn["p"]["grain_deg"]
            if q["panel"] != "felt":
                need(abs((a + 90) % 180 - 90) < 0.01, f"{tag}: off grain by {a:.2f}")
        if pc["fold"]:
            f = lay(LineString(pc["fold"][0]["p"] - pc["origin"]))
            off = max(pn["out"].exterior.distance(Point(c)) for c in f.coords)
            need(off < 0.1, f"{tag}: fold edge {off:.2f} mm off the panel's fold")
        laid.append((tag, pn["to"](g), pn["to"], lay, pc))
        got.setdefault((q["piece"], pn["p"]["cloth"]), []).append(q["face"])
    for a in job["article"]:
        for t in a["part"]:
            f = sorted(got.pop((t["piece"], t["cloth"]), []))
            need(f == (["down", "up"] if t["pair"] else ["up"] * t["count"]), f"{t['piece']} in {t['cloth']}: {f}")
            need(t["pair"] == pieces[t["piece"]]["pair"] and t["count"] == pieces[t["piece"]]["count"], f"{t['piece']}: counts differ")
    need(not got, f"placed but not asked for: {got}")
    near = []
    for i, (n, a, *_) in enumerate(laid):
        for m, b, *_ in laid[i + 1:]:
            d = a.distance(b)
            need(not a.intersects(b), f"{n} overlaps {m}")
            if d < 20:
                near.append((d, n, m))
    for d, n, m in sorted(near):
        print(f"  {d:6.2f} mm  {n} - {m}")
    need(sum(d < 6 for d, *_ in near) == 1 and all(d >= 7 or 3.5 < d < 4.5 for d, *_ in near), "gaps are not as meant")
    if len(sys.argv) > 1:
        picture(sys.argv[1], panels, laid)
    print("all right" if not faults else f"{len(faults)} faults")
    return 1 if faults else 0


def picture(file, panels, laid):
    from PIL import Image, ImageDraw
    z = 1.5
    img = Image.new("RGBA", (int(TABLE[0] * z), int(TABLE[1] * z)), (58, 76, 66, 255))
    for p in panels.values():
        f = HERE / p["p"]["photo"]["file"]
        if not f.exists():
            continue
        ph = Image.open(f).convert("RGBA")
        x0, y0, x1, y1 = p["p"]["photo"]["box_mm"]
        t = p["p"]["on_table"]
        # picture pixel -> table -> cloth -> photo pixel
        c, s = cos(radians(t["turn_deg"])), sin(radians(t["turn_deg"]))
        to_table = np.array([[1 / z, 0, 0], [0, -1 / z, TABLE[1]], [0, 0, 1]])
        to_cloth = np.array([[c, s, -c * t["x_mm"] - s * t["y_mm"]], [-s, c, s * t["x_mm"] - c * t["y_mm"]], [0, 0, 1]])
        to_px = np.array([[ph.width / (x1 - x0), 0, -x0 * ph.width / (x1 - x0)],
                          [0, -ph.height / (y1 - y0), y1 * ph.height / (y1 - y0)], [0, 0, 1]])
        a = (to_px @ to_cloth @ to_table)[:2].ravel()
        img.alpha_composite(ph.transform(img.size, Image.AFFINE, tuple(a), Image.BICUBIC))
    d = ImageDraw.Draw(img, "RGBA")
    at = lambda g: [(x * z, (TABLE[1] - y) * z) for x, y in g.coords]
    for p in panels.values():
        d.line(at(p["to"](p["out"]).exterior), fill=(255, 255, 255, 120), width=1)
        for _, k in p["keep"]:
            d.line(at(p["to"](k).exterior), fill=(255, 60, 60, 255), width=2)
    others = unary_union([g for _, g, *_ in laid])
    for tag, g, to, lay, pc in laid:
        band = g.buffer(3).difference(others)
        for b in getattr(band, "geoms", [band]):
            if b.geom_type != "Polygon":
                continue
            m = Image.new("L", img.size, 0)
            md = ImageDraw.Draw(m)
            md.polygon(at(b.exterior), fill=235)
            for h in b.interiors:
                md.polygon(at(h), fill=0)
            img.paste((255, 255, 255, 255), (0, 0), m)
        for r, col in (("net", (60, 130, 230, 255)), ("notch", (255, 40, 40, 255)), ("grain", (0, 0, 0, 255)),
                       ("line", (255, 200, 60, 255)), ("dart", (230, 60, 230, 255)), ("fold", (255, 0, 0, 255)),
                       ("drill", (255, 40, 40, 255))):
            for s in pc[r]:
                d.line(at(to(lay(LineString(s["p"] - pc["origin"])))), fill=col, width=2)
        for q, text in pc["label"]:
            (x, y), = at(to(lay(Point(q - pc["origin"]))))
            d.text((x, y), tag, fill=(0, 0, 0, 255), anchor="mm")
    img.convert("RGB").save(file)


if __name__ == "__main__":
    sys.exit(main())
