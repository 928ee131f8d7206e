//! A drawing as a PNG picture, by way of its SVG and the embedded type.

use super::svg;
use crate::sheet::Drawing;
use crate::sheet::font::{FAMILY, files};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};
use std::sync::Arc;

/// Pictures larger than this on a side are refused, pixels.
const MOST_PIXELS: f64 = 20_000.0;

/// Why a picture could not be made.
#[derive(Debug, thiserror::Error)]
pub enum PngError {
    #[error("{0} dots an inch make a picture of no or too many pixels; take 20 to 600")]
    Size(f64),
    #[error("the drawing could not be read back: {0}")]
    Drawing(String),
    #[error("the picture could not be packed: {0}")]
    Packing(String),
}

/// Options under which our SVG is read: the embedded type and no file of the machine.
#[must_use]
pub fn options() -> Options<'static> {
    let mut fonts = fontdb::Database::new();
    for file in files() {
        fonts.load_font_source(fontdb::Source::Binary(Arc::new(file)));
    }
    fonts.set_sans_serif_family(FAMILY);
    Options {
        font_family: FAMILY.to_owned(),
        fontdb: Arc::new(fonts),
        resources_dir: None,
        ..Options::default()
    }
}

/// Renders a drawing at so many dots an inch.
///
/// # Errors
/// A resolution out of range.
pub fn render(drawing: &Drawing, dpi: f64) -> Result<Vec<u8>, PngError> {
    let scale = dpi / 25.4;
    let width = (drawing.width_mm * scale).round();
    let height = (drawing.height_mm * scale).round();
    if !(width >= 1.0 && height >= 1.0 && width <= MOST_PIXELS && height <= MOST_PIXELS) {
        return Err(PngError::Size(dpi));
    }
    let tree = Tree::from_str(&svg::write(drawing), &options())
        .map_err(|e| PngError::Drawing(e.to_string()))?;
    let mut pixels = Pixmap::new(width as u32, height as u32).ok_or(PngError::Size(dpi))?;
    let fit = Transform::from_scale(
        (width / f64::from(tree.size().width())) as f32,
        (height / f64::from(tree.size().height())) as f32,
    );
    resvg::render(&tree, fit, &mut pixels.as_mut());
    pixels
        .encode_png()
        .map_err(|e| PngError::Packing(e.to_string()))
}
