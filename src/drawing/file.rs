//! Reads a drawing of either format. The contents decide the format, not the file name.
//!
//! In: the bytes of a file and [`ReadSettings`]. Out: a [`Drawing`]. Compressed files (svgz) are decompressed. A DXF
//! file in UTF-16 is decoded first; the SVG reader decodes its own.
//!
//! A given width needs three readings, because the curve fit depends on the final size. The first reading measures the
//! drawing in its own units. The second measures a large copy. The third uses the unit that gives the width.
//!
//! Refuses whatever the readers refuse, and compressed files that would fill the memory. Source of the compression
//! format: RFC 1952.

use super::{Drawing, ReadError, ReadSettings, Remark, RemarkKind, Unit, dxf, svg};
use crate::budget::Budget;
use std::borrow::Cow;
use std::io::Read;

/// Most bytes that a compressed file may hold.
const UNPACKED: u64 = 64 << 20;

/// The width is measured on a copy of this width, mm. [`CURVE_FIT`](crate::tolerance::CURVE_FIT) is then a negligible
/// part of it.
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
    // The larger the copy, the smaller the share of the fit's error in its width.
    for larger in [(LARGE / width).max(1.0), 1.0] {
        let drawn = once(&bytes, &own, budget)?.bounds.map_or(0.0, |b| b.width());
        let unit = own.unit.map_or(1.0, |u| u.mm);
        mm = width * unit / drawn;
        if !(mm.is_finite() && mm > 0.0) {
            return Err(ReadError::Refused {
                what: "the drawing has no width to scale: --width needs an outline with a width".to_owned(),
            });
        }
        own.unit = Some(Unit { symbol: "unit", mm: mm * larger });
    }
    own.unit = Some(Unit { symbol: "unit", mm });
    let drawing = once(&bytes, &own, budget)?;
    let unit_source = format!("--width {width} mm, the width of everything drawn");
    Ok(Drawing { unit_source, ..drawing })
}

fn unpacked(bytes: &[u8]) -> Result<Cow<'_, [u8]>, ReadError> {
    if !bytes.starts_with(&[0x1f, 0x8b]) {
        return Ok(Cow::Borrowed(bytes));
    }
    let mut out = Vec::new();
    let damaged =
        |e: std::io::Error| ReadError::Refused { what: format!("the file is compressed (gzip) and damaged: {e}") };
    flate2::read::MultiGzDecoder::new(bytes).take(UNPACKED + 1).read_to_end(&mut out).map_err(damaged)?;
    if out.len() as u64 > UNPACKED {
        return Err(ReadError::Refused { what: format!("the compressed file holds more than {} MiB", UNPACKED >> 20) });
    }
    if out.starts_with(&[0x1f, 0x8b]) {
        return Err(ReadError::Refused {
            what: "the file is compressed twice; decompress it once with gunzip".to_owned(),
        });
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
    // A DXF text within the limit takes at most twice as many bytes in UTF-16. The reader refuses anything longer.
    if bytes.len() > 2 * dxf::LARGEST_FILE {
        return dxf::read(bytes, settings, budget);
    }
    let text = encoding.decode(bytes).0;
    let mut drawing = dxf::read(text.as_bytes(), settings, budget)?;
    let kind = RemarkKind::Tolerated { what: "text in UTF-16".to_owned() };
    drawing.remarks.push(Remark { kind, source: None, at: None });
    Ok(drawing)
}

/// True if the first character after any byte order mark and white space is `<`.
fn looks_like_xml(bytes: &[u8]) -> bool {
    let body = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    body.iter().find(|b| !b.is_ascii_whitespace()) == Some(&b'<')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contents_decide_the_format() {
        assert!(looks_like_xml(b"\xEF\xBB\xBF  <svg/>"));
        assert!(looks_like_xml(b"<?xml version=\"1.0\"?>"));
        assert!(!looks_like_xml(b"  0\nSECTION\n"));
        assert!(!looks_like_xml(b""));
    }
}
