#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs clang-tidy over every source file of src, ui, demo and tests, and fails on any finding.

    tidy.py BUILD [FILE …]

BUILD is a folder configured by CMake with Clang, without precompiled headers and with
CMAKE_EXPORT_COMPILE_COMMANDS; nothing in it needs to be built but headers that are generated.
FILE: look at these alone. A source file that BUILD does not compile is a failure, but for those that
not every build has: the benchmarks, and the project that uses the installed package.

A clean file is remembered in ${XDG_CACHE_HOME:-~/.cache}/fourbeat-tidy by what it was judged by:
its command, the settings, the version of clang-tidy, and the content of itself and of everything
it includes (comments too: a NOLINT is one). It is looked at again when any of these changes.
"""
import concurrent.futures
import functools
import hashlib
import json
import os
import pathlib
import re
import shlex
import subprocess
import sys
import threading
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent
FOLDERS = ("src", "ui", "demo", "tests")
OPTIONAL = ("tests/bench/", "tests/package/consumer/")
TIDY = os.environ.get("CLANG_TIDY", "clang-tidy")


def cache_folder():
    base = os.environ.get("XDG_CACHE_HOME") or pathlib.Path.home() / ".cache"
    return pathlib.Path(base) / "fourbeat-tidy"


def digest(*parts):
    total = hashlib.sha256()
    for part in parts:
        total.update(hashlib.sha256(part if isinstance(part, bytes) else part.encode()).digest())
    return total.hexdigest()


@functools.lru_cache(maxsize=None)
def file_digest(path):
    """Of a file's content; empty when it cannot be read."""
    try:
        return hashlib.sha256(pathlib.Path(path).read_bytes()).hexdigest()
    except OSError:
        return ""


def sources():
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "--"]
        + [f"{folder}/*.cpp" for folder in FOLDERS],
        cwd=ROOT, check=True, capture_output=True, text=True).stdout
    return [ROOT / name for name in listed.splitlines() if (ROOT / name).exists()]


def settings_of(path):
    """The text of every .clang-tidy that speaks for a file."""
    texts = []
    for folder in path.parents:
        rules = folder / ".clang-tidy"
        if rules.is_file():
            texts.append(rules.read_text())
        if folder == ROOT:
            break
    return "\0".join(texts)


class Entry:
    """One command of the compile database."""

    def __init__(self, raw):
        self.folder = pathlib.Path(raw["directory"])
        self.path = (self.folder / raw["file"]).resolve()
        self.arguments = raw.get("arguments") or shlex.split(raw["command"])

    def includes(self):
        """Every file that is read when this one is compiled, itself among them."""
        kept = []
        skip = False
        for argument in self.arguments:
            if skip or argument in ("-o", "-MF", "-MT", "-MQ"):
                skip = not skip
                continue
            if argument not in ("-c", "-MD", "-MMD"):
                kept.append(argument)
        # A launcher such as ccache stands before the compiler.
        at = next((i for i, one in enumerate(kept) if re.search(r"clang(\+\+)?(-\d+)?$", one)), 0)
        rule = subprocess.run(kept[at:] + ["-M"], cwd=self.folder, check=True,
                              capture_output=True, text=True).stdout
        names = shlex.split(rule.replace("\\\n", " ").split(":", 1)[1])
        return sorted({str((self.folder / name).resolve()) for name in names})

    def key(self, version):
        command = "\0".join(self.arguments).replace(str(self.folder), "BUILD")
        return digest(version, settings_of(self.path), command.replace(str(ROOT), "ROOT"),
                      str(self.path.relative_to(ROOT)), file_digest(str(self.path)))


def portable(name):
    return "ROOT/" + str(pathlib.Path(name).relative_to(ROOT)) if is_ours(name) else name


def is_ours(name):
    return pathlib.Path(name).is_relative_to(ROOT)


def read_portable(name):
    return str(ROOT / name[5:]) if name.startswith("ROOT/") else name


class Cache:
    def __init__(self, folder):
        self.folder = folder

    def is_clean(self, key):
        try:
            known = json.loads((self.folder / key).read_text())
        except (OSError, ValueError):
            return False
        return bool(known) and all(
            file_digest(read_portable(name)) == content for name, content in known.items())

    def keep(self, key, includes):
        self.folder.mkdir(parents=True, exist_ok=True)
        part = self.folder / f"{key}.{os.getpid()}.{threading.get_ident()}"
        part.write_text(json.dumps({portable(name): file_digest(name) for name in includes}))
        part.replace(self.folder / key)


def look(entry, build, cache, version):
    """"" when the file is clean, else what clang-tidy found."""
    key = entry.key(version)
    if cache.is_clean(key):
        return "", 0.0
    start = time.monotonic()
    done = subprocess.run([TIDY, "-p", str(build), "--quiet", str(entry.path)],
                          capture_output=True, text=True)
    seconds = time.monotonic() - start
    if done.returncode != 0 or done.stdout.strip():
        return (done.stdout.strip() or done.stderr.strip() or "clang-tidy failed"), seconds
    cache.keep(key, entry.includes())
    return "", seconds


def main():
    if len(sys.argv) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    build = pathlib.Path(sys.argv[1]).resolve()
    entries = {}
    for raw in json.loads((build / "compile_commands.json").read_text()):
        entry = Entry(raw)
        entries.setdefault(entry.path, entry)
    asked = {pathlib.Path(name).resolve() for name in sys.argv[2:]}
    wanted = [path for path in sources() if not asked or path in asked]
    if not wanted or asked - set(wanted):
        print("tidy.py: no such source file", file=sys.stderr)
        return 2
    left_out = [str(path.relative_to(ROOT)) for path in wanted if path not in entries]
    if left_out:
        print(f"tidy.py: not looked at, since {build.name} does not compile them: "
              + ", ".join(left_out), file=sys.stderr)
    missed = [name for name in left_out if not name.startswith(OPTIONAL)]
    version = subprocess.run([TIDY, "--version"], check=True, capture_output=True,
                             text=True).stdout
    cache = Cache(cache_folder())
    looked = findings = 0
    # The large ones first, so that no core waits for one at the end.
    order = sorted((path for path in wanted if path in entries),
                   key=lambda path: -path.stat().st_size)
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        running = {pool.submit(look, entries[path], build, cache, version): path
                   for path in order}
        for done in concurrent.futures.as_completed(running):
            name = running[done].relative_to(ROOT)
            found, seconds = done.result()
            looked += seconds > 0.0
            if found:
                findings += 1
                print(f"{name}:\n{found}\n", flush=True)
            if os.environ.get("FOURBEAT_TIDY_TIMES") and seconds > 0.0:
                print(f"{seconds:7.1f} s {name}", file=sys.stderr, flush=True)
    print(f"tidy.py: {len(order)} files, {looked} looked at, {findings} with findings",
          file=sys.stderr)
    return 1 if findings or missed else 0


if __name__ == "__main__":
    sys.exit(main())
