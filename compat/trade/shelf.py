"""What the shop's own shelf gives for what is wanted."""

from __future__ import annotations

from collections.abc import Sequence

from compat.shop.shop import Shop
from compat.trade.plans import Taken
from compat.trade.wanting import Wanted

__all__ = ["shelved"]


def shelved(shop: Shop, part: str, wants: Sequence[Wanted], most: int) -> list[Taken]:
    """Take pieces of a part from the shelf.

    Parameters
    ----------
    shop : Shop
        The shop.
    part : str
        The part.
    wants : sequence of Wanted
        What it is wanted for.
    most : int
        So many pieces are taken at most.

    Returns
    -------
    list of Taken
        Place by place. Used pieces go only where used ones will do, and there before new ones.
    """
    stock = shop.stock.get(part)
    if stock is None:
        return []
    used = sum(want.count for want in wants if want.used)
    new = sum(want.count for want in wants) - used
    found = []
    for entry in sorted(stock.shelf, key=lambda entry: entry.condition == "new"):
        count = min(entry.count, used if entry.condition == "used" else used + new, most)
        if count <= 0:
            continue
        most -= count
        to_used = min(used, count)
        used, new = used - to_used, new - (count - to_used)
        stays = entry.count - count
        name = shop.parts[part].name
        found.append(Taken(part, name, count, entry.place, entry.condition, tuple(wants), stays))
    return found
