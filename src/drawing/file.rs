//! Any drawing: what kind of file it is, its contents say and not its name.
//!
//! In: the bytes of a file and [`ReadSettings`]. Out: a [`Drawing`]. Packed files (svgz) are unpacked, files in UTF-16
//! are read as what they hold. A width that the maker gives is met by reading the file three times: to see how wide it is
//! in its own units, to measure that on a large copy, and with the unit that makes it so, because curves are fitted to the size
//! they end with.
//! Refuses what the readers refuse, and packed files that would fill the memory. Source of the packing: RFC 1952.

use super::{Drawing, ReadError, ReadSettings, Remark, RemarkKind, Unit, dxf, svg};
use crate::budget::Budget;
use std::borrow::Cow;
use std::io::Read;

/// Bytes that a packed file may hold.
const UNPACKED: u64 = 64 << 20;

/// A width is measured on a drawing so wide, mm: curves are fitted within 0.0025 mm, which is then no part of it that counts.
const LARGE: f64 = 50_000.0;

/// Reads an SVG or DXF drawing.
///
/// # Errors
/// As [`svg::read`] and [`dxf::read`].
pub fn read(bytes: &[u8], settings: &ReadSettings, budget: &Budget) -> Result<Drawing, ReadError> {
    let bytes = unpacked(bytes)?;
    let Some(width) = settings.width else { return once(&bytes, settings, budget) };
    if !(width.is_finite() && width > 0.0) {
        return Err(ReadError::Refused { what: "the width must be more than 0".to_owned() });
    }
    let mut own =
        ReadSettings { width: None, dpi: None, unit: Some(Unit { symbol: "unit", mm: 1.0 }), ..settings.clone() };
    let mut mm = 1.0;
    // What fitting leaves of a width counts for little beside a very large one.
    for larger in [(LARGE / width).max(1.0), 1.0] {
        let drawn = once(&bytes, &own, budget)?.bounds.map_or(0.0, |b| b.width());
        let unit = own.unit.map_or(1.0, |u| u.mm);
        mm = width * unit / drawn;
        if !(mm.is_finite() && mm > 0.0) {
            return Err(ReadError::Refused {
                what: "nothing in the drawing has a width that could be made to measure".to_owned(),
            });
        }
        own.unit = Some(Unit { symbol: "unit", mm: mm * larger });
    }
    own.unit = Some(Unit { symbol: "unit", mm });
    let drawing = once(&bytes, &own, budget)?;
    let unit_source = format!(
        "the width was given: all that is drawn is made {width} mm wide, so one unit of the drawing is {mm} mm"
    );
    Ok(Drawing { unit_source, ..drawing })
}

fn unpacked(bytes: &[u8]) -> Result<Cow<'_, [u8]>, ReadError> {
    if !bytes.starts_with(&[0x1f, 0x8b]) {
        return Ok(Cow::Borrowed(bytes));
    }
    let mut out = Vec::new();
    let damaged =
        |e: std::io::Error| ReadError::Refused { what: format!("the file is packed (gzip), and damaged: {e}") };
    flate2::read::MultiGzDecoder::new(bytes).take(UNPACKED + 1).read_to_end(&mut out).map_err(damaged)?;
    if out.len() as u64 > UNPACKED {
        return Err(ReadError::Refused { what: format!("the packed file holds more than {} MiB", UNPACKED >> 20) });
    }
    if out.starts_with(&[0x1f, 0x8b]) {
        return Err(ReadError::Refused { what: "the file is packed twice; unpack it with gunzip".to_owned() });
    }
    Ok(Cow::Owned(out))
}

fn once(bytes: &[u8], settings: &ReadSettings, budget: &Budget) -> Result<Drawing, ReadError> {
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(ReadError::Empty);
    }
    let wide = match bytes {
        [0xff, 0xfe, ..] | [_, 0, ..] => Some(encoding_rs::UTF_16LE),
        [0xfe, 0xff, ..] | [0, _, ..] => Some(encoding_rs::UTF_16BE),
        _ => None,
    };
    let Some(encoding) = wide else {
        return if looks_like_xml(bytes) {
            svg::read(bytes, settings, budget)
        } else {
            dxf::read(bytes, settings, budget)
        };
    };
    let head = encoding.decode(&bytes[..bytes.len().min(4096) & !1]).0;
    if head.trim_start().starts_with('<') {
        return svg::read(bytes, settings, budget);
    }
    // Twice as many bytes as any text has that could be read.
    if bytes.len() > 2 * dxf::LARGEST_FILE {
        return dxf::read(bytes, settings, budget);
    }
    let text = encoding.decode(bytes).0;
    let mut drawing = dxf::read(text.as_bytes(), settings, budget)?;
    let kind = RemarkKind::Tolerated { what: "it is in UTF-16".to_owned() };
    drawing.remarks.push(Remark { kind, source: None, at: None });
    Ok(drawing)
}

/// Whether the first thing that is not white space, behind a byte order mark, is a tag.
fn looks_like_xml(bytes: &[u8]) -> bool {
    let body = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    body.iter().find(|b| !b.is_ascii_whitespace()) == Some(&b'<')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contents_tell_what_a_file_is() {
        assert!(looks_like_xml(b"\xEF\xBB\xBF  <svg/>"));
        assert!(looks_like_xml(b"<?xml version=\"1.0\"?>"));
        assert!(!looks_like_xml(b"  0\nSECTION\n"));
        assert!(!looks_like_xml(b""));
    }
}
