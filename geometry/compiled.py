"""The one way kernels are compiled and cached.

Numba's own cache looks only at the file a kernel stands in, not at the files of the kernels it calls.  So the
cache folder is named after a hash of all kernel sources: any edit starts an empty cache, and stale machine
code is impossible."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])

_ROOT = Path(__file__).resolve().parent.parent
KERNEL_FILES = tuple(
    sorted(
        [
            Path(__file__).resolve(),
            _ROOT / "geometry" / "motion.py",
            _ROOT / "fem" / "arrays.py",
            *(_ROOT / "fem").glob("*_kernel.py"),
        ]
    )
)


def _sources_hash() -> str:
    digest = hashlib.sha256(numba.__version__.encode())
    for file in KERNEL_FILES:
        digest.update(file.read_bytes())
    return digest.hexdigest()[:16]


def _cache_home() -> Path:
    """The user's cache folder, or the temporary folder where the user's cannot be written."""
    wanted = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "wireslot"
    try:
        wanted.mkdir(parents=True, exist_ok=True)
    except OSError:
        wanted = Path(tempfile.gettempdir()) / "wireslot"
        wanted.mkdir(parents=True, exist_ok=True)
    return wanted if os.access(wanted, os.W_OK) else Path(tempfile.mkdtemp(prefix="wireslot-"))


CACHE = _cache_home() / f"kernels-{_sources_hash()}"
CACHE.mkdir(parents=True, exist_ok=True)
setattr(numba.config, "CACHE_DIR", str(CACHE))  # noqa: B010  (numba declares its options at run time)


def needs_compiling() -> bool:
    """True until the kernels have been compiled once on this machine (about a minute)."""
    return not any(CACHE.rglob("*.nbc"))


def kernel(function: F) -> F:
    """Compile ``function`` at its first call:

    cached, without the interpreter lock, IEEE arithmetic, no exceptions.
    """
    return cast(F, numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=False)(function))


def fusing_kernel(function: F) -> F:
    """As `kernel`, but a product and what it is added to may be rounded once, in one instruction."""
    return cast(F, numba.njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})(function))


def adding_kernel(function: F) -> F:
    """As `kernel`, for long sums: their terms may be added in another order, several at once.

    That is all that is allowed: numbers that are not finite, signs and everything else stay those of IEEE arithmetic.
    """
    return cast(
        F, numba.njit(cache=True, nogil=True, error_model="numpy", fastmath={"reassoc", "contract"})(function)
    )
