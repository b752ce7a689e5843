"""`analyzer procedure draft` and `new`, and `debrief --brief`, as a user types them."""

import subprocess
import sys
import tomllib

import pytest
from command_line import CLEAN, PROCEDURE, STRONG_WIND, Command, run_all_here, run_here

FIX = "48.35,-24.7"
SAID = (
    "Quorl Bank VOR 18\nb\nQRL\nvor\n41.2\n-38.4\n\n\nprocedure-turn\n005\n185\nup\nleft\n"
    "\n\n\n\n\n10\n\n\n3000\n\n\n\n\n\n\n\n"
)
NOTHING_BEYOND = "\n" * 7  # no fixes, no minimum, no missed approach, no speeds, no arrivals


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    folder = tmp_path_factory.mktemp("files")
    (folder / "there.toml").write_text("mine", encoding="utf-8")
    (folder / "no.json").write_text("[]", encoding="utf-8")
    draft = ["procedure", "draft", CLEAN, "--fix", FIX]
    first = run_all_here(
        {
            "printed": Command(draft, folder),
            "written": Command([*draft, "--kind", "vor", "--variation", "-8", "-o", "draft.toml"], folder),
            "there": Command([*draft, "-o", "there.toml"], folder),
            "no place": Command(["procedure", "draft", CLEAN, "--fix", "48.35"], folder),
            "no latitude": Command(["procedure", "draft", CLEAN, "--fix", "98,1"], folder),
            "elsewhere": Command(["procedure", "draft", CLEAN, "--fix", "20,30"], folder),
            "new there": Command(["procedure", "new", "there.toml"], folder),
            "brief": Command(["brief", PROCEDURE, "--speed", "140", "--wind", "250/30", "--json", "card.json"], folder),
            "no brief": Command(["debrief", CLEAN, "-p", PROCEDURE, "--brief", "no.json", "--json", "-"], folder),
        }
    )
    second = run_all_here(
        {
            "against": Command(["debrief", STRONG_WIND, "-p", PROCEDURE, "--brief", "card.json"], folder),
            "by draft": Command(["debrief", CLEAN, "-p", "draft.toml", "--json", "-"], folder),
            "check": Command(["procedure", "check", "draft.toml"], folder),
        }
    )
    return folder, {**first, **second}


def test_a_draft_is_printed_or_written_and_reads_back(outcomes):
    folder, done = outcomes
    assert (done["printed"].code, done["printed"].err) == (0, "")
    assert tomllib.loads(done["printed"].out)["reversal"]["side"] == "left"
    assert "Training aid, never for navigation" in done["printed"].out.splitlines()[0]
    assert done["written"].code == 0
    assert "draft.toml" in done["written"].out
    drafted = tomllib.loads((folder / "draft.toml").read_text("utf-8"))
    assert (drafted["reversal"]["inbound_course_deg"], drafted["fix"]["kind"]) == (241, "vor")
    assert done["check"].code == 0
    assert (done["by draft"].code, done["by draft"].err) == (0, "")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("there", "--force"),
        ("no place", "--fix 48.35"),
        ("no latitude", "--fix 98"),
        ("elsewhere", "--fix LAT,LON"),
        ("new there", "--force"),
        ("no brief", "no.json"),
    ],
)
def test_what_is_wrong_is_told(outcomes, name, said):
    folder, done = outcomes
    assert said in "\n".join(done[name].refused())
    assert (folder / "there.toml").read_text("utf-8") == "mine"


def test_a_flight_is_laid_against_its_brief(outcomes):
    _, done = outcomes
    assert (done["against"].code, done["against"].err) == (0, "")
    assert "Compared with the brief" in done["against"].out
    assert "Wind: briefed 250° true 30 kt" in done["against"].out


def new(folder, said):
    command = [sys.executable, "-m", "analyzer", "procedure", "new", "made.toml"]
    return subprocess.run(command, cwd=folder, input=said, capture_output=True, encoding="utf-8", timeout=60, check=False)  # noqa: S603


def test_new_asks_again_until_it_is_told_and_writes(tmp_path):
    done = new(tmp_path, SAID + NOTHING_BEYOND)
    assert (done.returncode, done.stderr) == (0, "")
    assert 'up: not understood; accepted: "left" or "right"' in done.stdout
    made = tomllib.loads((tmp_path / "made.toml").read_text("utf-8"))
    assert made["reversal"] == {
        "kind": "procedure-turn", "side": "left", "outbound_course_deg": 185, "inbound_course_deg": 5, "within_nm": 10,
    }  # fmt: skip
    assert made["category"] == "B"
    assert not {"fixes", "minimum", "missed_approach", "holds"} & set(made)


BEYOND = (
    ("TARRO", "final-approach-fix", "4.2", "", "2100", ""),
    ("MAPAR", "missed-approach-point", "", "", "41.1", "-38.5", "", "", ""),
    ("",),
    ("mda", "640", ""),
    ("3000", "4000", "right", ""),  # the climb before the turn is above the altitude
    ("PELTO", "41.3", "-38.2", "241", "right", "60", "3000", "", "200"),
    ("PELTI",),  # of no fix or hold
    ("", "", "", ""),  # no speeds, no arrivals
    ("1200", "PELTO"),  # asked again: the climb, and where it leads
)


def test_new_asks_for_the_whole_approach_and_again_for_what_contradicts(tmp_path):
    done = new(tmp_path, SAID + "".join(f"{answer}\n" for answers in BEYOND for answer in answers))
    assert (done.returncode, done.stderr) == (0, "")
    assert "[missed_approach] climb_ft = 4000: above altitude_ft = 3000; correct one" in done.stdout
    assert '[missed_approach] to = "PELTI": no fix or hold has that name' in done.stdout
    made = tomllib.loads((tmp_path / "made.toml").read_text("utf-8"))
    assert made["fixes"] == [
        {"name": "TARRO", "role": "final-approach-fix", "distance_nm": 4.2, "minimum_ft": 2100},
        {"name": "MAPAR", "role": "missed-approach-point", "latitude_deg": 41.1, "longitude_deg": -38.5},
    ]
    assert made["minimum"] == {"kind": "mda", "altitude_ft": 640}
    assert made["missed_approach"] == {"climb_ft": 1200, "turn": "right", "to": "PELTO", "altitude_ft": 3000}
    assert made["holds"] == [
        {
            "name": "PELTO", "role": "missed-approach", "latitude_deg": 41.3, "longitude_deg": -38.2, "inbound_course_deg": 241,
            "turn": "right", "leg_time_s": 60, "minimum_ft": 3000, "maximum_speed_kias": 200,
        },
    ]  # fmt: skip


def test_new_that_is_broken_off_keeps_what_was_typed_and_goes_on(tmp_path):
    """No procedure is written; the answers wait next to its place, for nobody types forty values twice."""
    typed = SAID.splitlines()
    done = new(tmp_path, "\n".join(typed[:6]) + "\n")
    assert done.returncode == 130
    assert "Traceback" not in done.stderr
    assert "made.toml.unfinished" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["made.toml.unfinished"]
    done = new(tmp_path, "\n".join(typed[6:]) + "\n" + NOTHING_BEYOND)
    assert (done.returncode, done.stderr) == (0, "")
    assert [path.name for path in tmp_path.iterdir()] == ["made.toml"]
    (tmp_path / "whole").mkdir()
    assert new(tmp_path / "whole", SAID + NOTHING_BEYOND).returncode == 0
    assert (tmp_path / "made.toml").read_bytes() == (tmp_path / "whole" / "made.toml").read_bytes()


def test_new_goes_back_a_question(tmp_path):
    first, rest = SAID.split("\n", 1)
    done = new(tmp_path, f"<\nWrong title\n<\n{first}\n{rest}{NOTHING_BEYOND}")
    assert (done.returncode, done.stderr) == (0, "")
    assert "This is the first question." in done.stdout
    assert tomllib.loads((tmp_path / "made.toml").read_text("utf-8"))["title"] == first


def test_new_reads_back_and_names_the_next_command(tmp_path):
    done = new(tmp_path, SAID + NOTHING_BEYOND)
    said = run_here(Command(["procedure", "check", "made.toml"], tmp_path)).out
    assert said.strip() in done.stdout
    assert done.stdout.endswith("Procedure: made.toml\nNext: analyzer debrief LOG --procedure made.toml\n")


def test_new_refuses_answers_that_are_none(tmp_path):
    (tmp_path / "made.toml.unfinished").write_text("[3]", encoding="utf-8")
    done = new(tmp_path, SAID + NOTHING_BEYOND)
    assert done.returncode == 2
    assert "made.toml.unfinished: holds no answers; remove it to begin anew" in done.stderr
