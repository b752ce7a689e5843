"""The debrief laid out for paper, read back from its PDF by an independent reader."""

import re
from dataclasses import replace

import pytest
from export_flights import HOSTILE, named, saying
from printed import in_order, read_pdf
from report_flights import SAMPLE_NAMES

import analyzer
from analyzer.report.paper.debrief_sheets import debrief_sheets
from analyzer.report.paper.sizes import A4, SHEETS, paper_named

SIZES_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; 8.5 by 11 inches
SIDE_MM, HEAD_MM, FOOT_MM = 16.0, 12.0, 10.0
FEWEST_WORDS = 40  # a sheet with one sentence has fewer


@pytest.fixture(scope="module")
def printed(debriefs):
    return {name: read_pdf(debrief_sheets(debriefs[name], A4)) for name in SAMPLE_NAMES}


def squeezed(text):
    return re.sub(r"\s+", " ", text)


def test_the_result_comes_first_then_the_pictures_then_the_tables(printed, sample, documents):
    overall = documents[sample]["reversals"][0]["overall"]
    result = (overall["verdict"].upper(), squeezed(overall["sentence"]))
    before, after = ("Wendle Island VOR 24", "Judged by"), ("Parts flown", "Over time", "Inside", "How the log was read")
    assert in_order(printed[sample].text, *before, *result, "Farthest", "Plan view", "Profile", "Final approach", *after)


def test_every_fault_is_on_the_first_sheet_the_worst_first(printed, sample, documents):
    first = printed[sample].sheets[0].text
    findings = documents[sample]["reversals"][0]["findings"]
    faults = [finding for verdict in ("outside", "too close to call") for finding in findings if finding["verdict"] == verdict]
    words = []
    for number, finding in enumerate(faults, 1):
        words += [f"{number} {finding['verdict'].capitalize()}.", squeezed(finding["sentence"])]
        lesson = finding.get("lesson")
        words += [squeezed(text) for text in (lesson or {}).values() if text]
    assert in_order(first, *words)
    assert in_order(first, *words, "Plan view")


def test_the_wind_is_said_once_before_the_plan(printed, sample):
    said = printed[sample].sheets[0].text.partition("Plan view")[0]
    assert said.count("estimated from the turns") == 1


def test_every_finding_is_in_the_tables(printed, sample, documents):
    text = printed[sample].text
    for part in documents[sample]["reversals"][0]["parts"]:
        assert part["part"].replace("_", " ") in text
    for finding in documents[sample]["reversals"][0]["findings"]:
        assert finding["check"].replace("_", " ") in text or squeezed(finding["sentence"]) in text


def test_each_sheet_says_what_it_is_of_and_which_it_is(printed, sample, debriefs):
    sheets = printed[sample].sheets
    for number, sheet in enumerate(sheets, 1):
        assert sheet.text.startswith(
            f"{debriefs[sample].motion.track.file}, Wendle Island VOR 24 page {number} of {len(sheets)} "
        )
        assert "Training aid, never for navigation." in sheet.text[-200:]


def test_no_sheet_holds_one_sentence_only(printed, sample):
    for sheet in printed[sample].sheets:
        assert len(sheet.text.split()) > FEWEST_WORDS


@pytest.mark.parametrize("name", SIZES_MM)
def test_sheets_have_the_size_asked_for_and_keep_their_margins(name, debriefs, sample):
    for sheet in read_pdf(debrief_sheets(debriefs[sample], paper_named(name, SHEETS))).sheets:
        assert (sheet.width_mm, sheet.height_mm) == pytest.approx(SIZES_MM[name], abs=0.1)
        for letter in sheet.letters:
            assert SIDE_MM - 0.5 <= letter.left < letter.right <= sheet.width_mm - SIDE_MM + 0.5, letter
            assert FOOT_MM <= letter.bottom < letter.top <= sheet.height_mm - HEAD_MM, letter


def test_it_is_a_document_that_can_be_searched_and_read_out(printed, sample, debriefs):
    made = printed[sample]
    assert made.tagged
    assert made.title == f"Wendle Island VOR 24: {debriefs[sample].motion.track.file}"
    assert made.author.startswith("approach-analyzer ")
    assert made.language == "en"
    assert made.made == ""
    assert made.fonts
    assert all(made.fonts.values())
    assert not any(sheet.images for sheet in made.sheets)  # pictures are drawn, not photographed
    kinds = [kind for sheet in made.sheets for kind in sheet.kinds]
    assert {"H1", "H2", "H3", "Table", "TH", "Figure"} <= set(kinds)
    alternatives = " ".join(words for sheet in made.sheets for words in sheet.alternatives)
    assert in_order(alternatives, "Plan view of the track around WND", "Altitude along the track", "over time")


def test_the_same_debrief_gives_the_same_bytes(debriefs):
    assert debrief_sheets(debriefs["clean.csv"], A4) == debrief_sheets(debriefs["clean.csv"], A4)


@pytest.mark.parametrize("text", [*HOSTILE[:-2], "#panic() $x$ *a* \\u{41}"])
def test_names_are_text_and_nothing_else(text):
    made = read_pdf(debrief_sheets(saying(named(text), text), A4))
    assert made.title == f"{text}: {text}"
    assert all(sheet.text.startswith(f"{text}, {text} page") for sheet in made.sheets)
    assert squeezed(made.text).count(text) > 2 * len(made.sheets)


def test_a_flight_without_an_approach_says_so_and_is_drawn(debriefs):
    seen = debriefs["clean.csv"]
    made = read_pdf(debrief_sheets(replace(seen, approaches=()), A4))
    first = made.sheets[0]
    assert "Nothing to judge." in first.text
    assert "in which no approach was recognised" in first.alternatives[0]
    assert in_order(made.text, "Nothing to judge.", "Plan view", "Over time", "How the log was read")
    assert "Inside" not in made.text


@pytest.fixture(scope="module")
def several():
    """Two approaches with a hold between them in one log."""
    from report_flights import PROCEDURE

    folder = PROCEDURE.parent
    procedure = analyzer.read_procedure(folder / "wendle_island_vorz24.toml")
    return read_pdf(debrief_sheets(analyzer.debrief(analyzer.read_track(folder / "missed_and_hold.csv"), procedure), A4))


def test_approaches_and_holds_follow_one_another(several):
    assert in_order(
        several.text, "Approach 1 of 2", "Parts flown", "Hold at WND", "Parts flown", "Approach 2 of 2", "Parts flown",
        "How the log was read",
    )  # fmt: skip
    assert all(len(sheet.text.split()) > FEWEST_WORDS for sheet in several.sheets)
