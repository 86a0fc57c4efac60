//! Reads the numbers of one record. A message gives the line of a missing or invalid number.

use super::entity::P3;
use super::pairs::{CodePair, Record};
use super::remarks::Notes;

/// Reads the numbers of one record.
pub struct Fields<'r, 'a> {
    pub record: &'r Record<'a>,
    pub binary: bool,
    pub notes: &'r mut Notes,
}

impl<'r, 'a> Fields<'r, 'a> {
    pub fn new(record: &'r Record<'a>, binary: bool, notes: &'r mut Notes) -> Self {
        Fields { record, binary, notes }
    }

    pub fn place(&self, at: usize) -> String {
        if self.binary { format!("byte {at}") } else { format!("line {at}") }
    }

    pub fn first(&self, code: i32) -> Option<CodePair<'a>> {
        self.record.pairs.iter().find(|p| p.code == code).copied()
    }

    /// All pairs of the record.
    pub fn pairs(&self) -> &'r [CodePair<'a>] {
        &self.record.pairs
    }

    pub fn value(&mut self, p: &CodePair) -> Result<f64, String> {
        match p.real() {
            Some((v, comma)) => {
                if comma {
                    self.notes.tolerate("numbers with a decimal comma", p.at);
                }
                Ok(v)
            }
            None => {
                let shown: String = p.text().chars().take(24).collect();
                Err(format!("group {} is not a number: `{shown}`, {}", p.code, self.place(p.at)))
            }
        }
    }

    pub fn real(&mut self, code: i32, default: f64) -> Result<f64, String> {
        match self.first(code) {
            Some(p) => self.value(&p),
            None => Ok(default),
        }
    }

    pub fn needed(&mut self, code: i32) -> Result<f64, String> {
        match self.first(code) {
            Some(p) => self.value(&p),
            None => Err(format!("group {code} is missing, {}", self.place(self.record.at))),
        }
    }

    /// The point of groups `code`, `code + 10` and `code + 20`. The last may be absent.
    pub fn point(&mut self, code: i32) -> Result<P3, String> {
        Ok([self.needed(code)?, self.needed(code + 10)?, self.real(code + 20, 0.0)?])
    }

    /// A direction, if present.
    pub fn direction(&mut self, code: i32) -> Result<Option<P3>, String> {
        if self.first(code).is_some() { self.point(code).map(Some) } else { Ok(None) }
    }

    pub fn int(&mut self, code: i32, default: i64) -> Result<i64, String> {
        match self.first(code) {
            None => Ok(default),
            Some(p) => match p.int().or_else(|| p.real().map(|(v, _)| v).filter(|v| v.fract() == 0.0).map(whole)) {
                Some(v) => Ok(v),
                None => Err(format!("group {code} is not a whole number, {}", self.place(p.at))),
            },
        }
    }

    pub fn text(&self, code: i32) -> Option<String> {
        self.first(code).map(|p| p.text())
    }

    /// All rows of the groups `codes`. The first code starts a row. Absent values stay 0.
    pub fn sequence<const N: usize>(&mut self, codes: [i32; N]) -> Result<Vec<[f64; N]>, String> {
        self.rows(&self.record.pairs, codes)
    }

    /// Like [`Fields::sequence`], for the given pairs.
    pub fn rows<const N: usize>(&mut self, pairs: &[CodePair], codes: [i32; N]) -> Result<Vec<[f64; N]>, String> {
        let mut out: Vec<[f64; N]> = Vec::new();
        for p in pairs {
            let Some(i) = codes.iter().position(|&c| c == p.code) else { continue };
            let v = self.value(p)?;
            if i == 0 {
                out.push([0.0; N]);
            }
            if let Some(last) = out.last_mut() {
                last[i] = v;
            }
        }
        Ok(out)
    }
}

#[allow(clippy::cast_possible_truncation)]
fn whole(v: f64) -> i64 {
    v as i64
}
