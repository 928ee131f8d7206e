//! Components: each piece of a document, wrapped. One entity carries one of them.

use crate::document as d;
use bevy_ecs::component::Component;

/// Whatever belongs to the scene; goes when the entity goes.
#[derive(Component, Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct InScene;

/// Place in its list of the document; a new entity takes a number above all others of its kind.
#[derive(Component, Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Order(pub usize);

/// What the scene is called.
#[derive(Component, Clone, Debug, PartialEq)]
#[require(InScene)]
pub struct Heading {
    pub format: u32,
    pub title: String,
    pub note: String,
    pub origin: d::Origin,
}

/// State of the sky, and what a meter read on site.
#[derive(Component, Clone, Copy, Debug, PartialEq)]
#[require(InScene)]
pub struct Weather {
    pub condition: d::Condition,
    pub sky_type: Option<u8>,
    pub metered: d::Metered,
}

/// Local time at the place, "YYYY-MM-DD HH:MM".
#[derive(Component, Clone, Debug, PartialEq, Eq)]
#[require(InScene)]
pub struct Time(pub String);

macro_rules! wrappers {
    ($($(#[$doc:meta])* $name:ident($inner:ty);)*) => { $(
        $(#[$doc])*
        #[derive(Component, Clone, Debug, PartialEq)]
        #[require(InScene)]
        pub struct $name(pub $inner);
    )* };
}

wrappers! {
    /// Where on Earth.
    Place(d::Place);
    /// The sun.
    Sun(d::Sun);
    /// The sky.
    Sky(d::Sky);
    /// The plane z = 0.
    Ground(d::Surface);
    /// The camera and who is behind it.
    Camera(d::Camera);
    /// What the photographer is after.
    Wanted(d::Wanted);
    /// What the bag holds.
    Kit(d::Kit);
    /// Readings taken on site.
    SiteReadings(Vec<String>);
    /// An area of the ground.
    Zone(d::Zone);
    /// A sitter.
    Person(d::Person);
    /// A panel and who holds it.
    Panel(d::Panel);
    /// A flash.
    Flash(d::Flash);
    /// A wall or building.
    Wall(d::Wall);
    /// The crown of a tree, or an awning.
    Canopy(d::Canopy);
    /// A plain opaque body.
    Solid(d::Solid);
    /// Something upright and flat behind the people.
    Backdrop(d::Backdrop);
    /// A light meter.
    Meter(d::Meter);
}
