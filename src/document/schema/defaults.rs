//! Default numbers of the schema, each with the test that lets a saved file leave it out.

/// Whether a value is its type's own default.
pub(super) fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

/// Whether a switch is on, where on is the default.
#[allow(clippy::trivially_copy_pass_by_ref)]
pub(super) fn is_true(value: &bool) -> bool {
    *value
}

pub(super) fn yes() -> bool {
    true
}

/// Whether a number is 0, where 0 is the default.
#[allow(clippy::trivially_copy_pass_by_ref)]
pub(super) fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

pub(super) fn one() -> u32 {
    1
}

#[allow(clippy::trivially_copy_pass_by_ref)]
pub(super) fn is_one(value: &u32) -> bool {
    *value == 1
}

/// For each number a function that gives it and one that tells whether a value is it.
macro_rules! numbers {
    ($($(#[$doc:meta])* $name:ident $is:ident $value:expr;)*) => { $(
        $(#[$doc])*
        pub(super) fn $name() -> f64 { $value }
        #[allow(clippy::trivially_copy_pass_by_ref, clippy::float_cmp)]
        pub(super) fn $is(value: &f64) -> bool { *value == $value }
    )* };
}

/// The least power of most flashes, common practice.
pub(super) fn least_power() -> crate::document::marks::Power {
    crate::document::marks::Power("1/128".into())
}

pub(super) fn is_least_power(power: &crate::document::marks::Power) -> bool {
    *power == least_power()
}

numbers! {
    /// Full-frame sensor, millimetres.
    sensor_width is_sensor_width 36.0;
    sensor_height is_sensor_height 24.0;
    /// A usual portrait lens, common practice.
    focal_length is_focal_length 85.0;
    camera_height is_camera_height 1.5;
    aperture is_aperture 4.0;
    iso is_iso 100.0;
    age is_age 35.0;
    /// Between the classes "intermediate" and "tan" (ITA 28 degrees gives 0.265).
    skin is_skin 0.25;
    /// Brown hair and everyday clothing: invented, within common practice.
    hair is_hair 0.06;
    clothing is_clothing 0.2;
    /// Share of light that passes through the middle of a canopy: invented.
    gap is_gap 0.1;
    /// Daylight-balanced flash, common practice.
    flash_cct is_flash_cct 5600.0;
    /// Luminous efficacy of a flash tube with its reflector, from memory.
    efficacy is_efficacy 30.0;
    /// Beam of a bare flash at a usual zoom setting: invented.
    beam_even is_beam_even 25.0;
    beam_zero is_beam_zero 40.0;
    /// Loss on the axis of a box with two layers of cloth, from memory.
    softbox_loss is_softbox_loss 1.5;
    /// From frame to frame with a group, seconds: common practice.
    pace is_pace 6.0;
    /// Smallest aperture of most lenses.
    narrowest is_narrowest 16.0;
    /// A light steel stand with a boom arm and a panel, kilograms, and its tripod foot from the
    /// middle to the line between two feet, metres: from memory.
    stand_mass is_stand_mass 4.0;
    stand_foot is_stand_foot 0.25;
    /// Clear water without glint, 6S built-in surface.
    water_body is_water_body 0.05;
}
