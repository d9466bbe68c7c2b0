# SPDX-License-Identifier: GPL-3.0-or-later
# The Debian packages Fourbeat is built and tested with, and how missing ones are installed.
build_packages=(
  g++ cmake ninja-build pkg-config ccache mold
  libsndfile1-dev libsoxr-dev libebur128-dev libkissfft-dev libcmark-dev libarchive-dev
  nlohmann-json3-dev libfmt-dev libcli11-dev libvalijson-dev libssl-dev
  qt6-base-dev qt6-multimedia-dev qt6-svg-dev
)
test_packages=(
  catch2 python3 dpkg-dev desktop-file-utils appstream shared-mime-info libglib2.0-bin mandoc
  xvfb openbox xdotool pulseaudio pulseaudio-utils
)
deep_packages=(clang clang-format clang-tidy libclang-rt-dev locales)

install_missing() {
  local missing=()
  local package
  for package in "$@"; do
    dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' ||
      missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  echo "installing: ${missing[*]}" >&2
  local sudo=()
  [ "$(id -u)" -eq 0 ] || sudo=(sudo)
  "${sudo[@]}" apt-get update -qq
  "${sudo[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
    "${missing[@]}" > /dev/null
}
