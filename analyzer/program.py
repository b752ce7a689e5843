"""What the program is that made a result: its version, and a digest of its own files, which changes whenever a result could."""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from importlib import metadata
from pathlib import Path

__all__ = ["program_digest", "program_version"]

_DECIDING = (".py", ".toml")  # code, and the standards that ship


@cache
def program_version() -> str:
    """The version that is installed."""
    return metadata.version("approach-analyzer")


@cache
def program_digest() -> str:
    """Digest of the program's code and tables; a change of any of them may change what is found in a flight."""
    package = Path(__file__).parent
    digest = sha256()
    for file in sorted(one for one in package.rglob("*") if one.suffix in _DECIDING):
        digest.update(file.relative_to(package).as_posix().encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()[:20]
