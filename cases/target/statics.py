"""Whether statics allows what is wanted: asked before any search, by linear programming, and told in words.

Whatever the wire, the forces on all attachments add up to nothing, and so do their moments about any point:

    sum f_k = 0,    sum m_k + (x_k - o) x f_k = 0

A button carries no couple, m = 0, and one that lets the wire slide bears no force along it; so does a sliding clamp; an
edge bears no couple about its own length and pushes one way only.  The wishes bound some of these forces and moments.
Where a point x_k is not known beforehand (the place of an attachment is searched for, its tooth gives way, the wire
slides through a button), each product c f of a coordinate c in [a, b] and a force has a value w of its own: a f <= w
<= b f for f >= 0 and reversed below, so both signs of f are tried; both signs of the force of a ratio likewise.  All
that is assumed holds for every wire, so what is refused here no search could find; what passes may still be out of its
reach.

Source: Newton's third law and the balance of a free body; linear programming as in any textbook.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.results import ORDERS
from cases.target.bodies import Body
from cases.target.wanted import AXES, OWN_AXIS, POINTS, Wanted

Array = NDArray[np.float64]

MOST_BRANCHES = 512
"""Signs that are tried; where there are more, moments are left out of the question."""
LEAST_FORCE = 1e-6
"""N: of a force that a moment is divided by."""
LARGEST = 1e4
"""N and N mm: no wire of this trade bears as much."""
MET = 1e-6
"""Of a tolerance: rounding."""


@dataclass(frozen=True, slots=True)
class Row:
    """low <= coefficients . (forces, moments, products) <= high."""

    coefficients: dict[int, float]
    low: float
    high: float
    wish: int | None = None
    """Number of the wish that it states; None: a law."""
    scale: float = 1.0
    """What a violation of 1 counts as: the tolerance."""


class _Problem:
    """Variables: for each body three forces and three moments, world axes; then products as they are needed."""

    def __init__(self, bodies: Sequence[Body], wanted: Sequence[Wanted], moments: bool) -> None:
        self.bodies, self.wanted = bodies, wanted
        self.size = 6 * len(bodies)
        self.laws: list[Row] = []
        self.balance: list[Row] = []
        self.products: list[tuple[int, int, float, float]] = []
        """Variable of the product, of its force, and the bounds of the coordinate."""
        for k, body in enumerate(bodies):
            self.laws += [Row(self._along(k, axis, kind), low, high) for kind, axis, low, high in body.laws]
        for a in range(3):
            self.balance.append(Row({6 * k + a: 1.0 for k in range(len(bodies))}, 0.0, 0.0))
        if moments:
            self.balance += [self._moments(a) for a in range(3)]
        self.wishes = [self._wish(number, one) for number, one in enumerate(wanted)]

    def _along(self, k: int, axis: Array, kind: str) -> dict[int, float]:
        first = 6 * k + (3 if kind == "moment" else 0)
        return {first + a: float(axis[a]) for a in range(3) if axis[a] != 0.0}

    def _moments(self, a: int) -> Row:
        """Of all bodies about the middle of the first."""
        origin = self.bodies[0].middle
        b, c = (a + 1) % 3, (a + 2) % 3
        terms: dict[int, float] = {}
        for k, body in enumerate(self.bodies):
            terms[6 * k + 3 + a] = 1.0
            for sign, place, force in ((1.0, b, c), (-1.0, c, b)):
                low, high = body.low[place] - origin[place], body.high[place] - origin[place]
                variable = 6 * k + force
                if high - low > 0.0:
                    self.products.append((self.size, variable, low, high))
                    variable, low, self.size = self.size, 1.0, self.size + 1
                terms[variable] = terms.get(variable, 0.0) + sign * low
        return Row(terms, 0.0, 0.0)

    def _wish(self, number: int, one: Wanted) -> Row | None:
        """A wish that is linear for itself; None for a ratio, and for what depends on unknown axes or points."""
        terms = self._load(one)
        if terms is None or (one.force and one.moment):
            return None
        return Row(terms, one.value - one.tolerance, one.value + one.tolerance, number, one.tolerance)

    def _load(self, one: Wanted) -> dict[int, float] | None:
        """The force, or the moment of a wish."""
        k = next(k for k, body in enumerate(self.bodies) if body.name == one.attachment)
        body = self.bodies[k]
        if one.moment is None:
            return {6 * k + AXES.index(one.force or "x"): 1.0}
        if one.moment in ORDERS:
            if not body.axes_known:
                return None
            axis = body.axes[:, OWN_AXIS[one.moment]]
        else:
            axis = np.eye(3)[AXES.index(one.moment)]
        terms = self._along(k, axis, "moment")
        if one.about != POINTS[0]:
            if not body.axes_known or body.centre is None or (body.high > body.low).any():
                return None
            # a . (d x f) = f . (a x d), with d from the centre of resistance to the attachment
            arm = np.cross(axis, -(body.axes @ body.centre))
            terms |= {6 * k + a: float(arm[a]) for a in range(3) if arm[a] != 0.0}
        return terms

    def branches(self) -> list[list[Row]]:
        """What each choice of signs adds."""
        sided = sorted({force for _, force, _, _ in self.products})
        ratios = [(number, one) for number, one in enumerate(self.wanted) if one.force and one.moment]
        out = []
        for signs in itertools.product((1.0, -1.0), repeat=len(sided) + len(ratios)):
            rows = [Row({force: sign}, 0.0, np.inf) for force, sign in zip(sided, signs, strict=False)]
            of = dict(zip(sided, signs, strict=False))
            for variable, force, low, high in self.products:
                # a f <= w <= b f for f >= 0
                sign = of[force]
                rows += [
                    Row({variable: sign, force: -sign * low}, 0.0, np.inf),
                    Row({variable: -sign, force: sign * high}, 0.0, np.inf),
                ]
            for (number, one), sign in zip(ratios, signs[len(sided) :], strict=True):
                rows += self._ratio(number, one, sign)
            out.append(rows)
        return out

    def _ratio(self, number: int, one: Wanted, sign: float) -> list[Row]:
        turning = self._load(one)
        k = next(k for k, body in enumerate(self.bodies) if body.name == one.attachment)
        force = 6 * k + AXES.index(one.force or "x")
        rows = [Row({force: sign}, LEAST_FORCE, np.inf)]
        if turning is None:
            return rows
        for way, edge in ((1.0, one.value - one.tolerance), (-1.0, one.value + one.tolerance)):
            terms = {variable: sign * way * share for variable, share in turning.items()}
            terms[force] = terms.get(force, 0.0) - sign * way * edge
            rows.append(Row(terms, 0.0, np.inf, number, one.tolerance))
        return rows

    def count(self) -> int:
        """How many branches there are."""
        ratios = sum(1 for one in self.wanted if one.force and one.moment)
        return int(2 ** (len({force for _, force, _, _ in self.products}) + ratios))

    def violation(self, balance: Sequence[Row]) -> tuple[float, Array]:
        """The least sum of wishes missed, in tolerances, under the laws and this ``balance``; and the solution."""
        best, solution = np.inf, np.zeros(self.size)
        fixed = [*self.laws, *balance, *(row for row in self.wishes if row is not None)]
        for rows in self.branches():
            missed, found = _least_missed([*fixed, *rows], 6 * len(self.bodies), self.size)
            if missed < best:
                best, solution = missed, found
            if best <= MET:
                break
        return best, solution


def _least_missed(rows: Sequence[Row], loads: int, size: int) -> tuple[float, Array]:
    """Linear programme in ``size`` variables, ``loads`` of them loads: wishes may be missed at a price, laws not."""
    from scipy.optimize import linprog

    matrix, bounds, count = [], [], size
    prices = [0.0] * size
    for row in rows:
        slack = None
        if row.wish is not None:
            slack, count = count, count + 1
            prices.append(1.0)
        for sign, edge in ((1.0, row.high), (-1.0, -row.low)):
            if np.isfinite(edge):
                line = {variable: sign * share for variable, share in row.coefficients.items()}
                if slack is not None:
                    line[slack] = -row.scale
                matrix.append(line)
                bounds.append(edge)
    whole = np.zeros((len(matrix), count))
    for number, terms in enumerate(matrix):
        for variable, share in terms.items():
            whole[number, variable] = share
    limits = [(-LARGEST, LARGEST)] * loads + [(None, None)] * (size - loads) + [(0.0, None)] * (count - size)
    found = linprog(prices, whole, bounds, bounds=limits, method="highs")
    return (float(found.fun), np.asarray(found.x[:size])) if found.status == 0 else (np.inf, np.zeros(size))


def impossible(bodies: Sequence[Body], wanted: Sequence[Wanted]) -> list[str]:
    """Why no wire can give what is wanted, in sentences; none where statics allows it."""
    said = [sentence for one in wanted for sentence in _of_one(bodies, one)]
    if said:
        return said
    problem = _Problem(bodies, wanted, moments=True)
    if problem.count() > MOST_BRANCHES:
        problem = _Problem(bodies, wanted, moments=False)
        if problem.count() > MOST_BRANCHES:
            return []
    missed, solution = problem.violation(problem.balance)
    if missed <= MET:
        return []
    return [_which(problem), *_nearest(problem, solution)]


def left_out(bodies: Sequence[Body], wanted: Sequence[Wanted]) -> str:
    """What `impossible` does not ask, in a sentence; nothing where it asks everything."""
    if _Problem(bodies, wanted, moments=True).count() <= MOST_BRANCHES:
        return ""
    asked = _Problem(bodies, wanted, moments=False).count() <= MOST_BRANCHES
    what = "the balance of moments was" if asked else "balances were"
    return f"So many places are searched for that {what} not asked of statics beforehand."


def _of_one(bodies: Sequence[Body], one: Wanted) -> list[str]:
    """What a wish asks of an attachment that cannot bear it."""
    body = next(body for body in bodies if body.name == one.attachment)
    zero = abs(one.value) <= one.tolerance
    if zero or one.about != POINTS[0]:
        return []
    if one.moment is not None and body.no_couple and (not body.edge or one.moment == "second"):
        return [f"{body.no_couple}: no {one.name.replace(f' on {body.name}', '')} can be had there "
                f"({one.asked} is wanted)"]  # fmt: skip
    if one.moment == "third" and body.free_roll:
        return [f"{body.free_roll}: no third-order couple can be had on {body.name} ({one.asked} is wanted)"]
    if one.moment is None and body.slides is not None and body.axes_known:
        along = np.eye(3)[AXES.index(one.force or "x")]
        if abs(abs(float(along @ body.axes[:, 0])) - 1.0) < 1e-9:
            return [f"{body.slides}: no {one.name.replace(f' on {body.name}', '')} can be had there "
                    f"({one.asked} is wanted)"]  # fmt: skip
    return []


def _which(problem: _Problem) -> str:
    """Which balance fails, as plainly as can be said."""
    everyone = "all attachments" if len(problem.bodies) > 2 else "both attachments"
    for a, axis in enumerate(AXES):
        if problem.violation([problem.balance[a]])[0] > MET:
            return (
                f"Whatever the wire, the forces on {everyone} along {axis} add up to nothing; those that are wanted do "
                "not, and nothing is left to take the rest."
            )
    if problem.violation(problem.balance[:3])[0] > MET:
        return f"Whatever the wire, the forces on {everyone} add up to nothing; with those that are wanted they cannot."
    for a, axis in enumerate(AXES):
        if (
            len(problem.balance) > 3
            and problem.violation([*problem.balance[:3], problem.balance[3 + a]])[0] > MET
        ):
            return (
                f"Whatever the wire, the forces on {everyone} and the moments about {axis} add up to nothing: a pair "
                "of forces apart from each other needs couples against it. With what is wanted they do not."
            )
    return f"Whatever the wire, forces and moments on {everyone} add up to nothing; with what is wanted they cannot."


def _nearest(problem: _Problem, solution: Array) -> list[str]:
    """The wishes that statics takes away, with what it leaves nearest to them."""
    told = []
    for number, one in enumerate(problem.wanted):
        terms = problem._load(one)
        if terms is None:
            continue
        value = sum(share * float(solution[variable]) for variable, share in terms.items())
        if one.force and one.moment:
            k = next(k for k, body in enumerate(problem.bodies) if body.name == one.attachment)
            value /= float(solution[6 * k + AXES.index(one.force)])
        if abs(value - one.value) > one.tolerance * (1.0 + MET):
            told.append(f"[[wanted]] {number + 1}, {one.name}: {one.asked} is wanted; the nearest that statics allows "
                        f"beside the others is {one.shown(value)} {one.unit}.")  # fmt: skip
    return told
