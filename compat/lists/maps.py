"""The mappings that a shop keeps: in its folder `lists`, beside what each list said the last time."""

from __future__ import annotations

from pathlib import Path

from compat.lists.memory import FOLDER
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.shop.writing import write_whole

__all__ = ["keep_map", "map_path", "maps_of"]


def maps_of(folder: Path) -> list[str]:
    """Names of the mappings of a shop, as their files are called."""
    try:
        return sorted(path.name for path in (folder / FOLDER).glob("*.yaml") if path.is_file())
    except OSError:
        return []


def map_path(folder: Path, name: str) -> Path:
    """Where a mapping of a shop lies; only what is there is looked for, whatever the name says.

    Raises
    ------
    Faults
        When there is none of that name.
    """
    known = maps_of(folder)
    if name not in known:
        hint = nearest(name, known) or f"; they lie in the shop's folder {FOLDER}, as {FOLDER}/NAME.yaml"
        raise Faults([Fault(Spot("mapping", 0), f"no mapping is called '{name}'{hint}")])
    return folder / FOLDER / name


def keep_map(folder: Path, name: str, text: str) -> str:
    """Write the mapping of a list into the shop; what is there under that name stays.

    Parameters
    ----------
    folder : Path
        Folder of the shop.
    name : str
        Name of the list.
    text : str
        The mapping.

    Returns
    -------
    str
        The file that was written; empty where there was one.

    Raises
    ------
    OSError
        When it cannot be written.
    """
    (folder / FOLDER).mkdir(exist_ok=True)
    try:
        write_whole(folder / FOLDER / f"{name}.yaml", text, over=False)
    except FileExistsError:
        return ""
    return f"{FOLDER}/{name}.yaml"
