"""How colours look to the colour-blind and in a grey print, and how far they are from each other.

Simulation: Machado, Oliveira & Fernandes, IEEE Trans. Visualization and Computer Graphics 15 (2009) 1291, severity 1,
on linear sRGB.  Difference: CIE 1976, the distance in L*a*b* (CIE 15:2004; white D65, equations from memory).
"""

from __future__ import annotations

import numpy as np
from matplotlib.colors import to_rgb
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

NORMAL, GREY = "normal", "grey"
BLIND: dict[str, Array] = {
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}
EYES = (NORMAL, *BLIND, GREY)
# IEC 61966-2-1: sRGB to CIE XYZ, white D65.
XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)


def linear(srgb: ArrayLike) -> Array:
    """Linear light of sRGB values (..., 3) from 0 to 1 (IEC 61966-2-1)."""
    values = np.asarray(srgb, dtype=np.float64)
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def coded(light: Array) -> Array:
    """sRGB values of linear light."""
    inside = np.clip(light, 0.0, 1.0)
    return np.where(inside <= 0.0031308, 12.92 * inside, 1.055 * inside ** (1.0 / 2.4) - 0.055)


def seen(srgb: ArrayLike, eye: str) -> Array:
    """sRGB values (..., 3) as an eye, or a grey print, shows them."""
    light = linear(srgb)
    if eye == GREY:
        light = np.repeat((light @ XYZ[1])[..., None], 3, axis=-1)
    elif eye != NORMAL:
        light = light @ BLIND[eye].T
    return coded(light)


def lab(srgb: ArrayLike) -> Array:
    """L*, a*, b* (..., 3)."""
    share = linear(srgb) @ XYZ.T / XYZ.sum(axis=1)
    root = np.where(share > (6.0 / 29.0) ** 3, np.cbrt(share), share / (3.0 * (6.0 / 29.0) ** 2) + 4.0 / 29.0)
    x, y, z = np.moveaxis(root, -1, 0)
    return np.stack((116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)), axis=-1)


def apart(one: str, other: str, eye: str) -> float:
    """Difference of two colours to an eye: about 2 is just seen side by side, 10 at a glance."""
    a, b = (lab(seen(to_rgb(colour), eye)) for colour in (one, other))
    return float(np.linalg.norm(a - b))


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21, by WCAG 2.2."""
    light, dark = sorted((float(linear(to_rgb(colour)) @ XYZ[1]) for colour in (one, other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)
