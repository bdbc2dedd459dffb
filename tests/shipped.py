"""Shipped cases and their results, solved once for all tests of a process."""

from __future__ import annotations

from functools import cache

from cases import load_case, run_case
from cases.casefile import LIBRARY
from cases.results import RunResult
from cases.schema import AttachmentSpec, Case


@cache
def case(name: str) -> Case:
    """The shipped case of this name."""
    return load_case(LIBRARY / f"{name}.toml")


@cache
def solved(name: str) -> RunResult:
    """Its result."""
    return run_case(case(name))


def spec(name: str, attachment: str) -> AttachmentSpec:
    """An attachment of a shipped case."""
    return next(one for one in case(name).attachments if one.name == attachment)
