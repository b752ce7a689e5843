"""The names in the published JSON Schema: run as a program, it writes those of the vocabulary into the file."""

import json
from importlib import resources
from pathlib import Path
from typing import Any

from analyzer.vocabulary import CHECK_NAMES, LEG_OF_PART, LEGS

SCHEMA_FILE = Path(str(resources.files("analyzer.report").joinpath("debrief.schema.json")))
NAMES: dict[str, list[str]] = {
    "leg_name": list(LEGS),
    "part_name": list(LEG_OF_PART),
    "check_name": list(CHECK_NAMES),
}


def with_names(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema with the vocabulary's names in the place of its own."""
    definitions = {
        name: {**definition, "enum": NAMES[name]} if name in NAMES else definition
        for name, definition in schema["$defs"].items()
    }
    return {**schema, "$defs": definitions}


if __name__ == "__main__":
    written = with_names(json.loads(SCHEMA_FILE.read_text(encoding="utf-8")))
    SCHEMA_FILE.write_text(json.dumps(written, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
