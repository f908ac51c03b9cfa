"""What only the teacher's edition of the page has: predicted fits, the class's forecast, and boxes as they are made."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from markupsafe import Markup

from viewer.drawing.svg import pattern_chip
from viewer.picture.legend import gaps_of
from viewer.reports.check_report import OUTCOME_HEADINGS, outcome_rows, verdict, worst_limit, worst_sentences

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matplotlib.figure import Figure

    from assembly.made.gap_classes import GapScale
    from assembly.model.design import Design
    from assembly.study.check import StudyResult
    from viewer.scene.scene import Scene

_SVG = "http://www.w3.org/2000/svg"
_LINK = "http://www.w3.org/1999/xlink"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownBox:
    """A box that a page can show."""

    title: str
    words: str  # which box it is and how it is drawn
    scene: Scene


def sections(
    design: Design,
    study: StudyResult,
    forecast: Sequence[str],
    plots: Mapping[str, Figure],
) -> str:
    """Return the sections, as HTML.

    Parameters
    ----------
    design : Design
        What is made.
    study : StudyResult
        What many boxes came out like.
    forecast : sequence of str
        What a class can expect, a sentence each.
    plots : mapping of str to Figure
        Plots, and what each shows.
    """
    worst = worst_limit(study)
    said = [*verdict(design, study), *worst_sentences(study, worst)] if worst else ["The design sets no limits."]
    fits = (
        _section("fits", "Predicted fits"),
        _paragraphs(said),
        Markup("<p>From {} simulated boxes (seed {}); sizes in mm.</p>").format(f"{study.boxes:,}", study.seed),
        _table(OUTCOME_HEADINGS, outcome_rows(study)),
        Markup("</section>"),
    )
    classed = (
        _section("forecast", "The class"),
        _paragraphs(forecast),
        *(Markup('<figure class="plot">{}</figure>').format(Markup(inline(plots[what], what))) for what in plots),
        Markup("</section>"),
    )
    return str(Markup("\n").join((*fits, *classed)))


def _section(name: str, title: str) -> Markup:
    words = Markup('<section id="{0}" aria-labelledby="{0}-title"><h2 id="{0}-title">{1}</h2>')
    return words.format(name, title)


def _paragraphs(sentences: Iterable[str]) -> Markup:
    return Markup("").join(Markup("<p>{}</p>").format(sentence) for sentence in sentences)


def _table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> Markup:
    head = Markup("").join(Markup('<th scope="col">{}</th>').format(each) for each in headings)
    body = Markup("").join(
        Markup('<tr><th scope="row">{}</th>{}</tr>').format(
            first, Markup("").join(Markup('<td class="figure">{}</td>').format(cell) for cell in cells)
        )
        for first, *cells in rows
    )
    around = '<div class="table" tabindex="0" role="region" aria-labelledby="fits-title">{}</div>'
    table = Markup("<table><thead><tr>{}</tr></thead><tbody>{}</tbody></table>").format(head, body)
    return Markup(around).format(table)


def key(scale: GapScale) -> str:
    """Return, as HTML, what the patterns on the faces of the joints stand for."""
    rows = Markup("").join(
        Markup("<li>{}{}: {}</li>").format(Markup(pattern_chip(fit.word)), fit.word, gaps_of(fit))
        for fit in scale.classes
    )
    return str(Markup('<ul class="key needs-webgl">{}</ul>').format(rows))


def inline(figure: Figure, title: str) -> str:
    """Return a plot as SVG that may stand in a page: no style of its own, which the content policy would not let be."""
    from viewer.reports.plots import drawn_svg  # noqa: PLC0415 - matplotlib, 1 s, which the pupils' edition can do without

    ET.register_namespace("", _SVG)
    ET.register_namespace("xlink", _LINK)
    root = ET.fromstring(drawn_svg(figure))  # noqa: S314 - written a moment ago by matplotlib
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag in {f"{{{_SVG}}}style", f"{{{_SVG}}}metadata"}:
                parent.remove(child)
    for element in root.iter():
        _attributed(element)
        element.tail = None
        if not (element.text or "").strip():
            element.text = None
    root.set("role", "img")
    root.set("aria-label", title)
    root.set("stroke-linejoin", "round")
    for size in ("width", "height", "version"):
        root.attrib.pop(size, None)
    return ET.tostring(root, encoding="unicode")


def _attributed(element: ET.Element) -> None:
    """Write what an element's style says as attributes, places to a hundredth, and links as SVG 2 has them."""
    for rule in filter(None, (part.strip() for part in element.attrib.pop("style", "").split(";"))):
        name, value = re.split(r"\s*:\s*", rule, maxsplit=1)
        if name == "font":  # no attribute has all of it at once
            found = re.fullmatch(r"(?:(?P<weight>\w+) )?(?P<size>[\d.]+px) (?P<family>.+)", value)
            assert found
            element.attrib |= {f"font-{what}": words for what, words in found.groupdict().items() if words}
        else:
            element.set(name, value)
    for name in {"d", "x", "y", "transform"} & element.attrib.keys():
        element.set(name, re.sub(r"\d+\.\d+", lambda number: f"{float(number[0]):.2f}", element.attrib[name]))
    link = element.attrib.pop(f"{{{_LINK}}}href", None)
    if link is not None:
        element.set("href", link)
