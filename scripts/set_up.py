"""Sets settingsdesk up, on any system with Python 3.11 or newer and nothing else.

    python3 scripts/set_up.py          its environment, in .venv
    python3 scripts/set_up.py test     the same with what its tests need
    python3 scripts/set_up.py start    its environment, the demo club, and the pages, served

On Windows: py scripts\\set_up.py start. SETTINGSDESK_DATA is where it keeps its data (.local),
SETTINGSDESK_HOST the address it listens on (127.0.0.1; 0.0.0.0 for the whole local network),
SETTINGSDESK_PORT the port (5000). Options after `start` go to the demo and to the server, such as
--public-url http://desk.example:5000.
"""

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
WINDOWS = os.name == "nt"
NEEDS_PYTHON = "settingsdesk needs Python 3.11 or newer. On Debian: apt-get install python3"


def python_of(system: str) -> Path:
    """The Python of the environment, where ``venv`` puts it on a system (as ``os.name``)."""
    return ENVIRONMENT / ("Scripts/python.exe" if system == "nt" else "bin/python")


PYTHON = python_of(os.name)


def main(words: list[str]) -> int:
    """Do what is asked; the exit status."""
    if words[:1] not in ([], ["test"], ["start"]):
        print(__doc__.strip())
        return 0 if words[0] in ("-h", "--help") else 2
    if sys.version_info < (3, 11):  # noqa: UP036 -- whoever starts it may have an older one
        return refused(NEEDS_PYTHON)
    status = make_ready("test" if words[:1] == ["test"] else "")
    if status == 0 and words[:1] == ["start"]:
        return start(words[1:])
    return status


def make_ready(extra: str) -> int:
    """Make the environment, and install what is written down for it, unless that is there."""
    if not has_pip():
        if not can_make_environments():
            return refused(
                "Python's venv module is missing. As root: apt-get install python3-venv, then run"
                " this again."
            )
        shutil.rmtree(ENVIRONMENT, ignore_errors=True)
        subprocess.run([sys.executable, "-m", "venv", str(ENVIRONMENT)], check=True)
    # Each package in the version and with the hashes that scripts/lock.py wrote down, no other.
    lock = ROOT / "scripts" / "locked" / (extra + ".txt" if extra else "run.txt")
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + lock.read_bytes()).hexdigest()
    stamp = ENVIRONMENT / ("installed-" + (extra or "run"))
    if stamp.exists() and stamp.read_text(encoding="ascii") == wanted:
        return 0
    print("Installing what settingsdesk needs ...", file=sys.stderr)
    install = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    for what in (
        ["--require-hashes", "--requirement", str(lock)],
        ["--no-deps", "--no-build-isolation", "--editable", str(ROOT)],
    ):
        status = subprocess.run([*install, *what], check=False).returncode
        if status:
            return refused("What settingsdesk needs could not be installed: see above.")
    stamp.write_text(wanted, encoding="ascii")
    return 0


def start(options: list[str]) -> int:
    """Put the demo club into an empty folder, and serve the pages until stopped."""
    told = os.environ
    told.setdefault("SETTINGSDESK_DATA", str(ROOT / ".local"))
    host, port = told.get("SETTINGSDESK_HOST", "127.0.0.1"), told.get("SETTINGSDESK_PORT", "5000")
    desk = [str(PYTHON), "-m", "settingsdesk"]
    where = ["--host", host, "--port", port, *options]
    status = subprocess.run([*desk, "demo", *where], check=False).returncode
    if status:
        return status
    serve = [*desk, "serve", *where]
    if not WINDOWS:  # there it would return to the prompt and leave the desk behind
        sys.stdout.flush()
        os.execv(serve[0], serve)  # noqa: S606 -- a shell has nothing to add
    try:
        return subprocess.run(serve, check=False).returncode
    except KeyboardInterrupt:
        return 0


def has_pip() -> bool:
    """Whether the environment is there and whole."""
    if not PYTHON.exists():
        return False
    asked = [str(PYTHON), "-c", "import pip"]
    return subprocess.run(asked, check=False, stderr=subprocess.DEVNULL).returncode == 0


def can_make_environments() -> bool:
    """Whether this Python can; on Debian it is taught to, where that is allowed."""
    asked = [sys.executable, "-c", "import ensurepip"]
    if subprocess.run(asked, check=False, stderr=subprocess.DEVNULL).returncode == 0:
        return True
    if WINDOWS or os.geteuid() != 0 or shutil.which("apt-get") is None:
        return False
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for words in ("update -qq", "install -y -qq --no-install-recommends python3-venv"):
        subprocess.run(
            ["apt-get", *words.split()], check=True, env=quiet, stdout=subprocess.DEVNULL
        )
    return True


def refused(words: str) -> int:
    """Say it where errors are told; the exit status."""
    print(words, file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
