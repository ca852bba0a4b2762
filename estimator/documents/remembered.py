"""Tables that workbook and binder both hold, made once: each function keeps what it gave for the last job."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from operator import is_
from typing import ParamSpec, TypeVar

_Parameters = ParamSpec("_Parameters")
_Made = TypeVar("_Made")


def remembered(function: Callable[_Parameters, _Made]) -> Callable[_Parameters, _Made]:
    """Return the function with a memory of its last result, given again for the very same arguments.

    Arguments are told apart by identity: a job is far too large to be compared. Nobody may change the result.
    """
    last: list[tuple[tuple[object, ...], _Made]] = []

    @wraps(function)
    def recalled(*args: _Parameters.args, **kwargs: _Parameters.kwargs) -> _Made:
        given = (*args, *kwargs.keys(), *kwargs.values())
        if not (last and len(last[0][0]) == len(given) and all(map(is_, last[0][0], given))):
            last[:] = [(given, function(*args, **kwargs))]
        return last[0][1]

    return recalled
