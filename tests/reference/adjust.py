# Rigid motions, stretch and tape surveys by other people's least squares:
#   skimage EuclideanTransform, SimilarityTransform (unweighted)
#   scipy   optimize.least_squares with numeric slopes (weighted), its J'J inverse
#           as covariance; linalg.lstsq, linalg.polar for an affine map's stretch;
#           stats.chi2 and stats.norm for chances
# numpy==2.4.6 scipy==1.17.1 scikit-image==0.26.0
# Run: pip install numpy==2.4.6 scipy==1.17.1 scikit-image==0.26.0; python tests/reference/adjust.py
import numpy as np
from scipy import linalg, optimize, stats
from skimage.transform import AffineTransform, EuclideanTransform, SimilarityTransform

from common import write

rng = np.random.default_rng(20260711)


def turned(p, t):
    c, s = np.cos(t), np.sin(t)
    return p @ np.array([[c, s], [-s, c]])


def rigid_case(n, stretch, spread_sigma):
    src = rng.uniform([0, 0], [1200, 800], (n, 2))
    turn, shift = rng.uniform(-3.1, 3.1), rng.uniform(-300, 300, 2)
    sigma = rng.uniform(0.3, 2.0, (n, 2)) if spread_sigma else np.full((n, 2), 0.5)
    noise = rng.normal(size=(n, 2)) * np.hypot(sigma[:, :1], sigma[:, 1:])
    dst = turned(src @ stretch, turn) + shift + noise
    return src, dst, sigma


def scipy_rigid(src, dst, sigma):
    w = 1 / np.hypot(sigma[:, 0], sigma[:, 1])
    mid = (src * w[:, None] ** 2).sum(0) / (w**2).sum()

    def res(u):
        return ((dst - turned(src - mid, u[0]) - u[1:]) * w[:, None]).ravel()

    start = EuclideanTransform.from_estimate(src, dst)
    fit = optimize.least_squares(
        res, [start.rotation, *start(mid[None])[0]], x_scale=[1e-3, 1, 1], xtol=1e-15, ftol=1e-15, gtol=1e-15, jac="3-point"
    )
    cov = np.linalg.inv(fit.jac.T @ fit.jac)
    return mid, fit, cov


def place_error(p, mid, turn, cov):
    # The place of p is R(turn)(p - mid) + u: its slope in (turn, ux, uy).
    arm = turned(np.asarray(p, float) - mid, turn)
    j = np.array([[-arm[1], 1, 0], [arm[0], 0, 1]])
    return np.sqrt(np.trace(j @ cov @ j.T))


PROBES = [[0, 0], [600, 400], [1200, 800], [2000, -300]]
fits = []
for n, spread in [(2, False), (3, False), (3, True), (4, False), (5, True), (9, False), (20, True)]:
    src, dst, sigma = rigid_case(n, np.eye(2), spread)
    mid, fit, cov = scipy_rigid(src, dst, sigma)
    turn = fit.x[0]
    case = {
        "from": src, "to": dst, "sigma": sigma,
        "turn": turn, "at_origin": fit.x[1:] - turned(mid, turn),
        "chi2": 2 * fit.cost, "chance": stats.chi2.sf(2 * fit.cost, 2 * n - 3),
        "centroid": mid, "sigma_turn": np.sqrt(cov[0, 0]), "sigma_shift": np.sqrt(cov[1, 1]),
        "place_errors": [place_error(p, mid, turn, cov) for p in PROBES],
    }
    if not spread:
        sk = EuclideanTransform.from_estimate(src, dst)
        case["skimage"] = {"turn": sk.rotation, "shift": sk.translation, "rms": np.sqrt((sk.residuals(src, dst) ** 2).mean())}
        assert abs(np.angle(np.exp(1j * (sk.rotation - turn)))) < 1e-7
    fits.append(case)


def scale_matrix(direction, along, across):
    d = np.array([np.cos(direction), np.sin(direction)])
    e = np.array([-d[1], d[0]])
    return np.eye(2) + along * np.outer(d, d) + across * np.outer(e, e)


SPREAD = [[50, 60], [1100, 40], [1050, 700], [80, 720], [500, 380], [760, 90]]
strains = []
for n, direction, along, across in [
    (3, 0.4, 0.006, 0.0), (3, 1.5, -0.008, 0.002), (4, 2.9, 0.005, -0.003), (5, 1.0, 0.01, 0.004), (6, 0.1, -0.012, -0.011),
]:
    src = np.array(SPREAD[:n], float)
    dst = turned(src @ scale_matrix(direction, along, across), 0.3) + rng.normal(size=(n, 2)) * 0.6
    euclid = EuclideanTransform.from_estimate(src, dst)
    # skimage's own affine estimate weighs algebraic errors: the same for three points only.
    affine = AffineTransform(np.vstack([linalg.lstsq(np.column_stack([src, np.ones(n)]), dst)[0].T, [0, 0, 1]]))
    if n == 3:
        assert np.allclose(affine.params, AffineTransform.from_estimate(src, dst).params, atol=1e-9)
    similar = SimilarityTransform.from_estimate(src, dst)
    chi2 = [(t.residuals(src, dst) ** 2).sum() / 0.5 for t in (euclid, affine)]
    _, u = linalg.polar(affine.params[:2, :2])
    values, vectors = np.linalg.eigh(u)
    k = int(np.argmax(np.abs(values - 1)))
    # What the test takes for granted: a stretch is called for, and explains the misfit.
    assert stats.chi2.sf(chi2[0] - chi2[1], 3) < 1e-3 and stats.chi2.sf(chi2[1], 2 * n - 6) > 0.03 or n == 3
    strains.append({
        "from": src, "to": dst,
        "along": values[k] - 1, "across": values[1 - k] - 1,
        "direction": np.arctan2(vectors[1, k], vectors[0, k]) % np.pi,
        "chi2_rigid": chi2[0], "chi2_affine": chi2[1], "similarity_scale": similar.scale,
        "chance": stats.chi2.sf(chi2[0] - chi2[1], 3),
    })

# Two marks: the similarity's scale is all that they can tell.
pairs = []
for by in [0.2, 1.0, 2.0, 4.0]:
    src = np.array([[100.0, 200.0], [900.0, 350.0]])
    d = src[1] - src[0]
    dst = turned(np.array([src[0], src[1] + d / np.hypot(*d) * by]), 0.5)
    pairs.append({
        "from": src, "to": dst, "scale": SimilarityTransform.from_estimate(src, dst).scale,
        # The distance's error: four pointings of 0.5 mm each along it.
        "chance": 2 * stats.norm.sf(by / (0.5 * np.sqrt(4))),
    })

ENDS = [(0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)]


def marks_any(u):
    return np.array([[0, 0], [u[0], 0], [u[1], u[2]], [u[3], u[4]]])


def marks_parallelogram(u):
    s = u[1] * np.array([np.cos(u[2]), np.sin(u[2])])
    return np.array([[0, 0], [u[0], 0], [u[0] + s[0], s[1]], s])


surveys = []
for k in range(8):
    w, h = rng.uniform(700, 1600), rng.uniform(500, 1000)
    if k < 4:
        true, names = marks_parallelogram([w, h, np.radians(90 + rng.uniform(-3, 3))]), [0, 3, 4, 5]
        marks, start, scale = marks_parallelogram, [w, h, np.pi / 2], [1, 1, 1e-3]
    else:
        q = rng.uniform(-25, 25, 4)
        true, names = np.array([[0, 0], [w, 0], [w + q[0], h + q[1]], [q[2], h + q[3]]]), [0, 1, 2, 3, 4, 5]
        marks, start, scale = marks_any, [w, w, h, 0, h], [1] * 5
    lengths = lambda m: np.array([np.hypot(*(m[b] - m[a])) for a, b in (ENDS[i] for i in names)])
    read = np.round(lengths(true) + rng.normal(size=len(names)) * 0.5, 1)
    if k in (3, 7):
        read[-1] += 10
    fit = optimize.least_squares(
        lambda u: (read - lengths(marks(u))) / 0.5, start, x_scale=scale, xtol=1e-15, ftol=1e-15, gtol=1e-15, jac="3-point"
    )
    full = [None] * 6
    for i, v in zip(names, read):
        full[i] = v
    # Errors of the marks' places by the slope of the marks in the unknowns.
    cov = np.linalg.inv(fit.jac.T @ fit.jac)
    step = np.array(scale) * 1e-3
    slope = np.array([(marks(fit.x + d) - marks(fit.x - d)) / (2 * s) for d, s in zip(np.diag(step), step)])
    errors = [np.sqrt(np.trace(slope[:, m].T @ cov @ slope[:, m])) for m in range(4)]
    surveys.append({
        "readings_mm": full, "marks_mm": marks(fit.x), "residuals_mm": fit.fun * 0.5,
        "closes": bool(stats.chi2.sf(2 * fit.cost, 1) >= 0.01), "error_mm": max(errors),
    })

write("adjust.json", {
    "about": "least squares by scikit-image and SciPy; lengths in mm, angles in radians, sigma per axis",
    "probes": PROBES,
    "rigid_about": "sigma: of from, of to; at_origin: where the origin goes; place_errors: root of expected squared distance at the probes",
    "rigid": fits,
    "strain_about": "sigma 0.5 on both sides; growth along and across the direction, by the polar decomposition of SciPy's least squares affine map",
    "strain": strains,
    "two_about": "two marks: skimage's similarity scale; chance of so great a change of distance by pointing",
    "two": pairs,
    "survey_about": "front, right, back, left, diagonal 1-3, diagonal 2-4; sigma 0.5 mm; null: not measured, then opposite edges are equal",
    "survey": surveys,
    "chances": [[c, n, stats.chi2.sf(c, n)] for n in (1, 2, 3, 7, 37) for c in (0.01, 0.5, 3.0, 11.0, 60.0, 400.0)],
})
