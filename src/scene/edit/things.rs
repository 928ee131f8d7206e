//! Everything of a document that has a place, by name.

use crate::document as d;
use crate::document::Document;
use glam::DVec2;

/// Which thing: the camera, or whatever carries a name (names are unique in a scene).
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ThingId {
    Camera,
    Named(String),
}

impl ThingId {
    /// What people call it.
    #[must_use]
    pub fn label(&self) -> &str {
        match self {
            Self::Camera => "camera",
            Self::Named(name) => name,
        }
    }
}

macro_rules! sorts {
    ($($(#[$doc:meta])* $sort:ident $list:ident $word:literal;)*) => {
        /// What kind of thing.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Sort {
            Camera,
            $($(#[$doc])* $sort,)*
        }

        impl Sort {
            pub const ALL: &'static [Self] = &[Self::Camera, $(Self::$sort,)*];

            /// The word for one of them.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self {
                    Self::Camera => "camera",
                    $(Self::$sort => $word,)*
                }
            }
        }

        /// One thing of a document.
        #[derive(Clone, Copy, Debug)]
        pub enum Thing<'a> {
            Camera(&'a d::Camera),
            $($sort(&'a d::$sort),)*
        }

        /// One thing of a document, to be changed.
        #[derive(Debug)]
        pub enum ThingMut<'a> {
            Camera(&'a mut d::Camera),
            $($sort(&'a mut d::$sort),)*
        }

        impl Thing<'_> {
            #[must_use]
            pub fn sort(&self) -> Sort {
                match self {
                    Self::Camera(_) => Sort::Camera,
                    $(Self::$sort(_) => Sort::$sort,)*
                }
            }
        }

        /// All things in the document's order, the camera first.
        #[must_use]
        pub fn things(document: &Document) -> Vec<(ThingId, Sort)> {
            let mut list = Vec::new();
            if document.camera.is_some() {
                list.push((ThingId::Camera, Sort::Camera));
            }
            $(list.extend(
                document.$list.iter().map(|x| (ThingId::Named(x.name.clone()), Sort::$sort)),
            );)*
            list
        }

        /// The thing of that name.
        #[must_use]
        pub fn find<'a>(document: &'a Document, id: &ThingId) -> Option<Thing<'a>> {
            let name = match id {
                ThingId::Camera => return document.camera.as_ref().map(Thing::Camera),
                ThingId::Named(name) => name,
            };
            $(if let Some(x) = document.$list.iter().find(|x| x.name == *name) {
                return Some(Thing::$sort(x));
            })*
            None
        }

        /// The thing of that name, to be changed.
        #[must_use]
        pub fn find_mut<'a>(document: &'a mut Document, id: &ThingId) -> Option<ThingMut<'a>> {
            let name = match id {
                ThingId::Camera => return document.camera.as_mut().map(ThingMut::Camera),
                ThingId::Named(name) => name,
            };
            $(if let Some(i) = document.$list.iter().position(|x| x.name == *name) {
                return Some(ThingMut::$sort(&mut document.$list[i]));
            })*
            None
        }

        /// Takes the thing of that name out; whether there was one.
        pub(super) fn take(document: &mut Document, name: &str) -> bool {
            $(if let Some(i) = document.$list.iter().position(|x| x.name == name) {
                document.$list.remove(i);
                return true;
            })*
            false
        }

        /// Puts a copy of the thing of that name behind it under another name.
        pub(super) fn copy(document: &mut Document, name: &str, new: &str) -> bool {
            $(if let Some(i) = document.$list.iter().position(|x| x.name == name) {
                let mut x = document.$list[i].clone();
                x.name = new.to_owned();
                document.$list.insert(i + 1, x);
                return true;
            })*
            false
        }

        /// Gives the thing of that name another one.
        pub(super) fn set_name(document: &mut Document, name: &str, new: &str) -> bool {
            $(if let Some(x) = document.$list.iter_mut().find(|x| x.name == name) {
                x.name = new.to_owned();
                return true;
            })*
            false
        }
    };
}

sorts! {
    Person people "person";
    Panel panels "panel";
    Flash flashes "flash";
    Wall walls "wall";
    Canopy canopies "canopy";
    Solid solids "solid";
    Backdrop backdrops "backdrop";
    Meter meters "meter";
    Zone zones "zone";
}

/// Place on the plan, metres: the middle of its foot.
#[must_use]
pub fn place(thing: Thing) -> DVec2 {
    match thing {
        Thing::Camera(x) => x.position_m,
        Thing::Person(x) => x.position_m,
        Thing::Panel(x) => match x.place() {
            Some(d::PanelPlace::Centre(c)) => c.truncate(),
            Some(d::PanelPlace::LowerEdge { position, .. }) => position,
            None => DVec2::ZERO,
        },
        Thing::Flash(x) => x.position_m.truncate(),
        Thing::Wall(x) => match x.shape {
            d::WallShape::Box { centre_m, .. } | d::WallShape::Rectangle { centre_m, .. } => {
                centre_m.truncate()
            }
        },
        Thing::Canopy(x) => x.centre_m.truncate(),
        Thing::Solid(x) => match x.shape {
            d::SolidShape::Sphere { centre_m, .. }
            | d::SolidShape::Box { centre_m, .. }
            | d::SolidShape::Ellipsoid { centre_m, .. } => centre_m.truncate(),
            d::SolidShape::Cylinder { base_m, .. } | d::SolidShape::Capsule { base_m, .. } => {
                base_m.truncate()
            }
        },
        Thing::Backdrop(x) => x.position_m,
        Thing::Meter(x) => x.position_m.truncate(),
        Thing::Zone(x) => {
            x.corners_m.iter().copied().sum::<DVec2>() / x.corners_m.len().max(1) as f64
        }
    }
}

/// Corners on the plan that can be dragged one by one: of zones and walls; else none.
#[must_use]
pub fn corners(thing: Thing) -> Vec<DVec2> {
    let along = |azimuth: f64| {
        let (s, c) = azimuth.to_radians().sin_cos();
        // depth runs along the azimuth, width square to it
        (DVec2::new(c, -s), DVec2::new(s, c))
    };
    match thing {
        Thing::Zone(x) => x.corners_m.clone(),
        Thing::Wall(x) => match x.shape {
            d::WallShape::Box {
                centre_m,
                size_m,
                azimuth_deg,
            } => {
                let (across, deep) = along(azimuth_deg);
                [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
                    .map(|(a, b)| {
                        centre_m.truncate()
                            + across * (a * size_m.x / 2.0)
                            + deep * (b * size_m.y / 2.0)
                    })
                    .to_vec()
            }
            d::WallShape::Rectangle {
                centre_m,
                width_m,
                azimuth_deg,
                ..
            } => {
                let (across, _) = along(azimuth_deg);
                [-0.5, 0.5]
                    .map(|a| centre_m.truncate() + across * (a * width_m))
                    .to_vec()
            }
        },
        _ => Vec::new(),
    }
}
