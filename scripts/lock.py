"""Writes scripts/locked/ anew: every package with its version and the hashes of all its files.

    .venv/bin/python scripts/lock.py [--newest]

`run.txt` is what the desk needs, `test.txt` what its tests need besides, for every platform and
every Python from 3.11 on; `bill.json` is the bill of materials of `run.txt` (CycloneDX 1.6), each
package with the licence that its wheel states. Versions stay as they are unless pyproject.toml
asks for others, or with --newest. Needs uv (https://docs.astral.sh/uv/): pip install uv.
"""

import argparse
import json
import re
import shutil
import subprocess
import sys
import tempfile
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

ROOT = Path(__file__).parents[1]
LOCKED = ROOT / "scripts" / "locked"
OF_THE_BUILD = "hatchling>=1.27\neditables\n"
"""What installing the repository itself needs, so that nothing is fetched without a hash."""

_PINNED = re.compile(r"^(?P<name>[\w.-]+)==(?P<version>[^\s;]+)", re.MULTILINE)


def main() -> int:
    """Write the three files."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--newest", action="store_true", help="take the newest versions")
    newest = parser.parse_args().newest
    uv = shutil.which("uv")
    if uv is None:
        print("uv is not here: pip install uv", file=sys.stderr)
        return 1
    LOCKED.mkdir(exist_ok=True)
    for name, extra in (("run.txt", []), ("test.txt", ["--extra", "test"])):
        _lock(uv, LOCKED / name, extra, newest=newest)
    bill = json.dumps(bill_of((LOCKED / "run.txt").read_text()), indent=1)
    (LOCKED / "bill.json").write_text(bill + "\n")
    return 0


def _lock(uv: str, file: Path, extra: list[str], *, newest: bool) -> None:
    with tempfile.NamedTemporaryFile("w", suffix=".in") as build:
        build.write(OF_THE_BUILD)
        build.flush()
        how = ["--universal", "--generate-hashes", "--python-version", "3.11", "--quiet"]
        plain = ["--no-annotate", "--no-header", *(["--upgrade"] if newest else []), *extra]
        command = [uv, "pip", "compile", *how, *plain, "pyproject.toml", build.name]
        subprocess.run([*command, "--output-file", str(file)], cwd=ROOT, check=True)


def pinned(lock: str) -> dict[str, str]:
    """The version of each package in a lock file."""
    return {found["name"]: found["version"] for found in _PINNED.finditer(lock)}


def bill_of(lock: str) -> dict[str, object]:
    """The bill of materials of a lock file."""
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "components": [
            {
                "type": "library",
                "name": name,
                "version": version,
                "purl": f"pkg:pypi/{name}@{version}",
                "licenses": [{"license": {"name": licence_of(name)}}],
            }
            for name, version in pinned(lock).items()
        ],
    }


def licence_of(name: str) -> str:
    """What the wheel states; a long text is told by its first line."""
    try:
        told = metadata(name)
    except PackageNotFoundError:
        return "not installed on this platform"
    classifiers = [
        line.rpartition(" :: ")[2]
        for line in told.get_all("Classifier") or ()
        if line.startswith("License :: ")
    ]
    stated = told.get("License-Expression") or "; ".join(classifiers) or told.get("License") or ""
    return (stated.strip().splitlines() or ["not stated"])[0]


if __name__ == "__main__":
    sys.exit(main())
