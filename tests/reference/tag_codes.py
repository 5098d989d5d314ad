# The 587 codes of AprilTag 36h11 as OpenCV draws them, written as src/photo/tags/codes.rs.
# opencv-python-headless==5.0.0.93 (Apache-2.0); the family is AprilTag's (APRIL Robotics Laboratory, BSD-2-Clause).
#
# A code's bits are the 6 x 6 cells within the black border, row by row from the upper left, the first the highest;
# 1 is white.
from pathlib import Path

import cv2

TARGET = Path(__file__).resolve().parents[2] / "src" / "photo" / "tags" / "codes.rs"


def codes():
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    assert family.markerSize == 6
    for k in range(family.bytesList.shape[0]):
        # One pixel a cell, the border one cell wide.
        drawn = cv2.aruco.generateImageMarker(family, k, 8, borderBits=1) // 255
        assert drawn[0].sum() + drawn[-1].sum() + drawn[:, 0].sum() + drawn[:, -1].sum() == 0
        yield int("".join(str(v) for v in drawn[1:7, 1:7].ravel()), 2)


def main():
    rows = [f"0x{c >> 20:04x}_{c & 0xfffff:05x}" for c in codes()]
    lines = ["    " + ", ".join(rows[k : k + 6]) + "," for k in range(0, len(rows), 6)]
    TARGET.write_text(
        "//! The codes of AprilTag 36h11 (APRIL Robotics Laboratory, University of Michigan, BSD-2-Clause),\n"
        "//! as OpenCV 5.0.0 draws its `DICT_APRILTAG_36h11` (Apache-2.0): made by\n"
        "//! `tests/reference/tag_codes.py`. 6 × 6 cells row by row from the upper left, the first the\n"
        "//! highest of 36 bits; 1 is white.\n\n"
        "#[rustfmt::skip]\n"
        f"pub(super) const CODES: [u64; {len(rows)}] = [\n" + "\n".join(lines) + "\n];\n",
        encoding="utf-8",
    )
    print(TARGET.name, len(rows))


if __name__ == "__main__":
    main()
