# Sourced, from the top of the checkout, by examples/demo and tests/run: makes .venv, with the exact releases that
# `.pins` names and this checkout itself, and puts it first on PATH. The second time there is nothing to do.
set -eu

say() { printf '%s\n' "$*" >&2; }
stop() { say "$*"; exit 1; }

find_python() {
    # Each is run, not only looked up: a name on PATH may stand for a release that is not there.
    for name in python3 python3.14 python3.13 python3.12 python3.11; do
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            echo "$name"
            return
        fi
    done
}

# The Debian packages without which there is no environment, or no PDF.
lacking() {
    if [ -z "$python" ]; then
        echo python3 python3-venv libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0
        return
    fi
    "$python" - <<'PYTHON'
import ctypes
import importlib.util
import sys

if importlib.util.find_spec("ensurepip") is None:
    print("python%d.%d-venv" % sys.version_info[:2])
for library, package in {
    "libpango-1.0.so.0": "libpango-1.0-0",
    "libpangoft2-1.0.so.0": "libpangoft2-1.0-0",
    "libharfbuzz-subset.so.0": "libharfbuzz-subset0",
}.items():
    try:
        ctypes.CDLL(library)
    except OSError:
        print(package)
PYTHON
}

# Installs what is lacking, or else tells the line that does.
get() {
    if [ "$(id -u)" = 0 ]; then
        as_root=env
    elif sudo -n true 2>/dev/null; then
        as_root='sudo -n env'
    else
        say "Lacking for environments and PDFs: $*"
        say "This installs it: sudo apt-get update && sudo apt-get install --no-install-recommends $*"
        return
    fi
    say "Installing $* (about a minute) ..."
    # Its many lines are worth reading only when it fails.
    log=$(mktemp)
    {
        $as_root apt-get -q update &&
            $as_root DEBIAN_FRONTEND=noninteractive apt-get -qy install --no-install-recommends "$@"
    } >"$log" 2>&1 </dev/null || { tail -n 5 "$log" >&2; say "That did not succeed; going on without."; }
    rm -f "$log"
}

# What the environment is made of; it is remade when any of it has changed.
stamp() { pwd && .venv/bin/python -VV && cat .pins pyproject.toml .setup.sh; }

python=$(find_python)
if command -v apt-get >/dev/null; then
    packages=$(lacking)
    # Unquoted: one word a package.
    [ -z "$packages" ] || { get $packages; python=$(find_python); }
fi

if [ "$(stamp 2>&1)" != "$(cat .venv/stamp 2>&1)" ]; then
    [ -n "$python" ] || stop "No Python 3.11 or later is found."
    "$python" -c 'import ensurepip' 2>/dev/null || stop "$("$python" -V) makes no environment without its module ensurepip."
    say "Making .venv with $("$python" -V) and some 60 packages (a minute or two the first time) ..."
    "$python" -m venv --clear .venv
    pip() { .venv/bin/python -m pip --disable-pip-version-check -qq "$@"; }
    pip install --requirement .pins
    pip install --no-deps --no-build-isolation --editable .
    # Last, so that an environment half made is known as such.
    stamp >.venv/stamp
fi
PATH=$PWD/.venv/bin:$PATH
export PATH
