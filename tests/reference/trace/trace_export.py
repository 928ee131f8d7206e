#!/usr/bin/env python3
"""Traces an export and holds our own answers beside the trace: every head and every meter, ambient and flash apart.

    umbrette export SCENE -o DIR
    python trace_export.py DIR [--out summary.csv] [--vertices vertices.csv]

Head by head, over the front vertices weighted by a third of their triangles: mean difference, root-mean-square
difference relative to the face's mean (raw, and with the trace's own noise taken out), the standard error of the traced
mean. Exit code 1 when a head is beyond --mean-tol or --rms-tol (or a meter beyond --meter-tol, when given), 2 when the
export cannot be read."""
import argparse
import csv
import sys
import time

import numpy as np

import export_read
import ply
from tracer import Tracer

GROUPS = (("ambient", "lux", 0.05), ("flash", "lux s", 0.005))      # below this level nothing is judged


def trace_heads(export, lights, a, floor, note):
    """Traced mean and standard error of every vertex that is traced, with (head, vertex) numbers."""
    receiver, owner, index = export_read.vertices(export.heads, a.all_vertices)
    t = Tracer(export.world, lights, receiver, a.seed, a.wavefront)

    def goal(mean):
        face = np.zeros(len(mean))
        for k, h in enumerate(export.heads):
            use = owner == k
            w = h.weight[index[use]] * h.front[index[use]]
            face[use] = (mean[use] * w).sum() / w.sum()
        return a.rel_se * np.maximum(face, floor)

    mean, se = t.planned(goal, min(128, a.max_samples), a.max_samples, note)
    return owner, index, mean, se


def judge_head(head, ours, traced, se, weight):
    """Row of numbers over the front; ours, traced, se, weight are of the front vertices."""
    w = weight / weight.sum()
    mean_t, mean_o = float(w @ traced), float(w @ ours)
    scale = 100 / max(mean_t, 1e-12)
    square, noise = float(w @ (ours - traced) ** 2), float(w @ se ** 2)
    return {"name": head, "points": len(w), "ours": mean_o, "traced": mean_t, "mean_diff_pct": (mean_o - mean_t) * scale,
            "rms_raw_pct": square ** .5 * scale, "rms_pct": max(square - noise, 0) ** .5 * scale,
            "noise_rms_pct": noise ** .5 * scale, "mean_se_pct": float(np.sqrt((w ** 2) @ se ** 2)) * scale}


def heads_table(export, lights, group, unit, floor, a, vertex_rows, note):
    """Prints the heads' table; returns its rows and the failures."""
    rows, bad = [], []
    if not export.heads:
        return rows, bad
    if lights:
        owner, index, mean, se = trace_heads(export, lights, a, floor, note)
    print(f"\nheads, {group} ({unit}), front vertices by area")
    print(f"{'head':24}{'points':>7}{'ours':>11}{'traced':>11}{'mean %':>8}{'rms %':>8}{'raw %':>8}{'noise %':>8}{'se %':>7}")
    for k, h in enumerate(export.heads):
        if lights:
            at = np.flatnonzero(owner == k)
            v, m, e = index[at], mean[at], se[at]
        else:
            v = np.flatnonzero(h.front)
            m = e = np.zeros(len(v))
        ours = h.ours[group][v]
        vertex_rows += [[h.name, group, int(i), *h.points[i], *h.normals[i], int(h.front[i]), h.weight[i], o, x, y]
                        for i, o, x, y in zip(v, ours, m, e)]
        f = h.front[v]
        r = judge_head(h.name, ours[f], m[f], e[f], h.weight[v[f]])
        r.update(what="head", group=group)
        verdict = ""
        if max(r["ours"], r["traced"]) < floor:
            verdict = "  dark"
        elif abs(r["mean_diff_pct"]) > a.mean_tol or r["rms_pct"] > a.rms_tol:
            verdict = "  BEYOND"
            bad.append(f"{h.name}, {group}: mean {r['mean_diff_pct']:+.1f} %, rms {r['rms_pct']:.1f} %")
        rows.append(r)
        print(f"{h.name[:23]:24}{r['points']:7}{r['ours']:11.4g}{r['traced']:11.4g}" + (verdict if verdict == "  dark" else
              f"{r['mean_diff_pct']:8.2f}{r['rms_pct']:8.2f}{r['rms_raw_pct']:8.2f}{r['noise_rms_pct']:8.2f}"
              f"{r['mean_se_pct']:7.2f}{verdict}"))
    return rows, bad


def meters_table(export, lights, group, unit, floor, a, note):
    rows, bad = [], []
    if not export.meters:
        return rows, bad
    key = "ambient_lux" if group == "ambient" else "flash_lux_s"
    mean = se = np.zeros(len(export.meters))
    if lights:
        t = Tracer(export.world, lights, export.receiver, a.seed + 100000, a.wavefront)
        mean, se = t.until(lambda m: a.meter_rel_se * np.maximum(m, floor), 16384, a.max_meter_samples, note)
    print(f"\nmeters, {group} ({unit})")
    print(f"{'meter':24}{'receptor':>9}{'ours':>11}{'traced':>11}{'diff %':>8}{'se %':>7}")
    for m, x, e in zip(export.meters, mean, se):
        ours = float(m[key])
        dark = max(ours, x) < floor
        d, es = (100 * (ours - x) / max(x, 1e-12), 100 * e / max(x, 1e-12))
        verdict = "  dark" if dark else ""
        if a.meter_tol is not None and not dark and abs(d) > a.meter_tol:
            verdict = "  BEYOND"
            bad.append(f"meter {m['name']}, {group}: {d:+.1f} %")
        rows.append({"what": "meter", "group": group, "name": m["name"], "points": 1, "ours": ours, "traced": x,
                     "mean_diff_pct": 0 if dark else d, "mean_se_pct": 0 if dark else es})
        print(f"{m['name'][:23]:24}{m['receptor']:>9}{ours:11.4g}{x:11.4g}" + (verdict if dark else f"{d:8.2f}{es:7.2f}{verdict}"))
    return rows, bad


COLUMNS = ["what", "group", "name", "points", "ours", "traced", "mean_diff_pct", "rms_pct", "rms_raw_pct", "noise_rms_pct", "mean_se_pct"]
VERTEX_COLUMNS = ["head", "group", "vertex", "x", "y", "z", "nx", "ny", "nz", "front", "area_m2", "ours", "traced", "se"]


def save(path, columns, rows):
    with open(path, "w", newline="", encoding="utf-8") as f:
        w = csv.writer(f)
        w.writerow(columns)
        w.writerows([[f"{x:.6g}" if isinstance(x, float) else x for x in r] for r in rows])


def arguments(argv):
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument("folder", help="what `umbrette export` wrote")
    ap.add_argument("--rel-se", type=float, default=.03, help="standard error of every vertex over its face's mean")
    ap.add_argument("--max-samples", type=int, default=1 << 14, help="at most so many a vertex")
    ap.add_argument("--meter-rel-se", type=float, default=.003, help="relative standard error of every meter")
    ap.add_argument("--max-meter-samples", type=int, default=1 << 22, help="at most so many a meter")
    ap.add_argument("--mean-tol", type=float, default=4.0, help="per cent, a head's mean")
    ap.add_argument("--rms-tol", type=float, default=10.0, help="per cent of the mean, a head's rms without the noise")
    ap.add_argument("--meter-tol", type=float, help="per cent, a meter (not judged when left out)")
    ap.add_argument("--all-vertices", action="store_true", help="trace the back of the heads too (not judged)")
    ap.add_argument("--out", help="CSV of the tables")
    ap.add_argument("--vertices", help="CSV of the traced vertices")
    ap.add_argument("--seed", type=int, default=1)
    ap.add_argument("--wavefront", type=int, default=1 << 20, help="paths at a time (memory)")
    ap.add_argument("--quiet", action="store_true", help="no progress on standard error")
    return ap.parse_args(argv)


def main(argv=None):
    a = arguments(argv)
    start = time.time()
    try:
        export = export_read.read(a.folder)
    except (ValueError, ply.PlyError) as e:
        print(f"trace_export: {e}", file=sys.stderr)
        return 2
    for h in export.heads:
        for n in h.notes:
            print(f"{h.name}: {n}", file=sys.stderr)

    def note(s):
        if not a.quiet:
            print(f"   {time.time() - start:.0f} s: {s}", file=sys.stderr, flush=True)

    rows, bad, vertex_rows = [], [], []
    for group, unit, floor in GROUPS:
        lights = getattr(export.world, group)
        if not lights and not any(h.ours[group].any() for h in export.heads) and not any(
                m["ambient_lux" if group == "ambient" else "flash_lux_s"] for m in export.meters):
            continue
        for r, b in (heads_table(export, lights, group, unit, floor, a, vertex_rows, note),
                     meters_table(export, lights, group, unit, floor, a, note)):
            rows += r
            bad += b
    if a.out:
        save(a.out, COLUMNS, [[r.get(k, "") for k in COLUMNS] for r in rows])
    if a.vertices:
        save(a.vertices, VERTEX_COLUMNS, [[float(x) if isinstance(x, np.floating) else x for x in r] for r in vertex_rows])
    print(f"\n{time.time() - start:.0f} s; " + ("all within the tolerances" if not bad else "beyond the tolerances:"))
    for b in bad:
        print(f"  {b}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
