# An exact-as-we-can buffer, shared by offset.py and table_truth.py. Not run by itself.
#
# Shapely's own buffer() first drops corners of the drawing that dent it by less than
# one hundredth of the distance (GEOS's simplify factor, which Shapely does not expose).
# For w = 3 mm that is up to 0.03 mm on hollow curves, too much for a reference.
# So the band's outer edge is built edge by edge instead: each edge of the region, as a
# two-point line, is buffered by Shapely with round ends (nothing is there to drop), and
# all of these and the region are united. Only the arcs are approximate.
# shapely==2.2.0
import math

from shapely import buffer, linestrings, unary_union

from common import polys


def arc_error(w, quad_segs):
    """How far a chord of the buffer's arcs lies inside the true arc."""
    return w * (1 - math.cos(math.pi / (4 * quad_segs)))


def grow(region, w, quad_segs):
    edges = []
    for p in polys(region):
        for r in (p.exterior, *p.interiors):
            c = list(r.coords)
            edges += [[c[i], c[i + 1]] for i in range(len(c) - 1) if c[i] != c[i + 1]]
    caps = buffer(linestrings(edges), w, quad_segs=quad_segs)
    return unary_union([region, *caps])
