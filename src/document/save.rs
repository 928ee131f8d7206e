//! Back to text, and to disk without ever leaving half a file.

use super::error::DocumentError;
use super::load::dialect;
use super::schema::Document;
use ron::ser::PrettyConfig;
use std::io::Write;
use std::path::Path;

impl Document {
    /// The scene as text: the text that it was read from if nothing was edited since; else its
    /// leading comment and every value that is not a default, each exactly.
    ///
    /// # Errors
    /// If a value cannot be written.
    pub fn to_ron_string(&self) -> Result<String, DocumentError> {
        if let Some(text) = self.unedited_text() {
            return Ok(text.to_owned());
        }
        let pretty = PrettyConfig::new()
            .struct_names(false)
            .depth_limit(3)
            .separate_tuple_members(false)
            .new_line("\n");
        let body = plain_none(&dialect().to_string_pretty(self, pretty)?);
        let comment = self.origin.text.as_deref().map_or("", leading_comment);
        Ok(format!("{comment}{body}\n"))
    }

    /// Writes the scene: beside the file, flushed to disk, then renamed over it. A file that
    /// already holds the text is left alone.
    ///
    /// # Errors
    /// If it cannot be written; the old file is then as it was.
    pub fn save(&self, path: impl AsRef<Path>) -> Result<(), DocumentError> {
        let path = path.as_ref();
        let text = self.to_ron_string()?;
        if std::fs::read(path).is_ok_and(|old| old == text.as_bytes()) {
            return Ok(());
        }
        write_atomically(path, text.as_bytes()).map_err(|source| DocumentError::Write {
            file: path.to_owned(),
            source,
        })
    }

    /// The text that it came from, if it still says the same.
    fn unedited_text(&self) -> Option<&str> {
        let text = self.origin.text.as_deref()?;
        let before = Self::parse_unchecked(text, "").ok()?;
        (before == *self).then_some(text)
    }
}

/// Writes bytes so that at every moment the path holds either the old file or the new one.
///
/// # Errors
/// If the folder cannot be written to.
pub fn write_atomically(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    // A link is followed, so that it stays a link.
    let target = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".umbrette-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut beside = builder.tempfile_in(folder)?;
    beside.write_all(bytes)?;
    if let Ok(old) = std::fs::metadata(&target) {
        beside.as_file().set_permissions(old.permissions())?;
    }
    beside.as_file().sync_all()?;
    beside.persist(&target).map_err(|e| e.error)?;
    #[cfg(unix)]
    std::fs::File::open(folder)?.sync_all()?;
    Ok(())
}

/// The writer spells our own word `None` as `r#None`, to tell it from an absent option; the reader
/// needs no such help, and neither does a person. Text in quotes is left alone.
fn plain_none(ron: &str) -> String {
    let mut plain = String::with_capacity(ron.len());
    let (mut quoted, mut escaped) = (false, false);
    let mut rest = ron.chars();
    while let Some(c) = rest.next() {
        if !quoted && c == 'r' && rest.as_str().starts_with("#None") {
            rest.next();
            continue;
        }
        quoted ^= c == '"' && !escaped;
        escaped = quoted && c == '\\' && !escaped;
        plain.push(c);
    }
    plain
}

/// All comments and white space before the scene's first bracket.
fn leading_comment(text: &str) -> &str {
    let mut rest = text;
    loop {
        let trimmed = rest.trim_start_matches('\u{feff}').trim_start();
        let skipped = if trimmed.starts_with("//") {
            trimmed.find('\n').map_or(trimmed.len(), |at| at + 1)
        } else if trimmed.starts_with("/*") {
            block_comment(trimmed)
        } else {
            0
        };
        if skipped == 0 {
            let end = text.len() - trimmed.len();
            let comment = &text[..end];
            return if comment.trim().is_empty() {
                ""
            } else {
                comment
            };
        }
        rest = &trimmed[skipped..];
    }
}

/// Length of the nested block comment that the text starts with.
fn block_comment(text: &str) -> usize {
    let bytes = text.as_bytes();
    let (mut at, mut depth) = (0, 0_usize);
    while at + 1 < bytes.len() {
        match &bytes[at..at + 2] {
            b"/*" => {
                depth += 1;
                at += 2;
            }
            b"*/" => {
                depth = depth.saturating_sub(1);
                at += 2;
                if depth == 0 {
                    return at;
                }
            }
            _ => at += 1,
        }
    }
    text.len()
}
