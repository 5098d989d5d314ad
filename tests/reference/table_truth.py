# What must be lit on the table for the demo job: outlines, bands, notch ticks, marks.
# Reads demo-data/job.toml and the drawings it names with its own reader.
# Python >= 3.11; numpy==2.4.6 shapely==2.2.0 svgpathtools==1.8.0 scipy==1.17.1
# Run: pip install numpy==2.4.6 shapely==2.2.0 svgpathtools==1.8.0 scipy==1.17.1; python tests/reference/table_truth.py
# Another job: python tests/reference/table_truth.py JOB.toml OUT.json
import hashlib
import math
import sys
import tomllib
from pathlib import Path

import numpy as np
from scipy.optimize import brentq
from shapely import LineString, Point, Polygon, unary_union

from common import HERE, poly_json, polys, ring, write
from shapes import arc_error, grow
from svg_read import Curve, flatten, read

W = 3.0           # band width, mm
FLAT = 0.001      # flattening tolerance, mm
SIMPLE = 0.002    # simplification of what is written, mm
QS = 64
OUT = 2.0         # ticks reach this far outside the cut line
PLACES = 6


def sha(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def xy(z):
    return (z.real, z.imag)


def turned(deg):
    return complex(math.cos(math.radians(deg)), math.sin(math.radians(deg)))


class Outline:
    """A closed run of exact segments with the cut region on its left."""

    def __init__(self, segs, cutout):
        end, start = segs[-1].at(1.0), segs[0].at(0.0)
        if abs(end - start) > 1e-9:
            segs = segs + [Curve(end, start)]
        self.area = sum(s.green() for s in segs)
        self.cutout = cutout
        if (self.area > 0) == cutout:
            segs, self.area = [s.reverse() for s in reversed(segs)], -self.area
        self.segs = segs
        self.points = flatten(segs, FLAT)[:-1]

    def nearest(self, z):
        """(distance, foot, inward unit normal, distance to the nearest corner)."""
        best = None
        for i, s in enumerate(self.segs):
            n = 64 if s.pieces(FLAT) > 1 else 1
            dist = lambda t: abs(s.at(t) - z)
            ts = np.linspace(0, 1, n + 1)
            k = int(np.argmin([dist(t) for t in ts]))
            lo, hi = ts[max(0, k - 1)], ts[min(n, k + 1)]
            # the foot is where the curve runs square to the line to z
            run = lambda t: ((s.at(t) - z).conjugate() * s.slope(t)).real
            cands = [0.0, 1.0] + ([brentq(run, lo, hi, xtol=1e-15)] if run(lo) < 0 < run(hi) else [])
            for t in cands:
                if best is None or dist(t) < best[0] - 1e-12:
                    best = (dist(t), i, t)
        d, i, t = best
        s = self.segs[i]
        foot = s.at(t)
        unit = lambda v: v / abs(v)
        n = len(self.segs)
        if abs(foot - s.at(0.0)) < 1e-6:
            t, dirs = 0.0, (self.segs[i - 1].slope(1.0), s.slope(0.0))
        elif abs(foot - s.at(1.0)) < 1e-6:
            t, dirs = 1.0, (s.slope(1.0), self.segs[(i + 1) % n].slope(0.0))
        else:
            dirs = (s.slope(t), s.slope(t))
        normals = [1j * unit(v) for v in dirs]
        corner = min([abs(foot - self.segs[k].at(0.0)) for k in range(n)
                      if abs(unit(self.segs[k - 1].slope(1.0)) - unit(self.segs[k].slope(0.0))) > 1e-3] or [math.inf])
        return d, s.at(t), unit(normals[0] + normals[1]), corner


class Piece:
    """One piece in piece space: mm, origin at the centre of its outlines' exact box."""

    def __init__(self, name, raw):
        self.name, self.count, self.pair = name, raw["count"], raw["pair"]
        shapes = raw["shapes"]
        cuts = [s for s in shapes if s["role"] == "cut"]
        if not cuts:
            free = [s for s in shapes if s["role"] is None and len(s["subs"]) == 1 and s["subs"][0][1]]
            assert len(free) == 1, f"{name}: no cut line"
            cuts = free
        ext = np.array([xy(e) for s in cuts for segs, _ in s["subs"] for g in segs for e in g.extremes()])
        lo, hi = ext.min(0), ext.max(0)
        o = complex(*((lo + hi) / 2))
        self.size = hi - lo
        move = lambda z: z - o
        runs = lambda s: [([g.mapped(move) for g in segs], closed) for segs, closed in s["subs"] if segs]
        of = lambda role: [s for s in shapes if s["role"] == role]
        self.unclear = [s["id"] or s["tag"] for s in shapes if s["role"] is None and s not in cuts]
        self.outlines = [Outline(segs, False) for s in cuts for segs, _ in runs(s)]
        self.holes = [Outline(segs, True) for s in of("cutout") for segs, _ in runs(s)]
        self.region = unary_union([Polygon([xy(p) for p in c.points]) for c in self.outlines])
        if self.holes:
            self.region = self.region.difference(unary_union([Polygon([xy(p) for p in c.points]) for c in self.holes]))
        assert self.region.is_valid
        for c in self.outlines + self.holes:
            assert Polygon([xy(p) for p in c.points]).is_valid, f"{name}: an outline crosses itself"
        self.area_exact = sum(c.area for c in self.outlines + self.holes)
        strokes = lambda role: [(flatten(segs, FLAT), closed) for s in of(role) for segs, closed in runs(s)]
        self.nets, self.folds, self.lines, self.darts = (strokes(r) for r in ("net", "fold", "line", "dart"))
        self.grain = [(p[0], p[-1]) for p, _ in strokes("grain")]
        self.drills = [self.middle(s, move) for s in of("drill")]
        self.labels = [s["at"] - o if "at" in s else self.middle(s, move, circles=False) for s in of("label")]
        self.notches = [self.notch(s, runs(s)) for s in of("notch")]

    def middle(self, s, move, circles=True):
        if circles and "centre" in s:
            return s["subs"][0][0][0].mapped(move).c
        e = np.array([xy(move(p)) for segs, _ in s["subs"] for g in segs for p in g.extremes()])
        return complex(*((e.min(0) + e.max(0)) / 2))

    def notch(self, s, runs):
        (segs, _), = runs
        ends = segs[0].at(0.0), segs[-1].at(1.0)
        near = lambda z: min((c.nearest(z) for c in self.outlines + self.holes), key=lambda r: r[0])
        (a, b), (na, nb) = ends, (near(ends[0]), near(ends[1]))
        hit, other = (na, b) if na[0] <= nb[0] else (nb, a)
        depth = float(sum(abs(q - p) for p, q in zip(flatten(segs, FLAT), flatten(segs, FLAT)[1:])))
        assert hit[0] <= 1.0, f"{self.name}: notch {s['id']} is {hit[0]:.3f} mm off the cut line"
        stroke = other - (a if other is b else b)
        lean = math.degrees(math.acos(max(-1.0, min(1.0, (stroke.conjugate() * hit[2]).real / abs(stroke)))))
        return {"id": s["id"], "at": hit[1], "n": hit[2], "depth": depth, "kind": s["kind"],
                "off": hit[0], "lean": lean, "corner": hit[3]}


def box_at(a, n, half, lo, hi):
    """|s.t| <= half, lo <= s.n <= hi about a; t is n turned by -90 degrees."""
    t = -1j * n
    return Polygon([xy(a + x * t + y * n) for x, y in ((-half, lo), (half, lo), (half, hi), (-half, hi))])


def tick_shape(k):
    a, n, d = k["at"], k["n"], k["depth"]
    t = -1j * n
    if k["kind"] == "slit":
        return box_at(a, n, 0.75, -OUT, d), box_at(a, n, 1.75, -(W + 2), 1)
    if k["kind"] == "double":
        return unary_union([box_at(a + x * t, n, 0.75, -OUT, d) for x in (-2.5, 2.5)]), box_at(a, n, 4.25, -(W + 2), 1)
    assert k["kind"] == "vee", k["kind"]
    wedge = Polygon([xy(a - d / 2 * t), xy(a + d / 2 * t), xy(a + d * n)])
    return unary_union([wedge, box_at(a, n, d / 2, -OUT, 0)]), box_at(a, n, d / 2 + 1, -(W + 2), 1)


class Placed:
    """A piece carried to the table."""

    def __init__(self, piece, place, panel):
        self.piece, self.place = piece, place
        on = panel.get("on_table", {})
        r1, s1 = turned(place.get("turn_deg", 0.0)), complex(place["x_mm"], place["y_mm"])
        r2, s2 = turned(on.get("turn_deg", 0.0)), complex(on.get("x_mm", 0.0), on.get("y_mm", 0.0))
        self.down = place.get("face", "up") == "down"
        mirror = (lambda z: complex(-z.real, z.imag)) if self.down else (lambda z: z)
        self.go = lambda z: r2 * (r1 * mirror(z) + s1) + s2
        self.turn = lambda z: r2 * r1 * mirror(z)
        put = lambda c: Polygon([xy(self.go(p)) for p in c.points])
        self.outlines = [put(c) for c in piece.outlines]
        self.holes = [put(c) for c in piece.holes]
        self.region = unary_union(self.outlines)
        if self.holes:
            self.region = self.region.difference(unary_union(self.holes))
        self.grown = grow(self.region, W, QS)
        self.ticks, gaps = [], []
        for k in piece.notches:
            q = dict(k, at=self.go(k["at"]), n=self.turn(k["n"]))
            tick, gap = tick_shape(q)
            self.ticks.append((q, tick.intersection(self.region)))
            gaps.append(gap)
        # a fold edge is not cut: no band on its outer side
        for pts, _ in piece.folds:
            line = LineString([xy(self.go(z)) for z in pts])
            sides = [line.buffer(s * (W + 2), single_sided=True) for s in (1, -1)]
            gaps.append(min(sides, key=lambda s: s.intersection(self.region).area))
        self.gaps = unary_union(gaps)

    def finish(self, others):
        self.band = self.grown.difference(self.region)
        hood = [o.region for o in others if o.region.distance(self.region) < 2 * W]
        if hood:
            self.band = self.band.difference(unary_union(hood))
        self.band = self.band.difference(self.gaps)
        self.band = unary_union([p for p in polys(self.band) if p.area > 1e-6])  # crumbs of rounding

    def lines(self, strokes):
        out = []
        for pts, closed in strokes:
            p = LineString([xy(self.go(z)) for z in pts]).simplify(SIMPLE)
            c = [(round(x, PLACES), round(y, PLACES)) for x, y in p.coords]
            out.append({"closed": closed, "points": c[:-1] if closed and c[0] == c[-1] else c})
        return out


def pt(z):
    return [round(z.real, PLACES), round(z.imag, PLACES)]


def thin(g):
    g = g.simplify(SIMPLE)
    assert g.is_valid
    return g


def main(job_path, out_name):
    job = tomllib.loads(job_path.read_text(encoding="utf-8"))
    assert job["ghostchalk_job"] == 1
    pieces, files, left = {}, [], []
    for pat in job["pattern"]:
        path = job_path.parent / pat["file"]
        files.append({"file": pat["file"], "sha256": sha(path)})
        got = read(path)
        left += got["left_out"]
        for name, raw in got["pieces"].items():
            assert name not in pieces
            pieces[name] = Piece(name, raw)
            if pieces[name].unclear:
                print(f"{name}: could not be told: {pieces[name].unclear}")
    print(f"left out: {left}")
    panels = {p["name"]: p for p in job["panel"]}
    placed = [Placed(pieces[p["piece"]], p, panels[p["panel"]]) for p in job["placed"]]
    for a in placed:
        a.finish([b for b in placed if b is not a])

    out = []
    for q in placed:
        p = q.piece
        # checks that need no second library
        assert abs(q.region.area - p.area_exact) < 2 * FLAT * q.region.length, p.name
        assert q.band.is_valid and q.band.intersection(q.region).area < 1e-6
        assert all(q.region.covers(t.buffer(-1e-6)) for _, t in q.ticks)
        out.append({
            "piece": p.name, "article": q.place["article"], "panel": q.place["panel"], "face": "down" if q.down else "up",
            "cut": [ring(thin(c).exterior.coords, PLACES, True) for c in q.outlines],
            "cutouts": [ring(thin(c).exterior.coords, PLACES, False) for c in q.holes],
            "band": poly_json(thin(q.band), PLACES),
            "ticks": [{"at": pt(k["at"]), "inward": [k["n"].real, k["n"].imag], "depth": k["depth"], "kind": k["kind"],
                       "polygons": poly_json(thin(t), PLACES)} for k, t in q.ticks],
            "grain": [{"tail": pt(q.go(a)), "head": pt(q.go(b))} for a, b in p.grain],
            "fold": q.lines(p.folds), "net": q.lines(p.nets), "lines": q.lines(p.lines), "darts": q.lines(p.darts),
            "drills": [pt(q.go(z)) for z in p.drills], "labels": [pt(q.go(z)) for z in p.labels],
            "areas": {"piece": q.region.area, "piece_exact": p.area_exact, "band": q.band.area},
            "size_mm": p.size,
        })
    # where nothing but bands and ticks is lit: from 2.4 mm inside every cut line to 1.5 mm outside every band, and
    # about the ticks, away from the other marks; labels keep 2.5 mm clear of cut lines, bands and ticks
    near = unary_union([grow(q.region, W + 1.5, QS) for q in placed])
    deep = unary_union([q.region.buffer(-2.4) for q in placed])
    about = unary_union([t.buffer(1.5) for q in placed for _, t in q.ticks])
    marks = [LineString([xy(q.go(z)) for z in pts]) for q in placed
             for strokes in (q.piece.folds, q.piece.lines, q.piece.darts) for pts, _ in strokes]
    marks += [LineString([xy(q.go(a)), xy(q.go(b))]) for q in placed for a, b in q.piece.grain]
    marks += [Point(xy(q.go(z))) for q in placed for z in q.piece.drills]
    judged = near.difference(deep).union(about).difference(unary_union([m.buffer(8.0) for m in marks]))
    lit = unary_union([q.band for q in placed] + [t for q in placed for _, t in q.ticks])
    assert lit.is_valid
    report(placed, panels, lit)
    write(out_name, {
        "about": "the demo job on the table, mm; outer rings counter-clockwise, holes and cutouts clockwise",
        "job": {"file": job_path.name, "sha256": sha(job_path)}, "patterns": files, "band_width": W,
        "tolerance": {"flattening": FLAT, "simplified": SIMPLE, "band_arcs": float(f"{arc_error(W, QS):.2g}")},
        "notes": [
            "areas are taken before simplification; piece_exact integrates the curves (outlines minus cutouts)",
            "band: piece grown by the band width, less its own region, every other piece's region and its own notch gaps",
            "inward: exact normal of the curve at the snapped point; at a corner the bisector of both edges' unit normals",
            "a flattened outline's edge normal may differ from it by sqrt(2 tol / r) radians on a curve of radius r",
            "lit: union of all bands and all ticks",
        ],
        "placements": out,
        "lit": {"area": lit.area, "polygons": poly_json(thin(lit), PLACES)},
        "judged": {"polygons": poly_json(judged.simplify(0.05), PLACES)},
    })
    return placed, panels, lit


def report(placed, panels, lit):
    """Things to look at by eye; nothing here is written."""
    frame = {}
    for name, p in panels.items():
        on = p.get("on_table", {})
        r, s = turned(on.get("turn_deg", 0.0)), complex(on.get("x_mm", 0.0), on.get("y_mm", 0.0))
        go = lambda pts: Polygon([xy(r * complex(*c) + s) for c in pts])
        frame[name] = (go(p["outline_mm"]), [(k.get("name"), go(k["outline_mm"])) for k in p.get("keep_out", [])])
    for q in placed:
        p, (cloth, outs) = q.piece, frame[q.place["panel"]]
        label = f"{p.name} / {q.place['article']} / {'down' if q.down else 'up'}"
        others = [o for o in placed if o is not q]
        gap, who = min((o.region.distance(q.region), o.piece.name) for o in others) if others else (math.inf, "")
        print(f"{label}: {p.size[0]:.3f} x {p.size[1]:.3f} mm, area {p.area_exact:.3f} (flattened {q.region.area - p.area_exact:+.4f}), "
              f"band {q.band.area:.3f} in {len(polys(q.band))} parts, nearest {gap:.3f} mm ({who}), "
              f"cloth edge {cloth.exterior.distance(q.region):.2f} mm")
        plain = q.region.buffer(W, quad_segs=QS).difference(q.grown).area, q.grown.difference(q.region.buffer(W, quad_segs=QS)).area
        print(f"   plain buffer() over / under: {plain[0]:.5f} / {plain[1]:.5f} mm2; strokes: {len(p.nets)} net, {len(p.folds)} fold, "
              f"{len(p.lines)} line, {len(p.darts)} dart, {len(p.drills)} drill, {len(p.labels)} label, {len(p.grain)} grain")
        if not cloth.covers(q.region):
            print(f"   NOT WHOLLY ON THE CLOTH: {q.region.difference(cloth).area:.3f} mm2")
        for name, k in outs:
            if k.intersects(q.region):
                print(f"   ON KEEP-OUT {name}: {k.intersection(q.region).area:.3f} mm2")
        for o in others:
            if o.region.intersection(q.region).area > 1e-9:
                print(f"   OVERLAPS {o.piece.name}: {o.region.intersection(q.region).area:.3f} mm2")
        for k in p.notches:
            print(f"   notch {k['id']} {k['kind']}: depth {k['depth']:.6f}, {k['off']:.6f} mm off the line, "
                  f"leans {k['lean']:.3f} degrees, corner {k['corner']:.4f} mm away")
        for pts, _ in p.nets:
            n = LineString([xy(z) for z in pts])
            if not p.region.buffer(1e-3).covers(n):
                print(f"   a net line leaves the piece: {n.difference(p.region).length:.3f} mm outside")
    print(f"lit {lit.area:.3f} mm2 in {len(polys(lit))} parts")


if __name__ == "__main__":
    default = HERE.parent.parent / "demo-data" / "job.toml"
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else default, sys.argv[2] if len(sys.argv) > 2 else "table_truth.json")
