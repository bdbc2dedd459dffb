"""What the public values of `geometry` and `fem` have to be.

Each function gives a value back as the plain thing it stands for (a float, an int, a read-only array) or raises one
ValueError that says what it is of, what it must be and what was given.  The bounds lie far beyond any rod, and near
enough that no power and no quotient of what they let through leaves the range of floating-point numbers.
"""

from __future__ import annotations

import math
import numbers as abstract
import reprlib
import textwrap
from collections.abc import Iterable
from typing import Any, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Thing = TypeVar("Thing")

SHORTEST = 1e-9
"""mm: what is shorter is the rounding of longer things."""
LONGEST = 1e9
"""mm: a thousand kilometres."""
LARGEST = 1e30
"""Of any other number."""
MOST = 1_000_000
"""Of anything that is counted."""
MOST_SHOWN = 12
"""Numbers of an array that a message gives."""
MOST_LETTERS = 120
"""Of any other value."""


def shown(value: object, unit: str = "") -> str:
    """A value as a message gives it, shortened where it is long: a number with its unit, else as Python writes it."""
    if isinstance(value, np.ndarray):
        if value.size > MOST_SHOWN:
            return f"an array of shape {value.shape}"
        text = " ".join(np.array2string(value, precision=6).split())
        return f"{text} {unit}".rstrip()
    if isinstance(value, abstract.Real) and not isinstance(value, bool):
        return f"{_float(value)!r} {unit}".rstrip()
    return textwrap.shorten(reprlib.repr(value), MOST_LETTERS, placeholder=" ...")


def _float(value: object) -> float:
    """The number; not a number where it is none."""
    if isinstance(value, bool) or not isinstance(value, abstract.Real):
        return math.nan
    try:
        return float(value)
    except OverflowError:
        return math.inf


def number(
    what: str,
    value: object,
    unit: str = "",
    least: float = -LARGEST,
    most: float = LARGEST,
    must: str = "a finite number",
) -> float:
    """A number from ``least`` to ``most``; ``must`` completes "must be"."""
    plain = value if type(value) is float else _float(value)
    if least <= plain <= most:
        return plain
    if math.isfinite(plain) and (abs(plain) > most > 0.0 or 0.0 < plain < least):
        must = f"{must}, from {least:.6g} to {most:.6g}{unit and ' '}{unit}"
    raise ValueError(f"{what} must be {must}: got {shown(value, unit)}")


def length(
    what: str, value: object, least: float = SHORTEST, must: str = "a finite length above zero"
) -> float:
    """A length above zero, mm."""
    return number(what, value, "mm", least, LONGEST, must)


def length_or_zero(what: str, value: object) -> float:
    """A length of zero or more, mm."""
    return number(what, value, "mm", 0.0, LONGEST, "a finite length, zero or more")


def angle(what: str, value: object) -> float:
    """An angle, rad."""
    return number(what, value, "rad", -LONGEST, LONGEST, "a finite angle")


def stiffness(what: str, value: object, unit: str) -> float:
    """A stiffness above zero; infinite where a thing does not give way."""
    if isinstance(value, float) and value == math.inf:
        return math.inf
    return number(what, value, unit, 1.0 / LONGEST, LARGEST, "above zero (infinite: it does not give way)")


def friction(what: str, value: object) -> float:
    """A coefficient of friction."""
    return number(what, value, "", 0.0, MOST, "a finite number, not below zero")


def count(what: str, value: object, least: int = 1, must: str = "") -> int:
    """A whole number from ``least`` to a million; ``must`` completes the sentence that begins with ``what``."""
    whole = isinstance(value, abstract.Integral) and not isinstance(value, bool)
    if whole and least <= int(value) <= MOST:  # type: ignore[call-overload]
        return int(value)  # type: ignore[call-overload, no-any-return]
    raise ValueError(f"{what} {must or f'must be a whole number from {least} to {MOST}'}: got {shown(value)}")


def flag(what: str, value: object) -> bool:
    """True or false, and nothing that only counts as such."""
    if isinstance(value, bool | np.bool_):
        return bool(value)
    raise ValueError(f"{what} must be True or False: got {shown(value)}")


def text(what: str, value: object) -> str:
    """A text."""
    if isinstance(value, str):
        return value
    raise ValueError(f"{what} must be a text: got {shown(value)}")


def all_of(kind: Any, given: Iterable[Thing], what: str, kinds: str) -> tuple[Thing, ...]:
    """All that is ``given``; each must be of ``kind`` (or one of several), which ``kinds`` names."""
    try:
        items = () if isinstance(given, str) else tuple(given)
    except TypeError:
        items = ()
    if not items and not isinstance(given, tuple | list):
        raise ValueError(f"{what} must be a row of {kinds}: got {shown(given)}")
    for item in items:
        if not isinstance(item, kind):
            raise ValueError(f"{what} must each be {kinds}: got {shown(item)}")
    return items


def one_of(kind: type, given: object, what: str) -> None:
    """Refuses what is not of this kind."""
    if not isinstance(given, kind):
        raise ValueError(f"{what} must be a {kind.__name__}: got {shown(given)}")


def floats(what: str, values: ArrayLike) -> Array:
    """Floats of any shape, finite or not; the array itself where it is one."""
    try:
        given = np.asarray(values)
    except (ValueError, TypeError):
        given = np.asarray(None)
    # texts, truth values and rows of unequal length would become numbers that nobody meant
    if given.dtype.kind not in "fiu":
        raise ValueError(f"{what} must be numbers, in rows of equal length: got {shown(values)}")
    if given.dtype == np.float64:
        return given
    with np.errstate(over="ignore"):  # of numbers of higher precision: infinite, and then refused
        return given.astype(np.float64)


def _has_shape(array: Array, shape: tuple[int | None, ...]) -> bool:
    return array.ndim == len(shape) and all(n in (None, m) for n, m in zip(shape, array.shape, strict=True))


def numbers(
    what: str, values: ArrayLike, shape: tuple[int | None, ...] | None, unit: str = "", most: float = LARGEST
) -> Array:
    """A contiguous, read-only float copy of finite numbers of that ``shape``; None: any, of a side or of the whole."""
    array = np.array(floats(what, values), dtype=np.float64, order="C")
    if shape is not None and not _has_shape(array, shape):
        wanted = ", ".join("any" if n is None else str(n) for n in shape) + ("," if len(shape) == 1 else "")
        raise ValueError(f"{what} must be of shape ({wanted}): got shape {array.shape}")
    if not np.abs(array).max(initial=0.0) <= most:
        beyond = "finite" if not np.isfinite(array).all() else f"within +-{most:.6g}{unit and ' '}{unit}"
        bad = array[~(np.abs(array) <= most)][0]
        raise ValueError(f"{what} must be {beyond}: got {shown(float(bad), unit)} among {shown(array)}")
    array.setflags(write=False)
    return array


def rows(what: str, values: ArrayLike, columns: int) -> Array:
    """Finite floats of shape (..., ``columns``)."""
    array = floats(what, values)
    if array.shape[-1:] != (columns,):
        raise ValueError(f"{what} must be rows of {columns}, shape (..., {columns}): got shape {array.shape}")
    if not np.isfinite(array).all():
        raise ValueError(f"{what} must be finite: got {shown(array)}")
    return array


def increasing(what: str, values: ArrayLike, least: int, unit: str = "mm") -> Array:
    """At least so many numbers (n,), each above the one before by more than rounding, mm."""
    array = numbers(what, values, (None,), unit, LONGEST)
    if array.size < least:
        raise ValueError(f"{what} must be at least {least} increasing {unit}: got {array.size}")
    steps = array[1:] - array[:-1]
    if steps.size and not steps.min() >= SHORTEST:
        k = int(steps.argmin())
        raise ValueError(
            f"{what} must increase, by {SHORTEST:g} {unit} at least: got {array[k]:.9g} {unit} and then "
            f"{array[k + 1]:.9g} {unit}; sort them and give each place once"
        )
    return array
