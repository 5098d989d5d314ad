# A polygon grown by a disc, shared by offset.py and table_truth.py. Not run by itself.
#
# GEOS may thin its input before buffering, by up to a hundredth of the distance, and
# Shapely does not expose that setting. To need no trust in it, the growth is built edge
# by edge: each edge of the region, as a two-point line, is buffered by Shapely with round
# ends, and all of these and the region are united. Only the arcs are approximate.
# (Measured: one call of buffer() on the whole agrees to 1e-3 mm on hollow curves and in
# area to the errors of the arcs; the scripts print or store both.)
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
