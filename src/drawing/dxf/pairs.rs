//! Reads the pairs of a DXF file: a group code, its value and its place.
//!
//! In: the bytes, ASCII or binary. Out: one [`CodePair`] after another. Source: the published DXF Reference, "Group
//! codes in numerical order" and "Binary DXF files".
//!
//! Tolerates in ASCII files:
//!
//! * any line ending, and a byte order mark;
//! * blanks around codes and values, and blank lines before a code;
//! * a decimal comma;
//! * an end of file between a code and its value, which the scan reports.
//!
//! Refuses a file that is not DXF, and a code that is not a whole number, with its line.

use crate::drawing::ReadError;

/// The first bytes of every binary DXF file, as the format defines them.
const SENTINEL: &[u8] = b"AutoCAD Binary DXF\r\n\x1a\0";

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value<'a> {
    /// The text of the file, without blanks at either end.
    Text(&'a [u8]),
    Real(f64),
    Int(i64),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CodePair<'a> {
    pub code: i32,
    pub value: Value<'a>,
    /// Line of the code, from 1. In a binary file, the byte offset.
    pub at: usize,
}

impl CodePair<'_> {
    /// The value as a finite number, and whether it has a decimal comma.
    pub fn real(&self) -> Option<(f64, bool)> {
        let (v, comma) = match self.value {
            Value::Real(v) => (v, false),
            #[allow(clippy::cast_precision_loss)]
            Value::Int(v) => (v as f64, false),
            Value::Text(t) => {
                let s = std::str::from_utf8(t).ok()?;
                match s.parse::<f64>() {
                    Ok(v) => (v, false),
                    Err(_) => (s.replacen(',', ".", 1).parse().ok()?, true),
                }
            }
        };
        v.is_finite().then_some((v, comma))
    }

    /// The value as a whole number.
    pub fn int(&self) -> Option<i64> {
        match self.value {
            Value::Int(v) => Some(v),
            Value::Text(t) => std::str::from_utf8(t).ok()?.parse().ok(),
            Value::Real(_) => None,
        }
    }

    /// The value as text, UTF-8 or else Latin-1. `\U+XXXX` becomes the character it encodes.
    pub fn text(&self) -> String {
        match self.value {
            Value::Text(t) => decode(t),
            Value::Real(v) => v.to_string(),
            Value::Int(v) => v.to_string(),
        }
    }

    /// True if the value is this text, ignoring case.
    pub fn is(&self, text: &str) -> bool {
        matches!(self.value, Value::Text(t) if t.eq_ignore_ascii_case(text.as_bytes()))
    }
}

fn decode(bytes: &[u8]) -> String {
    let plain = match std::str::from_utf8(bytes) {
        Ok(s) => s.to_owned(),
        Err(_) => bytes.iter().map(|&b| char::from(b)).collect(),
    };
    if !plain.contains("\\U+") {
        return plain;
    }
    let mut out = String::with_capacity(plain.len());
    let mut rest = plain.as_str();
    while let Some(i) = rest.find("\\U+") {
        let (before, after) = (&rest[..i], &rest[i + 3..]);
        out.push_str(before);
        let code = after.get(..4).and_then(|h| u32::from_str_radix(h, 16).ok()).and_then(char::from_u32);
        if let Some(c) = code {
            out.push(c);
            rest = &after[4..];
        } else {
            out.push_str("\\U+");
            rest = after;
        }
    }
    out.push_str(rest);
    out
}

/// The form of the file.
#[derive(Clone, Copy, Debug)]
enum Form {
    /// Lines end with this byte.
    Ascii { end: u8 },
    /// Codes take one byte (up to R12), or two if `wide`.
    Binary { wide: bool },
}

/// A reader of pairs.
#[derive(Debug)]
pub struct CodePairs<'a> {
    bytes: &'a [u8],
    next: usize,
    line: usize,
    form: Form,
    /// True if a blank line came before a code.
    pub blank_lines: bool,
    /// True if blanks came after the name of a record.
    pub padded: bool,
}

impl<'a> CodePairs<'a> {
    /// Detects the form of the file.
    ///
    /// # Errors
    /// [`ReadError::NotADrawing`] for a file that does not start as DXF, [`ReadError::Empty`] for an empty file.
    pub fn open(bytes: &'a [u8]) -> Result<CodePairs<'a>, ReadError> {
        let no = |why: &str| Err(ReadError::NotADrawing(why.to_owned()));
        if let Some(body) = bytes.strip_prefix(SENTINEL) {
            // The first pair is 0 SECTION. A one-byte code is followed by its text directly; a two-byte code has a zero
            // byte here.
            let wide = body.get(1) == Some(&0);
            let form = Form::Binary { wide };
            return Ok(CodePairs { bytes, next: SENTINEL.len(), line: 0, form, blank_lines: false, padded: false });
        }
        if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
            return no("it is UTF-16; save it as an ASCII DXF");
        }
        if bytes.starts_with(b"AC10") {
            return no("it is a DWG file; save it as DXF");
        }
        let start = if bytes.starts_with(&[0xef, 0xbb, 0xbf]) { 3 } else { 0 };
        if bytes[start..].iter().all(u8::is_ascii_whitespace) {
            return Err(ReadError::Empty);
        }
        let head = &bytes[..bytes.len().min(1 << 16)];
        let end = if head.contains(&b'\n') { b'\n' } else { b'\r' };
        let form = Form::Ascii { end };
        let pairs = CodePairs { bytes, next: start, line: 0, form, blank_lines: false, padded: false };
        let mut look = CodePairs { bytes, next: start, line: 0, form, blank_lines: false, padded: false };
        match look.read() {
            Ok(Some(p)) if p.code == 0 || p.code == 999 => Ok(pairs),
            _ => no("it does not start with a DXF section"),
        }
    }

    pub fn is_binary(&self) -> bool {
        matches!(self.form, Form::Binary { .. })
    }

    /// True if lines end with a carriage return alone.
    pub fn is_cr_only(&self) -> bool {
        matches!(self.form, Form::Ascii { end: b'\r' })
    }

    /// The place `at` as text.
    pub fn place(&self, at: usize) -> String {
        if self.is_binary() { format!("byte {at}") } else { format!("line {at}") }
    }

    /// The next pair; `None` at the end of the file.
    ///
    /// # Errors
    /// [`ReadError::Syntax`] (ASCII) or [`ReadError::Refused`] (binary) for an invalid pair.
    pub fn read(&mut self) -> Result<Option<CodePair<'a>>, ReadError> {
        match self.form {
            Form::Ascii { end } => self.ascii(end),
            Form::Binary { wide } => self.binary(wide),
        }
    }

    fn take_line(&mut self, end: u8) -> Option<&'a [u8]> {
        let rest = self.bytes.get(self.next..).filter(|r| !r.is_empty())?;
        let n = rest.iter().position(|&b| b == end).unwrap_or(rest.len());
        self.next += n + 1;
        self.line += 1;
        Some(trim(&rest[..n]))
    }

    fn ascii(&mut self, end: u8) -> Result<Option<CodePair<'a>>, ReadError> {
        let mut blanks = false;
        let code = loop {
            match self.take_line(end) {
                None => return Ok(None),
                // The end-of-file byte of old systems.
                Some([0x1a, ..]) => return Ok(None),
                Some([]) => blanks = true,
                Some(line) => break line,
            }
        };
        self.blank_lines |= blanks;
        let at = self.line;
        let number = std::str::from_utf8(code).ok().and_then(|s| s.parse::<i32>().ok());
        let Some(number) = number else {
            let shown: String = decode(code).chars().take(24).collect();
            let what = format!("a group code (a whole number) is expected here, not `{shown}`");
            return Err(ReadError::Syntax { line: at, column: 1, what });
        };
        let value_from = self.next;
        match self.take_line(end) {
            Some(value) => {
                let line = self.bytes.get(value_from..self.next.saturating_sub(1)).unwrap_or_default();
                let line = line.strip_suffix(b"\r").unwrap_or(line);
                self.padded |= number == 0 && line.ends_with(b" ");
                Ok(Some(CodePair { code: number, value: Value::Text(value), at }))
            }
            // The file ends between a code and its value. The scan reports the missing EOF mark.
            None => Ok(None),
        }
    }

    fn bytes<const N: usize>(&mut self) -> Option<[u8; N]> {
        let b = self.bytes.get(self.next..self.next.checked_add(N)?)?;
        self.next += N;
        b.try_into().ok()
    }

    fn binary(&mut self, wide: bool) -> Result<Option<CodePair<'a>>, ReadError> {
        if self.next >= self.bytes.len() {
            return Ok(None);
        }
        let at = self.next;
        let cut = || ReadError::Refused { what: format!("byte {at}: the binary DXF file is cut off here") };
        let code = if wide {
            i32::from(i16::from_le_bytes(self.bytes().ok_or_else(cut)?))
        } else {
            match self.bytes().ok_or_else(cut)? {
                [255] => i32::from(i16::from_le_bytes(self.bytes().ok_or_else(cut)?)),
                [b] => i32::from(b),
            }
        };
        let value = match code {
            10..=59 | 110..=149 | 210..=239 | 460..=469 | 1010..=1059 => {
                Value::Real(f64::from_le_bytes(self.bytes().ok_or_else(cut)?))
            }
            60..=79 | 170..=179 | 270..=289 | 370..=389 | 400..=409 | 1060..=1070 => {
                Value::Int(i64::from(i16::from_le_bytes(self.bytes().ok_or_else(cut)?)))
            }
            90..=99 | 420..=429 | 440..=459 | 1071 => {
                Value::Int(i64::from(i32::from_le_bytes(self.bytes().ok_or_else(cut)?)))
            }
            160..=169 => Value::Int(i64::from_le_bytes(self.bytes().ok_or_else(cut)?)),
            290..=299 => Value::Int(i64::from(u8::from_le_bytes(self.bytes().ok_or_else(cut)?))),
            310..=319 | 1004 => {
                let [n] = self.bytes().ok_or_else(cut)?;
                let chunk = self.bytes.get(self.next..self.next + usize::from(n)).ok_or_else(cut)?;
                self.next += usize::from(n);
                Value::Text(chunk)
            }
            0..=9 | 100..=109 | 300..=309 | 320..=369 | 390..=399 | 410..=419 | 430..=439 | 470..=481 | 999..=1009 => {
                let rest = &self.bytes[self.next..];
                let n = rest.iter().position(|&b| b == 0).ok_or_else(cut)?;
                self.next += n + 1;
                Value::Text(trim(&rest[..n]))
            }
            _ => return Err(ReadError::Refused { what: format!("byte {at}: unknown group code {code}") }),
        };
        Ok(Some(CodePair { code, value, at }))
    }
}

fn trim(mut line: &[u8]) -> &[u8] {
    let blank = |b: &u8| b.is_ascii_whitespace() || *b == 0;
    while let [first, rest @ ..] = line
        && blank(first)
    {
        line = rest;
    }
    while let [rest @ .., last] = line
        && blank(last)
    {
        line = rest;
    }
    line
}

/// One record: a `0` pair and the pairs up to the next one, without extended data and application groups.
#[derive(Debug)]
pub struct Record<'a> {
    pub kind: &'a [u8],
    pub at: usize,
    pub pairs: Vec<CodePair<'a>>,
}

/// Most pairs of a record.
const MOST_PAIRS: usize = 4_000_000;

/// Groups pairs into records.
#[derive(Debug)]
pub struct Records<'a> {
    pub pairs: CodePairs<'a>,
    ahead: Option<CodePair<'a>>,
}

impl<'a> Records<'a> {
    pub fn new(pairs: CodePairs<'a>) -> Records<'a> {
        Records { pairs, ahead: None }
    }

    /// The next record. Pairs before the first `0` are comments and are skipped.
    ///
    /// # Errors
    /// The errors of [`CodePairs::read`]. A record of more than four million pairs is refused.
    pub fn read(&mut self) -> Result<Option<Record<'a>>, ReadError> {
        let mut head = self.ahead.take();
        while head.is_none_or(|p| p.code != 0) {
            match self.pairs.read()? {
                Some(p) => head = Some(p),
                None => return Ok(None),
            }
        }
        let Some(head) = head else { return Ok(None) };
        let kind = if let Value::Text(t) = head.value { t } else { &[] };
        let mut record = Record { kind, at: head.at, pairs: Vec::new() };
        if kind.eq_ignore_ascii_case(b"EOF") {
            return Ok(Some(record));
        }
        let mut in_group = false;
        while let Some(p) = self.pairs.read()? {
            match (p.code, p.value) {
                (0, _) => {
                    self.ahead = Some(p);
                    break;
                }
                // Application groups (102 with an opening brace) hold other entities' handles under the same codes.
                (102, Value::Text(t)) => in_group = t.starts_with(b"{"),
                (999.., _) => {}
                _ if in_group => {}
                _ => record.pairs.push(p),
            }
            if record.pairs.len() > MOST_PAIRS {
                let what = format!("{}: a record with more than {MOST_PAIRS} pairs", self.pairs.place(record.at));
                return Err(ReadError::Refused { what });
            }
        }
        Ok(Some(record))
    }
}
