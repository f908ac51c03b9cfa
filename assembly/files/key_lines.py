"""Where every key of a TOML file stands: dotted key to line, from a syntax tree.

The values themselves come from `tomllib`; this is only loaded when a fault has to be placed.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from functools import lru_cache
from typing import TYPE_CHECKING

import tree_sitter_toml
from tree_sitter import Language, Parser

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tree_sitter import Node

    Key = tuple[str | int, ...]

_KEYS = {"bare_key", "quoted_key", "dotted_key"}


def _parts(node: Node) -> list[tuple[str, int]]:
    """Return the parts of a key as written, outermost first, each with its line."""
    if node.type == "dotted_key":
        return [part for child in node.named_children for part in _parts(child)]
    text = (node.text or b"").decode()
    if node.type == "quoted_key":  # a quoted key is spelt as a string, so it is read as one where it holds escapes
        text = str(tomllib.loads(f"key = {text}")["key"]) if "\\" in text else text[1:-1]
    return [(text, node.start_point[0] + 1)]


class _Walk:
    """One pass over a syntax tree; `lines` fills with the line of each key, and of each table at its header."""

    def __init__(self) -> None:
        self.lines: dict[Key, int] = {}
        self.counts: Counter[Key] = Counter()  # how many tables of each array of tables were met

    def enter(self, node: Node, base: Key) -> Key:
        """Note the key that heads a pair or a table and return its full path."""
        head = next(child for child in node.named_children if child.type in _KEYS)
        path = base
        for name, line in _parts(head):
            path = (*path, name)
            self.lines.setdefault(path, line)
            if self.counts[path] and node.type == "table":  # under the latest table of an array
                path = (*path, self.counts[path] - 1)
        if node.type == "table_array_element":
            self.counts[path] += 1
            path = (*path, self.counts[path] - 1)
            self.lines[path] = node.start_point[0] + 1
        return path

    def value(self, node: Node, path: Key) -> None:
        """Note the keys inside a value: an inline table's, or those of tables in an array."""
        if node.type == "inline_table":
            self.pairs(node, path)
        elif node.type == "array":
            items = [child for child in node.named_children if child.type != "comment"]
            for index, item in enumerate(items):
                self.lines[*path, index] = item.start_point[0] + 1
                self.value(item, (*path, index))

    def pairs(self, node: Node, base: Key) -> None:
        """Note every pair that stands directly in a table or at the top of the file."""
        for child in node.named_children:
            if child.type == "pair":
                self.value(child.named_children[1], self.enter(child, base))


@lru_cache(maxsize=4)
def key_lines(data: bytes) -> Mapping[Key, int]:
    """Return the line (from 1) of every key in a valid TOML file.

    Parameters
    ----------
    data : bytes
        The file as UTF-8.

    Returns
    -------
    Mapping
        By the parts of the dotted key, an array's index among them. A table stands where it is first named.
    """
    root = Parser(Language(tree_sitter_toml.language())).parse(data).root_node
    walk = _Walk()
    walk.pairs(root, ())
    for child in root.named_children:
        if child.type in {"table", "table_array_element"}:
            walk.pairs(child, walk.enter(child, ()))
    return walk.lines
