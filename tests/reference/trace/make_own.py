#!/usr/bin/env python3
"""Makes tests/reference/own/results from the scenes beside it: exports each with the built binary and traces it.

    python make_own.py UMBRETTE [--only SCENE ...]            writes the results
    python make_own.py UMBRETTE --compare [--seed 7]          traces again, holds it against what is stored

`cases.csv` says for each scene which row of the accuracy table its meters belong to, which heads are traced, the standard
error of their vertices over the face's mean, and whether it is traced by colour too. Exit code 1 when --compare finds a
value that is not the stored one within the joint standard error."""
import argparse
import csv
import json
import os
import subprocess
import sys
import tempfile
import time
import zlib

import numpy as np

import export_read
from tracer import Tracer

OWN = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "own")
METER_NOISE = {"open": .002, "edges": .006}
GROUPS = (("ambient", .05), ("flash", .005))            # below this level nothing is judged, so nothing is refined
CHANNELS = ("red", "green", "blue")
COLOUR_NOISE = .06                                      # of a vertex; a face's mean is a fiftieth of that
PILOT, MOST, MOST_METER = 128, 1 << 15, 1 << 23


def moment(points):
    """A number that tells one posed mesh from another: the mean over vertices of a weight by index times x + 2 y + 3 z."""
    i = np.arange(len(points))
    return float(np.mean((1 + i % 251 / 251) * (points @ (1, 2, 3))))


def head_values(world, group, floor, heads, noise, seed):
    lights = getattr(world, group)
    receiver, owner, index = export_read.vertices(heads, False)
    if not lights:
        return owner, index, np.zeros(len(owner)), np.zeros(len(owner))

    def goal(mean):
        face = np.zeros(len(mean))
        for k, h in enumerate(heads):
            w = h.weight[index[owner == k]]
            face[owner == k] = w @ mean[owner == k] / w.sum()
        return noise * np.maximum(face, floor)

    mean, se = Tracer(world, lights, receiver, seed).planned(goal, PILOT, MOST)
    return owner, index, mean, se


def meter_values(export, group, floor, noise, seed):
    lights = getattr(export.world, group)
    if not lights:
        return np.zeros(len(export.meters)), np.zeros(len(export.meters))
    t = Tracer(export.world, lights, export.receiver, seed)
    return t.until(lambda m: noise * np.maximum(m, floor), 16384, MOST_METER)


def read_channel(folder, channel):
    """The export with only one primary left in its lights, whose result is then that component of linear RGB."""
    with open(os.path.join(folder, "index.json"), encoding="utf-8") as f:
        index = json.load(f)
    for light, level in [(index["sun"], "direct_normal_lux"), (index["sky"], "horizontal_lux"),
                         *((f, "axis_lux_s_at_1m") for f in index["flashes"])]:
        if light:
            light[level] *= light["rgb"][channel]
            light["rgb"] = [float(k == channel) for k in range(3)]
    with tempfile.TemporaryDirectory() as other:
        for name in os.listdir(folder):
            if name != "index.json":
                os.symlink(os.path.join(folder, name), os.path.join(other, name))
        with open(os.path.join(other, "index.json"), "w", encoding="utf-8") as f:
            json.dump(index, f)
        return export_read.read(other)


def trace(folder, case, seed):
    """All that is stored of one scene: rows of meters, of heads, of colours, and vertices by head."""
    export = export_read.read(folder)
    scene, traced = case["scene"], [x for x in case["heads"].split(";") if x]
    heads = [h for name in traced for h in export.heads if os.path.basename(h.name).endswith(f"-{name}-head.ply") or h.name == name]
    if len(heads) != len(traced):
        raise SystemExit(f"{scene}: heads {traced} are wanted, {[h.name for h in export.heads]} were exported")
    meters = [[scene, m["name"]] for m in export.meters]
    vertices = [[[int(v)] for v in np.flatnonzero(h.front)] for h in heads]
    for g, (group, floor) in enumerate(GROUPS):
        mean, se = meter_values(export, group, floor, METER_NOISE[case["meters"]], seed + 100 * g)
        for row, a, b in zip(meters, mean, se):
            row += [f"{a:.5g}", f"{b:.2g}"]
        if heads:
            owner, _, mean, se = head_values(export.world, group, floor, heads, float(case["vertex_noise"]), seed + 100 * g + 50)
            for k, rows in enumerate(vertices):
                for row, a, b in zip(rows, mean[owner == k], se[owner == k]):
                    row += [f"{a:.4g}", f"{b:.2g}"]
    head_rows = [[scene, name, len(h.points), int(h.front.sum()), f"{moment(h.points):.8g}"] for name, h in zip(traced, heads)]
    colours = []
    for channel, word in enumerate(CHANNELS if case["colour"] else ()):
        one = read_channel(folder, channel)
        for g, (group, floor) in enumerate(GROUPS):
            mean, se = meter_values(one, group, floor, METER_NOISE[case["meters"]], seed + 1000)
            colours += [[scene, m["name"], "meter", group, word, f"{a:.5g}", f"{b:.2g}"] for m, a, b in zip(one.meters, mean, se)]
            for name, h in zip(traced, heads):
                mine = [x for x in one.heads if x.name == h.name]
                _, index, mean, se = head_values(one.world, group, floor, mine, COLOUR_NOISE, seed + 1050)
                w = h.weight[index] / h.weight[index].sum()
                colours.append([scene, name, "face mean", group, word, f"{w @ mean:.5g}", f"{np.sqrt(w ** 2 @ se ** 2):.2g}"])
    return {"meters": meters, "heads": head_rows, "colours": colours}, dict(zip(traced, vertices))


TABLES = {"meters": ["scene", "meter", "ambient_lux", "ambient_se", "flash_lux_s", "flash_se"],
          "heads": ["scene", "head", "vertices", "front", "moment"],
          "colours": ["scene", "receiver", "what", "group", "primary", "value", "se"],
          "runs": ["scene", "scene_crc32", "seconds"]}
VERTICES = ["vertex", "ambient_lux", "ambient_se", "flash_lux_s", "flash_se"]


def load(path):
    if not os.path.exists(path):
        return []
    with open(path, newline="", encoding="utf-8") as f:
        return list(csv.reader(f))[1:]


def save(path, head, rows):
    with open(path, "w", newline="", encoding="utf-8") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(head)
        w.writerows(rows)


def store(results, case, tables, vertices):
    scene = case["scene"]
    for table, head in TABLES.items():
        path = os.path.join(results, f"{table}.csv")
        rows = [r for r in load(path) if r[0] != scene] + tables[table]
        save(path, head, sorted(rows, key=lambda r: r[0]))
    for head, rows in vertices.items():
        save(os.path.join(results, "vertices", f"{scene}--{head}.csv"), VERTICES, rows)


def compare(results, case, tables, vertices):
    """Differences from what is stored in joint standard errors; returns what is beyond."""
    found, bad = [], []

    def hold(place, old, new):
        for (a, sa), (b, sb) in zip(old, new):
            a, sa, b, sb = map(float, (a, sa, b, sb))
            se = np.hypot(sa, sb) + 6e-4 * abs(a)            # four digits are stored
            if se > 0:
                found.append((a - b) / se)
                if abs(found[-1]) > 6:
                    bad.append(f"{place}: {b:.5g}, stored {a:.5g}, {abs(found[-1]):.1f} standard errors")

    pairs = lambda r, first: [(r[i], r[i + 1]) for i in range(first, len(r) - 1, 2)]  # noqa: E731
    for table, keys in (("meters", 2), ("colours", 5)):
        old = {tuple(r[:keys]): r for r in load(os.path.join(results, f"{table}.csv"))}
        for r in tables[table]:
            if tuple(r[:keys]) not in old:
                bad.append(f"{r[:keys]} is not stored")
            else:
                hold(" / ".join(r[:keys]), pairs(old[tuple(r[:keys])], keys), pairs(r, keys))
    for head, rows in vertices.items():
        old = load(os.path.join(results, "vertices", f"{case['scene']}--{head}.csv"))
        if [r[0] for r in old] != [str(r[0]) for r in rows]:
            bad.append(f"{case['scene']} / {head}: other front vertices than are stored")
            continue
        for a, b in zip(old, rows):
            hold(f"{case['scene']} / {head} / vertex {a[0]}", pairs(a, 1), pairs(b, 1))
    rms = float(np.sqrt(np.mean(np.square(found)))) if found else 0.0
    print(f"{case['scene']:22}{len(found):7} values, rms {rms:.2f}, worst {max(map(abs, found), default=0):.1f} standard errors", flush=True)
    if rms > 1.25:
        bad.append(f"{case['scene']}: rms of {rms:.2f} standard errors")
    return bad


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument("umbrette", help="the built binary")
    ap.add_argument("--only", nargs="+", help="these scenes")
    ap.add_argument("--compare", action="store_true", help="write nothing, hold a new trace against the stored one")
    ap.add_argument("--seed", type=int, default=1)
    a = ap.parse_args()
    with open(os.path.join(OWN, "cases.csv"), newline="", encoding="utf-8") as f:
        cases = [c for c in csv.DictReader(f) if not a.only or c["scene"] in a.only]
    results = os.path.join(OWN, "results")
    os.makedirs(os.path.join(results, "vertices"), exist_ok=True)
    bad = []
    for case in cases:
        path = os.path.join(OWN, "scenes", f"{case['scene']}.ron")
        with open(path, "rb") as f:
            crc = zlib.crc32(f.read().replace(b"\r\n", b"\n"))
        start = time.time()
        with tempfile.TemporaryDirectory() as folder:
            subprocess.run([a.umbrette, "export", path, "-o", folder], check=True, stdout=subprocess.DEVNULL)
            exported = time.time() - start
            tables, vertices = trace(folder, case, a.seed)
        seconds = time.time() - start
        tables["runs"] = [[case["scene"], f"{crc:08x}", f"{seconds:.0f}"]]
        if a.compare:
            bad += compare(results, case, tables, vertices)
        else:
            store(results, case, tables, vertices)
            print(f"{case['scene']:22} {seconds:6.1f} s, of which {exported:.1f} s our own", flush=True)
    for b in bad:
        print(b)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
