"""``wireslot verify``: every outside check of the project, computed here and now.

Closed forms and benchmarks are verification, against theory; measurements are validation.  Each row says its source,
the value expected and what may be between them; whatever is computed comes from the solver, the geometry or the section
code at the time of asking.
"""
