"""The line on which each key of a TOML text stands, which the standard reader does not tell."""

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

Path = tuple[str | int, ...]
"""Table, keys and position in an array: ``("keys", "note", 0)``."""

_TOKEN = re.compile(
    r"""(?P<skip>[ \t\r]+|\#[^\n]*)
    |(?P<newline>\n)
    |(?P<string>\"{3}(?:\\.|[^\\])*?\"{3,5}|'{3}.*?'{3,5}|"(?:\\.|[^"\\\n])*"|'[^'\n]*')
    |(?P<sign>[\[\]{}=,.])
    |(?P<bare>[^\s\[\]{}=,.\#"']+)""",
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class _Token:
    text: str
    line: int


def _tokens(text: str) -> Iterator[_Token]:
    line = 1
    for match in _TOKEN.finditer(text):
        if match.lastgroup != "skip":
            yield _Token(match.group(), line)
        line += match.group().count("\n")


def line_numbers(text: str) -> Mapping[Path, int]:
    """Lines, from 1, of every key, table and array item of ``text``, which must be valid TOML."""
    return _Locator(list(_tokens(text))).locate()


def nearest_line(lines: Mapping[Path, int], path: Path) -> int:
    """The line of ``path``, or else of what holds it; 1 for what is missing at the top."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 1)


@dataclass
class _Locator:
    tokens: list[_Token]
    at: int = 0
    lines: dict[Path, int] = field(default_factory=dict)

    def locate(self) -> dict[Path, int]:
        table: Path = ()
        while self.at < len(self.tokens):
            if self._text() == "\n":
                self.at += 1
            elif self._text() == "[":
                table = self._header()
            else:
                self._pair(table)
        return self.lines

    def _text(self) -> str:
        return self.tokens[self.at].text if self.at < len(self.tokens) else "\n"

    def _header(self) -> Path:
        while self._text() == "[":
            self.at += 1
        table = self._key(())
        while self._text() == "]":
            self.at += 1
        return table

    def _pair(self, table: Path) -> None:
        path = self._key(table)
        self.at += 1  # the equals sign
        self._value(path)

    def _key(self, path: Path) -> Path:
        """Read a dotted key, and note the line of each of its parts that is new."""
        while True:
            token = self.tokens[self.at]
            path = (*path, _unquoted(token.text))
            self.lines.setdefault(path, token.line)
            self.at += 1
            if self._text() != ".":
                return path
            self.at += 1

    def _value(self, path: Path) -> None:
        if self._text() == "[":
            self._array(path)
        elif self._text() == "{":
            self._inline_table(path)
        else:
            while self._text() not in ("\n", ",", "]", "}"):
                self.at += 1

    def _array(self, path: Path) -> None:
        self.at += 1
        number = 0
        while self._text() != "]":
            if self._text() in ("\n", ","):
                self.at += 1
                continue
            self.lines[*path, number] = self.tokens[self.at].line
            self._value((*path, number))
            number += 1
        self.at += 1

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        while self._text() != "}":
            if self._text() in ("\n", ","):
                self.at += 1
            else:
                self._pair(path)
        self.at += 1


def _unquoted(text: str) -> str:
    if text[0] not in "\"'":
        return text
    value: str = tomllib.loads(f"key = {text}")["key"]
    return value
