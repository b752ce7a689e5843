"""The small pictures of a pilot's progress, read back from their SVG: a sign for each value at its place, limit and trend."""

import re
from itertools import pairwise

import pytest

from analyzer.comparison.figure_limits import Limited
from analyzer.comparison.measuring import Measured
from analyzer.comparison.progress import KeptAttempt, kept_rows
from analyzer.report.pictures.progress_pictures import ProgressPicture, progress_pictures

DAY_S = 86400.0
BEGIN_S = 1781431200.0  # 14 June 2026
PLACE = r"(-?[\d.]+)[ ]?(-?[\d.]+)"


def attempts(values, limits=(), key="farthest_nm") -> list[KeptAttempt]:
    """Attempts a day apart, each with one figure; a limit is a value and a verdict."""
    padded = [*limits, *[None] * (len(values) - len(limits))]
    return [
        KeptAttempt(
            "basis", "reversal", 1, "", BEGIN_S + DAY_S * k, "45/180", "inside", "why",
            {key: Measured(value)} if value is not None else {}, {key: Limited(*limit)} if limit is not None else {}, (), 0,
        )
        for k, (value, limit) in enumerate(zip(values, padded, strict=True))
    ]  # fmt: skip


def picture(kept: list[KeptAttempt]) -> ProgressPicture:
    (made,) = progress_pictures(kept_rows(kept), kept, "p-")
    return made


def dots(made: ProgressPicture, colour: str, square: bool = False) -> list[tuple[float, float]]:
    """The places of the dots of a colour, squares or round ones."""
    found = []
    for path, attributes in re.findall(r'<path d="([^"]*h0)"([^>]*)/>', made.svg):
        if f"var(--{colour})" in attributes and ('linecap="square"' in attributes) == square:
            found += [(float(x), float(y)) for x, y in re.findall(rf"M{PLACE}h0", path)]
    return found


def test_each_value_has_one_sign_by_its_verdict():
    verdicts = ["inside", "outside", "too close to call", "excused", "not assessed"]
    made = picture(attempts([8.0, 12.0, 9.99, 11.0, 9.0, 7.0], [(10.0, verdict) for verdict in verdicts]))
    assert len(dots(made, "warn", square=True)) == 1
    assert len(dots(made, "close")) == 1
    assert len(dots(made, "quiet")) == 1
    assert len(dots(made, "outbound")) == 3
    assert made.caption == (
        "Greatest distance [NM]: first 8.00, last 7.00; limit 10.00; 1 of 5 outside, 1 of 5 too close, 1 of 5 excused."
    )
    assert made.alt.endswith("from 7.00 to 12.00.")


def test_values_stand_in_order_and_to_scale():
    made = picture(attempts([1.0, 3.0, 2.0, 5.0]))
    places = dots(made, "outbound")
    steps = [b[0] - a[0] for a, b in pairwise(places)]
    assert steps == pytest.approx(
        [steps[0]] * 3, abs=0.21
    )  # places are to a tenth of a point, so a step is to a tenth either way
    down = [y for _, y in places]
    per_mile = (down[0] - down[3]) / 4.0
    assert [(down[0] - y) / per_mile for y in down] == pytest.approx([0.0, 2.0, 1.0, 4.0], abs=0.02)


def test_a_missing_value_leaves_its_place_empty():
    with_hole, without = picture(attempts([1.0, None, 2.0])), picture(attempts([1.0, 1.5, 2.0]))
    assert [x for x, _ in dots(with_hole, "outbound")] == [x for x, _ in dots(without, "outbound")][::2]


def test_the_limit_is_dashed_at_its_height_and_steps_where_it_changes():
    made = picture(attempts([8.0, 12.0, 8.0, 8.0], [(12.0, "inside"), (12.0, "inside"), None, (8.0, "inside")]))
    (dashed,) = re.findall(r'<path d="([^"]*)"[^>]*var\(--warn\)[^>]*stroke-dasharray', made.svg)
    numbers = [float(number) for number in re.findall(r"-?\d*\.?\d+", dashed)]
    xs, ys = [numbers[0]], [numbers[1]]
    for dx, dy in zip(numbers[2::2], numbers[3::2], strict=True):
        xs.append(xs[-1] + dx)
        ys.append(ys[-1] + dy)
    heights = dict(zip((8.0, 12.0), (dots(made, "outbound")[0][1], dots(made, "outbound")[1][1]), strict=True))
    assert ys[0] == pytest.approx(heights[12.0], abs=0.11)
    assert ys[-1] == pytest.approx(heights[8.0], abs=0.11)
    assert "limits 8.00 to 12.00" in made.caption


def test_only_a_trend_that_can_be_claimed_has_a_line():
    """Five attempts in order are too few for one figure at 0.05 by Kendall's test (2 in 5! orders is 0.017), three are not."""
    falling, up_and_down = picture(attempts([9.0, 8.0, 7.0, 6.0, 5.0])), picture(attempts([9.0, 6.0, 8.0, 5.0, 7.0]))
    assert "trend down about 1.000 NM an attempt" in falling.caption
    assert len(re.findall(r'<path d="[^"]*l[^"]*" stroke="var\(--ink\)"', falling.svg)) == 1
    assert "trend" not in up_and_down.caption
    assert 'stroke="var(--ink)"' not in up_and_down.svg


def test_scatter_below_what_a_pilot_would_notice_looks_like_none():
    """A hundredth of a mile, where a mile is worth noticing, fills no more than a hundredth of the height."""
    made = picture(attempts([7.00, 7.01, 7.00]))
    ys = [y for _, y in dots(made, "outbound")]
    assert max(ys) - min(ys) <= 1.0


def test_many_attempts_take_little_room():
    made = picture(attempts([7.0 + (k * k % 13) / 10.0 for k in range(500)], [(8.0, "inside")] * 500))
    assert len(dots(made, "outbound")) == 500
    assert len(made.svg) < 9000


def test_what_is_outside_most_often_comes_first_and_one_value_is_no_picture():
    kept = [
        KeptAttempt(
            "basis", "reversal", 1, "", BEGIN_S + DAY_S * k, "45/180", "outside", "why",
            {"farthest_nm": Measured(9.0 + k), "steepest_bank_deg": Measured(40.0 + k), "wind_kt": Measured(9.0)} if k else
            {"farthest_nm": Measured(9.0), "steepest_bank_deg": Measured(40.0)},
            {"farthest_nm": Limited(10.0, "inside"), "steepest_bank_deg": Limited(30.0, "outside")}, (), 0,
        )
        for k in range(2)
    ]  # fmt: skip
    made = progress_pictures(kept_rows(kept), kept, "p-")
    assert [one.key for one in made] == ["steepest_bank_deg", "farthest_nm"]


@pytest.mark.parametrize(
    ("step", "many", "said"),
    [
        (0.5, 9, "about 0.500 NM an attempt"),
        (0.0004, 9, "less than 0.001 NM an attempt"),
        (0.0004, 200, "about 0.00040 NM an attempt"),  # 0.08 NM in all
    ],
)
def test_a_small_step_that_comes_to_much_is_said_with_its_digits(step, many, said):
    assert f"trend up {said}" in picture(attempts([7.0 + step * k for k in range(many)])).caption
