"""Names from files are hostile: they are told as they are, and mean nothing to the page, the pictures or the JSON."""

import copy
import json
import shutil
from dataclasses import dataclass
from html import unescape

import pytest
from drawn import inks, rendered, set_texts, text_saying
from report_flights import LOGS, charted
from test_report_page import Page

import analyzer
from analyzer.procedure.schema import Procedure
from analyzer.report.exports.json_text import json_text
from analyzer.report.exports.write import write_report
from analyzer.report.pages.debrief_page import debrief_page
from analyzer.report.pictures.layout import WIDE
from analyzer.report.pictures.page_pictures import draw_pictures
from analyzer.report.pictures.plan_view import plan_view
from analyzer.report.pictures.profile import profile
from analyzer.report.pictures.subject import Subject

RIGHT_TO_LEFT = "\u200f"  # a mark that turns the direction of writing and cannot be seen
REPLACEMENT = "\ufffd"


@dataclass(frozen=True)
class Names:
    """What the procedure, its fix and its runway are called, and the log's file."""

    title: str
    fix: str
    runway: str
    file: str

    @property
    def told_file(self) -> str:
        """A file's name is for telling only: what cannot be seen in it is shown as a replacement character."""
        return "".join(character if character.isprintable() else REPLACEMENT for character in self.file)


CASES = {  # fix and runway as long as pictures write them whole
    "markup": Names(
        title="<script>alert(1)</script> & \"quoted\" 'twice'",
        fix="$\\frac{1}{2}$ ${",
        runway="<b>24</b> &lt;--",
        file='"><img src=x onerror=alert(1)>.csv',
    ),
    "templates": Names(
        title=f"{{{{ 7 * 7 }}}} {{% raw %}} --> <!-- ]]> <![CDATA[ {RIGHT_TO_LEFT}",
        fix=f"</text><b>&{RIGHT_TO_LEFT}\"'",
        runway="$$ A&B &amp; 'C'",
        file=f"$y$ a&b; W{RIGHT_TO_LEFT}ND %d {{}}.csv",
    ),
}


@pytest.fixture(scope="module", params=CASES)
def names(request) -> Names:
    return CASES[request.param]


@pytest.fixture(scope="module")
def hostile(names, tmp_path_factory):
    tables = copy.deepcopy(charted())
    tables["title"], tables["fix"]["name"], tables["runway"]["name"] = names.title, names.fix, names.runway
    log = tmp_path_factory.mktemp("hostile") / names.file
    shutil.copy(LOGS["clean.csv"], log)
    return analyzer.debrief(analyzer.read_track(log), Procedure.model_validate(tables))


@pytest.fixture(scope="module")
def page(hostile):
    return debrief_page(hostile, [draw_pictures(Subject(hostile, hostile.approaches[0]), "a1")])


def test_the_page_takes_them_as_text(page, names, pages):
    """The same elements as with plain names, and the names whole where they belong."""
    seen, plain = Page(page), Page(pages["clean.csv"])
    assert [tag for tag, *_ in seen.elements] == [tag for tag, *_ in plain.elements]
    assert not any(attribute.startswith("on") for _, attributes, _ in seen.elements for attribute in attributes)
    assert "".join(data for path, data in seen.texts if path[-1:] == ("h1",)) == names.title
    assert "".join(data for path, data in seen.texts if path[-1:] == ("title",)) == f"{names.title}: {names.told_file}"
    assert any(data.startswith(f"{names.told_file}, ") for path, data in seen.texts if path[-1:] == ("p",))
    assert any(names.fix in div["aria-label"] for div in seen.all("div") if div.get("role") == "img")


def test_escapes_are_undone_once(page, names):
    start = page.index("<title>") + len("<title>")
    assert unescape(page[start : page.index("</title>")]) == f"{names.title}: {names.told_file}"


def test_the_pictures_show_them_as_text(page, names):
    """The fix in the plan view once, in the profile at both passages, and where the final begins, each in two layouts."""
    written = [data.strip() for path, data in Page(page).texts if path[-1:] == ("text",)]
    assert written.count(names.fix) == 2 * 4
    assert f"runway {names.runway}" in written


def test_the_pictures_are_drawn(hostile, names):
    plan = plan_view(Subject(hostile, hostile.approaches[0]), WIDE)
    assert text_saying(plan, names.fix).text == names.fix
    for figure in (plan, profile(Subject(hostile, hostile.approaches[0]), WIDE)):
        assert all(ink.any() for _, ink in inks(figure))
        said = [(text, text.get_text()) for text in set_texts(rendered(figure)[0])]
        named = [text for text, word in said if names.fix in word or names.runway in word]
        assert len(named) == 2
        assert not any(text.get_parse_math() for text in named)


def test_the_json_holds_them(hostile, names):
    document = json.loads(json_text(hostile))
    procedure = document["procedure"]
    assert (procedure["title"], procedure["fix"]["name"], procedure["runway"]["name"]) == (names.title, names.fix, names.runway)
    assert document["track"]["file"] == names.told_file
    assert any(f"Farthest from {names.fix}:" in finding["sentence"] for finding in document["reversals"][0]["findings"])


def test_the_report_stays_in_its_folder(tmp_path, debriefs):
    """A name with dots and folders in it would, if it were taken for a path."""
    log = tmp_path / "..\\..-$HOME.csv.gz"
    shutil.copy(LOGS["clean.csv"], log)
    debrief = analyzer.debrief(analyzer.read_track(log), debriefs["clean.csv"].motion.charted.procedure)
    folder = tmp_path / "out" / "here"
    written = write_report(debrief, folder, ("html", "png", "csv"))
    endings = (".html", "-plan.png", "-profile.png", "-final.png", "-strips.png", "-track.csv", "-parts.csv", "-findings.csv")
    # only a plain .csv drops its ending, so that x.csv and x.csv.gz do not share a report
    assert [path.relative_to(folder).as_posix() for path in written] == [
        f"2026-06-14-0912-..\\..-$HOME.csv.gz{ending}" for ending in endings
    ]
    assert sorted(path for path in tmp_path.rglob("*") if path.is_file()) == sorted([log, *written])
