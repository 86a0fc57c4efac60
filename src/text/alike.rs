//! Finds names similar to a typed word, for "did you mean".

/// Least similarity that counts as a typing slip: 1 is identical, 0 has nothing in common.
const ALIKE: f64 = 0.6;
/// Nobody types longer names, bytes.
const LONGEST: usize = 100;
/// Most names offered for a slip.
const OFFERED: usize = 3;

/// The members of `names` most similar to `typed`, best first, at most three.
#[must_use]
pub fn alike<'a>(typed: &str, names: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    if typed.len() > LONGEST {
        return Vec::new();
    }
    let typed = typed.trim().to_lowercase().replace(['_', ' '], "-");
    let like = |name: &str| {
        let name = &name.to_lowercase().replace(['_', ' '], "-");
        let whole = strsim::normalized_damerau_levenshtein(&typed, name);
        // People often remember only one word of a two-word name.
        let part = name.split('-').map(|w| strsim::normalized_damerau_levenshtein(&typed, w)).fold(0.0, f64::max);
        whole.max(0.9 * part)
    };
    let mut found: Vec<(f64, &str)> = names.filter(|n| n.len() <= LONGEST).map(|n| (like(n), n)).collect();
    found.retain(|(likeness, _)| *likeness >= ALIKE);
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().take(OFFERED).map(|(_, name)| name).collect()
}
