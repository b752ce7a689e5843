"""Documents and docstrings say what is so: their examples are run as they stand, and the files and names in them exist."""

import doctest
import re
from importlib import import_module
from pathlib import Path

import pytest

import analyzer
from analyzer.report.exports.write import write_report
from analyzer.report.words.summary import summary_text

ROOT = Path(__file__).parents[1]
HOME = Path(analyzer.__file__).parent
MODULES = [
    ".".join(("analyzer", *path.relative_to(HOME).with_suffix("").parts)).removesuffix(".__init__")
    for path in sorted(HOME.rglob("*.py"))
    if ">>> " in path.read_text(encoding="utf-8")
]
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")
PRINTED = re.findall(r"^```text\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
FOLDERS = ("analyzer", "tests", "benchmarks", "sample_tracks", ".ci")
FILES = [path.relative_to(ROOT).as_posix() for folder in FOLDERS for path in (ROOT / folder).rglob("*") if path.is_file()]
FILES += [path.name for path in ROOT.iterdir()]
NAMED = sorted(set(re.findall(r"`([\w./]+\.(?:py|toml|json|js|j2|md))`", DEVELOPERS)))
DOTTED = sorted(set(re.findall(r"`(?:\w+\.)*(\w+)\.(?!(?:py|toml|json|js|j2|md|csv)\b)(\w+)`", DEVELOPERS)))
GLOSSARY = re.findall(r"^\| ([^|]+) \| [^|]+ \| `(\w+)` in `([\w/.]+)` \|$", DEVELOPERS, re.MULTILINE)


@pytest.fixture
def at_the_root(monkeypatch):
    """The examples read the sample flights."""
    monkeypatch.chdir(ROOT)


@pytest.mark.usefixtures("at_the_root")
@pytest.mark.parametrize("name", MODULES)
def test_examples_of_a_module(name):
    result = doctest.testmod(import_module(name))
    assert result.attempted
    assert not result.failed


@pytest.mark.parametrize("name", ["compare", "debrief", "read_procedure", "read_standard", "read_track"])
def test_what_is_public_has_an_example(name):
    assert doctest.DocTestFinder(recurse=False).find(getattr(analyzer, name))[0].examples


@pytest.mark.usefixtures("at_the_root")
def test_the_way_of_a_log():
    """The example that DEVELOPERS.md carries along, without the fences around its pieces."""
    text = re.sub(r"^```.*$", "", DEVELOPERS, flags=re.MULTILINE)
    result = doctest.DocTestRunner().run(doctest.DocTestParser().get_doctest(text, {}, "DEVELOPERS.md", "DEVELOPERS.md", 0))
    assert result.attempted
    assert not result.failed


@pytest.mark.usefixtures("at_the_root")
@pytest.mark.parametrize(
    ("begins", "log", "procedure", "flown"),
    [
        ("Wendle Island VOR 24 | strong_wind.csv", "strong_wind.csv", "wendle_island_vor24.toml", ()),
        ("Hold at WND", "missed_and_hold.csv", "wendle_island_vorz24.toml", ()),
        ("Named, not recognised", "strong_wind.csv", "wendle_island_vor24.toml", "15:41:32=teardrop"),
    ],
)
def test_readme_shows_what_is_printed(begins, log, procedure, flown):
    (shown,) = [block.partition("\n\nReport: ")[0].strip() for block in PRINTED if block.startswith(begins)]
    debriefed = analyzer.debrief(
        analyzer.read_track(f"sample_tracks/{log}"), analyzer.read_procedure(f"sample_tracks/{procedure}"), flown=flown
    )
    assert shown in summary_text(debriefed)


@pytest.mark.usefixtures("at_the_root")
def test_what_readme_says_of_the_json_is_there():
    section = README.partition("### In a script")[2].partition("\n## ")[0]
    keys = re.findall(r"`(\w+)`", section.partition("prints `['outside']`. ")[2].partition("Verdicts are")[0])
    debriefed = analyzer.debrief(
        analyzer.read_track("sample_tracks/strong_wind.csv"), analyzer.read_procedure("sample_tracks/wendle_island_vor24.toml")
    ).to_dict()
    (approach,) = debriefed["reversals"]
    assert approach["overall"]["verdict"] == "outside"
    assert len(keys) > 10
    assert not set(keys) - {*debriefed, *approach, *approach["overall"], *approach["findings"][0]}
    assert {one["verdict"] for one in approach["findings"]} <= {*re.findall(r"`([a-z ]+)`", section)}


@pytest.mark.usefixtures("at_the_root")
def test_the_example_report_is_what_is_written_now(tmp_path):
    """Its words, outside the pictures: ``reports/example`` is made anew by the command in DEVELOPERS.md."""
    log, chart = "sample_tracks/strong_wind.csv", "sample_tracks/wendle_island_vor24.toml"
    made = analyzer.debrief(analyzer.read_track(log), analyzer.read_procedure(chart))
    (page,) = write_report(made, tmp_path)
    kept, now = (path.read_text(encoding="utf-8") for path in (Path("reports/example") / page.name, page))
    drawn = re.compile(r"<(svg|script|style)\b.*?</\1>", re.DOTALL)
    assert drawn.sub("", kept) == drawn.sub("", now)


@pytest.mark.parametrize("name", NAMED)
def test_a_file_that_is_named_exists(name):
    assert any(f"/{path}".endswith(f"/{name}") for path in FILES)


@pytest.mark.parametrize(("owner", "name"), DOTTED)
def test_a_name_in_a_module_or_class_exists(owner, name):
    """``pick.Seen`` stands in a module of that name, ``Motion.errors`` in one that has the class."""
    for path in HOME.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        module = path.parent.name if path.stem == "__init__" else path.stem
        if (module == owner or f"class {owner}" in text) and re.search(rf"\b{name}\b", text):
            return
    pytest.fail(f"no module or class {owner} has {name}")


@pytest.mark.parametrize(("term", "name", "file"), GLOSSARY)
def test_a_term_stands_where_the_glossary_says(term, name, file):
    assert re.search(rf"\b{name}\b", (HOME / file).read_text(encoding="utf-8")), term


def test_the_glossary_is_in_order_of_the_alphabet():
    terms = [term.casefold() for term, _, _ in GLOSSARY]
    assert terms == sorted(terms)
    assert len(terms) == DEVELOPERS.partition("## Glossary")[2].partition("## ")[0].count("\n| ") - 2
