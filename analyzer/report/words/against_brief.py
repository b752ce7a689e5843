"""A flight compared with its brief in words: two sentences, a row per part with both values, and the same as JSON values."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from analyzer.checks.phrases import height_unit
from analyzer.debriefs.brief_differences import NOT_FLOWN, reversal_wind
from analyzer.physics.units import DEG, FT, KT, NM, bearing_text

if TYPE_CHECKING:
    from analyzer.checks.figures import Figures
    from analyzer.debriefs.against_brief import BriefComparison
    from analyzer.debriefs.brief_differences import Difference, PartPair
    from analyzer.legs.reversal import Reversal
    from analyzer.procedure.charted import Charted

__all__ = [
    "DIFFERENCE_HEADINGS",
    "DIFFERENCE_NOTE",
    "against_brief_document",
    "against_brief_headings",
    "against_brief_note",
    "against_brief_rows",
    "against_brief_sentences",
    "difference_rows",
]

DIFFERENCE_HEADINGS = ("what", "briefed", "flown", "difference")
DIFFERENCE_NOTE = (
    "Headings are magnetic. After ±: two standard deviations of what was flown; “within” them the log shows no difference. The "
    "turn back as flown ends when established, before its roll-out is complete, and the inbound leg begins there; the errors "
    "of their times allow for that."
)
_NOT_BRIEFED = ("arrival",)
_BEARINGS = ("° mag", "° true")
_DECIMALS = {"NM": 2, "°": 1}
_CALM_KT, _ALIKE_NM = 0.5, 0.01
# Quantities compared, with their names in a brief.
_QUANTITIES = {
    "duration_s": "duration_s",
    "length_nm": "length_nm",
    "ground_speed_kt": "ground_speed_kt",
    "course_deg": "course_deg_magnetic",
    "bank_deg": "bank_deg",
    "altitude_end_ft": "altitude_end_ft",
    "end_distance_nm": "end_distance_nm",
}


def against_brief_sentences(comparison: BriefComparison, figures: Figures, reversal: Reversal) -> tuple[str, ...]:
    """What was briefed, and how shape, distance and wind compare; a caution first if the brief is for another minimum."""
    card = comparison.card
    sentences = [f"Briefed: {card.conditions[:1].lower()}{card.conditions[1:]}"]
    if card.shape != reversal.flown:
        sentences.append(f"Briefed as {card.shape}, flown as {reversal.flown}.")
    if figures.farthest_from_limit is not None:
        briefed_nm, reached_nm = round(card.farthest_nm, 2), round(figures.farthest_from_limit.distance_m / NM, 2)
        apart_nm = abs(reached_nm - briefed_nm)  # of the values shown, so that they add up
        difference = f", {apart_nm:.2f} NM {'more' if reached_nm > briefed_nm else 'less'}"
        farthest = f"Greatest distance: briefed {briefed_nm:.2f} NM, flown {reached_nm:.2f} NM"
        sentences.append(f"{farthest}{difference if apart_nm >= _ALIKE_NM / 2.0 else ''}.")
    if figures.wind is not None:
        apart, briefed = _wind_apart(comparison, figures), _briefed_wind(comparison)
        blown = f"{bearing_text(figures.wind.from_true_rad)} true {figures.wind.speed_mps / KT:.0f} kt"
        sentences.append(f"Wind: briefed {briefed}, estimated {blown}; {apart:.0f} kt apart.")
    else:
        sentences.append(f"Wind: briefed {_briefed_wind(comparison)}; that of the flight is not assessed: {figures.no_wind}.")
    if comparison.caution is not None:
        sentences.insert(0, comparison.caution)
    return tuple(sentences)


def _briefed_wind(comparison: BriefComparison) -> str:
    from_deg, speed = reversal_wind(comparison.card)
    return f"{bearing_text(from_deg * DEG)} true {speed:.0f} kt" if speed >= _CALM_KT else "calm"


def _wind_apart(comparison: BriefComparison, figures: Figures) -> float:
    """Magnitude of the vector difference between the briefed and the estimated wind. [kt]"""
    from_deg, speed = reversal_wind(comparison.card)
    wind = figures.wind
    if wind is None:
        return math.nan
    between = wind.from_true_rad - from_deg * DEG
    blown = wind.speed_mps / KT
    return math.sqrt(max(0.0, blown**2 + speed**2 - 2.0 * blown * speed * math.cos(between)))


def against_brief_headings(charted: Charted) -> tuple[str, ...]:
    """What stands above the columns of `against_brief_rows`."""
    return ("part", "s", "NM", "GS kt", "course", "bank", f"end {charted.altitude_unit}", "end NM")


def against_brief_note(charted: Charted) -> str:
    """What those rows say."""
    return (
        f"Briefed/flown. Courses are magnetic; the end of a part is in {charted.altitude_unit} MSL and NM from the fix. "
        "The turn back as flown ends when established, a few seconds before the roll-out is complete."
    )


def against_brief_rows(comparison: BriefComparison, charted: Charted) -> Iterator[tuple[str, ...]]:
    """One row per part: seconds, length, ground speed, course, bank and end, each as ``briefed/flown``."""
    height = height_unit(charted.altitude_unit)
    for pair in comparison.parts:
        if pair.part in _NOT_BRIEFED:
            continue
        values = _values(pair, charted.variation.east_rad)
        yield (
            pair.part.replace("_", " "),
            _pair(values["duration_s"], "{:.0f}".format),
            _pair(values["length_nm"], "{:.1f}".format),
            _pair(values["ground_speed_kt"], "{:.0f}".format),
            _pair(values["course_deg"], _three_digits),
            _pair(values["bank_deg"], "{:.0f}".format),
            _pair(values["altitude_end_ft"], lambda feet: f"{feet * FT / height.metres:.0f}"),
            _pair(values["end_distance_nm"], "{:.1f}".format),
        )


def difference_rows(comparison: BriefComparison) -> Iterator[tuple[str, str, str, str]]:
    """One row per quantity: what it is, as briefed, as flown, and the difference with its error or why there is none."""
    for one in comparison.differences:
        name = one.quantity if one.part is None else f"{one.part.replace('_', ' ')}: {one.quantity}"
        yield name[:1].upper() + name[1:], _one(one, one.briefed), _one(one, one.flown), _difference(one)


def _one(one: Difference, value: float | None) -> str:
    if value is None:
        return "-"
    if one.unit in _BEARINGS:
        return f"{bearing_text(value * DEG)}{' true' if one.unit == '° true' else ''}"
    number = f"{value:,.{_DECIMALS.get(one.unit, 0)}f}".replace("-", "−")
    return f"{number}{'' if one.unit == '°' else ' '}{one.unit}"


def _difference(one: Difference) -> str:
    """How much more or less: ``6 s more ± 3 s``, ``within ± 3 s``, ``not assessed: the log has no altitude``."""
    if one.reason and one.flown is None:
        return one.reason if one.reason == NOT_FLOWN else f"not assessed: {one.reason}"
    if one.more is None or one.flown is None or one.briefed is None:
        return "not briefed"
    unit = "°" if one.unit.startswith("°") else f" {one.unit}"
    decimals = _DECIMALS.get(one.unit, 0)
    least = 10.0**-decimals
    error = "" if one.sd is None else f" ± {max(2.0 * one.sd, least):,.{decimals}f}{unit}"
    apart = round(one.flown, decimals) - round(one.briefed, decimals)  # of the values shown, so that they add up
    apart = math.remainder(apart, 360.0) if one.unit in _BEARINGS else apart
    if not one.clear or abs(apart) < least / 2.0:
        return f"within{error}" if error else "none"
    more, less = ("right", "left") if one.unit in _BEARINGS else ("more", "less")
    return f"{abs(apart):,.{decimals}f}{unit} {more if apart > 0.0 else less}{error}"


def _pair(values: tuple[float | None, float | None], shown: Callable[[float], str]) -> str:
    if values == (None, None):
        return ""
    return "/".join("-" if value is None else shown(value) for value in values)


def _three_digits(degrees: float) -> str:
    return bearing_text(degrees * DEG).rstrip("°")


def _values(pair: PartPair, variation_rad: float) -> dict[str, tuple[float | None, float | None]]:
    """Each quantity as briefed and as flown, in the units of its name; None where not known."""
    card, flown, end = pair.briefed, pair.flown, pair.flown_end_distance_m
    briefed: tuple[float | None, ...] = (None,) * len(_QUANTITIES)
    if card is not None:
        briefed = tuple(getattr(card, name) for name in _QUANTITIES.values())
    as_flown: tuple[float | None, ...] = (None,) * len(_QUANTITIES)
    if flown is not None:
        course, turn = flown.course_rad, flown.turn
        as_flown = (
            flown.part.duration_s,
            _known(flown.length_m / NM),
            _known(flown.ground_speed_mps / KT),
            (course - variation_rad) / DEG % 360.0 if course is not None else None,
            turn.bank_mean_rad / DEG if turn is not None else None,
            _known(flown.altitude_end_m / FT),
            end / NM if end is not None else None,
        )
    return dict(zip(_QUANTITIES, zip(briefed, as_flown, strict=True), strict=True))


def _known(value: float) -> float | None:
    return value if math.isfinite(value) else None


def against_brief_document(comparison: BriefComparison, variation_rad: float) -> dict[str, Any]:
    """The comparison as JSON values."""
    return {
        "shape": comparison.card.shape,
        "conditions": comparison.card.conditions,
        "farthest_nm": comparison.card.farthest_nm,
        "caution": comparison.caution,
        "parts": [
            {
                "part": pair.part,
                **{
                    name: {"briefed": _rounded(briefed), "flown": _rounded(flown)}
                    for name, (briefed, flown) in _values(pair, variation_rad).items()
                },
            }
            for pair in comparison.parts
            if pair.part not in _NOT_BRIEFED
        ],
        "differences": [
            {
                "part": one.part,
                "quantity": one.quantity,
                "unit": one.unit,
                "briefed": _rounded(one.briefed),
                "flown": _rounded(one.flown),
                "difference": _rounded(one.more),
                "sd": _rounded(one.sd, 3),
                "clear": one.clear,
                "reason": one.reason or None,
            }
            for one in comparison.differences
        ],
    }


def _rounded(value: float | None, decimals: int = 2) -> float | None:
    return None if value is None else round(value, decimals) + 0.0
