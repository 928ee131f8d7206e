//! What is hidden is left out of plan and side view; it stays in the light, the faces and the
//! frame, because the camera would see it.

use crate::geometry::shape::Shape;
use crate::reading::Readings;
use crate::scene::Solved;
use crate::scene::edit::Marks;
use crate::sheet::subject::Subject;
use crate::snapshot::Snapshot;
use std::sync::Arc;

/// A snapshot to draw from.
pub struct Drawn {
    snapshot: Arc<Snapshot>,
    whole: Arc<Snapshot>,
    /// Faces of those who are left, where somebody is hidden.
    readings: Option<Readings>,
}

impl Drawn {
    #[must_use]
    pub fn new(snapshot: &Arc<Snapshot>, solved: &Solved, marks: &Marks) -> Self {
        let whole = snapshot.clone();
        if marks.hidden.is_empty() {
            return Self {
                snapshot: whole.clone(),
                whole,
                readings: None,
            };
        }
        let hidden = |name: &String| marks.hidden.contains(name);
        let readings = whole.people.iter().any(|p| hidden(&p.name)).then(|| {
            let mut left = solved.readings.clone();
            left.faces.retain(|face| !hidden(&face.name));
            left
        });
        Self {
            snapshot: Arc::new(without(&whole, &hidden)),
            whole,
            readings,
        }
    }

    /// As the sheet sees it: the group, and with it the clock on the ground, stays where it is.
    #[must_use]
    pub fn subject<'a>(&'a self, solved: &'a Solved) -> Subject<'a> {
        let readings = self.readings.as_ref().unwrap_or(&solved.readings);
        let mut subject = Subject::new(&self.snapshot, &solved.engine, &solved.solution, readings);
        subject.group = crate::sheet::view::group(&self.whole);
        subject.twelve = crate::sheet::view::twelve(&self.whole);
        subject
    }
}

fn without(snapshot: &Snapshot, hidden: &dyn Fn(&String) -> bool) -> Snapshot {
    let mut left = snapshot.clone();
    let mut gone: Vec<usize> = Vec::new();
    for panel in left.panels.iter().filter(|p| hidden(&p.name)) {
        gone.extend(&panel.support_surfaces);
    }
    for flash in left.flashes.iter().filter(|f| hidden(&f.name)) {
        gone.extend(&flash.stand);
    }
    for person in left.people.iter().filter(|p| hidden(&p.name)) {
        gone.extend(person.body.iter().chain(&person.hair));
    }
    for (i, surface) in left.stage.surfaces.iter_mut().enumerate() {
        if hidden(&surface.name) || gone.contains(&i) {
            // indices into the list hold, so it is laid where no view reaches
            surface.shape = Shape::Sphere {
                centre: glam::DVec3::new(1e6, 1e6, 0.0),
                radius: 1e-3,
            };
        }
    }
    let stays: Vec<bool> = left.people.iter().map(|p| !hidden(&p.name)).collect();
    let mut kept = stays.iter();
    left.stage
        .heads
        .retain(|_| kept.next().copied().unwrap_or(true));
    left.people.retain(|p| !hidden(&p.name));
    left.panels.retain(|p| !hidden(&p.name));
    left.flashes.retain(|f| !hidden(&f.name));
    left.stage.meters.retain(|m| !hidden(&m.name));
    if let Some(ground) = &mut left.stage.ground {
        ground.zones.retain(|z| !hidden(&z.name));
    }
    left
}
