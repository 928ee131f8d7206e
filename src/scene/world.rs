//! A document becomes entities, and entities a document again.

use super::parts as p;
use crate::document::Document;
use bevy_ecs::component::{Component, Mutable};
use bevy_ecs::entity::Entity;
use bevy_ecs::lifecycle::RemovedComponents;
use bevy_ecs::name::Name;
use bevy_ecs::query::{Changed, Or, With};
use bevy_ecs::system::{Query, RunSystemOnce, SystemParam};
use bevy_ecs::world::World;

/// Every entity of a scene goes.
pub fn clear(world: &mut World) {
    let mut all = world.query_filtered::<Entity, With<p::InScene>>();
    let entities: Vec<Entity> = all.iter(world).collect();
    for entity in entities {
        world.despawn(entity);
    }
}

/// Replaces what is in the world by a document, one entity a thing.
pub fn load(world: &mut World, document: Document) {
    clear(world);
    store(world, document);
}

/// Makes the world say what a document says and touches only what differs: entities of things
/// that stay are kept, so that nothing unchanged counts as changed. The text that the heading was
/// read from is kept too.
pub fn store(world: &mut World, document: Document) {
    fn list<T, C>(
        world: &mut World,
        items: Vec<T>,
        name: impl Fn(&T) -> &String,
        part: impl Fn(T) -> C,
    ) where
        C: Component<Mutability = Mutable> + PartialEq,
    {
        let mut query = world.query::<(Entity, &p::Order, &C)>();
        let mut there: Vec<_> = query.iter(world).map(|(e, order, _)| (*order, e)).collect();
        there.sort_unstable();
        let count = items.len();
        for (index, item) in items.into_iter().enumerate() {
            let label = Name::new(name(&item).clone());
            let part = part(item);
            let Some((order, entity)) = there.get(index) else {
                world.spawn((label, p::Order(index), part));
                continue;
            };
            let mut entity = world.entity_mut(*entity);
            if entity.get::<C>() != Some(&part) {
                entity.insert((label, part));
            }
            if order.0 != index {
                entity.insert(p::Order(index));
            }
        }
        for (_, entity) in there.into_iter().skip(count) {
            world.despawn(entity);
        }
    }
    fn one<C>(world: &mut World, name: &'static str, part: Option<C>)
    where
        C: Component<Mutability = Mutable> + PartialEq,
    {
        let mut query = world.query_filtered::<Entity, With<C>>();
        let there = query.iter(world).next();
        match (there, part) {
            (None, Some(part)) => {
                world.spawn((Name::new(name), part));
            }
            (Some(entity), Some(part)) => {
                let mut entity = world.entity_mut(entity);
                if entity.get::<C>() != Some(&part) {
                    entity.insert(part);
                }
            }
            (Some(entity), None) => {
                world.despawn(entity);
            }
            (None, None) => {}
        }
    }
    let d = document;
    let heading = p::Heading {
        format: d.format,
        title: d.title,
        note: d.note,
        origin: d.origin,
    };
    let weather = p::Weather {
        condition: d.condition,
        sky_type: d.sky_type,
        metered: d.metered,
    };
    one(world, "scene", Some(heading));
    one(world, "place", d.place.map(p::Place));
    one(world, "time", d.time.map(p::Time));
    one(world, "weather", Some(weather));
    one(world, "sun", Some(p::Sun(d.sun)));
    one(world, "sky", Some(p::Sky(d.sky)));
    one(world, "ground", d.ground.map(p::Ground));
    one(world, "camera", d.camera.map(p::Camera));
    one(world, "wanted", Some(p::Wanted(d.wanted)));
    one(world, "kit", Some(p::Kit(d.kit)));
    one(world, "readings", Some(p::SiteReadings(d.readings)));
    list(world, d.zones, |x| &x.name, p::Zone);
    list(world, d.people, |x| &x.name, p::Person);
    list(world, d.panels, |x| &x.name, p::Panel);
    list(world, d.flashes, |x| &x.name, p::Flash);
    list(world, d.walls, |x| &x.name, p::Wall);
    list(world, d.canopies, |x| &x.name, p::Canopy);
    list(world, d.solids, |x| &x.name, p::Solid);
    list(world, d.backdrops, |x| &x.name, p::Backdrop);
    list(world, d.meters, |x| &x.name, p::Meter);
}

/// The document that the world stands for; an empty world gives an empty one.
#[must_use]
pub fn save(world: &mut World) -> Document {
    world
        .run_system_once(|parts: Parts| parts.document())
        .unwrap_or_default()
}

type Listed<'w, 's, C> = Query<'w, 's, (Entity, &'static p::Order, &'static C)>;

type AnyChange = Or<(
    Or<(
        Changed<p::Heading>,
        Changed<p::Place>,
        Changed<p::Time>,
        Changed<p::Weather>,
        Changed<p::Sun>,
        Changed<p::Sky>,
        Changed<p::Ground>,
        Changed<p::Camera>,
        Changed<p::Wanted>,
        Changed<p::Kit>,
    )>,
    Or<(
        Changed<p::Order>,
        Changed<p::Zone>,
        Changed<p::Person>,
        Changed<p::Panel>,
        Changed<p::Flash>,
        Changed<p::Wall>,
        Changed<p::Canopy>,
        Changed<p::Solid>,
        Changed<p::Backdrop>,
        Changed<p::Meter>,
    )>,
)>;

/// All parts of the scene as a system sees them.
#[derive(SystemParam)]
pub struct Parts<'w, 's> {
    heading: Query<'w, 's, &'static p::Heading>,
    place: Query<'w, 's, &'static p::Place>,
    time: Query<'w, 's, &'static p::Time>,
    weather: Query<'w, 's, &'static p::Weather>,
    sun: Query<'w, 's, &'static p::Sun>,
    sky: Query<'w, 's, &'static p::Sky>,
    ground: Query<'w, 's, &'static p::Ground>,
    camera: Query<'w, 's, &'static p::Camera>,
    wanted: Query<'w, 's, &'static p::Wanted>,
    kit: Query<'w, 's, &'static p::Kit>,
    readings: Query<'w, 's, &'static p::SiteReadings>,
    zones: Listed<'w, 's, p::Zone>,
    people: Listed<'w, 's, p::Person>,
    panels: Listed<'w, 's, p::Panel>,
    flashes: Listed<'w, 's, p::Flash>,
    walls: Listed<'w, 's, p::Wall>,
    canopies: Listed<'w, 's, p::Canopy>,
    solids: Listed<'w, 's, p::Solid>,
    backdrops: Listed<'w, 's, p::Backdrop>,
    meters: Listed<'w, 's, p::Meter>,
    changes: Query<'w, 's, (), AnyChange>,
    gone: RemovedComponents<'w, 's, p::InScene>,
}

/// Entities of one kind in the document's order; two of one number by their age.
fn in_order<'a, C: Component>(list: &'a Listed<C>) -> Vec<(Entity, &'a C)> {
    let mut all: Vec<_> = list.iter().collect();
    all.sort_by_key(|(entity, order, _)| (**order, *entity));
    all.into_iter().map(|(entity, _, c)| (entity, c)).collect()
}

fn pieces<C: Component, T>(list: &Listed<C>, piece: impl Fn(&C) -> T) -> Vec<T> {
    in_order(list).into_iter().map(|(_, c)| piece(c)).collect()
}

impl Parts<'_, '_> {
    /// Whether anything came, went or changed since this was last asked in the same system.
    pub fn changed(&mut self) -> bool {
        let gone = self.gone.read().count() > 0;
        gone || !self.changes.is_empty()
    }

    /// Entities of the people in the document's order.
    #[must_use]
    pub fn people(&self) -> Vec<Entity> {
        in_order(&self.people).into_iter().map(|(e, _)| e).collect()
    }

    /// Entities of the meters in the document's order.
    #[must_use]
    pub fn meters(&self) -> Vec<Entity> {
        in_order(&self.meters).into_iter().map(|(e, _)| e).collect()
    }

    /// The document that the parts make up.
    #[must_use]
    pub fn document(&self) -> Document {
        fn one<C: Component, T>(part: &Query<&'static C>, piece: impl Fn(&C) -> T) -> Option<T> {
            part.iter().next().map(piece)
        }
        let heading = self.heading.iter().next();
        let weather = self.weather.iter().next();
        Document {
            format: heading.map_or(crate::document::FORMAT, |h| h.format),
            title: heading.map(|h| h.title.clone()).unwrap_or_default(),
            note: heading.map(|h| h.note.clone()).unwrap_or_default(),
            place: one(&self.place, |x| x.0.clone()),
            time: one(&self.time, |x| x.0.clone()),
            condition: weather.map(|w| w.condition).unwrap_or_default(),
            sun: one(&self.sun, |x| x.0.clone()).unwrap_or_default(),
            sky: one(&self.sky, |x| x.0.clone()).unwrap_or_default(),
            sky_type: weather.and_then(|w| w.sky_type),
            metered: weather.map(|w| w.metered).unwrap_or_default(),
            ground: one(&self.ground, |x| x.0.clone()),
            zones: pieces(&self.zones, |x| x.0.clone()),
            camera: one(&self.camera, |x| x.0.clone()),
            people: pieces(&self.people, |x| x.0.clone()),
            panels: pieces(&self.panels, |x| x.0.clone()),
            flashes: pieces(&self.flashes, |x| x.0.clone()),
            walls: pieces(&self.walls, |x| x.0.clone()),
            canopies: pieces(&self.canopies, |x| x.0.clone()),
            solids: pieces(&self.solids, |x| x.0.clone()),
            backdrops: pieces(&self.backdrops, |x| x.0.clone()),
            meters: pieces(&self.meters, |x| x.0.clone()),
            wanted: one(&self.wanted, |x| x.0).unwrap_or_default(),
            kit: one(&self.kit, |x| x.0.clone()).unwrap_or_default(),
            readings: one(&self.readings, |x| x.0.clone()).unwrap_or_default(),
            origin: heading.map(|h| h.origin.clone()).unwrap_or_default(),
        }
    }
}
