"""Shape and position: rigid motions, wire sections, wire shapes, attachments and their slots, clearance in
closed form, tooth numbers, and Gmsh meshes of a section and of a wire's length.

Nothing here knows a stiffness or a force.  Lengths are mm and angles rad.  Every frame is a 3x3 matrix whose
columns are its axes, the tangent (or the slot's x) first, then height, then depth.  Modules are imported one
by one, so that a reader of a case file never waits for Gmsh.
"""
