//! Boxes in pairs and in clusters.

use super::BoxTree;
use super::tree::{FAN, apart};
use crate::geom::shape::{Point, Rect};

/// The pairs of overlapping boxes, lower index first, sorted. `None` entries have no pairs.
#[must_use]
pub fn overlapping(boxes: &[Option<Rect>]) -> Vec<(usize, usize)> {
    let tree = BoxTree::new(boxes.iter().enumerate().filter_map(|(i, b)| Some(((*b)?, i))));
    let mut pairs = Vec::new();
    for (i, b) in boxes.iter().enumerate() {
        let Some(b) = *b else { continue };
        pairs.extend(tree.meeting(b).into_iter().map(|(_, &j)| (i, j)).filter(|(i, j)| j > i));
    }
    pairs
}

/// Groups points: two points no farther apart than `within` mm are in one group, and so are the ends of a chain of such
/// points. Returns the least index of each point's group. Each point leaves the search when it is found, so many points
/// in one place cost no more than others.
#[must_use]
pub fn clusters(points: &[Point], within: f64) -> Vec<usize> {
    let mut search = Search::new(points, within);
    let mut group: Vec<Option<usize>> = vec![None; points.len()];
    for first in 0..points.len() {
        if group[first].is_some() {
            continue;
        }
        let mut open = vec![first];
        while let Some(i) = open.pop() {
            let known = open.len();
            search.take_near(points[i], &mut open);
            for &j in &open[known..] {
                group[j] = Some(first);
            }
        }
    }
    group.into_iter().zip(0..).map(|(g, i)| g.unwrap_or(i)).collect()
}

/// Points that are in no group yet.
struct Search {
    tree: BoxTree<()>,
    /// How many of them lie below each node.
    left: Vec<Vec<usize>>,
    /// mm².
    limit: f64,
}

impl Search {
    fn new(points: &[Point], within: f64) -> Search {
        let tree = BoxTree::new(points.iter().map(|&p| (Rect::from_points(p, p), ())));
        let mut left = vec![vec![1; points.len()]];
        while left.len() < tree.levels.len() {
            left.push(left[left.len() - 1].chunks(FAN).map(|c| c.iter().sum()).collect());
        }
        Search { tree, left, limit: within * within }
    }

    /// Takes the points near `p` out and appends their indices.
    fn take_near(&mut self, p: Point, out: &mut Vec<usize>) {
        let top = self.tree.levels.len() - 1;
        if !self.tree.levels[top].is_empty() {
            self.take(p, top, 0, out);
        }
    }

    /// Returns how many points were taken from below a node.
    fn take(&mut self, p: Point, level: usize, node: usize, out: &mut Vec<usize>) -> usize {
        if self.left[level][node] == 0 || apart(p, &self.tree.levels[level][node]) > self.limit {
            return 0;
        }
        let taken = if level == 0 {
            out.push(self.tree.given[node] as usize);
            1
        } else {
            let last = (FAN * (node + 1)).min(self.left[level - 1].len());
            (FAN * node..last).map(|k| self.take(p, level - 1, k, out)).sum()
        };
        self.left[level][node] -= taken;
        taken
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Compared with a test of each pair.
        #[test]
        fn boxes_that_overlap_are_found(
            seeds in prop::collection::vec((-50.0..50.0f64, -50.0..50.0f64, 0.0..20.0f64, 0.0..20.0f64), 0..60),
        ) {
            let boxes: Vec<Option<Rect>> =
                seeds.iter().map(|&(x, y, w, h)| (w > 0.5).then(|| Rect::new(x, y, x + w, y + h))).collect();
            let all = (0..boxes.len()).flat_map(|i| (i + 1..boxes.len()).map(move |j| (i, j)));
            let both = |&(i, j): &(usize, usize)| boxes[i].zip(boxes[j]).is_some_and(|(a, b)| a.overlaps(b));
            prop_assert_eq!(overlapping(&boxes), all.filter(both).collect::<Vec<_>>());
        }

        /// Compared with the least index that spreads from point to point until nothing changes.
        #[test]
        fn chains_of_near_points_are_one_cluster(
            seeds in prop::collection::vec((0..30i8, 0..30i8), 0..150), within in 0.5..3.0f64,
        ) {
            let points: Vec<Point> = seeds.iter().map(|&(x, y)| Point::new(f64::from(x), f64::from(y))).collect();
            let mut least: Vec<usize> = (0..points.len()).collect();
            loop {
                let before = least.clone();
                for i in 0..points.len() {
                    for j in 0..points.len() {
                        if (points[i] - points[j]).hypot() <= within {
                            least[i] = least[i].min(least[j]);
                        }
                    }
                }
                if least == before {
                    break;
                }
            }
            prop_assert_eq!(clusters(&points, within), least);
        }
    }

    /// A search that went through the pairs would take minutes.
    #[test]
    fn many_points_in_one_place_are_one_cluster() {
        let points: Vec<Point> = (0..200_000).map(|i| Point::new(1.0, f64::from(i % 2) * 1e-7)).collect();
        assert!(clusters(&points, 1e-6).iter().all(|g| *g == 0));
    }
}
