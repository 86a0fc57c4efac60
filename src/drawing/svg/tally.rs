//! Counts what was not read, by kind.

use crate::drawing::{Remark, RemarkKind, Source};
use std::collections::BTreeMap;

/// Collects remarks. The first of a kind gives the place.
pub(super) struct RemarkTally {
    faults: Vec<Remark>,
    left_out: BTreeMap<String, (usize, bool, Option<Source>)>,
    centre_lines: (usize, f64, Option<Source>),
    complete: bool,
}

impl Default for RemarkTally {
    fn default() -> Self {
        RemarkTally { faults: Vec::new(), left_out: BTreeMap::new(), centre_lines: (0, 0.0, None), complete: true }
    }
}

impl RemarkTally {
    /// Adds something that was left out. Except for text, another reader may draw it, so the two readers then differ.
    pub(super) fn leave_out(&mut self, what: &str, count: usize, harmless: bool, source: Option<Source>) {
        self.reported(what, count, harmless, source);
        if what != "text" {
            self.complete = false;
        }
    }

    /// Like [`RemarkTally::leave_out`], for something that no other reader draws either.
    pub(super) fn reported(&mut self, what: &str, count: usize, harmless: bool, source: Option<Source>) {
        let entry = self.left_out.entry(what.to_string()).or_insert((0, harmless, source));
        entry.0 += count;
    }

    /// Adds a fault in the file, as a remark of its own.
    pub(super) fn fault(&mut self, source: Source, what: &str) {
        let kind = RemarkKind::LeftOut { what: what.into(), count: 1, harmless: false };
        self.faults.push(Remark { kind, source: Some(source), at: None });
        self.complete = false;
    }

    /// Adds a shape that is only a stroke, `width` mm wide.
    pub(super) fn centre_line(&mut self, width: f64, source: &Source) {
        self.centre_lines.0 += 1;
        self.centre_lines.1 = self.centre_lines.1.max(width);
        self.centre_lines.2.get_or_insert_with(|| source.clone());
    }

    /// Notes that another reader may see more.
    pub(super) fn incomplete(&mut self) {
        self.complete = false;
    }

    /// The remarks in a fixed order, and whether everything was read.
    pub(super) fn finish(self) -> (Vec<Remark>, bool) {
        let mut remarks = self.faults;
        let (count, widest, source) = self.centre_lines;
        if count > 0 {
            remarks.push(Remark { kind: RemarkKind::CentreLine { count, widest }, source, at: None });
        }
        for (what, (count, harmless, source)) in self.left_out {
            let kind = RemarkKind::LeftOut { what, count, harmless };
            remarks.push(Remark { kind, source, at: None });
        }
        (remarks, self.complete)
    }
}
