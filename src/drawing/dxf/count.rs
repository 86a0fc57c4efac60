//! Counts the records of the ENTITIES section without regard to their kinds.
//!
//! In: the bytes. Out: the number, or `None` if the file cannot be counted. The caller compares it with the number of
//! records that were read or reported, so that none gets lost. This count shares only the pair reader with the rest.

use super::pairs::{CodePairs, Value};

/// Number of records in the ENTITIES section.
pub fn records(bytes: &[u8]) -> Option<usize> {
    let mut pairs = CodePairs::open(bytes).ok()?;
    let (mut inside, mut section, mut count) = (false, false, 0);
    while let Some(p) = pairs.read().ok()? {
        match (p.code, p.value) {
            (0, Value::Text(t)) if t.eq_ignore_ascii_case(b"SECTION") => (section, inside) = (true, false),
            (0, Value::Text(t)) if t.eq_ignore_ascii_case(b"ENDSEC") => inside = false,
            (0, Value::Text(t)) if t.eq_ignore_ascii_case(b"EOF") => break,
            (2, Value::Text(t)) if section => (section, inside) = (false, t.eq_ignore_ascii_case(b"ENTITIES")),
            (0, _) if inside => count += 1,
            _ => {}
        }
    }
    Some(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_what_it_does_not_know() {
        let words = "0 SECTION 2 BLOCKS 0 BLOCK 0 LINE 0 ENDBLK 0 ENDSEC 0 SECTION 2 ENTITIES 0 GARBOARD 8 0 0 VERTEX 0 SEQEND \
                     2 ENTITIES 0 ENDSEC 0 SECTION 2 OBJECTS 0 DICTIONARY 0 ENDSEC 0 EOF 0 LINE";
        let text: String = words.split_whitespace().map(|w| format!("{w}\n")).collect();
        assert_eq!(records(text.as_bytes()), Some(3));
        assert_eq!(records(b"no DXF"), None);
    }
}
