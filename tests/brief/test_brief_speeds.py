"""The maximum speeds that a brief warns of: charted, of holds by altitude, and of procedure turns."""

from dataclasses import replace

import pytest
from briefed import arc_chart, base_chart, briefed, hold_chart, turn_chart

from analyzer.brief.chances import Errors
from analyzer.physics.holding import maximum_speed_kt
from analyzer.report.words.brief_text import brief_text

FEW = Errors(flights=10)


@pytest.mark.parametrize(
    ("feet", "knots"), [(0, 200), (3000, 200), (6000, 200), (6001, 230), (14_000, 230), (14_001, 265), (25_000, 265)]
)
def test_the_maximum_speed_of_a_hold(feet, knots):
    # AIM 5-3-8 j.2, table 5-3-20: to 6,000 ft 200 KIAS, 6,001 to 14,000 ft 230, 14,001 ft and above 265
    assert maximum_speed_kt(feet * 0.3048) == knots


def text_of(chart, feet, **given) -> str:
    return " ".join(brief_text(briefed(replace(chart, floors_ft={"outbound": float(feet)}), errors=FEW, **given)).split())


@pytest.mark.parametrize(
    ("chart", "feet", "knots", "said"),
    [
        (hold_chart(), 6000, "201", "faster than the 200 kt for a hold at 6,000 ft (AIM 5-3-8 j.2)"),
        (hold_chart("left"), 6000, "200", None),
        (hold_chart(), 8000, "230", None),
        (hold_chart(), 8000, "231", "faster than the 230 kt for a hold at 8,000 ft (AIM 5-3-8 j.2)"),
        (hold_chart(leg_time_s=60.0, maximum_speed_kias=175.0), 8000, "180", "faster than the 175 kt charted"),
        (turn_chart(), 8000, "201", "faster than the 200 kt for a procedure turn (AIM 5-4-9 a.3)"),
        (turn_chart(), 8000, "200", None),
        (base_chart("left", 18.0), 3000, "205", "faster than the 200 kt for a procedure turn (AIM 5-4-9 a.3)"),
        (turn_chart(maximum_speed_kias=160.0), 3000, "165", "faster than the 160 kt charted for the reversal"),
        (turn_chart(maximum_speed_kias=250.0), 3000, "220", None),
        (arc_chart(12.0), 3000, "220", None),
    ],
)
def test_a_speed_beyond_the_maximum_is_noticed(chart, feet, knots, said):
    text = text_of(chart, feet, speeds=[knots], keep_nm=0.5)
    assert ("is faster than" in text) == (said is not None)
    assert said is None or f"{knots} kt indicated is {said}" in text


def test_a_true_airspeed_is_compared_as_indicated():
    # 116.22 kt true is 100 kt calibrated at 10,000 ft in the standard atmosphere (ISO 2533); 232.4 kt is close to 200
    assert "is faster than" not in text_of(turn_chart(), 10_000, true_speeds=["228"], keep_nm=0.5)
    assert "200 kt for a procedure turn" in text_of(turn_chart(), 10_000, true_speeds=["237"], keep_nm=0.5)
