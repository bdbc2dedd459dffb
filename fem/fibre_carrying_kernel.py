"""Values along a wire interpolated from places to others, column by column, and what fibres remember; compiled.

Cubic from place to place, with the slopes of Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300 (from memory),
which make no new maxima."""

from __future__ import annotations

import numpy as np

from fem.fibre_elements_kernel import GAUSS
from geometry.compiled import kernel

LEAST_SHARE = 1e-12
"""Of martensite: less is none."""


@kernel
def _set_end_slopes(here, values, end, first, second, slopes):
    """Slopes at an ``end`` of a part from the rates across its first two gaps, those of the parabola through three
    places; none where it would turn back."""
    one, two = here[first + 1] - here[first], here[second + 1] - here[second]
    for c in range(values.shape[1]):
        rate = (values[first + 1, c] - values[first, c]) / one
        other = (values[second + 1, c] - values[second, c]) / two
        slope = rate + (rate - other) * one / (one + two)
        slopes[end, c] = slope if slope * rate > 0.0 else 0.0


@kernel
def interpolate(here, values, begins, ends, there, at, out):
    """out (k, c) from ``values`` (r, c) at increasing places ``here`` (r,): at places ``there`` (k,), each from the gap
    behind place ``at`` (k,), drawn on in a straight line beyond it.

    ``begins`` and ``ends`` (p,): first and last place of parts between corners, two at least, on each of which slopes
    know nothing of the others."""
    rows, columns = values.shape
    slopes = np.zeros((rows, columns))
    for r in range(1, rows - 1):
        before, after = here[r] - here[r - 1], here[r + 1] - here[r]
        one, two = 2.0 * after + before, after + 2.0 * before
        for c in range(columns):
            left = (values[r, c] - values[r - 1, c]) / before
            right = (values[r + 1, c] - values[r, c]) / after
            if left * right > 0.0:
                slopes[r, c] = (one + two) * left * right / (one * right + two * left)
    for p in range(begins.size):
        begin, end = begins[p], ends[p]
        _set_end_slopes(here, values, begin, begin, min(begin + 1, end - 1), slopes)
        _set_end_slopes(here, values, end, end - 1, max(end - 2, begin), slopes)
    for k in range(there.size):
        r = at[k]
        gap = here[r + 1] - here[r]
        t = (there[k] - here[r]) / gap
        beyond = t - min(max(t, 0.0), 1.0)
        t -= beyond
        rest = 1.0 - t
        first, last = rest * rest * (1.0 + 2.0 * t), t * t * (1.0 + 2.0 * rest)
        first_slope, last_slope = gap * t * rest * rest, -gap * t * t * rest
        if beyond < 0.0:
            first_slope += gap * beyond
        else:
            last_slope += gap * beyond
        for c in range(columns):
            between = first * values[r, c] + last * values[r + 1, c]
            out[k, c] = between + first_slope * slopes[r, c] + last_slope * slopes[r + 1, c]


@kernel
def section_places(nodes):
    """(2 m,) mm: arc lengths at which the sections of m elements between ``nodes`` (m + 1,) are asked."""
    out = np.empty(2 * (nodes.size - 1))
    for element in range(nodes.size - 1):
        middle, off = (
            0.5 * (nodes[element] + nodes[element + 1]),
            GAUSS * (nodes[element + 1] - nodes[element]),
        )
        out[2 * element], out[2 * element + 1] = middle - off, middle + off
    return out


@kernel
def along_wire(old, new, still, values, out):
    """out (2 k, c) at the places of k elements between nodes ``new`` from ``values`` (2 m, c) at those of elements
    between nodes ``old``.

    At ``still`` arc lengths, where something holds or loads the wire, moments have corners: there each side is drawn on
    by itself."""
    here, there = section_places(old), section_places(new)
    part, new_part = np.searchsorted(still, here), np.searchsorted(still, there)
    parts = part[-1] - part[0] + 1
    begins, ends = np.zeros(parts, np.int64), np.zeros(parts, np.int64)
    for r in range(here.size):
        of = part[r] - part[0]
        ends[of] = r
        if r == 0 or part[r - 1] < part[r]:
            begins[of] = r
    at = np.searchsorted(here, there) - 1
    for k in range(there.size):
        of = new_part[k] - part[0]
        at[k] = min(max(at[k], begins[of]), ends[of] - 1)
    interpolate(here, values, begins, ends, there, at, out)


@kernel
def carry(transforms, old, new, still, memory, out):
    """out (2 k, c, 6, n) from the ``memory`` (2 m, c, 6, n) of sections, as `along_wire` has them.

    Where fibres are those of a wire that ``transforms``, what they were strained and driven by counts as much as there
    is martensite."""
    values = np.empty(memory.shape)
    for r in range(memory.shape[0]):
        for part in range(memory.shape[1]):
            was, now = memory[r, part], values[r, part]
            for i in range(6):
                weighs = 1.0 if transforms and i != 3 and i != 5 else 0.0
                for n in range(was.shape[1]):
                    now[i, n] = was[i, n] * (weighs * was[3, n] + (1.0 - weighs))
    sections = memory.shape[0]
    along_wire(old, new, still, values.reshape(sections, -1), out.reshape(out.shape[0], -1))
    for k in range(out.shape[0]):
        for part in range(out.shape[1]):
            now = out[k, part]
            for n in range(now.shape[1]):
                share = now[3, n]
                if transforms:
                    some = share > LEAST_SHARE
                    per_share = 1.0 / share if some else 0.0
                    for i in range(3):
                        now[i, n] *= per_share
                    now[4, n] *= per_share
                    now[3, n] = min(share, 1.0) if some else 0.0
                else:
                    now[3, n] = max(share, 0.0)
                now[5, n] = max(now[5, n], 0.0)
