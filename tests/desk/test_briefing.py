"""Briefs of the desk without a browser: form, files, flights laid against them; each brief is that of the command line."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from desk_flights import write_card
from desk_served import CHART, CLEAN, SAMPLES, STRONG_WIND
from jsonschema import Draft202012Validator
from printed import read_pdf
from typer.testing import CliRunner

import analyzer
from analyzer.brief.brief_file import read_card as read_brief
from analyzer.cli.app import program
from analyzer.desk.asked import Shown
from analyzer.desk.brief_again import brief_again
from analyzer.desk.brief_files import keep_brief, lay_brief, list_briefs, open_brief
from analyzer.desk.briefing import brief_form, draw_brief_form, print_knee_card
from analyzer.desk.cards import FlightCard, Reading, read_card
from analyzer.desk.changes import undo
from analyzer.desk.flights import exported, open_flight
from analyzer.desk.store import Store, open_store
from analyzer.errors import AnalyzerError, BriefError, DeskError
from analyzer.procedure.write import procedure_toml

DAY = "2026-06-28"
FILLED = {"chart": "vor24.toml", "wind_from_deg": "240", "wind_kt": "25", "speed_kt": "110", "final_kt": "90"}
OPTIONS = ["--speed", "110", "--speed", "final=90", "--wind", "240/25", "--date", DAY]
SCHEMA = json.loads((Path(analyzer.__file__).parent / "report" / "brief.schema.json").read_text(encoding="utf-8"))


@pytest.fixture
def store(tmp_path: Path) -> Store:
    made = open_store(tmp_path / "desk")
    made.add("procedures", "vor24.toml", CHART.read_bytes())
    made.add("procedures", "vorz24.toml", (SAMPLES / "wendle_island_vorz24.toml").read_bytes())
    made.add("procedures", "rnav06.toml", (SAMPLES / "wendle_island_rnav06.toml").read_bytes())
    return made


def with_flight(store: Store, log: Path = STRONG_WIND) -> str:
    """A flight of the folder with its procedure, whose times are in UTC."""
    store.add("logs", log.name, log.read_bytes())
    write_card(store, log.name, FlightCard(procedure="vor24.toml", reading=Reading(utc_offset="+00:00")))
    return log.name


def on_the_command_line(folder: Path, *options: str) -> dict[str, Any]:
    """The JSON that the command writes."""
    file = folder / "written.json"
    answer = CliRunner().invoke(program(), ["brief", str(CHART), *OPTIONS, *options, "--json", str(file), "--force"])
    assert answer.exit_code == 0, answer.output
    made: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
    return made


@pytest.mark.parametrize(
    ("fields", "options"),
    [
        ({}, []),
        ({"bank_deg": "25", "outbound_nm": "3,5"}, ["--bank", "25", "--outbound", "3.5"]),
        ({"rate_deg_s": "2", "outbound_s": "90", "keep_nm": "0.5"}, ["--rate", "2", "--outbound", "90s", "--keep", "0.5"]),
        ({"shape": "teardrop", "arrival_deg": "100"}, ["--shape", "teardrop", "--arrival", "100"]),
        ({"qnh_hpa": "990", "temperature_c": "30", "hold_kt": "120"},
         ["--qnh", "990", "--temperature", "30", "--speed", "hold=120"]),
    ],
)  # fmt: skip
def test_what_is_kept_is_what_the_command_line_writes(store: Store, tmp_path: Path, fields: dict[str, str], options: list[str]):
    file, changed = keep_brief(str(store.folder), {**FILLED, **fields, "name": "Day  one"}, DAY)
    assert (file, changed) == ("day_one.json", "")
    kept = json.loads((store.folder / "briefs" / file).read_text(encoding="utf-8"))
    asked = kept.pop("asked")
    assert kept == on_the_command_line(tmp_path, *options)
    filled = {key: text for key, text in {**FILLED, **fields}.items() if key != "chart"}
    assert asked == {"chart": "vor24.toml", "name": "Day one", "fields": filled}
    assert read_brief(store.folder / "briefs" / file).shape == kept["shape"]


def test_what_is_kept_is_valid_by_its_schema(store: Store):
    file, _ = keep_brief(str(store.folder), FILLED, DAY)
    document = json.loads((store.folder / "briefs" / file).read_text(encoding="utf-8"))
    assert list(Draft202012Validator(SCHEMA).iter_errors(document)) == []


def test_a_form_asks_what_its_chart_leaves_open(store: Store):
    """Sliders within what is accepted; choices only where the chart leaves any; the usual speed of the category."""
    forms = {name: brief_form(str(store.folder), {"chart": f"{name}.toml"}, DAY) for name in ("vor24", "vorz24", "rnav06")}
    names = {name: {one.name: one for one in form.fields} for name, form in forms.items()}
    assert "keep_nm" in names["vor24"]
    assert "keep_nm" not in names["rnav06"]  # charts no limit
    assert [value for value, _ in names["vor24"]["shape"].choices] == ["", "80/260", "racetrack", "teardrop"]
    assert "shape" not in names["rnav06"]
    assert "missed" not in names["vor24"]
    assert "missed" in names["vorz24"]
    for form in forms.values():
        for one in form.fields:
            assert one.label
            if not one.choices:
                assert one.low <= one.least <= one.rest <= one.most <= one.high, one
                assert one.unit
                assert one.text or one.empty, one
    assert analyzer.read_procedure(CHART).category == "B"
    assert names["vor24"]["speed_kt"].text == "110"


def test_the_answer_has_the_numbers_and_one_picture_for_the_layout(store: Store, tmp_path: Path):
    drawn = draw_brief_form(str(store.folder), {**FILLED, "layout": "narrow"}, DAY)
    wide = draw_brief_form(str(store.folder), {**FILLED, "layout": "wide"}, DAY)
    written = on_the_command_line(tmp_path)
    offset = next(part for part in written["parts"] if part["part"] == "offset_leg")
    assert f"greatest distance {written['farthest_nm']:.2f} NM" in drawn.said
    assert f"offset leg 016° for {offset['duration_s']:.0f} s" in drawn.said
    for one in (drawn, wide):
        assert [len(picture["views"]) for picture in one.content["pictures"]] == [1, 1]
    assert drawn.content["pictures"][0]["views"] != wide.content["pictures"][0]["views"]
    assert drawn.content["rows"] == wide.content["rows"]


def test_with_the_missed_approach_the_plan_goes_on_to_the_hold(store: Store):
    sent = {**FILLED, "chart": "vorz24.toml", "missed": "yes", "climb_fpm": "600"}
    content = draw_brief_form(str(store.folder), sent, DAY).content
    assert content["missed_rows"]
    assert [picture["name"] for picture in content["pictures"]][-1] == "hold"


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"speed_kt": "fast"}, "“Speed”: 'fast' must be a number"),
        ({"speed_kt": "nan"}, "“Speed”"),
        ({"speed_kt": ""}, "“Speed” is empty"),
        ({"wind_from_deg": "400"}, "“Wind from”"),
        ({"bank_deg": "80"}, "“Bank”"),
        ({"outbound_nm": "4", "outbound_s": "90"}, "empty one of them"),
        ({"outbound_nm": "9.5"}, "beyond the limit of 10 NM; “Outbound leg”"),
        ({"wind_kt": "120", "wind_from_deg": "150"}, "too strong"),
        ({"shape": "cartwheel"}, "“Kind of turn”"),
    ],
)
def test_what_cannot_be_flown_is_said_in_the_words_of_the_form(store: Store, fields: dict[str, str], said: str):
    with pytest.raises(BriefError) as refusal:
        draw_brief_form(str(store.folder), {**FILLED, **fields}, DAY)
    assert said in str(refusal.value)
    assert "--" not in str(refusal.value)
    with pytest.raises(BriefError):
        keep_brief(str(store.folder), {**FILLED, **fields}, DAY)
    assert list((store.folder / "briefs").iterdir()) == []


def test_the_knee_card_is_that_of_the_command_line(store: Store, tmp_path: Path):
    for paper in ("a5", "letter"):
        name, content = print_knee_card(str(store.folder), {**FILLED, "paper": paper}, DAY)
        assert name == "vor24-brief.pdf"
        folder = tmp_path / paper
        answer = CliRunner().invoke(program(), ["brief", str(CHART), *OPTIONS, "--paper", paper, "-o", str(folder)])
        assert answer.exit_code == 0, answer.output
        (written,) = folder.glob("*.pdf")
        assert written.read_bytes() == content
        assert "Training aid, never for navigation" in read_pdf(content).sheets[0].text


def test_a_brief_is_opened_as_it_was_asked_for_and_changed(store: Store):
    folder = str(store.folder)
    file, _ = keep_brief(folder, {**FILLED, "name": "Windy"}, DAY)
    form = open_brief(folder, file, DAY)
    texts = {one.name: one.text for one in form.fields if one.text}
    assert {"chart": form.chart, **texts} == FILLED
    again = {"chart": form.chart, **texts, "name": form.name, "file": form.file, "was": form.was, "wind_kt": "10"}
    before = (store.folder / "briefs" / file).read_bytes()
    same, changed = keep_brief(folder, again, DAY)
    assert same == file
    assert read_brief(store.folder / "briefs" / file).parts[0].wind_kt == 10.0
    with pytest.raises(DeskError, match="changed by another page"):
        keep_brief(folder, {**again, "wind_kt": "15"}, DAY)
    new, _ = keep_brief(folder, {**again, "wind_kt": "15", "as": "new"}, DAY)
    assert new == "windy-2.json"
    page, _ = undo(store.folder, changed)
    assert (page, (store.folder / "briefs" / file).read_bytes()) == (f"/briefs/kept/{file}", before)


def test_a_brief_is_taken_out_and_brought_back(store: Store):
    file, _ = keep_brief(str(store.folder), FILLED, DAY)
    content = (store.folder / "briefs" / file).read_bytes()
    out = store.take_out("briefs", file)
    assert list_briefs(str(store.folder)).kept == ()
    assert (store.folder / "briefs" / store.bring_back("briefs", out)).read_bytes() == content


def test_the_list_has_what_lies_in_the_folder(store: Store, tmp_path: Path):
    folder = str(store.folder)
    keep_brief(folder, {**FILLED, "name": "<b>Windy</b>"}, DAY)
    (store.folder / "briefs" / "by_hand.json").write_text(json.dumps(on_the_command_line(tmp_path)), encoding="utf-8")
    (store.folder / "briefs" / "broken.json").write_text("{}", encoding="utf-8")
    (store.folder / "briefs" / "notes.txt").write_text("not a brief", encoding="utf-8")
    (store.folder / "briefs" / "elsewhere.json").symlink_to(CHART)
    seen = list_briefs(folder)
    rows = {one.file: one for one in seen.kept}
    assert len(rows) == 3  # neither the note nor the link
    assert "<b>Windy</b>" in [one.name for one in seen.kept]
    assert rows["broken.json"].fault
    assert rows["by_hand.json"].chart == ""
    assert rows["by_hand.json"].conditions.startswith("Speed 110 kt")
    assert [title for _, title in seen.charts] == ["Wendle Island RNAV 06", "Wendle Island VOR 24", "Wendle Island VOR Z 24"]
    with pytest.raises(DeskError, match="does not say what was asked for"):
        open_brief(folder, "by_hand.json", DAY)


@pytest.mark.parametrize("name", ["../settings.toml", "..", "/etc/passwd", ".lock", "a/b.json", "none.json"])
def test_nothing_beyond_the_folder_is_opened(store: Store, name: str):
    folder = str(store.folder)
    with_flight(store)
    for call in (
        lambda: open_brief(folder, name, DAY),
        lambda: lay_brief(folder, "strong_wind.csv", name),
        lambda: brief_form(folder, {"chart": name}, DAY),
        lambda: keep_brief(folder, {**FILLED, "file": name}, DAY),
    ):
        with pytest.raises(AnalyzerError):
            call()
    assert list((store.folder / "briefs").iterdir()) == []


def shown(store: Store, log: str) -> Shown:
    seen = open_flight(str(store.folder), log)
    assert isinstance(seen, Shown)
    return seen


def test_a_flight_is_offered_the_briefs_of_its_procedure_and_laid_against_one(store: Store):
    folder, log = str(store.folder), with_flight(store)
    keep_brief(folder, {"chart": "rnav06.toml", "speed_kt": "90", "name": "another fix"}, DAY)
    file, _ = keep_brief(folder, {**FILLED, "name": "Windy"}, DAY)
    before = shown(store, log)
    assert [one.file for one in before.laid.offered] == [file]
    assert "Compared with the brief" not in before.body
    changed = lay_brief(folder, log, file)
    laid = shown(store, log)
    assert (laid.laid.brief, laid.laid.fault, laid.moved) == (file, "", ())
    assert "What was different" in laid.body
    assert "as briefed" in laid.body
    report = json.loads((store.folder / "reports" / f"{log}.json").read_text(encoding="utf-8"))
    different = {(one["part"], one["quantity"]): one for one in report["reversals"][0]["against_brief"]["differences"]}
    # by the truth that the sample was flown with: 35 kt of wind, and 1.5 NM beyond the limit
    assert different[None, "wind speed"]["flown"] == pytest.approx(35.0, abs=4.0)
    assert different[None, "room to the limit"]["flown"] == pytest.approx(-1.48, abs=0.05)
    assert different[None, "greatest distance"]["clear"]
    # what is sent to somebody has it, too
    assert b"What was different" in exported(folder, log, "html")[1]
    undo(store.folder, changed)
    assert read_card(store, log).brief == ""
    assert shown(store, log).body == before.body


def test_a_brief_that_does_not_fit_any_more_is_left_out_and_said(store: Store):
    folder, log = str(store.folder), with_flight(store, CLEAN)
    file, _ = keep_brief(folder, FILLED, DAY)
    lay_brief(folder, log, file)
    assert "What was different" in shown(store, log).body
    procedure = analyzer.read_procedure(CHART)
    moved = procedure.model_copy(
        update={"fix": procedure.fix.model_copy(update={"latitude_deg": procedure.fix.latitude_deg + 0.02})}
    )
    (store.folder / "procedures" / "vor24.toml").write_text(procedure_toml(moved, "Moved"), encoding="utf-8")
    seen = shown(store, log)
    assert "another procedure" in seen.laid.fault
    assert "What was different" not in seen.body
    (store.folder / "procedures" / "vor24.toml").write_bytes(CHART.read_bytes())
    store.take_out("briefs", file)
    assert "no such file" in shown(store, log).laid.fault
    assert replace(shown(store, log).laid, fault="").offered == ()


class TestBriefedAgain:
    """A brief filled in from a flight: what the sample was flown with is told beside it."""

    def test_it_has_the_wind_and_the_speeds_that_were_flown(self, store):
        ordered = json.loads((SAMPLES / "truth" / "strong_wind.json").read_text(encoding="utf-8"))["ordered"]
        form = brief_again(str(store.folder), with_flight(store), DAY)
        texts = {one.name: one.text for one in form.fields}
        assert (form.chart, form.filled_from) == ("vor24.toml", STRONG_WIND.name)
        assert float(texts["wind_from_deg"]) == pytest.approx(ordered["wind_from_deg_true"], abs=4.0)
        assert float(texts["wind_kt"]) == pytest.approx(ordered["wind_kt"], abs=2.5)
        assert float(texts["speed_kt"]) == pytest.approx(ordered["airspeed_kt"], abs=3.0)
        assert float(texts["final_kt"]) == pytest.approx(ordered["final_airspeed_kt"], abs=3.0)
        assert any("kt (±" in sentence for sentence in form.filled)

    def test_it_can_be_drawn_as_it_is(self, store):
        form = brief_again(str(store.folder), with_flight(store), DAY)
        sent = {one.name: one.text for one in form.fields} | {"chart": form.chart}
        assert "offset leg" in draw_brief_form(str(store.folder), sent, DAY).said

    def test_the_altimeter_setting_of_the_flight_comes_along(self, store):
        log = with_flight(store)
        write_card(
            store, log, FlightCard(procedure="vor24.toml", reading=Reading(utc_offset="+00:00", qnh=1002.0, temperature_c=4.0))
        )
        texts = {one.name: one.text for one in brief_again(str(store.folder), log, DAY).fields}
        assert (texts["qnh_hpa"], texts["temperature_c"]) == ("1002", "4")

    def test_without_an_approach_the_form_is_as_new(self, store):
        head, *rows = STRONG_WIND.read_text(encoding="utf-8").splitlines()
        short = store.folder / "short.csv"
        short.write_text("\n".join([head, *rows[:60]]) + "\n", encoding="utf-8")
        form = brief_again(str(store.folder), with_flight(store, short), DAY)
        assert form.fields == brief_form(str(store.folder), {"chart": "vor24.toml"}, DAY).fields
        assert form.filled == ("No approach was recognised in this flight, so nothing is filled in from it.",)

    def test_a_flight_without_a_chart_is_refused(self, store):
        store.add("logs", CLEAN.name, CLEAN.read_bytes())
        with pytest.raises(DeskError, match="no chart is chosen for it yet"):
            brief_again(str(store.folder), CLEAN.name, DAY)
