"""How sure a result is: the error of its mesh, and what the published range of an alloy's modulus makes of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Mesh:
    """How finely wire and slots are divided."""

    elements: int
    stations: int
    """Contact stations of all slots together."""


@dataclass(frozen=True, slots=True)
class Error:
    """The largest estimated error among the forces, or among the moments, on all attachments."""

    change: float
    """N, or N mm; length of the vector."""
    largest: float
    """The largest force or moment itself."""
    percent: float | None
    """Of the largest; None where both are so small that people are shown 0."""
    attachment: str
    """Where."""


@dataclass(frozen=True, slots=True)
class AccuracyResult:
    """Estimated discretisation error of the forces and moments, from a second solve."""

    mesh: Mesh
    """Of the result."""
    compared_with: Mesh
    force: Error | None
    """None where the second solve found no equilibrium."""
    moment: Error | None
    words: tuple[str, ...]
    wanted_percent: float | None = None
    """What was asked for; None where nothing was."""
    sequence: tuple[AccuracyResult, ...] = ()
    """One for each mesh that was tried on the way to it, this last one among them."""

    @property
    def percent(self) -> float | None:
        """The larger of both shares; None where there is no estimate."""
        if self.force is None or self.moment is None:
            return None
        return max(self.force.percent or 0.0, self.moment.percent or 0.0)

    @property
    def reached(self) -> bool | None:
        """Whether what was asked for is reached; None where nothing was."""
        if self.wanted_percent is None:
            return None
        return self.percent is not None and self.percent <= self.wanted_percent


@dataclass(frozen=True, slots=True)
class ModulusEnd:
    """Loads at one end of that range, against those told; None where no equilibrium was found or nothing acts."""

    youngs_modulus_mpa: float
    force_percent: float | None
    """Change of the largest force on an attachment."""
    moment_percent: float | None


@dataclass(frozen=True, slots=True)
class ModulusSpread:
    """What the published range of the alloy's Young's modulus means for the loads of a run."""

    youngs_modulus_mpa: float
    low_mpa: float
    high_mpa: float
    low_percent: float
    """Change of a load that is proportional to the modulus, at the lower end of the range; not above zero."""
    high_percent: float
    proportional: bool
    """Whether every load of the case is so; else these are the changes of the wire's own stiffness."""
    gives_way: tuple[str, ...]
    """What else answers to load."""
    sentence: str
    """In one line."""
    words: str
    """With the reason."""
    ends: tuple[ModulusEnd, ...] = ()
    """Solved again at both ends, where that was asked for and is needed."""
