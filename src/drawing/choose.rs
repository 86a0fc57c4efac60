//! Selects shapes by name.
//!
//! In: the shapes as read, and names. Out: the selected shapes. A name is an id or handle, a layer, a label, a colour
//! (`#c00`, `red`, `colour 30`), or a number from [`super::found`]. An id, layer or label outranks a number. Refuses a
//! name that no shape has.

use super::{Shape, Source, join};
use crate::budget::Budget;
use std::collections::BTreeSet;
use std::str::FromStr;
use svgtypes::Color;

/// The shapes to use. Selection comes before nesting.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Selection {
    /// Use only these shapes; all if empty.
    pub only: Vec<String>,
    /// Leave these shapes out.
    pub skip: Vec<String>,
}

impl Selection {
    #[must_use]
    pub fn is_everything(&self) -> bool {
        self.only.is_empty() && self.skip.is_empty()
    }
}

/// A name that no shape has, and the names that exist.
#[derive(Clone, Debug, PartialEq)]
pub struct NoSuchName {
    pub name: String,
    /// Layers, labels, colours and ids, in this order and by the alphabet.
    pub there: Vec<(NameKind, String)>,
    /// The numbers go from 1 to this.
    pub numbers: usize,
}

/// What a name is in the drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum NameKind {
    Layer,
    Label,
    Colour,
    Id,
}

/// The selected shapes, in file order. `tolerance` is the widest gap that is joined, mm: numbers count joined lines.
///
/// # Errors
/// [`NoSuchName`] for the first name that no shape has.
pub fn choose(
    shapes: Vec<Shape>,
    select: &Selection,
    tolerance: f64,
    budget: &Budget,
) -> Result<Vec<Shape>, NoSuchName> {
    if select.is_everything() {
        return Ok(shapes);
    }
    let names = || select.only.iter().chain(&select.skip);
    let is_name = |n: &str| shapes.iter().any(|s| called(&s.source, n));
    let number = |n: &str| n.trim().parse::<usize>().ok().filter(|_| !is_name(n));
    let traced = || join::traced(shapes.clone(), tolerance, budget).members;
    let members = if names().any(|n| number(n).is_some()) { traced() } else { Vec::new() };
    for name in names() {
        let there = match number(name) {
            Some(n) => (1..=members.len()).contains(&n),
            None => is_name(name),
        };
        if !there {
            let numbers = if members.is_empty() { traced().len() } else { members.len() };
            return Err(NoSuchName { name: name.clone(), there: names_of(&shapes), numbers });
        }
    }
    let any = |list: &[String], i: usize| {
        list.iter().any(|n| match number(n) {
            Some(n) => members[n - 1].binary_search(&i).is_ok(),
            None => called(&shapes[i].source, n),
        })
    };
    let wanted: Vec<bool> =
        (0..shapes.len()).map(|i| (select.only.is_empty() || any(&select.only, i)) && !any(&select.skip, i)).collect();
    Ok(shapes.into_iter().zip(wanted).filter_map(|(s, w)| w.then_some(s)).collect())
}

fn called(s: &Source, name: &str) -> bool {
    let is = |o: &Option<String>| o.as_deref() == Some(name);
    s.id == name || is(&s.layer) || is(&s.label) || s.colour.as_deref().is_some_and(|c| same_colour(c, name))
}

fn same_colour(a: &str, b: &str) -> bool {
    let rgb = |s: &str| Color::from_str(s).ok().map(|c| (c.red, c.green, c.blue));
    // Both spellings of `colour 30` count.
    let plain = |s: &str| s.to_ascii_lowercase().replace("color ", "colour ");
    plain(a) == plain(b) || rgb(a).is_some_and(|c| rgb(b) == Some(c))
}

fn names_of(shapes: &[Shape]) -> Vec<(NameKind, String)> {
    let all = shapes.iter().map(|s| &s.source).flat_map(|s| {
        let layer = s.layer.iter().map(|n| (NameKind::Layer, n));
        let label = s.label.iter().map(|n| (NameKind::Label, n));
        let colour = s.colour.iter().map(|n| (NameKind::Colour, n));
        layer.chain(label).chain(colour).chain([(NameKind::Id, &s.id)])
    });
    let there: BTreeSet<(NameKind, &String)> = all.filter(|(_, n)| !n.is_empty()).collect();
    there.into_iter().map(|(kind, n)| (kind, n.clone())).collect()
}

#[cfg(test)]
mod tests {
    use super::super::{Fill, Path};
    use super::*;
    use crate::geom::{Point, Segment};

    /// Two loops. The first is a triangle of three loose lines on layer SOLE. The second is closed and has a label, a
    /// colour and the id `2`.
    fn shapes() -> Vec<Shape> {
        let p = [Point::new(0.0, 0.0), Point::new(10.0, 0.0), Point::new(0.0, 10.0)];
        let line = |i: usize| Segment::line(p[i], p[(i + 1) % 3]);
        let source = |id: &str| Source { id: id.to_owned(), layer: Some("SOLE".to_owned()), ..Source::default() };
        let shape = |segments: Vec<Segment>, closed, source| Shape {
            paths: vec![Path { segments, closed }],
            fill: Fill::None,
            source,
        };
        let mut out: Vec<Shape> = (0..3).map(|i| shape(vec![line(i)], false, source(&format!("1{i}")))).collect();
        let named = Source {
            id: "2".to_owned(),
            label: Some("hatch key".to_owned()),
            colour: Some("#ff0000".to_owned()),
            ..Source::default()
        };
        out.push(shape((0..3).map(|i| line(i).translated((50.0, 0.0).into())).collect(), true, named));
        out
    }

    fn ids(only: &[&str], skip: &[&str]) -> Result<Vec<String>, NoSuchName> {
        let owned = |l: &[&str]| l.iter().map(|s| (*s).to_owned()).collect();
        let select = Selection { only: owned(only), skip: owned(skip) };
        let chosen = choose(shapes(), &select, 0.05, &Budget::unlimited())?;
        Ok(chosen.into_iter().map(|s| s.source.id).collect())
    }

    #[test]
    fn by_every_kind_of_name() {
        assert_eq!(ids(&[], &[]).unwrap().len(), 4);
        assert_eq!(ids(&["SOLE"], &[]).unwrap(), ["10", "11", "12"]);
        for name in ["hatch key", "red", "#F00", "2"] {
            assert_eq!(ids(&[name], &[]).unwrap(), ["2"], "{name}");
        }
        // A number selects the whole loop of loose lines.
        assert_eq!(ids(&["1"], &[]).unwrap(), ["10", "11", "12"]);
        assert_eq!(ids(&[], &["1"]).unwrap(), ["2"]);
        assert_eq!(ids(&["10"], &[]).unwrap(), ["10"]);
        let no = ids(&["hatchkey"], &[]).unwrap_err();
        let named = |kind, name: &str| no.there.contains(&(kind, name.to_owned()));
        assert!(named(NameKind::Label, "hatch key") && named(NameKind::Layer, "SOLE") && named(NameKind::Id, "2"));
        assert_eq!((no.name.as_str(), no.numbers), ("hatchkey", 2));
        assert!(ids(&["3"], &[]).is_err() && ids(&["0"], &[]).is_err());
    }
}
