//! Runs the light: when something in the world changed, the world is frozen, lit and read, and the
//! results are left on its entities.

use super::freeze::{FreezeError, freeze};
use super::world::Parts;
use crate::light::table::{HeadLight, Solution, Table};
use crate::light::transport::Engine;
use crate::light::{sketch, solve, solve_again};
use crate::reading::{FaceReading, Glimpse, Opened, Readings, read};
use crate::snapshot::Snapshot;
use bevy_app::{App, Plugin, Update};
use bevy_ecs::change_detection::DetectChanges;
use bevy_ecs::component::Component;
use bevy_ecs::resource::Resource;
use bevy_ecs::schedule::{IntoScheduleConfigs, SystemSet};
use bevy_ecs::system::{Commands, Local, Res, ResMut};
use bevy_ecs::world::World;
use std::sync::Arc;

/// Loading, editing, freezing, lighting and reading, in this order within one update.
pub struct ScenePlugin;

impl Plugin for ScenePlugin {
    fn build(&self, app: &mut App) {
        app.init_resource::<TimeOverride>()
            .init_resource::<Frozen>()
            .init_resource::<Pending>()
            .init_resource::<Known>()
            .configure_sets(
                Update,
                (
                    SceneSet::Edit,
                    SceneSet::Freeze,
                    SceneSet::Light,
                    SceneSet::Read,
                )
                    .chain(),
            )
            .add_systems(
                Update,
                (
                    freeze_changed.in_set(SceneSet::Freeze),
                    light_frozen.in_set(SceneSet::Light),
                    read_lit.in_set(SceneSet::Read),
                ),
            );
    }
}

/// Freezes what changed at once, by the plugin's own system: for whoever cannot wait for the next
/// update and lights the frozen scene on another thread by [`solve_and_read`].
pub fn freeze_now(world: &mut World) {
    world.init_resource::<TimeOverride>();
    world.init_resource::<Frozen>();
    // a cached system keeps what it has seen between its runs, and has nothing to fail on
    let _ = world.run_system_cached(freeze_changed);
}

/// Lights and reads a frozen scene as the plugin does in its two steps; sooner where the engine
/// `before` was made for nearly the same scene.
#[must_use]
pub fn solve_and_read(snapshot: Arc<Snapshot>, serial: u64, before: Option<&Engine>) -> Solved {
    let (engine, solution) = light(&snapshot, before);
    let readings = read(&snapshot, &engine, &solution);
    Solved {
        snapshot,
        engine: Arc::new(engine),
        solution: Arc::new(solution),
        readings,
        serial,
    }
}

/// A scene that a hand is still changing, lit sooner and nearly, and not yet read.
pub struct Sketched {
    pub snapshot: Arc<Snapshot>,
    pub engine: Arc<Engine>,
    pub solution: Arc<Solution>,
}

impl Sketched {
    /// Lights a frozen scene from light at rest, which is no sketch itself (see [`Engine::sketch`]).
    /// `first` is called when pictures of the faces can be drawn.
    pub fn new(
        snapshot: Arc<Snapshot>,
        rest: &Solved,
        first: impl FnOnce(&Engine, &Solution, &Glimpse),
    ) -> Self {
        let eye = Some(snapshot.camera.position);
        let (engine, solution) = sketch((&rest.engine, &rest.solution), &snapshot.stage, eye);
        let opened = Opened::new(&snapshot, &engine, &solution);
        first(&engine, &solution, &opened.glimpse());
        Self {
            snapshot,
            engine: Arc::new(engine),
            solution: Arc::new(solution),
        }
    }

    /// Reads it.
    #[must_use]
    pub fn read(&self, serial: u64) -> Solved {
        Solved {
            snapshot: self.snapshot.clone(),
            engine: self.engine.clone(),
            solution: self.solution.clone(),
            readings: read(&self.snapshot, &self.engine, &self.solution),
            serial,
        }
    }
}

fn light(snapshot: &Snapshot, before: Option<&Engine>) -> (Engine, Solution) {
    match before {
        Some(before) => solve_again(before, &snapshot.stage),
        None => solve(&snapshot.stage),
    }
}

/// The steps of an update. Whatever changes the scene runs in the first.
#[derive(SystemSet, Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SceneSet {
    Edit,
    Freeze,
    Light,
    Read,
}

/// Another moment than the document's: "HH:MM" or "YYYY-MM-DD HH:MM".
#[derive(Resource, Clone, Debug, Default, PartialEq, Eq)]
pub struct TimeOverride(pub Option<String>);

/// The world as it stood when something last changed, or why it cannot be lit.
#[derive(Resource, Default)]
pub enum Frozen {
    /// Nothing was ever loaded.
    #[default]
    Nothing,
    Scene(Arc<Snapshot>),
    Refused(FreezeError),
}

/// Lit, not yet read.
#[derive(Resource, Default)]
struct Pending(Option<(Arc<Snapshot>, Arc<Engine>, Solution)>);

/// The engine of the scene that was lit last: the next one starts from it.
#[derive(Resource, Default)]
struct Known(Option<Arc<Engine>>);

/// Everything that is known of the scene as it last changed; gone while a scene is refused.
#[derive(Resource)]
pub struct Solved {
    pub snapshot: Arc<Snapshot>,
    /// For further questions: contours, what the camera sees.
    pub engine: Arc<Engine>,
    pub solution: Arc<Solution>,
    pub readings: Readings,
    /// Counts the solutions from 1.
    pub serial: u64,
}

/// On a person: irradiance vertex by vertex.
#[derive(Component, Clone, Debug)]
pub struct Lit(pub HeadLight);

/// On a person: what their face shows.
#[derive(Component, Clone, Debug)]
pub struct Read(pub FaceReading);

/// On a meter: its attributed table; indices are those of [`Solved::solution`].
#[derive(Component, Clone, Debug)]
pub struct Metered(pub Table);

fn freeze_changed(
    mut parts: Parts,
    time: Res<TimeOverride>,
    mut frozen: ResMut<Frozen>,
    mut commands: Commands,
) {
    // asked first, so that removals are counted as seen
    let changed = parts.changed();
    if !changed && (!time.is_changed() || matches!(*frozen, Frozen::Nothing)) {
        return;
    }
    *frozen = match freeze(&parts.document(), time.0.as_deref()) {
        Ok(snapshot) => Frozen::Scene(Arc::new(snapshot)),
        Err(error) => Frozen::Refused(error),
    };
    commands.remove_resource::<Solved>();
    for person in parts.people() {
        commands.entity(person).remove::<(Lit, Read)>();
    }
    for meter in parts.meters() {
        commands.entity(meter).remove::<Metered>();
    }
}

fn light_frozen(
    frozen: Res<Frozen>,
    parts: Parts,
    mut pending: ResMut<Pending>,
    mut known: ResMut<Known>,
    mut commands: Commands,
) {
    if !frozen.is_changed() {
        return;
    }
    let Frozen::Scene(snapshot) = &*frozen else {
        return;
    };
    let (engine, solution) = light(snapshot, known.0.as_deref());
    let engine = Arc::new(engine);
    known.0 = Some(engine.clone());
    for (person, light) in parts.people().into_iter().zip(&solution.heads) {
        commands.entity(person).insert(Lit(light.clone()));
    }
    for (meter, table) in parts.meters().into_iter().zip(&solution.meters) {
        commands.entity(meter).insert(Metered(table.clone()));
    }
    pending.0 = Some((snapshot.clone(), engine, solution));
}

fn read_lit(
    mut pending: ResMut<Pending>,
    parts: Parts,
    mut serial: Local<u64>,
    mut commands: Commands,
) {
    if pending.0.is_none() {
        return;
    }
    let Some((snapshot, engine, solution)) = pending.0.take() else {
        return;
    };
    let readings = read(&snapshot, &engine, &solution);
    for (person, face) in parts.people().into_iter().zip(&readings.faces) {
        commands.entity(person).insert(Read(face.clone()));
    }
    *serial += 1;
    commands.insert_resource(Solved {
        snapshot,
        engine,
        solution: Arc::new(solution),
        readings,
        serial: *serial,
    });
}
