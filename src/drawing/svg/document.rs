//! Turns the bytes of a file into an XML document.
//!
//! In: the bytes, in UTF-8, UTF-16 or the encoding that the XML declaration names. Out: the text, and a document with
//! line numbers. Refuses files that are too large, not XML, not SVG or nested too deep, and entities that expand too
//! far. Refuses bytes that are still compressed: the caller unpacks svgz. External entities are never
//! fetched. Source: W3C XML 1.0, sections 2.8, 4.2 to 4.4 and appendix F.

use super::limits;
use crate::drawing::ReadError;
use roxmltree::{Document, Node, ParsingOptions};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Namespace of SVG elements.
pub(super) const SVG: &str = "http://www.w3.org/2000/svg";

/// Decodes the text of the file.
pub(super) fn decode(bytes: &[u8]) -> Result<Cow<'_, str>, ReadError> {
    if bytes.len() > limits::FILE_BYTES {
        return Err(ReadError::Refused {
            what: format!("the file has {} MiB; at most {} MiB are read", bytes.len() >> 20, limits::FILE_BYTES >> 20),
        });
    }
    if bytes.starts_with(&[0x1f, 0x8b]) {
        return Err(ReadError::Refused {
            what: "the file is compressed (svgz); save it as plain SVG, or unpack it with gunzip".into(),
        });
    }
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(ReadError::Empty);
    }
    // A byte order mark outranks the declaration. Zero bytes reveal UTF-16 without a mark.
    let marked = encoding_rs::Encoding::for_bom(bytes).map(|(e, _)| e);
    let guessed = match bytes {
        [b'<', 0, ..] => Some(encoding_rs::UTF_16LE),
        [0, b'<', ..] => Some(encoding_rs::UTF_16BE),
        _ => None,
    };
    let declared = match marked.or(guessed) {
        Some(_) => None,
        None => declared_encoding(bytes)?,
    };
    let encoding = marked.or(guessed).or(declared).unwrap_or(encoding_rs::UTF_8);
    let (text, _, faulty) = encoding.decode(bytes);
    if faulty {
        let line = 1 + text.split('\u{fffd}').next().unwrap_or("").matches('\n').count();
        return Err(ReadError::Syntax {
            line,
            column: 1,
            what: format!(
                "a byte that is not {}; save the file as UTF-8, or let its first line name its encoding",
                encoding.name()
            ),
        });
    }
    Ok(text)
}

/// The encoding named in `<?xml … encoding="…"?>`.
fn declared_encoding(bytes: &[u8]) -> Result<Option<&'static encoding_rs::Encoding>, ReadError> {
    let head = &bytes[..bytes.len().min(200)];
    if !head.starts_with(b"<?xml") {
        return Ok(None);
    }
    let head = String::from_utf8_lossy(head);
    let declaration = head.split("?>").next().unwrap_or("");
    let Some((_, rest)) = declaration.split_once("encoding") else { return Ok(None) };
    let name = rest.trim_start_matches([' ', '=', '\t']).get(1..).unwrap_or("");
    let name = name.split(['"', '\'']).next().unwrap_or("");
    match encoding_rs::Encoding::for_label(name.as_bytes()) {
        // A declaration in ASCII that names UTF-16 must be wrong: UTF-16 text would not be readable here.
        Some(e) if e == encoding_rs::UTF_16LE || e == encoding_rs::UTF_16BE => Ok(None),
        Some(e) => Ok(Some(e)),
        None => Err(ReadError::Syntax {
            line: 1,
            column: 1,
            what: format!("unknown encoding {:?}; save the file as UTF-8", name.escape_debug().to_string()),
        }),
    }
}

/// Parses the document and requires an `svg` element as its root.
pub(super) fn parse(text: &str) -> Result<Document<'_>, ReadError> {
    check_entities(text)?;
    check_attributes(text)?;
    let options = ParsingOptions { allow_dtd: true, nodes_limit: limits::NODES, entity_resolver: None };
    let doc = Document::parse_with_options(text, options).map_err(|e| syntax(text, &e))?;
    let root = doc.root_element();
    if root.tag_name().name() != "svg" || !in_svg(&root) {
        if root.tag_name().name() == "svg" {
            return Err(ReadError::NotADrawing("its root element is an <svg> of another namespace".into()));
        }
        return Err(ReadError::NotADrawing(format!(
            "its root element is <{}>, not <svg>",
            root.tag_name().name().escape_debug()
        )));
    }
    check_depth(&doc)?;
    Ok(doc)
}

/// True if the element counts as SVG. Files without a namespace are read too, because old programs wrote them.
pub(super) fn in_svg(node: &Node) -> bool {
    matches!(node.tag_name().namespace(), None | Some(SVG))
}

fn syntax(text: &str, e: &roxmltree::Error) -> ReadError {
    use roxmltree::Error as E;
    let pos = e.pos();
    let last_line = text.lines().count().max(1);
    let at_end = |what: &str| ReadError::Syntax {
        line: last_line,
        column: 1 + text.lines().last().map_or(0, |l| l.chars().count()),
        what: what.into(),
    };
    match e {
        E::NodesLimitReached | E::AttributesLimitReached | E::NamespacesLimitReached => {
            ReadError::Refused { what: format!("the file has more than {} elements", limits::NODES) }
        }
        E::UnclosedRootNode | E::UnexpectedEndOfStream => {
            at_end("the file ends in the middle: it was cut off, or not fully saved")
        }
        E::NoRootNode => ReadError::NotADrawing("it has no elements".into()),
        _ if !text.trim_start_matches(['\u{feff}', ' ', '\t', '\r', '\n']).starts_with('<') => {
            ReadError::NotADrawing("it does not start with an XML element".into())
        }
        _ => {
            let said = e.to_string();
            let tail = format!(" at {pos}");
            let what = said.strip_suffix(&tail).unwrap_or(&said);
            ReadError::Syntax {
                line: pos.row as usize,
                column: pos.col as usize,
                what: format!("not well-formed XML: {what}"),
            }
        }
    }
}

/// Limits the nesting depth, because `usvg` follows the tree by recursion.
fn check_depth(doc: &Document) -> Result<(), ReadError> {
    let mut depth = 0_usize;
    let mut node = doc.root_element();
    loop {
        if let Some(child) = node.first_element_child() {
            depth += 1;
            if depth > limits::DEPTH {
                let pos = doc.text_pos_at(child.range().start);
                return Err(ReadError::Syntax {
                    line: pos.row as usize,
                    column: pos.col as usize,
                    what: format!("elements are nested more than {} deep; ungroup them", limits::DEPTH),
                });
            }
            node = child;
            continue;
        }
        loop {
            if let Some(next) = node.next_sibling_element() {
                node = next;
                break;
            }
            match node.parent_element() {
                Some(parent) => {
                    depth = depth.saturating_sub(1);
                    node = parent;
                }
                None => return Ok(()),
            }
        }
    }
}

/// Computes the length of the expanded text first. The XML parser limits the depth of entities and the references in
/// one place, but not the total. One long entity in a thousand paths would get past the parser.
fn check_entities(text: &str) -> Result<(), ReadError> {
    let Some(dtd_start) = text.find("<!DOCTYPE") else { return Ok(()) };
    let mut lengths: BTreeMap<&str, u64> = BTreeMap::new();
    let mut rest = &text[dtd_start..];
    // The order of entities does not bound their length: an entity may name a later one. So collect them in file order
    // and compute their lengths in several passes.
    let mut entities: Vec<(&str, &str)> = Vec::new();
    while let Some(i) = rest.find("<!ENTITY") {
        rest = &rest[i + 8..];
        let decl = rest.trim_start();
        let name = decl.split(|c: char| c.is_whitespace()).next().unwrap_or("");
        let after = decl.get(name.len()..).unwrap_or("").trim_start();
        if let Some(q @ ('"' | '\'')) = after.chars().next()
            && let Some(end) = after[1..].find(q)
        {
            entities.push((name, &after[1..=end]));
        }
        if entities.len() > limits::ENTITIES {
            return Err(ReadError::Refused {
                what: format!("the file declares more than {} entities", limits::ENTITIES),
            });
        }
    }
    if entities.is_empty() {
        return Ok(());
    }
    let too_long = |n: u64| n > limits::EXPANDED_BYTES;
    // The parser allows a depth of ten.
    for _ in 0..10 {
        for &(name, value) in &entities {
            let n = expanded(value, &lengths);
            // The first declaration of a name applies, but the longest one is the safe bound.
            let e = lengths.entry(name).or_insert(0);
            *e = (*e).max(n);
        }
    }
    if too_long(expanded(text, &lengths)) {
        return Err(ReadError::Refused {
            what: format!(
                "the entities of the file (<!ENTITY …>) make more than {} MiB of text",
                limits::EXPANDED_BYTES >> 20
            ),
        });
    }
    Ok(())
}

/// Refuses a tag with too many attributes: counts its quoted values, even if the rest is not well-formed.
fn check_attributes(text: &str) -> Result<(), ReadError> {
    let bytes = text.as_bytes();
    let mut i = 0;
    while let Some(open) = text[i..].find('<') {
        let start = i + open;
        let skip = |end: &str| text[start..].find(end).map_or(bytes.len(), |n| start + n + end.len());
        let rest = &text[start..];
        if rest.starts_with("<!--") {
            i = skip("-->");
            continue;
        }
        if rest.starts_with("<![CDATA[") {
            i = skip("]]>");
            continue;
        }
        if rest.starts_with("<?") {
            i = skip("?>");
            continue;
        }
        if rest.starts_with("<!DOCTYPE") {
            // Check its declarations separately, so that a quote in a comment between them does not count.
            i = start + 9;
            continue;
        }
        i = start + 1;
        let mut values = 0;
        while i < bytes.len() && bytes[i] != b'>' {
            if matches!(bytes[i], b'"' | b'\'') {
                values += 1;
                let quote = bytes[i];
                let length = bytes[i + 1..].iter().position(|b| *b == quote);
                // An entity may contain a tag.
                let value = &text[i + 1..length.map_or(bytes.len(), |n| i + 1 + n)];
                if rest.starts_with("<!") && value.contains('<') {
                    check_attributes(value)?;
                }
                i += value.len() + 1;
            }
            i += 1;
        }
        if values > limits::ATTRIBUTES {
            return Err(ReadError::Syntax {
                line: 1 + text[..start].matches('\n').count(),
                column: 1,
                what: format!("an element with more than {} attributes", limits::ATTRIBUTES),
            });
        }
        i = i.min(bytes.len());
    }
    Ok(())
}

/// Length of `text` with the known entities expanded.
fn expanded(text: &str, lengths: &BTreeMap<&str, u64>) -> u64 {
    let mut n = text.len() as u64;
    for part in text.split('&').skip(1) {
        if let Some((name, _)) = part.split_once(';') {
            n = n.saturating_add(lengths.get(name).copied().unwrap_or(0));
        }
    }
    n
}

/// Finds line numbers without counting from the start each time.
pub(super) struct LineIndex(Vec<usize>);

impl LineIndex {
    pub(super) fn new(text: &str) -> LineIndex {
        LineIndex(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i).collect())
    }

    /// The line, from 1, of the byte at `pos`.
    pub(super) fn at(&self, pos: usize) -> usize {
        1 + self.0.partition_point(|&n| n < pos)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn root_of(bytes: &[u8]) -> String {
        let text = decode(bytes).unwrap();
        let doc = parse(&text).unwrap();
        doc.root_element().attribute("id").unwrap_or("").to_string()
    }

    #[test]
    fn encodings() {
        let plain = "<svg xmlns='http://www.w3.org/2000/svg' id='stäv'/>";
        assert_eq!(root_of(plain.as_bytes()), "stäv");
        assert_eq!(root_of(format!("\u{feff}{plain}").as_bytes()), "stäv");
        let declared = format!("<?xml version='1.0' encoding='ISO-8859-1'?>{plain}");
        let latin: Vec<u8> = declared.chars().map(|c| c as u32 as u8).collect();
        assert_eq!(root_of(&latin), "stäv");
        let le: Vec<u8> = std::iter::once(0xfeff).chain(plain.encode_utf16()).flat_map(u16::to_le_bytes).collect();
        let be: Vec<u8> = plain.encode_utf16().flat_map(u16::to_be_bytes).collect();
        assert_eq!(root_of(&le), "stäv");
        assert_eq!(root_of(&be), "stäv");
        let undeclared: Vec<u8> = plain.chars().map(|c| c as u32 as u8).collect();
        assert!(matches!(decode(&undeclared), Err(ReadError::Syntax { line: 1, .. })));
    }

    #[test]
    fn what_is_no_drawing() {
        let err = |s: &str| decode(s.as_bytes()).and_then(|t| parse(&t).map(|_| ())).unwrap_err();
        assert_eq!(err("  \n"), ReadError::Empty);
        assert!(matches!(err("hello"), ReadError::NotADrawing(_)));
        assert!(matches!(err("<html/>"), ReadError::NotADrawing(_)));
        assert!(matches!(err("<svg>\n<g>"), ReadError::Syntax { line: 2, .. }));
        assert!(matches!(err("<svg>\n<g></h></svg>"), ReadError::Syntax { line: 2, column: 4, .. }));
        assert!(matches!(err("\u{1f}\u{8b}x"), ReadError::NotADrawing(_)));
        assert!(matches!(decode(&[0x1f, 0x8b, 8]), Err(ReadError::Refused { .. })));
    }

    #[test]
    fn entities_are_read_and_limited() {
        let good = "<!DOCTYPE svg [<!ENTITY n 'rudder'>]><svg id='&n;'/>";
        assert_eq!(root_of(good.as_bytes()), "rudder");
        let external = "<!DOCTYPE svg [<!ENTITY n SYSTEM 'file:///etc/hostname'>]><svg id='a'>&n;</svg>";
        assert!(parse(external).is_err());
        let long = "M0 0".repeat(50_000);
        let uses = "<path d='&n;'/>".repeat(2000);
        let bomb = format!("<!DOCTYPE svg [<!ENTITY n '{long}'>]><svg>{uses}</svg>");
        assert!(matches!(parse(&bomb), Err(ReadError::Refused { .. })));
    }

    #[test]
    fn thousands_of_attributes_are_refused() {
        let many: String = (0..3000).map(|i| format!(" a{i}='1'")).collect();
        assert!(matches!(parse(&format!("<svg>\n<g{many}/></svg>")), Err(ReadError::Syntax { line: 2, .. })));
        let many = many.replace('\'', "\"");
        let hidden = format!("<!DOCTYPE svg [<!ENTITY e '<g{many}/>'>]><svg>&e;</svg>");
        assert!(matches!(parse(&hidden), Err(ReadError::Syntax { .. })));
        let quiet = "<!DOCTYPE svg [<!-- it's --><!ENTITY n 'a'>]>";
        let groups = "<g a='1'/>".repeat(3000);
        assert!(parse(&format!("{quiet}<svg>{groups}</svg>")).is_ok());
        assert!(parse("<svg><!-- it's --><g a='>'/><![CDATA[ it's < ]]></svg>").is_ok());
    }

    #[test]
    fn fifty_thousand_groups_are_refused_not_crashed_on() {
        let deep = format!("<svg>{}{}</svg>", "<g>".repeat(50_000), "</g>".repeat(50_000));
        assert!(matches!(parse(&deep), Err(ReadError::Syntax { .. })));
        let fine = format!("<svg>{}{}</svg>", "<g>".repeat(400), "</g>".repeat(400));
        assert!(parse(&fine).is_ok());
    }
}
