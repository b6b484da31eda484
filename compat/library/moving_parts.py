"""Moving the parts that a build carries itself into the catalogue, as their author wrote them."""

from __future__ import annotations

import os
from errno import EEXIST
from pathlib import Path
from typing import Any

from compat.library.saying import flow
from compat.record import record
from compat.shop.source import Fault, Faults, Node, Spot, read_bytes, tree_of
from compat.shop.together import write_together
from compat.shop.writing import write_whole

__all__ = ["finish_keeping", "keep_parts"]


def keep_parts(folder: Path, file: Path, build: str = "") -> Path:
    """Move a build's own parts into a file of the catalogue.

    Of a build of the shop both files are written as one. A draft from outside is written last: broken off
    before, the shop is whole and has the parts already, and the next call takes them out of the draft.

    Parameters
    ----------
    folder : Path
        The shop.
    file : Path
        Where the build is written.
    build : str
        Which of its builds; where it holds one, that.

    Returns
    -------
    Path
        The new file.

    Raises
    ------
    Faults
        When the build carries no parts, the file cannot be parted by its lines, or was changed meanwhile.
    OSError
        When a file cannot be written, or the new one is there already.
    """
    parting = _parting(folder, file, build)
    if parting.path.exists():
        raise FileExistsError(EEXIST, "is there already, and is not written over", str(parting.path))
    new = parting.path.relative_to(folder).as_posix()
    if (inside := _inside(folder, file)) is None:
        write_together(folder, {new: parting.moved}, {new: None})
        write_whole(file, parting.left)
    else:
        write_together(folder, {new: parting.moved, inside: parting.left}, {new: None, inside: parting.before})
    return parting.path


def finish_keeping(folder: Path, file: Path) -> Path | None:
    """Take out of a draft what the catalogue has already word for word, as `keep_parts` was broken off.

    Parameters
    ----------
    folder : Path
        The shop.
    file : Path
        A draft outside the shop.

    Returns
    -------
    Path or None
        The file of the catalogue; None where nothing was begun.
    """
    try:
        parting = _parting(folder, file, "")
    except Faults:  # which opening it with the shop tells
        return None
    if _inside(folder, file) or not parting.path.is_file() or parting.path.read_text("utf-8") != parting.moved:
        return None
    write_whole(file, parting.left)
    return parting.path


@record
class _Parting:
    """A file that carries parts, and what is to become of it."""

    path: Path
    """Where the parts go."""
    moved: str
    left: str
    before: bytes


def _parting(folder: Path, file: Path, build: str) -> _Parting:
    raw = read_bytes(file, str(file))
    text = raw.decode("utf-8-sig")
    tree = tree_of(raw, str(file))
    node = _build(tree, build, file)
    moved, left = _parted(text, node)
    name = str(node.data["build"])
    said = [part.data for part in node.children["parts"].children.values()]
    if _data(moved) != said or _builds(_data(left)) != _builds(tree.data, name):
        told = "the program cannot part its lines here without losing a word; move the entries by hand"
        raise Faults([Fault(node.spot_of(["parts"]), told)])
    path = folder / "catalog" / "parts" / f"kept_from_{name.replace('-', '_')}.yaml"
    return _Parting(path, moved, left, raw)


def _inside(folder: Path, file: Path) -> str | None:
    """The path of a file of the catalogue from the shop's folder; None where it is none."""
    own = Path(os.path.relpath(file, folder)).as_posix()
    return own if own.startswith("catalog/") else None


def _build(tree: Node, build: str, file: Path) -> Node:
    nodes = list(tree.children.values()) if isinstance(tree.data, list) else [tree]
    for node in nodes:
        named = isinstance(node.data, dict) and node.data.get("build") == build
        if named or (not build and len(nodes) == 1 and isinstance(node.data, dict)):
            if isinstance(node.data.get("parts"), list) and node.data["parts"]:
                return node
            raise Faults([Fault(node.spot, "carries no parts of its own")])
    raise Faults([Fault(Spot(str(file)), "holds no build whose parts are meant; name it by its id")])


def _parted(text: str, node: Node) -> tuple[str, str]:
    """The parts as a file of their own, and the file without them."""
    lines = text.splitlines(keepends=True)
    mark = node.keys["parts"]
    first, column = mark.line, mark.column
    after = first + 1
    while after < len(lines) and (not lines[after].strip() or _inset(lines[after]) > column):
        after += 1
    while not lines[after - 1].strip():
        after -= 1
    head = lines[first][column:].partition(":")[2].partition("#")[0].strip()
    block = lines[first + 1 : after]
    if head or not block:  # written on the line of the word: there are no lines of its own to move
        said = [part.data for part in node.children["parts"].children.values()]
        moved = "".join(f"- {_entry(part)}" for part in said)
    else:
        inset = min(_inset(line) for line in block if line.strip())
        moved = "".join(line[inset:] if line.strip() else line for line in block)
    if moved and not moved.endswith("\n"):
        moved += "\n"
    head_note = f"# Kept from the build {node.data['build']}.\n"
    return head_note + moved, "".join(lines[:first] + lines[after:])


def _entry(part: dict[str, Any]) -> str:
    return "\n  ".join(f"{name}: {flow(value)}" for name, value in part.items()) + "\n"


def _inset(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _data(text: str) -> Any:
    """What a text says; None where it says nothing that can be read."""
    try:
        return tree_of(text.encode(), "").data
    except Faults:
        return None


def _builds(data: Any, less: str = "") -> Any:
    """Everything that a file says, its builds without their own parts where one is named."""
    if not isinstance(data, list):
        data = [data]
    return [
        {key: value for key, value in entry.items() if key != "parts"}
        if isinstance(entry, dict) and entry.get("build") == less
        else entry
        for entry in data
    ]
