//! Assigns outlines to panels by graph colouring: outlines that are too close get different colours.
//!
//! In: the pairs of nodes that are too close, as [`Apart`]. Out: a colour for each node, numbered by first appearance,
//! and whether the number of colours is proved minimal. Each connected part is coloured separately. A part of up to
//! [`EXACT`] nodes is searched exhaustively. A larger part uses Brélaz's rule, which may use more colours than
//! necessary. (*New methods to color the vertices of a graph*, Communications of the ACM 22(4), 1979, from memory.)
//! Time grows with nodes and edges, not with the square of the nodes.

use std::cmp::Reverse;
use std::collections::BTreeSet;

/// Connected parts of up to this many outlines are proved to use the fewest panels.
const EXACT: usize = 12;

/// The pairs of nodes that are too close: the neighbours of each node, sorted.
#[derive(Clone, Debug, Default)]
pub(super) struct Apart(Vec<Vec<usize>>);

impl Apart {
    pub(super) fn new(nodes: usize) -> Apart {
        Apart(vec![Vec::new(); nodes])
    }

    /// Marks two nodes as too close.
    pub(super) fn set(&mut self, a: usize, b: usize) {
        for (n, m) in [(a, b), (b, a)] {
            if let Err(place) = self.0[n].binary_search(&m) {
                self.0[n].insert(place, m);
            }
        }
    }

    fn are(&self, a: usize, b: usize) -> bool {
        self.0[a].binary_search(&b).is_ok()
    }
}

/// Colours from 0, different for nodes that are `apart`, numbered by first appearance; and whether they are proved to
/// be the fewest.
pub(super) fn coloured(apart: &Apart) -> (Vec<usize>, bool) {
    let mut colour = vec![usize::MAX; apart.0.len()];
    let mut fewest = true;
    for part in parts(apart) {
        let greedy = by_saturation(apart, &part);
        let least = clique(apart, &part);
        let used = greedy.iter().max().map_or(0, |c| c + 1);
        let own = if used == least {
            greedy
        } else if part.len() <= EXACT {
            exact(apart, &part, greedy)
        } else {
            fewest = false;
            greedy
        };
        for (&node, c) in part.iter().zip(own) {
            colour[node] = c;
        }
    }
    let mut names = Vec::new();
    for c in &mut colour {
        let name = names.iter().position(|n| n == c).unwrap_or(names.len());
        if name == names.len() {
            names.push(*c);
        }
        *c = name;
    }
    (colour, fewest)
}

/// The connected parts, each sorted.
fn parts(apart: &Apart) -> Vec<Vec<usize>> {
    let mut seen = vec![false; apart.0.len()];
    let mut all = Vec::new();
    for first in 0..apart.0.len() {
        if seen[first] {
            continue;
        }
        seen[first] = true;
        let mut part = vec![first];
        let mut next = 0;
        while let Some(&node) = part.get(next) {
            next += 1;
            for &other in &apart.0[node] {
                if !seen[other] {
                    seen[other] = true;
                    part.push(other);
                }
            }
        }
        part.sort_unstable();
        all.push(part);
    }
    all
}

/// Brélaz's rule: the next node has the most colours around it; of equals, the most neighbours; of these, the first.
fn by_saturation(apart: &Apart, part: &[usize]) -> Vec<usize> {
    // A part is connected: it contains all neighbours of its nodes.
    let place = |node: usize| part.binary_search(&node).unwrap_or_default();
    let near: Vec<Vec<usize>> = part.iter().map(|&n| apart.0[n].iter().map(|&m| place(m)).collect()).collect();
    let mut about: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); part.len()];
    let mut colour: Vec<Option<usize>> = vec![None; part.len()];
    let rank = |about: &[BTreeSet<usize>], n: usize| (about[n].len(), near[n].len(), Reverse(n));
    let mut free: BTreeSet<(usize, usize, Reverse<usize>)> = (0..part.len()).map(|n| rank(&about, n)).collect();
    while let Some((_, _, Reverse(n))) = free.pop_last() {
        let least = (0..).find(|c| !about[n].contains(c)).unwrap_or_default();
        colour[n] = Some(least);
        for &m in near[n].iter().filter(|&&m| colour[m].is_none()) {
            free.remove(&rank(&about, m));
            about[m].insert(least);
            free.insert(rank(&about, m));
        }
    }
    colour.into_iter().map(Option::unwrap_or_default).collect()
}

/// Size of a clique, found greedily: a lower bound for the number of colours.
fn clique(apart: &Apart, part: &[usize]) -> usize {
    let from = |&first: &usize| {
        let mut set = vec![first];
        // All others of the set are neighbours of the first.
        for &n in &apart.0[first] {
            if set.iter().all(|&m| apart.are(n, m)) {
                set.push(n);
            }
        }
        set.len()
    };
    part.iter().map(from).max().unwrap_or(0)
}

/// Exhaustive search, limited to fewer colours than the best solution so far: the fewest, and of those the first.
fn exact(apart: &Apart, part: &[usize], start: Vec<usize>) -> Vec<usize> {
    fn go(apart: &Apart, part: &[usize], now: &mut Vec<usize>, used: usize, best: &mut (usize, Vec<usize>)) {
        if used >= best.0 {
            return;
        }
        let n = now.len();
        if n == part.len() {
            *best = (used, now.clone());
            return;
        }
        for c in 0..=used {
            if (0..n).all(|m| now[m] != c || !apart.are(part[n], part[m])) {
                now.push(c);
                go(apart, part, now, used.max(c + 1), best);
                now.pop();
            }
        }
    }
    let used = start.iter().max().map_or(0, |c| c + 1);
    let mut best = (used, start);
    go(apart, part, &mut Vec::new(), 0, &mut best);
    best.1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn graph(n: usize, edges: &[(usize, usize)]) -> Apart {
        let mut apart = Apart::new(n);
        edges.iter().for_each(|&(a, b)| apart.set(a, b));
        apart
    }

    /// The number of colours, and whether no two nodes that are apart share one.
    fn sound(apart: &Apart) -> (usize, bool) {
        let (c, fewest) = coloured(apart);
        for i in 0..c.len() {
            for j in 0..c.len() {
                assert!(!apart.are(i, j) || c[i] != c[j], "{c:?}");
            }
        }
        (c.iter().max().map_or(0, |m| m + 1), fewest)
    }

    fn ring(n: usize) -> Vec<(usize, usize)> {
        (0..n).map(|i| (i, (i + 1) % n)).collect()
    }

    /// Known chromatic numbers: even and odd rings 2 and 3, complete graphs n, wheels with an odd rim 4, the Petersen
    /// graph 3, the triangle-free Grötzsch graph 4. (Any textbook of graph theory.)
    #[test]
    fn known_graphs_take_the_fewest_colours() {
        assert_eq!(sound(&graph(0, &[])), (0, true));
        assert_eq!(sound(&graph(3, &[])), (1, true));
        assert_eq!(sound(&graph(8, &ring(8))), (2, true));
        assert_eq!(sound(&graph(9, &ring(9))), (3, true));
        let all: Vec<_> = (0..5).flat_map(|i| (0..i).map(move |j| (i, j))).collect();
        assert_eq!(sound(&graph(5, &all)), (5, true));
        let wheel: Vec<_> = ring(7).into_iter().chain((0..7).map(|i| (i, 7))).collect();
        assert_eq!(sound(&graph(8, &wheel)), (4, true));
        let petersen: Vec<_> =
            ring(5).into_iter().chain((0..5).flat_map(|i| [(i, i + 5), (i + 5, (i + 2) % 5 + 5)])).collect();
        assert_eq!(sound(&graph(10, &petersen)), (3, true));
        let grotzsch: Vec<_> = ring(5)
            .into_iter()
            .chain((0..5).flat_map(|i| [(i + 5, (i + 1) % 5), (i + 5, (i + 4) % 5), (i + 5, 10)]))
            .collect();
        assert_eq!(sound(&graph(11, &grotzsch)), (4, true));
    }

    #[test]
    fn too_many_for_a_full_search_are_assigned_without_proof() {
        // A ring of 15 needs three colours but contains no triangle.
        assert_eq!(sound(&graph(15, &ring(15))), (3, false));
        // Separate parts: twice a ring of 7.
        let two: Vec<_> = ring(7).into_iter().chain(ring(7).into_iter().map(|(a, b)| (a + 7, b + 7))).collect();
        assert_eq!(sound(&graph(14, &two)), (3, true));
    }

    #[test]
    fn panels_are_numbered_as_they_appear() {
        let (c, _) = coloured(&graph(4, &[(0, 1), (1, 2), (2, 3)]));
        assert_eq!(c, [0, 1, 0, 1]);
    }

    /// A grid of 100 × 100 in which each node is apart from its eight neighbours. It needs four colours, because a
    /// square of four is a clique. The time must not grow with the square of the nodes.
    #[test]
    fn ten_thousand_nodes_are_coloured_at_once() {
        let n = 100;
        let mut apart = Apart::new(n * n);
        for i in 0..n * n {
            let (x, y) = (i % n, i / n);
            for (dx, dy) in [(1, 0), (0, 1), (1, 1)] {
                if x + dx < n && y + dy < n {
                    apart.set(i, (y + dy) * n + x + dx);
                }
            }
            if x > 0 && y + 1 < n {
                apart.set(i, (y + 1) * n + x - 1);
            }
        }
        let start = std::time::Instant::now();
        let (c, _) = coloured(&apart);
        assert!(start.elapsed().as_secs() < 10, "{:?}", start.elapsed());
        assert!((0..n * n).all(|i| apart.0[i].iter().all(|&j| c[i] != c[j])));
        assert!(c.iter().max().is_some_and(|m| *m >= 3));
    }
}
