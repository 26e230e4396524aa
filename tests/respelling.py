"""The same TOML table written in other ways, for tests that nothing may depend on the way."""

import random
from typing import Any

_COMMENTS = (
    "# a comment",
    "#",
    "# \u2028 odd \u0085 signs \u202e",
    "# [bands] = { x",
    "#--- a\t2024",
    "# +++ b",
    "# '''",
)


class Respeller:
    """Writes a table with choices made by a seed: headers, dotted keys, inline tables, quotes, blanks."""

    def __init__(self, seed: int, style: str | None = None) -> None:
        self._random = random.Random(seed)
        self._newline = self._random.choice(["\n", "\n", "\r\n"])
        self._style = self._random.choice(["headers", "dotted", "inline", "mixed", "mixed"])
        self._style = style or self._style

    def write(self, table: dict[str, Any]) -> str:
        lines: list[str] = []
        self._table(lines, (), table)
        text = self._newline.join(lines)
        return text if self._random.random() < 0.3 else text + self._newline

    def _some(self, chance: float) -> bool:
        return self._random.random() < chance

    def _table(self, lines: list[str], path: tuple[str, ...], table: dict[str, Any]) -> None:
        """Write what stands under the header of a table, then the tables with headers of their own."""
        keys = list(table)
        if self._some(0.5):
            self._random.shuffle(keys)
        later: list[str] = []
        for key in keys:
            if self._wants_header(table[key]):
                later.append(key)
            else:
                self._pairs(lines, (key,), table[key])
        for key in later:
            value = table[key]
            for item in value if isinstance(value, list) else [value]:
                here = (*path, key)
                name = self._blank() + "." + self._blank()
                header = name.join(self._name(step) for step in here)
                brackets = ("[[", "]]") if isinstance(value, list) else ("[", "]")
                inner = [header, *([""] if self._some(0.2) else [])]
                only_tables = (
                    isinstance(item, dict) and item and all(isinstance(v, dict) for v in item.values())
                )
                if not (only_tables and brackets == ("[", "]") and self._some(0.5)):
                    self._margin(lines)
                    lines.append(
                        f"{self._blank()}{brackets[0]}{self._blank()}{inner[0]}{self._blank()}{brackets[1]}{self._tail()}"
                    )
                    self._table(lines, here, item)
                else:
                    self._only_inner_headers(lines, here, item)

    def _only_inner_headers(self, lines: list[str], path: tuple[str, ...], table: dict[str, Any]) -> None:
        for key, value in table.items():
            self._margin(lines)
            lines.append(f"[{'.'.join(self._name(step) for step in (*path, key))}]")
            self._table(lines, (*path, key), value)

    def _wants_header(self, value: Any) -> bool:
        tables = isinstance(value, dict) or (
            isinstance(value, list) and value and all(isinstance(item, dict) for item in value)
        )
        chance = {"headers": 1.0, "dotted": 0.0, "inline": 0.0, "mixed": 0.6}[self._style]
        return bool(tables) and self._some(chance)

    def _pairs(self, lines: list[str], names: tuple[str, ...], value: Any) -> None:
        """Write ``names = value``; of a table each key with a dotted name, or the whole inline."""
        if isinstance(value, dict) and value and self._some(0.2 if self._style == "inline" else 0.8):
            for key, inner in value.items():
                self._pairs(lines, (*names, key), inner)
            return
        self._margin(lines)
        key = (self._blank() + "." + self._blank()).join(self._name(name) for name in names)
        lines.append(f"{self._blank()}{key}{self._blank()}={self._blank()}{self._value(value)}{self._tail()}")

    def _value(self, value: Any) -> str:
        if isinstance(value, bool):
            return str(value).lower()
        if isinstance(value, str):
            return self._string(value)
        if isinstance(value, dict):
            pairs = [self._entry((key,), inner) for key, inner in value.items()]
            inside = (self._blank() + "," + self._blank()).join(
                entry for entries in pairs for entry in entries
            )
            return "{" + self._blank() + inside + self._blank() + "}"
        if isinstance(value, list):
            return self._array([self._value(item) for item in value])
        return repr(value)

    def _entry(self, names: tuple[str, ...], value: Any) -> list[str]:
        if isinstance(value, dict) and value and self._some(0.4):
            return [entry for key, inner in value.items() for entry in self._entry((*names, key), inner)]
        return [
            f"{'.'.join(self._name(name) for name in names)}{self._blank()}={self._blank()}{self._value(value)}"
        ]

    def _array(self, items: list[str]) -> str:
        if not items or self._some(0.6):
            return "[" + (self._blank() + "," + self._blank()).join(items) + self._blank() + "]"
        lines = ["["]
        for number, item in enumerate(items):
            comma = "," if number < len(items) - 1 or self._some(0.5) else ""
            lines.append(f"  {item}{comma}{self._tail()}")
            if self._some(0.2):
                lines.append("  " + self._random.choice(_COMMENTS))
        return self._newline.join([*lines, "]"])

    def _string(self, text: str) -> str:
        basic = text.replace("\\", "\\\\").replace('"', '\\"')
        ways = [f'"{basic}"', '"' + "".join(f"\\u{ord(c):04x}" for c in text) + '"']
        if ord(max(text, default="a")) > 0xFFFF:
            ways.pop()
        if "'" not in text:
            ways += [f"'{text}'", f"'''{text}'''"]
        ways.append(f'"""\\{self._newline}  {basic}"""')
        if not text.endswith('"') and '"""' not in text:
            ways.append(f'"""{basic}"""')
        return self._random.choice([ways[0], self._random.choice(ways)])

    def _name(self, name: str) -> str:
        quoted = '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
        ways = [quoted, '"' + "".join(f"\\u{ord(c):04X}" for c in name) + '"']
        if "'" not in name:
            ways.append(f"'{name}'")
        bare = bool(name) and all(c.isascii() and (c.isalnum() or c in "_-") for c in name)
        return name if bare and self._some(0.8) else self._random.choice(ways)

    def _blank(self) -> str:
        return self._random.choice(["", " ", " ", "\t", "  "])

    def _tail(self) -> str:
        return self._random.choice(["", "", "", " ", "  " + self._random.choice(_COMMENTS)])

    def _margin(self, lines: list[str]) -> None:
        while self._some(0.15):
            lines.append(self._random.choice(["", " ", self._random.choice(_COMMENTS)]))
