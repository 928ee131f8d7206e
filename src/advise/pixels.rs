//! How bright a region of a picture is. The bytes may be damaged or hostile: sizes are bounded, only
//! what lies in the region is unpacked where the format allows it, and nothing is trusted.

use crate::light::colour::srgb_decode;
use std::io::Cursor;
use tiff::ColorType;
use tiff::decoder::{Decoder, DecodingResult, Limits};
use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace;
use zune_core::options::DecoderOptions;
use zune_jpeg::JpegDecoder;

/// Largest picture, pixels a side.
const MOST_SIDE: usize = 20_000;
/// Largest strip or tile of a TIFF, bytes once unpacked and while it is unpacked.
const MOST_CHUNK: usize = 256 << 20;
const MOST_PACKED: usize = 128 << 20;

/// Left, top, width and height, shares of the picture.
pub(super) type Region = [f64; 4];

/// Where a region of a picture as it is looked at lies in the picture as it is stored: EXIF's
/// orientation (JEITA CP-3451, tag 274) names the sides at which row 0 and column 0 are seen.
pub(super) fn as_stored([left, top, width, height]: Region, orientation: u32) -> Region {
    let place = |x: f64, y: f64| match orientation {
        2 => (1.0 - x, y),
        3 => (1.0 - x, 1.0 - y),
        4 => (x, 1.0 - y),
        5 => (y, x),
        6 => (y, 1.0 - x),
        7 => (1.0 - y, 1.0 - x),
        8 => (1.0 - y, x),
        _ => (x, y),
    };
    let (a, b) = (place(left, top), place(left + width, top + height));
    let (left, top) = (a.0.min(b.0), a.1.min(b.1));
    [left, top, (a.0 - b.0).abs(), (a.1 - b.1).abs()]
}

/// Mean of a region in linear light, 0 to 1 (sRGB, IEC 61966-2-1: a mid-tone is 0.18 linear, 118 of
/// 255, as ISO 12232's standard output sensitivity has it).
///
/// # Errors
/// In words, if it is no picture that can be read.
pub(super) fn mean_linear(bytes: &[u8], region: Region) -> Result<f64, String> {
    let sum = if bytes.starts_with(b"II") || bytes.starts_with(b"MM") {
        from_tiff(bytes, region)?
    } else {
        from_jpeg(bytes, region)?
    };
    Ok(sum.luminance / f64::max(sum.count, 1.0))
}

#[derive(Default)]
struct Sum {
    luminance: f64,
    count: f64,
}

impl Sum {
    /// sRGB, each 0 to 1.
    fn add(&mut self, rgb: [f64; 3]) {
        let [r, g, b] = rgb.map(srgb_decode);
        self.luminance += 0.2126 * r + 0.7152 * g + 0.0722 * b;
        self.count += 1.0;
    }
}

/// First and last pixel of a share of a side.
fn span(from: f64, share: f64, side: usize) -> (usize, usize) {
    let at = |share: f64| ((share.max(0.0) * side as f64) as usize).min(side.saturating_sub(1));
    (at(from), at(from + share))
}

fn from_jpeg(bytes: &[u8], [left, top, width, height]: Region) -> Result<Sum, String> {
    let options = DecoderOptions::new_safe()
        .set_max_width(MOST_SIDE)
        .set_max_height(MOST_SIDE)
        .jpeg_set_out_colorspace(ColorSpace::RGB);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    let pixels = decoder.decode().map_err(|e| format!("{e:?}"))?;
    let info = decoder.info().ok_or("it has no size")?;
    let (wide, high) = (usize::from(info.width), usize::from(info.height));
    let (columns, rows) = (span(left, width, wide), span(top, height, high));
    let mut sum = Sum::default();
    for y in rows.0..=rows.1 {
        for x in columns.0..=columns.1 {
            let at = (y * wide + x) * 3;
            let rgb = pixels.get(at..at + 3).ok_or("it ends too early")?;
            sum.add([rgb[0], rgb[1], rgb[2]].map(|v| f64::from(v) / 255.0));
        }
    }
    Ok(sum)
}

/// Only the strips or tiles that the region meets.
fn from_tiff(bytes: &[u8], [left, top, width, height]: Region) -> Result<Sum, String> {
    let wrong = |error: tiff::TiffError| error.to_string();
    let mut limits = Limits::default();
    limits.decoding_buffer_size = MOST_CHUNK;
    limits.intermediate_buffer_size = MOST_PACKED;
    let mut decoder = Decoder::new(Cursor::new(bytes))
        .map_err(wrong)?
        .with_limits(limits);
    let (wide, high) = decoder.dimensions().map_err(wrong)?;
    let (wide, high) = (wide as usize, high as usize);
    if wide == 0 || high == 0 || wide > MOST_SIDE || high > MOST_SIDE {
        return Err(format!("{wide} by {high} pixels"));
    }
    // (samples of a pixel, the three that are its colours)
    let (samples, [r, g, b]) = match decoder.colortype().map_err(wrong)? {
        ColorType::Gray(8 | 16) => (1, [0, 0, 0]),
        ColorType::GrayA(8 | 16) => (2, [0, 0, 0]),
        ColorType::RGB(8 | 16) => (3, [0, 1, 2]),
        ColorType::RGBA(8 | 16) => (4, [0, 1, 2]),
        _ => return Err("its colours are not RGB or grey with 8 or 16 bits each".into()),
    };
    let planar = tiff::tags::Tag::PlanarConfiguration;
    let planes = decoder.find_tag_unsigned::<u16>(planar).map_err(wrong)?;
    if samples > 1 && planes == Some(2) {
        return Err("its colours lie apart, one plane after the other".into());
    }
    let (columns, rows) = (span(left, width, wide), span(top, height, high));
    let (across, down) = decoder.chunk_dimensions();
    let (across, down) = (across as usize, down as usize);
    if across == 0 || down == 0 {
        return Err("it has strips without a size".into());
    }
    let mut sum = Sum::default();
    for row in rows.0 / down..=rows.1 / down {
        for column in columns.0 / across..=columns.1 / across {
            let index = row * wide.div_ceil(across) + column;
            let index = u32::try_from(index).map_err(|_| "it has too many strips")?;
            let stride = decoder.chunk_data_dimensions(index).0 as usize;
            let chunk = decoder.read_chunk(index).map_err(wrong)?;
            let value = |at: usize| match &chunk {
                DecodingResult::U8(list) => list.get(at).map(|v| f64::from(*v) / 255.0),
                DecodingResult::U16(list) => list.get(at).map(|v| f64::from(*v) / 65535.0),
                _ => None,
            };
            let (x0, y0) = (column * across, row * down);
            for y in rows.0.max(y0)..=rows.1.min(y0 + down - 1) {
                for x in columns.0.max(x0)..=columns.1.min(x0 + across - 1) {
                    let at = ((y - y0) * stride + x - x0) * samples;
                    let colour = |i: usize| value(at + i).ok_or("it ends too early");
                    sum.add([colour(r)?, colour(g)?, colour(b)?]);
                }
            }
        }
    }
    Ok(sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JEITA CP-3451, tag 274: 6 has row 0 at the right-hand side and column 0 at the top, 8 row 0 at
    /// the left-hand side and column 0 at the bottom, 3 row 0 at the bottom and column 0 at the right.
    #[test]
    fn a_region_is_found_whichever_way_up() {
        let near = |a: Region, b: Region| {
            assert!(a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-12), "{a:?}");
        };
        // The upper left as it is looked at, wider than high.
        let seen = [0.0, 0.0, 0.3, 0.1];
        near(as_stored(seen, 1), seen);
        near(as_stored(seen, 3), [0.7, 0.9, 0.3, 0.1]);
        near(as_stored(seen, 6), [0.0, 0.7, 0.1, 0.3]);
        near(as_stored(seen, 8), [0.9, 0.0, 0.1, 0.3]);
        near(as_stored(seen, 99), seen);
    }
}
