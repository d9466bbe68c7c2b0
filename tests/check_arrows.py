#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads every include against the arrows that parts may follow, and fails on one that points up."""
import pathlib
import re
import sys

ALLOWED = {
    "base": {"base"},
    "audio": {"base", "audio"},
    "dsp": {"base", "audio", "dsp"},
    "model": {"base", "audio", "model"},
    "store": {"base", "audio", "dsp", "model", "store"},
    "check": {"base", "audio", "dsp", "model", "store", "check"},
    "fit": {"base", "audio", "dsp", "model", "fit"},
    "drive": {"base", "audio", "dsp", "model", "drive"},
    "deliver": {"base", "audio", "dsp", "model", "store", "check", "fit", "drive", "deliver"},
}
ALLOWED["work"] = set(ALLOWED) | {"work"}
ALLOWED["print"] = {"base", "deliver", "print"}
ALLOWED["cli"] = set(ALLOWED["work"]) | {"print", "cli"}
ALLOWED["ui"] = set(ALLOWED["work"]) | {"print", "ui"}
# fit and drive may see what a snag is, and nothing else of check.
EXCEPTIONS = {("fit", "check/snag.h"), ("drive", "check/snag.h")}
# One door a library: the parts whose sources may include it.
DOORS = {
    "sndfile.h": {"audio"},
    "soxr.h": {"audio"},
    "ebur128.h": {"audio"},
    "kiss_fftr.h": {"dsp"},
    "nlohmann": {"store", "deliver", "work", "cli"},
    "archive.h": {"deliver"},
    "cmark.h": {"deliver"},
    "openssl": {"base"},
    "CLI/": {"cli"},
}


def part_of(path, root):
    relative = path.relative_to(root).parts
    if relative[0] == "ui":
        return "ui"
    return relative[2] if relative[0] == "include" else relative[1]


def main():
    root = pathlib.Path(__file__).resolve().parent.parent
    faults = []
    files = 0
    for folder in ("include/fourbeat", "src", "ui"):
        for path in sorted((root / folder).rglob("*")):
            if path.suffix not in {".h", ".cpp"}:
                continue
            part = part_of(path, root)
            if part not in ALLOWED:
                faults.append(f"{path.relative_to(root)}: no part named {part}")
                continue
            files += 1
            for number, line in enumerate(path.read_text().splitlines(), 1):
                place = f"{path.relative_to(root)}:{number}"
                found = re.match(r'\s*#\s*include\s*[<"]fourbeat/([a-z]+)/([^">]+)[">]', line)
                if found and found[1] not in ALLOWED[part]:
                    if (part, f"{found[1]}/{found[2]}") not in EXCEPTIONS:
                        faults.append(f"{place}: {part} may not include {found[1]}")
                library = re.match(r'\s*#\s*include\s*[<"]([^">]+)[">]', line)
                if library:
                    if part not in {"print", "ui"} and re.match(r"Q[A-Z]", library[1]):
                        faults.append(f"{place}: Qt inside the core")
                    for name, parts in DOORS.items():
                        if library[1].startswith(name) and part not in parts:
                            faults.append(f"{place}: {name} is not {part}'s library")
    for fault in faults:
        print(fault, file=sys.stderr)
    if files < 50:
        print(f"only {files} files read: the folders moved?", file=sys.stderr)
        return 1
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
