//! Which places of the plan are taken, so that no words lie over lines or other words.
//!
//! In: lines and boxes of the plan, mm, y down. Out: whether a box is free, and the free box nearest to a wish. Works on
//! square cells; a line is known by points set closer than a cell.

use crate::geom::{Point, Rect, Vec2};

pub(super) struct Grid {
    origin: Point,
    cell: f64,
    columns: usize,
    rows: usize,
    taken: Vec<bool>,
    /// Number of taken cells above and to the left, one row and column more than `taken`.
    sums: Vec<u32>,
}

impl Grid {
    /// Covers `area` (finite, of a size worth drawing) with cells of side `cell`.
    pub(super) fn new(area: Rect, cell: f64) -> Grid {
        let count = |length: f64| (length / cell).ceil().clamp(1.0, 4000.0) as usize;
        let (columns, rows) = (count(area.width()), count(area.height()));
        let origin = area.origin();
        let (taken, sums) = (vec![false; columns * rows], vec![0; (columns + 1) * (rows + 1)]);
        Grid { origin, cell, columns, rows, taken, sums }
    }

    /// Cell of a point; out of the area: the nearest.
    fn cell_of(&self, p: Point) -> (usize, usize) {
        let at = |v: f64, n: usize| (v / self.cell).floor().clamp(0.0, (n - 1) as f64) as usize;
        (at(p.x - self.origin.x, self.columns), at(p.y - self.origin.y, self.rows))
    }

    fn covers(&self, r: Rect) -> bool {
        let size = Vec2::new(self.columns as f64, self.rows as f64) * self.cell;
        let end = self.origin + size;
        r.x0 >= self.origin.x && r.y0 >= self.origin.y && r.x1 <= end.x && r.y1 <= end.y
    }

    /// Takes the cells of points; call [`Grid::add_up`] after the last.
    pub(super) fn take_point(&mut self, p: Point) {
        if self.covers(Rect::from_points(p, p)) {
            let (c, r) = self.cell_of(p);
            self.taken[r * self.columns + c] = true;
        }
    }

    pub(super) fn take_box(&mut self, b: Rect) {
        let ((c0, r0), (c1, r1)) = (self.cell_of(b.origin()), self.cell_of(Point::new(b.x1, b.y1)));
        for r in r0..=r1 {
            self.taken[r * self.columns + c0..=r * self.columns + c1].fill(true);
        }
        self.add_up_from(r0, c0);
    }

    pub(super) fn add_up(&mut self) {
        self.add_up_from(0, 0);
    }

    /// Anew below and to the right of a cell, where alone something changed.
    fn add_up_from(&mut self, r0: usize, c0: usize) {
        let w = self.columns + 1;
        for r in r0..self.rows {
            let mut row = self.sums[(r + 1) * w + c0] - self.sums[r * w + c0];
            for c in c0..self.columns {
                row += u32::from(self.taken[r * self.columns + c]);
                self.sums[(r + 1) * w + c + 1] = self.sums[r * w + c + 1] + row;
            }
        }
    }

    /// Whether nothing lies in the box; `false` where it leaves the area.
    pub(super) fn is_free(&self, b: Rect) -> bool {
        if !self.covers(b) {
            return false;
        }
        let ((c0, r0), (c1, r1)) = (self.cell_of(b.origin()), self.cell_of(Point::new(b.x1, b.y1)));
        let at = |r: usize, c: usize| self.sums[r * (self.columns + 1) + c];
        at(r1 + 1, c1 + 1) + at(r0, c0) == at(r0, c1 + 1) + at(r1 + 1, c0)
    }

    /// The free box of this size within `within` of least cost, if any costs less than infinity.
    pub(super) fn best(&self, size: Vec2, within: Rect, cost: impl Fn(Rect) -> f64) -> Option<Rect> {
        let mut best: Option<(f64, Rect)> = None;
        let (nx, ny) = ((within.width() - size.x) / self.cell, (within.height() - size.y) / self.cell);
        if nx < 0.0 || ny < 0.0 {
            return None;
        }
        for j in 0..=(ny.min(4000.0) as usize) {
            for i in 0..=(nx.min(4000.0) as usize) {
                let corner = within.origin() + Vec2::new(i as f64, j as f64) * self.cell;
                let b = Rect::from_points(corner, corner + size);
                if !self.is_free(b) {
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
        g.take_point(Point::new(50.0, 20.0));
        g.add_up();
        assert!(!g.is_free(Rect::new(49.0, 19.0, 52.0, 22.0)));
    }
}
