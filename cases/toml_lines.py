"""On which line of a TOML file each key stands.

``tomllib`` reads a file but keeps no lines.  This scanner walks a file that ``tomllib`` has already accepted,
so it needs no error handling of its own: it follows headers, dotted keys, inline tables, arrays over several
lines and all four kinds of string (TOML 1.0), and skips every value.
"""

from __future__ import annotations

import tomllib

Key = tuple[str | int, ...]
"""Keys and places in arrays (from 0) from the top: ("attachment", 1, "slot", "height")."""


def key_text(key: Key) -> str:
    """The key as people say it, counted from 1: "attachment 2: slot.height", "attachment 1: position 3"."""
    text, joint = "", ""
    for part in key:
        if isinstance(part, int):
            text, joint = f"{text} {part + 1}", ": "
        else:
            text, joint = f"{text}{joint}{part}", "."
    return text


def line_of(lines: dict[Key, int], key: Key) -> int | None:
    """The line of ``key``, or of the nearest thing that would hold it; None where that is not in the file."""
    while key:
        if key in lines:
            return lines[key]
        key = key[:-1]
    return None


def key_lines(text: str) -> dict[Key, int]:
    """Line (from 1) of every key and array item in ``text``, which must be valid TOML.

    A table that several lines build up has the line where it is first named.
    """
    return _Scanner(text).scan()


class _Scanner:
    """A cursor over the text."""

    def __init__(self, text: str) -> None:
        self.text = text.replace("\r\n", "\n")
        self.at = 0
        self.lines: dict[Key, int] = {}
        self.items: dict[Key, int] = {}
        """Items so far of each array of tables."""

    def scan(self) -> dict[Key, int]:
        """Walk the file from the top."""
        here: Key = ()
        self._blank()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                here = self._header()
            else:
                self._pair(here)
            self._blank()
        return self.lines

    def _note(self, key: Key, at: int) -> None:
        self.lines.setdefault(key, self.text.count("\n", 0, at) + 1)

    def _blank(self) -> None:
        """Over white space, line ends, commas between items, and comments."""
        while self.at < len(self.text):
            if self.text[self.at] == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif self.text[self.at] in " \t\n,":
                self.at += 1
            else:
                return

    def _header(self) -> Key:
        """``[table]`` or ``[[item of an array of tables]]``; gives the key it opens."""
        start = self.at
        double = self.text.startswith("[[", start)
        self.at += 2 if double else 1
        parts = self._dotted("]")
        self.at += 2 if double else 1
        key: Key = ()
        for place, part in enumerate(parts):
            key = (*key, part)
            self._note(key, start)
            if double and place == len(parts) - 1:
                self.items[key] = self.items.get(key, 0) + 1
            if key in self.items:
                key = (*key, self.items[key] - 1)
                self._note(key, start)
        return key

    def _pair(self, here: Key) -> None:
        """``key = value``."""
        start = self.at
        key = here
        for part in self._dotted("="):
            key = (*key, part)
            self._note(key, start)
        self.at += 1
        self._value(key)

    def _dotted(self, end: str) -> list[str]:
        """The parts of a dotted key up to (not over) ``end``."""
        parts: list[str] = []
        while self.text[self.at] != end:
            if self.text[self.at] in " \t.":
                self.at += 1
                continue
            start = self.at
            if self.text[start] in "\"'":
                self._string()
                # One line of TOML is the surest way to read a quoted key with its escapes.
                parts.append(next(iter(tomllib.loads(f"{self.text[start : self.at]} = 0"))))
            else:
                while self.text[self.at] not in f" \t.{end}":
                    self.at += 1
                parts.append(self.text[start : self.at])
        return parts

    def _value(self, key: Key) -> None:
        """Over one value, noting what lies inside it."""
        while self.text[self.at] in " \t":
            self.at += 1
        first = self.text[self.at]
        if first in "\"'":
            self._string()
        elif first == "[":
            self._inside("]", key)
        elif first == "{":
            self._inside("}", key)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}\n#":
                self.at += 1

    def _inside(self, end: str, key: Key) -> None:
        """Over an array or an inline table."""
        self.at += 1
        self._blank()
        item = 0
        while self.text[self.at] != end:
            if end == "]":
                self._note((*key, item), self.at)
                self._value((*key, item))
                item += 1
            else:
                self._pair(key)
            self._blank()
        self.at += 1

    def _string(self) -> None:
        """Over a string; only those in double quotes have escapes."""
        quote = self.text[self.at]
        if self.text.startswith(quote * 3, self.at):
            self.at += 3
            while not self.text.startswith(quote * 3, self.at):
                self.at += 2 if quote == '"' and self.text[self.at] == "\\" else 1
            self.at += 3
            while (
                self.at < len(self.text) and self.text[self.at] == quote
            ):  # up to two quotes may end the content
                self.at += 1
            return
        self.at += 1
        while self.text[self.at] != quote:
            self.at += 2 if quote == '"' and self.text[self.at] == "\\" else 1
        self.at += 1
