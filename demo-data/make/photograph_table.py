"""Photographs the demo's table: demo-data/table.jpg, and demo-data/table.json with what is known of it.

Run in a checkout: python3 demo-data/make/photograph_table.py
Needs numpy 2.4, opencv-python-headless 5.0, pillow 12, and rsvg-convert for the sheet of tags.

The table of job.toml is painted from the panels' straight-down pictures, with four marks, the sheet of tags
and white paper on it, lit by a lamp that falls off to one side, and looked at by a camera that is held by
hand: 12 degrees off the vertical, 1.7 px to the mm, with a camera's noise.
"""

import json
import subprocess
import tempfile
import tomllib
from pathlib import Path

import cv2
import numpy as np

HERE = Path(__file__).resolve().parent.parent
TABLE = (1200.0, 800.0)
FINE = 3.0                                      # px to the mm of the painted table
MARKS = [(25.0, 20.0), (1175.0, 20.0), (1175.0, 780.0), (25.0, 780.0)]
TAGS = (975.0, 40.0)                            # lower left corner of the sheet, mm
# A white sheet and three strips of one: left, bottom, right, top.
WHITE = [
    (1000.0, 420.0, 1150.0, 640.0),
    (60.0, 252.0, 560.0, 288.0),
    (60.0, 750.0, 300.0, 786.0),
    (872.0, 40.0, 962.0, 290.0),
]
SIZE = (2040, 1480)
SEED = 20260701


def linear(code):
    v = np.asarray(code, float) / 255.0
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def coded(light):
    v = np.clip(light, 0.0, 1.0)
    return 255.0 * np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055)


def at(x, y):
    """Table mm to px of the painted table."""
    return x * FINE, (TABLE[1] - y) * FINE


def wood(rng):
    h, w = int(TABLE[1] * FINE), int(TABLE[0] * FINE)
    grain = cv2.GaussianBlur(rng.normal(size=(h, w)), (0, 0), sigmaX=60, sigmaY=1.5)
    grain /= grain.std()
    base = linear((112, 94, 74))
    return (base[None, None, :] * (1 + 0.05 * grain[:, :, None])).astype(np.float32)


def lay(table, panel):
    """A panel's picture where it lies; its cloth covers the table."""
    photo = panel["photo"]
    picture = cv2.imread(str(HERE / photo["file"]), cv2.IMREAD_UNCHANGED)
    left, bottom, right, top = photo["box_mm"]
    h, w = picture.shape[:2]
    lies = panel["on_table"]
    turn = np.radians(lies.get("turn_deg", 0.0))
    c, s = np.cos(turn), np.sin(turn)
    # Picture px to cloth mm to table mm to px of the painted table.
    to_cloth = np.array([[(right - left) / w, 0, left], [0, -(top - bottom) / h, top], [0, 0, 1]])
    to_table = np.array([[c, -s, lies["x_mm"]], [s, c, lies["y_mm"]], [0, 0, 1]])
    to_px = np.array([[FINE, 0, 0], [0, -FINE, TABLE[1] * FINE], [0, 0, 1]])
    m = to_px @ to_table @ to_cloth
    # Pixel corners, not centres.
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    m = np.linalg.inv(half) @ m @ half
    light = linear(picture[:, :, 2::-1]).astype(np.float32)
    alpha = picture[:, :, 3].astype(np.float32) / 255.0
    size = (table.shape[1], table.shape[0])
    light = cv2.warpPerspective(light * alpha[:, :, None], m, size, flags=cv2.INTER_AREA)
    alpha = cv2.warpPerspective(alpha, m, size, flags=cv2.INTER_AREA)[:, :, None]
    return table * (1 - alpha) + light


def tags(table):
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "tags.png"
        scale = FINE * 25.4
        sheet = HERE.parent / "calibration/tags-a4.svg"
        subprocess.run(
            ["rsvg-convert", "-d", str(scale), "-p", str(scale), "-b", "white", "-o", str(file), str(sheet)],
            check=True,
        )
        picture = cv2.imread(str(file))
    h, w = int(297 * FINE), int(210 * FINE)
    picture = cv2.resize(picture, (w, h), interpolation=cv2.INTER_AREA)
    x, y = at(TAGS[0], TAGS[1] + 297)
    x, y = round(x), round(y)
    # Paper is no mirror: 0.86 of the light comes back, 0.03 from the print.
    table[y:y + h, x:x + w] = 0.03 + 0.83 * linear(picture[:, :, ::-1])


def main():
    rng = np.random.default_rng(SEED)
    job = tomllib.loads((HERE / "job.toml").read_text())
    table = wood(rng)
    for panel in job["panel"]:
        table = lay(table, panel)
    tags(table)
    for left, bottom, right, top in WHITE:
        (x0, y1), (x1, y0) = at(left, bottom), at(right, top)
        table[round(y0):round(y1), round(x0):round(x1)] = 0.86
    for x, y in MARKS:
        cx, cy = at(x, y)
        r = 18 * FINE
        table[round(cy - r):round(cy + r), round(cx - r):round(cx + r)] = 0.86
        t, a = 0.75 * FINE, 12 * FINE
        table[round(cy - t):round(cy + t), round(cx - a):round(cx + a)] = 0.03
        table[round(cy - a):round(cy + a), round(cx - t):round(cx + t)] = 0.03
    # The lamp hangs to the left: 5 % less light at the far right corner.
    h, w = table.shape[:2]
    fall = 1 - 0.05 * (np.linspace(0, 1, w)[None, :] * 0.8 + np.linspace(1, 0, h)[:, None] * 0.2)
    table *= fall[:, :, None] * np.array([1.0, 0.97, 0.92])
    # A camera without lens errors above the middle of the near edge, looking at the table's middle.
    focal = 2300.0
    k = np.array([[focal, 0, SIZE[0] / 2], [0, focal, SIZE[1] / 2], [0, 0, 1]])
    eye = np.array([590.0, 90.0, 1420.0])
    ahead = np.array([600.0, 395.0, 0.0]) - eye
    ahead /= np.linalg.norm(ahead)
    right_ = np.cross(ahead, [0.02, 1, 0])
    right_ /= np.linalg.norm(right_)
    down = np.cross(ahead, right_)
    turn = np.stack([right_, down, ahead])
    # Table (x, y, 0) to photo px.
    to_photo = k @ np.column_stack([turn[:, 0], turn[:, 1], -turn @ eye])
    from_px = np.array([[1 / FINE, 0, 0], [0, -1 / FINE, TABLE[1]], [0, 0, 1]])
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    m = np.linalg.inv(half) @ to_photo @ from_px @ half
    floor = linear((70, 66, 62)) * 0.6
    soft = cv2.GaussianBlur(table.astype(np.float32), (0, 0), 0.9)
    photo = cv2.warpPerspective(
        soft, m, SIZE, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=tuple(floor)
    )
    photo = 0.92 * photo
    photo += rng.normal(size=photo.shape) * (0.0006 + 0.004 * np.sqrt(np.clip(photo, 0, 1)))
    code = np.round(coded(photo)).astype(np.uint8)
    cv2.imwrite(str(HERE / "table.jpg"), code[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, 84])
    marks = []
    for x, y in MARKS:
        u = to_photo @ [x, y, 1.0]
        marks.append({"table_mm": [x, y], "px": [round(u[0] / u[2], 2), round(u[1] / u[2], 2)]})
    known = {
        "marks": marks,
        "tag_sheet_mm": [TAGS[0] + 34.5, TAGS[1] + 30.0],
        "white_mm": WHITE,
    }
    (HERE / "table.json").write_text(json.dumps(known, indent=1) + "\n")


main()
