"""Small case files for tests: every test goes in where a user does, through the text of a case.

Lengths are in mm and angles in degrees unless a name says otherwise.  All appliances are invented.
"""

from __future__ import annotations

from pathlib import Path

from cases.casefile import parse_case
from cases.schema import Case

INCH = 25.4
YOUNGS_MODULUS = 200e3
"""MPa; a round number, since the tests compare with formulas of the same modulus."""
POISSON = 0.3
SHEAR_MODULUS = YOUNGS_MODULUS / (2.0 * (1.0 + POISSON))
MATERIAL = f'{{ name = "test steel", youngs_modulus = "{YOUNGS_MODULUS} MPa", poisson = {POISSON} }}'


def round_wire(diameter: float) -> str:
    """The section of a round wire."""
    return f'{{ shape = "round", diameter = "{diameter!r} mm" }}'


def edgewise(height: float, depth: float, edge_radius: float = 0.0) -> str:
    """The section of a rectangular wire."""
    return (
        f'{{ shape = "rectangle", height = "{height!r} mm", depth = "{depth!r} mm", '
        f'edge_radius = "{edge_radius!r} mm" }}'
    )


def straight(length: float) -> str:
    """A straight piece of the passive shape."""
    return f'{{ straight = "{length!r} mm" }}'


def bend(angle: float, order: str = "second", radius: float = 0.5) -> str:
    """A bent piece of the passive shape."""
    return f'{{ bend = "{angle!r} deg", order = "{order}", radius = "{radius!r} mm" }}'


def attachment(
    name: str,
    kind: str,
    at: float | str,
    x: float,
    y: float = 0.0,
    z: float = 0.0,
    *,
    slot: tuple[float, float, float] | None = None,
    stop: bool = False,
    hold_roll: bool = False,
    tooth: str | None = None,
    centre_of_resistance: tuple[float, float, float] | None = None,
    **angles: float,
) -> str:
    """One attachment; ``slot`` is height, depth, width; ``angles`` such as about_z or inclination."""
    lines = [
        "[[attachment]]",
        f'name = "{name}"',
        f'kind = "{kind}"',
        f'position = ["{x!r} mm", "{y!r} mm", "{z!r} mm"]',
        f'at = "{at}"' if isinstance(at, str) else f'at = "{at!r} mm"',
        f"stop = {str(stop).lower()}",
    ]
    if slot is not None:
        height, depth, width = slot
        lines.append(f'slot = {{ height = "{height!r} mm", depth = "{depth!r} mm", width = "{width!r} mm" }}')
    if hold_roll:
        lines.append("hold_roll = true")
    if tooth is not None:
        lines.append(f'tooth = "{tooth}"')
    if centre_of_resistance is not None:
        place = ", ".join(f'"{value!r} mm"' for value in centre_of_resistance)
        lines.append(f"centre_of_resistance = [{place}]")
    lines += [f'{key} = "{value!r} deg"' for key, value in angles.items()]
    return "\n".join(lines)


def case_of(
    section: str, passive_shape: list[str], seated_in: str, *attachments: str, increments: int = 5
) -> Case:
    """The case, read as from a file.  Few increments: an elastic answer does not depend on their number."""
    text = "\n".join(
        (
            'title = "A test case (invented)"',
            "[wire]",
            f"material = {MATERIAL}",
            f"section = {section}",
            f"passive_shape = [{', '.join(passive_shape)}]",
            f'seated_in = "{seated_in}"',
            *attachments,
            "[analysis]",
            f"increments = {increments}",
        )
    )
    return parse_case(text, Path("test-case.toml"))
