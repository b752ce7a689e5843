"""What the user names: found where it was flown, judged from there, and never taken for more than it is."""

import datetime as dt
from pathlib import Path

import pytest
from beside import BASE_TURN, PASSED_S, beside_the_fix
from found import NOISY
from synthetic import START_S, Flown

import analyzer
from analyzer.checks.overall import overall
from analyzer.errors import FlownError
from analyzer.legs.find import find_reversals
from analyzer.legs.find_named import placed
from analyzer.legs.named import FLOWN_WORDS, read_flown
from analyzer.legs.passages import find_passages
from analyzer.legs.reversal import Reversal
from analyzer.motion.motion import Motion
from analyzer.motion.smooth import analyse_motion
from analyzer.procedure.charted import resolve

SAMPLES = Path(__file__).resolve().parents[2] / "sample_tracks"


def seen(flown: Flown) -> Motion:
    return analyse_motion(NOISY.of(flown), resolve(BASE_TURN.at(), dt.date(2026, 6, 1)))


def named(motion: Motion, *words: str) -> tuple[Reversal, ...]:
    begins, ends = float(motion.states.time_s[0]), float(motion.states.time_s[-1])
    return find_reversals(motion, placed(motion, read_flown(words, begins, ends)))


def clock(second: float) -> str:
    return f"{dt.datetime.fromtimestamp(START_S + second, dt.UTC):%H:%M:%S}"


@pytest.mark.parametrize("word", [clock(PASSED_S), "base-turn", f"{clock(PASSED_S + 40.0)}=base-turn"])
def test_what_is_not_recognised_is_found_where_it_was_flown(word):
    """Passed 0.8 NM off it is no reversal from the fix; named, its turn is where it was flown."""
    flown = beside_the_fix(0.8)
    motion = seen(flown)
    assert [one.flown for one in find_reversals(motion) if one.flown != "straight-in"] == []
    (one,) = named(motion, word)
    assert (one.flown, one.side, one.turn) == ("base-turn", 1, -1)
    assert one.passages[0].time_s - START_S == pytest.approx(PASSED_S, abs=1.0)
    turn = one.part("reversal_turn")
    assert turn is not None
    assert turn.start_s - START_S == pytest.approx(flown.begins["reversal_turn"], abs=3.0)
    assert one.named is not None
    assert one.only_named
    assert (one.named.passage, one.named.shape) == ("=" in word or ":" in word, "base" in word)
    assert any("passed 0.8 NM off" in why for why in one.named.against)


def test_over_the_fix_it_is_recognised_and_naming_it_changes_nothing():
    motion = seen(beside_the_fix(0.0))
    (recognised,) = find_reversals(motion)
    for word in (clock(PASSED_S), "base-turn", f"{clock(PASSED_S)}=base-turn"):
        (one,) = named(motion, word)
        assert one.named is not None
        assert not one.only_named
        assert one.parts == recognised.parts
        assert one.score_gap == recognised.score_gap


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("15:52:43", "no turn back of 90° or more follows before the log ends"),
        ("15:52:43=base-turn", "no turn back of 90° or more follows before the log ends"),
        ("15:41:32=arc", "no turn onto the inbound course comes"),
        ("arc", "cannot be from any passage of the fix"),
        ("15:41:32=straight-in", "the inbound course is not joined before it"),
        ("15:45:00", "the fix is not passed at that time; it is passed at 15:41:32, 15:52:43"),
    ],
)
def test_what_cannot_have_been_flown_is_refused_with_the_reason(word, said):
    motion = sample("strong_wind.csv", "wendle_island_vor24.toml")
    with pytest.raises(FlownError, match=said):
        named(motion, word)


def sample(log: str, chart_file: str) -> Motion:
    track = analyzer.read_track(SAMPLES / log)
    procedure = analyzer.read_procedure(SAMPLES / chart_file)
    return analyse_motion(track, resolve(procedure, dt.datetime.fromtimestamp(track.time_s[0], dt.UTC).date()))


def test_a_procedure_turn_without_a_turn_off_the_course_is_none():
    """The hold in lieu of the sample has no leg off its outbound course, whatever it is called."""
    motion = sample("step_down.csv", "wendle_island_rnav06.toml")
    for shape in ("45/180", "80/260"):
        with pytest.raises(FlownError, match="cannot be"):
            named(motion, f"07:56:33={shape}")


def test_of_two_approaches_one_is_named_and_the_other_stays():
    motion = sample("missed_and_hold.csv", "wendle_island_vorz24.toml")
    first, second = find_reversals(motion)
    one, other = named(motion, "13:31:34=80/260")
    assert one.flown == "80/260"
    assert one.named is not None
    assert one.named.recognised == first.flown == "45/180"
    assert other == second
    with pytest.raises(FlownError, match="more than one passage"):
        named(motion, "80/260")


@pytest.mark.parametrize("word", FLOWN_WORDS)
def test_nothing_that_is_only_named_passes(word):
    """`clean.csv` is inside all its limits as it is recognised; as anything else it is no pass, whatever else is inside."""
    track = analyzer.read_track(SAMPLES / "clean.csv")
    procedure = analyzer.read_procedure(SAMPLES / "wendle_island_vor24.toml")
    try:
        result = analyzer.debrief(track, procedure, flown=word)
    except FlownError:
        assert word == "arc"
        return
    (approach,) = result.approaches
    verdict, why = overall(approach.findings, approach.reversal)
    assert (verdict == "inside") == (word == "45/180")
    assert ("named, not recognised" in why) == (verdict == "not assessed")
    gap = approach.reversal.score_gap
    assert gap is not None
    assert approach.reversal.flown == "straight-in" or (gap > 0.0) == (word == "45/180")


def test_no_verdict_rests_on_a_part_that_is_not_flown_like_one():
    track = analyzer.read_track(SAMPLES / "strong_wind.csv")
    procedure = analyzer.read_procedure(SAMPLES / "wendle_island_vor24.toml")
    (approach,) = analyzer.debrief(track, procedure, flown="80/260").approaches
    assert approach.reversal.named is not None
    assert approach.reversal.named.unlike == ("offset_turn",)
    of_it = [finding for finding in approach.findings if finding.part == "offset_turn"]
    assert of_it
    assert {finding.verdict for finding in of_it} == {"not assessed"}


def test_every_passage_and_word_gives_an_approach_or_a_reason():
    """Nothing else is raised, and parts are in order and do not overlap."""
    for log, chart_file in (
        ("missed_and_hold.csv", "wendle_island_vorz24.toml"),
        ("step_down.csv", "wendle_island_rnav06.toml"),
    ):
        motion = sample(log, chart_file)
        for passage in find_passages(motion.states):
            at = f"{dt.datetime.fromtimestamp(passage.time_s, dt.UTC):%H:%M:%S}"
            for word in (at, *(f"{at}={shape}" for shape in ("45/180", "base-turn", "hold", "arc", "straight-in"))):
                try:
                    made = named(motion, word)
                except FlownError:
                    continue
                assert sum(one.named is not None for one in made) == 1
                for one in made:
                    assert all(part.start_s < part.end_s for part in one.parts)
                    assert all(a.end_s <= b.start_s for a, b in zip(one.parts, one.parts[1:], strict=False))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nine"], "neither a time like 15:41:30 nor a shape"),
        (["10:60=hold-direct"], "10:60 is neither a time"),
        (["24:00=hold-direct"], "24:00 is neither a time"),
        (["10:00:30=loop"], "loop is no shape"),
        (["25:00:00"], "25:00:00 is neither a time"),
        (["23:00"], "the log runs from 10:00:00 to 10:30:00"),
        ([""], "give a time of passing the fix, a shape, or both"),
        (["10:05", "base-turn"], "name the passage of each"),
    ],
)
def test_words_that_name_nothing_are_refused(words, said):
    with pytest.raises(FlownError, match=said):
        read_flown(words, START_S, START_S + 1800.0)


def test_a_time_of_day_in_a_log_of_days_needs_its_date():
    days = 2 * 86400.0
    with pytest.raises(FlownError, match="on 3 days"):
        read_flown(["10:00:00"], START_S, START_S + days)
    (one,) = read_flown(["2026-06-02T10:00:00"], START_S, START_S + days)
    assert one.time_s == START_S + 86400.0
    (other,) = read_flown(["2026-06-02T12:00:00+02:00=hold"], START_S, START_S + days)
    assert (other.time_s, other.shapes) == (START_S + 86400.0, ("hold-direct", "hold-teardrop", "hold-parallel"))


def test_a_time_just_after_midnight_is_of_the_next_day():
    before = START_S + 14.0 * 3600.0 - 600.0  # 23:50
    (one,) = read_flown(["0:05:00"], before, before + 1800.0)
    assert one.time_s == before + 900.0
