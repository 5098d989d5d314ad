# Calibration from many marks, and the tape network that gives the marks, by other
# people's least squares:
#   cv2     findHomography(method=0); projectPoints makes the lens cases' readings
#   scipy   optimize.least_squares (MINPACK's Levenberg-Marquardt), slopes by complex
#           steps, then Gauss-Newton steps until they stall; stats for chances
#   numpy   linalg.pinv for the free network's covariance
# Every fit is made twice, with other unknowns and from other starts, and the two are
# held against each other. Inputs are rounded first, so the JSON holds what was solved.
# Pixels are plain numbers, no half pixel added; table y up, picture y down.
# numpy==2.4.6 opencv-python-headless==5.0.0.93 scipy==1.17.1
# Run: pip install numpy==2.4.6 opencv-python-headless==5.0.0.93 scipy==1.17.1; python tests/reference/calibration.py
from fractions import Fraction

import cv2
import numpy as np
from scipy import linalg, optimize, stats

from common import write

rng = np.random.default_rng(20260802)

W, H = 1920, 1080
THROW = 1.05  # focal length of the true lens in picture widths
NOISE = 0.5   # px and, for the tape, mm
PROBES = np.array([[0, 0], [1200, 0], [1200, 800], [0, 800], [600, 400], [333.25, 147.5], [871.125, 640.75], [40, 420]])
TIGHT = {"xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-15, "max_nfev": 20000}
worst = {}


def note(what, value, limit):
    """Remember the worst of a check, and fail beyond the limit."""
    value = float(np.max(value))
    worst[what] = max(worst.get(what, 0.0), value)
    assert value < limit, (what, value)


def grid(x):
    """Multiples of 1/256: whole in single precision too, which OpenCV uses, and within 12 digits."""
    return np.round(np.asarray(x, float) * 256) / 256


# --- the true projector --------------------------------------------------------------


def marks_of(kind):
    if kind == "random":
        return grid(rng.uniform([0, 0], [1200, 800], (20, 2)))
    nx, ny = kind
    places = np.array([(60 + 1080 * i / (nx - 1), 50 + 700 * j / (ny - 1)) for j in range(ny) for i in range(nx)])
    return grid(places + rng.uniform(-15, 15, places.shape))


def projector(marks, tilt, shift, roll, k1):
    """px of the marks, by a pinhole whose picture's centre lights (600, 400), as near as holds all marks.

    tilt: of the axis about the table's x, degrees. shift: how far the axis is from the picture's centre, in
    picture heights."""
    f, cy = THROW * W, H / 2 + shift * H
    a, b = np.deg2rad(tilt), np.deg2rad(roll)
    down = np.array([[1, 0, 0], [0, -1, 0], [0, 0, -1.0]])  # x right, picture y towards the front, z down
    about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    about_z = np.array([[np.cos(b), np.sin(b), 0], [-np.sin(b), np.cos(b), 0], [0, 0, 1]])
    r = about_z @ about_x @ down
    k = np.array([[f, 0, W / 2], [0, f, cy], [0, 0, 1.0]])
    ray = r.T @ np.linalg.solve(k, [W / 2, H / 2, 1.0])
    assert ray[2] < 0
    for height in range(1200, 4000, 20):
        lens = np.array([600.0, 400, 0]) - ray * height / -ray[2]
        px, _ = cv2.projectPoints(
            np.c_[marks, np.zeros(len(marks))][:, None], cv2.Rodrigues(r)[0], -r @ lens, k, np.array([k1, 0, 0, 0, 0.0])
        )
        px = px[:, 0]
        if ((px > 15) & (px < (W - 15, H - 15))).all():
            assert lens[2] > 0
            return px, height
    raise AssertionError("no height holds the marks")


# --- the fitted model -----------------------------------------------------------------
# Unknowns: the eight of H (h33 = 1), then none, (k1, p1, p2) or (k1, p1, p2, k2).


def predict(u, table):
    """Works for complex numbers too, so that slopes are exact."""
    x, y = table[:, 0], table[:, 1]
    w = u[6] * x + u[7] * y + 1
    px, py = (u[0] * x + u[1] * y + u[2]) / w, (u[3] * x + u[4] * y + u[5]) / w
    if len(u) == 8:
        return np.stack([px, py], 1)
    k1, p1, p2 = u[8:11]
    k2 = u[11] if len(u) == 12 else 0
    x, y = (px - W / 2) / W, (py - H / 2) / W
    r2 = x * x + y * y
    m = 1 + k1 * r2 + k2 * r2 * r2
    xd = x * m + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
    yd = y * m + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
    return np.stack([W * xd + W / 2, W * yd + H / 2], 1)


def slopes(fun, u):
    """Jacobian by complex steps: no cancellation, good to the last digits."""
    out = []
    for i in range(len(u)):
        v = np.array(u, complex)
        v[i] += 1e-40j
        out.append(np.asarray(fun(v)).imag.ravel() / 1e-40)
    return np.stack(out, 1)


def by_unknowns(u, table):
    return slopes(lambda v: predict(v, table), u)


def by_table(u, table):
    """Block diagonal, 2 x 2 per mark: px by table."""
    d = [predict(np.array(u, complex), table + step).imag / 1e-40 for step in (np.array([1e-40j, 0]), np.array([0, 1e-40j]))]
    return linalg.block_diag(*np.stack(d, 2))


def descend(fun, jac, start, scale):
    """MINPACK, then Gauss-Newton steps until they no longer shrink."""
    u = optimize.least_squares(fun, start, jac=jac, method="lm", x_scale=scale, **TIGHT).x
    last = np.inf
    for _ in range(60):
        j = jac(u)
        norms = np.linalg.norm(j, axis=0)
        step = np.linalg.lstsq(j / norms, -fun(u))[0] / norms
        size = np.linalg.norm(step * norms)
        if size >= last:
            break
        u, last = u + step, size
    assert last < 1e-9, last
    return u


NORMAL_TABLE = np.array([[1 / 500, 0, -1.2], [0, 1 / 500, -0.8], [0, 0, 1]])
NORMAL_PX = np.array([[1 / 800, 0, -W / 1600], [0, 1 / 800, -H / 1600], [0, 0, 1]])


def square(u):
    return np.array([*u[:8], 1]).reshape(3, 3)


def from_normal(v):
    """Unknowns of normalised coordinates to those of mm and px. The lens's are the same."""
    h = linalg.inv(NORMAL_PX) @ np.array([*v[:8], 1]).reshape(3, 3) @ NORMAL_TABLE
    return np.concatenate([(h / h[2, 2]).ravel()[:8], v[8:]])


def to_normal(u):
    h = NORMAL_PX @ square(u) @ linalg.inv(NORMAL_TABLE)
    return np.concatenate([(h / h[2, 2]).ravel()[:8], u[8:]])


def straight(table, px):
    """Linear least squares of the cross-multiplied equations in normalised coordinates: a start."""
    t = (np.c_[table, np.ones(len(table))] @ NORMAL_TABLE.T)[:, :2]
    q = (np.c_[px, np.ones(len(px))] @ NORMAL_PX.T)[:, :2]
    one, nil = np.ones(len(t)), np.zeros((len(t), 3))
    a = np.r_[np.c_[t, one, nil, -q[:, :1] * t], np.c_[nil, t, one, -q[:, 1:] * t]]
    return from_normal(np.linalg.lstsq(a, q.T.ravel())[0])


def solve(table, px, lens, white=None):
    """The unknowns of least squared distance in px. white: rows by which the residuals are multiplied."""
    white = np.eye(px.size) if white is None else white
    first = straight(table, px)

    def fun(u):
        return white @ (predict(u, table) - px).ravel()

    def jac(u):
        return white @ by_unknowns(u, table)

    # mm and px, scaled by the slopes; three starts
    found = []
    for at in ([0, 0, 0, 0], [-0.15, 0.02, -0.01, 0.1], [0.1, -0.02, 0.02, -0.05])[: 3 if lens else 1]:
        start = np.concatenate([first, at[:lens]])
        found.append(descend(fun, jac, start, 1 / np.linalg.norm(jac(start), axis=0)))
    # normalised coordinates, from a start that is some 20 px wrong
    off = to_normal(np.concatenate([first, [0.05, 0.01, -0.01, 0.02][:lens]]))
    off[:8] += rng.uniform(-0.02, 0.02, 8)

    def jac_normal(v):
        return white @ slopes(lambda w: predict(from_normal(w), table), v)

    found.append(from_normal(descend(lambda v: fun(from_normal(v)), jac_normal, off, np.ones(8 + lens))))
    everywhere = np.r_[table, PROBES]
    for other in found[1:]:
        note("two solutions of one fit, px", np.abs(predict(other, everywhere) - predict(found[0], everywhere)), 1e-8)
    # what 12 digits lose
    rounded = np.array([float(f"{v:.12g}") for v in found[0]])
    note("12 digits of the unknowns, px", np.abs(predict(rounded, everywhere) - predict(found[0], everywhere)), 1e-7)
    return found[0]


def rms(px, got):
    return np.sqrt(((got - px) ** 2).sum(1).mean())


def fitted(u, table, px):
    """The unknowns by name. OpenCV must distort as the fitted model does."""
    ideal = predict(u[:8], table)
    d = np.array([u[8], u[11] if len(u) == 12 else 0, u[9], u[10], 0])
    k = np.array([[W, 0, W / 2], [0, W, H / 2], [0, 0, 1.0]])
    rays = np.c_[(ideal - (W / 2, H / 2)) / W, np.ones(len(ideal))]
    seen, _ = cv2.projectPoints(rays[:, None], np.zeros(3), np.zeros(3), k, d)
    note("OpenCV's distortion against the model's, px", np.abs(seen[:, 0] - predict(u, table)), 1e-9)
    out = {"h": square(u), "k1": u[8], "p1": u[9], "p2": u[10]}
    if len(u) == 12:
        out["k2"] = u[11]
    return out | {"rms": rms(px, predict(u, table)), "probe_px": predict(u, PROBES)}


# --- linear -----------------------------------------------------------------------------

linear = []
for name, kind, tilt, shift, roll in [
    ("5 x 4, no tilt", (5, 4), 0, 0, 0),
    ("5 x 4, tilt 10", (5, 4), 10, 0, 1.3),
    ("5 x 4, tilt 25, half a picture of shift", (5, 4), 25, 0.5, -0.7),
    ("3 x 3, tilt -12, turned by 180", (3, 3), -12, 0, 180),
    ("20 random, tilt 15", "random", 15, 0, -2.0),
    ("20 random, tilt -20, half a picture of shift", "random", -20, 0.5, 0.4),
]:
    table = marks_of(kind)
    px, height = projector(table, tilt, shift, roll, 0)
    px = grid(px + rng.normal(size=px.shape) * NOISE)
    h, _ = cv2.findHomography(table, px, method=0)
    h = h / h[2, 2]
    u = solve(table, px, 0)
    cv = predict(h.ravel()[:8], table)
    note("OpenCV's homography against SciPy's, px", np.abs(predict(h.ravel()[:8], PROBES) - predict(u, PROBES)), 1e-4)
    assert rms(px, cv) > rms(px, predict(u, table)) - 1e-12
    linear.append({
        "name": name, "table": table, "px": px, "h": h, "rms_px": rms(px, cv),
        "h_scipy": square(u), "rms_scipy": rms(px, predict(u, table)), "probes": PROBES, "probe_px": predict(u, PROBES),
    })
    print(f"{name}: height {height}, rms {rms(px, predict(u, table)):.3f}, OpenCV more by {rms(px, cv) - rms(px, predict(u, table)):.1e}")

# --- lens -------------------------------------------------------------------------------

lens_cases = []
for name, kind, tilt, shift, roll, k2 in [
    ("5 x 4, no tilt, no shift", (5, 4), 0, 0, 0.6, True),
    ("5 x 4, tilt 15, no shift", (5, 4), 15, 0, -1.1, False),
    ("5 x 4, no tilt, half a picture of shift", (5, 4), 0, 0.5, 0.3, True),
    ("5 x 4, tilt 15, half a picture of shift", (5, 4), 15, 0.5, 1.7, False),
    ("20 random, tilt 15, half a picture of shift", "random", 15, 0.5, 181, False),
    ("3 x 3, no tilt, half a picture of shift", (3, 3), 0, 0.5, 0, False),
]:
    table = marks_of(kind)
    px, height = projector(table, tilt, shift, roll, -0.06)
    px = grid(px + rng.normal(size=px.shape) * NOISE)
    u = solve(table, px, 3)
    case = {"name": name, "table": table, "px": px} | fitted(u, table, px) | {"probes": PROBES}
    case["with_k2"] = fitted(solve(table, px, 4), table, px) if k2 else None
    lens_cases.append(case)
    plain = rms(px, predict(solve(table, px, 0), table))
    print(f"lens, {name}: height {height}, rms {case['rms']:.3f}, without lens {plain:.3f}, k1 {u[8]:.4f} p1 {u[9]:.4f} p2 {u[10]:.4f}")

# --- weighted ---------------------------------------------------------------------------


def mark_covariance(table):
    """About 0.25 mm² each, near marks and the two axes correlated, no two marks alike."""
    apart = np.linalg.norm(table[:, None] - table[None], axis=2)
    near = np.exp(-((apart / 400) ** 2) / 2)
    full = 0.25 * (0.4 * np.eye(2 * len(table)) + 0.6 * np.kron(near, [[1, 0.3], [0.3, 1]]))
    each = rng.uniform(0.75, 1.35, len(full))
    full = np.round(full * np.outer(each, each), 6)
    assert (full == full.T).all() and np.linalg.cond(full) < 200
    return full


def solve_weighted(table, px, lens, cov_marks):
    """Reweight and solve until the parameters settle; the weights are fixed within a round."""
    u = solve(table, px, lens)
    for rounds in range(1, 40):
        j = by_table(u, table)
        cov = NOISE**2 * np.eye(px.size) + j @ cov_marks @ j.T
        white = linalg.solve_triangular(linalg.cholesky(cov, lower=True), np.eye(px.size), lower=True)
        new = solve(table, px, lens, white)
        moved = np.abs(predict(new, PROBES) - predict(u, PROBES)).max()
        u = new
        if moved < 1e-10:
            break
    note("last round of reweighting, px", moved, 1e-9)
    # the unknowns settle where the gradient, by the weights at that very place, is nought
    j = by_table(u, table)
    weight = linalg.inv(NOISE**2 * np.eye(px.size) + j @ cov_marks @ j.T)
    a = by_unknowns(u, table)
    at = by_unknowns(u, PROBES)
    norms = np.linalg.norm(a, axis=0)
    inner = linalg.inv((a / norms).T @ weight @ (a / norms)) / np.outer(norms, norms)
    step = inner @ a.T @ weight @ (px - predict(u, table)).ravel()
    note("gradient left after reweighting, px", np.abs(at @ step), 1e-8)
    # the same covariance by QR of the whitened slopes
    low = linalg.cholesky(linalg.inv(weight), lower=True)
    r = np.linalg.qr(linalg.solve_triangular(low, a / norms, lower=True))[1]
    half = linalg.solve_triangular(r.T, (at / norms).T, lower=True)
    full = at @ inner @ at.T
    note("covariance of the probes by two ways, relative", np.abs(half.T @ half - full).max() / full.max(), 1e-8)
    cov = np.array([full[2 * i : 2 * i + 2, 2 * i : 2 * i + 2] for i in range(len(PROBES))])
    left = (px - predict(u, table)).ravel()
    return u, cov, left @ weight @ left, rounds


weighted = []
for name, kind, tilt, shift, roll, lens in [
    ("4 x 3, no lens, tilt 10", (4, 3), 10, 0, 0.9, 0),
    ("5 x 4, tilt 15", (5, 4), 15, 0, -0.8, 3),
    ("20 random, half a picture of shift", "random", 0, 0.5, 1.2, 3),
]:
    true = marks_of(kind)
    px, height = projector(true, tilt, shift, roll, -0.06 if lens else 0)
    px = grid(px + rng.normal(size=px.shape) * NOISE)
    cov_marks = mark_covariance(true)
    table = grid(true + (linalg.cholesky(cov_marks, lower=True) @ rng.normal(size=true.size)).reshape(-1, 2))
    u, cov, chi2, rounds = solve_weighted(table, px, lens, cov_marks)
    full = np.concatenate([u, np.zeros(11 - len(u))])
    weighted.append({
        "name": name, "lens": bool(lens), "table": table, "px": px, "sigma_marks": cov_marks, "sigma_px": NOISE,
        "h": square(u), "k1": full[8], "p1": full[9], "p2": full[10],
        "chi2": chi2, "freedom": px.size - len(u),
        "probes": PROBES, "probe_px": predict(u, PROBES), "probe_cov_px": cov,
    })
    apart = np.abs(predict(u, PROBES) - predict(solve(table, px, lens), PROBES)).max()
    print(f"weighted, {name}: {rounds} rounds, chi2 {chi2:.1f} of {px.size - len(u)}, weights move a probe by {apart:.3f} px")

# --- network ----------------------------------------------------------------------------

DELTA0 = stats.norm.ppf(1 - 0.0005) + stats.norm.ppf(0.8)


def lengths(marks, pairs):
    d = marks[pairs[:, 1]] - marks[pairs[:, 0]]
    return np.sqrt((d * d).sum(1))


def to_datum(marks):
    """Mark 0 at the origin, mark 1 on +x."""
    d = marks - marks[0]
    a = np.arctan2(d[1, 1], d[1, 0])
    return d @ np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])


def unpack(u):
    return np.concatenate([[0, 0, u[0], 0], u[1:]]).reshape(-1, 2)


def turned(marks):
    """Twice the area of the triangle of marks 0, 1, 2: its sign is the orientation."""
    return np.linalg.det(marks[1:3] - marks[0])


CORNERS = [[40, 30], [1160, 45], [1150, 770], [55, 760]]
network = []
for name, more, missing in [
    ("4 corners, all pairs", [], []),
    ("4 corners and one inside, all pairs", [[560, 410]], []),
    ("4 corners and one inside, one pair missing", [[640, 350]], [(1, 3)]),
    ("6 marks, all pairs", [[610, 20], [590, 780]], []),
    ("6 marks, two pairs missing", [[380, 420], [820, 390]], [(0, 2), (1, 4)]),
]:
    true = np.array(CORNERS + more, float) + rng.uniform(-25, 25, (4 + len(more), 2))
    n = len(true)
    pairs = np.array([(i, j) for i in range(n) for j in range(i + 1, n) if (i, j) not in missing])
    read = np.round(lengths(true, pairs) + rng.normal(size=len(pairs)) * NOISE, 2)
    truth = to_datum(true)

    def fun(u):
        return lengths(unpack(u), pairs) - read

    found = []
    for start in (truth, to_datum(true + rng.normal(size=true.shape) * 15)):
        flat = start.ravel()[[2, *range(4, 2 * n)]]
        found.append(unpack(descend(fun, lambda u: slopes(fun, u), flat, np.ones(len(flat)))))
    marks = found[0]
    if turned(marks) * turned(truth) < 0:
        marks = marks * (1, -1)
    note("two solutions of one network, mm", np.abs(found[1] - marks), 1e-9)
    assert turned(marks) > 0 and np.abs(marks - truth).max() < 3

    j = slopes(lambda v: lengths(v.reshape(-1, 2), pairs), marks.ravel())
    normal = j.T @ j
    values = np.linalg.eigvalsh(normal)
    assert values[2] < 1e-12 and values[3] > 1e-2, values
    cov = np.linalg.pinv(normal, rcond=1e-9, hermitian=True) * NOISE**2
    # the same by the inner constraints written out: no shift in x or y, no turn
    g = np.stack([np.tile([1.0, 0], n), np.tile([0, 1.0], n), np.stack([-marks[:, 1], marks[:, 0]], 1).ravel() / 500], 1)
    bordered = np.linalg.inv(np.block([[normal, g], [g.T, np.zeros((3, 3))]]))[: 2 * n, : 2 * n] * NOISE**2
    note("free covariance by two ways, mm²", np.abs(bordered - cov), 1e-11)
    part = 1 - np.diag(j @ np.linalg.pinv(j, rcond=1e-9))
    note("redundancy's sum", abs(part.sum() - (len(pairs) - (2 * n - 3))), 1e-11)
    left = read - lengths(marks, pairs)
    network.append({
        "name": name, "readings": [[int(a), int(b), float(r)] for (a, b), r in zip(pairs, read)], "sigma": NOISE,
        "marks": marks, "residuals": left, "rms": np.sqrt((left**2).mean()), "cov_free": cov,
        "redundancy": part, "mds": DELTA0 * NOISE / np.sqrt(part),
    })
    print(f"network, {name}: rms {np.sqrt((left ** 2).mean()):.3f}, redundancy {part.min():.3f} to {part.max():.3f}")

# --- height -----------------------------------------------------------------------------

heights = []
for i in range(20):
    foot = [Fraction(int(v), 4) for v in (rng.integers(-1200, 6000), rng.integers(-1200, 6000))]
    high, thick = Fraction(int(rng.integers(3200, 10000)), 4), Fraction(int(rng.integers(1, 320)), 8)
    place = [Fraction(int(v), 4) for v in (rng.integers(0, 4801), rng.integers(0, 3201))]
    if i == 0:
        thick = Fraction(0)
    if i == 1:
        place = foot
    aim = [p + (p - c) * thick / (high - thick) for p, c in zip(place, foot)]
    # the ray from the lens to the aim passes over the place at the cloth's height
    assert all(c + (a - c) * (high - thick) / high == p for a, p, c in zip(aim, place, foot))
    away = np.hypot(*[float(p - c) for p, c in zip(place, foot)])
    heights.append({
        "foot": [float(v) for v in foot], "h": float(high), "t": float(thick), "place": [float(v) for v in place],
        "aim": [float(v) for v in aim], "short": away * float(thick) / float(high),
    })

write("calibration.json", {
    "about": "lengths in mm, picture 1920 x 1080 px, table y up, picture y down, no half pixel added; h is 3 x 3 by rows with h33 = 1; rms is the root of the mean over the points of the squared distance",
    "linear_about": "h, rms_px: cv2.findHomography(method=0); h_scipy, rms_scipy, probe_px: SciPy, least squared distance in px",
    "linear": linear,
    "lens_about": [
        "least squared distance in px over h, k1, p1, p2 (with_k2: and k2; null where not made)",
        "(u, v) = H (table), x = (u - 960) / 1920, y = (v - 540) / 1920, r2 = x x + y y, m = 1 + k1 r2 + k2 r2 r2",
        "x' = x m + 2 p1 x y + p2 (r2 + 2 x x), y' = y m + p1 (r2 + 2 y y) + 2 p2 x y, px = (1920 x' + 960, 1920 y' + 540)",
        "the readings: focal 2016 px, k1 = -0.06 about the true axis, noise of 0.5 px",
    ],
    "lens": lens_cases,
    "weighted_about": "weights inv(sigma_px² I + J sigma_marks J'), J: px by table at the marks, at the last round's solution, until settled; sigma_marks: mm², order x1, y1, x2, y2; lens false: h only; chi2: weighted squares left; probe_cov_px: 2 x 2 per probe",
    "weighted": weighted,
    "delta0": DELTA0,
    "network_about": "readings: mark, mark (from 0), mm; mark 0 at the origin, mark 1 on +x, mark 2 at y > 0; residuals: reading less computed; rms: root of their mean square; cov_free: inner constraints, mm², order x1, y1, x2, y2; mds: delta0 sigma / sqrt(redundancy)",
    "network": network,
    "height_about": "a place on cloth of thickness t under a lens h above foot: aim at p + (p - foot) t / (h - t); without, the light falls short by d t / h on the cloth, d = |p - foot|",
    "height": heights,
    "critical_about": "degrees of freedom, the chi-square that one in a thousand exceeds",
    "critical": [[k, stats.chi2.ppf(0.999, k)] for k in (1, 2, 3, 4)],
    "chances_about": "chi-square, degrees of freedom, the chance of more",
    "chances": [[c, k, stats.chi2.sf(c, k)] for k in (1, 2, 4, 29) for c in (0.1, 1.0, 6.0, 20.0, 75.0)],
})
for what, value in worst.items():
    print(f"  {what}: {value:.1e}")
