"""How many verdicts of a sheet are good, doubtful and bad, as a formula over its words."""

from __future__ import annotations

from functools import cache

from estimator.calc.formula import Expression


@cache
def counted_words(words: int) -> Expression:
    """Return the formula of how many cells hold one of so many words, each word's cells a list of its own.

    >>> counted_words(2).text
    'count(word_0) + count(word_1)'
    """
    return Expression(" + ".join(f"count(word_{number})" for number in range(words)))
