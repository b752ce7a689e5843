"""What was cleared: how it is said, what it cannot be, and what it changes in a charted procedure."""

import datetime as dt
from typing import Any

import pytest
from wendle import Tables, whole

from analyzer.errors import ClearanceError, ProcedureError
from analyzer.procedure.charted import Charted, resolve
from analyzer.procedure.clearance import AS_CHARTED, Clearance, read_clearance
from analyzer.procedure.cleared import clear
from analyzer.procedure.schema import Procedure

FT = 0.3048
DAY = dt.date(2026, 11, 25)


def cleared(tables: Tables, *words: str) -> Charted:
    procedure = Procedure.model_validate(tables)
    return clear(resolve(procedure, DAY), read_clearance(words, procedure))


def feet(levels: Any) -> dict[str, float]:
    return {leg: round(altitude_m / FT, 6) for leg, altitude_m in levels.items()}


def test_nothing_cleared_changes_nothing(tables):
    procedure = Procedure.model_validate(tables)
    charted = resolve(procedure, DAY)
    assert read_clearance((), procedure) == AS_CHARTED
    assert clear(charted, AS_CHARTED) == charted


def test_words_in_any_order_are_one_clearance(tables):
    procedure = Procedure.model_validate(tables)
    found = read_clearance(("inbound=2500", "vectors", "arrival = 3500"), procedure)
    assert found == read_clearance(("arrival=3500", "inbound=2500", "vectors"), procedure)
    assert found.way == "vectors"
    assert feet(dict(found.assigned_m)) == {"arrival": 3500.0, "inbound": 2500.0}


def test_altitudes_are_in_the_unit_of_the_procedure(tables):
    metric = tables | {"units": {"altitude": "m"}, "fix": {**tables["fix"], "elevation_m": 37}}
    del metric["fix"]["elevation_ft"], metric["runway"]
    metric["altitudes"] = {"arrival_m": 900, "inbound_m": 700}
    assert dict(cleared(metric, "arrival=1000").floors_m) == pytest.approx({"arrival": 1000.0, "inbound": 700.0})


def test_an_assigned_altitude_takes_the_place_of_a_lower_minimum_only(tables):
    found = cleared(tables, "outbound=3500", "reversal=2000")
    assert feet(found.floors_m) == {"arrival": 3000.0, "outbound": 3500.0, "reversal": 2200.0, "inbound": 2200.0}
    assert [leg for leg in found.floors_m if found.assigned(leg)] == ["outbound"]


def test_a_leg_without_a_minimum_gets_the_assigned_one_in_its_place_in_the_flight(tables):
    tables["altitudes"] = {"arrival_ft": 3000, "inbound_ft": 2200}
    assert list(feet(cleared(tables, "outbound=2600").levels_m).items()) == [
        ("arrival", 3000.0), ("outbound", 2600.0), ("inbound", 2200.0),
    ]  # fmt: skip


def test_on_final_it_takes_the_place_of_the_minimum(tables):
    found = cleared(tables, "final=900")
    assert found.minimum is not None
    assert found.minimum.altitude_m == pytest.approx(900 * FT)
    assert found.assigned("final")
    assert not cleared(tables, "final=600").assigned("final")
    del tables["altitudes"]["final_ft"]
    found = cleared(tables, "final=900")
    assert found.minimum is not None
    assert (found.minimum.kind, round(found.minimum.altitude_m / FT)) == ("mda", 900)


def minimums(charted: Charted) -> dict[str, tuple[float | None, bool]]:
    return {fix.name: (fix.minimum_m and round(fix.minimum_m / FT, 6), fix.assigned) for fix in charted.fixes}


@pytest.mark.parametrize(
    ("words", "tarro", "kesta"),
    [
        # TARRO ends the inbound leg, KESTA is on the final one
        ((), (2100.0, False), (1300.0, False)),
        (("final=2500",), (2100.0, False), (2500.0, True)),
        (("inbound=2500",), (2500.0, True), (1300.0, False)),
        (("final=1000", "inbound=2000"), (2100.0, False), (1300.0, False)),
        (("final=1300",), (2100.0, False), (1300.0, True)),
        (("arrival=4000", "hold=4000"), (2100.0, False), (1300.0, False)),
    ],
)
def test_it_takes_the_place_of_the_minimums_of_the_fixes_that_its_leg_leads_to(words, tarro, kesta):
    found = minimums(cleared(whole(), *words))
    assert (found["TARRO"], found["KESTA"]) == (tarro, kesta)


def test_a_missed_approach_point_keeps_its_minimum_and_a_fix_without_one_gets_none():
    tables = whole()
    tables["fixes"][-1]["minimum_ft"] = 700
    del tables["fixes"][1]["minimum_ft"]
    found = minimums(cleared(tables, "final=2500"))
    assert list(found.values())[1:] == [(None, False), (700.0, False)]


def test_without_a_final_approach_fix_all_fixes_are_on_the_final_leg():
    # as the leg begins at the reversal fix
    tables = whole()
    tables["fixes"][0]["role"] = "step-down"
    assert minimums(cleared(tables, "inbound=2500"))["TARRO"] == (2100.0, False)
    assert minimums(cleared(tables, "final=2500"))["TARRO"] == (2500.0, True)


def test_above_the_maximum_of_a_fix_is_refused():
    procedure = Procedure.model_validate(whole())
    with pytest.raises(ClearanceError, match="--cleared inbound=3500: above the charted maximum of 3000 ft at TARRO, so no"):
        read_clearance(("inbound=3500",), procedure)
    assert read_clearance(("inbound=3000", "final=3500"), procedure)


def test_in_holds_it_takes_the_place_of_their_minimums():
    # WND has a minimum of 3,000 ft and a maximum of 5,000; PELTO has neither
    assert [round(hold.minimum_m / FT) for hold in cleared(whole(), "hold=4000").holds if hold.minimum_m] == [4000, 4000]
    assert [hold.minimum_m and round(hold.minimum_m / FT) for hold in cleared(whole(), "hold=2000").holds] == [3000, 2000]
    assert [hold.minimum_m and round(hold.minimum_m / FT) for hold in cleared(whole(), "hold=6000").holds] == [3000, 6000]


@pytest.mark.parametrize(
    ("words", "where", "remedy"),
    [
        (("sideways",), "--cleared sideways", "legs are arrival, outbound, reversal, inbound, final, hold"),
        (("missed=3000",), "--cleared missed=3000", "must be straight-in, vectors, or a leg"),
        (("outbound",), "--cleared outbound", "like inbound=3000"),
        (("outbound=high",), "high is no altitude", "feet above mean sea level"),
        (("outbound=",), "nothing is no altitude", "like outbound=3000"),
        (("outbound=nan",), "nan is no altitude", "from -1500 to 60000"),
        (("outbound=70000",), "70000 is no altitude", "from -1500 to 60000"),
        (("outbound=3000", "outbound=4000"), "--cleared outbound=4000", "give each leg once"),
        (("straight-in", "vectors"), "--cleared straight-in and --cleared vectors", "give vectors alone"),
        (("vectors", "reversal=3000"), "there is no reversal leg", "leave out one of the two"),
        (("hold=3000",), "has no [[holds]]", "give outbound, reversal or inbound"),
        (("inbound=2600",), "above the charted maximum of 2500 ft on the inbound leg", "correct the altitude"),
    ],
)
def test_nonsense_is_refused_with_the_word_and_the_remedy(tables, words, where, remedy):
    tables["altitudes"]["inbound_maximum_ft"] = 2500
    with pytest.raises(ClearanceError) as refusal:
        read_clearance(words, Procedure.model_validate(tables))
    assert where in str(refusal.value)
    assert remedy in str(refusal.value)


def test_a_leg_that_is_not_charted_is_refused(tables):
    tables["reversal"] = {"kind": "none", "inbound_course_deg": 241}
    with pytest.raises(
        ClearanceError, match="Wendle Island VOR 24 charts no reversal, so it has no outbound leg; leave it out"
    ):
        read_clearance(("outbound=3000",), Procedure.model_validate(tables))
    assert read_clearance(("vectors",), Procedure.model_validate(tables)) == Clearance("vectors")


def test_circling_is_refused_where_there_are_no_lines_to_pick_from(tables):
    with pytest.raises(
        ProcedureError, match=r"--line circling: Wendle Island VOR 24 has no \[\[minimums\]\] .* leave out --line"
    ):
        resolve(Procedure.model_validate(tables), DAY, "circling")
