#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests `fetch` against a package manager of its own: without lists of packages it asks for them
once and goes on, without packages it fails with the reason, and what it has it does not ask for.
"""
import os
import pathlib
import struct
import subprocess
import tarfile
import tempfile
import unittest

FETCH = pathlib.Path(__file__).resolve().parent / "fetch"
APT = """#!/bin/sh
echo "$@" >> "$STUB/calls"
case "$*" in
  *update*) [ -e "$STUB/offline" ] || : > "$STUB/lists" ;;
  *download*)
    for package; do :; done
    [ -e "$STUB/lists" ] || { echo "E: Unable to locate package $package" >&2; exit 100; }
    : > "${package}_1_all.deb" ;;
esac
"""
SUDO = """#!/bin/sh
while [ "${1#-}" != "$1" ]; do shift; done
exec "$@"
"""
DEB = """#!/bin/sh
cat "$STUB/data.tar"
"""


class Fetch(unittest.TestCase):
    def setUp(self):
        scratch = tempfile.TemporaryDirectory()
        self.addCleanup(scratch.cleanup)
        self.stub = pathlib.Path(scratch.name) / "stub"
        self.folder = pathlib.Path(scratch.name) / "recordings"
        self.stub.mkdir()
        for name, text in (("apt-get", APT), ("sudo", SUDO), ("dpkg-deb", DEB)):
            program = self.stub / name
            program.write_text(text)
            program.chmod(0o755)
        riff = b"RIFF" + struct.pack("<I", 4) + b"WAVE"
        at = 8 * 14
        entries = [struct.pack("<II", at, len(riff)) for _ in range(14)]
        with tarfile.open(self.stub / "data.tar", "w") as tar:
            for name, content in (("opensfx/opensfx.cat", b"".join(entries) + riff),
                                  ("sound/steam.wav", riff)):
                file = self.stub / "content"
                file.write_bytes(content)
                tar.add(file, "./usr/share/games/" + name)

    def fetch(self):
        return subprocess.run(
            [FETCH, self.folder, "false"], capture_output=True, text=True, check=False,
            env={"PATH": f"{self.stub}:{os.environ['PATH']}", "STUB": str(self.stub)})

    def calls(self):
        calls = (self.stub / "calls").read_text().splitlines()
        (self.stub / "calls").unlink()
        return ["update" if "update" in call else call.split()[-1] for call in calls]

    def test_asks_for_lists_once_and_quietly(self):
        done = self.fetch()
        self.assertEqual((done.returncode, done.stderr, done.stdout), (0, "", ""))
        self.assertEqual(self.calls(), ["openttd-opensfx", "update", "openttd-opensfx",
                                        "simutrans-pak64"])
        self.assertEqual((self.folder / "opensfx-13.wav").read_bytes()[:4], b"RIFF")
        self.assertTrue((self.folder / "steam.wav").exists())
        self.assertEqual(self.fetch().returncode, 0)
        self.assertFalse((self.stub / "calls").exists())

    def test_says_why_it_cannot(self):
        (self.stub / "offline").touch()
        done = self.fetch()
        self.assertNotEqual(done.returncode, 0)
        self.assertEqual(done.stderr, "E: Unable to locate package openttd-opensfx\n")
        self.assertEqual(self.calls(), ["openttd-opensfx", "update", "openttd-opensfx"])

    def test_root_needs_no_sandbox_user(self):
        self.fetch()
        calls = (self.stub / "calls").read_text().splitlines()
        for call in calls:
            self.assertEqual("APT::Sandbox::User=root" in call, os.getuid() == 0)


if __name__ == "__main__":
    unittest.main()
