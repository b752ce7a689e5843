"""Which reversal a route codes: by its leg, and teardrops, which have none of their own."""

import pytest
from islands import encode, island

from analyzer.procedure.coded.approach import approach_of, approach_records
from analyzer.procedure.coded.reversals import reversals

WND, DORVA, OUT = ("WND", "D "), ("DORVA", "EA"), ("TARSU", "PC")


def found(tmp_path, *legs):
    """The reversals of one route of an approach, as (kind, fix, turn)."""
    numbered = [encode.leg("VOR-B", "ADORVA", 10 * k, **leg) for k, leg in enumerate(legs, 1)]
    file = island(tmp_path, more=numbered)
    approach = approach_of(file, "XWND", "VOR-B", approach_records(file, "XWND")["VOR-B"])
    return [(one.kind, one.fix.ident, one.turn) for one in reversals(approach)]


def leg(path, fix=("", ""), course=None, **more):
    return {"path": path, "fix": fix, "course": course, **more}


START = leg("IF", WND)
BACK = leg("CF", WND, 241.0, turn="L")


@pytest.mark.parametrize(
    ("legs", "turn"),
    [
        ([leg("FC", WND, 79.0, distance=8.0), BACK], "left"),  # a course from the fix for a distance, and back
        ([START, leg("FD", WND, 79.0, distance=8.0, navaid=WND), BACK], "left"),  # to a distance by DME
        ([START, leg("CD", (" ", " "), 79.0, distance=8.0, navaid=WND), BACK], "left"),
        ([START, leg("CF", OUT, 79.0), BACK], "left"),  # to a fix
        # an intercept between them, which holds the direction of the turn
        ([leg("FC", WND, 43.0, distance=8.0), leg("CI", (" ", " "), 271.0, turn="R"), leg("CF", WND, 241.0)], "right"),
        ([leg("FC", WND, 43.0, distance=8.0), leg("CF", WND, 241.0)], "left"),  # no direction coded: the shorter way, 162°
    ],
)
def test_teardrops(tmp_path, legs, turn):
    assert found(tmp_path, *legs) == [("base-turn", "WND", turn)]


@pytest.mark.parametrize(
    "legs",
    [
        [leg("FC", WND, 313.0, distance=12.3), leg("CF", OUT, 3.1)],  # a course from a fix that joins another at 50°
        [START, leg("CF", OUT, 79.0), leg("CF", DORVA, 160.0, turn="R")],
        [START, leg("TF", OUT), leg("TF", DORVA)],
        [leg("FC", WND, 79.0, distance=8.0)],  # and nothing after it
        [leg("FC", WND, 79.0, distance=8.0), leg("DF", WND, turn="L")],  # direct, on no course
    ],
)
def test_courses_that_do_not_reverse(tmp_path, legs):
    assert found(tmp_path, *legs) == []


def test_a_hold_after_an_arc_is_the_reversal(tmp_path):
    arc = leg("AF", OUT, 1.0, turn="R", navaid=WND, theta=61.0, rho=10.0)
    hold = leg("HF", OUT, 241.0, turn="R", minutes=1.0)
    assert found(tmp_path, leg("IF", DORVA), arc) == [("arc", "TARSU", "right")]
    assert found(tmp_path, leg("IF", DORVA), arc, hold) == [("hold", "TARSU", "right")]


def test_an_arc_in_two_legs_is_one(tmp_path):
    first = leg("AF", ("GERRI", "PC"), 331.0, turn="R", navaid=WND, theta=1.0, rho=10.0)
    second = leg("AF", OUT, 1.0, turn="R", navaid=WND, theta=61.0, rho=10.0)
    assert found(tmp_path, leg("IF", DORVA), first, second) == [("arc", "TARSU", "right")]


def test_a_hold_for_a_climb_is_no_reversal(tmp_path):
    assert found(tmp_path, START, leg("HA", WND, 241.0, turn="R", minutes=1.0)) == []
    assert found(tmp_path, START, leg("HM", WND, 241.0, turn="R", minutes=1.0)) == []
