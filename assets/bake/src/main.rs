//! Makes the head assets of umbrette: shape, mesh, regions, and what a head hides from itself.
//!
//! `cargo run --release -- OUT_FOLDER [--look FOLDER] [NAME...]`: assets go to OUT_FOLDER
//! (`../heads`); with `--look` pictures of the meshes go to a folder and nothing is baked.

mod field;
mod half;
mod make;
mod measure;
mod openness;
mod preview;
mod primitives;
mod regions;
mod remesh;
mod shapes;

use std::path::Path;
use umbrette::geometry::head::asset::encode;

fn main() -> std::io::Result<()> {
    let mut words: Vec<String> = std::env::args().skip(1).collect();
    let look = words.iter().any(|w| w == "--look");
    words.retain(|w| w != "--look");
    let Some(folder) = words.first().cloned() else {
        println!("usage: bake [--look] FOLDER [NAME...]");
        return Ok(());
    };
    for shape in shapes::all() {
        if words.len() > 1 && !words[1..].iter().any(|w| w == shape.name) {
            continue;
        }
        let path = Path::new(&folder).join(shape.name);
        if look {
            shape.measure();
            let (mesh, _) = shape.mesh();
            println!("{}: {mesh:?}", shape.name);
            preview::both(&mesh, &path)?;
            continue;
        }
        let raw = shape.make();
        let packed = encode(&raw)?;
        let nose = raw.regions.iter().filter(|r| r.is_nose()).count();
        println!(
            "{}: {} vertices ({nose} on the nose, {} in front), {} patches, {} bytes",
            shape.name,
            raw.positions.len(),
            raw.front.iter().filter(|&&f| f).count(),
            raw.patches.len(),
            packed.len()
        );
        println!("{:#.4?}", raw.landmarks);
        std::fs::write(path.with_extension("head"), packed)?;
    }
    Ok(())
}
