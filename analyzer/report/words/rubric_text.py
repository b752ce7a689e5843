"""A rubric in words: the weight of each check, the distance outside that loses all of it, the rules, and a file to edit."""

from __future__ import annotations

from collections.abc import Mapping

from analyzer.checks.phrases import check_name, unit_text
from analyzer.gradebook.rubric import BY_MARGIN, DEFAULT_RUBRIC, INSIDE_ONLY, OF_LIMIT, Rubric, built_in_rubrics, read_rubric
from analyzer.report.words.layout import wrapped
from analyzer.vocabulary import CheckName

__all__ = ["lost_by_words", "rubric_check_text", "rubric_rules", "rubric_text", "rubric_toml", "rubrics_text"]

_INSIDE_RULE = (
    "Each check has a weight, which its findings inside and outside share evenly. A finding inside earns its share, and one "
    "outside nothing. The mark is the points earned out of the points possible, in percent; whatever was not earned in full "
    "is shown with it."
)
_MARGIN_RULE = (
    "Each check has a weight, which its findings inside and outside share evenly. A finding inside earns all of its share. "
    "One outside earns the less the farther outside it is, down to nothing at the distance under 'all lost by'; where no such "
    "distance is given, it earns nothing. The mark is the points earned out of the points possible, in percent; whatever was "
    "not earned in full is shown with it."
)
_NEITHER_RULE = (
    "What is too close to call or not assessed counts neither way: it is left out of both sums. If the overall result is not "
    "assessed, there is no mark."
)
_INCOMPLETE_RULE = "An approach or hold that was not flown to its end is incomplete, and has no mark unless it fails outright."
_COLUMN = 20


def rubrics_text() -> str:
    """The built-in rubrics, one line each."""
    rubrics = [read_rubric(name) for name in built_in_rubrics()]
    width = max(len(rubric.name) for rubric in rubrics)
    return "".join(f"{rubric.name:<{width}}  {rubric.title}\n" for rubric in rubrics)


def rubric_text(rubric: Rubric) -> str:
    """The weight of each check, and the rules."""
    named = rubric.title if rubric.title == rubric.name else f"{rubric.title} ({rubric.name})"
    lines = [*wrapped(named), "", f"  {'check':<{_COLUMN}}weight  {'all lost by':<22}".rstrip()]
    for check in dict.fromkeys([*rubric.weights, *rubric.fails_outright]):
        weight, outright = rubric.weights.get(check, 0.0), "fails outright" if check in rubric.fails_outright else ""
        lines.append(f"  {check_name(check):<{_COLUMN}}{weight:>6g}  {lost_by_words(rubric, check):<22}{outright}".rstrip())
    lines.append(f"  {'sum':<{_COLUMN}}{sum(rubric.weights.values()):>6g}")
    for rule in rubric_rules(rubric):
        lines += ["", *wrapped(rule)]
    return "\n".join(lines) + "\n"


def lost_by_words(rubric: Rubric, check: CheckName) -> str:
    """The distance outside that loses all of a check's weight: ``30 s or 1 NM``."""
    return " or ".join(_room_words(unit, room) for unit, room in rubric.all_lost_by.get(check, {}).items())


def _room_words(unit: str, room: float) -> str:
    if unit == OF_LIMIT:
        return f"{100.0 * room:g}% of limit"
    return f"{room:g}{unit_text(unit)}"


def rubric_rules(rubric: Rubric) -> tuple[str, ...]:
    """The rules of a mark, in sentences."""
    outright = ", ".join(map(check_name, rubric.fails_outright))
    rules = [_MARGIN_RULE if rubric.all_lost_by else _INSIDE_RULE, _NEITHER_RULE, _INCOMPLETE_RULE]
    if rubric.least_assessed:
        rules.append(f"If less than {100.0 * rubric.least_assessed:g}% of the weights could be assessed, the mark says so.")
    if outright:
        rules.append(
            "The mark is 0, whatever the sum, if a finding of one of these checks earns nothing, and would though it were less "
            f"far outside by twice its error: {outright}."
        )
    return tuple(rules)


def rubric_check_text(rubric: Rubric) -> str:
    """How many checks a rubric's file counts, and ``ok``."""
    number = len(rubric.weights)
    counted = f"{number} {'check counts' if number == 1 else 'checks count'}, {len(rubric.fails_outright)} fail outright"
    return "\n".join([*wrapped(f"{rubric.title}: {counted}."), "ok"]) + "\n"


def rubric_toml(rubric: Rubric) -> str:
    """The rubric as a TOML file with comments, to be edited and read again."""
    credit = BY_MARGIN if rubric.all_lost_by else INSIDE_ONLY
    failing = "".join(f'    "{check}",\n' for check in rubric.fails_outright)
    lines = [
        "# A rubric: what each check weighs in a mark. To change only a few rows, keep",
        f"# those and begin the file with based_on = {_quoted(DEFAULT_RUBRIC)}.",
        "",
        f"title = {_quoted(rubric.title)}",
        "",
        f'# "{BY_MARGIN}": a value outside earns less the farther outside it is;',
        f'# "{INSIDE_ONLY}": it earns nothing.',
        f'credit = "{credit}"',
        "",
        "# If less than this share could be assessed, the mark says so.",
        f"least_assessed = {rubric.least_assessed:g}",
        "",
        "# The mark is 0 if a finding of one of these checks surely earns nothing.",
        f"fails_outright = [\n{failing}]" if failing else "fails_outright = []",
        "",
        "# 0, or no row, leaves a check out.",
        "[weights]",
        *(f"{check} = {weight:g}" for check, weight in rubric.weights.items()),
    ]
    if rubric.all_lost_by:
        lines += ["", "# How far outside a value earns nothing; of_limit is a share of the limit.", "[all_lost_by]"]
        lines += [f"{check} = {_rooms(rooms)}" for check, rooms in rubric.all_lost_by.items()]
    return "\n".join(lines) + "\n"


def _rooms(rooms: Mapping[str, float]) -> str:
    return "{ " + ", ".join(f"{unit} = {room:g}" for unit, room in rooms.items()) + " }"


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
