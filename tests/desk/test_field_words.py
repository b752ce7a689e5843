"""What is said at the desk names its fields and buttons, and no option of the command line."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from desk_served import CHART, CLEAN, STRONG_WIND, Served

import analyzer
from analyzer.desk.class_words import in_class
from analyzer.desk.field_words import in_fields
from analyzer.desk.flights import answer, open_flight
from analyzer.desk.reading_fields import also_fields
from analyzer.desk.store import open_store
from analyzer.track.options import ReadOptions

HOME = Path(analyzer.__file__).parent
OPTION = re.compile(r"--[a-z]")
# Packages that no page of the desk takes sentences from, and modules whose sentences are on the command line alone.
ELSEWHERE = ("cli", "grade", "gradebook", "draft", "library")
# of grading, whose sentences go through the words for classes
OWN_OF_GRADING = {
    "grade/publish.py": "formats that the command line names",
    "grade/row_files.py": "the same",
    "grade/worker_pool.py": "workers that the command line names",
    "gradebook/settings.py": "what the desk gives itself",
}
OWN = {
    "desk/field_words.py": "the words themselves",
    "desk/class_words.py": "the words themselves, for classes",
    "desk/looking.py": "patterns that recognise a question",
    "desk/server.py": "options of the command that starts the desk",
    "desk/shortcut.py": "the same",
    "report/exports/write.py": "files that the command line writes",
    "report/paper/sizes.py": "the same",
    "report/words/explain_text.py": "what --explain prints",
    "report/pages/page.py": "a pattern",
    "report/pictures/svg.py": "names of colours in a page",
    "track/limits.py": "names of limits, which the desk sets itself",
}


def sentences(path: Path) -> Iterator[str]:
    """The texts of a module that hold an option, with a word for each value in them; no docstrings."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    nodes = list(ast.walk(tree))
    bodies = [node.body for node in nodes if isinstance(node, ast.Module | ast.FunctionDef | ast.ClassDef)]
    passed = {id(body[0].value) for body in bodies if isinstance(body[0], ast.Expr)}
    passed |= {id(part) for node in nodes if isinstance(node, ast.JoinedStr) for part in ast.walk(node) if part is not node}
    for node in nodes:
        if id(node) in passed:
            continue
        text = ""
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        elif isinstance(node, ast.JoinedStr):
            text = "".join(str(part.value) if isinstance(part, ast.Constant) else "altitude" for part in node.values)
        if OPTION.search(text):
            yield text


def test_every_sentence_that_names_an_option_has_words_of_the_desk():
    said = {
        path.relative_to(HOME).as_posix(): list(sentences(path))
        for path in sorted(HOME.rglob("*.py"))
        if path.relative_to(HOME).parts[0] not in ELSEWHERE
    }
    left = {name: [text for text in texts if OPTION.search(in_fields(text))] for name, texts in said.items() if name not in OWN}
    assert {name: texts for name, texts in left.items() if texts} == {}
    assert sum(map(len, said.values())) > 40  # they were found
    assert all(said[name] for name in OWN if name not in ("desk/field_words.py", "report/pages/page.py"))


def test_every_sentence_of_grading_that_names_an_option_has_words_for_a_class():
    paths = [path for package in ("grade", "gradebook") for path in sorted((HOME / package).rglob("*.py"))]
    said = {path.relative_to(HOME).as_posix(): list(sentences(path)) for path in paths}
    left = {name: [text for text in texts if OPTION.search(in_class(text))] for name, texts in said.items()}
    assert {name: texts for name, texts in left.items() if texts and name not in OWN_OF_GRADING} == {}
    assert sum(map(len, said.values())) > 8
    assert all(said[name] for name in OWN_OF_GRADING)


@pytest.mark.parametrize(
    ("said", "worded"),
    [
        ("Say which with --altitude-from.", "Say which with “Altitudes count from”."),
        ("say so with --altitude-from pressure.", "say so with “Altitudes count from”, pressure."),
        ("Say which: --unit altitude=ft or --unit altitude=m", "Say which: “Unit of the altitudes”, ft or m"),
        ("if it counts from 1970: --unit time=s (or ms)", "if it counts from 1970: “Unit of the time”, s or ms"),
        ("Name another: --column time=NAME", "Name another: “Column of the time”"),
        ("; --column altitude='pressure altitude' with --qnh takes the other",
         "; “Column of the altitude”, pressure altitude with “QNH” takes the other"),
        ("--cleared up=3: must be straight-in", "“Cleared for” up=3: must be straight-in"),
        ("--cleared up: must be vectors, or a leg and its altitude like inbound=3000; legs are",
         "“Cleared for”, up: must be vectors, or a leg and its altitude like inbound 3000; legs are"),
        ("assigned (--cleared LEG=FT) takes its place", "assigned (“Cleared for”) takes its place"),
        ("cut the log down to the flight, or allow more with --max-bytes", "cut the log down to the flight"),
        ("do without: --no-altitude", "do without: “Column of the altitude”, None"),
        ("nothing -- of the kind", "nothing -- of the kind"),
    ],
)  # fmt: skip
def test_sentences_are_worded(said: str, worded: str):
    assert in_fields(said, "") == worded


@pytest.mark.parametrize("place", ["", "under “Read the log differently”"])
def test_several_fields_are_a_list_that_says_once_where_they_are(place: str):
    said = "Name them: --column time=NAME --column latitude=NAME --column longitude=NAME --unit altitude=ft or m, or else"
    there = f" {place}" if place else ""
    fields = "“Column of the time”, “Column of the latitude”, “Column of the longitude” and “Unit of the altitudes”"
    assert in_fields(said, place) == f"Name them: {fields}{there}, ft or m, or else"
    assert in_fields("--column time=NAME --column date=NAME", place) == f"“Column of the time” and “Column of the date”{there}"


def test_every_field_that_is_named_is_on_the_form():
    """The names in sentences are the labels of the page that reads a log again."""
    labels = {ask.label for ask in also_fields(ReadOptions(), ("time", "lat", "lon", "alt"))}
    columns = [f"--column {quantity}=NAME" for quantity in ("time", "date", "latitude", "longitude", "altitude")]
    for option in ("--altitude-from", "--qnh", "--temperature", "--unit altitude=ft", "--unit time=s", *columns):
        named = re.search("“(.*?)”", in_fields(option))
        assert named is not None
        assert named[1] in labels


def test_pages_name_no_option(shared: Served):
    """A debrief whose altitudes are of unknown reference, a clearance that is none, and a log that cannot be read."""
    folder = shared.folder
    (folder / "procedures" / "words.toml").write_bytes(CHART.read_bytes())
    (folder / "logs" / "words.csv").write_bytes(STRONG_WIND.read_bytes())
    shared.ask("POST", "/flights/words.csv/procedure", b"procedure=words.toml")
    page = shared.ask("GET", "/flights/words.csv")
    assert "“Altitudes count from” under “Read the log differently”." in page.text
    assert "--altitude-from" not in page.text
    refused = shared.ask("POST", "/flights/words.csv/card", b"was+cleared=&cleared=sideways&was+remark=&remark=gusts+on+final")
    assert refused.status == 422
    assert "Not saved: “Cleared for”, sideways: must be straight-in" in refused.text
    assert 'value="sideways" aria-invalid="true"' in refused.text  # what was typed is still there, with the flight below it
    assert ">gusts on final</textarea>" in refused.text
    assert "Wendle Island VOR 24" in refused.text
    times = CLEAN.read_text(encoding="utf-8").replace("time_utc", "time", 1)
    (folder / "logs" / "empty.csv").write_text(re.sub(r"^2026[^,]*", "", times, flags=re.MULTILINE), encoding="utf-8")
    unread = shared.ask("GET", "/flights/empty.csv")
    assert unread.status == 200
    assert "no row has a time: the column &#39;time&#39; is empty. Name another: “Column of the time”" in unread.text
    assert 'name="column time"' in unread.text
    for text in (page.text, refused.text, unread.text):
        assert re.findall(r"--[a-z][a-z-]*", re.sub(r"var\(--[\w-]+\)", "", text)) == []


def test_a_class_says_what_was_flown_in_its_roster():
    """No page of a class has the button that a flight has."""
    hint = "Where you know better, name it with --flown."
    assert in_class(hint) == "Where you know better, say it in the column “flown as” of the roster."
    assert in_fields(hint) == "Where you know better, name it with “Say what was flown”."


def test_what_was_read_wrongly_is_put_right_on_the_form(tmp_path: Path):
    """A log whose times stand in a column that nothing tells: chosen on the form, it is read."""
    store = open_store(tmp_path / "desk")
    lines = CLEAN.read_text(encoding="utf-8").splitlines()
    rows = ["time,when,lat,lon,alt_ft", *(f",{line}" for line in lines[1:])]
    (store.folder / "logs" / "a.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    seen = open_flight(str(store.folder), "a.csv")
    assert "Name another: “Column of the time”" in seen.fault
    again = answer(str(store.folder), "a.csv", {"column time": "when"})
    assert (again.asks, again.fault) == ((), "")
    back = answer(str(store.folder), "a.csv", {"column time": ""})
    assert "Name another" in back.fault
