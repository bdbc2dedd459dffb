"""Which off-screen renderer this machine has; run as a program, it prints the answer.

Drawing without a working OpenGL ends the whole process without a word, so the question is put to a small
process of its own before anything is drawn.  The module uses nothing but the standard library:
``scripts/setup`` asks it as well, before any package is installed.
"""

from __future__ import annotations

import ctypes
import subprocess
import sys
from pathlib import Path

# EGL 1.5 extension EGL_MESA_platform_surfaceless: a display that belongs to no window system.
_SURFACELESS_PLATFORM = 0x31DD
_PROBE_SECONDS = 20.0


def egl_starts() -> bool:
    """Whether EGL finds a driver that draws without a display.  Loads the driver into this very process."""
    try:
        egl = ctypes.CDLL("libEGL.so.1")
    except OSError:
        return False
    egl.eglGetProcAddress.restype = ctypes.c_void_p
    egl.eglGetProcAddress.argtypes = [ctypes.c_char_p]
    address = egl.eglGetProcAddress(b"eglGetPlatformDisplayEXT")
    if not address:
        return False
    prototype = ctypes.CFUNCTYPE(ctypes.c_void_p, ctypes.c_uint, ctypes.c_void_p, ctypes.c_void_p)
    display = prototype(address)(_SURFACELESS_PLATFORM, None, None)
    egl.eglInitialize.argtypes = [ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p]
    return bool(display and egl.eglInitialize(display, None, None))


def osmesa_loads() -> bool:
    """Whether Mesa's pure software renderer, the fallback of older systems, is installed."""
    for name in ("libOSMesa.so.8", "libOSMesa.so.6", "libOSMesa.so"):
        try:
            ctypes.CDLL(name)
        except OSError:
            continue
        return True
    return False


def window_class() -> str | None:
    """VTK's name for the window that draws without a display here; None where nothing can.

    Outside Linux the answer is the empty string: VTK's own choice draws off screen there.
    """
    if not sys.platform.startswith("linux"):
        return ""
    found = subprocess.run(
        [sys.executable, "-I", "-S", str(Path(__file__).resolve())],
        capture_output=True,
        text=True,
        timeout=_PROBE_SECONDS,
        check=False,
    )
    return found.stdout.strip() or None


def main() -> int:
    """Print the window class, nothing where there is none; the exit code says the same (0 or 1)."""
    name = "vtkEGLRenderWindow" if egl_starts() else "vtkOSOpenGLRenderWindow" if osmesa_loads() else ""
    print(name)
    return 0 if name else 1


if __name__ == "__main__":
    sys.exit(main())
