"""What a formula says of itself: its question, inputs with units, equation, source and range.

A formula is a plain function of floats.  Its parameters' names end in their units, ``Annotated`` says what each
means and which sign it may have, and the docstring begins with the equation and ends with ``Source:`` and
``Valid:``.  ``formula`` reads all that, so nothing is said twice, and makes the function refuse what has no meaning.
"""

from __future__ import annotations

import functools
import inspect
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, ParamSpec, TypeVar, get_type_hints

from cases import units
from cases.reader import Sign

P = ParamSpec("P")
R = TypeVar("R")

# Endings of names and the kind of quantity they stand for; longer ones first.
SUFFIXES: dict[str, units.Kind] = {
    "_nmm_per_rad": "turning stiffness",
    "_n_per_mm": "stiffness",
    "_nmm": "moment",
    "_mpa": "stress",
    "_mm4": "second moment",
    "_rad": "angle",
    "_mm": "length",
    "_n": "force",
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """One input or output of a formula."""

    name: str
    """As in the function, with its unit: ``length_mm``."""
    kind: units.Kind | None
    """None for a pure number."""
    meaning: str
    sign: Sign = "any"
    default: float | None = None
    """Of an input that may be left out."""

    @property
    def key(self) -> str:
        """As on the command line, where the unit stands in the value: ``length``."""
        return split_unit(self.name)[0]

    def check(self, value: float) -> None:
        """Raise ValueError for a value that has no meaning here."""
        wrong = (
            "must be a finite number"
            if not math.isfinite(value)
            else "must be above zero"
            if self.sign == "positive" and value <= 0.0
            else "must be zero or more"
            if self.sign == "not negative" and value < 0.0
            else None
        )
        if wrong:
            raise ValueError(f"{self.name} ({self.meaning}) {wrong}: got {value!r}")


@dataclass(frozen=True, slots=True)
class Formula:
    """A closed form with all that is to be said about it."""

    name: str
    """As on the command line: ``cantilever-force``."""
    subject: str
    """The file it stands in: ``bending``."""
    question: str
    inputs: tuple[Quantity, ...]
    outputs: tuple[Quantity, ...]
    equation: str
    remarks: tuple[str, ...]
    source: str
    valid: str
    function: Callable[..., Any]
    within: Callable[[Mapping[str, float]], bool] | None
    """Whether inputs by name lie in the range of ``valid``; None: they all do."""

    def values(self, given: Mapping[str, float]) -> dict[str, float]:
        """The outputs by name.  Raises ValueError for inputs without meaning."""
        found = self.function(**given)
        if is_dataclass(found):
            return {field.name: float(getattr(found, field.name)) for field in fields(found)}
        return {self.outputs[0].name: float(found)}

    def in_range(self, given: Mapping[str, float]) -> bool:
        """Whether the inputs, with what is left out at its default, lie in the stated range."""
        whole = {item.name: item.default for item in self.inputs if item.default is not None}
        return self.within is None or self.within({**whole, **given})


FORMULAS: dict[str, Formula] = {}
"""All formulas by name, in the order of their files."""


def split_unit(name: str) -> tuple[str, units.Kind | None]:
    """The name without its unit, and the kind of quantity; None for a pure number."""
    for suffix, kind in SUFFIXES.items():
        if name.endswith(suffix):
            return name.removesuffix(suffix), kind
    return name, None


def formula(
    question: str, within: Callable[[Mapping[str, float]], bool] | None = None
) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Enter a function among ``FORMULAS``; the function given back checks its inputs.

    ``within`` says of the inputs by name whether they lie in the range that the docstring states.
    """

    def enter(function: Callable[P, R]) -> Callable[P, R]:
        signature = inspect.signature(function)
        inputs = _inputs(function, signature)

        @functools.wraps(function)
        def checked(*args: P.args, **kwargs: P.kwargs) -> R:
            given = signature.bind(*args, **kwargs).arguments
            for item in inputs:
                if item.name in given:
                    item.check(given[item.name])
            return function(*args, **kwargs)

        equation, remarks, source, valid = _docstring(function)
        name = split_unit(function.__name__)[0].replace("_", "-")
        if name in FORMULAS:
            raise ValueError(f"two formulas are called {name}")
        subject = function.__module__.rpartition(".")[2]
        FORMULAS[name] = Formula(
            name,
            subject,
            question,
            inputs,
            _outputs(function),
            equation,
            remarks,
            source,
            valid,
            checked,
            within,
        )
        return checked

    return enter


def _inputs(function: Callable[..., Any], signature: inspect.Signature) -> tuple[Quantity, ...]:
    hints = get_type_hints(function, include_extras=True)
    out = []
    for name, parameter in signature.parameters.items():
        meaning, *signs = hints[name].__metadata__
        default = None if parameter.default is parameter.empty else float(parameter.default)
        sign: Sign = signs[0] if signs else "positive"
        out.append(Quantity(name, split_unit(name)[1], meaning, sign, default))
    return tuple(out)


def _outputs(function: Callable[..., Any]) -> tuple[Quantity, ...]:
    """One, named like the function, or the fields of the dataclass that it gives."""
    result = get_type_hints(function, include_extras=True)["return"]
    if is_dataclass(result):
        hints = get_type_hints(result, include_extras=True)
        return tuple(_output(field.name, hints[field.name]) for field in fields(result))
    return (_output(function.__name__, result),)


def _output(name: str, hint: Any) -> Quantity:
    return Quantity(name, split_unit(name)[1], hint.__metadata__[0])


def _docstring(function: Callable[..., Any]) -> tuple[str, tuple[str, ...], str, str]:
    """Equation, remarks, source and validity."""
    text = inspect.getdoc(function)
    if text is None:
        raise RuntimeError("the formulas speak by their docstrings: start Python without -OO")
    paragraphs = [" ".join(part.split()) for part in text.split("\n\n")]
    source, found, valid = paragraphs[-1].partition(" Valid: ")
    if not (found and source.startswith("Source: ")):
        raise ValueError(f"{function.__name__}: its docstring must end with Source: and Valid:")
    return paragraphs[0].rstrip("."), tuple(paragraphs[1:-1]), source.removeprefix("Source: "), valid
