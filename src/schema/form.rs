//! The form of all documents: numbers, ids, and bounds of lists.

use serde::de::{Deserializer, Error, IgnoredAny, SeqAccess, Visitor};
use serde::{Deserialize, Serialize};
use serde_json::ser::{Formatter, PrettyFormatter, Serializer};
use std::fmt;
use std::io::{Result, Write};
use std::marker::PhantomData;

/// A document as bytes, ending with a newline. Numbers are rounded to 1e-6, never −0; integers have no decimal point;
/// numbers that are not finite are null. The same value gives the same bytes.
///
/// # Errors
/// If `serde_json` cannot write the value.
pub fn bytes(value: &impl Serialize) -> serde_json::Result<Vec<u8>> {
    let mut out = Vec::new();
    value.serialize(&mut Serializer::with_formatter(&mut out, Rounded(PrettyFormatter::new())))?;
    out.push(b'\n');
    Ok(out)
}

/// As [`bytes`], with the keys of every object in alphabetical order.
///
/// # Errors
/// As [`bytes`].
pub fn bytes_by_name(value: &impl Serialize) -> serde_json::Result<Vec<u8>> {
    bytes(&serde_json::to_value(value)?)
}

struct Rounded(PrettyFormatter<'static>);

/// Passes calls on to [`PrettyFormatter`].
macro_rules! passed_on {
    ($($name:ident($($arg:ident: $of:ty)?);)+) => {$(
        fn $name<W: ?Sized + Write>(&mut self, w: &mut W $(, $arg: $of)?) -> Result<()> {
            self.0.$name(w $(, $arg)?)
        }
    )+};
}

impl Formatter for Rounded {
    fn write_f64<W: ?Sized + Write>(&mut self, w: &mut W, v: f64) -> Result<()> {
        let v = (v * 1e6).round() / 1e6;
        // Integers below 2^53 convert without loss.
        match v {
            v if !v.is_finite() => self.write_null(w),
            v if v.fract() == 0.0 && v.abs() < 9e15 => self.write_i64(w, v as i64),
            v => self.0.write_f64(w, v),
        }
    }

    passed_on! {
        begin_array(); end_array(); begin_array_value(first: bool); end_array_value();
        begin_object(); end_object(); begin_object_key(first: bool); begin_object_value(); end_object_value();
    }
}

/// The schema's version: 1.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(into = "u32", try_from = "u32")]
pub struct Version;

impl From<Version> for u32 {
    fn from(_: Version) -> u32 {
        1
    }
}

impl TryFrom<u32> for Version {
    type Error = String;

    fn try_from(schema: u32) -> std::result::Result<Version, String> {
        let other = || format!("it has schema {schema}, and this version of letin reads schema 1");
        (schema == 1).then_some(Version).ok_or_else(other)
    }
}

/// The number of an outline, as its id: `outline-3`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
#[serde(into = "String", try_from = "String")]
pub struct OutlineId(pub usize);

impl fmt::Display for OutlineId {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "outline-{}", self.0)
    }
}

impl From<OutlineId> for String {
    fn from(id: OutlineId) -> String {
        id.to_string()
    }
}

impl TryFrom<String> for OutlineId {
    type Error = String;

    fn try_from(id: String) -> std::result::Result<OutlineId, String> {
        let number = id.strip_prefix("outline-").and_then(|n| n.parse().ok());
        number.map(OutlineId).ok_or_else(|| format!("{id} is not the id of an outline"))
    }
}

/// Most findings of a document, and most texts of one list.
const MOST: usize = 1_000_000;

/// A list of at most [`MOST`] entries, for `deserialize_with`. An empty text takes eight times its size in memory; other
/// entries take a few times their size and need no bound.
pub(super) fn few<'de, D: Deserializer<'de>, T: Deserialize<'de>>(from: D) -> std::result::Result<Vec<T>, D::Error> {
    struct Few<T>(PhantomData<T>);
    impl<'de, T: Deserialize<'de>> Visitor<'de> for Few<T> {
        type Value = Vec<T>;

        fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
            write!(f, "a list of at most {MOST} entries")
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> std::result::Result<Vec<T>, A::Error> {
            let mut out = Vec::new();
            while out.len() < MOST {
                match list.next_element()? {
                    Some(entry) => out.push(entry),
                    None => return Ok(out),
                }
            }
            match list.next_element::<IgnoredAny>()? {
                None => Ok(out),
                Some(_) => Err(A::Error::invalid_length(MOST + 1, &self)),
            }
        }
    }
    from.deserialize_seq(Few(PhantomData))
}
