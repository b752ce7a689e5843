"""The routines are scipy's own, found with all of `scipy.linalg` and without."""

import subprocess
import sys

import pytest
from scipy.linalg import lapack as published

from analyzer.motion import lapack

ALONE = """
import sys
from analyzer.motion import lapack
assert "scipy.linalg" not in sys.modules
"""
# what loads the rest later gets the same routines, and its solver still solves
THEN_THE_REST = """
import scipy.linalg.lapack
from scipy.linalg import solveh_banded
assert scipy.linalg.lapack.dpbtrf is lapack.dpbtrf
assert abs(solveh_banded([[2.0, 4.0]], [2.0, 2.0]) - [1.0, 0.5]).max() < 1e-15
"""
NOT_FOUND = """
from importlib.machinery import PathFinder
PathFinder.find_spec = lambda name, path=None, target=None, real=PathFinder.find_spec: (
    None if name.endswith("_flapack") and "scipy.linalg" not in sys.modules else real(name, path, target)
)
"""


def python(program: str) -> None:
    done = subprocess.run([sys.executable, "-W", "error", "-c", program], capture_output=True, text=True, check=False)  # noqa: S603
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize("name", lapack.__all__)
def test_they_are_those_of_scipy(name):
    assert getattr(lapack, name) is getattr(published, name)


def test_they_are_loaded_alone_and_the_rest_may_follow():
    python(ALONE + THEN_THE_REST)


def test_where_scipy_keeps_them_elsewhere_its_public_module_is_asked():
    python(
        "import sys\n"
        + NOT_FOUND
        + "from analyzer.motion import lapack\nassert 'scipy.linalg' in sys.modules\n"
        + THEN_THE_REST
    )
