# sRGB transfer function of IEC 61966-2-1: linear light to 8-bit code and back.
# numpy==2.4.6
# Run: pip install numpy==2.4.6; python tests/reference/srgb.py
import numpy as np

from common import write


def encode(x):
    return np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.power(x, 1 / 2.4) - 0.055)


def decode(v):
    return np.where(v <= 0.04045, v / 12.92, np.power((v + 0.055) / 1.055, 2.4))


def code(x):
    return np.floor(255 * encode(x) + 0.5).astype(int)


lin = np.arange(1001) / 1000
codes = code(lin)
dec = decode(np.arange(256) / 255)
edge = np.abs(255 * encode(lin) % 1 - 0.5)

assert code(np.array([0.5]))[0] == 188 and codes[0] == 0 and codes[1000] == 255
assert np.all(code(dec) == np.arange(256)) and np.all(np.diff(codes) >= 0)
# the two branches meet
assert abs(12.92 * 0.0031308 - (1.055 * 0.0031308 ** (1 / 2.4) - 0.055)) < 1e-7

write(
    "srgb.json",
    {
        "about": "codes[i] = floor(255 * encode(i / 1000) + 0.5); decode[c] = linear light of code c",
        "encode": "v = 12.92 x if x <= 0.0031308, else 1.055 x^(1/2.4) - 0.055",
        "decode_rule": "x = v / 12.92 if v <= 0.04045, else ((v + 0.055) / 1.055)^2.4, v = c / 255",
        "code_of_half": 188,
        "value_of_half_times_255": 255 * float(encode(np.array(0.5))),
        "least_distance_of_a_sample_from_a_rounding_edge": float(edge.min()),
        "codes": codes,
        "decode": dec,
    },
)
