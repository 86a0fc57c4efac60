//! An occupancy grid of the plan: it keeps words off lines and off other words.
//!
//! In: boxes, and points along lines, mm, y down. Out: whether a box is free, and the free box of least cost. The cells
//! are square. The points along a line must lie closer than a cell.

use crate::geom::{Point, Rect, Vec2};
use std::ops::Range;

pub(super) struct Grid {
    origin: Point,
    cell: f64,
    columns: usize,
    rows: usize,
    taken: Vec<bool>,
}

impl Grid {
    /// Covers `area`, which is finite, with cells of side `cell`, mm.
    pub(super) fn new(area: Rect, cell: f64) -> Grid {
        let count = |length: f64| (length / cell).ceil().clamp(1.0, 4000.0) as usize;
        let (columns, rows) = (count(area.width()), count(area.height()));
        let origin = area.origin();
        Grid { origin, cell, columns, rows, taken: vec![false; columns * rows] }
    }

    /// Column and row of a point; for a point outside the area the nearest cell.
    fn cell_of(&self, p: Point) -> (usize, usize) {
        let at = |v: f64, n: usize| (v / self.cell).floor().clamp(0.0, (n - 1) as f64) as usize;
        (at(p.x - self.origin.x, self.columns), at(p.y - self.origin.y, self.rows))
    }

    fn covers(&self, r: Rect) -> bool {
        let size = Vec2::new(self.columns as f64, self.rows as f64) * self.cell;
        let end = self.origin + size;
        r.x0 >= self.origin.x && r.y0 >= self.origin.y && r.x1 <= end.x && r.y1 <= end.y
    }

    pub(super) fn take_point(&mut self, p: Point) {
        if self.covers(Rect::from_points(p, p)) {
            let (c, r) = self.cell_of(p);
            self.taken[r * self.columns + c] = true;
        }
    }

    pub(super) fn take_box(&mut self, b: Rect) {
        let cells = self.cells(b);
        for r in cells.rows.clone() {
            self.taken[r * self.columns..][cells.columns.clone()].fill(true);
        }
    }

    /// The cells that a box meets.
    fn cells(&self, b: Rect) -> Cells {
        let ((c0, r0), (c1, r1)) = (self.cell_of(b.origin()), self.cell_of(Point::new(b.x1, b.y1)));
        Cells { columns: c0..c1 + 1, rows: r0..r1 + 1 }
    }

    /// Whether the box lies in the area and all its cells are free.
    pub(super) fn is_free(&self, b: Rect) -> bool {
        let cells = self.cells(b);
        let row = |r: usize| &self.taken[r * self.columns..][cells.columns.clone()];
        self.covers(b) && !cells.rows.clone().any(|r| row(r).contains(&true))
    }

    /// The free box of this size and of least finite cost within `within`.
    pub(super) fn best(&self, size: Vec2, within: Rect, cost: impl Fn(Rect) -> f64) -> Option<Rect> {
        self.best_near(size, within, within, cost)
    }

    /// As [`Grid::best`], but skips boxes that miss `near`. Call it only if every box that misses `near` has infinite
    /// cost.
    pub(super) fn best_near(&self, size: Vec2, within: Rect, near: Rect, cost: impl Fn(Rect) -> f64) -> Option<Rect> {
        let mut best: Option<(f64, Rect)> = None;
        let (nx, ny) = ((within.width() - size.x) / self.cell, (within.height() - size.y) / self.cell);
        if nx < 0.0 || ny < 0.0 {
            return None;
        }
        // By rounding the last box may end in the next cell.
        let reach = near.inflate(size.x + self.cell, size.y + self.cell).intersect(within);
        if reach.width() <= 0.0 || reach.height() <= 0.0 {
            return None;
        }
        let sums = Sums::new(self, self.cells(reach.inflate(2.0 * self.cell, 2.0 * self.cell)));
        // Range of the box positions in reach, along one axis.
        let numbers = |from: f64, to: f64, start: f64, long: f64, most: f64| {
            let first = ((from - start) / self.cell).ceil().max(0.0) as usize;
            let last = ((to - long - start) / self.cell).floor().min(most.min(4000.0));
            first..if last < 0.0 { first } else { last as usize + 1 }
        };
        let across = numbers(reach.x0 - self.cell, reach.x1 + self.cell, within.x0, size.x, nx);
        let along = numbers(reach.y0 - self.cell, reach.y1 + self.cell, within.y0, size.y, ny);
        let at = |i: usize, j: usize| {
            let corner = within.origin() + Vec2::new(i as f64, j as f64) * self.cell;
            Rect::from_points(corner, corner + size)
        };
        let columns: Vec<Range<usize>> = across.clone().map(|i| self.cells(at(i, 0)).columns).collect();
        for j in along {
            let rows = self.cells(at(0, j)).rows;
            for (i, columns) in across.clone().zip(&columns) {
                let b = at(i, j);
                if !self.covers(b) || !sums.are_free(columns, &rows) {
                    continue;
                }
                let c = cost(b);
                if c.is_finite() && best.is_none_or(|(least, _)| c < least) {
                    best = Some((c, b));
                }
            }
        }
        best.map(|b| b.1)
    }
}

struct Cells {
    columns: Range<usize>,
    rows: Range<usize>,
}

/// A summed-area table: it counts the taken cells of a box in four look-ups.
struct Sums {
    within: Cells,
    /// For each cell the count of taken cells above and to the left of it. One row and one column more than the cells.
    above: Vec<u32>,
}

impl Sums {
    fn new(grid: &Grid, within: Cells) -> Sums {
        let w = within.columns.len() + 1;
        let mut above = vec![0; w];
        for r in within.rows.clone() {
            let mut row = 0;
            above.push(0);
            for taken in &grid.taken[r * grid.columns..][within.columns.clone()] {
                row += u32::from(*taken);
                above.push(above[above.len() - w] + row);
            }
        }
        Sums { within, above }
    }

    /// Whether a range of cells, all in the table, is free.
    fn are_free(&self, c: &Range<usize>, r: &Range<usize>) -> bool {
        let w = self.within.columns.len() + 1;
        let at = |r: usize, c: usize| self.above[(r - self.within.rows.start) * w + c - self.within.columns.start];
        at(r.end, c.end) + at(r.start, c.start) == at(r.start, c.end) + at(r.end, c.start)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_free_box() {
        let area = Rect::new(-10.0, -10.0, 90.0, 40.0);
        let mut g = Grid::new(area, 1.0);
        assert!(g.is_free(area) && !g.is_free(Rect::new(80.0, 0.0, 91.0, 5.0)));
        g.take_box(Rect::new(0.0, -10.0, 20.0, 40.0));
        let left_first = |b: Rect| (b.center().x - 10.0).abs();
        let b = g.best(Vec2::new(8.0, 8.0), area, left_first).unwrap();
        assert!(b.x1 <= 0.0 && b.x1 > -2.0, "{b:?}");
        let b = g.best(Vec2::new(30.0, 8.0), area, left_first).unwrap();
        assert!(b.x0 >= 20.0 && b.x0 < 22.0, "{b:?}");
        assert!(g.best(Vec2::new(75.0, 8.0), area, left_first).is_none());
        // By rounding these boxes end beyond `within`.
        let g = Grid::new(Rect::new(-70.0, -70.0, 600.0, 600.0), 0.8);
        for (x0, x1) in [(93.729_999_999_999_99, 264.4), (131.329_999_999_999_96, 374.799_999_999_999_95)] {
            let side = 2.0 * 2.9 * 1.15;
            for within in [Rect::new(x0, 10.0, x1, 40.0), Rect::new(10.0, x0, 40.0, x1)] {
                assert!(g.best(Vec2::new(side, side), within, |b| -b.x0 - b.y0).is_some());
            }
        }
        let mut g = Grid::new(area, 1.0);
        g.take_point(Point::new(50.0, 20.0));
        assert!(!g.is_free(Rect::new(49.0, 19.0, 52.0, 22.0)));
    }
}
