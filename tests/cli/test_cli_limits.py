"""Which limits of a log hold: the command line's, then the log format's, then the command's own."""

import pytest

from analyzer.cli.options import LimitsOfLog, Reading, read_options
from analyzer.gradebook.settings import LIMITS
from analyzer.track.limits import DEFAULT_LIMITS, Limits


@pytest.mark.parametrize("usual", [None, LIMITS])
@pytest.mark.parametrize("text", [None, "", "max_samples = 7\n", "max_samples = 7\nmax_bytes = 8\n"])
@pytest.mark.parametrize("asked", [(None, None), (5, None), (None, 6), (DEFAULT_LIMITS.max_bytes, DEFAULT_LIMITS.max_samples)])
def test_each_limit_comes_from_the_nearest_that_says_it(tmp_path, usual, text, asked):
    path = None
    if text is not None:
        path = tmp_path / "format.toml"
        path.write_text(text, encoding="utf-8")
    found = read_options(Reading(log_format=path), LimitsOfLog(*asked), usual=usual).limits
    own = usual or DEFAULT_LIMITS
    most_bytes = 8 if text and "max_bytes" in text else own.max_bytes
    most_samples = 7 if text else own.max_samples
    assert found == Limits(asked[0] or most_bytes, asked[1] or most_samples)
