"""Whatever is flown about a fix, what is found is whole: parts in order, within the log, and none of two approaches at once."""

from itertools import pairwise

import numpy as np
import pytest
from found import NOISY, found
from synthetic import HERE, START_S, Segment, Straight, Turn, fly, standard_rate_bank
from test_false_shapes import KINDS, laid

BANK = standard_rate_bank(120.0)


def wandering(seed: int) -> list[Segment]:
    """Over the fix and then straight and round at random, mostly by the turns that reversals and orbits are made of."""
    random = np.random.default_rng(seed)
    path: list[Segment] = [Straight("in", 90.0)]
    for number in range(24):
        turn = float(random.choice([45.0, 80.0, 90.0, 180.0, 225.0, 260.0, 360.0]) * random.choice([-1.0, 1.0]))
        path += [Straight(f"leg {number}", float(random.uniform(15.0, 150.0))), Turn(f"turn {number}", turn, BANK)]
    return path


@pytest.mark.parametrize("seed", range(30))
def test_parts_are_in_order_and_within_the_log(seed):
    flown = fly(wandering(seed), (0.0, -3.0), 0.0, 120.0, roll_deg_s=5.0)
    ends_s = START_S + float(flown.time_s[-1])
    for kind, hand in KINDS:
        charted, place = laid(kind, hand, HERE.latitude_deg, HERE.longitude_deg, (HERE.outbound_true_deg + 180.0) % 360.0)
        approaches = found(flown, NOISY, place, charted)
        for one in approaches:
            assert one.parts
            for before, after in pairwise(one.parts):
                assert before.start_s < before.end_s <= after.start_s + 1e-6
            assert one.parts[-1].end_s <= ends_s + 1.0
        for one, other in pairwise(approaches):
            assert other.parts[-1].end_s > one.parts[0].start_s
            assert other.begun_s >= one.begun_s
