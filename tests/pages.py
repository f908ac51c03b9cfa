"""A page taken apart again: its data decoded, its elements counted; for tests only."""

import base64
import json
import zlib
from dataclasses import dataclass, field
from html.parser import HTMLParser

import numpy as np

VOID = {"meta", "input", "br", "link", "img", "hr"}


@dataclass(repr=False, eq=False)
class Element:
    tag: str
    attributes: dict
    parents: tuple
    text: str = ""


@dataclass(repr=False)
class Page(HTMLParser):
    """Every element of a page in order, with the text right in it and in all that is in it."""

    source: str
    elements: list = field(default_factory=list)
    open: list = field(default_factory=list)

    def __post_init__(self):
        super().__init__(convert_charrefs=True)
        self.feed(self.source)
        self.close()
        assert not self.open, [element.tag for element in self.open]

    def handle_starttag(self, tag, attrs):
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), (tag, names)
        element = Element(tag, dict(attrs), tuple(self.open))
        self.elements.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag, attrs):
        self.elements.append(Element(tag, dict(attrs), tuple(self.open)))

    def handle_endtag(self, tag):
        assert self.open, tag
        assert self.open.pop().tag == tag, tag

    def handle_data(self, data):
        for element in self.open:
            element.text += data

    def all(self, tag, **attributes):
        named = {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()}
        return [e for e in self.elements if e.tag == tag and named.items() <= e.attributes.items()]

    def one(self, tag, **attributes):
        (found,) = self.all(tag, **attributes)
        return found

    def with_class(self, name):
        return [e for e in self.elements if name in (e.attributes.get("class") or "").split()]

    def within(self, element):
        return [e for e in self.elements if element in e.parents]

    @property
    def data(self):
        raw = zlib.decompress(base64.b64decode(self.one("script", id="data").text))
        end = 4 + int.from_bytes(raw[:4], "little")
        return json.loads(raw[4:end]) | {"blob": raw[end:]}


def numbers(data, at, width):
    """Return the rows of whole numbers of a chunk of a page's data: (count, width)."""
    offset, count = at
    return np.frombuffer(data["blob"], "<u2", count * width, offset).reshape(count, width).astype(int)


def mesh_of(data, index):
    """Return points (mm), triangles and edges of a mesh of a page's data."""
    mesh = data["meshes"][index]
    points = np.array(mesh["low"]) + mesh["step"] * numbers(data, mesh["points"], 3)
    return points, numbers(data, mesh["triangles"], 3), numbers(data, mesh["edges"], 2)


def lines_of(data, index):
    """Return the lines of a page's data: (k, 2 ends, 3), mm."""
    lines = data["lines"][index]
    ends = numbers(data, lines["ends"], 6).reshape(-1, 2, 3)
    return np.array(lines["low"]) + lines["step"] * ends
