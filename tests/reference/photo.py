# A photo of a table with marks of every kind, made by a camera model of its own; where a fit of such marks must lead,
# with its covariance; and a part of the photo seen straight from above by OpenCV.
# Writes photo/table.jpg, photo/above.png and photo.json.
# numpy==2.4.6 opencv-python-headless==5.0.0.93 scipy==1.17.1
#
# Projection is OpenCV's (projectPoints); what a pixel sees is counted in 5 x 5 rays, each by closed forms of the scene.
import math

import cv2
import numpy as np
from scipy.optimize import least_squares

from common import HERE, write

FOLDER = HERE / "photo"
SIZE = (2000, 1500)
HALF = math.hypot(*SIZE) / 2
F = 1620.0
K = np.array([[F, 0, 1006], [0, F, 744], [0, 0, 1]])
# OpenCV's k1, k2 at the focal length; in units of half the diagonal: -0.0184, 0.0025.
DIST = np.array([-0.0184 * (F / HALF) ** 2, 0.0025 * (F / HALF) ** 4, 0, 0, 0])
EYE, TARGET, ROLL = np.array([330.0, 60.0, 640.0]), np.array([305.0, 195.0, 0.0]), 0.03


def looking(eye, target, roll):
    z = (target - eye) / np.linalg.norm(target - eye)
    x = np.cross(z, [math.sin(roll), math.cos(roll), 0])
    x /= np.linalg.norm(x)
    return np.array([x, np.cross(z, x), z])


R = looking(EYE, TARGET, ROLL)


def see(xyz, k=K, dist=DIST):
    """Pixels; the top left pixel's centre is (0.5, 0.5)."""
    px, _ = cv2.projectPoints(np.asarray(xyz, float).reshape(-1, 1, 3), cv2.Rodrigues(R)[0], -R @ EYE, k, dist)
    return px.reshape(-1, 2)


def hit(px):
    """Where the table's plane is seen."""
    d = (px - K[:2, 2]) / F
    u = d.copy()
    for _ in range(20):
        r2 = (u * u).sum(-1, keepdims=True)
        u = d / (1 + DIST[0] * r2 + DIST[1] * r2 * r2)
    ray = np.concatenate([u, np.ones(u.shape[:-1] + (1,))], -1) @ R
    return EYE[:2] + ray[..., :2] * (-EYE[2] / ray[..., 2:])


# kind, x, y, turn in degrees, size: stroke's width, radius, or side of a field; all mm.
MARKS = [
    ("cross", 30, 30, 8, 1.1), ("cross", 300, 22, 45, 0.9), ("cross", 575, 34, -12, 1.4), ("cross", 25, 370, 3, 1.2),
    ("light cross", 318, 372, 20, 1.2), ("light cross", 570, 365, 52, 1.6),
    ("disc", 25, 200, 0, 4.0), ("disc", 572, 205, 0, 2.5), ("light disc", 110, 376, 0, 5.0),
    ("checker", 160, 28, 10, 8.0), ("checker", 440, 30, 33, 6.0), ("checker", 450, 374, -20, 10.0),
]
SHEETS = [(52, 60, 112, 145), (490, 60, 550, 145), (52, 255, 112, 340), (490, 255, 550, 340)]
CLOTH = (130, 70, 470, 330)


def scene(p):
    """Linear reflectance where the table is seen."""
    x, y = p[..., 0], p[..., 1]
    out = np.empty(p.shape[:-1] + (3,))
    out[:] = [0.46, 0.40, 0.33]
    box = lambda b: (x >= b[0]) & (x <= b[2]) & (y >= b[1]) & (y <= b[3])
    for s in SHEETS:
        out[box(s)] = [0.86, 0.86, 0.85]
    inside = box(CLOTH)
    fade = 0.55 + 0.45 * (y - CLOTH[1]) / (CLOTH[3] - CLOTH[1])
    stripe = np.floor(x / 17).astype(int) % 3 == 0
    cloth = np.where(stripe[..., None], [0.08, 0.17, 0.30], [0.62, 0.56, 0.42]) * fade[..., None]
    out[inside] = cloth[inside]
    for kind, mx, my, turn, size in MARKS:
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        u, v = (x - mx) * c + (y - my) * s, -(x - mx) * s + (y - my) * c
        ink, ground = np.array([0.04, 0.04, 0.05]), np.array([0.83, 0.83, 0.80])
        if kind.startswith("light"):
            ink, ground = np.array([0.8, 0.78, 0.7]), np.array([0.06, 0.05, 0.05])
            out[(abs(x - mx) < 19) & (abs(y - my) < 19)] = ground
        if kind == "checker":
            out[(abs(u) < 1.3 * size) & (abs(v) < 1.3 * size)] = ground
            out[(abs(u) < size) & (abs(v) < size) & (u * v > 0)] = ink
        elif kind.endswith("disc"):
            out[u * u + v * v < size * size] = ink
        else:
            arm = ((abs(u) < size / 2) & (abs(v) < 12)) | ((abs(v) < size / 2) & (abs(u) < 12))
            out[arm] = ink
    return out


def linear(code):
    v = code / 255.0
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def coded(v):
    v = np.clip(v, 0, 1)
    return np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055) * 255


def photo(rng):
    w, h = SIZE
    out = np.zeros((h, w, 3))
    grid = (np.arange(5) + 0.5) / 5
    xx, yy = np.meshgrid(np.arange(w), np.arange(h))
    for a in grid:
        for b in grid:
            out += scene(hit(np.stack([xx + a, yy + b], -1))) / 25
    centre = hit(np.stack([xx + 0.5, yy + 0.5], -1))
    u, v = (centre[..., 0] - 300) / 300, (centre[..., 1] - 200) / 200
    lit = np.exp(0.16 * u - 0.1 * v - 0.08 * u * u - 0.05 * v * v + 0.04 * u * v)
    out *= lit[..., None] * [1.0, 0.93, 0.80]
    out = cv2.GaussianBlur(out, (0, 0), 0.7)
    out += rng.standard_normal(out.shape) * np.sqrt(0.0015**2 + (0.005**2) * np.clip(out, 0, 1))
    return np.round(coded(out)).astype(np.uint8)


def fits(rng):
    """Marks with errors, and the least squares through them, with what is believed of the lens."""
    believed = np.array([0.01, 0.005])
    out = []
    for n, px_error, mm_error in [(4, 0.3, 0.5), (6, 0.4, 0.3), (12, 0.2, 0.25), (40, 0.1, 0.2)]:
        table = rng.uniform([0, 0], [600, 400], (n, 2))
        if n == 4:
            table = np.array([[20, 25], [580, 30], [570, 380], [35, 370.0]])
        px = see(np.column_stack([table + rng.normal(0, mm_error, (n, 2)), np.zeros(n)]))
        px += rng.normal(0, px_error, px.shape)
        c = np.array(SIZE) / 2

        def model(u, p):
            q = np.column_stack([p, np.ones(len(p))]) @ np.append(u[:8], 1).reshape(3, 3).T
            d = (q[:, :2] / q[:, 2:] - c) / HALF
            r2 = (d * d).sum(1, keepdims=True)
            return c + HALF * d * (1 + u[8] * r2 + u[9] * r2 * r2)

        def jacobian(f, at, steps):
            cols = []
            for k, s in enumerate(steps):
                e = np.zeros(len(steps))
                e[k] = s
                cols.append((f(at + e) - f(at - e)).ravel() / (2 * s))
            return np.stack(cols, -1)

        h = cv2.findHomography(table, px)[0]
        u = np.append((h / h[2, 2]).ravel()[:8], [0, 0])
        for _ in range(6):  # weights follow from the mapping
            roots = []
            for p in table:
                j = jacobian(lambda v: model(u, v[None]), p, [1e-3, 1e-3])
                roots.append(np.linalg.inv(np.linalg.cholesky(np.eye(2) * px_error**2 + j @ j.T * mm_error**2)))
            roots = np.array(roots)

            def left(v):
                r = np.einsum("nij,nj->ni", roots, model(v, table) - px)
                return np.append(r.ravel(), v[8:] / believed)

            scale = np.append(np.maximum(np.abs(u[:8]), 1e-5), [0.01, 0.01])
            u = least_squares(left, u, x_scale=scale, jac="3-point", xtol=1e-15, ftol=1e-15, gtol=1e-15).x
        j = jacobian(left, u, scale * 1e-5)
        s = 1 / np.linalg.norm(j, axis=0)
        cov = np.linalg.inv((j * s).T @ (j * s)) * np.outer(s, s)
        probes = np.array([[300, 200], [80, 60], [560, 350], [300, 20], [640, 430.0]])
        errors = []
        for p in probes:
            by_u = jacobian(lambda v: model(v, p[None]), u, scale * 1e-5)
            by_p = jacobian(lambda v: model(u, v[None]), p, [1e-3, 1e-3])
            m = np.linalg.solve(by_p, by_u)
            kk = cov[8:, 8:]
            held = cov[:8, :8] - cov[:8, 8:] @ np.linalg.solve(kk, cov[8:, :8])
            errors.append([math.sqrt(np.trace(m @ cov @ m.T) / 2), math.sqrt(np.trace(m[:, :8] @ held @ m[:, :8].T) / 2)])
        out.append({"px_error": px_error, "mm_error": mm_error, "table": table, "px": px, "k": u[8:], "chi2": float((left(u) ** 2).sum()),
                    "probes": probes, "probes_px": model(u, probes), "errors": errors})
    return out


def above(image):
    """Part of the photo straight from above, in linear light, INTER_LINEAR, about 1:1."""
    box, cell = (420, 20, 500, 80), 0.42
    # OpenCV's pixels are counted from their centres.
    h = cv2.findHomography(np.array([[0, 0], [600, 0], [600, 400], [0, 400.0]]),
                           see([[0, 0, 0], [600, 0, 0], [600, 400, 0], [0, 400, 0]], K, np.zeros(5)))[0]
    w, d = round((box[2] - box[0]) / cell), round((box[3] - box[1]) / cell)
    cells = np.array([[cell, 0, box[0] + cell / 2], [0, -cell, box[3] - cell / 2], [0, 0, 1]])
    shift = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]])
    m = shift @ h @ cells
    light = linear(image[..., ::-1].astype(np.float64)).astype(np.float32)
    out = cv2.warpPerspective(light, m, (w, d), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    cv2.imwrite(str(FOLDER / "above.png"), np.round(coded(out)).astype(np.uint8)[..., ::-1])
    corners = np.array([[0, 0], [600, 0], [600, 400], [0, 400.0]])
    q = np.column_stack([corners, np.ones(4)]) @ h.T
    return {"box": [box[0], box[3] - d * cell, box[0] + w * cell, box[3]], "cell": cell, "table": corners, "px": q[:, :2] / q[:, 2:]}


def main():
    rng = np.random.default_rng(31)
    FOLDER.mkdir(exist_ok=True)
    image = photo(rng)
    cv2.imwrite(str(FOLDER / "table.jpg"), image[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 82])
    decoded = cv2.imread(str(FOLDER / "table.jpg"))
    table = [[m[1], m[2], 0] for m in MARKS]
    assert np.abs(hit(see(table)) - np.array(table)[:, :2]).max() < 1e-6
    there = [[120, 120], [140, 90], [200, 200], [296, 300], [330, 150], [416, 240], [455, 320], [300, 90], [246, 45], [60, 30]]
    tall = [[100, 80, 4], [500, 90, 4], [300, 330, 12]]
    axis = R[2]
    write("photo.json", {
        "size": SIZE, "focal": F, "eye": EYE, "tilt": math.acos(-axis[2]), "k": [DIST[0] * (HALF / F) ** 2, DIST[1] * (HALF / F) ** 4],
        "marks": [{"kind": m[0], "table": m[1:3], "px": q, "size": m[4]} for m, q in zip(MARKS, see(table))],
        "sheets": SHEETS, "cloth": CLOTH,
        "there": [{"table": t, "light": v} for t, v in zip(there, scene(np.array(there, float)))],
        "tall": [{"table": t, "px": q} for t, q in zip(tall, see(tall))],
        "fits": fits(rng), "above": above(decoded)})


main()
