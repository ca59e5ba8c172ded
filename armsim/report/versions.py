"""What a report was made with."""

import platform
from importlib.metadata import PackageNotFoundError, version

from armsim import __version__
from armsim.report.marking import prose

LIBRARIES = ("numpy", "scipy", "matplotlib", "pyyaml", "pydantic")
SAME_FILES = (
    "No random numbers are used. The same input and versions give the same files on the same kind of processor."
)


def version_rows() -> list[tuple[str, str]]:
    """Name and version of everything that a number may hang on, as cells of a table."""
    return [
        ("armsim", __version__),
        ("Python", platform.python_version()),
        *((name, _version_of(name)) for name in LIBRARIES),
        ("system", prose(f"{platform.system()} on {platform.machine()}")),
    ]


def _version_of(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"
