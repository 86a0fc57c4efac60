//! The name of a part of the drawing, in words.

use crate::drawing::Source;

/// The element as text: its kind, name and line.
#[must_use]
pub fn named(s: &Source) -> String {
    let place = s.line.map(|n| format!("line {n}"));
    let line = place.as_ref().map(|p| format!(", {p}")).unwrap_or_default();
    if s.kind.is_empty() || s.id.starts_with(&s.kind) {
        return format!("{}{line}", s.id);
    }
    // An entity without a handle has its line as its id. The name gives that line once.
    let own = place.as_deref().and_then(|p| s.id.strip_suffix(p)).filter(|rest| rest.is_empty() || rest.ends_with('/'));
    match own.map_or(s.id.as_str(), |rest| rest.trim_end_matches('/')) {
        "" => format!("{}{line}", s.kind),
        id => format!("{} {id}{line}", s.kind),
    }
}
