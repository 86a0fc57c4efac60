//! Names that look like what was typed, for "did you mean".

/// How like a name a word must be to be taken for a slip: 1 is the same, 0 nothing in common.
const ALIKE: f64 = 0.6;
/// Longer names, bytes, are no names that anyone types.
const LONGEST: usize = 100;
/// So many names are offered for a slip.
const OFFERED: usize = 3;

/// Those of `names` that look like `typed`, the likest first, at most three.
#[must_use]
pub fn alike<'a>(typed: &str, names: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    if typed.len() > LONGEST {
        return Vec::new();
    }
    let typed = typed.trim().to_lowercase().replace(['_', ' '], "-");
    let like = |name: &str| {
        let name = &name.to_lowercase().replace(['_', ' '], "-");
        let whole = strsim::normalized_damerau_levenshtein(&typed, name);
        // One word of a name of two is often all that is remembered.
        let part = name.split('-').map(|w| strsim::normalized_damerau_levenshtein(&typed, w)).fold(0.0, f64::max);
        whole.max(0.9 * part)
    };
    let mut found: Vec<(f64, &str)> = names.filter(|n| n.len() <= LONGEST).map(|n| (like(n), n)).collect();
    found.retain(|(likeness, _)| *likeness >= ALIKE);
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().take(OFFERED).map(|(_, name)| name).collect()
}
