"""Starts Mitsuba 3 in the variant that every script here uses (llvm_ad_rgb) and finds an LLVM for it.

Set DRJIT_LIBLLVM_PATH to an LLVM shared library (22 was used, 14 and 15 fail); unset, the one that the Rust toolchain
brings (`rustc --print sysroot`/lib/libLLVM*) is taken."""
import glob
import os
import subprocess


def rust_llvm():
    """Path of the Rust toolchain's own libLLVM, or None. Linker scripts of a few bytes beside it are passed over."""
    try:
        root = subprocess.run(["rustc", "--print", "sysroot"], capture_output=True, text=True, check=True).stdout.strip()
    except (OSError, subprocess.CalledProcessError):
        return None
    found = [f for f in glob.glob(os.path.join(root, "lib", "libLLVM*")) if os.path.getsize(f) > 1_000_000]
    return max(found, key=os.path.getsize, default=None)


if "DRJIT_LIBLLVM_PATH" not in os.environ:
    _path = rust_llvm()
    if _path:
        os.environ["DRJIT_LIBLLVM_PATH"] = _path

import drjit as dr  # noqa: E402
import mitsuba as mi  # noqa: E402
import numpy as np  # noqa: E402

mi.set_variant("llvm_ad_rgb")
mi.set_log_level(mi.LogLevel.Warn)

LUMINANCE = (0.2126, 0.7152, 0.0722)  # Rec. 709 luminance weights


def luminance(c):
    """Luminance of a linear Rec. 709 colour, Mitsuba array or numpy (..., 3)."""
    if isinstance(c, mi.Color3f):
        return LUMINANCE[0] * c.x + LUMINANCE[1] * c.y + LUMINANCE[2] * c.z
    return c[..., 0] * LUMINANCE[0] + c[..., 1] * LUMINANCE[1] + c[..., 2] * LUMINANCE[2]


def triple(kind, values):
    """A Mitsuba vector, point or colour from three numbers or three numpy columns."""
    return kind(*[float(v) if np.ndim(v) == 0 else mi.Float(np.asarray(v, np.float32)) for v in values])
