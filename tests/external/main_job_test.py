#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The main job from recordings made by others, with the command alone: a chuff table from a
locomotive pulling away, whistles, and steam as a loop; fitted to the 3.6 MiB class, driven, packed
and proved. Recordings: see fetch beside this file. The engine's figures are plain guesses."""
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

SKIPPED = 77
TAKES = ["steamLocomotive.ogg", "opensfx-4.wav", "opensfx-5.wav", "opensfx-13.wav", "steam.wav"]


def main():
    recordings = pathlib.Path(os.environ.get("FOURBEAT_RECORDINGS", "."))
    missing = [name for name in TAKES if not (recordings / name).is_file()]
    if missing:
        print("SKIPPED: missing in FOURBEAT_RECORDINGS: " + ", ".join(missing))
        return 1 if os.environ.get("CI") == "true" else SKIPPED
    with tempfile.TemporaryDirectory() as folder:
        job(recordings, pathlib.Path(folder))
    return 0


def job(recordings, folder):
    command = os.environ["FOURBEAT_COMMAND"]

    def fourbeat(*arguments, status=0):
        ran = subprocess.run([command, *arguments], cwd=folder, capture_output=True, text=True)
        assert ran.returncode == status, f"{arguments}: {ran.returncode}\n{ran.stdout}{ran.stderr}"
        return ran.stdout

    def edit(edits):
        (folder / "edits.json").write_text(json.dumps(edits))
        fourbeat("edit", "set.fourbeat", "--apply", "edits.json")

    (folder / "takes").mkdir()
    for name in TAKES:
        shutil.copy(recordings / name, folder / "takes" / name)
    before = {name: (folder / "takes" / name).read_bytes() for name in TAKES}
    fourbeat("new", "set.fourbeat", "--title", "From recordings")
    fourbeat("take", "add", "set.fourbeat", *[f"takes/{name}" for name in TAKES])
    takes = {t["path"]: t for t in json.loads(fourbeat("show", "set.fourbeat", "/takes"))}
    passes = json.loads(fourbeat("show", "set.fourbeat", "/passes"))
    pass_of = {p["takes"][0]["take"]: p["id"] for p in passes}
    rights = {"owner": "the package's authors", "purpose": "tests", "until": ""}
    edits = [{"edit": "set_rights", "pass": p["id"], "rights": rights} for p in passes]
    engine = {"name": "Locomotive", "driver_diameter_mm": 1400, "beats_per_rev": 4,
              "top_speed_kmh": 40}
    edits += [{"edit": "set_engine", "engine": engine},
              {"edit": "set_decoder", "decoder": "class-b"}]
    next_id = json.loads(fourbeat("show", "set.fourbeat", "/next_id"))
    names = {"opensfx-4.wav": "Whistle", "opensfx-5.wav": "Whistle 2", "steam.wav": "Chime",
             "opensfx-13.wav": "Steam"}
    segments = {}
    for key, (file, name) in enumerate(names.items(), start=1):
        take = takes[f"takes/{file}"]
        segment = {"id": next_id, "name": name,
                   "source": {"pass": pass_of[take["id"]],
                              "mix": [{"take": take["id"], "channel": 1}]},
                   "range": {"start_frame": 0, "end_frame": take["frames"]}}
        segments[name] = segment
        held = name == "Steam"
        sound = {"id": next_id + 1, "name": name, "kind": "held" if held else "one_shot",
                 "category": "safety_valve" if held else "whistle",
                 ("hold" if held else "segment"): segment["id"]}
        use = {"id": next_id + 2, "number": key, "label": name,
               "mode": "latching" if held else "momentary", "sound": sound["id"]}
        next_id += 3
        for entity, value in (("segment", segment), ("sound", sound), ("key", use)):
            edits.append({"edit": f"add_{entity}", "value": value})
    edits.append({"edit": "set_cv", "number": 3, "value": 20})
    edits.append({"edit": "set_cv", "number": 4, "value": 20})
    edit(edits)

    locomotive = takes["takes/steamLocomotive.ogg"]["id"]
    chuffs = json.loads(fourbeat("chuffs", "set.fourbeat", "--take", str(locomotive), "--json"))
    assert chuffs["beats"] >= 170, chuffs
    assert chuffs["revolutions"] >= 38, chuffs
    assert len(chuffs["measured_angles_deg"]) == 4, chuffs
    rows = chuffs["rows"]
    assert rows, chuffs

    steam = str(segments["Steam"]["id"])
    looped = json.loads(fourbeat("loops", "set.fourbeat", "--segment", steam, "--json"))
    assert looped["segments"][0]["loop"] is not None, looped
    for name in ("opensfx-13.wav", "opensfx-4.wav"):
        found = json.loads(fourbeat("loops", f"takes/{name}", "--min", "0.3", "--json"))
        clean = [l for l in found["loops"] if l["seam"]["state"] == "clean"]
        assert clean or found.get("reason"), found

    snags = json.loads(fourbeat("check", "set.fourbeat", "--json"))["snags"]
    assert not [s for s in snags if s["severity"] == "error"], snags
    fitted = json.loads(fourbeat("fit", "set.fourbeat", "--json"))
    assert fitted["fits"] and fitted["bytes_used"] <= fitted["bytes_available"], fitted
    card = {"format": "fourbeat-runcard", "version": 1, "seed": 1, "seconds": 50,
            "speed_steps": 128,
            "moves": [{"time_s": 1, "throttle_step": 126}, {"time_s": 3, "key": 1, "on": True},
                      {"time_s": 5, "key": 1, "on": False}, {"time_s": 8, "key": 4, "on": True},
                      {"time_s": 15, "key": 4, "on": False}, {"time_s": 25, "throttle_step": 0}]}
    (folder / "card.json").write_text(json.dumps(card))
    fourbeat("drive", "set.fourbeat", "--card", "card.json", "--wav", "run.wav", "--stems", "stems",
             "--log", "log.json")
    log = json.loads((folder / "log.json").read_text())
    beats = [e for e in log["events"] if e["kind"] == "beat"]
    assert len(beats) > 100 and all(b["row"] for b in beats), len(beats)
    fourbeat("pack", "set.fourbeat", "--out", "bundle")
    assert "sound" in fourbeat("prove", "bundle")
    sums = subprocess.run(["sha256sum", "--quiet", "-c", "SHA256SUMS"], cwd=folder / "bundle",
                          check=False)
    assert sums.returncode == 0
    fourbeat("pack", "set.fourbeat", "--out", "again")
    for path in sorted((folder / "bundle").rglob("*")):
        if path.is_file():
            twin = folder / "again" / path.relative_to(folder / "bundle")
            assert path.read_bytes() == twin.read_bytes(), path
    fourbeat("notes", "set.fourbeat", "--out", "notes.html")
    for name, content in before.items():
        assert (folder / "takes" / name).read_bytes() == content, f"{name} was written to"


if __name__ == "__main__":
    sys.exit(main())
