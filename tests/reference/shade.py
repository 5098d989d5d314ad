# Colour: the transfer curve, the matrix, Bradford, CIELAB, CIEDE2000, and a small cloth of random light.
# numpy==2.4.6 scipy==1.17.1 scikit-image==0.26.0 colour-science==0.4.7
# Run: pip install numpy==2.4.6 scipy==1.17.1 scikit-image==0.26.0; pip install --no-deps colour-science==0.4.7; python tests/reference/shade.py
import warnings

import numpy as np
from scipy.ndimage import correlate1d
from scipy.optimize import least_squares
from skimage.color import deltaE_ciede2000, lab2xyz, rgb2lab, rgb2xyz, xyz2lab

warnings.filterwarnings("ignore")
import colour  # noqa: E402  (it warns of plotting packages that are not there)

from common import write

# Sharma, Wu & Dalal, "The CIEDE2000 color-difference formula: implementation notes, supplementary test data, and
# mathematical observations", Color Res. Appl. 30(1), 2005, Table 1: L* a* b* of both, and the difference.
SHARMA = """
50.0000 2.6772 -79.7751 50.0000 0.0000 -82.7485 2.0425
50.0000 3.1571 -77.2803 50.0000 0.0000 -82.7485 2.8615
50.0000 2.8361 -74.0200 50.0000 0.0000 -82.7485 3.4412
50.0000 -1.3802 -84.2814 50.0000 0.0000 -82.7485 1.0000
50.0000 -1.1848 -84.8006 50.0000 0.0000 -82.7485 1.0000
50.0000 -0.9009 -85.5211 50.0000 0.0000 -82.7485 1.0000
50.0000 0.0000 0.0000 50.0000 -1.0000 2.0000 2.3669
50.0000 -1.0000 2.0000 50.0000 0.0000 0.0000 2.3669
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0009 7.1792
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0010 7.1792
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0011 7.2195
50.0000 2.4900 -0.0010 50.0000 -2.4900 0.0012 7.2195
50.0000 -0.0010 2.4900 50.0000 0.0009 -2.4900 4.8045
50.0000 -0.0010 2.4900 50.0000 0.0010 -2.4900 4.8045
50.0000 -0.0010 2.4900 50.0000 0.0011 -2.4900 4.7461
50.0000 2.5000 0.0000 50.0000 0.0000 -2.5000 4.3065
50.0000 2.5000 0.0000 73.0000 25.0000 -18.0000 27.1492
50.0000 2.5000 0.0000 61.0000 -5.0000 29.0000 22.8977
50.0000 2.5000 0.0000 56.0000 -27.0000 -3.0000 31.9030
50.0000 2.5000 0.0000 58.0000 24.0000 15.0000 19.4535
50.0000 2.5000 0.0000 50.0000 3.1736 0.5854 1.0000
50.0000 2.5000 0.0000 50.0000 3.2972 0.0000 1.0000
50.0000 2.5000 0.0000 50.0000 1.8634 0.5757 1.0000
50.0000 2.5000 0.0000 50.0000 3.2592 0.3350 1.0000
60.2574 -34.0099 36.2677 60.4626 -34.1751 39.4387 1.2644
63.0109 -31.0961 -5.8663 62.8187 -29.7946 -4.0864 1.2630
61.2901 3.7196 -5.3901 61.4292 2.2480 -4.9620 1.8731
35.0831 -44.1164 3.7933 35.0232 -40.0716 1.5901 1.8645
22.7233 20.0904 -46.6940 23.0331 14.9730 -42.5619 2.0373
36.4612 47.8580 18.3852 36.2715 50.5065 21.2231 1.4146
90.8027 -2.0831 1.4410 91.1528 -1.6435 0.0447 1.4441
90.9257 -0.5406 -0.9208 88.6381 -0.8985 -0.7239 1.5381
6.7747 -0.2908 -2.4247 5.8714 -0.0985 -2.2286 0.6377
2.0776 0.0795 -1.1350 0.9033 -0.0636 -0.5514 0.9082
"""
sharma = np.array([[float(v) for v in row.split()] for row in SHARMA.split("\n") if row])
assert sharma.shape == (34, 7)
for name, of in [
    ("scikit-image", deltaE_ciede2000),
    ("colour-science", colour.difference.delta_E_CIE2000),
]:
    off = np.abs(of(sharma[:, :3], sharma[:, 3:6]) - sharma[:, 6]).max()
    print(f"34 pairs, {name}: {off:.6f} off at most")
    assert off < 1e-4, (name, off)

# IEC 61966-2-1: primaries of ITU-R BT.709 and the chromaticity of D65, to a matrix.
primaries = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
d65 = np.array([0.3127, 0.3290])


def xyz_of(xy):
    return np.array([xy[0] / xy[1], 1.0, (1 - xy[0] - xy[1]) / xy[1]])


white = xyz_of(d65)
columns = np.array([xyz_of(p) for p in primaries]).T
matrix = columns * np.linalg.solve(columns, white)
assert np.allclose(matrix, colour.models.normalised_primary_matrix(primaries, d65), atol=1e-14)
# IEC 61966-2-1 prints four decimals.
assert np.abs(matrix - [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]).max() < 6e-5

rng = np.random.default_rng(2005)
rgb = np.vstack([np.eye(3), [[1, 1, 1], [0.5, 0.5, 0.5], [0, 0, 0], [0.01, 0.02, 0.03]], rng.random((40, 3))])
xyz = rgb2xyz(rgb)
# scikit-image's own white of D65, with which it makes Lab.
sk_white = np.array([0.95047, 1.0, 1.08883])
lab = xyz2lab(xyz, illuminant="D65", observer="2")
assert np.allclose(lab2xyz(lab), xyz, atol=1e-12)
ours = (np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)) @ matrix.T
print("matrix by primaries against scikit-image's:", np.abs(ours - xyz).max())

pairs = rng.uniform([0, -60, -60], [100, 60, 60], (60, 3))
near = pairs + rng.normal(0, 3, pairs.shape)
near[:, 0] = near[:, 0].clip(0, 100)

whites = np.array([[0.964212, 1.0, 0.825188], [1.09850, 1.0, 0.35585], [0.87, 0.91, 0.70]])
# Bradford; the matrix is that of its rows and columns in their usual order: XYZ' = M XYZ.
bradford = [
    colour.adaptation.matrix_chromatic_adaptation_VonKries(w, white, transform="Bradford") for w in whites
]

# --- A cloth of random light, both halves of a pair, by numbers that need no file ------------------------------------
COLUMNS, ROWS, SAMPLE, CELL = 160, 120, 0.5, 2.0


def codes(seed, count):
    out, x = np.empty(count, int), seed
    for k in range(count):
        x = (1664525 * x + 1013904223) % 2**32
        out[k] = x >> 24
    return out


def cloth(seed):
    """Linear light: a fade along x and y, a random part, row 0 the lowest."""
    noise = codes(seed, COLUMNS * ROWS * 3).reshape(ROWS, COLUMNS, 3) / 255
    x = (np.arange(COLUMNS) + 0.5) * SAMPLE
    y = (np.arange(ROWS) + 0.5) * SAMPLE
    fade = 0.2 + 0.004 * x[None, :, None] + 0.001 * y[:, None, None]
    tint = np.array([1.0, 0.9, 0.7])
    return (fade * tint + 0.3 * noise).astype(np.float32).astype(float)


LIGHT = np.array([1.1, 1.0, 0.8])  # what white cloth would give there
lit = matrix @ LIGHT
adapt = colour.adaptation.matrix_chromatic_adaptation_VonKries(lit / lit[1], white, transform="Bradford") / lit[1]
k = round(CELL / SAMPLE)


def cells(light):
    xyz = light @ matrix.T @ adapt.T
    return xyz.reshape(ROWS // k, k, COLUMNS // k, k, 3).mean(axis=(1, 3))


def to_lab(xyz):
    return colour.XYZ_to_Lab(xyz, illuminant=d65)


one, two = cells(cloth(1)), cells(cloth(2))
mean_one, mean_two = (to_lab(c.reshape(-1, 3).mean(axis=0)) for c in (one, two))
light_one = to_lab(one)[..., 0]

# Low-passed to 20 mm: twice a box of 10 cells each way, the second about the corners where four cells meet.
about_middle = np.array([0.5] + [1.0] * 9 + [0.5]) / 10
about_corner = np.ones(10) / 10


def low(cells):
    out = cells
    for axis in (0, 1):
        out = correlate1d(out, about_middle, axis=axis, mode="constant", cval=np.nan)
        # origin 0 of an even kernel: output k is about the edge between cells k - 1 and k
        out = correlate1d(out, about_corner, axis=axis, mode="constant", cval=np.nan)
    return out[1::2, 1::2]


soft_one, soft_two = to_lab(low(one)), to_lab(low(two))
known = np.isfinite(soft_one[..., 0])
rows, columns_ = np.nonzero(known)
apart = deltaE_ciede2000(soft_one[known], soft_two[known])
places = np.stack([(columns_ * 2 + 1) * CELL, (rows * 2 + 1) * CELL], axis=1)
A = np.column_stack([np.ones(len(places)), places / 100])
lightness = soft_one[known][:, 0]
plane = np.linalg.lstsq(A, lightness, rcond=None)[0]
# Huber's estimate of it, its bend at 1.345 of the scale that the median of what is left gives.
for _ in range(100):
    bend = 1.345 * 1.482602218505602 * np.median(np.abs(A @ plane - lightness))
    plane = least_squares(
        lambda p: A @ p - lightness, plane, loss="huber", f_scale=bend, xtol=1e-14, ftol=1e-14, gtol=1e-14
    ).x

write(
    "shade.json",
    {
        "about": "see shade.py; XYZ and Lab are for the 2 degree observer of 1931 and D65",
        "sharma": sharma,
        "matrix": matrix,
        "d65": white,
        "samples": [
            {"srgb": s, "xyz": x, "lab": v} for s, x, v in zip(rgb, xyz, lab)
        ],
        "samples_white": sk_white,
        "ciede2000": [
            {"one": a, "two": b, "delta": d} for a, b, d in zip(pairs, near, deltaE_ciede2000(pairs, near))
        ],
        "bradford_to_d65": [{"white": w, "matrix": m} for w, m in zip(whites, bradford)],
        "cloth": {
            "light": "fade * (1, 0.9, 0.7) + 0.3 * n / 255, fade = 0.2 + 0.004 x + 0.001 y mm, rounded to f32; "
            "n from x -> 1664525 x + 1013904223 mod 2^32, its top 8 bits, row by row from below, red green blue",
            "columns": COLUMNS,
            "rows": ROWS,
            "sample_mm": SAMPLE,
            "cell_mm": CELL,
            "white": LIGHT,
            "mean": [mean_one, mean_two],
            "mean_apart": float(deltaE_ciede2000(mean_one, mean_two)),
            "lightness_sd": float(light_one.std()),
            "lightness_5_95": np.percentile(light_one, [5, 95]),
            "smooth_places_mm": places,
            "smooth_lab": soft_one[known],
            "smooth_apart": apart,
            "smooth_apart_95": float(np.percentile(apart, 95)),
            "plane_per_100_mm": plane[1:],
        },
    },
)
