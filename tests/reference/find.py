"""Lines of a field, parts of a mask, depth, and the overlap of outlines, by libraries that we did not write.

The field is a formula (see `value`), so the Rust test makes the same one. scikit-image's find_contours for the
zero lines, SciPy's label and distance_transform_edt for parts and depth, Shapely for areas.

    python find.py > find.json
"""

import json
import sys

import numpy as np
import scipy
import shapely
import skimage
from scipy import ndimage
from shapely.geometry import Polygon
from skimage import measure

W, H = 70, 50


def value(c, r):
    return np.sin(c * 0.31 + 0.4) * np.cos(r * 0.23) + 0.3 * np.sin(0.11 * c * 1.0 + 0.17 * r) - 0.15


c, r = np.meshgrid(np.arange(W), np.arange(H))
field = value(c, r)
padded = np.full((H + 2, W + 2), -1.0)
padded[1:-1, 1:-1] = field
lines = []
for line in measure.find_contours(padded, 0.0):
    assert np.allclose(line[0], line[-1])
    ring = Polygon(np.column_stack([line[:, 1], line[:, 0]]))
    lines.append({"area": ring.area, "length": ring.exterior.length, "x": ring.centroid.x - 1, "y": ring.centroid.y - 1})
lines.sort(key=lambda v: v["area"])

mask = field > 0
number, count = ndimage.label(mask)
sizes = sorted(int(v) for v in np.bincount(number.ravel())[1:])
depth = ndimage.distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1]
filled = ndimage.binary_fill_holes(mask)

json.dump(
    {
        "versions": {"numpy": np.__version__, "scipy": scipy.__version__, "shapely": shapely.__version__, "skimage": skimage.__version__},
        "size": [W, H],
        "lines": lines,
        "parts": sizes,
        "deepest": float(depth.max()),
        "depth_sum": float(depth.sum()),
        "filled": int(filled.sum()),
    },
    sys.stdout,
    indent=1,
)
print()
