//! The stored references: which scenes there are, and what was traced in them.

use super::reference;
use std::collections::HashMap;
use std::path::PathBuf;

/// A value and its standard error.
pub type Traced = (f64, f64);

/// A meter's traced ambient (lux) and flash (lux-seconds).
#[derive(Clone, Debug)]
pub struct Meter {
    pub scene: String,
    pub name: String,
    pub ambient: Traced,
    pub flash: Traced,
}

/// What one receiver gets of one primary, linear RGB.
#[derive(Clone, Debug)]
pub struct Colour {
    pub scene: String,
    pub receiver: String,
    pub of_face: bool,
    pub flash: bool,
    /// 0 red, 1 green, 2 blue.
    pub primary: usize,
    pub value: Traced,
}

/// The traced front of one face.
#[derive(Clone, Debug)]
pub struct Head {
    pub scene: String,
    pub name: String,
    pub vertices: usize,
    /// Tells the posed mesh from another.
    pub moment: f64,
    pub front: Vec<Vertex>,
}

/// One traced vertex.
#[derive(Clone, Copy, Debug)]
pub struct Vertex {
    pub index: usize,
    pub ambient: Traced,
    pub flash: Traced,
}

/// One scene of our own.
#[derive(Clone, Debug)]
pub struct Case {
    pub name: String,
    /// Nothing partly hides a source from its meters.
    pub open: bool,
}

impl Case {
    pub fn file(&self) -> PathBuf {
        reference(&format!("own/scenes/{}.ron", self.name))
    }
}

/// Everything under `reference/own`.
pub struct Own {
    pub scenes: Vec<Case>,
    pub meters: Vec<Meter>,
    pub colours: Vec<Colour>,
    pub heads: Vec<Head>,
}

/// Meters in scenes that were given with their results.
pub struct Given {
    pub scenes: Vec<String>,
    pub meters: Vec<Meter>,
}

/// Rows of a table as columns by name.
fn table(path: &str) -> Vec<HashMap<String, String>> {
    let file = reference(path);
    let mut reader = csv::Reader::from_path(&file)
        .unwrap_or_else(|e| panic!("{}: {e}; make_own.py makes it", file.display()));
    let rows = reader.deserialize();
    rows.map(|r| r.unwrap_or_else(|e| panic!("{}: {e}", file.display())))
        .collect()
}

fn number(row: &HashMap<String, String>, column: &str) -> f64 {
    row[column]
        .parse()
        .unwrap_or_else(|e| panic!("{column} of {row:?}: {e}"))
}

fn traced(row: &HashMap<String, String>, value: &str, error: &str) -> Traced {
    (number(row, value), number(row, error))
}

/// Of the given scenes, those where nothing partly hides a source from a meter.
pub fn is_open(given_scene: &str) -> bool {
    matches!(given_scene, "open_field_clear" | "softbox_distances")
}

pub fn given() -> Given {
    let meters: Vec<Meter> = table("light/results.csv")
        .iter()
        .map(|row| Meter {
            scene: row["scene"].clone(),
            name: row["meter"].clone(),
            ambient: traced(row, "ambient_lx", "ambient_se"),
            flash: traced(row, "flash_lxs", "flash_se"),
        })
        .collect();
    let mut scenes: Vec<String> = meters.iter().map(|m| m.scene.clone()).collect();
    scenes.dedup();
    assert_eq!(scenes.len(), 10, "the given scenes");
    Given { scenes, meters }
}

pub fn own() -> Own {
    let scenes: Vec<Case> = table("own/cases.csv")
        .iter()
        .map(|row| Case {
            name: row["scene"].clone(),
            open: match row["meters"].as_str() {
                "open" => true,
                "edges" => false,
                other => panic!("cases.csv: meters '{other}'; open or edges is read"),
            },
        })
        .collect();
    let runs = table("own/results/runs.csv");
    for case in &scenes {
        let run = runs.iter().find(|r| r["scene"] == case.name);
        let run = run.unwrap_or_else(|| panic!("{}: never traced; run make_own.py", case.name));
        let text = std::fs::read_to_string(case.file()).expect("a scene file");
        let mut crc = flate2::Crc::new();
        crc.update(text.replace("\r\n", "\n").as_bytes());
        assert_eq!(
            format!("{:08x}", crc.sum()),
            run["scene_crc32"],
            "{}: the scene is not the one that was traced; run make_own.py --only {0}",
            case.name
        );
    }
    Own {
        meters: table("own/results/meters.csv")
            .iter()
            .map(|row| Meter {
                scene: row["scene"].clone(),
                name: row["meter"].clone(),
                ambient: traced(row, "ambient_lux", "ambient_se"),
                flash: traced(row, "flash_lux_s", "flash_se"),
            })
            .collect(),
        colours: table("own/results/colours.csv")
            .iter()
            .map(|row| Colour {
                scene: row["scene"].clone(),
                receiver: row["receiver"].clone(),
                of_face: row["what"] == "face mean",
                flash: row["group"] == "flash",
                primary: ["red", "green", "blue"]
                    .iter()
                    .position(|p| *p == row["primary"])
                    .expect("a primary"),
                value: traced(row, "value", "se"),
            })
            .collect(),
        heads: table("own/results/heads.csv").iter().map(head).collect(),
        scenes,
    }
}

fn head(row: &HashMap<String, String>) -> Head {
    let (scene, name) = (row["scene"].clone(), row["head"].clone());
    let front: Vec<Vertex> = table(&format!("own/results/vertices/{scene}--{name}.csv"))
        .iter()
        .map(|row| Vertex {
            index: number(row, "vertex") as usize,
            ambient: traced(row, "ambient_lux", "ambient_se"),
            flash: traced(row, "flash_lux_s", "flash_se"),
        })
        .collect();
    assert_eq!(front.len() as f64, number(row, "front"), "{scene} / {name}");
    Head {
        vertices: number(row, "vertices") as usize,
        moment: number(row, "moment"),
        scene,
        name,
        front,
    }
}
