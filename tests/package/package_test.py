#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Installs the build into a folder of its own and uses what is there: the command with its data,
and the core from another project by find_package(fourbeat).
"""
import json
import os
import pathlib
import subprocess
import tempfile
import unittest

BUILD = os.environ["FOURBEAT_BUILD"]
CMAKE = os.environ["FOURBEAT_CMAKE"]
HERE = pathlib.Path(__file__).resolve().parent


class Package(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.scratch = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.scratch.cleanup)
        cls.home = pathlib.Path(cls.scratch.name)
        cls.prefix = cls.home / "prefix"
        cls.environment = {name: value for name, value in os.environ.items()
                           if not name.startswith("FOURBEAT_")}
        cls.run_in(cls.home, CMAKE, "--install", BUILD, "--prefix", cls.prefix,
                   "--config", os.environ["FOURBEAT_CONFIG"])
        # A decoder class that stands in the installed data alone.
        decoders = cls.prefix / "share/fourbeat/decoders"
        profile = json.loads((decoders / "class-a.json").read_text())
        profile["id"] = "only-here"
        (decoders / "only-here.json").write_text(json.dumps(profile))

    @classmethod
    def run_in(cls, folder, *command, status=0):
        done = subprocess.run([str(part) for part in command], cwd=folder, text=True, check=False,
                              env=cls.environment, capture_output=True)
        if done.returncode != status:
            raise AssertionError(f"{command}: {done.returncode}\n{done.stdout}{done.stderr}")
        return done

    def test_everything_is_there(self):
        for place in ("bin/fourbeat", "share/fourbeat/cvs.json",
                      "share/fourbeat/schema/project.schema.json",
                      "share/fourbeat/schema/bundle.schema.json"):
            self.assertTrue((self.prefix / place).is_file(), place)
        self.assertEqual(list(self.prefix.glob("lib*/**/fourbeatConfig.cmake")) != [], True)
        for text in self.prefix.glob("lib*/**/*.cmake"):
            self.assertNotIn(BUILD, text.read_text(), text)
            self.assertNotIn(str(HERE.parent.parent), text.read_text(), text)

    def test_the_command_reads_the_installed_data(self):
        command = self.prefix / "bin/fourbeat"
        version = self.run_in(self.home, command, "--version").stdout
        self.assertEqual(version, f"fourbeat {os.environ['FOURBEAT_VERSION']}\n")
        self.run_in(self.home, command, "new", "a.fourbeat", "--title", "A")
        self.run_in(self.home, command, "check", "a.fourbeat")
        refused = self.run_in(self.home, command, "fit", "a.fourbeat", "--decoder", "none", status=2)
        self.assertIn("only-here", refused.stderr)

    def test_another_project_uses_the_core(self):
        build = self.home / "consumer"
        self.run_in(self.home, CMAKE, "-S", HERE / "consumer", "-B", build, "-G", "Ninja",
                    f"-DCMAKE_PREFIX_PATH={self.prefix}", f"-DFOURBEAT_PREFIX={self.prefix}",
                    f"-DFOURBEAT_WANTED={os.environ['FOURBEAT_VERSION']}",
                    f"-DCMAKE_CXX_COMPILER={os.environ['FOURBEAT_CXX']}")
        self.run_in(self.home, CMAKE, "--build", build)
        self.environment["FOURBEAT_DATA"] = str(self.prefix / "share/fourbeat")
        said = self.run_in(self.home, build / "consumer").stdout.split("\n")
        self.assertIn("snag empty_set", said)
        self.assertIn("decoder only-here", said)


if __name__ == "__main__":
    unittest.main()
