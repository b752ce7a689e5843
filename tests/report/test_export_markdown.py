"""The Markdown report, read back by markdown-it: its structure, its figures, and names that stay names."""

import datetime as dt
import re

import pytest
from export_flights import DIRECTING, HOSTILE, debriefed_anew, named, saying
from markdown_it import MarkdownIt
from report_flights import LOGS, NM

import analyzer
from analyzer.brief.brief_file import read_card
from analyzer.brief.briefing import brief
from analyzer.brief.chances import Errors
from analyzer.brief.conditions import Conditions
from analyzer.procedure.charted import resolve
from analyzer.report.exports.json_text import brief_json_text
from analyzer.report.exports.markdown import debrief_markdown

MARKDOWN = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
WORD_JOINER = "\u2060"
# What GFM links without any mark (its section 6.9): addresses of the web and of mail, bare.
BARE_ADDRESS = re.compile(r"(?i)(?:^|[\s*_~(])www\.[\w-]|(?:https?|ftp)://\w|[\w.+-]+@[\w-]+\.[\w]")


class Read:
    """What a reader makes of the text: blocks, kinds of inline marks, headings, tables and items of lists."""

    def __init__(self, text):
        self.tokens = MARKDOWN.parse(text)
        self.shape = [
            (token.type, [child.type for child in token.children or [] if child.type not in ("text", "text_special")])
            for token in self.tokens
        ]
        self.headings = [self._after(k) for k, token in enumerate(self.tokens) if token.type == "heading_open"]
        self.items = [self._after(k + 1) for k, token in enumerate(self.tokens) if token.type == "list_item_open"]
        self.paragraphs = [self._after(k) for k, token in enumerate(self.tokens) if token.type == "paragraph_open"]
        self.tables = self._tables()

    def _after(self, k):
        return shown(self.tokens[k + 1])

    def _tables(self):
        tables = []
        for k, token in enumerate(self.tokens):
            if token.type == "table_open":
                tables.append([])
            elif token.type == "tr_open":
                tables[-1].append([])
            elif token.type in ("td_open", "th_open"):
                tables[-1][-1].append(self._after(k))
        return tables

    def under(self, heading):
        """The first table after a heading."""
        k = next(k for k, t in enumerate(self.tokens) if t.type == "heading_open" and self._after(k) == heading)
        return self.tables[sum(token.type == "table_open" for token in self.tokens[:k])]


def shown(inline):
    return "".join(child.content for child in inline.children if child.type in ("text", "text_special", "code_inline"))


@pytest.fixture(scope="module")
def reports(debriefs):
    return {name: Read(debrief_markdown(debrief)) for name, debrief in debriefs.items()}


def test_it_begins_with_what_it_is_of_and_for(reports, documents, flight):
    read = reports[flight]
    assert read.headings[0] == "Wendle Island VOR 24"
    assert [token.type for token in read.tokens[3:5]] == ["blockquote_open", "paragraph_open"]
    assert read.paragraphs[0] == documents[flight]["cautions"]
    assert read.paragraphs[1].startswith(f"{flight}, ")
    assert read.paragraphs[1].endswith("Judged by: FAA instrument rating.")


def test_it_gives_the_result_of_the_json(reports, documents, flight):
    for reversal in documents[flight]["reversals"]:
        result = reversal["overall"]
        assert f"{result['verdict'].capitalize()}: {result['sentence']}." in reports[flight].paragraphs


def test_every_part_has_a_row(reports, documents, sample):
    heading, *rows = reports[sample].under("Parts")
    parts = documents[sample]["reversals"][0]["parts"]
    assert [row[0] for row in rows] == [part["part"].replace("_", " ") for part in parts]
    for row, part in zip(rows, parts, strict=True):
        told = dict(zip(heading, row, strict=True))
        assert float(told["s"]) == pytest.approx(part["duration_s"], abs=0.56)
        assert float(told["NM"]) == pytest.approx(part["length_nm"], abs=0.056)
        assert float(told["GS kt"]) == pytest.approx(part["ground_speed_kt"], abs=0.56)
        assert [float(ft) for ft in told["altitude ft"].split("-")] == [part["altitude_start_ft"], part["altitude_end_ft"]]
        assert told["course"] == ("" if part["course_deg"] is None else f"{round(part['course_deg']):03d}°")


def test_every_finding_has_a_row_the_worst_first(reports, documents, flight):
    for reversal in documents[flight]["reversals"][:1]:
        heading, *rows = reports[flight].under("Findings")
        told = [dict(zip(heading, row, strict=True)) for row in rows]
        assert sorted((row["check"], row["verdict"], row["source"]) for row in told) == sorted(
            (
                finding["check"].replace("_", " "),
                finding["verdict"] + (f": {finding['reason']}" if finding["reason"] else ""),
                finding["source"],
            )
            for finding in reversal["findings"]
        )
        order = ["outside", "too close to call", "inside", "not assessed"]
        ranks = [order.index(row["verdict"].split(":")[0]) for row in told]
        assert ranks == sorted(ranks)


def test_limit_and_margin_are_those_of_the_json(reports, documents):
    """The distance that the windy flight went too far: 1.48 NM beyond 10."""
    heading, first, *_ = reports["strong_wind.csv"].under("Findings")
    told = dict(zip(heading, first, strict=True))
    assert (told["check"], told["measured"], told["limit"], told["margin"]) == (
        "distance limit", "11.48 NM", "10.00 NM", "-1.48 NM",
    )  # fmt: skip
    finding = documents["strong_wind.csv"]["reversals"][0]["findings"][0]
    assert (finding["check"], finding["margin"]) == ("distance_limit", pytest.approx(-1.48, abs=0.005))


def test_lessons_are_told_whole(reports, documents, flight):
    items = reports[flight].items
    for reversal in documents[flight]["reversals"]:
        for finding in reversal["findings"]:
            lesson = finding["lesson"] or {"cause": None, "advice": None}
            for word, text in (("Why:", lesson["cause"]), ("Try:", lesson["advice"])):
                assert text is None or f"{word} {text}" in items
            if finding["verdict"] == "outside" or finding["lesson"]:
                assert any(item.startswith(finding["sentence"]) for item in items)


def test_how_the_log_was_read_is_told(reports, documents, flight):
    notes = [note["text"] for note in documents[flight]["track"]["notes"]]
    assert notes
    assert set(notes) <= set(reports[flight].items)
    assert reports[flight].headings[-1] == "How the log was read"
    assert any(item.startswith("Variation 8.0° west") for item in reports[flight].items)


def test_two_approaches_are_told_apart(reports):
    read = reports["two_approaches.csv"]
    assert [h for h in read.headings if h.startswith("Approach")] == ["Approach 1 of 2", "Approach 2 of 2"]
    assert len(read.tables) == 4


def test_a_flight_without_an_approach_says_so(reports):
    read = reports["arrival_only.csv"]
    assert "Nothing to judge" in read.headings
    assert any("No approach" in paragraph for paragraph in read.paragraphs)
    assert read.tables == []


def test_altitudes_that_were_not_logged_have_no_column(reports):
    heading, *rows = reports["no_altitude.csv"].under("Parts")
    assert heading == [one for one in reports["clean.csv"].under("Parts")[0] if one != "altitude ft"]
    assert {len(row) for row in rows} == {len(heading)}


def test_the_brief_stands_beside_the_flight(debriefs, tmp_path):
    """Its two lists of values are those of the JSON, briefed before flown."""
    procedure = resolve(debriefs["clean.csv"].motion.charted.procedure, dt.date(2026, 6, 1))
    conditions = Conditions({"all": 110.0 * NM / 3600.0}, speeds_are_true=True)
    card = tmp_path / "card.json"
    card.write_text(brief_json_text(brief(procedure, conditions, Errors(flights=10))), encoding="utf-8")
    debrief = analyzer.debrief(analyzer.read_track(LOGS["clean.csv"]), procedure.procedure, card=read_card(card))
    heading, *rows = Read(debrief_markdown(debrief)).under("Compared with the brief")
    (reversal,) = debrief.to_dict()["reversals"]
    parts = reversal["against_brief"]["parts"]
    assert [row[0] for row in rows] == [part["part"].replace("_", " ") for part in parts]
    for row, part in zip(rows, parts, strict=True):
        seconds = row[heading.index("s")].split("/")
        told = [part["duration_s"]["briefed"], part["duration_s"]["flown"]]
        assert [float(s) if s != "-" else None for s in seconds if s] == [
            None if value is None else pytest.approx(value, abs=0.56) for value in told
        ]


def plain(text):
    """A name as it may be shown: in one line, without what acts."""
    return "".join("" if DIRECTING.match(c) else c if c.isprintable() else " " for c in text).strip()


MORE = (
    "===", "---", "- item", "+ item", "12) item", "> quote", "    indented", "~~~", "```", "<!-- x", "&amp;", "| - |", "back\\",
    "ends #", "![x][1]", "[1]: /x", "<https://evil.example>", "mailto:a@evil.example", "WWW.evil.example",
    "a_www.evil.example", "\x1b[31mred", "$x$", ":--",
)  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_names_are_names(name):
    """The same blocks and marks as with a plain name, and the name to be read whole."""
    text = debrief_markdown(named(name))
    read, of_plain = Read(text), Read(debrief_markdown(named("Plain")))
    assert read.shape == of_plain.shape
    assert read.headings[0].replace(WORD_JOINER, "") == plain(name)


@pytest.mark.parametrize("text", [*HOSTILE, *MORE])
def test_sentences_are_sentences(debriefs, text):
    """Whatever a finding, its source and its lesson say, and the log is called."""
    written = debrief_markdown(saying(debriefs["strong_wind.csv"], text))
    read, of_plain = Read(written), Read(debrief_markdown(saying(debriefs["strong_wind.csv"], "Plain")))
    assert read.shape == of_plain.shape
    joined = [item.replace(WORD_JOINER, "") for item in read.items]
    assert any(re.fullmatch(rf"{re.escape(plain(text))} Not assessed:\s+{re.escape(plain(text))}\.", item) for item in joined)
    assert read.under("Findings")[1][-1].replace(WORD_JOINER, "") == plain(text)
    everything = [
        *read.headings,
        *read.items,
        *read.paragraphs,
        *(cell for table in read.tables for row in table for cell in row),
    ]
    assert not [found for found in everything if BARE_ADDRESS.search(found)]
    assert not DIRECTING.search(written)
    assert "\x1b" not in written


def test_the_same_debrief_gives_the_same_bytes(debriefs):
    assert (
        debrief_markdown(debriefs["strong_wind.csv"]).encode() == debrief_markdown(debriefed_anew("strong_wind.csv")).encode()
    )
