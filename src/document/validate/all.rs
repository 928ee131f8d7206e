//! Walks the whole document, room by room.

use super::check::Check;
use super::{kit, people, site, things};
use crate::document::Mistake;
use crate::document::schema::Document;

/// All that is out of range, dangling, doubled or impossible; empty if the scene is valid.
#[must_use]
pub fn validate(document: &Document) -> Vec<Mistake> {
    let mut check = Check::of(document);
    site::check(document, &mut check);
    people::check(document, &mut check);
    kit::check(document, &mut check);
    things::check(document, &mut check);
    check.finish()
}
