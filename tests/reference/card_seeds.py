# Held-out photos of card templates beside a sheet of paper, as many as are asked for: one a seed.
#
#     python tests/reference/card_seeds.py FOLDER [FIRST [COUNT [WORKERS]]]
#
# writes FOLDER/NNN.jpg and FOLDER/NNN.json (true outline, camera, what was drawn). Without arguments it makes the few
# that are kept in card_photo/. What is drawn follows from geometry and light alone: a pinhole with radial distortion,
# a slab of card whose sides are seen, a lamp of some size and light from all round, grain or print of what it lies on.
# numpy==2.4.6 opencv-python-headless==5.0.0.93 shapely==2.2.0 scipy==1.17.1 pillow==13.0.0
import json
import math
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import cv2
import numpy as np
import shapely
from PIL import Image
from scipy.interpolate import CubicSpline

from card_photo import Camera, smooth_noise

CELL = 0.05  # mm, of the drawing that rays are looked up in
RAYS = 6  # along either side of a pixel that shows more than one thing
SHEETS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def polygon(rng):
    """A template: a closed spline, with concave curves and perhaps a sharp tip; mm."""
    n = int(rng.integers(7, 11))
    angles = np.sort((np.arange(n) + rng.uniform(-0.25, 0.25, n)) / n * 2 * math.pi)
    long, wide = rng.uniform(75, 125), rng.uniform(38, 62)
    radius = rng.uniform(0.78, 1.12, n)
    knots = np.stack([wide * radius * np.cos(angles), long * radius * np.sin(angles)], -1)
    closed = np.concatenate([knots, knots[:1]])
    s = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    curve = CubicSpline(s, closed, bc_type="periodic")
    shape = shapely.Polygon(curve(np.linspace(0, s[-1], 1601)[:-1]))
    made = []
    kind = rng.integers(0, 3)
    if kind >= 1:
        # A straight cut off one end: two corners.
        y = shape.bounds[1] + rng.uniform(8, 20)
        shape = shape.difference(shapely.box(-300, -300, 300, y))
        made.append(["straight", round(y, 2)])
    if kind == 2:
        # A sharp tip at the other end.
        half = math.radians(rng.uniform(28, 60) / 2)
        x, y = rng.uniform(-8, 8), shape.bounds[3] + rng.uniform(0, 8)
        arm = 160
        lean = rng.uniform(-0.15, 0.15)
        side = lambda a: (x + arm * math.sin(a + lean), y - arm * math.cos(a + lean))
        shape = shape.intersection(shapely.Polygon([(x, y), side(-half), side(half)]).union(
            shapely.box(-300, -300, 300, y - 45)))
        made.append(["tip", round(2 * math.degrees(half), 1)])
    if rng.random() < 0.5:
        # A concave curve: a round bite out of one side.
        r = rng.uniform(12, 40)
        side = rng.choice([-1, 1])
        edge = shape.bounds[0] if side < 0 else shape.bounds[2]
        shape = shape.difference(shapely.Point(edge + side * r * rng.uniform(0.6, 0.85), rng.uniform(-25, 25)).buffer(
            r, quad_segs=64))
        made.append(["bite", round(r, 1)])
    shape = largest(shape)
    # Cuts and holes keep a centimetre and more from one another.
    taken = []

    def free(p, room):
        if any(math.dist(p, q) < room + r for q, r in taken):
            return False
        taken.append((p, room))
        return True

    ring = np.array(shape.exterior.coords)
    length = shape.exterior.length
    for kind in ["slot"] * int(rng.integers(1, 4)) + ["vee"] * int(rng.integers(1, 4)):
        for _ in range(50):
            at = rng.uniform(0, length)
            p = np.array(shape.exterior.interpolate(at).coords[0])
            ends = [np.array(shape.exterior.interpolate((at + d) % length).coords[0]) for d in (-6, 6)]
            d = ends[1] - ends[0]
            if np.hypot(*d) < 11.7 or not free(tuple(p), 9):
                continue  # too near a corner, or another cut
            d = d / np.hypot(*d)
            n = np.array([-d[1], d[0]])
            if not shape.contains(shapely.Point(p + n)):
                n = -n
            width, depth = (rng.uniform(2, 4), rng.uniform(5, 11)) if kind == "slot" else (
                rng.uniform(3, 6), rng.uniform(3, 6))
            e = 0.05 if kind == "vee" else width / 2
            out = 4
            w = width / 2 * (1 if kind == "slot" else (1 + out / depth))
            cut = shapely.Polygon([p - n * out - d * w, p + n * depth - d * e, p + n * depth + d * e,
                                   p - n * out + d * w])
            shape = largest(shape.difference(cut))
            made.append([kind, round(width, 2), round(depth, 2)])
            break
    for _ in range(int(rng.integers(1, 5))):
        d = rng.uniform(3, 10)
        for _ in range(50):
            p = (rng.uniform(-50, 50), rng.uniform(-100, 100))
            inner = shape.buffer(-d / 2 - 6)
            if inner.contains(shapely.Point(p)) and free(p, d / 2 + 8):
                shape = shape.difference(shapely.Point(p).buffer(d / 2, quad_segs=48))
                made.append(["hole", round(d, 2)])
                break
    del ring
    return largest(shape), made


def largest(shape):
    return max(getattr(shape, "geoms", [shape]), key=lambda g: g.area)


class Drawing:
    """The card's plan as cells: whether a place is card, which way its edge faces, how far it is."""

    def __init__(self, card):
        x0, y0, x1, y1 = card.bounds
        self.from_ = np.array([x0, y0]) - 25
        self.size = np.ceil((np.array([x1, y1]) + 25 - self.from_) / CELL).astype(int)
        mask = np.zeros(self.size[::-1], np.uint8)
        # OpenCV fills what the edge's own cells touch too: half a cell too much.
        grown = lambda by: largest(card.buffer(by, join_style="mitre", mitre_limit=10))
        for k, ring in enumerate([grown(-CELL / 2).exterior, *grown(CELL / 2).interiors]):
            # Places of cells' corners; OpenCV's whole numbers are cells' middles, in 1/16.
            at = (np.array(ring.coords[:-1]) - self.from_) / CELL - 0.5
            cv2.fillPoly(mask, [np.round(at * 16).astype(np.int32)], 0 if k else 255, cv2.LINE_8, 4)
        self.mask = mask > 0
        # Distances and directions need no more than 0.2 mm.
        small = cv2.resize(mask, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
        self.step = 4 * CELL
        self.small = small > 127
        inside = cv2.distanceTransform(self.small.astype(np.uint8), cv2.DIST_L2, 5)
        outside = cv2.distanceTransform((~self.small).astype(np.uint8), cv2.DIST_L2, 5)
        self.outside = outside * self.step
        soft = cv2.GaussianBlur((outside - inside).astype(np.float32), (0, 0), 2)
        gy, gx = np.gradient(soft)
        norm = np.maximum(np.hypot(gx, gy), 1e-6)
        self.normal = np.stack([gx / norm, gy / norm], -1).astype(np.float32)

    def holds(self, xy):
        c = np.floor((xy - self.from_) / CELL).astype(int)
        ok = (c >= 0).all(-1) & (c < self.size).all(-1)
        c = np.where(ok[..., None], c, 0)
        return self.mask[c[..., 1], c[..., 0]] & ok

    def look(self, field, xy, beyond):
        """A field in small cells at places, between cells by straight interpolation."""
        at = ((xy - self.from_) / self.step - 0.5).astype(np.float32)
        shape = at.shape[:-1]
        at = at.reshape(-1, 2)
        out = []
        for k in range(0, len(at), 30000):
            part = at[k:k + 30000]
            got = cv2.remap(field.astype(np.float32), part[:, 0:1], part[:, 1:2], cv2.INTER_LINEAR,
                            borderMode=cv2.BORDER_CONSTANT, borderValue=[beyond] * 4)
            out.append(got.reshape(len(part), -1))
        out = np.concatenate(out)
        return out.reshape(*shape, -1) if out.shape[1] > 1 else out.reshape(shape)

    def shadow(self, lamp, thickness):
        """The share of a lamp that a place of the table does not see, in small cells."""
        rng = np.random.default_rng(7)
        total = np.zeros(self.small.shape, np.float32)
        rays = 32
        for k in range(rays):
            # Over the lamp's disc, evenly.
            r, a = math.sqrt((k + 0.5) / rays) * lamp["radius"], k * 2.399963
            high = lamp["high"] + r * math.sin(a)
            round_ = lamp["round"] + r * math.cos(a) / math.cos(lamp["high"])
            reach = thickness / math.tan(high) / self.step
            steps = max(2, int(reach * 1.5) + 1)
            hit = np.zeros(self.small.shape, bool)
            for s in range(1, steps + 1):
                by = reach * (s - rng.uniform(0, 1)) / steps
                m = np.float32([[1, 0, -by * math.cos(round_)], [0, 1, -by * math.sin(round_)]])
                moved = cv2.warpAffine(self.small.astype(np.uint8), m, self.small.shape[::-1], flags=cv2.INTER_LINEAR)
                hit |= moved > 0
            total += hit
        return cv2.GaussianBlur(total / rays, (0, 0), 0.7)


def grain_of(rng, kind):
    """What the table looks like, 900 mm square, 2 cells a mm: a factor for each of three colours, and its own colour."""
    n = 1800
    if kind == "wood":
        along = 0.7 * smooth_noise(rng, (n, n), 120, 2.4) + 0.5 * smooth_noise(rng, (n, n), 180, 18)
        return np.exp(rng.uniform(0.06, 0.16) * along)[..., None].repeat(3, -1), np.array([1, 0.62, 0.36])
    if kind == "mat":
        speck = smooth_noise(rng, (n, n), 1, 1)
        out = np.exp(0.08 * speck)[..., None].repeat(3, -1)
        if rng.random() < 0.5:
            # Printed lines, every centimetre.
            lines = np.zeros((n, n), np.float32)
            lines[::20] = 1
            lines[:, ::20] = 1
            out = out * (1 + rng.uniform(0.3, 0.9) * lines[..., None])
        return out, np.array([[0.5, 1, 0.75], [0.9, 0.95, 1.0]][rng.integers(0, 2)])
    # Cloth: stripes or checks of two colours, and its weave.
    period = rng.uniform(5, 25) * 2
    yy, xx = np.mgrid[0:n, 0:n]
    wave = lambda v: (np.sin(2 * math.pi * v / period) > rng.uniform(-0.4, 0.4)).astype(np.float32)
    share = wave(xx) if rng.random() < 0.5 else 0.5 * (wave(xx) + wave(yy))
    share = cv2.GaussianBlur(share, (0, 0), 0.8)[..., None]
    own = np.array([1.0, 1.0, 1.0])
    first = np.array([rng.uniform(0.55, 1), rng.uniform(0.55, 1), rng.uniform(0.55, 1)])
    second = first * rng.uniform(0.45, 0.8) * np.array([1, rng.uniform(0.8, 1.2), rng.uniform(0.7, 1.3)])
    weave = 1 + 0.08 * np.sin(math.pi * xx / 1.3) * np.sin(math.pi * yy / 1.3) + 0.05 * smooth_noise(rng, (n, n), 0.8, 0.8)
    return (share * first + (1 - share) * second) * weave[..., None], own


def print_of(rng, card):
    """Words printed on the card: a factor of its light in small cells of the card's own box, 4 a mm."""
    x0, y0, x1, y1 = card.bounds
    h, w = int((y1 - y0) * 4), int((x1 - x0) * 4)
    ink = np.zeros((h, w), np.uint8)
    for _ in range(int(rng.integers(2, 7))):
        words = rng.choice(["SOLE", "LEFT 41", "cut 2 felt", "No. 7", "heel >", "A 12 mm", "lining"])
        cv2.putText(ink, str(words), (int(rng.uniform(0.1, 0.6) * w), int(rng.uniform(0.1, 0.9) * h)),
                    int(rng.integers(0, 4)), rng.uniform(0.7, 2.0), 255, int(rng.integers(2, 6)), cv2.LINE_AA)
    ink = cv2.flip(ink, 0)
    # What is printed keeps from the edge: dark print that runs over it on a dark table is no edge to anyone.
    room = np.zeros((h, w), np.uint8)
    for part in shapely.get_parts(card.buffer(-4)):
        cv2.fillPoly(room, [np.round((np.array(part.exterior.coords) - [x0, y0]) * 4).astype(np.int32)], 255)
        for hole in part.interiors:
            cv2.fillPoly(room, [np.round((np.array(hole.coords) - [x0, y0]) * 4).astype(np.int32)], 0)
    ink = np.minimum(ink, room)
    return 1 - rng.uniform(0.5, 0.85) * cv2.GaussianBlur(ink, (0, 0), 0.8).astype(np.float32) / 255


def scene(seed):
    """What is in the photo: all that chance decides."""
    rng = np.random.default_rng([seed, 20])
    plan, made = polygon(rng)
    plan = shapely.affinity.rotate(plan, rng.uniform(-35, 35), origin=(0, 0))
    name = str(rng.choice(list(SHEETS)))
    sw, sh = SHEETS[name]
    sheet = shapely.affinity.rotate(shapely.box(0, 0, sw, sh), rng.uniform(-25, 25) + 90 * int(rng.integers(0, 2)))
    # The card on some side of the sheet, two centimetres and more from it.
    way = rng.uniform(0, 2 * math.pi)
    d = np.array([math.cos(way), math.sin(way)])
    c = np.array(sheet.centroid.coords[0])
    at = 60.0
    gap = rng.uniform(20, 35)
    while True:
        card = shapely.affinity.translate(plan, *(c + d * at))
        if card.distance(sheet) > gap:
            break
        at += 2
    both = sheet.union(card)
    x0, y0, x1, y1 = both.bounds
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2]) + rng.uniform(-15, 15, 2)
    wide = x1 - x0 > y1 - y0
    long, short = [(2000, 1500), (2600, 1950), (4000, 3000)][rng.choice(3, p=[0.45, 0.4, 0.15])]
    size = (long, short) if wide else (short, long)
    film = rng.uniform(23, 30) if rng.random() < 0.8 else rng.uniform(45, 55)
    f = film / 43.2666 * math.hypot(long, short)
    tilt, heading = math.radians(rng.uniform(0, 25)), rng.uniform(0, 2 * math.pi)
    roll = rng.uniform(-0.15, 0.15) + math.pi * int(rng.integers(0, 2))
    k1, k2 = rng.uniform(-0.03, 0.03), rng.uniform(-0.01, 0.01)
    centre = (size[0] / 2 + rng.normal(0, 0.004) * long, size[1] / 2 + rng.normal(0, 0.004) * long)
    # As near as keeps all in the picture, and a little farther.
    outline = [(x, y, 0) for g in (sheet, card) for x, y in g.exterior.coords]
    away = 250.0
    share = rng.uniform(0.03, 0.07)
    while True:
        # A tilt is about the middle of what is seen; held at arm's length above it.
        eye = [middle[0] + away * math.sin(tilt) * math.cos(heading), middle[1] + away * math.sin(tilt) * math.sin(heading),
               away * math.cos(tilt)]
        cam = Camera(size, f, k1, centre, eye, list(middle), roll)
        cam.k2 = k2
        px = see(cam, outline)
        if (px > share * short).all() and (px < np.array(size) - share * short).all():
            break
        away *= 1.02
    kind = str(rng.choice(["wood", "mat", "cloth"]))
    colours = {
        "grey": np.array([1, 1, 0.98]) * rng.uniform(0.3, 0.5),
        "kraft": np.array([1, 0.72, 0.46]) * rng.uniform(0.34, 0.46),
        "white": np.array([1, 1, 0.97]) * rng.uniform(0.66, 0.8),
        "black": np.array([1, 1, 1.05]) * rng.uniform(0.03, 0.05),
    }
    card_kind = str(rng.choice(list(colours), p=[0.35, 0.35, 0.2, 0.1]))
    colour = colours[card_kind]
    table = rng.uniform(0.025, 0.06) if kind == "mat" else rng.uniform(0.06, 0.16)
    if card_kind == "black":
        table = rng.uniform(0.18, 0.3)
    elif card_kind in ("grey", "kraft"):
        # A table of another lightness, as one would choose it: under half the card's.
        table = min(table, 0.45 * float(colour.mean()))
    lamp = dict(high=math.radians(rng.uniform(35, 75)), round=rng.uniform(0, 2 * math.pi),
                radius=math.radians(rng.uniform(0.5, 8)), share=rng.uniform(0.25, 0.75))
    return dict(seed=seed, sheet=sheet, sheet_name=name, size=size, card=card, made=made, cam=cam, tilt=math.degrees(tilt),
                film=film, noted=bool(rng.random() < 0.7), thickness=float(rng.choice([rng.uniform(0.5, 1.5), rng.uniform(1, 2.5), rng.uniform(2, 4)])),
                table_kind=kind, table=table, card_kind=card_kind, colour=colour,
                words=bool(rng.random() < 0.35), lamp=lamp, gradient=rng.uniform(-0.25, 0.25, 2),
                blur=rng.uniform(0.55, 1.1), noise=rng.uniform(0.003, 0.009), quality=int(rng.integers(85, 96)), rng=rng)


def see(cam, xyz):
    k = np.array([[cam.f, 0, cam.c[0]], [0, cam.f, cam.c[1]], [0, 0, 1]])
    px, _ = cv2.projectPoints(np.asarray(xyz, float).reshape(-1, 1, 3), cv2.Rodrigues(cam.r)[0], -cam.r @ cam.eye, k,
                              np.array([cam.k1, cam.k2, 0, 0, 0], float))
    return px.reshape(-1, 2)


class Rays:
    """Where the rays of pixels meet a plane."""

    def __init__(self, cam):
        self.cam = cam

    def hit(self, px, z):
        cam = self.cam
        d = (px - cam.c) / cam.f
        u = d.copy()
        for _ in range(7):
            r2 = (u * u).sum(-1, keepdims=True)
            u = d / (1 + cam.k1 * r2 + cam.k2 * r2 * r2)
        ray = np.concatenate([u, np.ones(u.shape[:-1] + (1,))], -1) @ cam.r
        return cam.eye[:2] + ray[..., :2] * ((z - cam.eye[2]) / ray[..., 2:])


class Stuff:
    """Reflected light of whatever a ray meets."""

    def __init__(self, s):
        rng, self.s = s["rng"], s
        self.d = Drawing(s["card"])
        self.rays = Rays(s["cam"])
        self.grain, own = grain_of(rng, s["table_kind"])
        self.table = s["table"] * own / own.mean()
        self.turn = rng.uniform(0, 2 * math.pi)
        self.shade = self.d.shadow(s["lamp"], s["thickness"])
        self.print = print_of(rng, s["card"]) if s["words"] else None
        self.corners = np.array(s["sheet"].exterior.coords[:-1])
        self.lamp_flat = math.sin(s["lamp"]["high"])

    def look(self, px):
        """Light, 0 to 1, by rays at px (n, 2): the card's top, its side at some height, or what is under it."""
        s, d = self.s, self.d
        t, lamp = s["thickness"], s["lamp"]
        out = np.zeros(px.shape[:-1] + (3,), np.float32)
        top_at = self.rays.hit(px, t)
        top = d.holds(top_at)
        ground_at = self.rays.hit(px, 0.0)
        # The ground with shadow and what the card's side keeps off it.
        near = d.look(d.outside, ground_at, 30.0)
        hidden = d.look(self.shade, ground_at, 0.0)
        closed = (1 - 1 / np.sqrt(1 + (t / np.maximum(near, 1e-3)) ** 2)) / 2
        glow = s["colour"] * 0.4
        lit = (lamp["share"] * (1 - hidden) + (1 - lamp["share"]) * (1 - closed))[..., None] + (
            (1 - lamp["share"]) * closed)[..., None] * glow
        a = self.turn
        turned = (ground_at - s["sheet"].centroid.coords[0]) @ np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
        at = (turned * 2 + 900).astype(np.float32)
        own = []
        flat = at.reshape(-1, 2)
        for k in range(0, len(flat), 30000):
            part = flat[k:k + 30000]
            own.append(cv2.remap(self.grain.astype(np.float32), part[:, 0:1], part[:, 1:2], cv2.INTER_LINEAR,
                                 borderMode=cv2.BORDER_REFLECT).reshape(-1, 3))
        table = self.table * np.concatenate(own).reshape(*at.shape[:-1], 3)
        q = self.corners
        paper = np.ones(px.shape[:-1], bool)
        for k in range(4):
            e, v = q[(k + 1) % 4] - q[k], ground_at - q[k]
            paper &= (e[0] * v[..., 1] - e[1] * v[..., 0]) * self.ccw() > 0
        under = np.where(paper[..., None], np.array([0.83, 0.84, 0.82]), table)
        out[:] = under * lit
        # The side: the highest level below the top at which the ray is in the card.
        todo = ~top
        levels = 6
        todo &= near < 3 * t + 1
        for k in range(levels - 1, -1, -1):
            z = t * k / levels
            at = self.rays.hit(px[todo], z)
            holds = d.holds(at)
            if not holds.any():
                continue
            n = d.look(d.normal, at[holds], 0.0)
            inside = np.zeros(todo.shape, bool)
            inside[todo] = holds
            # Lambert's law; half of what comes from all round reaches an upright side, less near its foot and
            # from a cut's other side.
            facing = np.clip(math.cos(lamp["high"]) * (n[:, 0] * math.cos(lamp["round"]) + n[:, 1] * math.sin(lamp["round"])), 0, None)
            deep = 0.25 + 0.25 * (k + 0.5) / levels
            side = lamp["share"] * facing / self.lamp_flat + (1 - lamp["share"]) * (deep + 0.1)
            out[inside] = s["colour"] * np.minimum(side, 1.4)[:, None]
            todo &= ~inside
        light = np.broadcast_to(s["colour"], out.shape)
        if self.print is not None:
            x0, y0 = s["card"].bounds[:2]
            at = ((top_at - [x0, y0]) * 4 - 0.5).astype(np.float32).reshape(-1, 2)
            got = []
            for k in range(0, len(at), 30000):
                part = at[k:k + 30000]
                got.append(cv2.remap(self.print, part[:, 0:1], part[:, 1:2], cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT,
                                     borderValue=1).reshape(-1))
            light = light * np.concatenate(got).reshape(*px.shape[:-1], 1)
        out[top] = light[top]
        return out

    def ccw(self):
        q = self.corners
        return np.sign(sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(q, np.roll(q, -1, 0))))


def photo(seed):
    s = scene(seed)
    cam, rng, (w, h) = s["cam"], s["rng"], s["size"]
    stuff = Stuff(s)
    yy, xx = np.mgrid[0:h, 0:w]
    centres = np.stack([xx + 0.5, yy + 0.5], -1)
    # One ray a pixel, and many where more than one thing is seen.
    flat = centres.reshape(-1, 2)
    picture = np.concatenate([stuff.look(flat[k:k + 200000]) for k in range(0, len(flat), 200000)]).reshape(h, w, 3)
    ground = stuff.rays.hit(centres, 0.0)
    kinds = stuff.d.holds(stuff.rays.hit(centres, s["thickness"])).astype(np.uint8)
    kinds += 2 * stuff.d.holds(ground).astype(np.uint8)
    box = np.zeros((h, w), np.uint8)
    cv2.fillPoly(box, [np.round(see(cam, [(x, y, 0) for x, y in stuff.corners]) * 16 - 8).astype(np.int32)], 4, cv2.LINE_8, 4)
    kinds += box
    mixed = cv2.dilate(kinds, np.ones((5, 5))) != cv2.erode(kinds, np.ones((5, 5)))
    sub = (np.stack(np.meshgrid(np.arange(RAYS), np.arange(RAYS)), -1).reshape(-1, 2) + 0.5) / RAYS
    at = np.stack([xx[mixed], yy[mixed]], -1)
    fine = [stuff.look(at[k:k + 20000, None, :] + sub).mean(1) for k in range(0, len(at), 20000)]
    picture[mixed] = np.concatenate(fine)
    speck = smooth_noise(rng, (h, w), 1.3, 1.3)[..., None].astype(np.float32)
    picture *= 1 + 0.012 * speck
    gx, gy = s["gradient"]
    r2 = (((centres - cam.c) / cam.f) ** 2).sum(-1)
    picture *= ((1 + gx * (xx / w - 0.5) + gy * (yy / h - 0.5)) / (1 + 0.4 * r2) ** 2)[..., None]
    picture = cv2.GaussianBlur(picture, (0, 0), s["blur"])
    noise = rng.standard_normal(picture.shape) * np.sqrt(0.0015**2 + s["noise"] ** 2 * np.clip(picture, 0, 1))
    picture = np.clip(picture + noise, 0, 1)
    code = np.where(picture <= 0.0031308, 12.92 * picture, 1.055 * picture ** (1 / 2.4) - 0.055)
    return s, np.round(code * 255).astype(np.uint8)


def make(folder, seed):
    s, picture = photo(seed)
    path = folder / f"{seed:03d}.jpg"
    image = Image.fromarray(picture)
    exif = Image.Exif()
    if s["noted"]:
        exif.get_ifd(0x8769)[0xA405] = round(s["film"])
    image.save(path, quality=s["quality"], exif=exif)
    card, cam = s["card"], s["cam"]
    pts = lambda ring: [[round(float(x), 4), round(float(y), 4)] for x, y in ring.coords[:-1]]
    truth = dict(
        file=path.name, sheet=SHEETS[s["sheet_name"]], thickness=s["thickness"], camera_height=cam.eye[2], foot=list(cam.eye[:2]),
        noted=s["noted"], film=s["film"], tilt_degrees=s["tilt"], table=s["table_kind"], card=s["card_kind"], words=s["words"],
        lamp={k: round(v, 4) for k, v in s["lamp"].items()}, made=s["made"], blur=s["blur"],
        sheet_corners_px=np.round(see(cam, [(x, y, 0) for x, y in s["sheet"].exterior.coords[:-1]]), 4).tolist(),
        card_px=np.round(see(cam, [(*card.representative_point().coords[0], s["thickness"])])[0], 1).tolist(),
        to_mm=float(math.sqrt(card.area / abs(shapely.Polygon(see(cam, [(x, y, 0) for x, y in card.exterior.coords])).area))),
        outer=pts(card.exterior.simplify(0.004)), holes=[pts(hole) for hole in card.interiors])
    (folder / f"{seed:03d}.json").write_text(json.dumps(truth), encoding="utf-8")
    print(path.name, s["table_kind"], s["card_kind"], f"{s['thickness']:.1f} mm, {s['tilt']:.0f} deg", flush=True)


def some(folder, seeds):
    for seed in seeds:
        make(folder, seed)


def main():
    folder = Path(sys.argv[1])
    first, count, workers = (int(v) for v in [*sys.argv[2:], *["0", "20", "1"][len(sys.argv) - 2:]])
    folder.mkdir(parents=True, exist_ok=True)
    cv2.setNumThreads(1)
    seeds = range(first, first + count)
    if workers == 1:
        for seed in seeds:
            make(folder, seed)
    else:
        with ProcessPoolExecutor(workers) as pool:
            list(pool.map(make, [folder] * count, seeds))


if __name__ == "__main__":
    main()
