//! Figures of router and template, and where each is from.
//!
//! In: what was given, the kit. Out: the figure, mm: given outweighs the kit, and the kit what is usual. A general kit is
//! nobody's, so it gives none.

use super::Kit;

/// Usual figures, mm. Common practice, no source.
const BASE: f64 = 75.0;
const THICKNESS: f64 = 9.0;
const CUTTER: f64 = 6.0;

/// Who says so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Said {
    /// Whoever asked.
    Given,
    Kit,
    /// Nobody: it is what is usual.
    Usual,
}

impl Said {
    /// As it is written for programs.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Said::Given => "given",
            Said::Kit => "kit",
            Said::Usual => "usual",
        }
    }

    /// For people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Said::Given => "as given",
            Said::Kit => "by the kit",
            Said::Usual => "usual: nobody gave it",
        }
    }
}

/// A length and who says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    pub mm: f64,
    pub said: Said,
}

impl Figure {
    fn new(given: Option<f64>, kit: Option<f64>, usual: f64) -> Figure {
        match (given, kit) {
            (Some(mm), _) => Figure { mm, said: Said::Given },
            (None, Some(mm)) => Figure { mm, said: Said::Kit },
            (None, None) => Figure { mm: usual, said: Said::Usual },
        }
    }
}

/// What panels are laid out and checked with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// Radius of the router's base.
    pub base: Figure,
    /// Of the template.
    pub thickness: Figure,
    /// Diameter of the cutter that cuts the template.
    pub template_cutter: Figure,
}

impl Figures {
    /// What is given outweighs the kit. Of a kit's lists of stock and of template cutters the first counts: the one that its
    /// owner wrote first.
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
        assert_eq!((f.base.mm, f.base.said), (82.0, Said::Kit));
        assert_eq!((f.thickness.mm, f.thickness.said), (10.0, Said::Given));
        assert_eq!((f.template_cutter.mm, f.template_cutter.said), (CUTTER, Said::Usual));
        assert_eq!(Figures::new(&kit, None, None, None).thickness, Figure { mm: 12.0, said: Said::Kit });
        // A general kit is nobody's.
        let f = Figures::new(&Kit { generic: true, ..kit }, None, None, None);
        assert_eq!([f.base, f.thickness].map(|f| (f.mm, f.said)), [(BASE, Said::Usual), (THICKNESS, Said::Usual)]);
    }
}
