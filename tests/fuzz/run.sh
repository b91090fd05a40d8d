#!/usr/bin/env bash
# Builds the fuzz targets with clang and the sanitizers and runs each for a while from its kept corpus.
#
#   bash tests/fuzz/run.sh [SECONDS EACH]     30 unless told
#   bash tests/fuzz/run.sh --keep [SECONDS]   then keeps the smallest set of inputs that reaches as much
#
# What stops a target is left in build-fuzz/found/NAME.
set -euo pipefail
source "$(dirname "$0")/../../fixtures/setup.sh"

keep=false
if [ "${1:-}" = --keep ]; then keep=true; shift; fi
seconds=${1:-30}

endgate_need build test fuzz
cd "$endgate_root"
cmake --preset fuzz >/dev/null
cmake --build build-fuzz --target fuzz_all

declare -A more=([bench_toml]="fixtures/examples/benches fixtures/scenario/benches"
                 [model_toml]="fixtures/scenario/models fixtures/scenario/trials fixtures/scenario/limits")
status=0
for kept in tests/fuzz/corpus/*; do
  name=$(basename "$kept")
  target=build-fuzz/tests/fuzz/fuzz_$name
  new=build-fuzz/new/$name found=build-fuzz/found/$name
  mkdir -p "$new" "$found"
  # shellcheck disable=SC2086
  "$target" -max_total_time="$seconds" -timeout=5 -rss_limit_mb=1024 -print_final_stats=1 \
    -artifact_prefix="$found/" "$new" "$kept" ${more[$name]:-} >"build-fuzz/$name.log" 2>&1 ||
    { status=1; echo "$name: stopped, see build-fuzz/$name.log and $found" >&2; }
  sed -n "s/^stat::number_of_executed_units: */$name: inputs /p" "build-fuzz/$name.log"
  if $keep; then
    least=$(mktemp -d)
    # shellcheck disable=SC2086
    "$target" -set_cover_merge=1 -use_counters=0 -timeout=5 "$least" "$kept" "$new" \
      ${more[$name]:-} >/dev/null 2>&1
    for file in "$least"/*; do
      [ "$(stat -c %s "$file")" -lt 3000 ] || continue
      cp -n "$file" "$kept/found_$(basename "$file" | cut -c1-8)"
    done
    rm -rf "$least"
  fi
done
exit $status
