//! The range of every number in a scene file, once for the check and for the description.

/// A range with the fields that it holds for, as "Type.field" or "Type.Variant.field".
#[derive(Clone, Copy, Debug)]
pub struct Limit {
    pub fields: &'static [&'static str],
    /// Empty for plain numbers.
    pub unit: &'static str,
    pub low: f64,
    pub high: f64,
}

macro_rules! limits {
    ($($name:ident $unit:literal $low:literal $high:literal [$($field:literal),* $(,)?];)*) => {
        $(pub const $name: Limit = Limit { fields: &[$($field),*], unit: $unit, low: $low, high: $high };)*
        /// All of them.
        pub const ALL: &[Limit] = &[$($name),*];
    };
}

// Physical limits where there are some; otherwise wide bounds that only catch slips of the pen.
limits! {
    LATITUDE "deg" -90.0 90.0 ["Place.latitude_deg"];
    LONGITUDE "deg" -180.0 180.0 ["Place.longitude_deg"];
    SITE_ELEVATION "m" -430.0 9000.0 ["Place.elevation_m"];
    AZIMUTH "deg" -360.0 360.0 [
        "Place.north_deg", "Sun.Given.azimuth_deg", "Sky.Given.sun_azimuth_deg", "Target.Azimuth",
        "Aim.Direction.azimuth_deg", "Facing.Direction.azimuth_deg", "Person.body_azimuth_deg",
        "WallShape.Box.azimuth_deg", "WallShape.Rectangle.azimuth_deg", "SolidShape.Box.azimuth_deg",
        "SolidShape.Ellipsoid.azimuth_deg", "Backdrop.azimuth_deg",
    ];
    TILT "deg" -90.0 90.0 [
        "Aim.Direction.elevation_deg", "Facing.Direction.elevation_deg",
        "WallShape.Rectangle.elevation_deg", "Person.pitch_deg", "Person.roll_deg",
    ];
    SUN_ELEVATION "deg" -1.0 90.0 ["Sun.Given.elevation_deg", "Sky.Given.sun_elevation_deg"];
    LUX "lux" 0.0 150000.0 [
        "Sun.Given.direct_normal_lux", "Metered.direct_normal_lux", "Sky.Given.horizontal_lux",
        "Metered.horizontal_lux",
    ];
    COLOUR_TEMPERATURE "k" 1000.0 40000.0 [
        "Sun.Given.cct_k", "Sky.Given.cct_k", "Flash.cct_k", "Camera.white_balance_k",
    ];
    SKY_TYPE "" 1.0 16.0 ["Document.sky_type", "Sky.Given.cie_type"];
    REFLECTANCE "" 0.0 0.995 [
        "Surface.Grey", "Surface.Rgb", "Surface.Water.body_reflectance", "Finish.Matt", "Finish.MattRgb",
        "Finish.Metal.reflectance", "Person.hair_reflectance", "Person.clothing_reflectance",
    ];
    SHARE "" 0.0 1.0 [
        "Finish.Scrim.transmittance", "Finish.Scrim.reflectance", "Backdrop.transmittance",
        "Finish.Metal.rgb", "Person.skin_rgb",
    ];
    ALPHA "" 0.02 1.0 ["Finish.Metal.alpha"];
    WIND "m_s" 0.0 25.0 ["Surface.Water.wind_m_s"];
    ROUGHNESS "" 0.01 0.6 ["Surface.Water.roughness"];
    COORDINATE "m" -1000.0 1000.0 [
        "Camera.position_m", "Person.position_m", "Panel.centre_m", "Panel.position_m",
        "Flash.position_m", "WallShape.Box.centre_m", "WallShape.Rectangle.centre_m",
        "Canopy.centre_m", "SolidShape.Sphere.centre_m", "SolidShape.Cylinder.base_m",
        "SolidShape.Capsule.base_m", "SolidShape.Box.centre_m", "SolidShape.Ellipsoid.centre_m",
        "Backdrop.position_m", "Meter.position_m", "Zone.corners_m", "Target.Point",
    ];
    FLOOR "m" 0.0 100.0 ["Person.floor_m", "Backdrop.base_m", "Panel.lower_edge_m"];
    LENS_HEIGHT "m" 0.02 100.0 ["Camera.height_m"];
    FOCAL_LENGTH "mm" 8.0 1200.0 [
        "Camera.focal_length_mm", "BagLens.shortest_mm", "BagLens.longest_mm",
    ];
    SENSOR "mm" 3.0 100.0 ["Camera.sensor_width_mm", "Camera.sensor_height_mm"];
    F_NUMBER "" 0.7 128.0 [
        "Camera.aperture", "Output.Reading.f_number", "Lens.widest", "Lens.narrowest",
        "BagLens.widest",
    ];
    ISO "" 6.0 409600.0 [
        "Camera.iso", "Output.Reading.iso", "Kit.lowest_iso", "Kit.highest_iso",
    ];
    FOCUS "m" 0.1 1000.0 ["Camera.focus_m"];
    MOVES "m_s" 0.0 12.0 ["Moves.Speed"];
    ND "stops" 0.0 20.0 ["Camera.nd_stops", "Kit.filters_stops"];
    EXPOSURE_TIME "s" 0.00001 3600.0 ["Camera.shutter", "Camera.sync", "Kit.fastest"];
    AGE "years" 1.0 110.0 ["Person.age_years"];
    STATURE "m" 0.5 2.4 ["Person.stature_m", "Support.Holder"];
    SEAT "m" 0.1 1.5 ["Posture.Seated"];
    SKIN "" 0.04 0.45 ["Person.skin_reflectance"];
    PANEL_SIZE "m" 0.05 20.0 [
        "PanelShape.Rectangle.width_m", "PanelShape.Rectangle.height_m", "PanelShape.Disc.diameter_m",
    ];
    GUIDE_NUMBER "m" 1.0 300.0 ["Output.GuideNumber"];
    READING_DISTANCE "m" 0.1 50.0 ["Output.Reading.distance_m"];
    ENERGY "ws" 0.1 20000.0 ["Output.WattSeconds.energy_ws"];
    EFFICACY "lm_per_w" 1.0 150.0 ["Output.WattSeconds.efficacy_lm_per_w"];
    AXIS "lux_s" 0.01 1000000.0 ["Output.Axis"];
    BEAM "deg" 0.5 89.0 ["Beam.even_half_angle_deg", "Beam.zero_half_angle_deg"];
    GRID "deg" 2.0 80.0 ["Grid.half_angle_deg"];
    LOSS "stops" 0.0 8.0 ["Softbox.loss_stops", "Grid.loss_stops", "Gel.Shift.loss_stops"];
    MIRED "mired" -400.0 400.0 ["Gel.Shift.shift_mired"];
    DURATION "s" 0.000001 0.1 ["Flash.duration_t01_s", "Flash.duration_least_t01_s"];
    RECYCLE "s" 0.01 120.0 ["Flash.recycle_s"];
    CHARGE "" 1.0 100000.0 ["Battery.full_power_flashes", "Heat.full_power_flashes"];
    PAUSE "s" 1.0 3600.0 ["Heat.pause_s"];
    DELAY "s" 0.0 0.1 ["Kit.trigger_delay_s"];
    PACE "s" 0.05 600.0 ["Kit.pace_s"];
    PATIENCE "min" 0.1 600.0 ["Kit.patience_min"];
    FRAMES "" 1.0 10000.0 ["Shot.frames"];
    COUNT "" 0.0 100.0 ["Kit.stands"];
    PIECES "" 1.0 100.0 ["BagFlash.count", "BagPanel.count"];
    SPEED "m_s" 0.0 40.0 ["Wind.Speed"];
    BEAUFORT "" 0.0 12.0 ["Wind.Beaufort"];
    MASS "kg" 0.5 200.0 ["Stand.mass_kg"];
    FOOT "m" 0.05 2.0 ["Stand.foot_m"];
    SIZE "m" 0.005 1000.0 [
        "WallShape.Box.size_m", "WallShape.Rectangle.width_m", "WallShape.Rectangle.height_m",
        "SolidShape.Sphere.radius_m", "SolidShape.Cylinder.radius_m", "SolidShape.Cylinder.height_m",
        "SolidShape.Capsule.radius_m", "SolidShape.Capsule.height_m", "SolidShape.Box.size_m",
        "SolidShape.Ellipsoid.radii_m", "Canopy.radii_m", "Backdrop.width_m", "Backdrop.height_m",
    ];
    GAP "" 0.0 0.95 ["Canopy.gap_fraction"];
    RATIO "stops" 0.0 10.0 ["Wanted.lit_to_shadow_stops", "Wanted.key_to_fill_stops"];
    BACKGROUND "stops" -10.0 10.0 ["Wanted.background_stops"];
}

/// How many of each a scene may hold.
pub const MAX_PEOPLE: usize = 60;
pub const MAX_PANELS: usize = 24;
pub const MAX_FLASHES: usize = 16;
pub const MAX_WALLS: usize = 60;
pub const MAX_CANOPIES: usize = 40;
pub const MAX_SOLIDS: usize = 240;
pub const MAX_BACKDROPS: usize = 20;
pub const MAX_ZONES: usize = 40;
pub const MAX_CORNERS: usize = 200;
pub const MAX_METERS: usize = 500;
pub const MAX_SHOTS: usize = 60;
/// Lenses, kinds of flashes and kinds of panels in the bag, each.
pub const MAX_BAG: usize = 24;
pub const MAX_FILTERS: usize = 20;
pub const MAX_READINGS: usize = 60;
pub const MAX_READING: usize = 200;
/// Longest name and title, and longest note, in characters.
pub const MAX_NAME: usize = 80;
pub const MAX_NOTE: usize = 4000;
