//! The rooms of the house use only those to their left; read from their `use` lines.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

fn sources(folder: &Path, list: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("the source folder is readable") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, list);
        } else if path.extension().is_some_and(|e| e == "rs") {
            list.push(path);
        }
    }
}

#[test]
fn rooms_look_left_only() {
    let may: BTreeMap<&str, &[&str]> = BTreeMap::from([
        ("units", &[][..]),
        ("geometry", &["units"]),
        ("light", &["units", "geometry"]),
        ("snapshot", &["units", "geometry", "light"]),
        ("reading", &["units", "geometry", "light", "snapshot"]),
        (
            "settings",
            &["units", "geometry", "light", "snapshot", "reading"],
        ),
        (
            "sheet",
            &[
                "units", "geometry", "light", "snapshot", "reading", "settings",
            ],
        ),
        (
            "export",
            &[
                "units", "geometry", "light", "snapshot", "reading", "settings", "sheet",
            ],
        ),
        // What lights a scene again to see whether a change would help.
        (
            "advise",
            &[
                "units", "geometry", "light", "snapshot", "reading", "settings", "document",
                "scene",
            ],
        ),
        ("document", &["units"]),
        // The scene makes snapshots, and runs the light and the reading as systems.
        (
            "scene",
            &[
                "units", "document", "geometry", "light", "snapshot", "reading",
            ],
        ),
        // The window sees all but the door that opens it.
        (
            "window",
            &[
                "units", "geometry", "light", "snapshot", "reading", "settings", "sheet", "export",
                "document", "scene", "advise",
            ],
        ),
    ]);
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (room, allowed) in &may {
        let mut files = Vec::new();
        sources(&root.join(room), &mut files);
        for file in files {
            let text = fs::read_to_string(&file).expect("a source file");
            for (number, line) in text.lines().enumerate() {
                let code = line.split("//").next().unwrap_or("");
                for (at, _) in code.match_indices("crate::") {
                    let word: String = code[at + 7..]
                        .chars()
                        .take_while(|c| c.is_ascii_alphanumeric() || *c == '_')
                        .collect();
                    seen += 1;
                    if may.contains_key(word.as_str())
                        && word != *room
                        && !allowed.contains(&word.as_str())
                        || word == "cli"
                    {
                        wrong.push(format!(
                            "{}:{}: {room} uses {word}",
                            file.display(),
                            number + 1
                        ));
                    }
                }
            }
        }
    }
    assert!(seen > 50, "the test found hardly any `use` line: {seen}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The engine of the window is named by the window alone.
#[test]
fn the_core_does_without_the_window() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    for file in files {
        let text = fs::read_to_string(&file).expect("a source file");
        let in_window = file.components().any(|c| c.as_os_str() == "window");
        assert!(
            in_window || !text.contains("use bevy::"),
            "{}",
            file.display()
        );
    }
}
