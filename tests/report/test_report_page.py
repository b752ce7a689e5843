"""The page: whole and well-formed, standing by itself, readable without sight, and saying all that was found."""

import json
import re
from base64 import b64encode
from hashlib import sha256
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from report_flights import CUT_NAMES, SAMPLE_NAMES
from test_report_summary import expected_verdict

# elements without an end tag, HTML Living Standard 13.1.2
VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}


class Page(HTMLParser):
    """Every element in order as (name, attributes, names of those it lies in), the text of each, and what is not closed."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str], tuple[str, ...]]] = []
        self.texts: list[tuple[tuple[str, ...], str]] = []
        self.whole: list[tuple[str, str]] = []  # of every element that ended: its name, and all the text in it
        self.open: list[str] = []
        self._said: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        assert len({name for name, _ in attrs}) == len(attrs), f"<{tag}> has an attribute twice"
        self.elements.append((tag, {name: value or "" for name, value in attrs}, tuple(self.open)))
        if tag not in VOID:
            self.open.append(tag)
            self._said.append("")

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag):
        assert self.open, f"</{tag}> ends nothing"
        assert self.open.pop() == tag
        self.whole.append((tag, " ".join(self._said.pop().split())))

    def handle_data(self, data):
        self.texts.append((tuple(self.open), data))
        self._said = [said + data for said in self._said]

    def all(self, name: str) -> list[dict[str, str]]:
        return [attributes for tag, attributes, _ in self.elements if tag == name]

    def text(self, inside: str = "body") -> str:
        """All text to read inside an element, white space folded."""
        read = [data for path, data in self.texts if inside in path and not {"style", "script"} & set(path)]
        return " ".join("".join(read).split())

    def text_of(self, name: str) -> list[str]:
        """All the text in each element of a name, as far as it has some."""
        return [said for tag, said in self.whole if tag == name and said]


@pytest.fixture(scope="session")
def parsed(pages):
    return {name: Page(text) for name, text in pages.items()}


def test_it_is_one_whole_page(parsed, pages, flight):
    page = parsed[flight]
    assert pages[flight].startswith("<!doctype html>\n<html lang=\"en\">")  # fmt: skip
    assert [page.all(name).__len__() for name in ("html", "head", "title", "body", "main", "h1", "footer")] == [1] * 7
    assert {"charset": "utf-8"} in page.all("meta")
    assert page.text("title") == f"Wendle Island VOR 24: {flight}"
    assert page.text("h1") == "Wendle Island VOR 24"


def test_headings_go_down_in_steps_of_one(parsed, flight):
    levels = [int(tag[1]) for tag, _, _ in parsed[flight].elements if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_nothing_is_asked_of_any_server(parsed, pages, flight):
    """Only names on the page and data in it are referred to; a policy forbids the rest to a browser."""
    page = parsed[flight]
    for tag, attributes, _ in page.elements:
        for name, value in attributes.items():
            if name in ("src", "href", "xlink:href", "srcset", "data", "action", "poster", "background", "cite", "manifest"):
                assert value.startswith(("#", "data:image/")), (tag, name, value)
            for target in re.findall(r"url\(\s*['\"]?([^)'\"]*)", value):
                assert target.startswith("#"), (tag, name, value)
    styles = [data for path, data in page.texts if path[-1:] == ("style",)]
    assert styles
    assert not any("@import" in style or "url(" in style for style in styles)
    assert not {"link", "iframe", "object", "embed", "base", "form", "img", "image", "foreignobject"} & {
        tag for tag, _, _ in page.elements
    }
    assert "<?" not in pages[flight]
    policies = [meta["content"] for meta in page.all("meta") if meta.get("http-equiv") == "Content-Security-Policy"]
    assert len(policies) == 1
    allowed = dict(rule.strip().split(" ", 1) for rule in policies[0].split(";"))
    assert allowed["default-src"] == "'none'"
    assert set(allowed) <= {"default-src", "style-src", "img-src", "script-src", "base-uri", "form-action"}
    assert not re.search(r"https?:|\*|unsafe-eval", policies[0])
    assert allowed["style-src"] == "'unsafe-inline'"
    assert "unsafe" not in allowed["script-src"]


def test_one_script_runs_that_the_policy_knows_by_its_hash(parsed, flight):
    """CSP level 3, 2.3.1 and 6.7.2.2: the digest of the script's text, in base64. JSON is data and does not run."""
    page = parsed[flight]
    scripts = [attributes for attributes in page.all("script") if attributes.get("type") != "application/json"]
    assert scripts == ([{}] if page.all("section") else [])
    (policy,) = [meta["content"] for meta in page.all("meta") if meta.get("http-equiv") == "Content-Security-Policy"]
    allowed = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))["script-src"]
    for text in [data for path, data in page.texts if path[-1:] == ("script",) and not data.startswith("{")]:
        assert allowed == f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"
    for tag, attributes, _ in page.elements:
        assert tag not in ("animate", "set")
        assert not any(
            name.startswith("on") or value.strip().lower().startswith("javascript:") for name, value in attributes.items()
        )


def many(listed: list[object]) -> int:
    """How many values a list of the page stands for: a text repeats the value before it."""
    return sum(int(value) if isinstance(value, str) else 1 for value in listed)


def test_what_the_script_reads_is_data(parsed, documents, flight):
    """One block of JSON (RFC 8259) an approach, without any letter that could end it or begin a comment."""
    page = parsed[flight]
    blocks = [data for path, data in page.texts if path[-1:] == ("script",) and data.startswith("{")]
    assert len(blocks) == len(page.all("section")) == max(1, len(documents[flight]["reversals"]))
    for block, entry in zip(blocks, documents[flight]["reversals"], strict=False):
        assert not set("<>&\u2028\u2029") & set(block)
        data = json.loads(block)
        assert data["parts"] == [part["part"].replace("_", " ") for part in entry["parts"]]
        seconds = sum(many for _, many in data["runs"])
        assert seconds > 60
        assert all(many(reading["values"]) == seconds for reading in data["readings"])
        assert {many(places) for axis in data["places"].values() for places in axis} == {seconds}


def test_ids_are_unique_and_every_reference_is_met(parsed, flight):
    page = parsed[flight]
    ids = [attributes["id"] for _, attributes, _ in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    meant = set()
    for _, attributes, _ in page.elements:
        for name, value in attributes.items():
            meant |= set(re.findall(r"url\(#([^)]*)\)", value))
            if name in ("href", "xlink:href"):
                meant.add(value[1:])
    assert meant <= set(ids)
    assert meant or not page.all("svg")


def _pictures(entry, flight):
    """Plan view and strips; with altitudes the profile; and the final approach where one was flown."""
    if "no_altitude" in flight:
        return 2
    return 4 if any(part["leg"] == "final" for part in entry["parts"]) else 3


def test_every_figure_says_in_words_what_it_shows(parsed, documents, flight):
    page, found = parsed[flight], documents[flight]["reversals"]
    figures = [div for div in page.all("div") if div.get("role") == "img"]
    assert (
        len(figures)
        == len(page.all("figure"))
        == len([one for one in page.all("svg") if one.get("data-layout")]) / 2  # in two layouts
        == len(page.all("figcaption"))
        == (sum(_pictures(entry, flight) for entry in found) or 3)  # of a flight without an approach: plan, profile, strips
    )
    for figure in figures:
        assert len(figure["aria-label"]) > 40
        assert "nan" not in figure["aria-label"].lower().split()
    for entry in found:
        if entry["farthest"] is not None:
            words = f"Farthest point {entry['farthest']['distance_nm']:.2f} nautical miles from the fix"
            assert any(words in figure["aria-label"] for figure in figures)


def test_tables_have_heads_with_scope(parsed, flight):
    page = parsed[flight]
    assert {th.get("scope") for th in page.all("th")} <= {"col", "row"}
    for name in ("table", "thead", "tbody"):
        assert len(page.all(name)) == len(page.all("table"))
    rows = [path for tag, _, path in page.elements if tag == "tr"]
    heads = [attributes["scope"] for tag, attributes, _ in page.elements if tag == "th"]
    assert heads.count("row") == sum("tbody" in path for path in rows)
    assert heads.count("col") >= 3 * len(page.all("table"))


def test_every_finding_is_told_with_its_source(parsed, documents, flight):
    text = parsed[flight].text("main")
    cells = [*parsed[flight].text_of("p"), *parsed[flight].text_of("span")]
    for entry in documents[flight]["reversals"]:
        for finding in entry["findings"]:
            assert " ".join(finding["sentence"].split()) in text
            assert finding["source"] in cells
            if finding["verdict"] == "not assessed":
                assert f"({finding['reason']})" in text


def test_the_verdict_comes_first(parsed, documents, flight):
    page = parsed[flight]
    paragraphs = [(path[-1], attributes.get("class", "")) for tag, attributes, path in page.elements if tag == "p"]
    assert paragraphs[0] == ("main", "quiet")  # which log, and when
    assert paragraphs[1][1].split()[0] == "verdict"
    named = [(tag, attributes.get("class", "")) for tag, attributes, path in page.elements if path[-1:] == ("section",)]
    starts = [number for number, one in enumerate(named) if one[1].startswith("verdict")]
    assert len(starts) == len(documents[flight]["reversals"])
    assert all(number == 0 or named[number - 1][0] in ("h2", "script", "p") for number in starts)
    verdicts = [data for path, data in page.texts if path[-2:] == ("p", "strong") and "main" in path]
    doubts = ["Check first:"] * len(documents[flight]["doubts"])
    expected = [f"{expected_verdict(entry).capitalize()}:" for entry in documents[flight]["reversals"]]
    assert verdicts == doubts + (expected or ["Nothing to judge."])


def test_what_is_outside_is_told_before_the_pictures(pages, documents, flight):
    for entry in documents[flight]["reversals"]:
        outside = [finding["sentence"] for finding in entry["findings"] if finding["verdict"] == "outside"]
        for sentence in outside[:3]:
            assert 0 < pages[flight].index(sentence) < pages[flight].index("<svg")


def test_parts_are_told_in_order(parsed, documents, flight):
    rows = iter(parsed[flight].text_of("th"))
    for entry in documents[flight]["reversals"]:
        for part in entry["parts"]:
            assert part["part"].replace("_", " ") in rows  # goes on from the last one found


def test_no_markup_is_shown_as_text(parsed, flight):
    assert not re.search(r"</?(?:span|em|p|strong)\b", parsed[flight].text("main"))
    assert parsed[flight].text("main").count("--altitude-from") == parsed[flight].text("span").count("--altitude-from")


def test_caution_and_version_stand_at_the_end(parsed, documents, flight):
    assert documents[flight]["cautions"] in parsed[flight].text("footer")
    assert "never for navigation" in parsed[flight].text("footer")
    assert re.search(r"approach-analyzer \d+\.\d+\.\d+$", parsed[flight].text("footer"))


def test_no_place_of_this_machine_is_told(pages, flight, tmp_path_factory):
    assert str(tmp_path_factory.getbasetemp()) not in pages[flight]
    assert "/sample_tracks" not in pages[flight]


def test_a_flight_without_an_approach_says_so(parsed):
    """Cut on the arrival: the log ends half a minute before the fix."""
    text = parsed["arrival_only.csv"].text("main")
    assert "Nothing to judge." in text
    assert "No approach" in text
    assert "WND" in text


def test_two_approaches_are_told_apart(parsed):
    assert [text for text in parsed["two_approaches.csv"].text_of("h2") if text.startswith("Approach")] == [
        "Approach 1 of 2",
        "Approach 2 of 2",
    ]
    for name in SAMPLE_NAMES + CUT_NAMES:
        if name != "two_approaches.csv":
            assert not any(text.startswith("Approach") for text in parsed[name].text_of("h2"))


# WCAG 2.2, 1.4.3: contrast of 4.5:1 for text, by its relative luminance
def luminance(colour: str) -> float:
    channels = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def colours(page: str, scheme: str) -> dict[str, str]:
    """The colours that the page's style gives its names, by scheme."""
    light, dark = page[: page.index("</style>")].split("prefers-color-scheme: dark", 1)
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", {"light": light, "dark": dark}[scheme]))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_colours_of_text_keep_their_contrast(pages, scheme):
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    of = colours(pages["clean.csv"], scheme)
    for ground in ("paper", "box"):  # the page's and the verdict's
        for name in ("ink", "quiet", "outside", "close", "inside", "none"):
            assert contrast(of[name], of[ground]) >= 4.5, (name, ground)
    for leg in ("arrival", "outbound", "reversal", "inbound", "final"):
        assert contrast(of["ink"], of[f"{leg}-tint"]) >= 4.5
        assert contrast(of["quiet"], of[f"{leg}-tint"]) >= 4.5
        assert contrast(of["warn"], of[f"{leg}-tint"]) >= 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_lines_keep_their_contrast(pages, scheme):
    """WCAG 2.2, 1.4.11: 3:1 for what is drawn, on the page and on the legs' own tints."""
    of = colours(pages["clean.csv"], scheme)
    for leg in ("arrival", "outbound", "reversal", "inbound", "final"):
        for ground in ("paper", f"{leg}-tint"):
            assert contrast(of[leg], of[ground]) >= 3.0, (leg, ground)
            assert contrast(of["warn"], of[ground]) >= 3.0


def test_dark_and_light_name_the_same_colours(pages):
    light, dark = (colours(pages["clean.csv"], scheme) for scheme in ("light", "dark"))
    assert set(light) == set(dark)
    assert len(light) > 15
    used = set(re.findall(r"var\(--([\w-]+)\)", pages["clean.csv"]))
    assert used <= set(light)
