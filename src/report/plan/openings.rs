//! The openings on the plan, each with a number and its words.

use super::PlanDrawing;
use super::group::PlanGroup;
use crate::geom::{Point, Rect, Region, Vec2};
use crate::panel::Turn;
use crate::report::canvas::{Anchor, INK, PETROL, width, wrapped};
use crate::text::{NotFinite, rounded, svg_path};

/// Radius of the disc round a number, mm on the page.
const DISC: f64 = 2.9;
/// Widths for words beside their opening, tried in this order, mm on the page.
const WIDTHS: [f64; 2] = [62.0, 34.0];
/// Greatest distance of words from their opening, mm on the page.
const FARTHEST: f64 = 30.0;
/// On a face with more openings than this all words go to the list: the plan has no room for them.
const MOST_BESIDE: usize = 400;

/// Words without room beside their opening: the opening's number and its lines.
pub(super) type UnplacedLabel = (usize, Vec<String>);

impl PlanDrawing<'_> {
    /// Draws the openings, their numbers and their words. Returns the words without room.
    pub(super) fn openings(&mut self) -> Result<Vec<UnplacedLabel>, NotFinite> {
        let regions: Vec<Region> = self.face.openings.iter().map(|o| o.on_face().into_inner()).collect();
        let line = rounded(0.5 * self.k, 3)?;
        for r in &regions {
            let mut d = Vec::new();
            for ring in &r.rings {
                d.push(svg_path(ring, self.h)?);
            }
            let e = format!(
                "<path d=\"{}\" fill=\"#ffffff\" fill-rule=\"evenodd\" stroke=\"{INK}\" stroke-width=\"{line}\"/>",
                d.join(" ")
            );
            if let Some(b) = r.bounds() {
                let reach = Rect::from_points(self.at(b.origin()), self.at(Point::new(b.x1, b.y1)));
                self.ink.put(PlanGroup::Opening, &e, reach);
            }
        }
        self.boxes = regions.iter().map(|r| self.box_of(r).unwrap_or(Rect::ZERO)).collect();
        let outlines: Vec<Vec<Vec<Point>>> = regions.iter().map(|r| self.outline(r)).collect();
        for (i, r) in regions.iter().enumerate() {
            self.number(i, r, &outlines);
        }
        let mut list = Vec::new();
        for (i, r) in regions.iter().enumerate() {
            let Some(words) = self.plan.words.get(i).filter(|w| !w.is_empty()) else { continue };
            let found = regions.len() <= MOST_BESIDE
                && WIDTHS.iter().any(|wide| {
                    let lines: Vec<String> =
                        words.iter().flat_map(|w| wrapped(w, self.text(), wide * self.k)).collect();
                    self.beside(i, r, &lines, &outlines)
                });
            if !found {
                list.push((i + 1, words.clone()));
            }
        }
        Ok(list)
    }

    /// The rings of a region as points on the plan.
    fn outline(&self, region: &Region) -> Vec<Vec<Point>> {
        region.rings.iter().map(|ring| self.points(&Region::new(vec![ring.clone()]))).collect()
    }

    fn box_of(&self, r: &Region) -> Option<Rect> {
        r.bounds().map(|b| Rect::from_points(self.at(b.origin()), self.at(Point::new(b.x1, b.y1))))
    }

    /// The number of the opening's id, the same on every plan and in every report.
    pub(super) fn label(&self, i: usize) -> String {
        let id = self.face.openings.get(i).map_or("", |o| o.id.as_str());
        id.strip_prefix("opening-").unwrap_or(id).to_owned()
    }

    /// The number in its disc, within the opening where there is room. Else beside it, with a leader.
    fn number(&mut self, i: usize, region: &Region, outlines: &[Vec<Vec<Point>>]) {
        let Some(b) = self.box_of(region) else { return };
        let r = DISC * self.k;
        let size = Vec2::new(2.0 * r, 2.0 * r) * 1.15;
        let middle = b.center();
        let own =
            |d: Rect| if inside(&outlines[i], d.center()) { (d.center() - middle).hypot() } else { f64::INFINITY };
        let within = self.taken.best(size, b, own);
        let disc = within.or_else(|| {
            let near = b.inflate(20.0 * self.k, 20.0 * self.k).intersect(self.sheet());
            let free = |d: Rect| if self.in_any(outlines, d.center(), None) { f64::INFINITY } else { apart(d, b) };
            self.taken.best(size, near, free)
        });
        // Without room near the opening its middle is the place where the disc hides least.
        let c = disc.map_or(middle, |d| d.center());
        if within.is_none() {
            self.leader(c, r, region);
        }
        self.ink.circle(PlanGroup::Words, c, r, "#ffffff", INK, 0.4 * self.k);
        let style = self.style(INK).bold().anchor(Anchor::Middle);
        self.ink.text(c + Vec2::new(0.0, 0.36 * style.size), &self.label(i), style);
        self.taken.take_box(Rect::from_center_size(c, (2.0 * r, 2.0 * r)));
    }

    /// Whether a point lies in an opening other than `but`.
    fn in_any(&self, outlines: &[Vec<Vec<Point>>], p: Point, but: Option<usize>) -> bool {
        let here = self.boxes.iter().zip(outlines).enumerate();
        here.filter(|(j, (b, _))| Some(*j) != but && b.contains(p)).any(|(_, (_, o))| inside(o, p))
    }

    /// A leader from the disc with middle `c` and radius `r` to the nearest edge of the region.
    fn leader(&mut self, c: Point, r: f64, region: &Region) {
        let Some((_, p)) = region.nearest(Point::new(c.x, self.h - c.y)) else { return };
        let to = self.at(p);
        let v = to - c;
        if v.hypot() > r {
            self.ink.polyline(PlanGroup::Words, &[c + v * (r / v.hypot()), to], INK, 0.25 * self.k, &[]);
        }
    }

    fn sheet(&self) -> Rect {
        let gap = -1.5 * self.k;
        Rect::new(0.0, 0.0, self.w, self.h).inflate(gap, gap)
    }

    /// Writes words beside their opening. Returns `false` where no box near it is free.
    fn beside(&mut self, i: usize, region: &Region, lines: &[String], outlines: &[Vec<Vec<Point>>]) -> bool {
        let Some(b) = self.box_of(region) else { return false };
        let (k, text) = (self.k, self.text());
        let step = 1.3 * text;
        let heading = format!("{}: {}", self.label(i), lines[0]);
        let long = lines[1..].iter().map(|l| width(l, text, false)).fold(width(&heading, text, true), f64::max);
        let size = Vec2::new(long + 2.0 * k, step * lines.len() as f64 + 1.4 * k);
        let near = b.inflate(FARTHEST * k, FARTHEST * k);
        // An opening outside this box cannot lie nearer to the words than their own opening.
        let about = near.inflate(size.x + 0.5 * FARTHEST * k + 5.0 * k, size.y + 0.5 * FARTHEST * k + 5.0 * k);
        let about = about.inflate(FARTHEST * k, FARTHEST * k);
        let others = self.boxes.iter().enumerate().filter(|(j, o)| *j != i && apart(**o, about) <= 0.0);
        let boxes: Vec<Rect> = others.map(|o| *o.1).collect();
        let (turn, middle) = (self.face.panel.turn, Point::new(self.w / 2.0, self.h / 2.0));
        let cost = |d: Rect| {
            let across = match turn {
                Turn::LeftRight => (d.center().x > middle.x) != (b.center().x > middle.x),
                Turn::BottomTop => (d.center().y > middle.y) != (b.center().y > middle.y),
                Turn::None => false,
            };
            let far = apart(d, b);
            // A reader would give words to the opening that is nearest to them.
            if across || far > FARTHEST * k {
                return f64::INFINITY;
            }
            let foreign = boxes.iter().any(|o| apart(d, *o) < 1.5 * far + 4.0 * k);
            if foreign || self.in_any(outlines, d.center(), Some(i)) {
                return f64::INFINITY;
            }
            far + 0.02 * (d.center() - b.center()).hypot()
        };
        let Some(d) = self.taken.best_near(size, self.sheet(), near, cost) else { return false };
        self.taken.take_box(d);
        let at = |n: usize| Point::new(d.x0 + k, d.y0 + 0.7 * k + 0.95 * text + step * n as f64);
        self.ink.text(at(0), &heading, self.style(PETROL).bold());
        for (n, l) in lines.iter().enumerate().skip(1) {
            self.ink.text(at(n), l, self.style(INK));
        }
        true
    }
}

/// Distance of two boxes, mm; 0 where they meet.
fn apart(a: Rect, b: Rect) -> f64 {
    let gap = |a0: f64, a1: f64, b0: f64, b1: f64| (b0 - a1).max(a0 - b1).max(0.0);
    Vec2::new(gap(a.x0, a.x1, b.x0, b.x1), gap(a.y0, a.y1, b.y0, b.y1)).hypot()
}

/// Whether `p` is inside the rings, by the even-odd rule.
fn inside(rings: &[Vec<Point>], p: Point) -> bool {
    let mut odd = false;
    for ring in rings {
        for i in 0..ring.len() {
            let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
            if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
                odd = !odd;
            }
        }
    }
    odd
}
