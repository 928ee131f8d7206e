//! `umbrette correct`: the real program; a test frame is built byte by byte.

#[allow(dead_code)]
#[path = "common/program.rs"]
mod program;

use exif::experimental::Writer;
use exif::{Field, In, Rational, Tag, Value as Exif};
use program::{json, scene, umbrette};
use serde_json::Value;

fn tiff(with_setting: bool) -> Vec<u8> {
    let field = |tag: Tag, value: Exif| Field {
        tag,
        ifd_num: In::PRIMARY,
        value,
    };
    let rational = |num: u32, denom: u32| Exif::Rational(vec![Rational { num, denom }]);
    let mut fields = vec![field(
        Tag::DateTimeOriginal,
        Exif::Ascii(vec![b"2026:06:14 19:52:10".to_vec()]),
    )];
    if with_setting {
        fields.push(field(Tag::FNumber, rational(9, 1)));
        fields.push(field(Tag::ExposureTime, rational(1, 200)));
        fields.push(field(Tag::PhotographicSensitivity, Exif::Short(vec![100])));
        fields.push(field(Tag::GPSImgDirection, rational(90, 1)));
    }
    let mut writer = Writer::new();
    fields.iter().for_each(|f| writer.push_field(f));
    let mut bytes = std::io::Cursor::new(Vec::new());
    writer.write(&mut bytes, false).expect("EXIF");
    bytes.into_inner()
}

/// One even 8 x 8 block of sRGB 118 behind the EXIF: baseline, one component, DC alone.
fn jpeg(exif: &[u8]) -> Vec<u8> {
    let mut bytes = vec![0xFF, 0xD8];
    let mut segment = |marker: u8, body: &[u8]| {
        bytes.extend([0xFF, marker]);
        bytes.extend((body.len() as u16 + 2).to_be_bytes());
        bytes.extend(body);
    };
    segment(0xE1, &[b"Exif\0\0", exif].concat());
    segment(0xDB, &[&[0][..], &[8; 64]].concat());
    segment(0xC0, &[8, 0, 8, 0, 8, 1, 1, 0x11, 0]);
    // DC: two codes of two bits, categories 0 and 4; AC: one code of two bits, the end of block.
    let mut lengths = [0u8; 16];
    lengths[1] = 2;
    segment(0xC4, &[&[0x00][..], &lengths, &[0, 4]].concat());
    lengths[1] = 1;
    segment(0xC4, &[&[0x10][..], &lengths, &[0]].concat());
    segment(0xDA, &[1, 1, 0, 0, 63, 0]);
    // 118 - 128 = -10: category 4 (01), 0101; end of block (00).
    bytes.extend([0b0101_0100, 0xFF, 0xD9]);
    bytes
}

/// Definition: readings from the file and the command line, the factors, the written scene.
#[test]
fn readings_put_the_scene_right() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    let told = json(
        path,
        &[
            "correct",
            &scene("rowing-crew"),
            "--json",
            "-o",
            "right.ron",
            "--reading",
            "shade f/4 1/200 ISO 100 dome at stroke",
            "--reading",
            "flash f/5.6 ISO 100 dome at bow towards panel",
        ],
    );
    assert_eq!(told["readings"].as_array().map(Vec::len), Some(2));
    let factor = |name: &str| {
        let list = told["factors"].as_array().expect("factors");
        list.iter()
            .find(|f| f["name"] == name)
            .unwrap_or_else(|| panic!("no {name}"))
            .clone()
    };
    for name in ["sun", "sky", "flash", "panel"] {
        assert!(factor(name)["after_stops"].as_f64() <= factor(name)["before_stops"].as_f64());
    }
    let before = json(path, &["report", &scene("rowing-crew"), "--json"]);
    let after = json(path, &["report", "right.ron", "--json"]);
    let sky = |report: &Value| report["sky"]["horizontal_lux"].as_f64().expect("a sky");
    let ratio = sky(&after) / sky(&before);
    let factor = factor("sky")["factor"].as_f64().expect("a factor");
    assert!((ratio / factor - 1.0).abs() < 2e-3, "{ratio} {factor}");
    // What was written is read again with its reading in the scene.
    let text = std::fs::read_to_string(path.join("right.ron")).expect("a scene");
    let with = text.trim_end().trim_end_matches(')').to_owned()
        + "    readings: [\"shade f/4 1/200 ISO 100 dome at stroke\"],\n)\n";
    std::fs::write(path.join("with.ron"), with).expect("written");
    assert_eq!(
        umbrette(path, &["correct", "with.ron"]).status.code(),
        Some(0)
    );
}

/// Definition: a frame gives its setting and time; a grey card of sRGB 118 is a mid-tone; a face
/// reads what it is said to read.
#[test]
fn a_test_frame() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    std::fs::write(path.join("frame.jpg"), jpeg(&tiff(true))).expect("written");
    let told = json(
        path,
        &[
            "correct",
            &scene("rowing-crew"),
            "--frame",
            "frame.jpg",
            "--grey-card",
            "0.1,0.1,0.8,0.8",
            "--json",
        ],
    );
    assert_eq!(told["frame"]["taken"], "2026-06-14 19:52");
    let text = told["readings"][0]["text"].as_str().expect("a text");
    assert!(text.contains("grey card of bow reads +0.0"), "{text}");
    let number = |path: &str| {
        told.pointer(path)
            .and_then(Value::as_f64)
            .expect("a number")
    };
    assert!((number("/frame/f_number") - 8.98).abs() < 0.01);
    std::fs::write(path.join("frame.tif"), tiff(true)).expect("written");
    let output = umbrette(
        path,
        &[
            "correct",
            &scene("rowing-crew"),
            "--frame",
            "frame.tif",
            "--face-reads",
            "+0.7",
            "--at",
            "stroke",
        ],
    );
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    assert_eq!(output.status.code(), Some(0), "{text}");
    for part in [
        "FRAME",
        "face of stroke reads +0.70",
        "clockwise",
        "MODEL",
        "\u{b1}",
    ] {
        assert!(text.contains(part), "{part} in {text}");
    }
}

/// Definition: files without EXIF, damaged or hostile, and readings that are none, get one clear
/// error and an exit code of their own; nothing is written.
#[test]
fn what_cannot_be_used_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    let whole = jpeg(&tiff(true));
    std::fs::write(path.join("empty.jpg"), b"").expect("written");
    std::fs::write(path.join("text.jpg"), b"no picture at all").expect("written");
    std::fs::write(path.join("bare.jpg"), [0xFF, 0xD8, 0xFF, 0xD9]).expect("written");
    std::fs::write(path.join("no-setting.jpg"), jpeg(&tiff(false))).expect("written");
    std::fs::write(path.join("cut.jpg"), &whole[..whole.len() / 2]).expect("written");
    let mut nonsense = whole.clone();
    nonsense
        .iter_mut()
        .skip(30)
        .step_by(3)
        .for_each(|b| *b ^= 0x5A);
    std::fs::write(path.join("nonsense.jpg"), nonsense).expect("written");
    for file in [
        "empty.jpg",
        "text.jpg",
        "bare.jpg",
        "no-setting.jpg",
        "nonsense.jpg",
        "none.jpg",
    ] {
        let output = umbrette(
            path,
            &[
                "correct",
                &scene("rowing-crew"),
                "--frame",
                file,
                "--face-reads",
                "0",
                "-o",
                "never.ron",
            ],
        );
        assert_eq!(output.status.code(), Some(3), "{file}");
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(
            error.contains(file) && error.lines().count() == 1,
            "{error}"
        );
    }
    let cut = umbrette(
        path,
        &[
            "correct",
            &scene("rowing-crew"),
            "--frame",
            "cut.jpg",
            "--grey-card",
            "0,0,1,1",
            "-o",
            "never.ron",
        ],
    );
    assert_eq!(cut.status.code(), Some(3));
    for wrong in [
        &["--reading", "f/4 at stroke"][..],
        &["--reading", "f/4 1/200 ISO 100 at nobody"],
        &["--frame", "frame.jpg", "--grey-card", "2,2,2,2"],
        &[],
    ] {
        std::fs::write(path.join("frame.jpg"), &whole).expect("written");
        let crew = scene("rowing-crew");
        let all = [&["correct", crew.as_str(), "-o", "never.ron"][..], wrong].concat();
        assert_eq!(umbrette(path, &all).status.code(), Some(2), "{wrong:?}");
    }
    assert!(!path.join("never.ron").exists());
}

/// A TIFF as EXIF has it, with a picture of one colour in its strips: `rgb` and, in its upper left
/// quarter as stored, mid-grey.
fn tiff_picture(bits: u16, rgb: [u16; 3], orientation: u16) -> Vec<u8> {
    let (wide, high) = (40_usize, 20_usize);
    let mut strips = [Vec::new(), Vec::new()];
    for y in 0..high {
        for x in 0..wide {
            let grey = x < wide / 2 && y < high / 2;
            for colour in rgb {
                let value = if grey { 118 } else { colour };
                let strip = &mut strips[y * 2 / high];
                match bits {
                    8 => strip.push(value as u8),
                    _ => strip.extend((value * 257).to_le_bytes()),
                }
            }
        }
    }
    let field = |tag: Tag, value: Exif| Field {
        tag,
        ifd_num: In::PRIMARY,
        value,
    };
    let short = |tag: Tag, value: u16| field(tag, Exif::Short(vec![value]));
    let rational = |num: u32, denom: u32| Exif::Rational(vec![Rational { num, denom }]);
    let fields = [
        field(Tag::FNumber, rational(9, 1)),
        field(Tag::ExposureTime, rational(1, 200)),
        short(Tag::PhotographicSensitivity, 100),
        short(Tag::Orientation, orientation),
        short(Tag::ImageWidth, wide as u16),
        short(Tag::ImageLength, high as u16),
        field(Tag::BitsPerSample, Exif::Short(vec![bits; 3])),
        short(Tag::Compression, 1),
        short(Tag::PhotometricInterpretation, 2),
        short(Tag::SamplesPerPixel, 3),
        short(Tag::RowsPerStrip, high as u16 / 2),
    ];
    let mut writer = Writer::new();
    fields.iter().for_each(|f| writer.push_field(f));
    let parts: Vec<&[u8]> = strips.iter().map(Vec::as_slice).collect();
    writer.set_strips(&parts, In::PRIMARY);
    let mut bytes = std::io::Cursor::new(Vec::new());
    writer.write(&mut bytes, true).expect("a TIFF");
    bytes.into_inner()
}

/// What a grey card in a picture is told to read, or the error; the card's region is given as it is
/// looked at.
fn card(folder: &std::path::Path, file: &str, region: &str) -> Result<String, String> {
    let crew = scene("rowing-crew");
    let arguments = [
        "correct",
        &crew,
        "--frame",
        file,
        "--grey-card",
        region,
        "--at",
        "bow",
        "--json",
    ];
    let output = umbrette(folder, &arguments);
    if output.status.code() == Some(0) {
        let told: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        return Ok(told["readings"][0]["text"]
            .as_str()
            .expect("a text")
            .to_owned());
    }
    assert_eq!(output.status.code(), Some(3), "{file}");
    let error = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(error.lines().count(), 1, "{error}");
    assert!(error.contains(file), "{error}");
    Err(error)
}

/// Definition: sRGB 118 of a TIFF is a mid-tone with 8 bits a colour and with 16, in the strips of
/// the region alone, whichever way up the picture is; twice the light is a stop.
#[test]
fn a_grey_card_in_a_tiff() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    // sRGB 161 is 0.3564 linear (IEC 61966-2-1): 0.985 stop over 0.18.
    let bright = [161, 161, 161];
    for bits in [8, 16] {
        std::fs::write(path.join("frame.tif"), tiff_picture(bits, bright, 1)).expect("written");
        let at = |region: &str| card(path, "frame.tif", region).expect("a reading");
        assert!(
            at("0.1,0.1,0.3,0.3").contains("of bow reads +0.0"),
            "{bits}"
        );
        assert!(
            at("0.6,0.6,0.3,0.3").contains("of bow reads +0.99"),
            "{bits}"
        );
    }
    // Turned to be looked at: the stored upper left is then seen at the upper right (6: row 0 at the
    // right-hand side), at the lower right (3), at the lower left (8).
    for (orientation, region) in [
        (6, "0.6,0.1,0.3,0.3"),
        (3, "0.6,0.6,0.3,0.3"),
        (8, "0.1,0.6,0.3,0.3"),
    ] {
        let bytes = tiff_picture(8, bright, orientation);
        std::fs::write(path.join("turned.tif"), bytes).expect("written");
        let text = card(path, "turned.tif", region).expect("a reading");
        assert!(text.contains("reads +0.0"), "{orientation}: {text}");
    }
}

/// Definition: a TIFF that is cut short, that claims a size which it has not, or whose bytes are
/// damaged anywhere, gets one clear error or a reading, never a panic and never much memory.
#[test]
fn a_damaged_tiff_is_one_error() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path();
    let whole = tiff_picture(8, [161, 161, 161], 1);
    let write = |bytes: &[u8]| std::fs::write(path.join("bad.tif"), bytes).expect("written");
    // Strips come first or last: either way a half has no whole picture.
    write(&whole[..whole.len() / 2]);
    card(path, "bad.tif", "0,0,1,1").expect_err("it is cut");
    // 40 by 20 pixels that say they are 19 000 by 65 535, or none at all.
    let entry = |tag: u16| {
        let key = [tag.to_le_bytes(), 3_u16.to_le_bytes()].concat();
        whole.windows(4).position(|w| w == key).expect("the tag") + 8
    };
    for (wide, high, rows) in [
        (19_000, 65_535, 65_535),
        (0, 20, 10),
        (40, 20, 0),
        (19_999, 19_999, 19_999),
    ] {
        let mut bytes = whole.clone();
        for (tag, value) in [(256, wide), (257, high), (278, rows)] {
            bytes[entry(tag)..entry(tag) + 2].copy_from_slice(&u16::to_le_bytes(value));
        }
        write(&bytes);
        card(path, "bad.tif", "0,0,1,1").expect_err("it is no such picture");
    }
    // A palette, and a packing that is not known.
    for (tag, value) in [(262, 3_u16), (259, 999)] {
        let mut bytes = whole.clone();
        bytes[entry(tag)..entry(tag) + 2].copy_from_slice(&value.to_le_bytes());
        write(&bytes);
        card(path, "bad.tif", "0,0,1,1").expect_err("it cannot be read");
    }
}
