# Photos of AprilTags 36h11 on patterned cloth, made by a camera model of its own: a pinhole with radial distortion,
# tags on cards of paper, cloth of stripes, checks or a print, uneven light, blur, counted light's noise, sRGB, JPEG.
# Writes tags/*.jpg and tags.json: the corners as they are, and as OpenCV's ArucoDetector finds them with two of its
# ways of refining. With `--more FOLDER N`: N photos by seed, for benches/src/tags.rs.
# numpy==2.4.6 opencv-python-headless==5.0.0.93
#
# What a tag's cells are is OpenCV's drawing of its DICT_APRILTAG_36h11; projectPoints checks the projection.
import math
import sys
from pathlib import Path

import cv2
import numpy as np

from common import HERE, text, write

FOLDER = HERE / "tags"
FAMILY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
CARD = 85.0  # mm
WHITE, BLACK = 0.80, 0.035  # paper and ink, of the light that falls on them


class Camera:
    """A window of a photo: `centre` is the optical axis' place in it, which may lie outside."""

    def __init__(self, f, k1, centre, eye, target, roll):
        self.f, self.k1, self.c = f, k1, np.array(centre, float)
        self.eye = np.array(eye, float)
        z = np.array([*target, 0.0]) - self.eye
        z /= np.linalg.norm(z)
        up = np.array([math.sin(roll), math.cos(roll), 0])
        x = np.cross(z, up)
        x /= np.linalg.norm(x)
        self.r = np.array([x, np.cross(z, x), z])  # x right, y down, z forward

    def see(self, xy):
        """Pixels of places on the table; the top left pixel's centre is (0.5, 0.5)."""
        xyz = (np.column_stack([xy, np.zeros(len(xy))]) - self.eye) @ self.r.T
        k = np.array([[self.f, 0, self.c[0]], [0, self.f, self.c[1]], [0, 0, 1]])
        # Turned here: a camera that looks straight down is half a turn, which loses digits as a vector.
        px, _ = cv2.projectPoints(xyz.reshape(-1, 1, 3), np.zeros(3), np.zeros(3), k,
                                  np.array([self.k1, 0, 0, 0, 0], float))
        return px.reshape(-1, 2)

    def hit(self, px):
        """Places on the table of pixels."""
        d = (px - self.c) / self.f
        u = d.copy()
        for _ in range(40 if self.k1 else 0):
            u = d / (1 + self.k1 * (u * u).sum(-1, keepdims=True))
        ray = np.concatenate([u, np.ones(u.shape[:-1] + (1,))], -1) @ self.r
        return self.eye[:2] - ray[..., :2] * (self.eye[2] / ray[..., 2:])


def corners_mm(tag):
    """Lower left, lower right, upper right, upper left of the black square, on the table."""
    h, a = tag["size"] / 2, tag["turn"]
    c, s = math.cos(a), math.sin(a)
    return np.array([(tag["at"][0] + c * x - s * y, tag["at"][1] + s * x + c * y)
                     for x, y in [(-h, -h), (h, -h), (h, h), (-h, h)]])


def cloth(kind, xy, rng_state):
    """Light that cloth sends back, red green blue."""
    rng = np.random.default_rng(rng_state)
    x, y = xy[..., 0], xy[..., 1]
    a, b = np.array([0.10, 0.16, 0.30]), np.array([0.62, 0.58, 0.48])
    turn = rng.uniform(0, 3)
    u = math.cos(turn) * x + math.sin(turn) * y
    v = -math.sin(turn) * x + math.cos(turn) * y
    if kind == "stripes":
        share = (np.floor(u / 11) % 3 == 0).astype(float)
    elif kind == "check":
        share = ((np.floor(u / 14) + np.floor(v / 14)) % 2).astype(float)
    elif kind == "plaid":
        share = 0.5 * (np.floor(u / 23) % 2) + 0.3 * (np.floor(v / 17) % 2) + 0.2 * (np.floor(u / 3) % 2)
    elif kind == "print":
        # Squares of all sizes and turns, rings within, on a light ground.
        share = np.full(x.shape, 1.0)
        for _ in range(90):
            cx, cy = rng.uniform(-230, 230, 2)
            h, t, inner = rng.uniform(6, 34), rng.uniform(0, 3), rng.uniform(0.3, 0.9)
            p = np.abs(math.cos(t) * (x - cx) + math.sin(t) * (y - cy))
            q = np.abs(-math.sin(t) * (x - cx) + math.cos(t) * (y - cy))
            d = np.maximum(p, q)
            share = np.where(d < h, np.where(d < inner * h, rng.uniform(0, 1), 0.0), share)
    else:
        share = np.full(x.shape, 0.7)
    weave = 1 + 0.05 * np.sin(2 * np.pi * x / 1.1) * np.sin(2 * np.pi * y / 1.3)
    return (a + (b - a) * share[..., None]) * weave[..., None]


def scene(xy, case, bits):
    """Light of places on the table."""
    out = cloth(case["cloth"], xy, case["seed"])
    for tag in case["tags"]:
        a = tag["turn"]
        d = xy - np.array(tag["at"])
        u = math.cos(a) * d[..., 0] + math.sin(a) * d[..., 1]
        v = -math.sin(a) * d[..., 0] + math.cos(a) * d[..., 1]
        if tag.get("flip"):
            u = -u
        cell = tag["size"] / 8
        card = np.maximum(np.abs(u), np.abs(v)) < tag.get("card", CARD) / 2
        column, row = np.floor(u / cell).astype(int) + 4, 3 - np.floor(v / cell).astype(int)
        on = (column >= 0) & (column < 8) & (row >= 0) & (row < 8)
        white = np.where(on, bits[tag["id"]][np.clip(row, 0, 7), np.clip(column, 0, 7)], True)
        out = np.where(card[..., None], np.where(white, WHITE, BLACK)[..., None], out)
    for box in case.get("hides", []):
        inside = (np.abs(xy - np.array(box[:2])) < np.array(box[2:]) / 2).all(-1)
        out = np.where(inside[..., None], np.array([0.28, 0.16, 0.11]), out)
    return out


def photo(case):
    rng = np.random.default_rng(case["seed"])
    w, h = case["size"]
    cam = Camera(case["f"], case["k1"], case["centre"], case["eye"], case["target"], case["roll"])
    bits = {t["id"]: cv2.aruco.generateImageMarker(FAMILY, t["id"], 8) > 0 for t in case["tags"]}
    yy, xx = np.mgrid[0:h, 0:w]
    centres = np.stack([xx + 0.5, yy + 0.5], -1)
    ground = cam.hit(centres)
    assert np.abs(cam.see(ground[::97, ::89].reshape(-1, 2)) - centres[::97, ::89].reshape(-1, 2)).max() < 1e-6
    seen = scene(ground, case, bits)
    # Where anything changes, 10 x 10 looks a pixel.
    g = seen.mean(-1).astype(np.float32)
    mixed = cv2.dilate(g, np.ones((3, 3))) - cv2.erode(g, np.ones((3, 3))) > 0.15 * g
    sub = (np.stack(np.meshgrid(np.arange(10), np.arange(10)), -1).reshape(-1, 2) + 0.5) / 10
    at = np.stack([xx[mixed], yy[mixed]], -1)
    for k in range(0, len(at), 20000):
        part = at[k : k + 20000]
        seen[part[:, 1], part[:, 0]] = scene(cam.hit(part[:, None, :] + sub), case, bits).mean(1)
    # Light from one side, a shadow with a soft edge, the lens' fall-off.
    gx, gy = case["light"]
    lit = np.maximum(0.2, 1 + gx * (xx / w - 0.5) + gy * (yy / h - 0.5))
    if case.get("shadow"):
        sx, sy, off, deep = case["shadow"]
        lit = lit * (1 - deep / (1 + np.exp(-(sx * xx + sy * yy - off) / 25)))
    seen = seen * lit[..., None]
    seen = cv2.GaussianBlur(seen, (0, 0), case["blur"])
    seen = seen + rng.standard_normal(seen.shape) * np.sqrt(0.003**2 + case["noise"] ** 2 * np.clip(seen, 0, 1))
    seen = np.clip(seen, 0, 1)
    code = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    return np.round(code * 255).astype(np.uint8)[..., ::-1].copy(), cam


def by_opencv(path):
    """Corners by id and way, in our order and our pixels."""
    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    v = grey / 255
    light = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
    out = {}
    # The second way's pixels' centres are halves as ours, the first's are whole numbers. Half of a camera's codes is not
    # half of the light, so each is also given the light itself.
    for name, way, half in [("subpix", cv2.aruco.CORNER_REFINE_SUBPIX, 0.5),
                            ("apriltag", cv2.aruco.CORNER_REFINE_APRILTAG, 0)]:
        how = cv2.aruco.DetectorParameters()
        how.cornerRefinementMethod = way
        for suffix, given in [("", grey), ("_light", np.round(light * 255).astype(np.uint8))]:
            found, ids, _ = cv2.aruco.ArucoDetector(FAMILY, how).detectMarkers(given)
            for corners, k in zip(found, [] if ids is None else ids.ravel()):
                # Its order is upper left, upper right, lower right, lower left.
                px = corners.reshape(4, 2)[[3, 2, 1, 0]].astype(float) + half
                out.setdefault(int(k), {})[name + suffix] = px
    return out


WAYS = ["subpix", "apriltag", "subpix_light", "apriltag_light"]


def told(case, path, cam):
    found = by_opencv(path)
    tags = []
    for tag in case["tags"]:
        mm = corners_mm(tag)
        px = cam.see(mm)
        one = dict(id=tag["id"], size=tag["size"], corners_mm=np.round(mm, 6), corners_px=np.round(px, 5))
        for way, corners in found.get(tag["id"], {}).items():
            one[way] = np.round(corners, 4)
        tags.append(one)
    return dict(file=path.name, tilt_degrees=math.degrees(math.acos(-cam.r[2][2])), focal=case["f"], k1=case["k1"],
                centre=case["centre"], eye=case["eye"], tags=tags)


def errors(photos, way):
    return [math.dist(a, b) for p in photos for t in p["tags"] if way in t for a, b in zip(t[way], t["corners_px"])]


def seeded(seed, size=(1100, 900)):
    """A photo as of a telephone: `size` of it, about the place that it looks at."""
    rng = np.random.default_rng(1000 + seed)
    tilt, turn = math.radians(rng.uniform(0, 35)), rng.uniform(0, 2 * math.pi)
    far, fine = rng.uniform(800, 1300), rng.uniform(2.4, 4.5)  # mm, px a mm
    eye = (far * math.sin(tilt) * math.cos(turn), far * math.sin(tilt) * math.sin(turn), far * math.cos(tilt))
    f = fine * far
    # Look so that the table's origin lies in the window's middle.
    case = dict(seed=seed, size=size, f=f, k1=0.0, centre=(size[0] / 2, size[1] / 2), eye=eye, target=(0, 0),
                roll=rng.uniform(-3, 3), cloth=rng.choice(["stripes", "check", "plaid", "print", "plain"]),
                blur=rng.uniform(0.6, 1.3), noise=rng.uniform(0.004, 0.02), light=tuple(rng.uniform(-0.8, 0.8, 2)),
                quality=int(rng.integers(85, 97)), tags=[])
    wide, high = size[0] / fine, size[1] / fine
    ids = rng.permutation(587)
    tries = 0
    while len(case["tags"]) < 6 and tries < 300:
        tries += 1
        at = rng.uniform([-wide / 2 + 50, -high / 2 + 50], [wide / 2 - 50, high / 2 - 50])
        if all(math.dist(at, t["at"]) > 1.45 * CARD for t in case["tags"]):
            case["tags"].append(dict(id=int(ids[len(case["tags"])]), size=float(rng.choice([50, 56, 60])),
                                     at=tuple(map(float, at)), turn=rng.uniform(0, 2 * math.pi)))
    return case


CASES = [
    # Nearly from above; stripes.
    dict(name="above", seed=1, size=(760, 560), f=3000, k1=0, centre=(480, 150), eye=(30, 40, 1010), target=(10, 12),
         roll=0.05, cloth="stripes", blur=0.7, noise=0.006, light=(0.3, -0.2), quality=80, tags=[
             dict(id=0, size=56.0, at=(-60.0, 12.0), turn=0.0), dict(id=1, size=56.0, at=(62.0, 2.0), turn=0.4),
             dict(id=2, size=56.0, at=(-62.0, -76.0), turn=2.0), dict(id=3, size=56.0, at=(22.0, -82.0), turn=-1.2)]),
    # Tilted by 35 degrees, in a slanting shadow, noisy; checks.
    dict(name="tilted", seed=2, size=(760, 600), f=3100, k1=0, centre=(380, 300), eye=(330, -480, 830), target=(0, -10),
         roll=0.6, cloth="check", blur=1.0, noise=0.015, light=(-0.7, 0.5), shadow=(0.8, 0.6, 520, 0.6), quality=80,
         tags=[
             dict(id=4, size=50.0, at=(-52.0, 48.0), turn=1.0), dict(id=5, size=50.0, at=(46.0, 26.0), turn=-0.3),
             dict(id=586, size=50.0, at=(-44.0, -50.0), turn=3.0), dict(id=301, size=50.0, at=(58.0, -62.0), turn=2.2)]),
    # A lens that bends lines, seen by the side of its picture; a print.
    dict(name="bent", seed=3, size=(700, 560), f=2600, k1=-0.12, centre=(-900, -500), eye=(-420, 250, 900),
         target=(-420, 250.001), roll=0.0, cloth="print", blur=0.8, noise=0.008, light=(0.5, 0.5), quality=80, tags=[
             dict(id=17, size=60.0, at=(-22.0, 18.0), turn=0.2), dict(id=99, size=60.0, at=(78.0, 22.0), turn=-2.6),
             dict(id=250, size=60.0, at=(-12.0, -82.0), turn=1.5), dict(id=400, size=60.0, at=(82.0, -74.0), turn=0.8)]),
    # One whole, one with a hand's breadth of its corner hidden, one on paper cut off at its black, one mirrored.
    dict(name="hidden", seed=4, size=(760, 560), f=3000, k1=0, centre=(380, 280), eye=(0, 0, 1000), target=(0, 0.001),
         roll=0.0, cloth="plaid", blur=0.8, noise=0.008, light=(0.2, 0.3), quality=80, hides=[(-40, 22, 22, 18)], tags=[
             dict(id=30, size=56.0, at=(-64.0, 44.0), turn=0.0), dict(id=31, size=56.0, at=(58.0, 42.0), turn=0.3),
             dict(id=32, size=56.0, at=(-62.0, -48.0), turn=0.1, card=56.0),
             dict(id=33, size=56.0, at=(60.0, -46.0), turn=-0.2, flip=True)]),
]


def main():
    if sys.argv[1:2] == ["--more"]:
        folder = Path(sys.argv[2])
        folder.mkdir(exist_ok=True, parents=True)
        photos = []
        for seed in range(int(sys.argv[3])):
            case = seeded(seed)
            picture, cam = photo(case)
            path = folder / f"{seed:03}.jpg"
            cv2.imwrite(str(path), picture, [cv2.IMWRITE_JPEG_QUALITY, case["quality"]])
            one = told(case, path, cam)
            inside = lambda t: ((t["corners_px"] > 30) & (t["corners_px"] < np.array(case["size"]) - 30)).all()
            one["tags"] = [t for t in one["tags"] if inside(t)]
            one.update(cloth=str(case["cloth"]), blur=case["blur"], noise=case["noise"])
            photos.append(one)
        (folder / "tags.json").write_text(text({"photos": photos}), encoding="utf-8")
    else:
        FOLDER.mkdir(exist_ok=True)
        photos = []
        for case in CASES:
            picture, cam = photo(case)
            path = FOLDER / f"{case['name']}.jpg"
            cv2.imwrite(str(path), picture, [cv2.IMWRITE_JPEG_QUALITY, case["quality"]])
            print(path.name, path.stat().st_size)
            photos.append(told(case, path, cam))
        write("tags.json", {"about": "Made by tags.py. Corners of the black square: lower left, lower right, upper "
                                     "right, upper left of the upright tag; px with the top left pixel's centre at "
                                     "(0.5, 0.5), mm on the table. subpix and apriltag: as OpenCV found them, where it "
                                     "did; _light: given linear light.", "photos": photos})
    for way in WAYS:
        e = errors(photos, way)
        print(way, f"{len(e)} corners, mean {np.mean(e):.3f} px, most {np.max(e):.3f} px")
    print("tags", sum(len(p["tags"]) for p in photos))


if __name__ == "__main__":
    main()
