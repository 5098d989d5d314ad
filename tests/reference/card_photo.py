# Photos of a card template beside a sheet of paper, made by a camera model of its own: a pinhole with radial
# distortion, the card a slab with an edge of its own shade, wood-like table, uneven light, blur, noise, sRGB, JPEG.
# Writes card_photo/*.jpg and card_photo.json (true outline and camera).
# numpy==2.4.6 opencv-python-headless==5.0.0.93 shapely==2.2.0 scipy==1.17.1
#
# The outline, the camera and the projection are NumPy's and OpenCV's (projectPoints checks the projection); which
# part of a pixel sees card, edge or table is counted in 8 x 8 rays a pixel by Shapely.
import math

import cv2
import numpy as np
import shapely
from scipy.interpolate import CubicSpline

from common import HERE, write

FOLDER = HERE / "card_photo"


def sole():
    """A slipper's sole with a vee and a slot in its edge, the nail's hole and a larger one; mm, y up."""
    knots = [(0, -122), (34, -108), (38, -60), (31, -15), (40, 45), (46, 78), (28, 116), (-8, 125), (-38, 96),
             (-46, 52), (-30, -10), (-32, -70), (-27, -112)]
    knots = np.array(knots + knots[:1], float)
    s = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(knots, axis=0).T))])
    curve = CubicSpline(s, knots, bc_type="periodic")
    t = np.linspace(0, s[-1], 1201)[:-1]
    shape = shapely.Polygon(curve(t))

    def cut(at, width, depth, vee):
        p, d = curve(at * s[-1]), curve(at * s[-1], 1)
        d = d / np.hypot(*d)
        n = np.array([-d[1], d[0]])  # to the left: inward
        e = 0.1 if vee else width / 2
        return shapely.Polygon([p - n * 3 - d * width / 2, p - d * width / 2, p + n * depth - d * e,
                                p + n * depth + d * e, p + d * width / 2, p - n * 3 + d * width / 2])

    shape = shape.difference(cut(0.21, 5, 4.5, True)).difference(cut(0.72, 2.6, 6, False))
    shape = shape.difference(shapely.Point(-2, 96).buffer(2.75, quad_segs=32))
    return shape.difference(shapely.Point(4, -70).buffer(7, quad_segs=32))


class Camera:
    def __init__(self, size, f, k1, centre, eye, target, roll):
        self.size, self.f, self.k1, self.c = size, f, k1, np.array(centre, float)
        self.eye = np.array(eye, float)
        z = np.array(target + [0], float) - self.eye
        z /= np.linalg.norm(z)
        up = np.array([math.sin(roll), math.cos(roll), 0])
        x = np.cross(z, up)
        x /= np.linalg.norm(x)
        self.r = np.array([x, np.cross(z, x), z])  # x right, y down, z forward

    def see(self, xyz):
        """Pixels; the top left pixel's centre is (0.5, 0.5)."""
        k = np.array([[self.f, 0, self.c[0]], [0, self.f, self.c[1]], [0, 0, 1]])
        tvec = -self.r @ self.eye
        px, _ = cv2.projectPoints(np.asarray(xyz, float).reshape(-1, 1, 3), cv2.Rodrigues(self.r)[0], tvec, k,
                                  np.array([self.k1, 0, 0, 0, 0], float))
        return px.reshape(-1, 2)

    def rays(self, px):
        d = (px - self.c) / self.f
        u = d.copy()
        for _ in range(12):
            u = d / (1 + self.k1 * (u * u).sum(-1, keepdims=True))
        return np.concatenate([u, np.ones(u.shape[:-1] + (1,))], -1) @ self.r

    def hit(self, px, z):
        ray = self.rays(px)
        return self.eye[:2] + ray[..., :2] * ((z - self.eye[2]) / ray[..., 2:])


def smooth_noise(rng, shape, sx, sy):
    n = cv2.GaussianBlur(rng.standard_normal(shape), (0, 0), sx, sigmaY=sy)
    return n / n.std()


def photo(case):
    rng = np.random.default_rng(case["seed"])
    w, h = case["size"]
    cam = Camera((w, h), case["f"], case["k1"], case["centre"], case["eye"], case["target"], case["roll"])
    card = shapely.affinity.translate(shapely.affinity.rotate(sole(), case["turn"], origin=(0, 0)), *case["at"])
    sw, sh = case["sheet"]
    sheet = shapely.box(0, 0, sw, sh)
    t = case["thickness"]
    levels = [t, 0.75 * t, 0.5 * t, 0.25 * t, 0.0]
    for g in (card, sheet):
        shapely.prepare(g)

    def shares(px):
        """Card's top, card's edge, sheet: 0 or 1 each."""
        inside = [shapely.contains_xy(card, *np.moveaxis(cam.hit(px, z), -1, 0)) for z in levels]
        top = inside[0]
        edge = np.any(inside[1:], axis=0) & ~top
        paper = shapely.contains_xy(sheet, *np.moveaxis(cam.hit(px, 0.0), -1, 0)) & ~top & ~edge
        return np.stack([top, edge, paper], -1).astype(np.float32)

    yy, xx = np.mgrid[0:h, 0:w]
    centres = np.stack([xx + 0.5, yy + 0.5], -1)
    cover = shares(centres)
    mixed = np.zeros((h, w), bool)
    for k in range(3):
        m = cover[..., k]
        mixed |= cv2.dilate(m, np.ones((5, 5))) != cv2.erode(m, np.ones((5, 5)))
    sub = (np.stack(np.meshgrid(np.arange(8), np.arange(8)), -1).reshape(-1, 2) + 0.5) / 8
    cover[mixed] = shares(np.stack([xx[mixed], yy[mixed]], -1)[:, None, :] + sub).mean(1)

    ground = cam.hit(centres, 0.0)
    # Wood: stripes along x of the table, told by a picture of 1 px a mm.
    grain = 0.7 * smooth_noise(rng, (900, 900), 60, 1.2) + 0.5 * smooth_noise(rng, (900, 900), 90, 9)
    g = cv2.remap(grain.astype(np.float32), (ground[..., 0] + 250).astype(np.float32),
                  (ground[..., 1] + 250).astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    light = lambda c: np.array(c, float)
    table = light(case["table"]) * np.exp(0.13 * g)[..., None]
    speck = smooth_noise(rng, (h, w), 1.5, 1.5)[..., None]
    top = light(case["card"]) * (1 + 0.015 * speck)
    paper = light([0.83, 0.84, 0.82])
    edge = light(case["card"]) * case["edge"]
    a = cover
    scene = a[..., :1] * top + a[..., 1:2] * edge + a[..., 2:] * paper + (1 - a.sum(-1, keepdims=True)) * table
    # Light from one side, and the lens' fall-off with the fourth power of the cosine.
    gx, gy = case["light"]
    lit = 1 + gx * (xx / w - 0.5) + gy * (yy / h - 0.5)
    r2 = (((centres - cam.c) / cam.f) ** 2).sum(-1)
    scene = scene * (lit / (1 + 0.5 * r2) ** 2)[..., None]
    scene = cv2.GaussianBlur(scene, (0, 0), case["blur"])
    scene = scene + rng.standard_normal(scene.shape) * np.sqrt(0.002**2 + case["noise"] ** 2 * np.clip(scene, 0, 1))
    scene = np.clip(scene, 0, 1)
    code = np.where(scene <= 0.0031308, 12.92 * scene, 1.055 * scene ** (1 / 2.4) - 0.055)
    out = np.round(code * 255).astype(np.uint8)

    # The projection both ways agrees.
    corners = [(0, 0), (sw, 0), (sw, sh), (0, sh)]
    px = cam.see([(x, y, 0) for x, y in corners])
    assert np.abs(cam.hit(px, 0.0) - np.array(corners)).max() < 1e-6
    return out, card, px, cam


CASES = [
    # Nearly straight down on the sheet, so that the card's thickness is seen from the side; A4.
    dict(name="beside", seed=1, size=(2000, 1500), f=1540, k1=-0.012, centre=(1004, 747), eye=(150, 120, 455),
         target=[168, 148], roll=0.02, sheet=(210, 297), at=(285, 150), turn=8, thickness=2.4, edge=0.62, blur=0.75,
         noise=0.006, table=(0.16, 0.095, 0.05), card=(0.42, 0.36, 0.27), light=(0.25, -0.15), quality=78),
    # Tilted by 18 degrees; US letter, a dark card on a light table.
    dict(name="tilted", seed=2, size=(2000, 1500), f=1690, k1=0.006, centre=(1000, 750), eye=(170, -10, 470),
         target=[172, 143], roll=-0.05, sheet=(215.9, 279.4), at=(295, 142), turn=-5, thickness=2.0, edge=0.8, blur=0.85,
         noise=0.006, table=(0.30, 0.23, 0.15), card=(0.075, 0.075, 0.085), light=(-0.2, 0.1), quality=78),
]


def main():
    FOLDER.mkdir(exist_ok=True)
    out = []
    for case in CASES:
        picture, card, corners, cam = photo(case)
        path = FOLDER / f"{case['name']}.jpg"
        cv2.imwrite(str(path), picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, case["quality"]])
        print(path.name, path.stat().st_size)
        out.append(dict(
            file=path.name, sheet=case["sheet"], thickness=case["thickness"], camera_height=case["eye"][2],
            foot=case["eye"][:2], focal=case["f"], k1=case["k1"], sheet_corners_px=np.round(corners, 6),
            tilt_degrees=math.degrees(math.acos(-cam.r[2][2])),
            outer=[[round(float(x), 6), round(float(y), 6)] for x, y in card.exterior.coords[:-1]],
            holes=[[[round(float(x), 6), round(float(y), 6)] for x, y in hole.coords[:-1]] for hole in card.interiors],
        ))
    write("card_photo.json", {"about": "Made by card_photo.py. mm on the table; the sheet's lower left corner is the "
                                       "origin. Corners go round from there: right, up, left.", "photos": out})


if __name__ == "__main__":
    main()
