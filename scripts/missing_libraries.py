"""Prints the system packages that Gmsh and off-screen drawing still need, one per line.

Standard library only: it runs before anything is installed.
"""

from __future__ import annotations

import ctypes
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent


def present(library: str) -> bool:
    """Whether the shared library loads; "driver" asks whether anything draws without a display."""
    if library == "driver":
        probe = [sys.executable, "-I", "-S", str(HERE.parent / "cases" / "show" / "renderer.py")]
        return subprocess.run(probe, capture_output=True, check=False).returncode == 0
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def main() -> None:
    """Look for every library of the list beside this file."""
    for line in (HERE / "system-packages.txt").read_text(encoding="utf-8").splitlines():
        if line.strip() and not line.startswith("#"):
            library, package = line.split()
            if not present(library):
                print(package)


if __name__ == "__main__":
    if sys.platform.startswith("linux"):
        main()
