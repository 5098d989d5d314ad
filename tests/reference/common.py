# Helpers shared by the reference scripts: writing JSON and small geometry.
# Standard library only. Not run by itself.
import json
import math
from pathlib import Path

HERE = Path(__file__).resolve().parent
WIDTH = 118  # columns of a wrapped list of numbers


def num(x, digits=12):
    """A number as JSON text, floats rounded to `digits` significant digits."""
    if isinstance(x, bool):
        return "true" if x else "false"
    if isinstance(x, int):
        return str(x)
    x = float(x)
    if not math.isfinite(x):
        raise ValueError("JSON holds no NaN or infinity; write a string")
    x = float(f"{x:.{digits}g}")
    if x == int(x) and abs(x) < 1e15:
        return f"{int(x)}"
    return repr(x)


def is_num(v):
    return hasattr(v, "__float__") and not isinstance(v, str)


def flat(v):
    if v is None:
        return "null"
    if isinstance(v, str):
        return json.dumps(v, ensure_ascii=False)
    if isinstance(v, dict):
        return "{" + ", ".join(f"{json.dumps(str(k))}: {flat(x)}" for k, x in v.items()) + "}"
    if isinstance(v, (list, tuple)):
        return "[" + ", ".join(flat(x) for x in v) + "]"
    if hasattr(v, "tolist") and getattr(v, "ndim", 0) > 0:
        return flat(v.tolist())
    if hasattr(v, "item"):
        v = v.item()
    return num(v)


def text(v, ind=0):
    """Compact but readable: short things on one line, long number lists wrapped."""
    if hasattr(v, "tolist") and getattr(v, "ndim", 0) > 0:
        v = v.tolist()
    one = flat(v)
    pad = " " * (ind + 1)
    if len(one) + ind <= WIDTH or not isinstance(v, (dict, list, tuple)):
        return one
    if isinstance(v, dict):
        return "{\n" + ",\n".join(f"{pad}{json.dumps(str(k))}: {text(x, ind + 1)}" for k, x in v.items()) + "\n" + " " * ind + "}"
    if len(v) <= 64 and all(isinstance(x, (int, float)) for x in v):
        return one
    parts = [flat(x) for x in v]
    if max(map(len, parts)) > 60:
        return "[\n" + ",\n".join(pad + text(x, ind + 1) for x in v) + "\n" + " " * ind + "]"
    lines, line = [], pad
    for k, p in enumerate(parts):
        p += "," if k + 1 < len(parts) else ""
        if len(line) + len(p) > WIDTH and line.strip():
            lines.append(line.rstrip())
            line = pad
        line += p + " "
    lines.append(line.rstrip())
    return "[\n" + "\n".join(lines) + "\n" + " " * ind + "]"


def write(name, data):
    path = HERE / name
    path.write_text(text(data) + "\n", encoding="utf-8")
    json.loads(path.read_text(encoding="utf-8"))
    size = path.stat().st_size
    assert size < 1_500_000, (name, size)
    print(f"{name}: {size} bytes")


def polys(geom):
    """The polygons of a Shapely geometry, lines and points dropped, largest first."""
    if geom.is_empty:
        return []
    if geom.geom_type == "Polygon":
        return [geom]
    return sorted((p for g in getattr(geom, "geoms", []) for p in polys(g)), key=lambda p: -p.area)


def ring(coords, places, ccw):
    """A ring without its repeated last point, rounded, turning the stated way."""
    pts = [(round(float(x), places), round(float(y), places)) for x, y in coords]
    if pts[0] == pts[-1]:
        pts.pop()
    pts = [p for i, p in enumerate(pts) if p != pts[i - 1]]
    area = sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(pts, pts[1:] + pts[:1]))
    return pts if (area > 0) == ccw else pts[::-1]


def poly_json(geom, places=6):
    return [
        {"outer": ring(p.exterior.coords, places, True), "holes": [ring(h.coords, places, False) for h in p.interiors]}
        for p in polys(geom)
    ]
