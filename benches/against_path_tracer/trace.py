#!/usr/bin/env python3
"""CPU seconds that a path tracer takes for the faces of an export, and the rays that Embree traces a second.

    python trace.py EXPORT RAYS [--rel-se .05]

EXPORT is what `umbrette export` wrote; RAYS holds rays as single-precision x y z dx dy dz, ready to be traced. The faces are
traced with Mitsuba 3 (llvm variant) by the tracer of tests/reference/trace, which samples sun, flashes, softboxes and panels
themselves and solves walls, ground and bodies by paths. Every front vertex gets as many samples as make its standard error
about --rel-se of its face's mean: the samples are planned by a pilot whose time is not counted, and kernels are compiled
before. Prints one JSON object."""
import argparse
import json
import os
import sys
import time

import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "..", "tests", "reference", "trace"))

import export_read  # noqa: E402
import ply  # noqa: E402
from tracer import Tracer  # noqa: E402

GROUPS = (("ambient", 0.05), ("flash", 0.005))  # below this level nothing is traced


def traced(export, rel_se, most):
    """Seconds of CPU for all groups, the root-mean-square noise over the faces' means, and the samples taken."""
    cpu, noise, samples, points = 0.0, [], 0, 0
    for group, floor in GROUPS:
        lights = getattr(export.world, group)
        if not lights:
            continue
        receiver, owner, index = export_read.vertices(export.heads, False)
        t = Tracer(export.world, lights, receiver, 1)
        count = np.arange(t.count)
        t.run(count, 128)
        mean, se = t.part(None)
        face = np.zeros(len(mean))
        for k, head in enumerate(export.heads):
            use = owner == k
            w = head.weight[index[use]]
            face[use] = (mean[use] * w).sum() / w.sum()
        lit = face > floor
        if not lit.any():
            continue
        aim = rel_se * np.maximum(face, floor)
        need = np.maximum(se ** 2, .25 * (se ** 2).mean()) * 128 / aim ** 2
        plan = np.clip(2 ** np.ceil(np.log2(np.maximum(need, 1))), 1, most).astype(np.int64)
        for _ in range(2):                   # the first time compiles what the second uses
            t.samples[:], t.s[:], t.s2[:] = 0, 0, 0
            start = time.process_time()
            for n in np.unique(plan[lit]):
                t.run(np.flatnonzero((plan == n) & lit), int(n))
            taken = time.process_time() - start
        cpu += taken
        mean, se = t.part(None)
        one = plan > 1                       # of a single sample no error is known
        noise += list((se / np.maximum(face, floor))[lit & one] ** 2)
        samples += int(t.samples.sum())
        points += int(lit.sum())
    return {"cpu_s": cpu, "noise_pct": 100 * float(np.sqrt(np.mean(noise))), "samples": samples, "points": points}


def embree(folder, rays):
    """Rays a second of one core on all of the export's triangles."""
    from embreex import rtcore_scene
    from embreex.mesh_construction import TriangleMesh
    scene = rtcore_scene.EmbreeScene()
    total = 0
    meshes = []
    for name in sorted(os.listdir(folder)):
        if name.endswith(".ply"):
            vertex, faces = ply.read(os.path.join(folder, name))
            points = np.stack([vertex[k] for k in "xyz"], 1)
            triangles = points[faces].astype(np.float32)
            meshes.append(TriangleMesh(scene, triangles))
            total += len(triangles)
    data = np.fromfile(rays, np.float32).reshape(-1, 6)
    origin, way = np.ascontiguousarray(data[:, :3]), np.ascontiguousarray(data[:, 3:])
    scene.run(origin[:64], way[:64])
    best = 1e9
    for _ in range(3):
        start = time.process_time()
        scene.run(origin, way)
        best = min(best, time.process_time() - start)
    return {"triangles": total, "rays_per_s": len(data) / best}


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument("export")
    ap.add_argument("rays")
    ap.add_argument("--rel-se", type=float, default=.05)
    ap.add_argument("--max-samples", type=int, default=1 << 13)
    a = ap.parse_args()
    out = {"trace": traced(export_read.read(a.export), a.rel_se, a.max_samples)}
    try:
        out["embree"] = embree(a.export, a.rays)
    except ImportError as e:
        out["embree"] = {"missing": str(e)}
    print(json.dumps(out))


if __name__ == "__main__":
    main()
