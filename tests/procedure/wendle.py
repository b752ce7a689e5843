"""An invented procedure as a dictionary, and as TOML."""

import json
import tomllib
from pathlib import Path
from typing import Any

Tables = dict[str, Any]

COMPLETE: Tables = {
    "title": "Wendle Island VOR 24",
    "category": "B",
    "fix": {
        "name": "WND",
        "kind": "vor",
        "latitude_deg": 47.25,
        "longitude_deg": -31.5,
        "elevation_ft": 120,
        "variation_deg_east": -9.0,
    },
    "reversal": {
        "kind": "procedure-turn",
        "side": "left",
        "outbound_course_deg": 61,
        "inbound_course_deg": 241,
        "within_nm": 10,
        "maximum_speed_kias": 200,
    },
    "altitudes": {"arrival_ft": 3000, "outbound_ft": 3000, "reversal_ft": 2200, "inbound_ft": 2200, "final_ft": 640},
    "runway": {
        "name": "24",
        "threshold_latitude_deg": 47.21,
        "threshold_longitude_deg": -31.58,
        "threshold_elevation_ft": 40,
        "true_heading_deg": 229.0,
    },
}


WHOLE_FILE = Path(__file__).parent / "whole_approach.toml"


def whole() -> Tables:
    """The invented procedure that charts all that a procedure file can."""
    return tomllib.loads(WHOLE_FILE.read_text(encoding="utf-8"))


def toml(tables: Tables) -> str:
    """The tables as TOML; strings, numbers, booleans, one level of inline tables, and lists of tables."""

    def value(item: object) -> str:
        if isinstance(item, dict):
            return "{" + ", ".join(f"{key} = {value(inner)}" for key, inner in item.items()) + "}"
        return json.dumps(item) if isinstance(item, str | bool) else str(item)

    lines = [f"{key} = {value(item)}" for key, item in tables.items() if not isinstance(item, dict | list)]
    for name, table in tables.items():
        if isinstance(table, dict):
            lines += [f"[{name}]", *(f"{key} = {value(item)}" for key, item in table.items())]
        if isinstance(table, list):
            for one in table:
                lines += [f"[[{name}]]", *(f"{key} = {value(item)}" for key, item in one.items())]
    return "\n".join(lines) + "\n"
