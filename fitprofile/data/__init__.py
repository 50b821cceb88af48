"""Figures that ship with the package, and the one place that opens them.

`fitprofile/data/README.md` says where they come from and how they were made.
"""

from __future__ import annotations

import json
import pkgutil
from functools import cache
from typing import Any


@cache
def survey_table() -> dict[str, Any]:
    """Moments and ranges of the surveyed bodies, as the file holds them; read once.

    Returns
    -------
    dict
        ``source`` : str, the survey and its report.
        ``names`` : list of str, the body dimensions in the order of all vectors.
        ``sexes`` : dict by sex of ``count``, ``mean`` (n) float, mm or kg, and ``covariance``,
        the lower triangle row by row.
        ``ranges`` : dict by name of [low, high], mm or kg, 0.1 and 99.9 % of both sexes pooled.
        ``ratios`` : list of [numerator, denominator, low, high], the same percentiles.

    Notes
    -----
    ``pkgutil`` reads from a wheel or a zip as ``importlib.resources`` does, and takes 1 ms to
    import instead of 7.
    """
    content = pkgutil.get_data(__name__, "survey.json")
    if content is None:
        raise FileNotFoundError("the package was installed without fitprofile/data/survey.json")
    table: dict[str, Any] = json.loads(content)
    return table
