"""Photos of steps: looked at by their first bytes, renamed by what they hold, and given back one by one."""

from __future__ import annotations

from datetime import datetime
from hashlib import blake2b
from pathlib import Path
from typing import Final

from fastapi import HTTPException

from compat.bench.journal import Entry
from compat.bench.sheet import Step
from compat.page.at_bench import AtBench, step_key
from compat.shop.source import Fault, Faults, Spot
from compat.shop.writing import write_whole

__all__ = ["MOST_PHOTOS", "keep_photo", "photo_at", "photos_of"]

MOST_PHOTOS: Final = 24
"""Of one step."""
MOST_BYTES: Final = 15_000_000
STARTS: Final = ((b"\xff\xd8\xff", ".jpg"), (b"\x89PNG\r\n\x1a\n", ".png"))
MEDIA: Final = {".jpg": "image/jpeg", ".png": "image/png"}


def keep_photo(bench: AtBench, step: Step, raw: bytes, by: str) -> str:
    """Keep a photo of a step; one that is kept already is kept once.

    Parameters
    ----------
    bench : AtBench
        The build.
    step : Step
        The step that it shows.
    raw : bytes
        The file.
    by : str
        Who took it.

    Returns
    -------
    str
        Its name: a digest of what it holds.

    Raises
    ------
    Faults
        When it is no photo, too large, one too many, or cannot be kept.
    """
    ending = next((ending for start, ending in STARTS if raw.startswith(start)), "")
    key = step_key(step)
    of_step = photos_of(bench, step)
    told = ""
    if not ending:
        told = "is neither JPEG nor PNG by its first bytes; set the camera to one of these"
    elif len(raw) > MOST_BYTES:
        told = f"has {len(raw) / 1e6:.1f} MB; the most is {MOST_BYTES / 1e6:.0f} MB"
    elif len(of_step) >= MOST_PHOTOS:
        told = f"is one more than the {MOST_PHOTOS} that a step may have"
    if told:
        raise Faults([Fault(Spot("photo", 0), told)])
    name = f"{blake2b(raw, digest_size=16).hexdigest()}{ending}"
    if any(entry.value == name for entry in of_step):
        return name
    folder = bench.kept.photos
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(folder / name, raw)
    except OSError as error:
        told = f"cannot be kept in {folder}: {error.strerror or error}"
        raise Faults([Fault(Spot("photo", 0), told)]) from error
    now = datetime.now().astimezone().isoformat(timespec="seconds")
    bench.kept.add(
        bench.ready,
        [Entry(f"photo-{step.kind}-{step.id}-{name[:24]}"[:64], "photo", key, name, place=name, by=by, at=now)],
    )
    return name


def photos_of(bench: AtBench, step: Step) -> list[Entry]:
    """The photos of a step, in the order in which they came."""
    key = step_key(step)
    return [one.entry for one in bench.held.values() if one.entry.kind == "photo" and one.entry.what == key]


def photo_at(bench: AtBench, file: str) -> tuple[Path, str]:
    """Where a photo of a build lies, and what it is.

    Raises
    ------
    HTTPException
        When no step of this build has one of that name.
    """
    if not any(one.entry.kind == "photo" and one.entry.value == file for one in bench.held.values()):
        raise HTTPException(404)
    path = bench.kept.photos / file
    if not path.is_file():
        raise HTTPException(404)
    return path, MEDIA[path.suffix]
