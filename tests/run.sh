#!/usr/bin/env bash
# Installs what the tests need, builds, runs every test through ctest.
#
#   bash tests/run.sh          all tests but the heavy groups
#   bash tests/run.sh --all    the heavy groups too: format, browser
#   bash tests/run.sh --group browser [--group format ...]
#   bash tests/run.sh --nightly    the long campaigns alone, on a fixed seed and on a fresh one, and
#                              what was planted in whole histories of a plant
#   bash tests/run.sh --fuzz [SECONDS EACH]     the fuzz targets alone, each for 30 s
#
# A heavy group installs its own packages.  One that is not asked for is named at the end.
set -euo pipefail
source "$(dirname "$0")/../fixtures/setup.sh"

heavy=(format browser)
groups=()
nightly=no
while [ $# -gt 0 ]; do
  case $1 in
    --all) groups=("${heavy[@]}") ;;
    --nightly) nightly=yes ;;
    --group) groups+=("$2"); shift ;;
    --fuzz) shift; exec bash "$endgate_root/tests/fuzz/run.sh" "$@" ;;
    *) sed -n '2,11s/^# \{0,1\}//p' "$0" >&2; exit 2 ;;
  esac
  shift
done

endgate_need build test "${groups[@]}"
endgate_configure -DENDGATE_TESTS=ON
if [ $nightly = yes ]; then
  endgate_build nightly_campaigns test_planted
  status=0
  "$endgate_root/build/tests/nightly_campaigns" || status=1
  "$endgate_root/build/tests/test_planted" || status=1
  exit $status
fi
endgate_build

leave_out=()
for group in "${heavy[@]}"; do
  [[ " ${groups[*]} " == *" $group "* ]] || leave_out+=("$group")
done
if [ ${#leave_out[@]} -gt 0 ]; then
  echo "Not run: ${leave_out[*]} (bash tests/run.sh --all runs them too)"
fi
cd "$endgate_root/build"
status=0
ctest --output-on-failure -j "$(nproc)" -LE "^($(IFS='|'; echo "wire|wire-safety|planted|${leave_out[*]}"))\$" ||
  status=1
# A test on real sockets and clocks may lose a race on a loaded machine: it runs alone, gets a second
# chance, and ctest says so.
ctest --output-on-failure -L '^wire$' --repeat until-pass:2 || status=1
# Not so one that says a motor is off: what fails once failed.
ctest --output-on-failure -L '^wire-safety$' || status=1
exit $status
