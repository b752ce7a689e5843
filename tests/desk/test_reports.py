"""Reports taken from the desk: as the command line writes them, in the words of the desk, and shut off from it where shown."""

import json
import re
import shutil
from pathlib import Path

import pytest
from desk_flights import write_card, write_settings
from desk_here import served_here
from desk_served import CHART, CLEAN, STRONG_WIND, Served

import analyzer
from analyzer.desk.asked import Shown
from analyzer.desk.cards import FlightCard, Settings
from analyzer.desk.flights import exported, open_flight
from analyzer.desk.jobs import Jobs
from analyzer.desk.moved import what_moved
from analyzer.desk.side_by_side import compared
from analyzer.desk.store import Store, open_store
from analyzer.errors import DeskError
from analyzer.report.exports.formats import FORMATS


@pytest.fixture
def store(tmp_path: Path) -> Store:
    made = open_store(tmp_path / "desk")
    shutil.copy(CHART, made.folder / "procedures" / "vor24.toml")
    for log in (CLEAN, STRONG_WIND):
        shutil.copy(log, made.folder / "logs")
        write_card(made, log.name, FlightCard(procedure="vor24.toml"))
    return made


@pytest.mark.parametrize("form", ["json", "kml"])
def test_a_report_has_the_bytes_that_the_library_writes(store: Store, form: str):
    debrief = analyzer.debrief(analyzer.read_track(STRONG_WIND), analyzer.read_procedure(CHART))
    name, content, _ = exported(str(store.folder), "strong_wind.csv", form)
    assert content == next(iter(FORMATS[form].write(debrief))).content
    assert name.startswith("strong_wind.csv.")


def test_what_was_found_is_kept_as_the_json_of_the_command_line(store: Store):
    assert isinstance(open_flight(str(store.folder), "strong_wind.csv"), Shown)
    kept = json.loads((store.folder / "reports" / "strong_wind.csv.json").read_text(encoding="utf-8"))
    debrief = analyzer.debrief(analyzer.read_track(STRONG_WIND), analyzer.read_procedure(CHART))
    assert kept == json.loads(json.dumps(debrief.to_dict()))


def test_opened_again_nothing_has_moved_and_nothing_is_written(store: Store):
    first = open_flight(str(store.folder), "strong_wind.csv")
    path = store.folder / "reports" / "strong_wind.csv.json"
    written = path.stat().st_mtime_ns
    assert open_flight(str(store.folder), "strong_wind.csv") == first
    assert path.stat().st_mtime_ns == written


@pytest.mark.parametrize(
    "spoiled", ["", "no JSON", "[]", '{"reversals": 3, "holds": [4]}', '{"reversals": [{"findings": "x"}]}']
)
def test_a_spoiled_report_of_before_is_made_anew(store: Store, spoiled: str):
    path = store.folder / "reports" / "strong_wind.csv.json"
    path.write_text(spoiled, encoding="utf-8")
    assert isinstance(open_flight(str(store.folder), "strong_wind.csv"), Shown)
    assert json.loads(path.read_text(encoding="utf-8"))["reversals"]


def test_what_moved_is_what_differs():
    def document(verdict: str, title: str = "A") -> dict[str, object]:
        finding = {"check": "distance_limit", "part": "reversal_turn", "leg": None, "verdict": verdict}
        return {
            "procedure": {"title": title},
            "standard": "s",
            "track": {},
            "reversals": [{"findings": [finding]}],
            "holds": [],
        }

    assert list(what_moved(document("inside"), document("inside"))) == []
    assert list(what_moved({}, document("inside"))) == []
    changed = list(what_moved(document("inside"), document("outside", "B")))
    assert changed == [
        "The procedure is not what it was when this flight was last debriefed.",
        "Distance limit (reversal turn): inside before, outside now.",
    ]


def test_by_the_chart_of_another_approach_one_sentence_says_that_nothing_is_judged():
    """There was a line for each finding of before, also for those that were not assessed."""

    def document(title: str, *verdicts: str) -> dict[str, object]:
        findings = [{"check": "turn_bank", "part": f"part {k}", "verdict": verdict} for k, verdict in enumerate(verdicts)]
        return {"procedure": title, "reversals": [{"findings": findings}] if findings else [], "holds": []}

    other, *said = what_moved(document("A", "inside", "outside", "not assessed"), document("B"))
    assert other.startswith("The procedure")
    assert said == ["Nothing of the flight is judged now."]
    _, *said = what_moved(document("A", "inside", "not assessed"), document("B", "not assessed"))
    assert said == ["Turn bank (part 0): inside before, not assessed now."]


def test_what_moved_is_placed_as_a_debrief_places_it():
    """The arrival is a leg and a part; of several approaches and holds each is named by its number."""

    def finding(verdict: str, **where: object) -> dict[str, object]:
        return {"check": "altitude_floor", "verdict": verdict, **where}

    def document(verdict: str) -> dict[str, object]:
        first = [finding(verdict, part="arrival", leg="arrival")]
        second = [finding(verdict, fix="TARRO", leg="final", part="final")]
        lap = [finding(verdict, part="outbound", leg="hold", lap=2)]
        return {"reversals": [{"findings": first}, {"findings": second}], "holds": [{"findings": lap}]}

    assert list(what_moved(document("inside"), document("outside")))[1:] == [
        "Altitude floor (arrival), approach 1: inside before, outside now.",
        "Altitude floor (TARRO), approach 2: inside before, outside now.",
        "Altitude floor (outbound, lap 2), hold: inside before, outside now.",
    ]


def test_a_flight_is_judged_anew_when_the_standard_or_the_program_changed(store: Store):
    """The program cannot be exchanged here, but what another one found can: a report with another verdict and another limit."""
    folder = str(store.folder)
    open_flight(folder, "strong_wind.csv")
    write_settings(store, Settings(standard="part-fcl"))
    shown = open_flight(folder, "strong_wind.csv")
    assert isinstance(shown, Shown)
    assert shown.moved[0] == "The standard is not what it was when this flight was last debriefed."
    assert len(shown.moved) > 1
    again = open_flight(folder, "strong_wind.csv")
    assert isinstance(again, Shown)
    assert again.moved == ()
    path = store.there("reports", "strong_wind.csv.json")
    report = json.loads(path.read_text(encoding="utf-8"))
    first, second, *_ = report["reversals"][0]["findings"]
    was, first["verdict"] = first["verdict"], "inside"
    second["limit"] = -1.0
    path.write_text(json.dumps(report), encoding="utf-8")
    shown = open_flight(folder, "strong_wind.csv")
    assert isinstance(shown, Shown)
    assert shown.moved[0].startswith("The program or its standards are not")
    assert f"inside before, {was} now" in shown.moved[1]
    assert shown.moved[2] == "1 more finding has another value or limit, with the same verdict."
    report["reversals"][0]["findings"][0]["verdict"] = was
    path.write_text(json.dumps(report), encoding="utf-8")
    shown = open_flight(folder, "strong_wind.csv")
    assert isinstance(shown, Shown)
    assert shown.moved[1:] == ("1 finding has another value or limit, with the same verdict.",)


def test_a_flight_is_compared_with_those_before_it(store: Store):
    folder = str(store.folder)
    for log in ("clean.csv", "strong_wind.csv"):
        open_flight(folder, log)
    seen = compared(folder, "strong_wind.csv")
    assert "2 attempts" in seen.body
    for log in ("clean.csv", "strong_wind.csv"):
        assert f'href="/flights/{log}"' in seen.body
    with pytest.raises(DeskError, match="no earlier flight"):
        compared(folder, "clean.csv")
    write_card(store, "strong_wind.csv", FlightCard(procedure="vor24.toml", pilot="A. Pilot"))
    with pytest.raises(DeskError, match=r"and pilot to compare it with; clean\.csv: no pilot is named there"):
        compared(folder, "strong_wind.csv")


def test_what_a_comparison_leaves_out_for_want_of_a_name_is_said(store: Store):
    folder = str(store.folder)
    shutil.copy(CLEAN, store.folder / "logs" / "again.csv")
    for log, pilot in (("again.csv", "A. Pilot"), ("clean.csv", ""), ("strong_wind.csv", "A. Pilot")):
        write_card(store, log, FlightCard(procedure="vor24.toml", pilot=pilot))
        open_flight(folder, log)
    seen = compared(folder, "strong_wind.csv")
    assert "2 attempts" in seen.body
    assert seen.unnamed == ("clean.csv",)


@pytest.fixture
def full(store: Store, jobs: Jobs):
    with served_here(store.folder, jobs) as desk:
        desk.enter()
        yield desk


@pytest.mark.parametrize("path", ["report.html", "report.html?show"])
def test_a_report_that_is_shown_reaches_nothing_of_the_desk(full: Served, path: str):
    """Sandboxed without its origin (HTML, the sandbox attribute), and with no script but its own by its hash."""
    for log in ("clean.csv", "strong_wind.csv"):
        full.ask("GET", f"/flights/{log}")
    answer = full.ask("GET", f"/flights/strong_wind.csv/{path}")
    assert answer.status == 200
    policy = dict((*part.strip().split(" ", 1), "")[:2] for part in answer.headers["content-security-policy"].split(";"))
    assert "allow-same-origin" not in policy["sandbox"]
    assert policy["default-src"] == "'none'"
    assert policy["script-src"].startswith("'sha256-")
    assert policy["script-src"] in answer.text


@pytest.mark.parametrize("form", ["html", "pdf"])
def test_a_saved_report_names_fields_and_no_options(store: Store, monkeypatch: pytest.MonkeyPatch, form: str):
    """A pilot who saves the page or prints it has never seen a command line."""
    printed: list[str] = []
    monkeypatch.setattr("analyzer.report.paper.debrief_sheets.typeset", lambda *values: printed.append(str(values)) or b"")
    _, content, _ = exported(str(store.folder), "strong_wind.csv", form)
    text = re.sub(r"<style.*?</style>|<script.*?</script>|<svg.*?</svg>", "", "".join(printed) or content.decode(), flags=re.S)
    assert "“Altitudes count from” under “Read the log differently”" in text
    assert "--altitude-from" not in text


def test_a_report_is_none_of_other_forms(full: Served):
    assert full.ask("GET", "/flights/clean.csv/report.exe").status == 400
    assert "attachment" in full.ask("GET", "/flights/clean.csv/report.pdf").headers["content-disposition"]


def test_from_a_comparison_that_cannot_be_a_way_leads_back_to_the_flight(full: Served):
    for log in ("clean.csv", "strong_wind.csv"):
        full.ask("GET", f"/flights/{log}")
    seen = full.ask("GET", "/flights/clean.csv/compared")
    assert seen.status == 400
    assert '<a class="button main" href="/flights/clean.csv">Back to clean.csv</a>' in seen.text
    assert "Remove clean.csv" not in seen.text
