#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs clang-tidy over every source file of src, ui, demo and tests, and fails on any finding.

    tidy.py BUILD [FILE …]

BUILD is a folder configured by CMake with Clang, without precompiled headers and with
CMAKE_EXPORT_COMPILE_COMMANDS; nothing in it needs to be built but headers that are generated.
FILE: look at these alone. A source file that BUILD does not compile is a failure, but for those that
not every build has: the benchmarks, and the project that uses the installed package.

Files of one folder's settings and one command are looked at several at a time, as one source that
includes them: most of the time goes into the headers they share. Those whose names clash, and
those of a group in which anything is found, are looked at one by one.

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
import uuid

ROOT = pathlib.Path(__file__).resolve().parent.parent
FOLDERS = ("src", "ui", "demo", "tests")
GROUP = 12   # files looked at together
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

    def compiler(self):
        """The compiler and its options, without the source, what is written and a launcher."""
        kept = []
        skip = False
        for argument in self.arguments:
            if skip or argument in ("-o", "-MF", "-MT", "-MQ"):
                skip = not skip
                continue
            if argument not in ("-c", "-MD", "-MMD") and argument != str(self.path):
                kept.append(argument)
        # A launcher such as ccache stands before the compiler.
        at = next((i for i, one in enumerate(kept) if re.search(r"clang(\+\+)?(-\d+)?$", one)), 0)
        return kept[at:]

    def includes(self):
        """Every file that is read when this one is compiled, itself among them."""
        rule = subprocess.run(self.compiler() + [str(self.path), "-M"], cwd=self.folder, check=True,
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


def run_tidy(arguments):
    """"" when there is nothing to say, else what clang-tidy found."""
    done = subprocess.run([TIDY, "--quiet"] + arguments, capture_output=True, text=True)
    if done.returncode == 0 and not done.stdout.strip():
        return ""
    return done.stdout.strip() or done.stderr.strip() or "clang-tidy failed"


class Looker:
    def __init__(self, build, cache, version):
        self.build = build
        self.cache = cache
        self.version = version
        self.groups = build / "tidy-groups"

    def is_clean(self, entry):
        return self.cache.is_clean(entry.key(self.version))

    def alone(self, entry):
        """What is found in one file, by its path."""
        found = run_tidy(["-p", str(self.build), str(entry.path)])
        if found:
            return {entry.path: found}
        self.cache.keep(entry.key(self.version), entry.includes())
        return {}

    def write_group(self, entries):
        """A source that includes all of them, under settings like theirs."""
        there = self.groups / entries[0].path.parent.relative_to(ROOT)
        there.mkdir(parents=True, exist_ok=True)
        for folder in (there, *there.parents):
            rules = ROOT / folder.relative_to(self.groups) / ".clang-tidy"
            copy = folder / ".clang-tidy"
            if rules.is_file() and not copy.is_file():
                part = folder / f"{uuid.uuid4()}"
                part.write_text(rules.read_text())
                part.replace(copy)
            if folder == self.groups:
                break
        source = there / f"group-{uuid.uuid4()}.cpp"
        source.write_text("".join(
            f'#include "{entry.path}"  // NOLINT(bugprone-suspicious-include)\n'
            for entry in entries))
        return source

    def clashing(self, source, entries):
        """Those that do not compile beside the others."""
        done = subprocess.run(
            entries[0].compiler() + ["-fsyntax-only", "-w", "-ferror-limit=0", str(source)],
            cwd=entries[0].folder, capture_output=True, text=True)
        if done.returncode == 0:
            return []
        named = set(re.findall(r"^(\S+?):\d+:\d+: (?:fatal )?error", done.stderr, re.M))
        clash = [entry for entry in entries if str(entry.path) in named]
        return clash or entries

    def together(self, entries):
        """What is found in some files of the same settings and command, by path."""
        found = {}
        if len(entries) > 2:
            source = self.write_group(entries)
            clash = self.clashing(source, entries)
            source.unlink()
            for entry in clash:
                found.update(self.alone(entry))
            entries = [entry for entry in entries if entry not in clash]
        if len(entries) > 2:
            source = self.write_group(entries)
            clean = not run_tidy(
                ["--header-filter=(include/fourbeat|src|tests|demo|ui)/.*\\.(h|cpp)$", str(source),
                 "--"] + entries[0].compiler()[1:])
            source.unlink()
            if clean:
                for entry in entries:
                    self.cache.keep(entry.key(self.version), entry.includes())
                return found
        for entry in entries:
            found.update(self.alone(entry))
        return found


def in_groups(entries):
    """At most GROUP files each, of one folder's settings and one command."""
    kinds = {}
    for entry in entries:
        kinds.setdefault((settings_of(entry.path), str(entry.folder), tuple(entry.compiler())),
                         []).append(entry)
    groups = []
    for kind in kinds.values():
        count = -(-len(kind) // GROUP)
        groups += [kind[first::count] for first in range(count)]
    # The large ones first, so that no core waits for one at the end.
    return sorted(groups, key=lambda group: -len(group))


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
    looker = Looker(build, Cache(cache_folder()), version)
    known = [entries[path] for path in wanted if path in entries]
    findings = 0
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        clean = list(pool.map(looker.is_clean, known))
        dirty = [entry for entry, is_clean in zip(known, clean) if not is_clean]
        running = [pool.submit(looker.together, group) for group in in_groups(dirty)]
        for done in concurrent.futures.as_completed(running):
            for path, found in done.result().items():
                findings += 1
                print(f"{path.relative_to(ROOT)}:\n{found}\n", flush=True)
    print(f"tidy.py: {len(known)} files, {len(dirty)} looked at, {findings} with findings",
          file=sys.stderr)
    return 1 if findings or missed else 0


if __name__ == "__main__":
    sys.exit(main())
