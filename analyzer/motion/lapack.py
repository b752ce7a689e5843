"""LAPACK's routines for banded matrices, as scipy compiled them.

The rest of `scipy.linalg` is not loaded: it takes longer to load than numpy, for its array API above all, and longer than a
debrief takes. Its compiled module stands alone, so it is loaded by itself; where it is not found, `scipy.linalg` is asked.
"""

from __future__ import annotations

import os
import sys
from importlib.machinery import PathFinder
from importlib.util import find_spec, module_from_spec
from typing import TYPE_CHECKING, Any

__all__ = ["dpbtrf", "dpbtrs", "dtbtrs"]

_COMPILED = "scipy.linalg._flapack"


def _routines() -> Any:
    """The module that has the routines: what is loaded already, the compiled one alone, or all of `scipy.linalg`."""
    if _COMPILED in sys.modules:
        return sys.modules[_COMPILED]
    if os.name == "nt":
        import scipy  # noqa: F401 (it says there where the libraries are that the compiled module needs)
    home = find_spec("scipy")
    folders = [f"{folder}/linalg" for folder in home.submodule_search_locations or ()] if home is not None else []
    spec = PathFinder.find_spec(_COMPILED, folders)
    if spec is None or spec.loader is None:
        from scipy.linalg import lapack

        return lapack
    sys.modules[_COMPILED] = compiled = module_from_spec(spec)  # `scipy.linalg` takes this one, if it is loaded later
    spec.loader.exec_module(compiled)
    return compiled


if TYPE_CHECKING:
    from scipy.linalg.lapack import dpbtrf, dpbtrs, dtbtrs
else:
    _LAPACK = _routines()
    dpbtrf, dpbtrs, dtbtrs = _LAPACK.dpbtrf, _LAPACK.dpbtrs, _LAPACK.dtbtrs
