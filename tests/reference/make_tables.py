"""Computes the tables of this folder again with pvlib 0.16 and colour-science 0.4.7, and prints how far
each column lies from what is written. Exit code 1 if one lies further than the table's last digits allow.

    python3 -m venv venv && venv/bin/pip install pvlib==0.16.1 colour-science==0.4.7
    venv/bin/python make_tables.py

With `--write-temperatures` it first writes colour_temperature.csv, which is all its own. What is only published or a definition of its own (gels' shifts, reflectances, ISO scales' names) is read,
not computed. Every number is reached from the sources named in README.md, not from the program.
"""

import csv
import datetime
import math
import pathlib
import sys
import warnings

warnings.filterwarnings("ignore")
import colour
import numpy as np
from pvlib import atmosphere, spa

HERE = pathlib.Path(__file__).parent
WORST = {}


def table(name):
    with open(HERE / name, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def number(text):
    return float(text) if text not in ("", "none", "any", "mean") else None


def note(name, ours, theirs, limit, case=""):
    """Keeps the worst difference of a column, in units of its limit."""
    error = 0.0 if ours == theirs else abs(ours - theirs)
    entry = WORST.setdefault(name, [0, 0.0, limit, ""])
    entry[0] += 1
    if not error / limit <= entry[1] / entry[2]:
        entry[1:] = [error, limit, case]


def unix(text):
    return datetime.datetime.fromisoformat(text.replace("Z", "+00:00")).timestamp()


def sun(times, latitude, longitude, height=0.0, pressure=1013.25, temperature=15.0, delta_t=69.2):
    """Apparent zenith, zenith, apparent elevation, elevation, azimuth, equation of time."""
    times = np.atleast_1d(np.asarray(times, dtype=float))
    return np.array(
        spa.solar_position_numpy(
            times, latitude, longitude, height, pressure, temperature, delta_t, 0.5667, numthreads=1
        )
    )


def sun_positions():
    for row in table("sun_position.csv"):
        value = [
            float(row[key])
            for key in (
                "latitude_deg_north",
                "longitude_deg_east",
                "elevation_m",
                "pressure_mbar",
                "temperature_degc",
                "delta_t_s",
            )
        ]
        found = sun(unix(row["utc"]), *value)[:, 0]
        case = f"{row['site']} {row['utc']}"
        wide = float(row["azimuth_tolerance_deg"]) / 0.05 * 2e-5
        note("sun azimuth, deg", found[4], float(row["azimuth_deg_cw_from_north"]), wide, case)
        note("sun true elevation, deg", found[3], float(row["elevation_true_deg"]), 2e-5, case)
        note("sun apparent elevation, deg", found[2], float(row["elevation_apparent_deg"]), 2e-5, case)
        distance = spa.earthsun_distance(np.array([unix(row["utc"])]), value[5], 1)[0]
        note("earth-sun distance, au", distance, float(row["earth_sun_distance_au"]), 2e-7, case)


def root(function, low, high):
    """Where a function that changes sign once between two times is nought, to a millisecond."""
    rising = function(low) < 0
    for _ in range(40):
        middle = (low + high) / 2
        if (function(middle) < 0) == rising:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def sun_events():
    for row in table("sun_events.csv"):
        latitude, longitude = float(row["latitude_deg_north"]), float(row["longitude_deg_east"])
        start = unix(row["local_solar_date"] + "T00:00:00Z") - longitude / 15 * 3600
        year = float(row["local_solar_date"][:4])
        month = int(row["local_solar_date"][5:7])
        delta_t = float(spa.calculate_deltat(year, month))
        height = lambda time: sun(time, latitude, longitude, delta_t=delta_t)[3, 0]
        minutes = start + 60.0 * np.arange(1441)
        track = sun(minutes, latitude, longitude, delta_t=delta_t)
        elevations, azimuths = track[3], track[4]
        for columns, level in (
            (("sunrise_utc", "sunset_utc"), -50 / 60),
            (("civil_dawn_utc", "civil_dusk_utc"), -6.0),
        ):
            above = elevations > level
            for column, rising in zip(columns, (True, False)):
                at = np.flatnonzero((above[1:] != above[:-1]) & (above[1:] == rising))
                case = f"{row['site']} {row['local_solar_date']} {column}"
                if row[column] == "none" or len(at) == 0:
                    note("events that do not happen", float(len(at) > 0), float(row[column] != "none"), 0.5, case)
                    continue
                found = root(lambda time: height(time) - level, minutes[at[0]], minutes[at[0] + 1])
                note("sun events, s", found, unix(row[column]), 1.0, case)
        # Upper transit: the sine of the azimuth changes sign near the highest point.
        top = minutes[int(np.argmax(elevations))]
        sine = lambda time: math.sin(math.radians(sun(time, latitude, longitude, delta_t=delta_t)[4, 0]))
        noon = root(sine, top - 900, top + 900)
        case = f"{row['site']} {row['local_solar_date']}"
        note("solar noon, s", noon, unix(row["solar_noon_utc"]), 1.5, case)
        note("noon elevation, deg", height(noon), float(row["solar_noon_true_elevation_deg"]), 2e-4, case)


def daylight():
    sky = {"clear": (0.8, 15.5, 0.5), "partly_cloudy": (0.3, 45.0, 1.0), "cloudy": (0.3, 21.0, 1.0)}
    extinction = {"clear": 0.21, "partly_cloudy": 0.80, "cloudy": math.inf}
    for row in table("daylight.csv"):
        kind, altitude = row["sky_condition"], float(row["solar_altitude_deg"])
        day = number(row["day_of_year"])
        outside = 127.5 * (1 if day is None else 1 + 0.034 * math.cos(2 * math.pi * (day - 2) / 365))
        mass = float(atmosphere.get_relative_airmass(90 - altitude, model="kastenyoung1989"))
        sine = math.sin(math.radians(altitude))
        a, b, c = sky[kind]
        case = f"{kind} {altitude}"
        note("air mass, Kasten and Young", mass, float(row["air_mass_kasten_young_1989"]), 2e-6, case)
        for air, column in ((mass, "kasten_young"), (1 / sine, "ies")):
            direct = outside * math.exp(-extinction[kind] * air)
            note("direct normal, klx", direct, float(row[f"direct_normal_illuminance_klx_{column}"]), 6e-5, case)
            wanted = float(row[f"direct_horizontal_illuminance_klx_{column}"])
            note("direct horizontal, klx", direct * sine, wanted, 6e-5, case)
        note("outside the air, klx", outside, float(row["extraterrestrial_illuminance_klx"]), 6e-5, case)
        note("air mass, 1/sin", 1 / sine, float(row["air_mass_ies_1_over_sin"]), 6e-7, case)
        level = a + b * sine**c
        note("sky horizontal, klx", level, float(row["sky_horizontal_illuminance_klx"]), 6e-5, case)
        # The last direct of the loop is the one by 1/sin, as in the column's name.
        wanted = float(row["global_horizontal_illuminance_klx_ies"])
        note("global horizontal, klx", level + direct * sine, wanted, 1.1e-4, case)


def twilight():
    pieces = [
        (20, 3.74, 3.97, -4.07, 1.47),
        (5, 3.05, 13.28, -45.98, 64.33),
        (-0.8, 2.88, 22.26, -207.64, 1034.30),
        (-5, 2.88, 21.81, -258.11, -858.36),
        (-12, 2.70, 12.17, -431.69, -1899.83),
        (-18, 13.84, 262.72, 1447.42, 2797.93),
    ]
    for row in table("twilight.csv"):
        altitude = float(row["sun_true_altitude_deg"])
        x = altitude / 90
        _, *l = next(piece for piece in pieces if altitude >= piece[0])
        lux = 10 ** sum(value * x**power for power, value in enumerate(l))
        note("twilight, relative", lux / float(row["horizontal_illuminance_lux"]), 1, 1e-5, row["sun_true_altitude_deg"])


def sky_types():
    return {int(row["sky_type"]): [float(row[key]) for key in "abcde"] for row in table("cie_sky.csv")}


def relative(parameters, sine, chi):
    a, b, c, d, e = parameters
    phi = 1 + a * np.exp(b / np.maximum(sine, 1e-9))
    return phi * (1 + c * (np.exp(d * chi) - np.exp(d * np.pi / 2)) + e * np.cos(chi) ** 2)


def angle(elevation, azimuth, sun_elevation, sun_azimuth):
    cosine = np.sin(elevation) * np.sin(sun_elevation) + np.cos(elevation) * np.cos(sun_elevation) * np.cos(
        azimuth - sun_azimuth
    )
    return np.arccos(np.clip(cosine, -1, 1))


def cie_sky():
    types = sky_types()
    for row in table("cie_sky_luminance.csv"):
        parameters = types[int(row["sky_type"])]
        elevation = math.radians(90 - float(row["sky_zenith_angle_deg"]))
        sun_zenith = math.radians(float(row["sun_zenith_angle_deg"]))
        chi = angle(
            elevation,
            math.radians(float(row["sky_azimuth_deg"])),
            math.pi / 2 - sun_zenith,
            math.radians(float(row["sun_azimuth_deg"])),
        )
        ours = relative(parameters, math.sin(elevation), chi) / relative(parameters, 1.0, sun_zenith)
        note("CIE sky luminance", float(ours), float(row["luminance_over_zenith_luminance"]), 1e-6, row["sky_type"])
    # Even midpoints over the half sphere, and the same again twice as fine: the error falls fourfold,
    # so a third of the difference is taken on (Richardson).
    for row in table("cie_sky_ratios.csv"):
        parameters = None if row["sky_type"] == "moon_spencer" else types[int(row["sky_type"])]
        altitude = math.radians(number(row["sun_altitude_deg"]) or 0.0)
        coarse, fine = (sky_sums(parameters, altitude, count) for count in (500, 1000))
        level, *upright = [b + (b - a) / 3 for a, b in zip(coarse, fine)]
        zenith = 1.0 if parameters is None else relative(parameters, 1.0, math.pi / 2 - altitude)
        case = f"type {row['sky_type']} sun {row['sun_altitude_deg']}"
        wanted = float(row["zenith_luminance_over_horizontal_illuminance_per_sr"])
        note("CIE zenith over horizontal", zenith / level, wanted, 3e-5, case)
        for value, column in zip(upright, ("facing_sun", "90deg_from_sun", "opposite_sun")):
            wanted = float(row[f"vertical_to_horizontal_{column}"])
            note("CIE vertical over horizontal", value / level, wanted, 3e-5, case)


def sky_sums(parameters, altitude, rows):
    """Illuminance on the level and on upright planes 0, 90 and 180 degrees from the sun."""
    azimuth = (np.arange(2 * rows) + 0.5) * math.pi / rows
    elevation = ((np.arange(rows) + 0.5) * math.pi / 2 / rows)[:, None]
    sine, cosine = np.sin(elevation), np.cos(elevation)
    if parameters is None:
        light = (1 + 2 * sine) / 3 * np.ones_like(azimuth)
    else:
        light = relative(parameters, sine, angle(elevation, azimuth, altitude, 0.0))
    light = light * cosine * (math.pi / 2 / rows) * (math.pi / rows)
    turns = [np.maximum(np.cos(azimuth - math.radians(turn)), 0) for turn in (0, 90, 180)]
    return [(light * sine).sum()] + [(light * cosine * turn).sum() for turn in turns]


def exposure_value(row):
    """What the equations of ISO 2720 and ISO 12232 give for a row of exposure.csv."""
    n, t, iso = (number(row[key]) for key in ("f_number", "exposure_time_s", "iso"))
    luminance, lux = number(row["luminance_cd_m2"]), number(row["illuminance_lx"])
    constant, guide = number(row["calibration_constant"]), number(row["guide_number_iso100_m"])
    distance, power = number(row["distance_m"]), number(row["flash_power_fraction"])
    kind = row["kind"]
    if kind == "ev100_from_settings" or kind.startswith("sunny_16"):
        return math.log2(n * n / t) - math.log2(iso / 100)
    if kind in ("ev100_from_luminance", "ev100_from_illuminance"):
        return math.log2((lux if luminance is None else luminance) * 100 / constant)
    # N^2/t = E S/C = L S/K, solved for what is asked.
    if kind == "shutter_from_illuminance":
        return n * n * constant / (lux * iso)
    if kind == "f_number_from_luminance":
        return math.sqrt(luminance * iso * t / constant)
    if kind in ("luminance_from_settings", "illuminance_from_settings"):
        return n * n * constant / (t * iso)
    if kind == "focal_plane_exposure":
        return 0.65 * luminance * t / n**2
    if kind == "saturation_luminance":
        return 78 / iso * n**2 / (0.65 * t)
    if kind == "flash_f_number":
        return guide * math.sqrt(iso / 100 * power) / distance
    if kind == "flash_distance":
        return guide * math.sqrt(iso / 100 * power) / n
    if kind == "flash_beam_intensity_time":
        return constant * guide**2 / 100
    if kind == "nd_stops":
        return number(row["nd_density"]) * math.log2(10)
    raise ValueError(f"unknown kind {kind}")


def exposure():
    for row in table("exposure.csv"):
        # Eight figures are printed, and inputs such as 1/60 s are rounded to as many.
        wanted = float(row["expected_value"])
        note("exposure equations", exposure_value(row), wanted, 1e-7 * max(1, abs(wanted)), row["case_id"])


def scales():
    exact = {
        "f_number": lambda i: 2 ** (i / 6),
        "exposure_time_s": lambda i: 2 ** (-i / 3),
        "iso": lambda i: 100 * 2 ** (i / 3),
    }
    for row in table("exposure_scales.csv"):
        ours = exact[row["scale"]](int(row["third_stop_index"]))
        note("exact marks, relative", ours / float(row["exact_value"]), 1, 1e-7 * 5, row["nominal"])


def depth_of_field():
    for row in table("depth_of_field.csv"):
        f, c = float(row["focal_length_mm"]) / 1e3, float(row["circle_of_confusion_mm"]) / 1e3
        n, s = float(row["f_number"]), float(row["focus_distance_m"])
        # Image distances, and the blur on the sensor by similar triangles: no closed form is used.
        image = lambda d: f if math.isinf(d) else 1 / (1 / f - 1 / d)
        blur = lambda d: f / n * abs(image(d) - image(s)) / image(d)
        probe = float(row["probe_distance_m"])
        note("blur disc, mm", blur(probe) * 1e3, float(row["probe_blur_disc_diameter_mm"]), 2e-6, row["case_id"])
        low, high = f * 1.001, min(s, 1e9)
        for _ in range(200):
            middle = (low + high) / 2
            low, high = (middle, high) if blur(middle) > c else (low, middle)
        note("near limit, m", low / float(row["near_limit_m"]), 1, 2e-6, row["case_id"])
        # Focused at the hyperfocal distance, a point without end just fills the circle: f^2/(N (H - f)) = c.
        hyperfocal = float(row["hyperfocal_m"])
        note("hyperfocal, blur over circle", f * f / (n * (hyperfocal - f)) / c, 1, 2e-6, row["case_id"])
        wanted = float(row["far_limit_m"])
        if blur(math.inf) <= c * (1 + 1e-9):
            note("far limit without end", math.isinf(wanted), True, 0.5, row["case_id"])
            continue
        note("far limit without end", math.isinf(wanted), False, 0.5, row["case_id"])
        low, high = s, 1e9
        for _ in range(200):
            middle = (low + high) / 2
            low, high = (middle, high) if blur(middle) < c else (low, middle)
        note("far limit, relative", low / wanted, 1, 1e-5, row["case_id"])


def colours():
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    wavelengths = np.arange(360, 831)
    matching = np.array([observer[w] for w in wavelengths])
    for row in table("colour.csv"):
        kelvin = float(row["cct_k"])
        case = f"{row['locus']} {kelvin:.0f}"
        if row["locus"] == "planckian":
            metres = wavelengths * 1e-9
            power = metres**-5.0 / np.expm1(1.438776877e-2 / (metres * kelvin))
            total = (power[:, None] * matching).sum(axis=0)
            x, y = total[:2] / total.sum()
        elif row["locus"] == "cie_daylight":
            x, y = colour.temperature.CCT_to_xy_CIE_D(kelvin)
        else:
            name = row["locus"].removeprefix("cie_illuminant_").upper()
            x, y = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][name]
        note("chromaticity x, y", x, float(row["x"]), 1e-6, case)
        note("chromaticity x, y", y, float(row["y"]), 1e-6, case)
        matrix = colour.normalised_primary_matrix([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]], [0.3127, 0.3290])
        rgb = np.linalg.solve(matrix, [x / y, 1, (1 - x - y) / y])
        for value, channel in zip(rgb, "rgb"):
            # The printed x, y of a blue-rich light move its blue by a few millionths.
            note("linear RGB", value, float(row[f"linear_srgb_{channel}"]), 2e-5, case)
        note("mired", 1e6 / kelvin, float(row["mired"]), 1e-4, case)
    for row in table("colour_gels.csv"):
        behind = 1e6 / (1e6 / float(row["source_cct_k"]) + float(row["mired_shift"]))
        note("gels, K", behind, float(row["resulting_cct_k"]), 0.051, row["gel"])


def off_the_locus():
    """Chromaticities beside the Planckian locus, by their temperature and distance in CIE 1960 uv."""
    for kelvin in (1800, 2856, 4000, 5500, 6504, 10000):
        for duv in (-0.03, -0.02, -0.01, -0.003, 0.003, 0.01, 0.02, 0.03):
            u, v = colour.temperature.CCT_to_uv_Ohno2013([kelvin, duv])
            x, y = colour.UCS_uv_to_xy([u, v])
            yield {"cct_k": str(kelvin), "duv": str(duv), "x": f"{x:.7f}", "y": f"{y:.7f}"}


def temperatures():
    rows = table("colour_temperature.csv")
    made = list(off_the_locus())
    note("rows of off-locus colours", len(rows), len(made), 0.5)
    for row, ours in zip(rows, made):
        case = f"{row['cct_k']} K {row['duv']}"
        note("off-locus named alike", float(row["cct_k"] == ours["cct_k"] and row["duv"] == ours["duv"]), 1, 0.5, case)
        for axis in "xy":
            note("off-locus x, y", float(ours[axis]), float(row[axis]), 1.5e-7, case)


def main():
    if sys.argv[1:] == ["--write-temperatures"]:
        with open(HERE / "colour_temperature.csv", "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, ("cct_k", "duv", "x", "y"), lineterminator="\n")
            writer.writeheader()
            writer.writerows(off_the_locus())
    for step in (
        sun_positions,
        sun_events,
        daylight,
        twilight,
        cie_sky,
        exposure,
        scales,
        depth_of_field,
        colours,
        temperatures,
    ):
        step()
    print(f"{'column':32} {'rows':>5} {'worst':>9} {'limit':>9}  where")
    for name, (count, error, limit, case) in WORST.items():
        mark = "" if error <= limit else "  TOO FAR"
        print(f"{name:32} {count:5} {error:9.1e} {limit:9.1e}  {case}{mark}")
    return int(any(error > limit for _, error, limit, _ in WORST.values()))


if __name__ == "__main__":
    sys.exit(main())
