"""Style sheets and scripts as they go to phones, without the comments: those are for who reads the
files, and would be a tenth of what a station's first page weighs.
"""

import re
from pathlib import Path

_COMMENT = re.compile(r"/\*.*?\*/[ \t]*\n?", re.DOTALL)
_LINE_OF_COMMENT = re.compile(r"^[ \t]*//.*\n|[ \t]+// [^\"'`\n]*$", re.MULTILINE)
"""A line that is nothing else, or what stands behind a line and has no sign of a text in it."""
_EMPTY_LINE = re.compile(r"^[ \t]*\n", re.MULTILINE)


def lean(file: Path) -> bytes:
    """A style sheet or a script without its comments and empty lines."""
    comment = _COMMENT if file.suffix == ".css" else _LINE_OF_COMMENT
    text = comment.sub("", file.read_text("utf-8"))
    return _EMPTY_LINE.sub("", text).encode()


def lean_files(folder: Path) -> dict[str, bytes]:
    """The same of every style sheet and script in a folder, by their names."""
    return {
        file.name: lean(file) for file in sorted(folder.iterdir()) if file.suffix in (".css", ".js")
    }
