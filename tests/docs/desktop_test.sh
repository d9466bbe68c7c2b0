#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# The desktop entry, AppStream data and MIME type hold by their own validators, and a project file
# is known by its content and its name.
#   desktop_test.sh FOURBEAT
set -euo pipefail
here=$(cd "$(dirname "$0")/../../ui/desktop" && pwd)
for tool in desktop-file-validate appstreamcli update-mime-database gio; do
  command -v "$tool" > /dev/null && continue
  echo "desktop_test: $tool is missing" >&2
  [ "${CI:-false}" = true ] && exit 1
  exit 77
done
desktop-file-validate "$here"/org.fourbeat.desk.desktop
appstreamcli validate --no-net "$here"/org.fourbeat.desk.metainfo.xml > /dev/null
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
mkdir -p "$folder/mime/packages"
cp "$here"/org.fourbeat.desk.xml "$folder/mime/packages"
export XDG_DATA_DIRS=$folder:/usr/share XDG_DATA_HOME=$folder/home
update-mime-database "$folder/mime" > /dev/null 2>&1
"$1" new "$folder/x.fourbeat" --title x > /dev/null
found=$(gio info -a standard::content-type "$folder/x.fourbeat" | sed -n "s/.*content-type: //p")
[ "$found" = application/x-fourbeat-project ] || { echo "known as $found" >&2; exit 1; }
