"""Moving the parts that a build carries itself into the catalogue, as their author wrote them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from compat.library.saying import flow
from compat.shop.source import Fault, Faults, Node, Spot, read_bytes, tree_of
from compat.shop.writing import write_whole

__all__ = ["keep_parts"]


def keep_parts(folder: Path, file: Path, build: str = "") -> Path:
    """Move a build's own parts into a file of the catalogue.

    The new file is written before the old one is, so that whatever happens between, nothing is lost: the
    parts are then given twice, and the shop says so.

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
        When the build carries no parts, or the file cannot be parted by its lines.
    OSError
        When a file cannot be written.
    """
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
    path.parent.mkdir(exist_ok=True)
    write_whole(path, moved, over=False)
    write_whole(file, left)
    return path


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
