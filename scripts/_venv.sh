# Sourced by the scripts beside it, from the repository's root: makes .venv ready.
# EXTRAS names the optional dependencies wanted, such as "[test]".
if ! python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
    echo "settingsdesk needs Python 3.11 or newer. On Debian: apt-get install python3" >&2
    exit 1
fi
if ! [ -x .venv/bin/pip ]; then
    if ! python3 -c 'import ensurepip' 2>/dev/null; then
        if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
            apt-get update -qq
            DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends python3-venv >/dev/null
        else
            echo "Python's venv module is missing. As root: apt-get install python3-venv, then run this again." >&2
            exit 1
        fi
    fi
    rm -rf .venv
    python3 -m venv .venv
fi
# Each package in the version and with the hashes that scripts/lock.py wrote down, and no other.
lock=scripts/locked/run.txt
[ -z "${EXTRAS:-}" ] || lock=scripts/locked/test.txt
stamp=".venv/installed${EXTRAS:-}"
if [ "$(cat "$stamp" 2>/dev/null)" != "$(cat pyproject.toml "$lock" | cksum)" ]; then
    echo "Installing what settingsdesk${EXTRAS:-} needs ..." >&2
    pip="python -m pip install --quiet --disable-pip-version-check"
    .venv/bin/$pip --require-hashes --requirement "$lock"
    .venv/bin/$pip --no-deps --no-build-isolation --editable .
    cat pyproject.toml "$lock" | cksum > "$stamp"
fi
