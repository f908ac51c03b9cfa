"""The shipped frost-watch box, its makers and a judge of its sections, made once for all tests that ask."""

import functools
import json
import sys

import pytest
from commands import hold_to_schema

from assembly.files.reading import maker, read_design
from assembly.model.design import Design
from assembly.model.workshop import Workshop
from assembly.section.judging import Judge
from assembly.section.trials import Trials
from viewer import cli

BOXES = 2_000


@functools.cache
def frost_watch(*words: str) -> Design:
    """Return the shipped design, changed by settings."""
    return read_design("frost_watch", words)


@functools.cache
def workshop() -> Workshop:
    """Return who makes it."""
    return maker(frost_watch(), "frost_watch")


@functools.cache
def judge(boxes: int = BOXES, *words: str) -> Judge:
    """Return a judge with the design, so changed, as its reference."""
    return Judge(Trials(frost_watch(*words), workshop(), boxes=boxes), frost_watch(*words))


def level(verdict, row):
    """Return the level of one row of a verdict."""
    return next(reason.level for reason in verdict.reasons if reason.row == row)


def one_line(text):
    """Return a folded text as one line."""
    return " ".join(text.split())


class Command:
    """`lapwright section` run in this process: exit code, output and error stream."""

    def __init__(self, monkeypatch, capsys):
        """Take what stands in for the command line."""
        self._monkeypatch, self._capsys = monkeypatch, capsys

    def __call__(self, *words, design="frost_watch", boxes=200, details=True):
        """Run with words after the design's name, with details if nothing is said."""
        asked = ["--boxes", str(boxes), *(["--details"] if details else ()), *words]
        self._monkeypatch.setattr(sys, "argv", ["lapwright", "section", design, *asked])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = self._capsys.readouterr()
        return int(end.value.code or 0), out, err

    def data(self, *words, **how):
        """Return what it prints as JSON."""
        data = json.loads(self(*words, "--json", **how)[1])
        hold_to_schema(data)
        return data
