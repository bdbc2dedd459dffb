"""Beams that bend far, the walls that stop them, and their equilibrium.  Knows nothing of teeth.

To start, a steel rod of 2 mm and 1 m, built in at one end, with a dead force at the other (mm, N, N mm, MPa, rad):

    steel = LinearElastic("steel", 2.0e5, 0.3)                       # fem.material
    model = rod(PassiveShape((Straight(1000.0),)), Round(2.0), steel,  # fem.rods; geometry.wire_shapes, .section
                [Held(Clamp(), 0.0)], [Load(1000.0, force=(0.0, -0.5, 0.0))])
    path = engage(model)                                             # fem.path
    path.status, path.last.snapshot.positions[-1], path.last.snapshot.force[0]

`fem.rods` makes a `fem.model.Model`: a passive shape, what holds it (`Clamp`, `PointTie`, `Edge`, `SlotWalls`) and dead
loads.  `fem.path.engage` moves the supports and grows the loads, increment by increment; `Leg` says where they go next.
Every accepted increment has a `fem.recovery.Snapshot`: places, section forces, and what each support bears.
Values that make no sense raise ValueError as they are made; `fem.status.NoEquilibrium` says that none was found.
Examples with closed forms beside them: `scripts/rod_cantilever.py`, `rod_rollers.py`, `rod_spring.py`.
"""
