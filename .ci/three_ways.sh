#!/usr/bin/env bash
# `init`, `demo` and Alembic's own check from the checkout, an editable install and the wheel.
set -euo pipefail
work="$1"
root="$PWD"
bin="$FLEETCARE_VENV/bin"
check='import sys; from fleetcare.store import migrate; migrate.check(sys.argv[1])'

try() { # name, python, folder to run in
  echo "-- $1"
  (cd "$3" && "$2" -m fleetcare --db "$work/$1.db" init &&
    "$2" -c "$check" "$work/$1.db" && "$2" -m fleetcare demo > "$work/$1.txt")
  tail -n 1 "$work/$1.txt" | cut -c 1-40
}

"$bin/python" -m venv --system-site-packages "$work/venv"
site="$("$bin/python" -c 'import sysconfig; print(sysconfig.get_path("purelib"))')"
echo "$site" > "$("$work/venv/bin/python" -c 'import sysconfig; print(sysconfig.get_path("purelib"))')/pinned.pth"
"$bin/python" -m pip uninstall -q -y fleetcare
try checkout "$bin/python" "$root"
"$work/venv/bin/python" -m pip install -q --no-deps --no-build-isolation -e "$root"
mkdir -p "$work/one" "$work/two"
try editable "$work/venv/bin/python" "$work/one"
"$work/venv/bin/python" -m pip uninstall -q -y fleetcare
"$bin/python" -m build --wheel --no-isolation --outdir "$work/dist" "$root" > "$work/build.txt"
"$bin/python" -m pip install -q --no-deps "$work"/dist/*.whl
try wheel "$bin/python" "$work/two"
cmp <(sed 's/[^ ]*fleetcare-demo-[^ ]*//g' "$work/checkout.txt") \
  <(sed 's/[^ ]*fleetcare-demo-[^ ]*//g' "$work/wheel.txt")
