"""One text for one STEP model: date, counters and chance orders taken out, so that equal models are equal bytes.

entity : one numbered line of the file, `#12 = TYPE(...)`
root   : an entity that no other refers to

The kernel numbers occurrences by a counter of the whole process and writes colours in the order of memory addresses.
Here every entity gets a fingerprint of itself and all that it refers to; roots are sorted by fingerprint, and entities
numbered in the order in which a walk from the roots meets them.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter

from assembly.errors import ExportError

_ENTITY = re.compile(r"#(\d+) = (.*?);\n", re.DOTALL)
_WRAP = re.compile(r"\n\s*")
_REFERENCE = re.compile(r"#(\d+)")
_OCCURRENCE = re.compile(r"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\()'\d+'")
_DATE = re.compile(r"(FILE_NAME\('[^']*',)'[^']*'")


def canonical(text: str) -> str:
    """Return a STEP file's text with all that differs between two exports of one model put in a fixed form.

    Raises
    ------
    ExportError
        If the text is not a whole STEP file.
    """
    head, data, tail = text.partition("DATA;\n")
    body, ending, rest = tail.partition("ENDSEC;\n")
    if not (data and ending and rest.startswith("END-ISO-10303-21;")):
        msg = (
            "STEP: the geometry kernel left the file unfinished; the disk may be full, free some space and export again"
        )
        raise ExportError(msg)
    entities = {int(n): _OCCURRENCE.sub(r"\1''", _WRAP.sub("", content)) for n, content in _ENTITY.findall(body)}
    lines = _renumbered(entities, _walk(entities))
    return _DATE.sub(r"\1''", head) + data + "".join(lines) + ending + rest


def _references(content: str) -> list[int]:
    return [int(number) for number in _REFERENCE.findall(content)]


def _fingerprints(entities: dict[int, str]) -> dict[int, bytes]:
    """Return a hash of every entity with all that it refers to, however deep."""
    prints: dict[int, bytes] = {}
    for start in entities:
        waiting = [start]
        while waiting:
            number = waiting[-1]
            missing = [n for n in _references(entities[number]) if n not in prints]
            if missing:
                waiting.extend(missing)
                continue
            waiting.pop()
            text = _REFERENCE.sub(lambda found: prints[int(found[1])].hex(), entities[number])
            prints[number] = hashlib.sha256(text.encode()).digest()
    return prints


def _walk(entities: dict[int, str]) -> list[int]:
    """Return the entities' numbers in the order of a walk from the roots, each before what it refers to."""
    prints = _fingerprints(entities)
    referred = Counter(number for content in entities.values() for number in _references(content))
    waiting = sorted((n for n in entities if n not in referred), key=lambda n: prints[n], reverse=True)
    met: dict[int, None] = {}
    while waiting:
        number = waiting.pop()
        if number not in met:
            met[number] = None
            waiting.extend(reversed(_references(entities[number])))
    return list(met)


def _renumbered(entities: dict[int, str], order: list[int]) -> list[str]:
    numbers = {old: new for new, old in enumerate(order, 1)}
    occurrences = 0
    lines = []
    for old in order:
        content = _REFERENCE.sub(lambda found: f"#{numbers[int(found[1])]}", entities[old])
        if content.startswith("NEXT_ASSEMBLY_USAGE_OCCURRENCE"):
            occurrences += 1
            content = content.replace("''", f"'{occurrences}'", 1)
        lines.append(f"#{numbers[old]} = {content};\n")
    return lines
