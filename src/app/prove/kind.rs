//! The owner of a JSON document.
//!
//! In: bytes. Out: this program, another program, or incomplete JSON. Keeps only the program's name in memory.

use serde::Deserialize;

/// The owner of a JSON file.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Ours,
    /// Complete JSON of another program.
    Others,
    /// Incomplete JSON, with the reason.
    Spoilt(String),
}

/// The owner of the document in `bytes`.
pub(super) fn kind(bytes: &[u8]) -> Kind {
    #[derive(Deserialize)]
    struct Head {
        tool: Named,
    }
    #[derive(Deserialize)]
    struct Named {
        name: String,
    }
    match serde_json::from_slice::<Head>(bytes) {
        Ok(head) if head.tool.name == env!("CARGO_PKG_NAME") => Kind::Ours,
        Ok(_) => Kind::Others,
        Err(e) if e.is_data() => Kind::Others,
        Err(e) => Kind::Spoilt(e.to_string()),
    }
}

/// Whether the first bytes of a file look like a document of this program.
pub(super) fn starts_like_ours(bytes: &[u8]) -> bool {
    let head: String = String::from_utf8_lossy(&bytes[..bytes.len().min(4096)]).split_whitespace().collect();
    head.contains(concat!("\"name\":\"", env!("CARGO_PKG_NAME"), "\""))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_ours_of_others_and_spoilt() {
        let ours = br#"{"schema": 1, "tool": {"name": "letin", "version": "0"}, "more": [1, {"a": null}]}"#;
        assert_eq!(kind(ours), Kind::Ours);
        for others in [&br#"{"tool": {"name": "other"}}"#[..], b"[1, 2]", b"{}", b"3", br#"{"tool": 5}"#] {
            assert_eq!(kind(others), Kind::Others, "{}", String::from_utf8_lossy(others));
        }
        for n in 0..ours.len() {
            assert!(matches!(kind(&ours[..n]), Kind::Spoilt(_)), "{n}");
            assert_eq!(starts_like_ours(&ours[..n]), n >= 38, "{n}");
        }
    }
}
