"""Numbers that may be arrays: the types, and the refusal that names the first wrong one. `Array`, `Numbers`, `check_all`."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Numbers = float | Array
"""A number, or an array of them that broadcasts with the others."""


def check_all(field: str, value: ArrayLike, good: ArrayLike, accepted: str) -> None:
    """Refuse a number, or an array with a wrong one in it.

    field: name of the input [-]
    value: the number or the array [-]
    good: which of its numbers are accepted, of the same shape [-]
    accepted: what is accepted, in words [text]
    Result: nothing when all are good. Range: raises ValueError for the first that is not. Source: own definition.

    >>> sizes = np.array([60.0, -1.0, -2.0])
    >>> check_all("diameter", sizes, sizes > 0.0, "more than 0")
    Traceback (most recent call last):
        ...
    ValueError: diameter: -1.0: accepted: more than 0
    """
    wrong = ~np.asarray(good, dtype=np.bool_)
    if np.any(wrong):
        raise ValueError(f"{field}: {float(np.asarray(value)[wrong].flat[0])}: accepted: {accepted}")
