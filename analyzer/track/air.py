"""What the user knows of the air that a log was flown in: the altimeter setting and the temperature at the airfield.

A position log holds neither. They turn altitude into pressure altitude and true airspeed into indicated; a log whose only
altitude is pressure altitude gets what the altimeter showed.
"""

from __future__ import annotations

from analyzer.errors import LogError
from analyzer.frozen import dataclass
from analyzer.physics import atmosphere

__all__ = ["PRESSURE_SD_PA", "STANDARD_AIR", "Air"]

# How far the sea-level pressure of a day is off the standard one: half of what it is off at most on all but stormy days of
# middle latitudes, 985 to 1,040 hPa (from memory). The days are not near a normal distribution: two of 1,000 Pa left out many.
PRESSURE_SD_PA = 1500.0

_HPA, _INHG = 100.0, 3386.389  # pascals; the conventional inch of mercury
_QNH_HPA = (850.0, 1090.0)  # about the lowest and highest that was ever measured
_TEMPERATURE_C = (-90.0, 60.0)
_KELVIN = 273.15


@dataclass(frozen=True)
class Air:
    """QNH [Pa] and temperature at the airfield's elevation [K]; None where nothing is known, which is taken as standard."""

    qnh_pa: float | None = None
    field_temperature_k: float | None = None

    @classmethod
    def given(cls, qnh: float | None, temperature_c: float | None) -> Air:
        """From the user's values: QNH in hPa, below 40 in inches of mercury; °C. Raises `LogError` for impossible values."""
        hpa = None if qnh is None else qnh * _INHG / _HPA if qnh < 40.0 else qnh
        if hpa is not None and not _QNH_HPA[0] <= hpa <= _QNH_HPA[1]:
            raise LogError(f"--qnh {qnh:g}: no altimeter setting: give hPa (850 to 1090) or inches of mercury (25.1 to 32.2)")
        if temperature_c is not None and not _TEMPERATURE_C[0] <= temperature_c <= _TEMPERATURE_C[1]:
            raise LogError(f"--temperature {temperature_c:g}: no temperature of the air: give °C at the airfield")
        return cls(None if hpa is None else hpa * _HPA, None if temperature_c is None else temperature_c + _KELVIN)

    @property
    def qnh_hpa(self) -> float | None:
        """The QNH in hectopascals."""
        return None if self.qnh_pa is None else self.qnh_pa / _HPA

    @property
    def field_temperature_c(self) -> float | None:
        """The temperature at the airfield in °C."""
        return None if self.field_temperature_k is None else self.field_temperature_k - _KELVIN

    @property
    def above_indicated_m(self) -> float:
        """How far pressure altitude lies above what an altimeter set to the QNH shows."""
        return 0.0 if self.qnh_pa is None else float(atmosphere.pressure_altitude(self.qnh_pa))

    def warmer_than_standard_k(self, field_elevation_m: float) -> float:
        """How much warmer than standard the air is, all the way up, given the airfield's elevation."""
        if self.field_temperature_k is None:
            return 0.0
        standard = atmosphere.temperature(field_elevation_m + self.above_indicated_m)
        return self.field_temperature_k - float(standard)

    def sentences(self, pressure_logged: bool) -> tuple[str, ...]:
        """The notes on the air given, depending on whether the log has only pressure altitude."""
        notes = []
        if self.qnh_hpa is not None:
            use = "applied to the pressure altitude" if pressure_logged else "used for airspeeds"
            notes.append(f"QNH {self.qnh_hpa:.0f} hPa, as given: {use}")
        if self.field_temperature_c is not None:
            notes.append(f"{self.field_temperature_c:.0f} °C at the airfield, as given: used for airspeeds")
        return tuple(notes)


STANDARD_AIR = Air()
