"""Findings that say the same, told once."""

from __future__ import annotations

from collections.abc import Iterable

from compat.words.wording import in_sentence, listed

__all__ = ["told_once"]


def told_once(said: Iterable[tuple[str, str]]) -> list[str]:
    """Titles with what is said of them; what is said of several in the same words stands there once.

    Parameters
    ----------
    said : iterable of (str, str)
        Title and sentence of each finding.

    Returns
    -------
    list of str
        ``title: sentence``, in the order in which each sentence comes first.

    Examples
    --------
    >>> told_once([("Turbine", "886 degC"), ("Manifold", "886 degC"), ("Oil cooler", "9.0 kW")])
    ['Turbine and manifold: 886 degC', 'Oil cooler: 9.0 kW']
    """
    titles: dict[str, list[str]] = {}
    for title, sentence in said:
        held = titles.setdefault(sentence, [])
        if title not in held:
            held.append(title)
    return [
        f"{listed([first, *map(in_sentence, more)])}: {sentence}" for sentence, (first, *more) in titles.items()
    ]
