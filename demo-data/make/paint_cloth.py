#!/usr/bin/env python3
"""Paints canvas.png, flannel.png and felt.png: made-up straight-down photos of the three panels.

Needs Python 3.11+ and numpy==2.4.6, scipy==1.17.1, shapely==2.2.0, pillow==13.0.0.
Run:  python3 demo-data/make/paint_cloth.py
Outlines, holes and the rectangle that each picture covers are read from job.toml.
2 px to the mm; alpha is 0 where the table shows.
"""
import tomllib
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw
from scipy.ndimage import distance_transform_edt, gaussian_filter, gaussian_filter1d, map_coordinates
from shapely.geometry import Polygon

HERE = Path(__file__).resolve().parent.parent
Z = 2                                        # pixels to the mm


def to_linear(c):
    c = np.asarray(c, float) / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def to_srgb(v):
    v = np.clip(v, 0, 1)
    return 255 * np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055)


def step(a, b, x):
    t = np.clip((x - a) / (b - a), 0, 1)
    return t * t * (3 - 2 * t)


class Sheet:
    """One picture: pixel grid in cloth mm, noise, distance to outlines."""

    def __init__(self, panel, seed):
        self.panel = panel
        self.x0, self.y0, self.x1, self.y1 = panel["photo"]["box_mm"]
        self.w, self.h = round((self.x1 - self.x0) * Z), round((self.y1 - self.y0) * Z)
        self.x = (np.arange(self.w) + 0.5) / Z + self.x0
        self.y = self.y1 - (np.arange(self.h) + 0.5) / Z
        self.X, self.Y = np.meshgrid(self.x, self.y)
        self.rng = np.random.default_rng(seed)

    def noise(self, sx, sy=None):
        """Gaussian noise, smoothed over sx, sy mm, with unit spread."""
        n = gaussian_filter(self.rng.standard_normal((self.h, self.w)), ((sy or sx) * Z, sx * Z), mode="wrap")
        return n / n.std()

    def inside(self, outline):
        """Signed distance in mm: positive inside the outline."""
        k = 2
        m = Image.new("L", (self.w * k, self.h * k), 0)
        ImageDraw.Draw(m).polygon([((px - self.x0) * Z * k - .5, (self.y1 - py) * Z * k - .5) for px, py in outline], fill=1)
        a = np.array(m, bool)
        d = distance_transform_edt(a) - distance_transform_edt(~a)
        return d.reshape(self.h, k, self.w, k).mean(axis=(1, 3)) / (Z * k)

    def save(self, lin, alpha, name, light, tint):
        rgb = to_srgb(lin)
        # coarser steps of light and tint keep the file small
        m = np.array([[.299, .587, .114], [-.169, -.331, .5], [.5, -.419, -.081]])
        ycc = np.round(rgb @ m.T / [light, tint, tint]) * [light, tint, tint]
        img = np.clip(np.round(ycc @ np.linalg.inv(m).T), 0, 255).astype(np.uint8)
        a = (np.round(np.clip(alpha, 0, 1) * 4) / 4 * 255).astype(np.uint8)
        px = np.dstack([img, a])
        px[a == 0] = 0
        Image.fromarray(px, "RGBA").save(HERE / name, optimize=True)
        print(f"{name}: {self.w} x {self.h} px, {(HERE / name).stat().st_size / 1024:.0f} kB")


def crease(s, ax, ay, bx, by, width=1.6, fade=14):
    """Shade and wear of one fold line from a to b: (shade, wear)."""
    ux, uy = bx - ax, by - ay
    n = np.hypot(ux, uy)
    ux, uy = ux / n, uy / n
    bend = gaussian_filter1d(s.rng.standard_normal(int(n * Z) + 400), 60)
    bend = bend / bend.std() * 0.7
    t = (s.X - ax) * ux + (s.Y - ay) * uy
    d = -(s.X - ax) * uy + (s.Y - ay) * ux - np.interp(t, np.arange(len(bend)) / Z - 50, bend)
    on = step(-fade, fade, t) * step(-fade, fade, n - t)
    return -on * d / width * np.exp(0.5 - 0.5 * (d / width) ** 2), on * np.exp(-0.5 * (d / (0.45 * width)) ** 2)


def canvas(panel):
    s = Sheet(panel, 1907)
    middle = 215.0
    # warp: threads along x, one every 1.5 mm, wandering a little
    wander = s.noise(70, 40) * 0.55 + s.noise(25, 60) * 0.15
    yy, xx = s.Y + wander, s.X + s.noise(50, 60) * 0.5
    pitch = 1.5

    # stripes, out from the middle, mirrored
    ink = dict(madder=((142, 36, 34), (206, 142, 122)), ecru=((214, 198, 162), (236, 226, 202)),
               slate=((44, 66, 98), (144, 158, 168)), ochre=((178, 122, 44), (216, 190, 136)))
    bands = [(24, "madder"), (27, "ecru"), (30, "ochre"), (33, "ecru"), (37, "slate"), (61, "ecru"), (64, "madder"),
             (68, "ecru"), (70.5, "ochre"), (74, "ecru"), (99, "slate")]
    half = 92.0                                # madder to slate; an upper's centre line falls on the slate
    d = np.abs(yy - middle)
    d = np.abs((d + half) % (2 * half) - half)
    fresh, gone = np.zeros((s.h, s.w, 3)), np.zeros((s.h, s.w, 3))
    low = -9.0
    for high, name in bands:
        k = np.clip((d - low) / 0.35 + 0.5, 0, 1) * np.clip((high - d) / 0.35 + 0.5, 0, 1)
        fresh += k[..., None] * to_linear(ink[name][0])
        gone += k[..., None] * to_linear(ink[name][1])
        low = high

    # sun: both ends were wrapped round the rails and kept their colour; the back took the most sun,
    # the seat less, where somebody sat
    edge = s.noise(60, 45) * 7 + s.noise(12, 16) * 1.6
    sun = 0.08 + 0.76 * step(92, 172, xx + edge) - 0.30 * step(545, 690, xx + 2.2 * edge) - 0.40 * step(812, 862, xx + edge)
    sitter = np.exp(-0.5 * (((xx - 690) / 130) ** 2 + ((yy - middle) / 95) ** 2))
    sun -= 0.10 * sitter
    sun -= 0.55 * (1 - step(37, 40, xx + s.noise(10, 25) * 0.5)) * 0.15      # under the old hem
    sun += s.noise(38, 24) * 0.020 + s.noise(5, 5) * 0.012
    sun += 0.10 * step(196, 214, np.abs(yy - middle))                                        # selvedges caught more
    sun = np.clip(sun, 0, 0.96)[..., None]
    lin = fresh * (1 - sun) + gone * sun

    # yarns: each with its own shade, thick and thin places
    def yarns(count, along, spread):
        n = s.rng.standard_normal((count, along))
        return gaussian_filter1d(n, 14, axis=1) * 5 * spread * 0.5 + s.rng.standard_normal((count, 1)) * spread
    wa = yarns(400, 300, 0.040)
    we = yarns(800, 150, 0.026)
    row, col = (yy - s.y0 + 20) / pitch, (xx - s.x0 + 20) / pitch
    lin *= (1 + map_coordinates(wa, [np.floor(row) % 400, np.clip(s.X / 4 + 10, 0, 299)], order=1, mode="nearest")
            + map_coordinates(we, [np.floor(col) % 800, np.clip(s.Y / 4 + 10, 0, 149)], order=1, mode="nearest"))[..., None]
    # plain weave: warp on top at every other crossing
    over = np.cos(np.pi * row) ** 2 * 0.5 + 0.5 * np.cos(np.pi * (col + np.floor(row))) ** 2
    round_ = np.sin(np.pi * (row % 1)) ** 0.6
    weave = 0.80 + 0.25 * round_ + 0.20 * (over - 0.5)
    lin *= weave[..., None]
    # fluff worn up in the fade
    lin += (0.010 * sun[..., 0] * np.clip(s.noise(0.5, 0.4), 0, 3))[..., None]

    # folds and bagging
    shade = np.zeros((s.h, s.w))
    wear = np.zeros((s.h, s.w))
    for a, depth, rub in (((38, -10, 39, 440), .13, .30), ((452, -10, 449, 440), .10, .16), ((228, -10, 231, 440), .055, .06),
                          ((677, -10, 674, 440), .055, .06), ((-10, 216, 910, 213), .07, .08), ((520, 300, 618, 372), .05, .0),
                          ((560, 40, 655, 22), .05, .0), ((770, 120, 868, 210), .06, .02), ((300, 402, 388, 420), .05, .0),
                          ((805, 330, 872, 352), .07, .04), ((180, 8, 262, 30), .05, .0)):
        sh, we_ = crease(s, *a)
        shade += depth * sh
        wear += rub * we_
    bag = s.noise(55, 38)
    shade += 0.022 * gaussian_filter(np.gradient(bag, axis=1) * 40, 4) + 0.010 * bag
    lin *= (1 + shade)[..., None]
    wear = np.clip(wear * (0.6 + 0.4 * s.noise(2, 2)), 0, 0.5)[..., None]
    lin = lin * (1 - wear) + to_linear((226, 214, 190)) * weave[..., None] * wear

    # old needle holes of the hem
    for hx in (33.0, 36.4):
        for hy in np.arange(6, 428, 4.2):
            hx_, hy_ = hx + s.rng.normal(0, .25), hy + s.rng.normal(0, .25)
            r2 = ((s.X - hx_) / 0.55) ** 2 + ((s.Y - hy_) / 0.8) ** 2
            lin *= (1 - 0.55 * np.exp(-r2))[..., None]

    # tide mark of an old wet patch
    r = np.hypot((s.X - 828) / 1.25, s.Y - 66) + s.noise(9, 9) * 3.2
    tide = np.exp(-0.5 * ((r - 42) / 1.5) ** 2) * 0.16 + 0.06 * (r < 42)
    lin = lin * (1 - tide[..., None] * (1 - to_linear((170, 132, 84))))

    alpha = s.inside(panel["outline_mm"])
    # fray: threads stand out past torn ends (a warp thread is one row, a weft thread one column)
    ends = np.abs(s.rng.standard_normal(400))[np.floor(row).astype(int) % 400] * 1.5
    ends *= 0.6 + 0.4 * np.abs(s.noise(0.8, 0.8))
    picks = np.abs(s.rng.standard_normal(800))[np.floor(col).astype(int) % 800] * 0.25
    torn = step(18, 4, np.minimum(s.X - 0, 9e9)) + step(884, 894, s.X) + step(820, 835, s.X) * step(318, 330, s.Y)
    torn = np.clip(torn, 0, 1)
    alpha = alpha + ends * torn + picks * (1 - torn)

    keeps = {k["name"]: Polygon(k["outline_mm"]) for k in panel["keep_out"]}

    def hole(poly, fray):
        nonlocal alpha, lin
        i = s.inside(list(poly.exterior.coords)) + s.noise(1.6, 1.2) * 0.7
        rim = np.exp(-0.5 * (np.clip(-i, 0, None) / 2.2) ** 2)
        lin = lin * (1 - 0.25 * rim * (i < 0))[..., None]
        out = i - ends * fray - picks * fray * 1.2
        alpha = np.minimum(alpha, -out)

    def rust(cx, cy, size, strength):
        nonlocal lin
        r = np.hypot(s.X - cx, (s.Y - cy) * 0.94) + s.noise(5, 5) * 1.3 + s.noise(1.2, 1.2) * 0.5
        k = strength * (step(size, size * 0.35, r) * 0.8 + 0.35 * np.exp(-0.5 * ((r - size * 0.86) / 1.3) ** 2))
        k = np.clip(k, 0, 0.93)[..., None]
        lin = lin * (1 - k) + k * (lin * 0.22 + to_linear((104, 52, 22)) * (0.75 + 0.9 * step(0.2, 1, r / size)[..., None]))

    # rusted eyelet, still in the cloth
    rust(35, 34, 18, 1.0)
    r = np.hypot(s.X - 33, s.Y - 35)
    ring = step(7.2, 6.7, r)
    light = 0.75 + 0.35 * np.cos(np.arctan2(s.Y - 35, s.X - 33) - 2.2) * np.cos((r - 5.2) / 2.0 * np.pi)
    brass = to_linear((150, 116, 62)) * light[..., None] * (1 + 0.22 * s.noise(1.1)[..., None])
    brass = brass * (1 - 0.5 * step(0.2, 1.4, s.noise(1.8))[..., None] * (1 - to_linear((120, 66, 30))))
    lin = lin * (1 - 0.4 * (np.exp(-0.5 * ((np.hypot(s.X - 33.7, s.Y - 34) - 7.2) / 1.2) ** 2)))[..., None]
    lin = lin * (1 - ring[..., None]) + brass * ring[..., None]
    alpha = np.minimum(alpha, r - 3.3)
    # torn-out eyelet
    rust(32, 396, 13, 0.55)
    hole(keeps["torn eyelet"].buffer(-6.5), 0.45)
    # tear
    hole(keeps["tear"].buffer(-7), 0.75)

    # light from the window side, a little lens shading
    lin *= (1.02 - 0.05 * (s.X - 450) / 900 + 0.03 * (s.Y - 215) / 430)[..., None]
    s.save(lin, alpha * Z + 0.5, panel["photo"]["file"], 3, 2)


def flannel(panel):
    s = Sheet(panel, 22)
    bend_x, bend_y = s.X + s.noise(40) * 0.8, s.Y + s.noise(40) * 0.8
    period = 44.0

    def bar(v):
        t = (v % period) / period * 44
        a = step(4, 5.5, t) * step(18, 16.5, t)
        b = step(29.5, 30.5, t) * step(33, 32, t)
        return a, b
    ax, bx = bar(bend_x + 7)
    ay, by = bar(bend_y + 12)
    ground, dark, warm = to_linear((176, 166, 154)), to_linear((118, 108, 100)), to_linear((168, 112, 90))
    k = 0.42 * (ax + ay)[..., None]
    lin = ground * (1 - k) + dark * k
    m = 0.30 * (bx + by)[..., None]
    lin = lin * (1 - m) + warm * m
    # twill ground, drowned in nap
    twill = np.sin(2 * np.pi * (s.X + s.Y) / 1.9) * 0.020
    nap = 0.045 * s.noise(0.45, 1.0) + 0.035 * s.noise(1.6, 3.2) + 0.022 * s.noise(9, 12) + 0.018 * s.noise(40)
    lin = gaussian_filter(lin, (1.2, 1.0, 0))
    lin *= (1 + twill + nap)[..., None]
    pill = np.clip(s.noise(0.8) - 2.6, 0, 1.2) * 0.25
    lin *= (1 + pill)[..., None]
    sh, _ = crease(s, 262, -10, 259, 210, 2.4)
    sh2, _ = crease(s, 20, 92, 510, 118, 2.2, 60)
    lin *= (1 + 0.05 * sh + 0.025 * sh2)[..., None]
    # the folded edge: rounded, darker where it turns under
    lin *= (1 - 0.42 * np.exp(-np.clip(s.X, 0, None) / 1.3) + 0.05 * np.exp(-0.5 * ((s.X - 5) / 2.5) ** 2))[..., None]
    alpha = s.inside(panel["outline_mm"])
    fluff = np.clip(s.noise(0.5, 0.5), 0, 3) * 0.35 * step(0, 3, s.X)
    s.save(lin, (alpha + fluff) * Z + 0.5, panel["photo"]["file"], 3, 3)


def felt(panel):
    s = Sheet(panel, 5)
    base, pale, deep = to_linear((112, 120, 104)), to_linear((158, 162, 142)), to_linear((72, 82, 72))
    cloud = 0.5 + 0.16 * s.noise(14) + 0.10 * s.noise(4) + 0.10 * s.noise(1.4)
    lin = base + 0.30 * (pale - base) * np.clip(cloud - 0.5, 0, 1)[..., None] * 2 \
        + 0.30 * (deep - base) * np.clip(0.5 - cloud, 0, 1)[..., None] * 2
    # fibres: short curved hairs at every angle
    k = 3
    pale_f, deep_f = (Image.new("L", (s.w * k, s.h * k), 0) for _ in range(2))
    for img, count in ((pale_f, 7000), (deep_f, 5200)):
        d = ImageDraw.Draw(img)
        for _ in range(count):
            px, py = s.rng.uniform(0, s.w * k), s.rng.uniform(0, s.h * k)
            a, turn = s.rng.uniform(0, 2 * np.pi), s.rng.normal(0, .22)
            pts = [(px, py)]
            for _ in range(7):
                px, py, a = px + 6.5 * np.cos(a), py + 6.5 * np.sin(a), a + turn
                pts.append((px, py))
            d.line(pts, fill=int(s.rng.uniform(90, 255)), width=2)
    small = lambda im: gaussian_filter(np.array(im.resize((s.w, s.h), Image.Resampling.BOX), float) / 255, 0.45)[..., None]
    f = 0.45 * small(pale_f)
    lin = lin * (1 - f) + pale * f
    f = 0.45 * small(deep_f)
    lin = lin * (1 - f) + deep * f
    lin *= (1 + 0.05 * s.noise(0.4))[..., None]
    lin *= (1.02 + 0.03 * (s.X - 127) / 254 + 0.03 * (s.Y - 141) / 282)[..., None]
    d = s.inside(panel["outline_mm"])
    # thick: the cut edge catches light on one side and lies in shade on the other
    gy, gx = np.gradient(gaussian_filter(d, 3))
    rim = np.exp(-np.clip(d, 0, None) / 1.6)
    lin *= (1 + 0.55 * rim * (gx * 0.7 - gy * -0.7))[..., None]
    s.save(lin, (d + np.clip(s.noise(0.5), 0, 3) * 0.15) * Z + 0.5, panel["photo"]["file"], 3, 3)


def main():
    job = tomllib.loads((HERE / "job.toml").read_text())
    paint = dict(sling=canvas, remnant=flannel, felt=felt)
    for p in job["panel"]:
        paint[p["name"]](p)


if __name__ == "__main__":
    main()
