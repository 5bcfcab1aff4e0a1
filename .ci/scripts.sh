#!/usr/bin/env bash
# The types of every script of the pages, held by TypeScript's checker; FLEETCARE_NODE names the
# folder that has it. A script that breaks them is found: the specimen shows it.
set -euo pipefail
work="$1"

held() { # file, libraries
  "$FLEETCARE_NODE/.bin/tsc" --allowJs --checkJs --noEmit --strict --target es2022 --lib "$2" "$1"
}

echo 'const a = 1; a.b();' > "$work/specimen.js"
if held "$work/specimen.js" es2022 > /dev/null; then
  echo "the checker of scripts finds nothing in one that is wrong"
  exit 1
fi
for script in fleetcare/web/*.js; do
  [ -e "$script" ] || { echo "no page has a script"; exit 0; }
  libraries=es2022,dom,dom.iterable
  ! grep -q 'lib="webworker"' "$script" || libraries=es2022,webworker # it runs beside no page
  held "$script" "$libraries"
  echo "$script"
done
