"""Torsion of rectangles in the handbooks, for every test that asks them."""

from __future__ import annotations

# Timoshenko & Goodier, Theory of Elasticity, art. 109; also Roark's Formulas for Stress and Strain, table
# 10.7 (places in the books from memory).
# Columns: b/a, k1, k2 in J = k1 b a^3 and largest stress = T/(k2 b a^2).  The row 1.375 (a wire of 0.016 x
# 0.022 in) and the fourth digits are from the series of art. 109, summed independently of this program.
HANDBOOK = [
    (1.0, 0.1406, 0.2082),
    (1.2, 0.1661, 0.2189),
    (1.375, 0.1845, 0.2264),
    (1.5, 0.1958, 0.2310),
    (2.0, 0.2287, 0.2459),
    (2.5, 0.2494, 0.2576),
    (3.0, 0.2633, 0.2672),
    (4.0, 0.2808, 0.2817),
    (5.0, 0.2913, 0.2915),
    (10.0, 0.3123, 0.3123),
]
LAST_DIGIT = 0.5e-4

# J in mm^4 of wires, sizes and edge radius in inches: sectionproperties 3.10.2 (an open-source program for
# sections, finite elements of its own), run once with fine meshes.
WIRES = {
    (0.016, 0.022, 0.0): 6.9216e-3,
    (0.016, 0.022, 0.002): 6.9035e-3,
    (0.016, 0.022, 0.004): 6.7481e-3,
    (0.017, 0.025, 0.0): 9.8798e-3,
    (0.017, 0.025, 0.002): 9.8608e-3,
    (0.018, 0.025, 0.0): 1.12793e-2,
    (0.018, 0.025, 0.003): 1.12039e-2,
    (0.019, 0.025, 0.0): 1.27533e-2,
    (0.019, 0.025, 0.002): 1.27332e-2,
    (0.019, 0.025, 0.004): 1.25553e-2,
    (0.021, 0.025, 0.0): 1.59023e-2,
}
