//! Figures of router and template, with their origin.
//!
//! In: the given figures and the kit. Out: the figures, mm. A given figure outranks the kit, and the kit outranks the
//! default. A general kit belongs to nobody, so it gives no figures.

use super::Kit;

/// Default figures, mm. Common practice, no source.
const BASE: f64 = 75.0;
const THICKNESS: f64 = 9.0;
const CUTTER: f64 = 6.0;

/// The origin of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FigureSource {
    /// Given by the maker.
    Given,
    /// From the kit.
    Kit,
    /// Assumed: the default.
    Assumed,
}

impl FigureSource {
    /// The name in JSON.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            FigureSource::Given => "given",
            FigureSource::Kit => "kit",
            FigureSource::Assumed => "assumed",
        }
    }
}

/// A length and its origin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    pub mm: f64,
    pub source: FigureSource,
}

impl Figure {
    fn new(given: Option<f64>, kit: Option<f64>, usual: f64) -> Figure {
        match (given, kit) {
            (Some(mm), _) => Figure { mm, source: FigureSource::Given },
            (None, Some(mm)) => Figure { mm, source: FigureSource::Kit },
            (None, None) => Figure { mm: usual, source: FigureSource::Assumed },
        }
    }
}

/// The figures for laying out and checking panels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// Radius of the router's base.
    pub base: Figure,
    /// Thickness of the template.
    pub thickness: Figure,
    /// Diameter of the cutter that cuts the template.
    pub template_cutter: Figure,
}

impl Figures {
    /// A given figure outranks the kit. Of the kit's lists of stock and template cutters the first entry counts.
    #[must_use]
    pub fn new(kit: &Kit, base: Option<f64>, thickness: Option<f64>, template_cutter: Option<f64>) -> Figures {
        let own = |mm: Option<f64>| mm.filter(|_| !kit.generic);
        Figures {
            base: Figure::new(base, own(kit.base), BASE),
            thickness: Figure::new(thickness, own(kit.stock.first().copied()), THICKNESS),
            template_cutter: Figure::new(template_cutter, own(kit.template_cutters.first().copied()), CUTTER),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn given_then_the_kit_then_what_is_usual() {
        let kit = Kit { base: Some(82.0), stock: vec![12.0, 6.0], ..Kit::default() };
        let f = Figures::new(&kit, None, Some(10.0), None);
        assert_eq!((f.base.mm, f.base.source), (82.0, FigureSource::Kit));
        assert_eq!((f.thickness.mm, f.thickness.source), (10.0, FigureSource::Given));
        assert_eq!((f.template_cutter.mm, f.template_cutter.source), (CUTTER, FigureSource::Assumed));
        assert_eq!(Figures::new(&kit, None, None, None).thickness, Figure { mm: 12.0, source: FigureSource::Kit });
        // A general kit belongs to nobody.
        let f = Figures::new(&Kit { generic: true, ..kit }, None, None, None);
        assert_eq!(
            [f.base, f.thickness].map(|f| (f.mm, f.source)),
            [(BASE, FigureSource::Assumed), (THICKNESS, FigureSource::Assumed)]
        );
    }
}

/// Figures of the router and the template.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Router {
    /// Thickness of the template, mm.
    pub thickness: f64,
    /// Projection of every bush below the base, mm. It overrides the kit.
    pub projection: Option<f64>,
    /// Depth of a pass, mm. `None`: half the diameter of each cutter.
    pub pass: Option<f64>,
}
