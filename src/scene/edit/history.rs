//! Steps that can be taken back. A gesture (a drag, a value typed) is one step; every change is
//! checked before it reaches the world, so that the world always holds a valid document.

use super::delta::Delta;
use crate::document::{Document, validate};
use crate::scene::{save, store};
use bevy_ecs::resource::Resource;
use bevy_ecs::world::World;
use std::collections::BTreeSet;

/// Names that are locked (nothing moves them) or hidden in plan and side view (they stay in the
/// light).
#[derive(Resource, Clone, Debug, Default, PartialEq, Eq)]
pub struct Marks {
    pub locked: BTreeSet<String>,
    pub hidden: BTreeSet<String>,
}

/// One thing that was done.
#[derive(Clone, Debug)]
struct Step {
    label: String,
    delta: Option<Delta>,
    /// Marks before and after, where they changed.
    marks: Option<Box<(Marks, Marks)>>,
}

/// A gesture that is not finished: how it was before.
#[derive(Clone, Debug)]
struct Open {
    label: String,
    document: Document,
    marks: Marks,
}

/// What was done and undone; unlimited.
#[derive(Resource, Clone, Debug, Default)]
pub struct History {
    done: Vec<Step>,
    undone: Vec<Step>,
    open: Option<Open>,
}

impl History {
    /// What undo would take back.
    #[must_use]
    pub fn last(&self) -> Option<&str> {
        self.done.last().map(|s| s.label.as_str())
    }

    /// What redo would do again.
    #[must_use]
    pub fn next(&self) -> Option<&str> {
        self.undone.last().map(|s| s.label.as_str())
    }

    /// Steps that can be undone, and redone.
    #[must_use]
    pub fn len(&self) -> (usize, usize) {
        (self.done.len(), self.undone.len())
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.done.is_empty() && self.undone.is_empty()
    }

    /// Whether a gesture is under way.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.open.is_some()
    }

    /// The scene as it was when the gesture began.
    #[must_use]
    pub fn before(&self) -> Option<&Document> {
        self.open.as_ref().map(|o| &o.document)
    }
}

/// What came of a change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    Made,
    Nothing,
    /// Would break a rule of the format; says which.
    Refused(String),
}

/// A gesture begins; a second one inside it belongs to it.
pub fn begin(world: &mut World, label: &str) {
    world.init_resource::<History>();
    world.init_resource::<Marks>();
    if world.resource::<History>().is_open() {
        return;
    }
    let document = save(world);
    let marks = world.resource::<Marks>().clone();
    world.resource_mut::<History>().open = Some(Open {
        label: label.to_owned(),
        document,
        marks,
    });
}

/// Brings a changed document into the world, unless it breaks a rule. Inside a gesture it becomes
/// part of it, else it is a step of its own.
pub fn apply(world: &mut World, label: &str, document: Document) -> Change {
    if let Some(mistake) = validate(&document).into_iter().next() {
        return Change::Refused(format!("{}: {}", mistake.path, mistake.what));
    }
    if save(world) == document {
        return Change::Nothing;
    }
    let single = !world
        .get_resource::<History>()
        .is_some_and(History::is_open);
    if single {
        begin(world, label);
    }
    store(world, document);
    if single {
        commit(world);
    }
    Change::Made
}

/// The gesture ends and becomes a step, if it changed anything; whether it did.
pub fn commit(world: &mut World) -> bool {
    let Some(open) = world
        .get_resource_mut::<History>()
        .and_then(|mut h| h.open.take())
    else {
        return false;
    };
    let now = save(world);
    let marks = world.resource::<Marks>().clone();
    let step = Step {
        label: open.label,
        delta: Delta::between(&open.document, &now),
        marks: (open.marks != marks).then(|| Box::new((open.marks, marks))),
    };
    if step.delta.is_none() && step.marks.is_none() {
        return false;
    }
    let mut history = world.resource_mut::<History>();
    history.done.push(step);
    history.undone.clear();
    true
}

/// The gesture never happened.
pub fn cancel(world: &mut World) {
    let open = world
        .get_resource_mut::<History>()
        .and_then(|mut h| h.open.take());
    if let Some(open) = open {
        store(world, open.document);
        world.insert_resource(open.marks);
    }
}

/// Takes the last step back; its label.
pub fn undo(world: &mut World) -> Option<String> {
    step(world, false)
}

/// Does the step that was undone last again; its label.
pub fn redo(world: &mut World) -> Option<String> {
    step(world, true)
}

fn step(world: &mut World, forward: bool) -> Option<String> {
    let mut history = world.get_resource_mut::<History>()?;
    if history.is_open() {
        return None;
    }
    let step = if forward {
        history.undone.pop()
    } else {
        history.done.pop()
    }?;
    if let Some(delta) = &step.delta {
        let mut document = save(world);
        delta.put(&mut document, forward);
        store(world, document);
    }
    if let Some(marks) = &step.marks {
        let side = if forward { &marks.1 } else { &marks.0 };
        world.insert_resource(side.clone());
    }
    let label = step.label.clone();
    let mut history = world.resource_mut::<History>();
    if forward {
        history.done.push(step);
    } else {
        history.undone.push(step);
    }
    Some(label)
}
