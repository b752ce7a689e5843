"""How large a log may be: bytes once unpacked, and samples. Beyond, it is refused before memory or patience run out."""

from __future__ import annotations

from analyzer.errors import LogError
from analyzer.frozen import dataclass

__all__ = ["DEFAULT_LIMITS", "Limits"]

_MIB = 2**20
_VALUES_A_SAMPLE = 50  # a wide flight data recorder's rows are counted as several samples


@dataclass(frozen=True)
class Limits:
    """The most bytes that a log may have unpacked (``--max-bytes``), and the most samples and seconds (``--max-samples``)."""

    max_bytes: int = 512 * _MIB
    max_samples: int = 2_000_000

    def __post_init__(self) -> None:
        for option, value in (("--max-bytes", self.max_bytes), ("--max-samples", self.max_samples)):
            if value < 1:
                raise LogError(f"{option} {value}: must be a whole number above zero")

    @property
    def max_values(self) -> int:
        """The most cells of all columns together, empty ones too."""
        return _VALUES_A_SAMPLE * self.max_samples

    def check_samples(self, count: int, file: str) -> None:
        """Raise `LogError` where a log has more samples than it may."""
        if count > self.max_samples:
            raise LogError(
                f"{file}: more than {self.max_samples:,} samples: cut the log down to the flight,"
                " or allow more with --max-samples"
            )

    def check_seconds(self, flown_s: float, file: str) -> None:
        """Raise `LogError` where a log lasts longer, gaps left out, than the samples that it may have at one a second.

        The flight is worked out for every second, so one position a minute costs as much as sixty.
        """
        if flown_s > self.max_samples:
            raise LogError(
                f"{file}: lasts more than {self.max_samples:,} s: cut the log down to the flight,"
                " or allow more with --max-samples"
            )

    def check_values(self, count: int, file: str) -> None:
        """Raise `LogError` where a log has more cells than it may."""
        if count > self.max_values:
            raise LogError(
                f"{file}: more than {self.max_values:,} values, {_VALUES_A_SAMPLE} for each sample allowed: cut the log down"
                " to the flight, or allow more with --max-samples"
            )

    def too_many_bytes(self, file: str) -> LogError:
        """The error for a log that is larger than it may be."""
        size = f"{self.max_bytes // _MIB} MiB" if self.max_bytes % _MIB == 0 else f"{self.max_bytes:,} bytes"
        return LogError(f"{file}: larger than {size} unpacked: cut the log down to the flight, or allow more with --max-bytes")


DEFAULT_LIMITS = Limits()
