#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""man_page_test.py FOURBEAT: every sub-command and option that --help lists is in the man page, the
man page lists no other, and mandoc finds no fault in the pages."""
import pathlib
import re
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
PAGES = sorted((ROOT / "docs" / "man").glob("*.1"))


def help_of(program, *words):
    return subprocess.run([program, *words, "--help"], check=True, capture_output=True,
                          text=True).stdout


def subcommands(text):
    if "Subcommands:" not in text:
        return []
    return re.findall(r"^  ([a-z]+) ", text.split("Subcommands:")[1], re.M)


def walk(program, words=()):
    """All commands with their options."""
    text = help_of(program, *words)
    below = subcommands(text)
    if not below:
        options = set(re.findall(r"--([a-z][a-z-]*)", text.split("Options:")[1])) - {"help"}
        yield " ".join(words), options
    for word in below:
        yield from walk(program, (*words, word))


def page_entries(text):
    """Commands of the man page's list with their options."""
    entries = {}
    for line in re.findall(r"^\.It Nm Cm (.*)$", text, re.M):
        words = line.split()
        name = words[0]
        if len(words) > 1 and words[0] == "take":
            name = f"take {words[1]}"
        entries.setdefault(name, set()).update(re.findall(r"Fl Fl ([a-z-]+)", line))
    return entries


def main():
    program = sys.argv[1]
    faults = []
    entries = page_entries((ROOT / "docs" / "man" / "fourbeat.1").read_text())
    commands = dict(walk(program))
    if len(commands) < 15:
        faults.append(f"only {len(commands)} commands found in --help")
    for name, options in commands.items():
        if name not in entries:
            faults.append(f"{name}: not in the man page")
            continue
        # --write and its like are told in the text below an entry too.
        for option in sorted(options ^ entries[name]):
            faults.append(f"{name}: --{option} is in only one of --help and the man page")
    for name in entries:
        if name not in commands:
            faults.append(f"{name}: in the man page only")
    if shutil.which("mandoc"):
        for page in PAGES:
            lint = subprocess.run(["mandoc", "-T", "lint", "-W", "warning", page],
                                  capture_output=True, text=True)
            faults += lint.stdout.splitlines()
    for fault in faults:
        print(fault, file=sys.stderr)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
