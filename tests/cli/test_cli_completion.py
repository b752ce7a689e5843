"""What the shell is given to complete `debrief --explain`: the names of all checks that begin as typed."""

import os
import subprocess
import sys

import pytest

from analyzer.checks.run import CHECKS

AS_INSTALLED = "import sys; sys.argv[0] = 'analyzer'; from analyzer.cli.app import main; main()"


def completed(typed: str):
    line = f"analyzer debrief log.csv --explain {typed}"
    asked = {"_ANALYZER_COMPLETE": "complete_bash", "COMP_WORDS": line, "COMP_CWORD": "4"}
    return subprocess.run(  # noqa: S603 (our own program)
        [sys.executable, "-c", AS_INSTALLED], env={**os.environ, **asked}, capture_output=True, encoding="utf-8", check=False
    )


@pytest.mark.parametrize("typed", ["", "hold", "missed_c", "nothing"])
def test_explain_completes_to_the_checks_that_begin_so(typed):
    done = completed(typed)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.split() == sorted(done.stdout.split(), key=list(CHECKS).index)
    assert set(done.stdout.split()) == {name for name in CHECKS if name.startswith(typed)}


def test_it_knows_the_checks_of_missed_approaches_and_holds():
    assert {"missed_turn", "hold_turn", "hold_drift"} <= set(completed("").stdout.split())
