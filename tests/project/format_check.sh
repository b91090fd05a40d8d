#!/usr/bin/env bash
# Every source file is as clang-format 14 writes it.
set -euo pipefail
cd "$1"
tool=$(command -v clang-format-14) || { echo "clang-format-14 is missing: run bash tests/run.sh --group format"; exit 1; }
find analysis schema reports daemon fixtures tests \( -name '*.h' -o -name '*.cpp' \) -print0 |
  xargs -0 "$tool" --dry-run -Werror
