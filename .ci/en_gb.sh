#!/usr/bin/env bash
# The store's tests once more on Debian's PostgreSQL, in a database that sorts as an English reader
# does (ICU, en-GB): the packaged server sorts by code point and would hide a wrong collation.
set -euo pipefail
python="$1"
bin="$(ls -d /usr/lib/postgresql/*/bin 2> /dev/null | sort -V | tail -n 1 || true)"
if [ -z "$bin" ] || ! id postgres > /dev/null 2>&1 || [ "$(id -u)" != 0 ]; then
  echo "!!!! NOT RUN: the store's tests under en_GB. They need Debian's postgresql package and root."
  exit 0
fi

work="$(mktemp -d)"
chmod 711 "$work"
install -d -o postgres "$work/data"
as() { runuser -u postgres -- "$@"; }
cleanup() {
  as "$bin/pg_ctl" -D "$work/data" -m immediate -w stop > /dev/null 2>&1 || true
  rm -rf "$work"
}
trap cleanup EXIT
as "$bin/initdb" -D "$work/data" -A trust -E UTF8 --locale-provider=icu --icu-locale=en-GB \
  --locale=C.UTF-8 > /dev/null
as "$bin/pg_ctl" -D "$work/data" -w -l "$work/data/log" \
  -o "-c listen_addresses='' -c unix_socket_directories='$work/data' -c fsync=off" start > /dev/null
chmod 755 "$work/data"
export FLEETCARE_TEST_POSTGRES="postgresql+psycopg://postgres@/postgres?host=$work/data"
"$python" -m pytest -q -p no:cacheprovider -k postgresql tests/store tests/desk/test_carry.py \
  tests/desk/test_known_at.py tests/desk/test_erase.py
