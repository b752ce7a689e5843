"""What worker processes hand to the pages: plain values, without anything that takes long to load."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

__all__ = [
    "Ask", "ChartField", "ChartPictures", "ChartSeen", "Choice", "CodedSeen", "Fitting", "Flight", "FlownSeen", "Listed",
    "Look", "PassageSeen", "Refused", "Seen", "Shown", "Watched",
]  # fmt: skip


@dataclass(frozen=True)
class Choice:
    """One of the answers to a question: its value, its words, what is seen with it, and whether it is suggested."""

    value: str
    words: str
    seen: str = ""
    chosen: bool = False


@dataclass(frozen=True)
class Ask:
    """A field of the form for what a log leaves open; `given` is what was said before, `needed` whether it must be answered."""

    field: str
    label: str
    words: str
    kind: Literal["choice", "column", "date", "datetime-local", "text"]
    choices: tuple[Choice, ...]
    given: str = ""
    needed: bool = True


@dataclass(frozen=True)
class Look:
    """A log as far as it is understood: first rows, what is open, a picture (SVG), and what is said of it.

    `also` are fields for what no log says by itself, which may be left as they are.
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
    """A procedure of the folder: its file, its title, how well the flight fits it in words, and a fault in the file."""

    file: str
    title: str
    fit: str
    fits: bool
    fault: str = ""


@dataclass(frozen=True)
class PassageSeen:
    """A passage of the fix to choose from: its value and time, where and how, what follows, what is recognised, a picture."""

    value: str
    clock: str
    where: str
    then: str
    recognised: str
    picture: str


@dataclass(frozen=True)
class FlownSeen:
    """The form in which a user says what was flown: passages and shapes, what is kept, what was sent, and what is wrong."""

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
    """A debriefed flight: head and body of its page, and what the page about it says.

    `flown` is the form in which the user says what was flown, on the page of a flight that has no approach; `given` are the
    words kept of it, and `refused` says why they cannot be.
    """

    head: str
    body: str
    title: str
    file: str
    procedure: str
    card: Mapping[str, str]
    moved: tuple[str, ...] = ()
    flown: FlownSeen | None = None
    given: tuple[str, ...] = ()
    refused: str = ""


@dataclass(frozen=True)
class Flight:
    """A row of the list of flights."""

    file: str
    name: str
    begins: str
    procedure: str
    verdict: str
    pilot: str = ""
    aircraft: str = ""
    fault: str = ""


@dataclass(frozen=True)
class Listed:
    """Some rows of the list of flights, and how many there are in all."""

    flights: tuple[Flight, ...]
    count: int


@dataclass(frozen=True)
class ChartField:
    """A field of the chart form: how it is asked for, what was typed, how that was understood, and what is wrong with it.

    `row` is the row that it belongs to, ``fixes 2``, empty for none; `more` says that charts seldom have it; `drafted`, that
    its text was taken from a flight and not typed.
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


@dataclass(frozen=True)
class ChartPictures:
    """A chart as pictures (SVG), empty where there is nothing to draw yet, and the missed approach in words."""

    plan: str = ""
    profile: str = ""
    holds: str = ""
    missed: str = ""


@dataclass(frozen=True)
class ChartSeen:
    """A chart as far as it was typed: its fields, the pictures, and what is odd about it as a whole.

    `headings` are those of the sections, each with the picture that shows it; `rows` holds what each row is called, and `flown`
    how many empty fields a flight has something for.
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
    """What a file of coded charts offers: airports or approaches to choose from, or one procedure drawn."""

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
    """A file of a folder that is watched: its size and time of the last change [ns], and since when it is so. [s, monotonic]"""

    stamp: tuple[int, int]
    since_s: float


@dataclass(frozen=True)
class Watched:
    """A look at the folder that is watched: the folder, what is said of it, the logs that came, and how its new files are."""

    folder: str = ""
    said: str = ""
    came: tuple[str, ...] = ()
    files: Mapping[str, Seen] = field(default_factory=dict)
    gone: bool = False


@dataclass(frozen=True)
class Refused:
    """Why some work was not done: what an `AnalyzerError` said."""

    message: str
    status: int = field(default=400)
