"""The names in the published JSON Schema: run as a program, it writes those of the vocabulary into the file."""

import re
import textwrap
from importlib import resources
from pathlib import Path

from analyzer.vocabulary import CHECK_NAMES, FLOWN_LEGS, LEG_OF_PART

SCHEMA_FILE = Path(str(resources.files("analyzer.report").joinpath("debrief.schema.json")))
NAMES: dict[str, tuple[str, ...]] = {"leg_name": FLOWN_LEGS, "part_name": tuple(LEG_OF_PART), "check_name": CHECK_NAMES}


def with_names(schema: str) -> str:
    """The text of the schema with the vocabulary's names in the place of its own, and all else as it stands."""
    for definition, names in NAMES.items():
        rows = textwrap.fill(", ".join(f'"{name}"' for name in names), 124, initial_indent=" " * 8, subsequent_indent=" " * 8)
        pattern = rf'("{definition}": \{{\s*"description": "[^"]*",\s*"enum": )\[[^\]]*\]'
        schema, found = re.subn(pattern, lambda match, rows=rows: f"{match[1]}[\n{rows}\n      ]", schema)
        if found != 1:
            raise ValueError(f"{definition}: {found} places for its names, not one")
    return schema


if __name__ == "__main__":
    SCHEMA_FILE.write_text(with_names(SCHEMA_FILE.read_text(encoding="utf-8")), encoding="utf-8")
