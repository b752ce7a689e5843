"""The published JSON Schema: every debrief is valid by it, and what is not a debrief is not."""

import ast
import copy
import datetime as dt
import json
import re
import tomllib
from collections.abc import Iterator
from importlib import resources
from pathlib import Path
from typing import Any, get_args

import pytest
from jsonschema import Draft202012Validator, FormatChecker
from report_flights import LOGS, charted
from schema_names import SCHEMA_FILE, with_names

import analyzer
from analyzer import checks
from analyzer.checks.phrases import FEET, METRES
from analyzer.legs.grammar import SHAPES
from analyzer.procedure.schema import Procedure
from analyzer.vocabulary import Verdict

SCHEMA = json.loads(resources.files("analyzer.report").joinpath("debrief.schema.json").read_text(encoding="utf-8"))

# A procedure with all tables.
WHOLE = Path(__file__).parents[1] / "procedure" / "whole_approach.toml"

# RFC 3339, section 5.6
RFC_3339 = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")

formats = FormatChecker(formats=())


@formats.checks("date-time", raises=ValueError)
def _is_date_time(value: object) -> bool:
    if not isinstance(value, str):
        return True
    if RFC_3339.fullmatch(value) is None:
        return False
    dt.datetime.fromisoformat(value.replace("Z", "+00:00"))
    return True


@formats.checks("date", raises=ValueError)
def _is_date(value: object) -> bool:
    return not isinstance(value, str) or bool(dt.date.fromisoformat(value))


VALIDATOR = Draft202012Validator(SCHEMA, format_checker=formats)


def faults(document: object) -> list[str]:
    return [f"{'/'.join(map(str, fault.absolute_path))}: {fault.message}" for fault in VALIDATOR.iter_errors(document)]


def test_it_is_a_schema_of_the_draft_it_names():
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(SCHEMA)


def test_every_flight_is_valid(documents, flight):
    assert faults(documents[flight]) == []


def test_the_flights_are_what_they_are_named(documents):
    """So that a valid document of each kind really has been seen."""
    flown = {name: [entry["flown"] for entry in document["reversals"]] for name, document in documents.items()}
    assert flown == {
        "clean.csv": ["45/180"],
        "strong_wind.csv": ["45/180"],
        "early_descent.gpx": ["45/180"],
        "no_altitude.csv": ["45/180"],
        "arrival_only.csv": [],
        "cut_short.csv": ["45/180"],
        "straight_in.csv": ["straight-in"],
        "with_gap.csv": ["45/180"],
        "two_approaches.csv": ["45/180", "45/180"],
    }
    assert documents["cut_short.csv"]["reversals"][0]["figures"]["established"] is None
    assert documents["with_gap.csv"]["track"]["gaps"]
    without = documents["no_altitude.csv"]["reversals"][0]
    assert without["farthest"]["slant_nm"] is None
    assert without["descent"] is None
    assert {part["altitude_min_ft"] for part in without["parts"]} == {None}


def _procedures() -> Iterator[tuple[str, dict[str, Any]]]:
    """The sample procedure with other tables, so that each key of a procedure file is written at least once."""
    fix, reversal = charted()["fix"], charted()["reversal"]
    beside = {"latitude_deg": fix["latitude_deg"], "longitude_deg": fix["longitude_deg"]}
    plain = {key: fix[key] for key in ("name", "kind", "latitude_deg", "longitude_deg")}
    yield "declination of a model", {"fix": {**plain, "variation_date": dt.date(2020, 5, 1)}}
    yield "limit from elsewhere", {"reversal": {**reversal, "within_from": beside, "depicted_track": True}}
    yield "localizer", {"guidance": {"kind": "localizer", **beside, "full_scale_deg": 2.5}}
    yield "gps", {"guidance": {"kind": "gps", "full_scale_nm": 1.0}}
    yield "glide path", {"glide_path": {"angle_deg": 3.0}}
    yield "no altitudes", {"altitudes": {}}
    course = {"outbound_course_deg": 61, "inbound_course_deg": 241}
    yield "base turn", {"reversal": {"kind": "base-turn", "turn": "right", **course}}
    yield "hold by time", {"reversal": {"kind": "hold", "turn": "right", "leg_time_s": 60, **course}}
    yield "hold by length", {"reversal": {"kind": "hold", "turn": "right", "leg_length_nm": 4, **course}}
    yield "arc", {"reversal": {"kind": "arc", "turn": "left", **course}, "arc": {**beside, "radius_nm": 10}}
    yield "none", {"reversal": {"kind": "none", **course}}
    yield "whole approach", tomllib.loads(WHOLE.read_text(encoding="utf-8"))


def _optional_removed() -> dict[str, Any]:
    tables = copy.deepcopy(charted())
    del tables["category"], tables["runway"]
    return tables


@pytest.mark.parametrize("other", [pytest.param(tables, id=name) for name, tables in _procedures()])
def test_every_kind_of_procedure_is_valid(other):
    procedure = Procedure.model_validate({**_optional_removed(), **other})
    document = analyzer.debrief(analyzer.read_track(LOGS["clean.csv"]), procedure).to_dict()
    assert faults(document) == []
    written = document["procedure"]
    for table, keys in other.items():
        rows = keys if isinstance(keys, list) else [keys]
        for given, shown in zip(rows, written[table] if isinstance(keys, list) else [written[table]], strict=True):
            assert set(given) <= set(shown) if isinstance(given, dict) else given == shown


def shortened(document: dict[str, Any]) -> dict[str, Any]:
    """The same with one item of each list, which is enough to know what every object must hold."""
    short = copy.deepcopy(document)
    entry = short["reversals"][0]
    for key in ("passages", "parts", "findings"):
        entry[key] = entry[key][:1]
    short["track"]["gaps"] = [{"start": short["track"]["start"], "end": short["track"]["end"]}]
    short["track"]["notes"] = [{"text": "A note.", "count": 1}]
    return short


def objects(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], dict[str, Any]]]:
    if isinstance(value, dict):
        yield path, value
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        yield from objects(inner, (*path, key))


def at(document: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        document = document[key]
    return document


def test_nothing_may_be_added_anywhere(documents):
    short = shortened(documents["clean.csv"])
    assert faults(short) == []
    paths = [path for path, _ in objects(short)]
    assert len(paths) >= 17
    for path in paths:
        changed = copy.deepcopy(short)
        at(changed, path)["surprise"] = 1
        assert faults(changed), path


def test_nothing_may_be_missing_but_what_a_procedure_file_or_a_check_may_leave_out(documents):
    short = shortened(documents["clean.csv"])
    optional = {
        ("procedure", "category"), ("procedure", "runway"),
        ("procedure", "fix", "elevation_ft"), ("procedure", "fix", "variation_deg_east"),
    }  # fmt: skip
    missing = set()
    for path, found in list(objects(short)):
        for key in found:
            changed = copy.deepcopy(short)
            del at(changed, path)[key]
            if not faults(changed):
                missing.add((*path, key))
    free = {
        path for path in missing if path[:2] in {("procedure", "reversal"), ("procedure", "altitudes")} or "details" in path
    }
    assert missing - free <= optional
    assert ("procedure", "reversal", "kind") not in missing
    assert ("procedure", "altitudes") not in missing


ENTRY = ("reversals", 0)
FINDING = (*ENTRY, "findings", 0)
PART = (*ENTRY, "parts", 0)


@pytest.mark.parametrize(
    ("path", "wrong"),
    [
        (("version",), 1),
        (("version",), "2"),
        (("holds",), None),
        ((*ENTRY, "hold"), {"name": "WND"}),  # without its laps
        ((*ENTRY, "hold"), {"name": "WND", "laps": 0}),
        ((*PART, "lap"), 0),
        ((*FINDING, "lap"), 1.5),
        (("cautions",), ""),
        (("track", "samples"), 894.5),
        (("track", "start"), "2026-06-14T09:12:00.000+00:00"),
        (("track", "start"), "2026-06-14 09:12:00.000Z"),
        (("track", "start"), "2026-06-31T09:12:00.000Z"),
        (("track", "start"), 1781428320),
        (("track", "interval_s"), 0),
        (("procedure", "reversal", "kind"), "procedure turn"),
        (("procedure", "fix", "latitude_deg"), 91),
        (("procedure", "fix", "kind"), "vortac"),
        ((*ENTRY, "flown"), "racetrack"),
        ((*ENTRY, "flown"), None),
        ((*ENTRY, "side"), "port"),
        ((*ENTRY, "turn"), 1),
        ((*ENTRY, "entry"), "offset"),
        ((*ENTRY, "wind", "from_deg_true"), 361),
        ((*ENTRY, "wind", "speed_kt"), -1),
        ((*ENTRY, "wind"), "calm"),
        ((*ENTRY, "passages", 0, "direction"), "out"),
        ((*ENTRY, "parts"), []),
        ((*PART, "part"), "teardrop"),
        ((*PART, "leg"), "climb"),
        ((*PART, "end"), None),
        ((*PART, "course_deg"), -1),
        ((*PART, "altitude_min_ft"), "3000"),
        ((*ENTRY, "farthest", "longitude_deg"), 181),
        ((*ENTRY, "farthest", "time"), None),
        ((*ENTRY, "descent", "end_part"), "level"),
        ((*ENTRY, "figures", "overshoot_nm"), -0.1),
        ((*FINDING, "check"), "distance"),
        ((*FINDING, "leg"), None),
        ((*FINDING, "unit"), "nm"),
        ((*FINDING, "verdict"), "pass"),
        ((*FINDING, "verdict"), "Inside"),
        ((*FINDING, "verdict"), "not assessed"),  # without a reason
        ((*FINDING, "reason"), "because"),  # of a finding that was assessed
        ((*FINDING, "sd"), -1),
        ((*FINDING, "time"), None),  # but with a place
        ((*FINDING, "latitude_deg"), None),
        ((*FINDING, "basis"), "guess"),
        ((*FINDING, "sentence"), ""),
        ((*FINDING, "details"), {"slant": 1.0}),
        ((*FINDING, "details"), {"slant_nm": "7"}),
    ],
)  # fmt: skip
def test_wrong_values_are_refused(documents, path, wrong):
    changed = shortened(documents["clean.csv"])
    at(changed, path[:-1])[path[-1]] = wrong
    assert faults(changed)


@pytest.mark.parametrize(
    "path",
    [
        *((*ENTRY, key) for key in ("flown_score_gap", "side", "turn", "entry", "wind", "farthest", "descent")),
        (*ENTRY, "farthest", "slant_nm"), (*ENTRY, "descent", "end"), (*ENTRY, "descent", "end_part"),
        *((*PART, key) for key in (
            "course_deg", "altitude_start_ft", "altitude_end_ft", "altitude_min_ft", "bank_mean_deg", "bank_peak_deg",
            "turn_rate_mean_deg_s", "turn")),
        *((*ENTRY, "figures", key) for key in (
            "established", "outbound_length_nm", "offset_leg_s", "outbound_peak_deviation_deg", "inbound_peak_deviation_deg",
            "overshoot_nm", "max_indicated_kt")),
        (*FINDING, "part"), (*FINDING, "measured"), (*FINDING, "limit"), (*FINDING, "margin"), (*FINDING, "sd"),
    ],
)  # fmt: skip
def test_what_cannot_be_told_may_be_null(documents, path):
    changed = shortened(documents["clean.csv"])
    at(changed, path[:-1])[path[-1]] = None
    assert faults(changed) == []


def test_the_sets_are_those_of_the_design():
    definitions = SCHEMA["$defs"]
    approach = definitions["approach"]["properties"]
    assert definitions["verdict"]["enum"] == ["inside", "outside", "too close to call", "not assessed"]
    assert definitions["leg_name"]["enum"] == ["arrival", "outbound", "reversal", "inbound", "final", "missed", "hold"]
    assert set(definitions["part_name"]["enum"]) == {
        "arrival", "outbound_turn", "outbound", "offset_turn", "offset_leg", "reversal_turn", "intercept", "inbound", "final",
        "entry_turn", "arc_turn", "arc", "missed", "turn_inbound",
    }  # fmt: skip
    assert set(approach["flown"]["enum"]) == {
        "45/180", "80/260", "base-turn", "hold-direct", "hold-teardrop", "hold-parallel", "arc", "straight-in",
    }  # fmt: skip
    assert set(definitions["charted_kind"]["enum"]) == {"procedure-turn", "base-turn", "hold", "arc", "none"}
    assert with_names(SCHEMA_FILE.read_text(encoding="utf-8")) == SCHEMA_FILE.read_text(encoding="utf-8")


def test_all_that_the_program_can_say_is_in_the_sets():
    definitions = SCHEMA["$defs"]
    assert set(get_args(Verdict)) == set(definitions["verdict"]["enum"])
    assert {shape.name for shape in SHAPES} <= set(definitions["approach"]["properties"]["flown"]["enum"])


def _said(keyword: str) -> set[str]:
    """Every text that a check passes by that keyword."""
    found: set[str] = set()
    for file in Path(checks.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.keyword) and node.arg == keyword:
                values = [node.value.body, node.value.orelse] if isinstance(node.value, ast.IfExp) else [node.value]
                found |= {value.value for value in values if isinstance(value, ast.Constant)}
    return found


@pytest.mark.parametrize(("keyword", "least"), [("basis", {"altitude", "estimate"}), ("unit", {"NM", "s", "deg", "kt"})])
def test_every_basis_and_unit_of_a_check_is_in_the_sets(keyword, least):
    assert least <= _said(keyword) <= set(SCHEMA["$defs"]["finding"]["properties"][keyword]["enum"])


def test_the_units_of_altitudes_are_in_the_set():
    assert {FEET.name, METRES.name} <= set(SCHEMA["$defs"]["finding"]["properties"]["unit"]["enum"])


def _plain(schema: dict[str, Any], definitions: dict[str, Any]) -> dict[str, Any]:
    """A schema of pydantic's with its reference followed and null, which is never written, left out."""
    while "$ref" in schema or "anyOf" in schema:
        if "anyOf" in schema:
            schema = next(choice for choice in schema["anyOf"] if choice != {"type": "null"})
        else:
            schema = definitions[schema["$ref"].rsplit("/", 1)[-1]]
    return schema


def test_a_procedure_is_held_to_what_its_file_may_say():
    """Every key of the file, with the same bounds and choices; `variation` is added by the debrief."""
    model = Procedure.model_json_schema(mode="serialization")

    def compare(ours: dict[str, Any], theirs: dict[str, Any], place: str) -> None:
        ours = {**ours, **SCHEMA["$defs"][ours["$ref"].rsplit("/", 1)[-1]]} if "$ref" in ours else ours
        if theirs.get("type") == "array":
            assert ours["maxItems"] == theirs["maxItems"], place
            compare(ours["items"], _plain(theirs["items"], model["$defs"]), place)
            return
        if "properties" in theirs:
            assert set(ours["properties"]) - {"variation"} == set(theirs["properties"]), place
            for key, inner in theirs["properties"].items():
                compare(ours["properties"][key], _plain(inner, model["$defs"]), f"{place}.{key}")
            return
        theirs = {**theirs, "enum": [theirs["const"]]} if "const" in theirs else theirs
        for bound in ("minimum", "maximum", "minLength", "maxLength", "enum"):
            assert ours.get(bound) == theirs.get(bound), (place, bound)

    compare(SCHEMA["properties"]["procedure"], model, "procedure")


UNITS = {
    "_nm": "nautical miles", "_ft": "feet", "_kt": "knots", "_kias": "knots", "_deg": "degrees", "_deg_s": "degrees a second",
    "_deg_true": "degrees true", "_deg_magnetic": "degrees magnetic", "_east": "degrees, east positive", "_s": "seconds",
}  # fmt: skip


def test_the_unit_of_every_number_is_told():
    told = 0
    for path, found in objects(SCHEMA):
        if path[-1:] != ("properties",) or {"if", "then", "else"} & set(path):
            continue
        for key, rule in found.items():
            kind = rule.get("type", "")
            if not ("number" in kind if isinstance(kind, list) else kind == "number") or "string" in kind:
                continue
            suffixes = [suffix for suffix in UNITS if key.endswith(suffix)]
            unit = UNITS[max(suffixes, key=len)] if suffixes else "without unit|in `unit`|share of full scale|knots indicated"
            assert re.search(unit, rule["description"]), (key, rule["description"])
            told += 1
    assert told > 60


def test_signs_and_references_are_told():
    text = json.dumps(SCHEMA)
    for key, words in {
        "bank_mean_deg": "right positive", "turn_rate_mean_deg_s": "right positive", "course_deg": "degrees magnetic",
        "from_deg_true": "blows from, degrees true", "cross_track_nm": "positive right of the course flown",
        "deg_east": "east positive", "margin": "negative outside",
    }.items():  # fmt: skip
        rules = re.findall(rf'"{key}": \{{"description": "([^"]*)"', text)
        assert rules, key
        assert all(words in rule for rule in rules), key
