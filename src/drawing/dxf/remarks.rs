//! Collects messages while reading. Equal messages become one remark, with the place of the first.

use crate::drawing::{Remark, RemarkKind, Source};
use std::collections::BTreeMap;

/// Most different reasons. Further reasons share one remark.
const MOST_REASONS: usize = 300;

#[derive(Debug)]
struct Entry {
    order: usize,
    count: usize,
    first: Option<Source>,
}

/// Messages on what was left out, tolerated or damaged.
#[derive(Debug, Default)]
pub struct Notes {
    left: BTreeMap<(String, bool), Entry>,
    tolerated: BTreeMap<String, (usize, usize)>,
    damaged: BTreeMap<String, (usize, usize)>,
    count: usize,
}

impl Notes {
    /// Adds one `what` that was not read.
    pub fn leave_out(&mut self, what: String, harmless: bool, source: Option<Source>) {
        self.leave_out_many(what, harmless, source, 1);
    }

    /// Number of things reported as left out.
    pub fn reported(&self) -> usize {
        self.count
    }

    pub fn leave_out_many(&mut self, what: String, harmless: bool, source: Option<Source>, count: usize) {
        self.count += count;
        let order = self.left.len();
        let full = order >= MOST_REASONS && !self.left.contains_key(&(what.clone(), harmless));
        let key = if full { ("further entities of other kinds".to_owned(), false) } else { (what, harmless) };
        self.left.entry(key).or_insert(Entry { order, count: 0, first: source }).count += count;
    }

    /// The file breaks a rule of its format and is read all the same. `what` is the message. `at` is the first place, 0
    /// for none.
    pub fn tolerate(&mut self, what: &str, at: usize) {
        gather(&mut self.tolerated, what, at);
    }

    /// Part of the file is damaged or missing, and something may be lost. `what` is the message. `at` is the first
    /// place.
    pub fn damage(&mut self, what: &str, at: usize) {
        gather(&mut self.damaged, what, at);
    }

    /// The remarks. Those on parts left out come first, in file order. `place` writes a place as text.
    pub fn remarks(self, place: impl Fn(usize) -> String) -> Vec<Remark> {
        let mut left: Vec<_> = self.left.into_iter().collect();
        left.sort_by_key(|(_, e)| e.order);
        let mut out: Vec<Remark> = left
            .into_iter()
            .map(|((what, harmless), e)| Remark {
                kind: RemarkKind::LeftOut { what, count: e.count, harmless },
                source: e.first,
                at: None,
            })
            .collect();
        let damaged = worded(self.damaged, &place).into_iter().map(|what| RemarkKind::Damaged { what });
        let tolerated = worded(self.tolerated, &place).into_iter().map(|what| RemarkKind::Tolerated { what });
        out.extend(damaged.chain(tolerated).map(|kind| Remark { kind, source: None, at: None }));
        out
    }
}

fn gather(reported: &mut BTreeMap<String, (usize, usize)>, what: &str, at: usize) {
    if let Some((count, _)) = reported.get_mut(what) {
        *count += 1;
    } else if reported.len() < MOST_REASONS {
        reported.insert(what.to_owned(), (1, at));
    }
}

/// The messages in file order, each with its place.
fn worded(reported: BTreeMap<String, (usize, usize)>, place: impl Fn(usize) -> String) -> Vec<String> {
    let mut reported: Vec<_> = reported.into_iter().collect();
    reported.sort_by_key(|(_, (_, at))| *at);
    let one = |(what, (count, at)): (String, (usize, usize))| match (at, count) {
        (0, _) => what,
        (_, 1) => format!("{what}, {}", place(at)),
        _ => format!("{what}, {count} times, first at {}", place(at)),
    };
    reported.into_iter().map(one).collect()
}
