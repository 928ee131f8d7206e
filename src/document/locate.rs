//! Finds where each field stands in a text that is known to be valid RON, since the parser gives
//! no places afterwards.

use std::collections::HashMap;

/// Line and column (from 1) of every field and list item, by path.
#[derive(Debug, Default)]
pub struct Places(HashMap<String, (usize, usize)>);

impl Places {
    /// Reads a text. Whatever it does not understand it leaves without a place.
    #[must_use]
    pub fn of(text: &str) -> Self {
        let mut scan = Scan {
            chars: text.trim_start_matches('\u{feff}').chars().collect(),
            at: 0,
            line: 1,
            column: 1,
            found: HashMap::new(),
        };
        scan.space();
        while scan.peek() == Some('#') {
            scan.until(']');
            scan.space();
        }
        scan.value("", 0);
        Self(scan.found)
    }

    /// The place of a path, or of the nearest thing round it.
    #[must_use]
    pub fn get(&self, path: &str) -> Option<(usize, usize)> {
        let mut path = path;
        loop {
            if let Some(place) = self.0.get(path) {
                return Some(*place);
            }
            path = &path[..path.rfind(['.', '['])?];
        }
    }
}

/// Deeper than any text that the parser lets through.
const DEEPEST: usize = 256;

struct Scan {
    chars: Vec<char>,
    at: usize,
    line: usize,
    column: usize,
    found: HashMap<String, (usize, usize)>,
}

impl Scan {
    fn peek(&self) -> Option<char> {
        self.chars.get(self.at).copied()
    }

    fn next(&mut self) -> Option<char> {
        let c = self.peek()?;
        self.at += 1;
        if c == '\n' {
            self.line += 1;
            self.column = 1;
        } else {
            self.column += 1;
        }
        Some(c)
    }

    fn until(&mut self, end: char) {
        while self.next().is_some_and(|c| c != end) {}
    }

    /// Skips white space and comments; block comments nest.
    fn space(&mut self) {
        loop {
            match (self.peek(), self.chars.get(self.at + 1)) {
                (Some(c), _) if c.is_whitespace() => {
                    self.next();
                }
                (Some('/'), Some('/')) => self.until('\n'),
                (Some('/'), Some('*')) => {
                    let mut depth = 0_usize;
                    loop {
                        match (self.next(), self.peek()) {
                            (Some('/'), Some('*')) => {
                                self.next();
                                depth += 1;
                            }
                            (Some('*'), Some('/')) => {
                                self.next();
                                depth -= 1;
                                if depth == 0 {
                                    break;
                                }
                            }
                            (None, _) => return,
                            _ => {}
                        }
                    }
                }
                _ => return,
            }
        }
    }

    /// A run of letters, digits and what numbers and paths are made of.
    fn word(&mut self) -> String {
        let mut word = String::new();
        while let Some(c) = self.peek() {
            if !(c.is_alphanumeric() || "_+-.#".contains(c)) {
                break;
            }
            word.push(c);
            self.next();
        }
        word
    }

    fn string(&mut self) {
        self.next();
        while let Some(c) = self.next() {
            match c {
                '\\' => {
                    self.next();
                }
                '"' => return,
                _ => {}
            }
        }
    }

    /// The rest of a raw string after its `r##`.
    fn raw_string(&mut self, hashes: usize) {
        self.next();
        while let Some(c) = self.next() {
            let closing = &self.chars[self.at..self.chars.len().min(self.at + hashes)];
            if c == '"' && closing.len() == hashes && closing.iter().all(|c| *c == '#') {
                for _ in 0..hashes {
                    self.next();
                }
                return;
            }
        }
    }

    fn value(&mut self, path: &str, depth: usize) {
        if depth > DEEPEST {
            return;
        }
        self.space();
        match self.peek() {
            Some('"') => self.string(),
            Some('\'') => {
                self.next();
                self.until('\'');
            }
            Some('(' | '[' | '{') => self.body(path, depth),
            _ => {
                let word = self.word();
                if self.peek() == Some('"') && word.starts_with('r') {
                    self.raw_string(word.len() - 1);
                    return;
                }
                self.space();
                if self.peek() == Some('(') {
                    self.body(path, depth);
                }
            }
        }
    }

    /// What stands between brackets: fields or items.
    fn body(&mut self, path: &str, depth: usize) {
        self.next();
        let mut index = 0_usize;
        loop {
            self.space();
            match self.peek() {
                None => return,
                Some(')' | ']' | '}') => {
                    self.next();
                    return;
                }
                Some(',') => {
                    self.next();
                    continue;
                }
                _ => {}
            }
            let here = (self.line, self.column);
            let before = (self.at, self.line, self.column);
            let word = self.word();
            self.space();
            let inner = if !word.is_empty() && self.peek() == Some(':') {
                self.next();
                if path.is_empty() {
                    word
                } else {
                    format!("{path}.{word}")
                }
            } else {
                (self.at, self.line, self.column) = before;
                index += 1;
                format!("{path}[{}]", index - 1)
            };
            self.found.insert(inner.clone(), here);
            let start = self.at;
            self.value(&inner, depth + 1);
            if self.at == start {
                // Nothing that we know: step over it, so that the scan always ends.
                self.next();
            }
        }
    }
}
