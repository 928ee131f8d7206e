"""Reads and writes the triangle PLY files of an export: ASCII or binary little-endian, any vertex properties."""
import numpy as np

TYPES = {"char": "i1", "int8": "i1", "uchar": "u1", "uint8": "u1", "short": "<i2", "int16": "<i2", "ushort": "<u2",
         "uint16": "<u2", "int": "<i4", "int32": "<i4", "uint": "<u4", "uint32": "<u4", "float": "<f4",
         "float32": "<f4", "double": "<f8", "float64": "<f8"}
MAX_BYTES = 1 << 30


class PlyError(ValueError):
    """A file that is not a PLY of the kind described above."""


def read(path):
    """Vertex properties as a dict of arrays (V,), and faces (F, 3) of int64. Polygons are split into fans."""
    with open(path, "rb") as f:
        data = f.read(MAX_BYTES)
    end = data.find(b"end_header")
    if not data.startswith(b"ply") or end < 0:
        raise PlyError(f"{path}: not a PLY file (no 'ply' and 'end_header' lines)")
    body = data.index(b"\n", end) + 1
    fmt, elements = None, []
    for line in data[:end].decode("ascii", "replace").splitlines()[1:]:
        w = line.split()
        if not w or w[0] in ("comment", "obj_info"):
            continue
        if w[0] == "format":
            fmt = w[1]
        elif w[0] == "element":
            elements.append((w[1], int(w[2]), []))
        elif w[0] == "property":
            elements[-1][2].append((w[-1], w[1:-1]))
    if fmt not in ("ascii", "binary_little_endian"):
        raise PlyError(f"{path}: format {fmt}; 'ascii' or 'binary_little_endian' is read")
    reader = _ascii if fmt == "ascii" else _binary
    try:
        vertex, faces = reader(data[body:], elements)
    except (IndexError, ValueError, KeyError) as e:
        raise PlyError(f"{path}: the body does not match the header ({e})") from e
    if any(k not in vertex for k in "xyz") or not len(faces):
        raise PlyError(f"{path}: needs vertex properties x, y, z and at least one face")
    if faces.min() < 0 or faces.max() >= len(vertex["x"]):
        raise PlyError(f"{path}: a face names a vertex that does not exist")
    return vertex, faces


def _fans(polygons):
    out = [(p[0], p[i], p[i + 1]) for p in polygons for i in range(1, len(p) - 1)]
    return np.array(out, dtype=np.int64).reshape(-1, 3)


def _ascii(body, elements):
    rows = iter(body.decode("ascii").splitlines())
    vertex, polygons = {}, []
    for name, count, props in elements:
        block = [next(rows).split() for _ in range(count)]
        if name == "vertex":
            a = np.array(block, dtype=float).reshape(count, len(props))
            vertex = {p[0]: a[:, i] for i, p in enumerate(props)}
        elif name == "face":
            polygons = [[int(v) for v in r[1:1 + int(r[0])]] for r in block]
    return vertex, _fans(polygons)


def _binary(body, elements):
    vertex, faces, at = {}, np.zeros((0, 3), np.int64), 0
    for name, count, props in elements:
        if all(len(p[1]) == 1 for p in props):
            dt = np.dtype([(p[0], TYPES[p[1][0]]) for p in props])
            a = np.frombuffer(body, dt, count, at)
            at += dt.itemsize * count
            if name == "vertex":
                vertex = {k: a[k].astype(float) for k in dt.names}
            continue
        if name != "face":
            raise ValueError(f"lists in element {name}")
        dt = np.dtype([("n", TYPES[props[0][1][1]]), ("v", TYPES[props[0][1][2]], (3,))])
        if len(props) == 1 and len(body) - at >= dt.itemsize * count:
            a = np.frombuffer(body, dt, count, at)
            if np.all(a["n"] == 3):
                faces, at = a["v"].astype(np.int64), at + dt.itemsize * count
                continue
        polygons = []
        for _ in range(count):
            for pname, kind in props:
                if kind[0] != "list":
                    at += np.dtype(TYPES[kind[0]]).itemsize
                    continue
                n = int(np.frombuffer(body, TYPES[kind[1]], 1, at)[0])
                at += np.dtype(TYPES[kind[1]]).itemsize
                v = np.frombuffer(body, TYPES[kind[2]], n, at)
                at += v.nbytes
                if pname.startswith("vert"):
                    polygons.append([int(i) for i in v])
        faces = _fans(polygons)
    return vertex, faces


def write(path, vertex, faces, binary=True):
    """Writes a dict of vertex arrays (key 'front' as uchar, all others as float) and faces (F, 3)."""
    names = list(vertex)
    kinds = ["uchar" if k == "front" else "float" for k in names]
    head = ["ply", "format " + ("binary_little_endian" if binary else "ascii") + " 1.0", f"element vertex {len(vertex['x'])}"]
    head += [f"property {t} {k}" for t, k in zip(kinds, names)]
    head += [f"element face {len(faces)}", "property list uchar int vertex_indices", "end_header"]
    with open(path, "wb") as f:
        f.write(("\n".join(head) + "\n").encode())
        if binary:
            a = np.zeros(len(vertex["x"]), np.dtype([(k, TYPES[t]) for k, t in zip(names, kinds)]))
            for k in names:
                a[k] = vertex[k]
            f.write(a.tobytes())
            b = np.zeros(len(faces), np.dtype([("n", "u1"), ("v", "<i4", (3,))]))
            b["n"], b["v"] = 3, faces
            f.write(b.tobytes())
        else:
            for i in range(len(vertex["x"])):
                f.write((" ".join(f"{vertex[k][i]:.9g}" for k in names) + "\n").encode())
            for t in faces:
                f.write(f"3 {t[0]} {t[1]} {t[2]}\n".encode())


def columns(vertex, names):
    """The named vertex properties as an array (V, len(names))."""
    return np.stack([vertex[k] for k in names], -1)


def vertex_areas(points, faces):
    """A third of the area of the triangles at each vertex, (V,)."""
    a, b, c = (points[faces[:, i]] for i in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
    return np.bincount(faces.ravel(), np.repeat(area / 3, 3), len(points))
