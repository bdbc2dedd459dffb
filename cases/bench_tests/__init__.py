"""Homogeneous tests of wires that yield or transform: tension, bending, torsion of a straight piece of wire."""
