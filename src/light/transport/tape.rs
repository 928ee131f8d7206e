//! What looks met, kept, and asked again only where something moved.

use super::moved::{Candidates, Moved};
use super::world::{Ignore, NOTHING, Note, World};
use glam::DVec3;

/// What one set of looks met, in the order in which it was asked.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Tape {
    lands: Vec<Note>,
    /// What blocks the ways to the sun and to point flashes.
    sun: Vec<u32>,
    flashes: Vec<u32>,
}

impl Tape {
    /// Whether any way to the sun, and to a point flash, was asked for.
    pub fn asks(&self) -> (bool, bool) {
        (!self.sun.is_empty(), !self.flashes.is_empty())
    }

    /// Whether any way to a point flash that was asked for is blocked.
    pub fn hides_flash(&self) -> bool {
        self.flashes.iter().any(|&by| by != NOTHING)
    }

    /// An empty one with room for as much.
    fn with_room_of(other: &Self) -> Self {
        Self {
            lands: Vec::with_capacity(other.lands.len()),
            sun: Vec::with_capacity(other.sun.len()),
            flashes: Vec::with_capacity(other.flashes.len()),
        }
    }
}

/// Answers what rays meet, from an old tape as far as it holds, and writes a new one.
pub(super) struct Ask<'a> {
    world: &'a World,
    old: Option<(&'a Tape, &'a Moved)>,
    tape: Option<Tape>,
    /// Whether an answer was another than before: what is asked after it may be another question.
    strayed: bool,
}

/// What a way leads to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Light {
    Sun,
    Flash,
}

impl<'a> Ask<'a> {
    /// Traces everything and keeps nothing.
    pub fn plain(world: &'a World) -> Self {
        Self {
            world,
            old: None,
            tape: None,
            strayed: false,
        }
    }

    /// Keeps what is met, and starts from what was kept before.
    pub fn kept(world: &'a World, old: Option<(&'a Tape, &'a Moved)>) -> Self {
        Self {
            world,
            old,
            tape: Some(old.map_or_else(Tape::default, |(tape, _)| Tape::with_room_of(tape))),
            strayed: false,
        }
    }

    pub fn into_tape(self) -> Tape {
        self.tape.unwrap_or_default()
    }

    /// What a ray meets first, canopies with gaps aside.
    pub fn land_anywhere(&mut self, from: DVec3, ray: DVec3) -> Note {
        let solid = self.old.map(|(_, moved)| moved.solid());
        let solid = solid.map(|solid| (solid, solid.on_ray(from, ray)));
        self.land(from, ray, |_| true, solid)
    }

    /// What a ray meets first of what `counts`; `candidates` are the moved elements among that,
    /// with the bits of those that the ray may meet.
    pub fn land(
        &mut self,
        from: DVec3,
        ray: DVec3,
        counts: impl Fn(usize) -> bool,
        candidates: Option<(&Candidates, u32)>,
    ) -> Note {
        let before = self.before(|tape, done| tape.lands.get(done.lands.len()).copied());
        let held = before.and_then(|(note, moved)| {
            let (candidates, may) = candidates?;
            let note = moved.note(self.world, (from, ray), note, candidates, may)?;
            Some((note, note))
        });
        let note = held.map_or_else(
            || self.world.note_where(from, ray, counts),
            |(note, _)| note,
        );
        if before.is_some_and(|(old, _)| old != note) {
            self.strayed = true;
        }
        if let Some(tape) = &mut self.tape {
            tape.lands.push(note);
        }
        note
    }

    /// Whether a way to a light is free of all but canopies.
    pub fn is_clear(&mut self, light: Light, from: DVec3, ray: DVec3, distance: f64) -> bool {
        let before = self.before(|tape, done| match light {
            Light::Sun => tape.sun.get(done.sun.len()).copied(),
            Light::Flash => tape.flashes.get(done.flashes.len()).copied(),
        });
        let other = self.old.is_some_and(|(_, moved)| match light {
            Light::Sun => moved.sun,
            Light::Flash => moved.flashes,
        });
        let blocker = before
            .filter(|_| !other)
            .and_then(|(old, moved)| moved.blocker(self.world, from, ray, distance, old))
            .unwrap_or_else(|| self.world.blocker(from, ray, distance, Ignore::default()));
        if let Some(tape) = &mut self.tape {
            match light {
                Light::Sun => tape.sun.push(blocker),
                Light::Flash => tape.flashes.push(blocker),
            }
        }
        blocker == NOTHING
    }

    fn before<T>(&self, pick: impl Fn(&Tape, &Tape) -> Option<T>) -> Option<(T, &'a Moved)> {
        let (old, moved) = self.old.filter(|_| !self.strayed)?;
        let done = self.tape.as_ref()?;
        Some((pick(old, done)?, moved))
    }
}
