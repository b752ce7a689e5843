"""Addresses for the package `fsspec`, like ``memory://class``. Plain paths do not need the package."""

from __future__ import annotations

from typing import Any

from analyzer.errors import GradeError

__all__ = ["file_system", "is_address"]


def is_address(place: str) -> bool:
    """Whether a place is an address with a scheme rather than a path."""
    scheme, separator, _ = place.partition("://")
    return bool(separator) and scheme.isalnum()


def file_system(address: str) -> tuple[Any, str]:
    """The file system of an address, and the path in it.

    Raises
    ------
    GradeError
        The package `fsspec` is missing, or does not know the scheme.
    """
    try:
        import fsspec
    except ImportError as error:
        raise GradeError(
            f"{address}: addresses need fsspec: install approach-analyzer with the extra cluster, or give a path"
        ) from error
    try:
        system, path = fsspec.core.url_to_fs(address)
    except (ValueError, ImportError) as error:
        raise GradeError(f"{address}: fsspec cannot open it: {error}") from error
    return system, str(path)
