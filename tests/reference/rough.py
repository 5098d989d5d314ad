# Which pieces straight cuts part and which stay together, by Shapely and by looking in every direction.
# numpy==2.4.6 shapely==2.2.0
# Run: pip install numpy==2.4.6 shapely==2.2.0; python tests/reference/rough.py
import numpy as np
from shapely import Polygon, affinity

from common import ring, write

DIRECTIONS = 7200
rng = np.random.default_rng(31)
angles = np.pi * np.arange(DIRECTIONS) / DIRECTIONS
looks = np.c_[np.cos(angles), np.sin(angles)]

SHAPES = [
    [(-1, -1), (1, -1), (1, -0.4), (-0.4, -0.4), (-0.4, 1), (-1, 1)],
    [(-1, -1), (1, -1), (1, 1), (0.5, 1), (0.5, -0.4), (-0.5, -0.4), (-0.5, 1), (-1, 1)],
    [(-0.3, -1), (0.3, -1), (0.3, 0.4), (1, 0.4), (1, 1), (-1, 1), (-1, 0.4), (-0.3, 0.4)],
    [(-1, -1), (0, -0.4), (1, -1), (0, 1)],
    [(-1, -0.3), (1, -0.5), (0.9, 0.4), (-0.8, 0.5)],
]


def parts(kept, clear):
    """Cut in two wherever some direction shows a gap, until none does. In a convex sheet the outcome does not depend
    on the order: a line that parts some pieces parts any of them that lie on both its sides."""
    spans = np.array([[(p @ looks.T).min(0), (p @ looks.T).max(0)] for p in kept])
    todo, done = [list(range(len(kept)))], []
    while todo:
        part = todo.pop()
        lo, hi = spans[part, 0], spans[part, 1]
        order = np.argsort(lo, axis=0)
        lo, hi = np.take_along_axis(lo, order, 0), np.take_along_axis(hi, order, 0)
        gaps = lo[1:] - np.maximum.accumulate(hi, 0)[:-1]
        if gaps.size and gaps.max() >= 2 * clear:
            k, d = np.unravel_index(gaps.argmax(), gaps.shape)
            todo += [[part[i] for i in order[: k + 1, d]], [part[i] for i in order[k + 1 :, d]]]
        else:
            done.append(sorted(part))
    return sorted(done)


cases = []
while len(cases) < 24:
    n = 9
    a = 2 * np.pi * (np.arange(n) + rng.uniform(-0.3, 0.3, n)) / n
    sheet = Polygon(np.c_[500 + 480 * np.cos(a), 350 + 330 * np.sin(a)]).convex_hull
    clear, size = round(rng.uniform(2, 7), 3), rng.uniform(35, 70)
    laid = []
    for _ in range(300):
        p = affinity.scale(Polygon(SHAPES[rng.integers(len(SHAPES))]), *[size * rng.uniform(0.6, 1.5)] * 2, origin=(0, 0))
        p = affinity.translate(affinity.rotate(p, rng.uniform(0, 360), origin=(0, 0)), rng.uniform(0, 1000), rng.uniform(0, 700))
        p = Polygon(ring(p.exterior.coords, 4, True))
        if len(laid) < 22 and sheet.contains(p) and all(p.distance(q) > clear for q in laid):
            laid.append(p)
    kept = [np.array(p.exterior.coords)[:-1] for p in laid]
    # Only where the answer does not hang on a hair, nor on the directions looked in.
    answers = [parts(kept, clear * f) for f in (0.99, 1, 1.01)]
    if answers[0] == answers[1] == answers[2] and 1 < len(answers[1]) < len(kept):
        print(len(cases), len(kept), "pieces in", len(answers[1]), "parts")
        cases.append({"name": f"lay {len(cases)}", "clear": clear, "sheet": ring(sheet.exterior.coords, 4, True),
                      "kept": [ring(k, 4, True) for k in kept], "parts": answers[1]})

write("rough.json", {
    "about": "pieces laid on convex sheets, mm; parts: which stay together when straight cuts at least `clear` from every piece part all that they can",
    "cases": cases,
})
