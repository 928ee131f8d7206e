//! Every reference scene can be written in the format, and keeps its values through a save.

use std::path::{Path, PathBuf};
use umbrette::document::Document;

fn folder(name: &str) -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    let mut files: Vec<PathBuf> = std::fs::read_dir(root)
        .expect("the folder is part of the crate")
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|e| e == "ron"))
        .collect();
    files.sort();
    files
}

fn through_text(path: &Path) {
    let document = Document::load(path).unwrap_or_else(|e| panic!("{e}"));
    let mut edited = document.clone();
    edited.title.push_str(" edited");
    let text = edited.to_ron_string().expect("writes");
    let again = Document::parse(&text, "again").unwrap_or_else(|e| panic!("{e}\n{text}"));
    assert_eq!(again, edited, "{}", path.display());
    let unedited = document.to_ron_string().expect("writes");
    assert_eq!(unedited, std::fs::read_to_string(path).expect("readable"));
}

#[test]
fn reference_scenes_are_valid_and_survive_a_save() {
    let files = folder("tests/reference/light/scenes");
    assert_eq!(files.len(), 10);
    files.iter().for_each(|f| through_text(f));
}

/// Reference library: the meters of the tables are the meters of the scenes, at the same places.
#[test]
fn meters_are_those_of_the_traced_table() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/light");
    let mut rows = 0;
    let mut table = csv::Reader::from_path(root.join("results.csv")).expect("table");
    for row in table.records() {
        let row = row.expect("row");
        let scene = Document::load(root.join(format!("scenes/{}.ron", &row[0])))
            .unwrap_or_else(|e| panic!("{e}"));
        let meter = scene
            .meters
            .iter()
            .find(|m| m.name == row[1])
            .expect(&row[1]);
        for (axis, column) in meter.position_m.to_array().iter().zip([3, 4, 5]) {
            assert_eq!(*axis, row[column].parse::<f64>().expect("number"));
        }
        rows += 1;
    }
    assert_eq!(rows, 113);
}

#[test]
fn demo_scenes_are_valid_and_survive_a_save() {
    let files = folder("scenes");
    assert_eq!(files.len(), 5);
    for file in &files {
        through_text(file);
        crate::compose::in_frame(&Document::load(file).expect("valid"));
    }
}
