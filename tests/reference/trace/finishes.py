"""The finishes of a surface as Mitsuba BSDFs: matt, metallic, translucent, water. A canopy's gaps are in world.py.

Metallic is Mitsuba's roughconductor (GGX, separable Smith, material none). Two BSDFs are our own:
thin_sheet   Lambertian reflectance R and transmittance T, alike from both sides, both RGB;
water_glossy F D G / (4 cos i cos o) + body_albedo / pi from above, black from below; F is the unpolarised Fresnel
             reflectance at `index`, D the isotropic GGX of width `alpha`, G the separable Smith product."""
from variant import dr, mi


def rgb(value):
    """Three numbers from one (grey) or three."""
    if isinstance(value, (int, float)):
        return [float(value)] * 3
    v = [float(x) for x in value]
    if len(v) != 3:
        raise ValueError(f"a colour has one or three numbers, not {len(v)}")
    return v


def _texture(value):
    return {"type": "rgb", "value": rgb(value)}


class ThinSheet(mi.BSDF):
    def __init__(self, props):
        mi.BSDF.__init__(self, props)
        self.r = mi.Color3f(*[float(props[f"r{i}"]) for i in range(3)])
        self.t = mi.Color3f(*[float(props[f"t{i}"]) for i in range(3)])
        r, t = (sum(float(props[f"{k}{i}"]) for i in range(3)) for k in "rt")
        self.p_reflect = r / (r + t) if r + t > 0 else 1.0
        flags = (mi.BSDFFlags.DiffuseReflection | mi.BSDFFlags.DiffuseTransmission
                 | mi.BSDFFlags.FrontSide | mi.BSDFFlags.BackSide)
        self.m_components = [flags]
        self.m_flags = flags

    def _lobes(self, wi_z, wo_z):
        same = wi_z * wo_z > 0
        f = dr.select(same, self.r, self.t) * (dr.abs(wo_z) * dr.inv_pi)
        return f, dr.abs(wo_z) * dr.inv_pi * dr.select(same, self.p_reflect, 1 - self.p_reflect)

    def sample(self, ctx, si, s1, s2, active):
        wo = mi.warp.square_to_cosine_hemisphere(s2)
        reflect = s1 < self.p_reflect
        wo.z = dr.select(reflect == (si.wi.z > 0), wo.z, -wo.z)
        f, pdf = self._lobes(si.wi.z, wo.z)
        bs = dr.zeros(mi.BSDFSample3f)
        bs.wo, bs.pdf, bs.eta = wo, pdf, 1.0
        bs.sampled_component = mi.UInt32(0)
        bs.sampled_type = mi.UInt32(+mi.BSDFFlags.DiffuseReflection)
        return bs, dr.select(active & (pdf > 0), f / pdf, 0)

    def eval_pdf(self, ctx, si, wo, active):
        f, pdf = self._lobes(si.wi.z, wo.z)
        return dr.select(active, f, 0), dr.select(active, pdf, 0)

    def eval(self, ctx, si, wo, active):
        return self.eval_pdf(ctx, si, wo, active)[0]

    def pdf(self, ctx, si, wo, active):
        return self.eval_pdf(ctx, si, wo, active)[1]

    def traverse(self, cb):
        pass

    def to_string(self):
        return "ThinSheet[]"


class WaterGlossy(mi.BSDF):
    def __init__(self, props):
        mi.BSDF.__init__(self, props)
        self.alpha = max(float(props["alpha"]), 1e-3)
        self.index = float(props["index"])
        self.body = mi.Color3f(*[float(props[f"b{i}"]) for i in range(3)])
        self.p_gloss = 0.6
        flags = mi.BSDFFlags.GlossyReflection | mi.BSDFFlags.DiffuseReflection | mi.BSDFFlags.FrontSide
        self.m_components = [flags]
        self.m_flags = flags

    def eval_pdf(self, ctx, si, wo, active):
        ci, co = si.wi.z, wo.z
        up = active & (ci > 0) & (co > 0)
        d = mi.MicrofacetDistribution(mi.MicrofacetType.GGX, self.alpha, True)
        h = dr.normalize(si.wi + wo)
        fresnel = mi.fresnel(dr.dot(si.wi, h), self.index)[0]
        gloss = fresnel * d.eval(h) * d.smith_g1(si.wi, h) * d.smith_g1(wo, h) / (4 * ci)   # cosine of wo included
        pdf = (self.p_gloss * d.pdf(si.wi, h) / (4 * dr.dot(wo, h)) + (1 - self.p_gloss) * co * dr.inv_pi)
        return dr.select(up, mi.Color3f(gloss) + self.body * (co * dr.inv_pi), 0), dr.select(up, pdf, 0)

    def sample(self, ctx, si, s1, s2, active):
        d = mi.MicrofacetDistribution(mi.MicrofacetType.GGX, self.alpha, True)
        h, _ = d.sample(si.wi, s2)
        wo = dr.select(s1 < self.p_gloss, mi.reflect(si.wi, h), mi.warp.square_to_cosine_hemisphere(s2))
        f, pdf = self.eval_pdf(ctx, si, wo, active)
        bs = dr.zeros(mi.BSDFSample3f)
        bs.wo, bs.pdf, bs.eta = wo, pdf, 1.0
        bs.sampled_component = mi.UInt32(0)
        bs.sampled_type = mi.UInt32(+mi.BSDFFlags.GlossyReflection)
        return bs, dr.select(pdf > 0, f / pdf, 0)

    def eval(self, ctx, si, wo, active):
        return self.eval_pdf(ctx, si, wo, active)[0]

    def pdf(self, ctx, si, wo, active):
        return self.eval_pdf(ctx, si, wo, active)[1]

    def traverse(self, cb):
        pass

    def to_string(self):
        return "WaterGlossy[]"


mi.register_bsdf("thin_sheet", ThinSheet)
mi.register_bsdf("water_glossy", WaterGlossy)


def _side(f):
    if f["finish"] == "matt":
        return {"type": "diffuse", "reflectance": _texture(f["albedo"])}
    if f["finish"] == "metallic":
        return {"type": "roughconductor", "material": "none", "distribution": "ggx", "alpha": float(f["alpha"]),
                "specular_reflectance": _texture(f["reflectance"])}
    raise ValueError(f"finish '{f['finish']}' cannot be one side of a sheet; matt or metallic can")


def bsdf(front, back):
    """Mitsuba dictionary of a surface with these finishes (as in index.json) on its front and back."""
    if front["finish"] == "translucent":
        r, t = rgb(front["reflectance"]), rgb(front["transmittance"])
        if any(a + b > 1 + 1e-6 for a, b in zip(r, t)):
            raise ValueError("a translucent finish with transmittance + reflectance over 1")
        return {"type": "thin_sheet", **{f"r{i}": r[i] for i in range(3)}, **{f"t{i}": t[i] for i in range(3)}}
    if front["finish"] == "water":
        b = rgb(front.get("body_albedo", 0))
        return {"type": "water_glossy", "index": float(front["index"]), "alpha": float(front["roughness"]),
                **{f"b{i}": b[i] for i in range(3)}}
    return {"type": "twosided", "front": _side(front), "back": _side(back)}
