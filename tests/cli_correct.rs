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
