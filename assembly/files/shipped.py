"""The designs and workshops that come with the package, and the starter from which a new design is written."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from assembly.errors import ConfigError, ExportError, InputError, Problem
from assembly.files.writing import drafts
from assembly.text import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Mapping

STARTER = "starter"
_SCHEMA_LINE = "#:schema ./{kind}.schema.json"


@cache
def configs_folder() -> Path:
    """Return the folder of the shipped files: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).parent.parent
    inside = package / "configs"
    return inside if inside.is_dir() else package.parent / "configs"


@cache
def _shipped(kind: str) -> dict[str, Path]:
    """Return the shipped files of a kind by name; the first line of a file says which schema it keeps."""
    line = _SCHEMA_LINE.format(kind=kind)
    found = {}
    for path in sorted(configs_folder().glob("*.toml")):
        with path.open(encoding="utf-8") as file:
            if file.readline().strip() == line:
                found[path.stem] = path
    return found


def shipped_designs() -> dict[str, Path]:
    """Return the paths of the shipped designs, the starter among them, by name."""
    return dict(_shipped("design"))


def shipped_workshops() -> dict[str, Path]:
    """Return the paths of the shipped workshops by name."""
    return dict(_shipped("workshop"))


def is_shipped(path: Path) -> bool:
    """Tell whether a file is one of those that ship, however its path is spelt."""
    return path.resolve().parent == configs_folder().resolve()


def shipped(name: str) -> Path:
    """Return the path of a shipped design or workshop by its bare name.

    Raises
    ------
    InputError
        If no file of that name ships.
    """
    files = shipped_designs() | shipped_workshops()
    if name not in files:
        msg = f"{name}: no such file ships with lapwright; there are {', '.join(sorted(files))}"
        raise InputError(msg)
    return files[name]


def design_file(name: str | Path) -> Path:
    """Return the file that a command's word means: a file that exists, else the shipped one of that name.

    Raises
    ------
    ConfigError
        If there is neither.
    """
    path, files = Path(name), shipped_designs() | shipped_workshops()
    if str(name) in files and not path.is_file():
        return files[str(name)]
    if _exists(path):
        return path
    ended = f"{name}.toml"
    guess = f"did you mean {ended!r}? " if _exists(Path(ended)) else ""
    what = f"does not exist; {guess}{cure_of('' if guess else path.stem, 'file', shipped_designs())}"
    raise ConfigError(str(name), [Problem(where="file", line=None, what=what)])


def cure_of(name: str, kind: str, files: Mapping[str, Path]) -> str:
    """Say what else to give than a name that is none of some shipped files'."""
    guess = did_you_mean(name, files)
    return f"{guess}{' ' if guess else ''}give the path of a {kind}, or a shipped one: {', '.join(files)}"


def workshop_file(name: str | Path, folder: Path) -> Path | None:
    """Return the shipped file of a name, or the file at a path from `folder`; None if there is neither."""
    files = shipped_workshops() | shipped_designs()
    if str(name) in files:
        return files[str(name)]
    path = folder / name
    return path if _exists(path) else None


def _exists(path: Path) -> bool:
    """Tell whether something is there; a name that no file can have (NUL, too long) is not, an unreadable one is."""
    try:
        return path.exists()
    except PermissionError:
        return True
    except (OSError, ValueError):
        return False


def new_design(path: str | Path) -> Path:
    """Write a commented starter design to a file that does not exist yet, and return its path, which ends in .toml.

    Raises
    ------
    InputError
        If something is there already: nothing is overwritten.
    ExportError
        If the file can't be written; nothing is left behind.
    """
    target = Path(path)
    if target.suffix.lower() != ".toml":
        target = target.with_name(f"{target.name}.toml")
    if _exists(target):
        msg = f"{target}: is there already and is not overwritten; give another name or move it away"
        raise InputError(msg)
    lines = shipped(STARTER).read_text(encoding="utf-8").splitlines(keepends=True)
    try:
        with drafts([target]) as (draft,):
            draft.write_text("".join(lines[1:]), encoding="utf-8")  # its schema does not lie beside a user's file
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no file can have that name"
        msg = f"{target}: can't be written ({reason.lower()}); give a folder that exists and that you may write to"
        raise ExportError(msg) from error
    return target
