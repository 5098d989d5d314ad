# Lens distortion (k1, k2, p1, p2; k3 = 0) and the displacement by cloth thickness,
# by cv2.projectPoints. Pixel coordinates are plain numbers here: what is (u, v) in
# Ghostchalk's pixel space is passed as (u, v), and no half pixel is added anywhere.
# numpy==2.4.6 opencv-python-headless==5.0.0.93
# Run: pip install numpy==2.4.6 opencv-python-headless==5.0.0.93; python tests/reference/lens.py
import cv2
import numpy as np

from common import write

ZERO = np.zeros(3)


def k_matrix(f, cx, cy):
    return np.array([[f, 0, cx], [0, f, cy], [0, 0, 1.0]])


def distort_formula(px, f, cx, cy, k1, k2, p1, p2):
    x, y = ((np.asarray(px) - (cx, cy)) / f).T
    r2 = x * x + y * y
    m = 1 + k1 * r2 + k2 * r2 * r2
    xd = x * m + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
    yd = y * m + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
    return np.c_[f * xd + cx, f * yd + cy]


def opencv(points, rvec, tvec, f, cx, cy, d):
    out, _ = cv2.projectPoints(np.array(points, float)[:, None, :], rvec, tvec, k_matrix(f, cx, cy), np.array([*d, 0.0]))
    return out[:, 0]


def one_to_one(ideal, f, cx, cy, d):
    """The Jacobian's determinant stays positive over the frame: the map can be turned back."""
    e = 1e-3
    du = (distort_formula(ideal + (e, 0), f, cx, cy, *d) - distort_formula(ideal - (e, 0), f, cx, cy, *d)) / (2 * e)
    dv = (distort_formula(ideal + (0, e), f, cx, cy, *d) - distort_formula(ideal - (0, e), f, cx, cy, *d)) / (2 * e)
    return float((du[:, 0] * dv[:, 1] - du[:, 1] * dv[:, 0]).min())


# name, width, height, f, cx, cy, (k1, k2, p1, p2)
CASES = [
    ("none", 1920, 1080, 2300.0, 960.0, 540.0, (0, 0, 0, 0)),
    ("pure k1, barrel", 1920, 1080, 2300.0, 960.0, 540.0, (-0.08, 0, 0, 0)),
    ("pure k1, pincushion", 1920, 1080, 2300.0, 951.5, 560.25, (0.05, 0, 0, 0)),
    ("pure k1, centre on the lower edge", 1920, 1080, 2600.0, 960.0, 1080.0, (-0.06, 0, 0, 0)),
    ("k1, k2", 1920, 1080, 2300.0, 965.0, 533.0, (-0.11, 0.09, 0, 0)),
    ("k1, p1, p2", 1920, 1080, 2300.0, 960.0, 540.0, (-0.05, 0, 0.0011, -0.0007)),
    ("p1 only", 1920, 1080, 2300.0, 960.0, 540.0, (0, 0, 0.002, 0)),
    ("p2 only", 1920, 1080, 2300.0, 960.0, 540.0, (0, 0, 0, 0.002)),
    ("all", 1920, 1080, 2250.0, 972.25, 547.75, (-0.09, 0.05, 0.0009, 0.0013)),
    ("all, 4K", 3840, 2160, 4600.0, 1930.5, 1071.0, (0.04, -0.03, -0.0008, 0.0006)),
]

lens_cases = []
for name, w, h, f, cx, cy, d in CASES:
    ideal = np.array([(w * i / 8, h * j / 6) for j in range(7) for i in range(9)])
    rays = np.c_[(ideal - (cx, cy)) / f, np.ones(len(ideal))]
    same = opencv(rays, ZERO, ZERO, f, cx, cy, (0, 0, 0, 0))
    got = opencv(rays, ZERO, ZERO, f, cx, cy, d)
    assert np.abs(same - ideal).max() < 1e-9
    assert np.abs(got - distort_formula(ideal, f, cx, cy, *d)).max() < 1e-9, name
    det = one_to_one(ideal, f, cx, cy, d)
    assert det > 0.3, (name, det)
    print(f"{name}: moves by up to {np.linalg.norm(got - ideal, axis=1).max():.2f} px, least det {det:.3f}")
    lens_cases.append({
        "name": name, "size_px": [w, h], "f_px": f, "centre_px": [cx, cy],
        "k1": d[0], "k2": d[1], "p1": d[2], "p2": d[3],
        "largest_move_px": np.linalg.norm(got - ideal, axis=1).max(),
        "least_jacobian": det, "ideal_px": ideal, "distorted_px": got,
    })


def look(lens, aim, roll):
    """World -> lens rotation (x right, y down, z along the axis) for a lens above the table."""
    z = np.array(aim, float) - lens
    z /= np.linalg.norm(z)
    x = np.cross(z, [0.0, 1.0, 0.0])  # z points down, so this is +x of the table when it is not rolled
    x /= np.linalg.norm(x)
    y = np.cross(z, x)
    a = np.deg2rad(roll)
    r = np.array([np.cos(a) * x + np.sin(a) * y, -np.sin(a) * x + np.cos(a) * y, z])
    assert abs(np.linalg.det(r) - 1) < 1e-12
    return r


# name, size, f, centre, lens (table mm), aim, roll, distortion
POSES = [
    ("near overhead, no distortion", (1920, 1080), 1950.0, (960.0, 540.0), (600, 410, 1500), (600, 400, 0), 0, (0, 0, 0, 0)),
    ("overhead with offset and roll, k1", (1920, 1080), 1700.0, (957.0, 545.5), (680, 330, 1420), (610, 395, 0), 1.2, (-0.07, 0, 0, 0)),
    ("from beyond the far edge, all", (1920, 1080), 2350.0, (963.25, 537.5), (590, 1250, 1460), (605, 430, 0), -0.6, (-0.08, 0.04, 0.0008, -0.0006)),
    ("from the side, turned by 180 degrees, 4K, all", (3840, 2160), 4050.0, (1924.0, 1077.5), (-260, 420, 1380), (590, 400, 0), 178, (0.03, -0.02, 0.0005, 0.0004)),
]
SPOTS = [(30, 30), (600, 20), (1170, 40), (60, 400), (600, 400), (1150, 390), (20, 780), (610, 770), (1180, 760), (333.25, 147.5), (871.125, 640.75)]

pose_cases = []
for name, size, f, (cx, cy), lens, aim, roll, d in POSES:
    lens = np.array(lens, float)
    r = look(lens, aim, roll)
    rvec, _ = cv2.Rodrigues(r)
    t = -r @ lens
    hom = k_matrix(f, cx, cy) @ np.c_[r[:, 0], r[:, 1], t]
    hom /= hom[2, 2]
    assert np.linalg.det(hom) < 0
    levels = []
    for thick in (0.0, 5.0, 20.0):
        pts = np.array([(x, y, thick) for x, y in SPOTS], float)
        ideal = opencv(pts, rvec, t, f, cx, cy, (0, 0, 0, 0))
        dist = opencv(pts, rvec, t, f, cx, cy, d)
        # closed form: the ray that lights (p, t) meets the bare table at q
        away = pts[:, :2] - lens[:2]
        shift = away * thick / (lens[2] - thick)
        q = pts[:, :2] + shift
        hq = np.c_[q, np.ones(len(q))] @ hom.T
        assert np.all(hq[:, 2] > 0)
        hq = hq[:, :2] / hq[:, 2:]
        assert np.abs(hq - ideal).max() < 1e-8, name
        assert np.abs(dist - distort_formula(ideal, f, cx, cy, *d)).max() < 1e-9
        levels.append({
            "thickness_mm": thick, "ideal_px": ideal, "distorted_px": dist,
            "displacement_mm": shift, "displacement_length_mm": np.linalg.norm(away, axis=1) * thick / (lens[2] - thick),
            "table_mm_on_the_same_ray": q,
        })
    inside = ((dist > 0) & (dist < size)).all(axis=1)
    print(f"{name}: {inside.sum()} of {len(SPOTS)} spots inside the frame, up to {levels[2]['displacement_length_mm'].max():.2f} mm")
    pose_cases.append({
        "name": name, "size_px": size, "f_px": f, "centre_px": [cx, cy],
        "k1": d[0], "k2": d[1], "p1": d[2], "p2": d[3], "lens_mm": lens, "h_table_to_ideal_px": hom,
        "spots_mm": SPOTS, "levels": levels,
    })

write("lens.json", {
    "about": "ideal px -> distorted px: the pixel to light so that the ray of the ideal (pinhole) pixel is lit",
    "formula": [
        "x = (u - cx) / f, y = (v - cy) / f, r2 = x x + y y, m = 1 + k1 r2 + k2 r2 r2",
        "x' = x m + 2 p1 x y + p2 (r2 + 2 x x), y' = y m + p1 (r2 + 2 y y) + 2 p2 x y",
        "u' = f x' + cx, v' = f y' + cy",
    ],
    "pixels": "plain numbers, no half pixel added",
    "grid": "9 x 7 ideal pixels over the frame, x fastest",
    "cases": lens_cases,
    "pose_about": "a point p on cloth of thickness t below a lens at (c, h), all table mm, is lit through the ray that meets the bare table at q = p + (p - c) t / (h - t); its length is d t / (h - t), d = |p - c|; ideal px = H q; h33 = 1",
    "poses": pose_cases,
})
