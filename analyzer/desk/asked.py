"""Plain values that worker processes return to the pages; nothing here is slow to import."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Literal

from analyzer.desk.brief_values import Laid
from analyzer.frozen import dataclass

__all__ = [
    "Ask", "ChartField", "ChartPictures", "ChartSeen", "Choice", "CodedSeen", "Compared", "Fitting", "Flight", "FlownSeen",
    "Listed", "Look", "PassageSeen", "Refused", "Seen", "Shown", "Watched",
]  # fmt: skip


@dataclass(frozen=True)
class Choice:
    """A possible answer to a question: its value and label, what the log shows if it is chosen, and whether it is suggested."""

    value: str
    words: str
    seen: str = ""
    chosen: bool = False


@dataclass(frozen=True)
class Ask:
    """A question about what a log leaves open; `given` is the previous answer, `needed` whether one is required."""

    field: str
    label: str
    words: str
    kind: Literal["choice", "column", "date", "datetime-local", "text"]
    choices: tuple[Choice, ...]
    given: str = ""
    needed: bool = True


@dataclass(frozen=True)
class Compared:
    """Attempts side by side: their procedure, the body of the page, the last flight, and the pilot of all of them, if one.

    `unnamed` are earlier flights by the procedure that were left out because no pilot is named there.
    """

    title: str
    body: str
    file: str
    pilot: str
    unnamed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Look:
    """A log as far as it is understood: its first rows, the open questions, a picture (SVG), and a sentence about it.

    `also` are optional fields for what no log states by itself, such as the QNH.
    """

    file: str
    format: str
    names: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    asks: tuple[Ask, ...]
    sketch: str
    said: str
    notes: tuple[str, ...] = ()
    fault: str = ""
    also: tuple[Ask, ...] = ()


@dataclass(frozen=True)
class Fitting:
    """A procedure in the folder: its file and title, in words how well the flight fits it, and any fault in the file.

    `well` says that the flight fits it as well as a pick among charts asks for.
    """

    file: str
    title: str
    fit: str
    fits: bool
    fault: str = ""
    well: bool = False


@dataclass(frozen=True)
class PassageSeen:
    """A passage of the fix to choose: its value, its time, where and how the fix was passed, what follows, and a picture."""

    value: str
    clock: str
    where: str
    then: str
    recognised: str
    picture: str


@dataclass(frozen=True)
class FlownSeen:
    """The form for naming what was flown: passages and shapes to choose from, what is named already, and any fault."""

    file: str
    fix: str
    passages: tuple[PassageSeen, ...]
    shapes: tuple[Choice, ...]
    given: tuple[str, ...]
    fault: str = ""
    passage: str = ""
    shape: str = ""


@dataclass(frozen=True)
class Shown:
    """A debriefed flight: the head, verdicts and body of its report, and what the page around it shows.

    `approaches` is how many were recognised. `flown` is the form for naming what was flown, shown if that is none; `given` are
    the words already named, and `refused` says why they no longer apply. `laid` are the briefs of its procedure.
    """

    head: str
    verdicts: str
    body: str
    title: str
    file: str
    procedure: str
    card: Mapping[str, str]
    approaches: int
    moved: tuple[str, ...] = ()
    flown: FlownSeen | None = None
    given: tuple[str, ...] = ()
    refused: str = ""
    laid: Laid = field(default_factory=Laid)


@dataclass(frozen=True)
class Flight:
    """A row in the list of flights: `procedure` is a title, as in its report, and `chart` the file that it is judged by."""

    file: str
    name: str
    begins: str
    procedure: str
    verdict: str
    pilot: str = ""
    aircraft: str = ""
    fault: str = ""
    chart: str = ""


@dataclass(frozen=True)
class Listed:
    """Part of the list of flights, and the total number."""

    flights: tuple[Flight, ...]
    count: int


@dataclass(frozen=True)
class ChartField:
    """A field of the chart form: its label, the text typed, how that was understood, and any fault.

    `row` is the row it belongs to, such as ``fixes 2``, or empty; `more` marks fields that charts seldom have; `drafted` marks
    text that was taken from a flight. `choice_words` are the choices as a chart would have them, in the same order.
    """

    name: str
    label: str
    hint: str
    section: str
    needed: bool
    row: str = ""
    more: bool = False
    text: str = ""
    understood: str = ""
    fault: str = ""
    doubt: str = ""
    offer: str = ""
    offer_words: str = ""
    drafted: bool = False
    choices: tuple[str, ...] = ()
    choice_words: tuple[str, ...] = ()


@dataclass(frozen=True)
class ChartPictures:
    """Pictures of a chart (SVG), empty if there is nothing to draw yet, and the missed approach in words."""

    plan: str = ""
    profile: str = ""
    holds: str = ""
    missed: str = ""


@dataclass(frozen=True)
class ChartSeen:
    """A chart as typed so far: its fields, its pictures, and what is odd about it as a whole.

    `headings` maps each section to the picture that shows it; `rows` holds the title of each row, and `flown` is the number of
    empty fields that a flight could fill.
    """

    headings: Mapping[str, str]
    fields: tuple[ChartField, ...]
    pictures: ChartPictures = ChartPictures()
    rows: Mapping[str, str] = field(default_factory=dict)
    said: str = ""
    notes: tuple[str, ...] = ()
    whole: bool = False
    toml: str = ""
    flown: int = 0


@dataclass(frozen=True)
class CodedSeen:
    """The content of a file of coded procedures: airports or approaches to choose from, or one procedure drawn."""

    file: str
    airport: str
    approach: str
    route: str
    choices: tuple[Choice, ...] = ()
    choosing: str = ""
    pictures: ChartPictures = ChartPictures()
    title: str = ""
    notes: tuple[str, ...] = ()
    fault: str = ""


@dataclass(frozen=True)
class Seen:
    """A file in the watched folder: its size and modification time [ns], and since when they are unchanged. [s, monotonic]"""

    stamp: tuple[int, int]
    since_s: float


@dataclass(frozen=True)
class Watched:
    """A look at the watched folder: the folder, a sentence about it, the logs that arrived, and the state of its new files."""

    folder: str = ""
    said: str = ""
    came: tuple[str, ...] = ()
    files: Mapping[str, Seen] = field(default_factory=dict)
    gone: bool = False


@dataclass(frozen=True)
class Refused:
    """Why a request failed: the message of an `AnalyzerError`, and the HTTP status."""

    message: str
    status: int = field(default=400)
