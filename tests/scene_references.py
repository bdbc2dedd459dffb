"""Small pictures of every kind of scene, to compare with by eye's measure; run as a program, it draws them anew.

    python -m tests.scene_references

Look at the new ones before they are kept: each is the lightness of what a reader sees, at a quarter of its size.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from cases.results import RunResult
from cases.show.look import Look
from cases.show.scene import scene_image
from tests import scene_results, show_results

Array = NDArray[np.float64]

FOLDER = Path(__file__).resolve().parent / "scenes"
SIZE = (1200, 900)
SMALL = (300, 225)
KINDS: Mapping[str, tuple[Callable[[], RunResult], Look]] = {
    "oblique": (scene_results.v_bend, Look()),
    "whole": (scene_results.v_bend, Look(cut=None)),
    "facial": (scene_results.v_bend, Look("facial", "facial")),
    "occlusal": (scene_results.v_bend, Look("occlusal", "occlusal", teeth=True)),
    "mesiodistal": (scene_results.torque, Look("mesiodistal", "mesiodistal", "central bracket")),
    "near": (scene_results.v_bend, Look(attachment="canine bracket")),
    "teeth": (scene_results.v_bend, Look(teeth=True)),
    "arch": (scene_results.arch, Look(teeth=True)),
    "not-converged": (lambda: show_results.cantilever("too_many_iterations"), Look()),
}


def lightness(pixels: NDArray[np.uint8]) -> Array:
    """CIE 1976 L* (0 black, 100 white) of an sRGB picture (h, w, 3), averaged down to ``SMALL``.

    Source: CIE 15:2004 for L*, IEC 61966-2-1 for sRGB."""
    small = Image.fromarray(pixels[..., :3]).resize(SMALL, Image.Resampling.BOX)
    c = np.asarray(small, dtype=np.float64) / 255.0
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    y = linear @ [0.2126, 0.7152, 0.0722]
    return np.where(y > (6.0 / 29.0) ** 3, 116.0 * np.cbrt(y) - 16.0, y * (29.0 / 3.0) ** 3)


def reference(kind: str) -> Array:
    """The lightness (h, w) that was kept."""
    with Image.open(FOLDER / f"{kind}.png") as image:
        return np.asarray(image, dtype=np.float64) / 2.55


def drawn(kind: str) -> NDArray[np.uint8]:
    """The scene of a kind, (h, w, 3)."""
    result, look = KINDS[kind]
    return scene_image(result(), SIZE, look)


def main() -> None:
    """Draw every reference anew."""
    FOLDER.mkdir(exist_ok=True)
    for kind in KINDS:
        grey = np.round(2.55 * lightness(drawn(kind))).astype(np.uint8)
        Image.fromarray(grey).save(FOLDER / f"{kind}.png", optimize=True)


if __name__ == "__main__":
    main()
