"""The user's side: case files, teeth, runs, results, command line.

In a notebook::

    from cases import load_case, run_case
    result = run_case(load_case("case.toml"))
    result.attachment("molar tube").force_n

``load_case`` and ``run_case`` are looked up when first asked for, so that ``import cases`` stays quick.
"""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cases.casefile import load_case as load_case
    from cases.run import run_case as run_case

__all__ = ["load_case", "run_case"]

HOME = Path(__file__).resolve().parent.parent


def _refuse_strangers(home: Path, names: tuple[str, ...]) -> None:
    """Raise ImportError when a package of one of ``names`` would be taken from anywhere but ``home``.

    The three packages have plain names, and a file called ``geometry.py`` beside a user's notebook is easily
    made.
    """
    for name in names:
        spec = find_spec(name)
        places = (
            []
            if spec is None
            else list(spec.submodule_search_locations or ([spec.origin] if spec.origin else []))
        )
        if not places or Path(places[0]).resolve() != home / name:
            found = places[0] if places else "nowhere"
            raise ImportError(
                f"wireslot needs its own package {name!r} from {home / name}, but Python finds {found}: "
                f"rename or move the other one, or start Python in another folder"
            )


_refuse_strangers(HOME, ("geometry", "fem"))


def __getattr__(name: str) -> Any:
    if name == "load_case":
        from cases.casefile import load_case

        return load_case
    if name == "run_case":
        from cases.run import run_case

        return run_case
    raise AttributeError(f"module 'cases' has no attribute {name!r}")
