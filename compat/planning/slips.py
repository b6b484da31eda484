"""Slips of the finger: which words may have been meant."""

from __future__ import annotations

from collections import Counter
from string import ascii_lowercase, digits

__all__ = ["one_slip", "two_slips"]


def one_slip(word: str) -> set[str]:
    """Words that differ by a letter left out, put in, taken for another, or changed with the next.

    >>> {"pistn", "pistoon", "pisten", "pitson"} <= one_slip("piston"), "piston" in one_slip("piston")
    (True, False)
    """
    letters = ascii_lowercase + digits
    cuts = [(word[:at], word[at:]) for at in range(len(word) + 1)]
    found = {first + last[1:] for first, last in cuts if last}
    found |= {first + last[1] + last[0] + last[2:] for first, last in cuts if len(last) > 1}
    found |= {first + one + last[1:] for first, last in cuts if last for one in letters}
    return (found | {first + one + last for first, last in cuts for one in letters}) - {"", word}


def two_slips(word: str, other: str) -> bool:
    """Whether two words are no more than two slips apart; of most that are not, their letters tell.

    >>> two_slips("crankshaft", "crnakshafts"), two_slips("crankshaft", "camshaft")
    (True, False)
    """
    if abs(len(word) - len(other)) > 2 or (Counter(word) - Counter(other)).total() > 2:
        return False
    before, row = list[int](), list(range(len(other) + 1))
    for i, letter in enumerate(word, 1):
        last, before, row = before, row, [i]
        for j, one in enumerate(other, 1):
            least = min(before[j] + 1, row[-1] + 1, before[j - 1] + (letter != one))
            if i > 1 and j > 1 and letter == other[j - 2] and word[i - 2] == one:
                least = min(least, last[j - 2] + 1)
            row.append(least)
    return row[-1] <= 2
