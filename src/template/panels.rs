//! Which outlines share a panel.
//!
//! In: outlines with their two openings, in the drawing frame, and a layout; mm. Out: for each outline its panel, in the
//! fewest panels; what came too close to share one; and the outlines that no panel takes. Two outlines share a panel
//! only if the web is left between their openings for the recess, between those for the insert, and, with the panel
//! turned back, between either's recess opening and the other's insert opening. Distances are those of the regions, not
//! of their boxes.
//!
//! The outlines are the nodes of a graph, too close is an edge, and panels are colours (graph colouring; Brélaz, *New
//! methods to color the vertices of a graph*, Communications of the ACM 22(4), 1979, from memory). Parts of the graph
//! that hang together are coloured each by itself: up to [`EXACT`] outlines by trying all ways, so that the panels are
//! the fewest; beyond that by Brélaz's rule, which may take more than it must.

use super::layout::{Layout, PanelSettings};
use super::openings::Piece;
use super::{Duty, Panel, Turn};
use crate::budget::{Budget, Stopped};
use crate::geom::edges::least_distance;
use crate::geom::{Affine, Point, Region, Segment, inside};
use crate::tolerance::WIDTH_SLACK;

/// So many outlines that hang together are spread over the fewest panels for certain.
const EXACT: usize = 12;

/// Too near to share a panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Close {
    /// Numbers of the outlines, the lower first.
    pub outlines: [usize; 2],
    /// The openings that would be too near: for the recess of the first and for that of the second, and so on.
    pub duties: [Duty; 2],
    /// Template that would be left between them, mm; 0 where they run into one another.
    pub mm: f64,
    /// In the drawing frame, on an opening of the first.
    pub at: Point,
}

/// What is short of the web although the outline has a panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tight {
    /// Number of the outline.
    pub outline: usize,
    /// Material left, mm; 0 or less: past the edge, or one opening over the other.
    pub mm: f64,
    /// In the drawing frame.
    pub at: Point,
    /// Between the outline's own two openings, once the panel is turned back; else to an edge.
    pub between_halves: bool,
}

/// Who goes where.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Packing {
    /// For each outline, in order, its panel, from 0; `None` for one that no panel takes.
    pub panel: Vec<Option<usize>>,
    pub panels: usize,
    /// Whether fewer panels are known not to do.
    pub fewest: bool,
    /// Pairs that are on different panels because they are too close.
    pub close: Vec<Close>,
    /// For each outline where it is tightest, those that no panel takes apart.
    pub tight: Vec<Tight>,
    /// Those that no panel takes.
    pub refused: Vec<Tight>,
}

/// Packs the openings of `duties`: both on panels that are turned, one of them on panels that are not.
///
/// # Errors
/// [`Stopped`] by the budget.
pub fn pack(
    pieces: &[Piece],
    duties: &[Duty],
    layout: &Layout,
    settings: &PanelSettings,
    budget: &Budget,
) -> Result<Packing, Stopped> {
    let sheet = Panel::of(1, layout, settings);
    let look = Look { duties, layout, panel: &sheet, web: settings.web };
    let mut packing = Packing { fewest: true, ..Packing::default() };
    let mut taken = Vec::new();
    for (i, p) in pieces.iter().enumerate() {
        budget.check()?;
        packing.panel.push(None);
        match look.tightest(p) {
            Some(t) if t.mm <= 0.0 => packing.refused.push(t),
            t => {
                packing.tight.extend(t);
                taken.push(i);
            }
        }
    }
    let mut apart = vec![vec![false; taken.len()]; taken.len()];
    for (n, &i) in taken.iter().enumerate() {
        for (m, &j) in taken.iter().enumerate().skip(n + 1) {
            budget.check()?;
            if let Some(close) = look.too_close(&pieces[i], &pieces[j]) {
                (apart[n][m], apart[m][n]) = (true, true);
                packing.close.push(close);
            }
        }
    }
    let (colours, fewest) = coloured(&apart);
    packing.panels = colours.iter().max().map_or(0, |c| c + 1);
    packing.fewest = fewest;
    for (n, &i) in taken.iter().enumerate() {
        packing.panel[i] = Some(colours[n]);
    }
    Ok(packing)
}

/// What is needed to tell how near things are on the panel.
struct Look<'a> {
    duties: &'a [Duty],
    layout: &'a Layout,
    panel: &'a Panel,
    web: f64,
}

impl Look<'_> {
    fn has(&self, duty: Duty) -> bool {
        self.duties.contains(&duty)
    }

    /// The openings of a piece that count here.
    fn openings<'p>(&self, p: &'p Piece) -> impl Iterator<Item = (Duty, &'p Region)> {
        let all: [(Duty, &Region); 3] = [(Duty::Recess, &p.recess), (Duty::Insert, &p.insert), (Duty::Both, &p.recess)];
        let wanted = all.map(|a| self.has(a.0).then_some(a));
        wanted.into_iter().flatten()
    }

    /// Takes the drawing to the place where its mirror image lies on the panel, once this is turned back, and that back
    /// to the drawing: what is on the other face as seen from this one.
    fn other_face(&self) -> Option<Affine> {
        let place = self.layout.place;
        (self.panel.turn != Turn::None).then(|| place.inverse() * self.panel.turned() * place)
    }

    /// Least material from the openings of an outline to the edges, or between them.
    fn tightest(&self, p: &Piece) -> Option<Tight> {
        let back = self.layout.place.inverse();
        let tight = |mm, at, between_halves| Tight { outline: p.outline, mm, at, between_halves };
        let mut all = Vec::new();
        for b in self.openings(p).filter_map(|o| o.1.bounds()) {
            let b = self.layout.place.transform_rect_bbox(b);
            let c = b.center();
            all.extend([
                tight(b.x0, back * Point::new(b.x0, c.y), false),
                tight(b.y0, back * Point::new(c.x, b.y0), false),
                tight(self.panel.width - b.x1, back * Point::new(b.x1, c.y), false),
                tight(self.panel.height - b.y1, back * Point::new(c.x, b.y1), false),
            ]);
        }
        if let (Some(turned), true) = (self.other_face(), self.has(Duty::Recess) && self.has(Duty::Insert)) {
            let other = p.insert.under_similarity(turned);
            all.extend(nearer_than(&p.recess, &other, self.web).map(|(mm, at)| tight(mm, at, true)));
        }
        all.into_iter().min_by(|a, b| a.mm.total_cmp(&b.mm))
    }

    /// Where two outlines come too near to each other for one panel.
    fn too_close(&self, a: &Piece, b: &Piece) -> Option<Close> {
        let mut all: Vec<Close> = Vec::new();
        let mut look = |duties: [Duty; 2], x: &Region, y: &Region| {
            let near = nearer_than(x, y, self.web);
            let close = |(mm, at)| Close { outlines: [a.outline, b.outline], duties, mm, at };
            all.extend(near.map(close));
        };
        for (duty, x) in self.openings(a) {
            for (other, y) in self.openings(b) {
                if duty == other {
                    look([duty, other], x, y);
                } else if let Some(turned) = self.other_face() {
                    look([duty, other], x, &y.under_similarity(turned));
                }
            }
        }
        all.into_iter().min_by(|a, b| a.mm.total_cmp(&b.mm))
    }
}

/// Distance of two regions where it is less than `web`, with the slack of a comparison; 0 where they overlap.
fn nearer_than(a: &Region, b: &Region, web: f64) -> Option<(f64, Point)> {
    let (p, q) = (a.bounds()?, b.bounds()?);
    if !p.inflate(web, web).overlaps(q.inflate(WIDTH_SLACK, WIDTH_SLACK)) {
        return None;
    }
    for (x, y) in [(a, b), (b, a)] {
        // One ring within the other without their edges meeting.
        let first = y.rings.first().and_then(|r| r.segments.first()).map(Segment::start);
        if let Some(p) = first.filter(|p| inside::contains(x, *p)) {
            return Some((0.0, p));
        }
    }
    // However little web is wanted: openings that touch are one.
    let (mm, at) = least_distance(a, b, (web - WIDTH_SLACK).max(WIDTH_SLACK))?;
    Some((if mm < 1e-6 { 0.0 } else { mm }, at))
}

/// Colours from 0 so that no two that are `apart` have the same, numbered as they appear; whether they are the fewest.
fn coloured(apart: &[Vec<bool>]) -> (Vec<usize>, bool) {
    let mut colour = vec![usize::MAX; apart.len()];
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

/// The nodes that hang together, each part in order.
fn parts(apart: &[Vec<bool>]) -> Vec<Vec<usize>> {
    let mut seen = vec![false; apart.len()];
    let mut all = Vec::new();
    for first in 0..apart.len() {
        if seen[first] {
            continue;
        }
        seen[first] = true;
        let mut part = vec![first];
        let mut next = 0;
        while let Some(&node) = part.get(next) {
            next += 1;
            for other in 0..apart.len() {
                if apart[node][other] && !seen[other] {
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

/// Brélaz's rule: next comes the node with the most colours about it, then with the most neighbours, then the first.
fn by_saturation(apart: &[Vec<bool>], part: &[usize]) -> Vec<usize> {
    let mut colour: Vec<Option<usize>> = vec![None; part.len()];
    let about = |colour: &[Option<usize>], n: usize| {
        let near = (0..part.len()).filter(|&m| apart[part[n]][part[m]]);
        near.filter_map(|m| colour[m]).collect::<std::collections::BTreeSet<usize>>()
    };
    let degree = |n: usize| part.iter().filter(|&&m| apart[part[n]][m]).count();
    for _ in 0..part.len() {
        let free = (0..part.len()).filter(|&n| colour[n].is_none());
        let Some(n) = free.max_by_key(|&n| (about(&colour, n).len(), degree(n), std::cmp::Reverse(n))) else { break };
        let taken = about(&colour, n);
        colour[n] = (0..).find(|c| !taken.contains(c));
    }
    colour.into_iter().map(Option::unwrap_or_default).collect()
}

/// Size of a set in which all are apart, found greedily: so many colours are needed at least.
fn clique(apart: &[Vec<bool>], part: &[usize]) -> usize {
    let from = |&first: &usize| {
        let mut set = vec![first];
        for &n in part {
            if set.iter().all(|&m| apart[n][m]) {
                set.push(n);
            }
        }
        set.len()
    };
    part.iter().map(from).max().unwrap_or(0)
}

/// All ways to share out, those with no more colours than the best one so far: the fewest, and of those the first.
fn exact(apart: &[Vec<bool>], part: &[usize], start: Vec<usize>) -> Vec<usize> {
    fn go(apart: &[Vec<bool>], part: &[usize], now: &mut Vec<usize>, used: usize, best: &mut (usize, Vec<usize>)) {
        if used >= best.0 {
            return;
        }
        let n = now.len();
        if n == part.len() {
            *best = (used, now.clone());
            return;
        }
        for c in 0..=used {
            if (0..n).all(|m| now[m] != c || !apart[part[n]][part[m]]) {
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

    fn graph(n: usize, edges: &[(usize, usize)]) -> Vec<Vec<bool>> {
        let mut apart = vec![vec![false; n]; n];
        for &(a, b) in edges {
            (apart[a][b], apart[b][a]) = (true, true);
        }
        apart
    }

    /// Whether no two that are apart share a colour; how many colours.
    fn sound(apart: &[Vec<bool>]) -> (usize, bool) {
        let (c, fewest) = coloured(apart);
        for i in 0..c.len() {
            for j in 0..c.len() {
                assert!(!apart[i][j] || c[i] != c[j], "{c:?}");
            }
        }
        (c.iter().max().map_or(0, |m| m + 1), fewest)
    }

    fn ring(n: usize) -> Vec<(usize, usize)> {
        (0..n).map(|i| (i, (i + 1) % n)).collect()
    }

    /// Chromatic numbers that are known: rings of even and odd length 2 and 3, complete graphs n, wheels with an odd
    /// rim 4, the Petersen graph 3, the Grötzsch graph (no triangle in it) 4. (Any textbook of graph theory.)
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
    fn too_many_for_all_ways_are_shared_out_and_said_to_be_no_proof() {
        // A ring of 15 needs three and holds no three that are all apart.
        assert_eq!(sound(&graph(15, &ring(15))), (3, false));
        // Parts by themselves: twice a ring of 7.
        let two: Vec<_> = ring(7).into_iter().chain(ring(7).into_iter().map(|(a, b)| (a + 7, b + 7))).collect();
        assert_eq!(sound(&graph(14, &two)), (3, true));
    }

    #[test]
    fn panels_are_numbered_as_they_appear() {
        let (c, _) = coloured(&graph(4, &[(0, 1), (1, 2), (2, 3)]));
        assert_eq!(c, [0, 1, 0, 1]);
    }
}
