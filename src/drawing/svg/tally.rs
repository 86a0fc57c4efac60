//! What was not read, counted by kind.

use crate::drawing::{Remark, RemarkKind, Source};
use std::collections::BTreeMap;

/// Collects remarks; the first of a kind stands for its place.
pub(super) struct Tally {
    faults: Vec<Remark>,
    left_out: BTreeMap<String, (usize, bool, Option<Source>)>,
    centre_lines: (usize, f64, Option<Source>),
    complete: bool,
}

impl Default for Tally {
    fn default() -> Self {
        Tally { faults: Vec::new(), left_out: BTreeMap::new(), centre_lines: (0, 0.0, None), complete: true }
    }
}

impl Tally {
    /// Something that was left out. Text apart, another reader may draw it, so the two no longer see the same.
    pub(super) fn leave_out(&mut self, what: &str, count: usize, harmless: bool, source: Option<Source>) {
        self.told(what, count, harmless, source);
        if what != "text" {
            self.complete = false;
        }
    }

    /// The same for what no other reader would draw either.
    pub(super) fn told(&mut self, what: &str, count: usize, harmless: bool, source: Option<Source>) {
        let entry = self.left_out.entry(what.to_string()).or_insert((0, harmless, source));
        entry.0 += count;
    }

    /// A fault in the file, told by itself.
    pub(super) fn fault(&mut self, source: Source, what: &str) {
        let kind = RemarkKind::LeftOut { what: what.into(), count: 1, harmless: false };
        self.faults.push(Remark { kind, source: Some(source), at: None });
        self.complete = false;
    }

    /// A shape that is only a stroke, `width` mm wide.
    pub(super) fn centre_line(&mut self, width: f64, source: &Source) {
        self.centre_lines.0 += 1;
        self.centre_lines.1 = self.centre_lines.1.max(width);
        self.centre_lines.2.get_or_insert_with(|| source.clone());
    }

    /// Another reader may see more.
    pub(super) fn incomplete(&mut self) {
        self.complete = false;
    }

    /// The remarks, in an order that does not change, and whether all was read.
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
