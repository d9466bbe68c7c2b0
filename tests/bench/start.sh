#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# How long the editor takes from its start to a visible window on a project, and what memory it
# then holds once the live check is done. The floor in the same run: a Qt program that shows an
# empty window would need its libraries too; here `fourbeat-desk --version` is that floor.
#   tests/ui/with_display.sh tests/bench/start.sh build/ui/fourbeat-desk PROJECT
set -euo pipefail
desk=$1
project=$2
home=$(mktemp -d)
trap 'rm -rf "$home"' EXIT
export FOURBEAT_STATE=$home FOURBEAT_CONFIG=$home XDG_CONFIG_HOME=$home
now() { date +%s%N; }
for round in 1 2 3 4 5; do
  start=$(now)
  "$desk" --version > /dev/null
  floor=$((($(now) - start) / 1000000))
  start=$(now)
  "$desk" "$project" 2> /dev/null &
  pid=$!
  xdotool search --sync --onlyvisible --pid "$pid" --name "$(basename "$project")" > /dev/null
  shown=$((($(now) - start) / 1000000))
  sleep 8
  resident=$(awk '/VmRSS/ {print int($2 / 1024)}' "/proc/$pid/status")
  kill "$pid"
  wait "$pid" 2> /dev/null || true
  echo "round $round: window after $shown ms (floor $floor ms), $resident MB resident"
done
