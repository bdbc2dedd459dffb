"""Beams that bend far, the walls that stop them, and their equilibrium.  Knows nothing of teeth."""
