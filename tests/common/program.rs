//! The real program in a folder.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

pub fn umbrette(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_umbrette"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program starts")
}

/// What it says as JSON; it must succeed.
pub fn json(folder: &Path, arguments: &[&str]) -> Value {
    let output = umbrette(folder, arguments);
    let error = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{error}");
    serde_json::from_slice(&output.stdout).expect("JSON")
}

/// A demo scene's file.
pub fn scene(name: &str) -> String {
    format!("{}/scenes/{name}.ron", env!("CARGO_MANIFEST_DIR"))
}

pub fn number(value: &Value, path: &str) -> f64 {
    value
        .pointer(path)
        .and_then(Value::as_f64)
        .unwrap_or_else(|| panic!("no {path} in {value:#}"))
}
