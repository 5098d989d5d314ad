#!/usr/bin/env python3
"""Writes project_points.json: what cv2.projectPoints makes of several rigs.

    pip install opencv-python-headless==5.0.0.93 numpy==2.4.6
    python project_points.py

The rotation is written as the matrix that cv2.Rodrigues makes of the vector
that is used, so that the two sides share it to the last bits.
"""

import json
import pathlib

import cv2
import numpy as np

# size px, focal px, centre px, distortion k1 k2 p1 p2 k3,
# rotation vector, lens position mm
RIGS = [
    # Straight down, no distortion.
    ((1920, 1080), (1870, 1870), (960, 540), (0, 0, 0, 0, 0),
     (np.pi, 0, 0), (600, 400, 1500)),
    # Tilted, with lens shift to the picture's bottom edge.
    ((1920, 1080), (1820, 1815), (930, 1080), (0, 0, 0, 0, 0),
     (2.91, 0.04, -0.02), (620, 450, 1500)),
    # Lens shift beyond the picture, every coefficient.
    ((1280, 800), (1400.5, 1399.25), (610.75, 1100.5),
     (-0.06, 0.01, 0.002, -0.0015, 0.003),
     (2.95, -0.05, 0.06), (580, 300, 1620)),
    # Strong barrel, turned by a quarter.
    ((1920, 1200), (2000, 2010), (1000, 620),
     (-0.12, 0.03, -0.001, 0.0005, -0.004),
     (2.2, 2.2, 0.1), (700, 500, 1400)),
    # Pincushion, large picture.
    ((3840, 2160), (3700, 3700), (1900.5, 200.5),
     (0.08, -0.02, 0.0015, 0.001, 0.002),
     (-3.0, 0.1, 0.2), (560, 420, 1550)),
]


def reference(points, size, focal, centre, distortion, vector, position):
    vector = np.array(vector, dtype=np.float64)
    rotation = cv2.Rodrigues(vector)[0]
    translation = -rotation @ np.array(position, dtype=np.float64)
    camera = np.diag([*focal, 1.0])
    camera[:2, 2] = centre
    pixels, _ = cv2.projectPoints(
        points, vector, translation, camera, np.array(distortion, dtype=np.float64)
    )
    return {
        "size": size,
        "focal": focal,
        "centre": centre,
        "distortion": distortion,
        "rotation": rotation.tolist(),
        "translation": translation.tolist(),
        "pixels": pixels.reshape(-1, 2).tolist(),
    }


def main() -> None:
    points = np.array(
        [
            (x, y, z)
            for z in (0.0, 2.5, 40.0, -850.0)
            for x in (0.0, 333.25, 871.5, 1200.0)
            for y in (0.0, 412.125, 800.0)
        ]
    )
    rigs = ",\n".join(json.dumps(reference(points, *rig)) for rig in RIGS)
    out = pathlib.Path(__file__).with_name("project_points.json")
    # One rig a line: readable in a diff, short in a listing.
    out.write_text(f'{{"points":\n{json.dumps(points.tolist())},\n"rigs": [\n{rigs}\n]}}\n')


if __name__ == "__main__":
    main()
