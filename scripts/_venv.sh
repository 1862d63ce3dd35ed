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
stamp=".venv/installed${EXTRAS:-}"
if [ "$(cat "$stamp" 2>/dev/null)" != "$(cksum < pyproject.toml)" ]; then
    echo "Installing what settingsdesk${EXTRAS:-} needs ..." >&2
    .venv/bin/python -m pip install --quiet --disable-pip-version-check --editable ".${EXTRAS:-}"
    cksum < pyproject.toml > "$stamp"
fi
