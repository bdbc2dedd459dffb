"""Tooth numbers and the trade's words, tied to the axes of a facial slot.

Numbers are those of the FDI (ISO 3950): the first digit is the quadrant (1 to 4 permanent, 5 to 8 deciduous;
upper right, upper left, lower left, lower right), the second counts from the midline.  In a facial view x
runs to the viewer's right, y up, z to the viewer.  Mesial is then +x on the patient's right (quadrants 1, 4)
and -x on the left; occlusal is -y in the upper arch and +y in the lower; facial is +z.

Which sense of a right-handed turn about a slot's own axis each positive word is, found by following one
point: about y, +x goes to -z; about z, +y goes to -x; about x, +y goes to +z.

=======================  ===========  ==========  ==========  ==========  ==========  ===================
word, positive           point        quadrant 1  quadrant 2  quadrant 3  quadrant 4  rule
=======================  ===========  ==========  ==========  ==========  ==========  ===================
mesial out (to +z)       mesial side  about_y -   about_y +   about_y +   about_y -   - mesial
mesial crown tip         crown        about_z +   about_z -   about_z +   about_z -   - mesial * occlusal
labial crown torque      crown        about_x -   about_x -   about_x +   about_x +   occlusal
=======================  ===========  ==========  ==========  ==========  ==========  ===================

The rules hold for any angles, one after the other too: a mirror image in x turns about_y and about_z round,
one in y turns about_z and about_x round.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Order = Literal["first", "second", "third"]

NO_MOMENT = "no moment"
NO_FORCE = "no force"

_QUADRANTS = {1: "upper right", 2: "upper left", 3: "lower left", 4: "lower right"}
_PERMANENT = {
    1: "central incisor",
    2: "lateral incisor",
    3: "canine",
    4: "first premolar",
    5: "second premolar",
    6: "first molar",
    7: "second molar",
    8: "third molar",
}
_DECIDUOUS = {1: "central incisor", 2: "lateral incisor", 3: "canine", 4: "first molar", 5: "second molar"}


@dataclass(frozen=True, slots=True)
class Tooth:
    """A tooth by its FDI number, such as "47".  Raises ValueError for a number that no tooth has."""

    number: str

    def __post_init__(self) -> None:
        digits = self.number
        known = len(digits) == 2 and digits.isascii() and digits.isdigit()
        if not (known and 1 <= int(digits[0]) <= 8 and int(digits[1]) in self._names(int(digits[0]))):
            raise ValueError(
                "a tooth is given by its two-digit FDI number, 11 to 48 (deciduous 51 to 85), "
                f'such as "47": got {digits!r}'
            )

    @staticmethod
    def _names(first_digit: int) -> dict[int, str]:
        return _PERMANENT if first_digit <= 4 else _DECIDUOUS

    @property
    def deciduous(self) -> bool:
        """True for quadrants 5 to 8."""
        return int(self.number[0]) > 4

    @property
    def quadrant(self) -> int:
        """1 upper right, 2 upper left, 3 lower left, 4 lower right, of the patient; deciduous teeth too."""
        return (int(self.number[0]) - 1) % 4 + 1

    @property
    def arch(self) -> Literal["upper", "lower"]:
        """Which jaw."""
        return "upper" if self.quadrant <= 2 else "lower"

    @property
    def mesial_sign(self) -> int:
        """+1 where mesial is +x, -1 where it is -x."""
        return 1 if self.quadrant in (1, 4) else -1

    @property
    def occlusal_sign(self) -> int:
        """+1 where occlusal is +y, -1 where it is -y."""
        return 1 if self.arch == "lower" else -1

    @property
    def name(self) -> str:
        """Such as "lower right second molar"."""
        kind = self._names(int(self.number[0]))[int(self.number[1])]
        return f"{_QUADRANTS[self.quadrant]} {'deciduous ' if self.deciduous else ''}{kind}"

    @property
    def turn_signs(self) -> tuple[int, int, int]:
        """Senses about (y, z, x) of mesial out, mesial crown tip and labial crown torque: the table above."""
        return -self.mesial_sign, -self.mesial_sign * self.occlusal_sign, self.occlusal_sign


def _tooth(tooth: Tooth | str) -> Tooth:
    return tooth if isinstance(tooth, Tooth) else Tooth(tooth)


def angles_from_tooth_words(
    tooth: Tooth | str, rotation: float = 0.0, angulation: float = 0.0, inclination: float = 0.0
) -> tuple[float, float, float]:
    """``(about_y, about_z, about_x)`` of a facial slot, in the unit of the angles given.

    ``rotation`` is positive mesial out, ``angulation`` mesial crown tip, ``inclination`` labial crown torque,
    in both arches.  Raises ValueError for an unknown tooth number.
    """
    y, z, x = _tooth(tooth).turn_signs
    return y * rotation, z * angulation, x * inclination


def tooth_words_from_angles(
    tooth: Tooth | str, about_y: float, about_z: float, about_x: float
) -> tuple[float, float, float]:
    """``(rotation, angulation, inclination)`` of a facial slot: the reverse of
    ``angles_from_tooth_words``."""
    y, z, x = _tooth(tooth).turn_signs
    return y * about_y, z * about_z, x * about_x


def moment_words(tooth: Tooth | str, order: Order, moment: float) -> str:
    """Which way a moment on the tooth tends to turn it.

    ``moment`` is about the facial slot's own axis of that order (y first, z second, x third), in any unit;
    only its sign counts, and a moment of exactly zero is "no moment".  Raises ValueError for an unknown tooth
    or order.
    """
    words = {
        "first": ("mesial out", "mesial in"),
        "second": ("mesial crown tip", "distal crown tip"),
        "third": ("labial crown torque", "lingual crown torque"),
    }
    if order not in words:
        raise ValueError(f"an order is first, second or third: got {order!r}")
    sign = dict(zip(words, _tooth(tooth).turn_signs, strict=True))[order]
    return _by_sign(sign * moment, *words[order], NO_MOMENT)


def force_words(tooth: Tooth | str, force: tuple[float, float, float]) -> tuple[str, str, str]:
    """Which way each component of a force on the tooth pushes it: along, across and out of its facial slot.

    ``force`` is (x, y, z) in the slot's own axes, in any unit; a component of exactly zero is "no force".
    Extrusion is towards occlusal.  Raises ValueError for an unknown tooth.
    """
    t = _tooth(tooth)
    x, y, z = force
    return (
        _by_sign(t.mesial_sign * x, "mesial", "distal", NO_FORCE),
        _by_sign(t.occlusal_sign * y, "extrusion", "intrusion", NO_FORCE),
        _by_sign(z, "facial", "lingual", NO_FORCE),
    )


def _by_sign(value: float, positive: str, negative: str, neither: str) -> str:
    return positive if value > 0.0 else negative if value < 0.0 else neither
