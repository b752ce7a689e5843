"""`debrief --strict` of logs that make no pass though nothing is outside: one ends below the minimum, one has no altitude."""

import json

import pytest
from command_line import CLEAN, PROCEDURE, Command, run_all_here

DOWN_S = 40  # at the end of the log, from 715 ft to 520 ft, below the minimum of 640 ft


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    folder = tmp_path_factory.mktemp("unexplained")
    header, *rows = CLEAN.read_text(encoding="utf-8").splitlines()
    for number in range(DOWN_S):
        *cells, feet = rows[number - DOWN_S].split(",")
        rows[number - DOWN_S] = ",".join([*cells, str(round(float(feet) - 5.0 * (number + 1)))])
    (folder / "low.csv").write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    flat = "\n".join(line.rpartition(",")[0] for line in CLEAN.read_text(encoding="utf-8").splitlines())
    (folder / "flat.csv").write_text(f"{flat}\n", encoding="utf-8")
    strict = ["-p", PROCEDURE, "--strict", "--json", "-"]
    debrief = ["debrief", "low.csv", "-p", PROCEDURE]
    return run_all_here(
        {
            "strict": Command([*debrief, "--strict", "--json", "-"], folder),
            "not strict": Command([*debrief, "--json", "-"], folder),
            "no altitude": Command(["debrief", "flat.csv", *strict, "--no-altitude"], folder),
            "clean": Command(["debrief", CLEAN, *strict], folder),
            "summary": Command([*debrief, "--format", "json"], folder),
        }
    )


def test_strict_exits_with_three_for_no_pass_where_nothing_is_outside(outcomes):
    (approach,) = json.loads(outcomes["strict"].out)["reversals"]
    assert "outside" not in {finding["verdict"] for finding in approach["findings"]}
    assert (outcomes["strict"].code, outcomes["not strict"].code) == (3, 0)


def test_strict_exits_with_three_where_floors_are_charted_and_no_altitude_was_logged(outcomes):
    (approach,) = json.loads(outcomes["no altitude"].out)["reversals"]
    assert (approach["overall"]["verdict"], outcomes["no altitude"].code) == ("not assessed", 3)
    assert "the log has no altitude" in approach["overall"]["sentence"]
    assert outcomes["clean"].code == 0


def test_the_result_says_why(outcomes):
    (approach,) = json.loads(outcomes["not strict"].out)["reversals"]
    (finding,) = [f for f in approach["findings"] if f["check"] == "minimum_altitude"]
    assert finding["verdict"] == "not assessed"
    assert "what followed is unknown" in finding["reason"]
    assert "NOT ASSESSED" in outcomes["summary"].out
    assert "nothing in the log explains it" in " ".join(outcomes["summary"].out.split())
