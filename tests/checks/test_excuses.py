"""An excused finding stays, and counts neither way: the result is what it is without that finding. Unused excuses are said."""

import datetime as dt
from dataclasses import asdict, replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import analyzer
from analyzer.checks.excuse import Excuse
from analyzer.checks.excuse_file import excuses_for, read_excuses
from analyzer.checks.overall import grouped, informs, overall
from analyzer.debriefs.data import DebriefData
from analyzer.debriefs.excusing import can_be_excused, excuse_findings, excuse_of
from analyzer.desk.toml_text import toml_text
from analyzer.errors import ExcuseError
from analyzer.gradebook.mark import marked
from analyzer.gradebook.rubric import read_rubric
from analyzer.report.pages.notebook import notebook_html
from analyzer.report.words.excuse_words import excuse_words, idle_texts
from analyzer.vocabulary import CHECK_NAMES, FLOWN_LEGS

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"
CHARTS = {"strong_wind.csv": "vor24", "early_descent.gpx": "vor24", "clean.csv": "vor24", "missed_and_hold.csv": "vorz24"}
FLIGHTS = {
    name: analyzer.debrief(
        analyzer.read_track(SAMPLES / name), analyzer.read_procedure(SAMPLES / f"wendle_island_{chart}.toml")
    )
    for name, chart in CHARTS.items()
}
FAR = Excuse("distance_limit", "the outbound leg was extended by ATC", "B. Instructor")
OPEN = [
    (name, section, finding)
    for name, debrief in FLIGHTS.items()
    for section in debrief.sections
    for finding in section.approach.findings
    if can_be_excused(finding)
]


def given_for(name: str, *excuses: Excuse) -> DebriefData:
    return excuse_findings(FLIGHTS[name], excuses)


def test_there_is_something_to_excuse():
    assert {(name, section.of) for name, section, _ in OPEN} == {
        ("strong_wind.csv", "reversal"),
        ("early_descent.gpx", "reversal"),
        ("missed_and_hold.csv", "reversal"),
        ("missed_and_hold.csv", "hold"),
    }


@pytest.mark.parametrize(
    ("name", "section", "finding"), OPEN, ids=[f"{name}, {finding.check}, {finding.leg}" for name, _, finding in OPEN]
)
def test_the_result_and_the_mark_are_those_without_the_finding(name, section, finding):
    """The contract: excluded from verdict, lessons, marks and counts, neither for nor against."""
    excuse = replace(excuse_of(section, finding), reason="vectors", by="B. Instructor")
    made = given_for(name, excuse)
    assert made.idle == ()
    after = next(one for one in made.sections if (one.of, one.number) == (section.of, section.number)).approach
    before = section.approach
    others = [one for one in before.findings if one is not finding]
    assert [one for one in after.findings if one.excused is None] == others
    (one,) = [one for one in after.findings if one.excused is not None]
    assert (one.sentence, one.measured, one.limit) == (finding.sentence, finding.measured, finding.limit)
    assert one.lesson is None
    verdict, why = overall(after.findings, after.reversal)
    assert (verdict, why) == (
        overall(others, before.reversal)[0],
        overall(others, before.reversal)[1] + "; 1 finding is excused",
    )
    rubric = read_rubric("protection")
    mark, without = (marked(findings, before.reversal, rubric).mark for findings in (after.findings, others))
    assert (mark.percent, mark.earned, mark.possible) == (without.percent, without.earned, without.possible)
    assert dict(grouped(after.findings))["Excused"] == (one,)


def test_several_excuses_of_one_flight():
    name = "early_descent.gpx"
    excuses = [
        replace(excuse_of(section, finding), reason="vectors", by="B. Instructor")
        for flight, section, finding in OPEN
        if flight == name
    ]
    assert len(excuses) >= 2
    made = given_for(name, *excuses)
    (approach,) = made.approaches
    assert {finding.verdict for finding in approach.findings} <= {"inside", "not assessed"}
    assert overall(approach.findings, approach.reversal)[1].endswith(f"; {len(excuses)} findings are excused")


def test_an_excuse_that_says_for_information_is_no_information():
    """The reason is text from outside, and what only informs is recognised by those words."""
    made = given_for("strong_wind.csv", replace(FAR, reason="for information only"))
    (one,) = [one for one in made.approaches[0].findings if one.excused is not None]
    assert not informs(one)
    assert [heading for heading, group in grouped(made.approaches[0].findings) if one in group] == ["Excused"]


@pytest.mark.parametrize(
    ("excuse", "why"),
    [
        (replace(FAR, check="turn_bank"), "the finding on turn bank is inside, so there is nothing to excuse"),
        (replace(FAR, check="hold_entry"), "this flight has no such finding on hold entry"),
        (replace(FAR, leg="final"), "this flight has no such finding on distance limit"),
        (replace(FAR, approach=2), "this flight has no such finding on distance limit"),
        (replace(FAR, hold=1), "this flight has no such finding on distance limit"),
        (replace(FAR, time_s=1782661533.0 - 61.0), "the finding on distance limit is at another time (15:45:33)"),
    ],
)
def test_an_excuse_whose_finding_is_not_there_is_not_used_and_said(excuse, why):
    made = given_for("strong_wind.csv", excuse)
    assert [idle.why for idle in made.idle] == [why]
    assert overall(made.approaches[0].findings, made.approaches[0].reversal)[0] == "outside"
    (text,) = idle_texts(made)
    assert text.endswith(f"excused by B. Instructor: the outbound leg was extended by ATC. But {why}.")


def test_the_instant_of_an_excuse_is_found_within_a_minute():
    """The farthest point is at 15:45:33 by README's example; a new version of the program may put it seconds off."""
    assert given_for("strong_wind.csv", replace(FAR, time_s=1782661533.0 + 30.0)).idle == ()


def test_an_excuse_that_fits_several_findings_is_used_for_none_until_it_says_which():
    """The descent of this sample flight is below two minimums, of the reversal and of the inbound leg."""
    made = given_for("early_descent.gpx", replace(FAR, check="altitude_floor"))
    assert [f for f in made.approaches[0].findings if f.excused is not None] == []
    (idle,) = made.idle
    assert idle.why.startswith("2 findings on altitude floor fit it (18:10:35, 18:12:41): add the part")
    one = given_for("early_descent.gpx", replace(FAR, check="altitude_floor", leg="inbound"))
    assert (one.idle, [f.leg for f in one.approaches[0].findings if f.excused is not None]) == ((), ["inbound"])


def test_a_notebook_shows_it_struck_through():
    (section,) = FLIGHTS["strong_wind.csv"].sections
    (finding,) = [finding for finding in section.approach.findings if can_be_excused(finding)]
    shown = notebook_html(given_for("strong_wind.csv", FAR))
    assert f"<s>{finding.sentence}</s> Excused by B. Instructor: the outbound leg was extended by ATC." in shown


def test_the_same_finding_is_excused_once():
    made = given_for("strong_wind.csv", FAR, replace(FAR, reason="again"))
    assert [(idle.excuse.reason, idle.why) for idle in made.idle] == [("again", "that finding is excused already")]


def test_it_is_said_in_words_and_where_it_reads_otherwise_now():
    made = given_for("strong_wind.csv", replace(FAR, sentence="Farthest from WND: 10.40 NM."))
    (one,) = [one for one in made.approaches[0].findings if one.excused is not None]
    assert excuse_words(one) == (
        "Excused by B. Instructor: the outbound leg was extended by ATC. It is outside, and counts neither way. "
        "When it was excused, it read: “Farthest from WND: 10.40 NM.”"
    )
    same = given_for("strong_wind.csv", replace(FAR, sentence=one.sentence)).approaches[0].findings
    assert "it read" not in excuse_words(next(one for one in same if one.excused is not None))


@given(
    st.builds(
        Excuse,
        st.sampled_from(CHECK_NAMES),
        *(st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=60),) * 2,
        on=st.dates() | st.none(),
        approach=st.integers(1, 1000) | st.none(),
        leg=st.sampled_from(FLOWN_LEGS) | st.none(),
        time_s=st.integers(0, 4_000_000_000).map(float) | st.none(),
    )
)
def test_a_file_gives_back_what_was_written(tmp_path_factory, excuse):
    path = tmp_path_factory.mktemp("excuses") / "excused.toml"
    time = None if excuse.time_s is None else dt.datetime.fromtimestamp(excuse.time_s, tz=dt.UTC)
    table = {key: value for key, value in asdict(excuse).items() if key not in ("flight", "time_s")} | {"time": time}
    path.write_text(toml_text({"excused": [table]}, "Excused findings"), encoding="utf-8")
    assert read_excuses(path) == (excuse,)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[excused]]\ncheck = "turn_bank"\nreason = "gusts"\n', "by"),
        ('[[excused]]\ncheck = "bank"\nreason = "gusts"\nby = "B"\n', "turn_bank"),
        ('[[excused]]\ncheck = "turn_bank"\nreason = ""\nby = "B"\n', "empty"),
        ('[[excused]]\ncheck = "turn_bank"\nreason = "x"\nby = "B"\nlap = 0\n', "too small"),
        ("excused = 3\n", "not a list"),
    ],
)
def test_a_file_that_is_wrong_is_refused_in_its_own_words(tmp_path, text, said):
    (tmp_path / "excused.toml").write_text(text, encoding="utf-8")
    with pytest.raises(ExcuseError, match=said):
        read_excuses(tmp_path / "excused.toml")


def test_a_class_file_is_for_the_logs_that_it_names():
    excuses = [replace(FAR, flight=flight) for flight in ("day 1/a.csv", "b.csv", "")]
    for log, names in (
        ("x/day 1/A.csv", [True, False, True]),
        ("day 2/a.csv", [False, False, True]),
        ("b.csv", [False, True, True]),
    ):
        assert len(excuses_for(excuses, log)) == sum(names)
