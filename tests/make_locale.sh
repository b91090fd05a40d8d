#!/usr/bin/env bash
# make_locale.sh FOLDER: a locale with a decimal comma, for the tests that must not care.
set -euo pipefail
mkdir -p "$1"
[ -d "$1/de_DE.UTF-8" ] || localedef -i de_DE -f UTF-8 "$1/de_DE.UTF-8"
