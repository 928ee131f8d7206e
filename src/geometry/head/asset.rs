//! The file that a baked head is kept in: little-endian numbers behind a magic word and a version,
//! deflated.
//!
//! What a vertex cannot see is stored as quarters of cells that its own head blocks; what lies
//! below its tangent plane follows from its normal and is not stored.

use super::{Eye, HeadPatch, HeadShape, Landmarks, Region, assemble};
use flate2::{Compression, read::DeflateDecoder, write::DeflateEncoder};
use glam::DVec3;
use std::io::{Read, Write};
use thiserror::Error;

const MAGIC: &[u8; 4] = b"UmHd";
const VERSION: u16 = 1;
/// An asset unpacks to a few megabytes; more is not one of ours.
const LARGEST: u64 = 64 << 20;

/// Why an asset could not be read.
#[derive(Debug, Error, PartialEq, Eq)]
pub enum AssetError {
    #[error("a head asset does not unpack (deflate stream broken or too large); bake it again")]
    Packing,
    #[error("a head asset does not begin with its magic word and version {VERSION}; bake it again")]
    Version,
    #[error("a head asset ends early or is inconsistent at its {0}; bake it again")]
    Content(&'static str),
}

/// Everything that is stored of one head shape.
#[derive(Clone, Debug, Default)]
pub struct RawHead {
    /// Metres, in the head's own frame.
    pub positions: Vec<DVec3>,
    /// Unit, outwards.
    pub normals: Vec<DVec3>,
    pub triangles: Vec<[u32; 3]>,
    pub regions: Vec<Region>,
    pub front: Vec<bool>,
    pub patch_of_triangle: Vec<u8>,
    pub patches: Vec<HeadPatch>,
    pub landmarks: Landmarks,
    /// Vertex by vertex, one byte a cell: quarters above the tangent plane that the head blocks.
    pub blocked: Vec<u8>,
    /// Vertex by vertex: form factors to patches of the same head, before normalisation.
    pub self_transfer: Vec<Vec<(u8, f32)>>,
}

/// Packs a head; see [`decode`].
///
/// # Errors
/// Only if memory cannot be written to.
pub fn encode(raw: &RawHead) -> std::io::Result<Vec<u8>> {
    let mut out = DeflateEncoder::new(Vec::new(), Compression::best());
    out.write_all(MAGIC)?;
    out.write_all(&VERSION.to_le_bytes())?;
    let cells = raw.blocked.len() / raw.positions.len().max(1);
    for count in [
        raw.positions.len(),
        raw.triangles.len(),
        raw.patches.len(),
        cells,
    ] {
        out.write_all(&(count as u32).to_le_bytes())?;
    }
    let mut vector = |v: DVec3| -> std::io::Result<()> {
        v.as_vec3()
            .to_array()
            .iter()
            .try_for_each(|x| out.write_all(&x.to_le_bytes()))
    };
    for &v in raw.positions.iter().chain(&raw.normals) {
        vector(v)?;
    }
    for patch in &raw.patches {
        vector(patch.centroid)?;
        vector(patch.normal)?;
        vector(DVec3::new(patch.area, 0.0, 0.0))?;
    }
    let marks = &raw.landmarks;
    for eye in [&marks.eye_own_left, &marks.eye_own_right] {
        vector(eye.centre)?;
        vector(eye.cornea_centre)?;
        vector(DVec3::new(eye.radius, eye.cornea_radius, 0.0))?;
    }
    for point in [
        marks.sellion,
        marks.pronasale,
        marks.subnasale,
        marks.menton,
        marks.crown,
        marks.tragion_own_left,
        marks.tragion_own_right,
    ] {
        vector(point)?;
    }
    for corner in raw.triangles.iter().flatten() {
        out.write_all(&corner.to_le_bytes())?;
    }
    let regions: Vec<u8> = raw.regions.iter().map(|&r| r as u8).collect();
    let front: Vec<u8> = raw.front.iter().map(|&f| u8::from(f)).collect();
    for bytes in [&regions, &front, &raw.patch_of_triangle, &raw.blocked] {
        out.write_all(bytes)?;
    }
    for row in &raw.self_transfer {
        out.write_all(&[row.len() as u8])?;
        for (patch, _) in row {
            out.write_all(&[*patch])?;
        }
        for (_, weight) in row {
            let steps = (f64::from(*weight) * 65535.0).round().clamp(0.0, 65535.0);
            out.write_all(&(steps as u16).to_le_bytes())?;
        }
    }
    out.finish()
}

/// What is left of an unpacked asset.
struct Left<'a>(&'a [u8]);

impl<'a> Left<'a> {
    fn take(&mut self, count: usize, what: &'static str) -> Result<&'a [u8], AssetError> {
        let (head, tail) = self
            .0
            .split_at_checked(count)
            .ok_or(AssetError::Content(what))?;
        self.0 = tail;
        Ok(head)
    }

    fn count(&mut self, what: &'static str) -> Result<usize, AssetError> {
        let bytes = self.take(4, what)?;
        let count = u32::from_le_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]);
        if count > 1 << 20 {
            return Err(AssetError::Content(what));
        }
        Ok(count as usize)
    }

    fn vectors(&mut self, count: usize, what: &'static str) -> Result<Vec<DVec3>, AssetError> {
        let number = |b: &[u8]| f64::from(f32::from_le_bytes([b[0], b[1], b[2], b[3]]));
        let all: Vec<DVec3> = self
            .take(count * 12, what)?
            .chunks_exact(12)
            .map(|b| DVec3::new(number(b), number(&b[4..]), number(&b[8..])))
            .collect();
        if all.iter().all(|v| v.is_finite()) {
            Ok(all)
        } else {
            Err(AssetError::Content(what))
        }
    }
}

/// Reads an asset.
///
/// # Errors
/// If the bytes are not an asset of this version, or their parts do not fit together.
pub fn decode(bytes: &[u8]) -> Result<RawHead, AssetError> {
    let mut unpacked = Vec::new();
    DeflateDecoder::new(bytes)
        .take(LARGEST)
        .read_to_end(&mut unpacked)
        .map_err(|_| AssetError::Packing)?;
    let mut left = Left(&unpacked);
    let start = left.take(6, "magic").map_err(|_| AssetError::Version)?;
    if start[..4] != MAGIC[..] || start[4..] != VERSION.to_le_bytes() {
        return Err(AssetError::Version);
    }
    let vertices = left.count("vertex count")?;
    let faces = left.count("triangle count")?;
    let patches = left.count("patch count")?;
    let cells = left.count("cell count")?;
    if cells != HeadShape::directions().cells().len() {
        return Err(AssetError::Content("cell count"));
    }
    let mut raw = RawHead {
        positions: left.vectors(vertices, "positions")?,
        normals: left
            .vectors(vertices, "normals")?
            .into_iter()
            .map(DVec3::normalize_or_zero)
            .collect(),
        ..RawHead::default()
    };
    raw.patches = left
        .vectors(patches * 3, "patches")?
        .chunks_exact(3)
        .map(|v| HeadPatch {
            centroid: v[0],
            normal: v[1].normalize_or_zero(),
            area: v[2].x,
        })
        .collect();
    let marks = left.vectors(13, "landmarks")?;
    let eye = |at: usize| Eye {
        centre: marks[at],
        cornea_centre: marks[at + 1],
        radius: marks[at + 2].x,
        cornea_radius: marks[at + 2].y,
    };
    raw.landmarks = Landmarks {
        eye_own_left: eye(0),
        eye_own_right: eye(3),
        sellion: marks[6],
        pronasale: marks[7],
        subnasale: marks[8],
        menton: marks[9],
        crown: marks[10],
        tragion_own_left: marks[11],
        tragion_own_right: marks[12],
    };
    let corner = |b: &[u8]| u32::from_le_bytes([b[0], b[1], b[2], b[3]]);
    raw.triangles = left
        .take(faces * 12, "triangles")?
        .chunks_exact(12)
        .map(|b| [corner(b), corner(&b[4..]), corner(&b[8..])])
        .collect();
    if raw
        .triangles
        .iter()
        .flatten()
        .any(|&c| c as usize >= vertices)
    {
        return Err(AssetError::Content("triangles"));
    }
    raw.regions = left
        .take(vertices, "regions")?
        .iter()
        .map(|&number| Region::from_number(number).ok_or(AssetError::Content("regions")))
        .collect::<Result<_, _>>()?;
    raw.front = left
        .take(vertices, "front")?
        .iter()
        .map(|&f| f != 0)
        .collect();
    raw.patch_of_triangle = left.take(faces, "patch numbers")?.to_vec();
    raw.blocked = left.take(vertices * cells, "openness")?.to_vec();
    for _ in 0..vertices {
        let count = usize::from(left.take(1, "self transfer")?[0]);
        let ids = left.take(count, "self transfer")?;
        let weights = left.take(2 * count, "self transfer")?.chunks_exact(2);
        raw.self_transfer.push(
            ids.iter()
                .zip(weights)
                .map(|(&id, w)| (id, f32::from(u16::from_le_bytes([w[0], w[1]])) / 65535.0))
                .collect(),
        );
    }
    let known = |&id: &u8| usize::from(id) < patches;
    if !raw.patch_of_triangle.iter().all(known)
        || !raw.self_transfer.iter().flatten().all(|(id, _)| known(id))
    {
        return Err(AssetError::Content("patch numbers"));
    }
    Ok(raw)
}

/// Reads an asset into a head that is ready for use.
///
/// # Errors
/// As [`decode`].
pub fn load(name: &str, bytes: &[u8]) -> Result<HeadShape, AssetError> {
    Ok(assemble(name, decode(bytes)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn broken_assets_are_refused() {
        assert_eq!(decode(b"not deflate").unwrap_err(), AssetError::Packing);
        assert_eq!(
            decode(&[]).map(|_| ()).unwrap_err(),
            decode(&[]).map(|_| ()).unwrap_err()
        );
        let whole = encode(&RawHead::default()).unwrap();
        // no cells, so not of this sphere
        assert_eq!(
            decode(&whole).unwrap_err(),
            AssetError::Content("cell count")
        );
    }
}
