"""Target files for tests, beside small cases; all invented."""

from __future__ import annotations

from pathlib import Path

from cases.casefile import LIBRARY
from cases.target.targetfile import Target, load_target

V_BEND = LIBRARY / "v-bend.toml"
UPRIGHTING = LIBRARY / "molar-uprighting.toml"
BEND = "wire.passive_shape[2].bend"


def unknown(key: str, *lines: str) -> str:
    """One [[unknown]] table."""
    return "\n".join(("[[unknown]]", f"key = '{key}'", *lines))


def between(key: str, least: str, most: str, *lines: str) -> str:
    """An unknown between bounds."""
    return unknown(key, f'least = "{least}"', f'most = "{most}"', *lines)


def wanted(attachment: str, value: str, tolerance: str, **load: str) -> str:
    """One [[wanted]] table; ``load`` is force, moment, about."""
    lines = [f'{name} = "{what}"' for name, what in load.items()]
    return "\n".join(
        (
            "[[wanted]]",
            f'attachment = "{attachment}"',
            *lines,
            f'value = "{value}"',
            f'tolerance = "{tolerance}"',
        )
    )


def text_of(*parts: str, case: Path = V_BEND) -> str:
    """A whole target file."""
    return "\n".join((f'title = "A test target (invented)"\ncase = "{case}"', *parts)) + "\n"


def target_of(folder: Path, *parts: str, case: Path = V_BEND) -> Target:
    """The target, read as from a file in ``folder``."""
    path = folder / "target.toml"
    path.write_text(text_of(*parts, case=case), encoding="utf-8")
    return load_target(path)
