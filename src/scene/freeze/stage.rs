//! Puts everything together.

use super::day::Day;
use super::error::FreezeError;
use super::sky::Above;
use super::targets::Places;
use super::{bodies, camera, kit, things};
use crate::document::{Document, Pattern};
use crate::geometry::head::HeadShape;
use crate::geometry::shape::Shape;
use crate::light::stage::{Finish, Kind, Stage, Surface};
use crate::snapshot::{Place, Snapshot, Wanted};
use std::collections::HashSet;

/// A stage in the making, with the names that are taken.
pub(super) struct Build {
    pub stage: Stage,
    taken: HashSet<String>,
}

impl Build {
    fn new(document: &Document) -> Self {
        let d = document;
        let taken = (d.zones.iter().map(|x| &x.name))
            .chain(d.people.iter().map(|x| &x.name))
            .chain(d.panels.iter().map(|x| &x.name))
            .chain(d.flashes.iter().map(|x| &x.name))
            .chain(d.walls.iter().map(|x| &x.name))
            .chain(d.canopies.iter().map(|x| &x.name))
            .chain(d.solids.iter().map(|x| &x.name))
            .chain(d.backdrops.iter().map(|x| &x.name))
            .chain(d.meters.iter().map(|x| &x.name))
            .cloned()
            .collect();
        Self {
            stage: Stage::default(),
            taken,
        }
    }

    /// A name of its own for something that the document does not name: two things of one name
    /// would be one route.
    pub fn name(&mut self, wish: String) -> String {
        let mut name = wish.clone();
        let mut count = 2;
        while !self.taken.insert(name.clone()) {
            name = format!("{wish} {count}");
            count += 1;
        }
        name
    }

    pub fn add(&mut self, surface: Surface) -> usize {
        self.stage.surfaces.push(surface);
        self.stage.surfaces.len() - 1
    }

    /// A surface that is alike all over; gives its index.
    pub fn solid(&mut self, name: &str, kind: Kind, shape: Shape, finish: Finish) -> usize {
        self.add(Surface {
            name: name.to_owned(),
            kind,
            shape,
            front: finish,
            back: finish,
        })
    }
}

/// Resolves a document to one moment: its own, or another by `time` ("HH:MM" on its date, or
/// "YYYY-MM-DD HH:MM", on the clocks of the place).
///
/// # Errors
/// Where a valid document still cannot be lit; says what to do.
pub fn freeze(document: &Document, time: Option<&str>) -> Result<Snapshot, FreezeError> {
    HeadShape::unpack(document.people.iter().map(|person| person.age_years));
    let day = Day::of(document, time)?;
    let above = Above::of(document, day.as_ref())?;
    let places = Places::of(document, above.toward_sun)?;
    let mut build = Build::new(document);
    build.stage.sun = above.sun;
    build.stage.sky = above.sky;
    build.stage.ground = things::ground(document);
    let mut people = Vec::new();
    for (person, body) in document.people.iter().zip(&places.bodies) {
        people.push(bodies::sitter(person, body, &places, &mut build)?);
    }
    document
        .walls
        .iter()
        .for_each(|w| things::wall(w, &mut build));
    document
        .canopies
        .iter()
        .for_each(|c| things::canopy(c, &mut build));
    document
        .solids
        .iter()
        .for_each(|s| things::solid(s, &mut build));
    let backdrops = document
        .backdrops
        .iter()
        .map(|b| things::backdrop(b, &mut build))
        .collect();
    let panels = document
        .panels
        .iter()
        .zip(&places.panels)
        .map(|(panel, place)| kit::panel(panel, *place, &mut build))
        .collect();
    let mut flashes = Vec::new();
    for flash in &document.flashes {
        flashes.push(kit::flash(flash, &places, &mut build)?);
    }
    for meter in &document.meters {
        build.stage.meters.push(things::meter(meter, &places)?);
    }
    let camera = camera::camera(document, &places)?;
    camera::photographer(document, &camera, &mut build);
    let bag = kit::bag(document, &people);
    let doubt = kit::doubt(document, above.doubt);
    let (moment, hours) = day.map_or((None, Vec::new()), |day| (Some(day.moment), day.hours));
    Ok(Snapshot {
        title: document.title.clone(),
        note: document.note.clone(),
        place: document.place.as_ref().map(|place| Place {
            name: place.name.clone(),
            latitude_deg: place.latitude_deg,
            longitude_deg: place.longitude_deg,
            zone: place.zone.clone(),
        }),
        moment,
        north_deg: document.place.as_ref().map_or(0.0, |p| p.north_deg),
        day: hours,
        stage: build.stage,
        camera,
        people,
        panels,
        flashes,
        backdrops,
        wanted: wanted(document),
        kit: bag,
        daylight_uncertainty_stops: above.uncertainty_stops,
        doubt,
    })
}

fn wanted(document: &Document) -> Wanted {
    let wanted = &document.wanted;
    Wanted {
        pattern: wanted.pattern.map(|pattern| {
            let word = match pattern {
                Pattern::Flat => "flat",
                Pattern::Butterfly => "butterfly",
                Pattern::Loop => "loop",
                Pattern::Rembrandt => "Rembrandt",
                Pattern::Split => "split",
                Pattern::FromBelow => "from below",
                Pattern::EdgeOnly => "edge only",
            };
            word.to_owned()
        }),
        lit_to_shadow_stops: wanted.lit_to_shadow_stops,
        key_to_fill_stops: wanted.key_to_fill_stops,
        background_stops: wanted.background_stops,
    }
}
