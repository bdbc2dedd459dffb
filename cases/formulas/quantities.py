"""Inputs that many formulas share, with what they mean; above zero unless said otherwise."""

from __future__ import annotations

from typing import Annotated

YoungsModulus = Annotated[float, "Young's modulus E of the wire"]
ShearModulus = Annotated[float, "shear modulus G of the wire"]
SecondMoment = Annotated[float, "second moment of area I of the section, for this order of bending"]
TorsionConstant = Annotated[float, "torsion constant J of the section"]
Span = Annotated[float, "span from mouth to mouth"]
Arm = Annotated[float, "length L from the tube's mouth to the tied end"]
Deflection = Annotated[float, "deflection d of the end", "any"]
WireHeight = Annotated[float, "height of the wire, along the slot's height"]
WireDepth = Annotated[float, "depth of the wire, along the slot's depth"]
Diameter = Annotated[float, "diameter of the wire"]
EdgeRadius = Annotated[float, "radius of the wire's edges", "not negative"]
SlotHeight = Annotated[float, "height of the slot"]
SlotDepth = Annotated[float, "depth of the slot"]
SlotWidth = Annotated[float, "width of the slot, from mouth to mouth"]
WireSize = Annotated[float, "size of the wire across the slot"]
Turn = Annotated[float, "angle of activation in third order", "any"]
Play = Annotated[float, "play in the slot, one-sided from centred", "not negative"]
Torque = Annotated[float, "torque", "any"]
Friction = Annotated[float, "coefficient of friction", "not negative"]
