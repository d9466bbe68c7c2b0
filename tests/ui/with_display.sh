#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs a command on an X display of its own with a window manager: with_display.sh COMMAND …
# Skips (77) where Xvfb, openbox or xdotool is missing; under CI=true that is a failure.
set -euo pipefail
for tool in Xvfb openbox xdotool; do
  command -v "$tool" > /dev/null && continue
  echo "with_display: $tool is missing" >&2
  [ "${CI:-false}" = true ] && exit 1
  exit 77
done
folder=$(mktemp -d)
trap 'kill $(jobs -p) 2> /dev/null; wait 2> /dev/null; rm -rf "$folder"' EXIT
Xvfb -displayfd 3 -screen 0 "${FOURBEAT_SCREEN:-1400x900x24}" -nolisten tcp \
  3> "$folder/display" 2> /dev/null &
for _ in $(seq 100); do
  [ -s "$folder/display" ] && break
  sleep 0.1
done
export DISPLAY=:$(head -n 1 "$folder/display") QT_QPA_PLATFORM=xcb
export XDG_RUNTIME_DIR=$folder
openbox > /dev/null 2>&1 &
sleep 0.5
status=0
"$@" || status=$?
exit "$status"
