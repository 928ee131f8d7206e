//! Saving: whole files only, every value exactly, the leading comment kept, no needless write.

use proptest::prelude::*;
use umbrette::document::{Document, DocumentError};

const TEXT: &str = "// The crew.\n/* Two /* nested */ lines. */\n\n(\n    format: 1, // here\n    \
     sun: None, sky: None,\n    ground: Grey(0.1),\n)\n";

#[test]
fn an_unedited_scene_is_never_rewritten() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("crew.ron");
    std::fs::write(&path, TEXT).expect("written");
    let old = std::time::SystemTime::UNIX_EPOCH + std::time::Duration::from_secs(1_000_000);
    let file = std::fs::File::options()
        .write(true)
        .open(&path)
        .expect("opened");
    file.set_modified(old).expect("an old date");
    Document::load(&path)
        .expect("valid")
        .save(&path)
        .expect("saved");
    let modified = std::fs::metadata(&path)
        .expect("there")
        .modified()
        .expect("a date");
    assert_eq!(modified, old);
    assert_eq!(std::fs::read_to_string(&path).expect("read"), TEXT);
    // Under another name it is the same text to the byte.
    let other = folder.path().join("other.ron");
    Document::load(&path)
        .expect("valid")
        .save(&other)
        .expect("saved");
    assert_eq!(std::fs::read_to_string(&other).expect("read"), TEXT);
}

#[test]
fn an_edited_scene_keeps_its_leading_comment_and_leaves_nothing_beside() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("crew.ron");
    std::fs::write(&path, TEXT).expect("written");
    let mut scene = Document::load(&path).expect("valid");
    scene.title = "Crew".into();
    scene.note = "a \"r#None\" in quotes stays".into();
    scene.save(&path).expect("saved");
    let text = std::fs::read_to_string(&path).expect("read");
    assert_eq!(
        text,
        "// The crew.\n/* Two /* nested */ lines. */\n\n(\n    format: 1,\n    title: \"Crew\",\n    \
         note: \"a \\\"r#None\\\" in quotes stays\",\n    sun: None,\n    sky: None,\n    ground: Grey(0.1),\n)\n"
    );
    assert_eq!(std::fs::read_dir(folder.path()).expect("read").count(), 1);
    assert_eq!(Document::load(&path).expect("valid"), scene);
}

#[cfg(unix)]
#[test]
fn links_and_permissions_stay() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().expect("a folder");
    let (path, link) = (
        folder.path().join("crew.ron"),
        folder.path().join("link.ron"),
    );
    std::fs::write(&path, TEXT).expect("written");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o640)).expect("set");
    std::os::unix::fs::symlink(&path, &link).expect("linked");
    let mut scene = Document::load(&link).expect("valid");
    scene.title = "Crew".into();
    scene.save(&link).expect("saved");
    assert!(
        std::fs::symlink_metadata(&link)
            .expect("there")
            .is_symlink()
    );
    assert_eq!(
        std::fs::metadata(&path)
            .expect("there")
            .permissions()
            .mode()
            & 0o777,
        0o640
    );
    assert_eq!(Document::load(&path).expect("valid").title, "Crew");
}

#[test]
fn a_file_that_cannot_be_read_or_written_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let nowhere = folder.path().join("no").join("crew.ron");
    let read = Document::load(&nowhere).expect_err("not there");
    assert!(matches!(read, DocumentError::Read { .. }) && read.to_string().contains("crew.ron"));
    let scene = Document::parse(TEXT, "crew.ron").expect("valid");
    let write = scene.save(&nowhere).expect_err("no folder");
    assert!(write.to_string().contains("as it was before"), "{write}");
    let bytes = folder.path().join("bytes.ron");
    std::fs::write(&bytes, [0xff, 0xfe, 0x00]).expect("written");
    let text = Document::load(&bytes).expect_err("no text");
    assert!(text.to_string().contains("UTF-8"), "{text}");
}

proptest! {
    // A fixed seed makes the same cases each time.
    #![proptest_config(ProptestConfig {
        cases: 300,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(7),
        ..ProptestConfig::default()
    })]

    /// Any number and any text come back bit for bit.
    #[test]
    fn values_survive_exactly(
        x in -1000.0..1000.0_f64,
        y in prop::num::f64::NORMAL.prop_filter("in range", |v| v.abs() <= 1000.0),
        skin in 0.04..0.45_f64,
        note in "\\PC{0,60}",
        name in "[\\PC&&[^\\s]]{1,20}",
    ) {
        let mut scene = Document::parse(
            "(format: 1, sun: None, sky: None, camera: (position_m: (0, -3), target: Azimuth(0)),\
             people: [(name: \"a\", position_m: (0, 0))])",
            "one",
        ).expect("valid");
        scene.people[0].position_m = glam::DVec2::new(x, y);
        scene.people[0].skin_reflectance = skin;
        scene.people[0].name = name;
        scene.note = note;
        let text = scene.to_ron_string().expect("writes");
        let again = Document::parse(&text, "again").map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(again.people[0].position_m.to_array().map(f64::to_bits), [x, y].map(f64::to_bits));
        prop_assert_eq!(again, scene);
    }

    /// No text at all makes the reader panic or hang.
    #[test]
    fn any_text_is_read_or_refused(noise in "[\\PC\\n]{0,80}", cut in 0..1500_usize, at in 0..1500_usize) {
        let _ = Document::parse(&noise, "noise");
        let whole = include_str!("../../scenes/rowing-crew.ron");
        let start: String = whole.chars().take(cut).collect();
        let end: String = whole.chars().skip(at).collect();
        let _ = Document::parse(&(start + &noise + &end), "noise");
    }
}
