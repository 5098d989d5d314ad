# Where discs of 20 mm on the table land in projector pixels, measured through
# cv2.warpPerspective, against the closed form. Catches half-pixel faults.
#
# Ghostchalk: the top-left pixel covers [0,1) x [0,1), its centre is (0.5, 0.5).
# OpenCV: integer coordinates are pixel centres, so the top-left pixel's centre is (0, 0).
# For a picture with s samples per unit that starts at a: position = a + (index + 0.5) / s.
# numpy==2.4.6 opencv-python-headless==5.0.0.93
# Run: pip install numpy==2.4.6 opencv-python-headless==5.0.0.93; python tests/reference/warp.py
import cv2
import numpy as np

from common import write

R = 10.0          # disc radius, mm
SRC = 24          # source samples per mm
WIN = 64          # window, px
SIZE = (1920, 1080)
DISCS = [(150.0, 130.0), (1050.0, 140.0), (600.3, 401.7), (160.25, 660.0), (1042.0, 668.5)]
TABLE = np.float64([(0, 0), (1200, 0), (1200, 800), (0, 800)])
QUADS = [
    ("almost straight, a little turned", [(101.5, 1052.25), (1811.25, 1069.75), (1826, 22.5), (96.25, 10)]),
    ("keystone, wide at the near edge", [(25.25, 1064.5), (1897.75, 1058), (1651.5, 44.75), (255, 61.25)]),
    ("mirrored, keystone from the side", [(1802, 1041.75), (131.25, 913.5), (77.25, 204), (1893.75, 21.25)]),
]


def homography(src, dst):
    a, b = [], []
    for (x, y), (u, v) in zip(src, dst):
        a += [[x, y, 1, 0, 0, 0, -x * u, -y * u], [0, 0, 0, x, y, 1, -x * v, -y * v]]
        b += [u, v]
    return np.append(np.linalg.solve(np.array(a), np.array(b)), 1).reshape(3, 3)


def image_of_disc(h, x, y):
    """Centre and area of the ellipse that is the disc's image, through its dual conic."""
    c = np.array([[x * x - R * R, x * y, x], [x * y, y * y - R * R, y], [x, y, 1.0]])
    d = h @ c @ h.T
    d /= d[2, 2]
    u, v = d[0, 2], d[1, 2]
    m = np.array([[u * u - d[0, 0], u * v - d[0, 1]], [u * v - d[0, 1], v * v - d[1, 1]]])
    return np.array([u, v]), np.pi * np.sqrt(np.linalg.det(m))


def source(x, y):
    """The disc, drawn by its signed distance so that edge samples are part covered; row 0 is at the top (large y)."""
    half = R + 5
    n = int(2 * half * SRC)
    q = (np.arange(n) + 0.5) / SRC - half
    dist = np.hypot(q[None, :], q[:, None])
    img = np.clip((R - dist) * SRC + 0.5, 0, 1).astype(np.float32)
    # sample index (i, j), centres on integers -> table mm
    to_mm = np.array([[1 / SRC, 0, x - half + 0.5 / SRC], [0, -1 / SRC, y + half - 0.5 / SRC], [0, 0, 1.0]])
    return img, to_mm


def measure(h, x, y, ss):
    """Warped at ss x ss samples per pixel, averaged to pixels, centroid by moments."""
    img, to_mm = source(x, y)
    mid, _ = image_of_disc(h, x, y)
    u0, v0 = np.floor(mid) - WIN // 2
    to_sample = np.array([[ss, 0, -u0 * ss - 0.5], [0, ss, -v0 * ss - 0.5], [0, 0, 1.0]])
    big = cv2.warpPerspective(img, to_sample @ h @ to_mm, (WIN * ss, WIN * ss), flags=cv2.INTER_LINEAR)
    px = cv2.resize(big, (WIN, WIN), interpolation=cv2.INTER_AREA) if ss > 1 else big
    m = cv2.moments(px.astype(np.float64))
    # moments count from the centre of the first pixel as 0: add the half pixel
    return np.array([u0 + m["m10"] / m["m00"] + 0.5, v0 + m["m01"] / m["m00"] + 0.5]), m["m00"]


out, worst, worst_area, worst_plain = [], 0, 0, 0
for name, quad in QUADS:
    h = homography(TABLE, quad)
    discs = []
    for x, y in DISCS:
        w = h @ (x, y, 1)
        mapped = w[:2] / w[2]
        mid, area = image_of_disc(h, x, y)
        got, got_area = measure(h, x, y, 16)
        plain, _ = measure(h, x, y, 1)
        # the closed form, checked by a fine polygon
        a = 2 * np.pi * np.arange(20000) / 20000
        p = np.c_[x + R * np.cos(a), y + R * np.sin(a), np.ones(len(a))] @ h.T
        p = p[:, :2] / p[:, 2:]
        n = np.roll(p, -1, 0)
        cr = p[:, 0] * n[:, 1] - n[:, 0] * p[:, 1]
        assert np.abs(((p + n) * cr[:, None]).sum(0) / (3 * cr.sum()) - mid).max() < 1e-5
        assert abs(abs(cr.sum()) / 2 - area) < 1e-4
        worst = max(worst, np.abs(got - mid).max())
        worst_plain = max(worst_plain, np.abs(plain - mid).max())
        worst_area = max(worst_area, abs(got_area / area - 1))
        print(name, (x, y), mid, got - mid, plain - mid, got_area / area - 1)
        discs.append({
            "centre_mm": [x, y], "centre_mapped_px": mapped, "centroid_px": mid, "area_px2": area,
            "opencv_centroid_px": [round(float(c), 5) for c in got], "opencv_area_px2": round(got_area, 4),
        })
    out.append({"name": name, "table_mm": TABLE, "px": quad, "h": h, "discs": discs})

assert worst < 0.02 and worst_area < 2e-3 and worst_plain < 0.2
write("warp.json", {
    "about": "discs of 20 mm on the table and the centroids of their images, in px, top-left pixel [0,1) x [0,1)",
    "size_px": SIZE, "disc_radius_mm": R, "h": "table mm -> px, h33 = 1, by rows",
    "centre_mapped_px": "H applied to the disc's centre; not the centroid under a keystone",
    "centroid_px": "closed form: centre of the ellipse, from H C H^T with the disc's dual conic C",
    "opencv_centroid_px": "moments of the disc warped by warpPerspective at 16 x 16 samples a pixel, averaged to pixels",
    "opencv_largest_error_px": float(f"{worst:.2g}"),
    "opencv_largest_error_without_supersampling_px": float(f"{worst_plain:.2g}"),
    "opencv_largest_relative_area_error": float(f"{worst_area:.2g}"),
    "cases": out,
})
