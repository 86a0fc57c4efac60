//! The kit's table of offsets, for the terminal, for print, and as JSON.
//!
//! In: a kit and the bounds of the gap, mm. Out: text for a terminal, a JSON document, an HTML page to print. All three
//! hold every bush with every cutter and its offsets, the pairs of tools that let one opening serve both pieces, and the
//! one most useful tool to buy. People see the unit of the kit.

use crate::kit::pairs::{Bounds, Matching, Offset, Tool, matching, offsets, to_buy};
use crate::kit::{Bush, Cutter, Kit, Pair, Passage, shank_passes};
use crate::schema::kit::{Buy, Gaps, Offsets, ToolKind};
use crate::schema::{self, Version};
use crate::text::{Length, Show, fixed, gap, plain, tool, xml};
use crate::units::INCH;
use crate::words;
use std::fmt::Write;

/// Most pairs in a terminal and on the page. JSON has all.
const LISTED: usize = 20;

/// The table for makers who start from something in hand. A bush that runs round a part leaves an opening
/// `P ⊕ (R + r)`. The other two are the sums of the table, solved for the piece or for the opening.
const STARTS: [(&str, &[&str]); 3] = [
    (
        "From a part in hand",
        &[
            "rout the template round the part, with the bush against it.",
            "The opening is larger than the part by the inlay figure.",
            "A matching pair with the same inlay pair then cuts the recess, with the gap in its row.",
        ],
    ),
    (
        "From a template in hand",
        &["a recess is smaller than its opening by the recess figure, an inlay by the inlay figure."],
    ),
    (
        "From a recess in hand",
        &["the opening for the inlay is larger than the recess by the inlay figure, less twice the gap."],
    ),
];

/// The content of the table.
pub struct OffsetTable<'a> {
    kit: &'a Kit,
    /// The kit's name or path, in words.
    name: &'a str,
    /// The unit of figures for people.
    show: Show,
    bounds: Bounds,
    rows: Vec<Offset>,
    pairs: Vec<Matching>,
    buy: Option<(Tool, usize)>,
}

impl<'a> OffsetTable<'a> {
    /// The table of `kit`, with its name. `shop`: the tools on sale.
    #[must_use]
    pub fn new(kit: &'a Kit, name: &'a str, shop: &Kit, bounds: Bounds) -> OffsetTable<'a> {
        let buy = to_buy(kit, shop, bounds);
        let show = if kit.inches { Show::Inch } else { Show::Mm };
        OffsetTable { kit, name, show, bounds, rows: offsets(kit), pairs: matching(kit, bounds), buy }
    }

    fn bush_and_cutter(&self, r: &Offset) -> (&Bush, &Cutter) {
        (&self.kit.bushes[r.bush], &self.kit.cutters[r.cutter])
    }

    /// Rows whose cutter passes the bush.
    fn shown(&self) -> impl Iterator<Item = &Offset> {
        self.rows.iter().filter(|r| r.passage != Passage::No)
    }

    fn left_out(&self) -> Option<String> {
        match self.rows.iter().filter(|r| r.passage == Passage::No).count() {
            0 => None,
            1 => Some("Not shown: 1 pair whose cutter does not pass the bush.".to_owned()),
            n => Some(format!("Not shown: {n} pairs whose cutter does not pass the bush.")),
        }
    }

    fn length(&self, length: Length) -> String {
        length.shown(self.show)
    }

    fn two(&self, p: Pair) -> String {
        words!("bush {}, cutter {}", tool(p.bush), tool(p.cutter)).shown(self.show)
    }

    /// The nominal size of a tool, and its measured size where that is known.
    fn size(&self, called: f64, measured: Option<f64>) -> String {
        let measured = measured.map(|m| format!(", measured {}", self.length(fixed(m)))).unwrap_or_default();
        format!("{}{measured}", self.length(tool(called)))
    }

    fn bore(&self, b: &Bush) -> String {
        b.bore.map_or("bore not known".to_owned(), |v| format!("bore {}", self.length(plain(v))))
    }

    fn gaps(&self) -> String {
        let b = &self.bounds;
        let all = words!("gap per side from {} to {}, best {}", gap(b.least), gap(b.most), gap(b.wanted));
        all.shown(self.show)
    }

    fn advice(&self) -> Option<String> {
        let (bought, adds) = self.buy?;
        let (kind, size) = match bought {
            Tool::Bush(b) => ("bush", b),
            Tool::Cutter(c) => ("cutter", c),
        };
        let pairs = if adds == 1 { "1 pair".to_owned() } else { format!("{adds} pairs") };
        let size = self.length(tool(size));
        Some(format!("Most useful tool to buy: a {kind} of {size}. It adds {pairs}, more than any other {kind}."))
    }
}

/// An offset, as set with calipers or read off a rule.
fn offset(mm: f64) -> Length {
    fixed(mm).with_fraction()
}

fn passes(p: Passage) -> &'static str {
    match p {
        Passage::Free => "",
        Passage::Tight => "little room for chips",
        Passage::NotKnown => "bore not known, not checked",
        Passage::No => "does not pass the bush",
    }
}

fn about_shank(b: &Bush, c: &Cutter) -> &'static str {
    if shank_passes(b, c) == Some(false) { "shank does not pass the bush" } else { "" }
}

fn remarks(r: &Offset, b: &Bush, c: &Cutter) -> String {
    [passes(r.passage), about_shank(b, c)].into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join(", ")
}

/// For a terminal.
#[must_use]
pub fn terminal(t: &OffsetTable) -> String {
    let mut out = format!("Kit: {}\n", t.name);
    let mut last = None;
    for r in t.shown() {
        let (b, c) = t.bush_and_cutter(r);
        if last != Some(r.bush) {
            last = Some(r.bush);
            // Writing to a String cannot fail, here and below.
            let _ = writeln!(out, "\nBush {}, {}", t.size(b.outside, b.measured), t.bore(b));
            let _ = writeln!(out, "  {:24}{:24}{:24}", "cutter", "recess: per side", "inlay: per side");
            let _ = writeln!(out, "  {:24}{:24}{:24}", "", "and over all", "and over all");
        }
        let cells = [tool(c.diameter), offset(r.recess), offset(r.inlay)].map(|l| t.length(l));
        let _ = writeln!(out, "  {:24}{:24}{:24}{}", cells[0], cells[1], cells[2], remarks(r, b, c));
        // The cutter's own line has no room for its measured size.
        let measured = c.measured.map(|m| format!("measured {}", t.length(fixed(m)))).unwrap_or_default();
        let over_all = [2.0 * r.recess, 2.0 * r.inlay].map(|v| t.length(offset(v)));
        let _ = writeln!(out, "  {measured:24}{:24}{}", over_all[0], over_all[1]);
    }
    if let Some(left_out) = t.left_out() {
        let _ = writeln!(out, "\n{left_out}");
    }
    let _ = writeln!(out, "\nTools that let one opening serve both pieces ({})", t.gaps());
    for m in t.pairs.iter().take(LISTED) {
        let _ = writeln!(out, "  recess: {}; inlay: {}", t.two(m.recess_called), t.two(m.inlay_called));
        let sums = words!("    opening {} outside the outline, gap {} per side", offset(m.offset), gap(m.gap));
        let corners =
            words!("    corner radius {} inside, {} outside", plain(m.recess.cutter_radius()), plain(m.offset));
        let change = if m.same_cutter { "" } else { "; another cutter for the inlay" };
        let _ = writeln!(out, "{}\n{}{change}", sums.shown(t.show), corners.shown(t.show));
    }
    match t.pairs.len() {
        0 => _ = writeln!(out, "  none"),
        n if n > LISTED => _ = writeln!(out, "  and {} more: --json lists them", n - LISTED),
        _ => {}
    }
    if let Some(advice) = t.advice() {
        let _ = writeln!(out, "\n{advice}");
    }
    out.push_str("\nTo start from something in hand, use the figures over all, or letin make --from\n");
    for (from, what) in STARTS {
        let _ = writeln!(out, "  {from}:\n    {}", what.join("\n    "));
    }
    out
}

/// The table as JSON. Bushes and cutters have their nominal sizes; the offsets use measured diameters where the kit has
/// them.
///
/// # Errors
/// The errors of `serde_json`.
pub fn json(t: &OffsetTable) -> Result<Vec<u8>, serde_json::Error> {
    let row = |r: &Offset| {
        let (b, c) = t.bush_and_cutter(r);
        schema::kit::Offset {
            bush_mm: b.outside,
            bush_measured_mm: b.measured,
            bore_mm: b.bore,
            cutter_mm: c.diameter,
            cutter_measured_mm: c.measured,
            recess_offset_mm: r.recess,
            inlay_offset_mm: r.inlay,
            recess_over_all_mm: 2.0 * r.recess,
            inlay_over_all_mm: 2.0 * r.inlay,
            recess_offset_in: r.recess / INCH,
            inlay_offset_in: r.inlay / INCH,
            recess_over_all_in: 2.0 * r.recess / INCH,
            inlay_over_all_in: 2.0 * r.inlay / INCH,
            passes: r.passage,
            shank_passes: shank_passes(b, c),
        }
    };
    let pair = |m: &Matching| schema::kit::Matching {
        recess: m.recess_called.into(),
        inlay: m.inlay_called.into(),
        gap_mm: m.gap,
        offset_mm: m.offset,
        inside_radius_mm: m.recess.cutter_radius(),
        same_cutter: m.same_cutter,
        bore_room_mm: m.bore_room,
    };
    let buy = |(tool, adds)| {
        let (kind, size_mm) = match tool {
            Tool::Bush(size) => (ToolKind::Bush, size),
            Tool::Cutter(size) => (ToolKind::Cutter, size),
        };
        Buy { kind, size_mm, adds }
    };
    let Bounds { least, most, wanted } = t.bounds;
    schema::bytes(&Offsets {
        schema: Version,
        tool: schema::Tool::own(),
        kit: t.name.to_owned(),
        offsets: t.rows.iter().map(row).collect(),
        bounds: Gaps { gap_least_mm: least, gap_most_mm: most, gap_wanted_mm: wanted },
        pairs: t.pairs.iter().map(pair).collect(),
        buy: t.buy.map(buy),
    })
}

/// The page's style: two colours besides ink, light and dark, black on white in print. The page loads nothing.
const STYLE: &str = "\
:root{color-scheme:light dark;--ink:#1b292e;--paper:#fff;--line:#7b8a90;--band:#f3eee2;--w:#8f5a00}\
@media (prefers-color-scheme:dark){:root{--ink:#f0ebdf;--paper:#12191b;--line:#7b8a90;--band:#1f2a2e;--w:#f0b54a}}\
*{box-sizing:border-box}body{font:16px/1.4 system-ui,sans-serif;color:var(--ink);background:var(--paper);margin:0 auto;\
padding:1.5rem;max-width:70rem}h1{font-size:1.5rem;margin:0}h2{font-size:1.15rem;margin:1.6rem 0 .4rem}\
.wide{overflow-x:auto}table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}\
th,td{border:1px solid var(--line);padding:.25rem .5rem;text-align:left;vertical-align:top}thead th{background:var(--band)}\
tbody.bush{break-inside:avoid}tbody.bush>tr:first-child>*{border-top:2px solid var(--ink)}\
.warn{color:var(--w)}p{max-width:45rem}\
@media print{:root{--ink:#000;--paper:#fff;--line:#666;--band:#eee;--w:#000}body{padding:0;font-size:10pt}\
@page{margin:12mm}h2{break-after:avoid}tr{break-inside:avoid}}";

/// A page to print. It reads without a network and without script.
#[must_use]
pub fn html(t: &OffsetTable) -> String {
    let mut out = String::new();
    let _ = write!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\">\n<meta http-equiv=\"Content-Security-Policy\" \
         content=\"default-src 'none'; style-src 'unsafe-inline'\">\n<title>Offsets of the kit</title>\n\
         <style>{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>How far the opening lies outside the outline</h1>\n\
         <p>Kit: {}. Measured diameters count where the kit has them.</p>\n",
        xml(t.name)
    );
    out.push_str(
        "<div class=\"wide\">\n<table>\n<thead>\n<tr><th scope=\"col\" rowspan=\"2\">Bush</th><th scope=\"col\" \
         rowspan=\"2\">Cutter</th><th scope=\"colgroup\" colspan=\"2\">For the recess</th><th scope=\"colgroup\" \
         colspan=\"2\">For the inlay, without a gap</th><th scope=\"col\" rowspan=\"2\">Check</th></tr>\n<tr><th \
         scope=\"col\">per side</th><th scope=\"col\">over all</th><th scope=\"col\">per side</th><th \
         scope=\"col\">over all</th></tr>\n</thead>\n",
    );
    let rows: Vec<&Offset> = t.shown().collect();
    for of_bush in rows.chunk_by(|a, b| a.bush == b.bush) {
        out.push_str("<tbody class=\"bush\">\n");
        for (i, r) in of_bush.iter().enumerate() {
            let (b, c) = t.bush_and_cutter(r);
            out.push_str("<tr>");
            if i == 0 {
                let called = tool_cell(t, b.outside, b.measured);
                let bore = t.bore(b);
                let _ = write!(out, "<th scope=\"rowgroup\" rowspan=\"{}\">{called}<br>{bore}</th>", of_bush.len());
            }
            let _ = write!(out, "<th scope=\"row\">{}</th>", tool_cell(t, c.diameter, c.measured));
            for v in [r.recess, 2.0 * r.recess, r.inlay, 2.0 * r.inlay] {
                let _ = write!(out, "<td>{}</td>", t.length(offset(v)));
            }
            let _ = writeln!(out, "<td class=\"warn\">{}</td></tr>", xml(&remarks(r, b, c)));
        }
        out.push_str("</tbody>\n");
    }
    out.push_str("</table>\n</div>\n");
    if let Some(left_out) = t.left_out() {
        let _ = writeln!(out, "<p>{left_out}</p>");
    }
    write_pairs(&mut out, t);
    if let Some(advice) = t.advice() {
        let _ = writeln!(out, "<p>{}</p>", xml(&advice));
    }
    out.push_str(
        "<h2>To start from something in hand</h2>\n<p>Use the figures over all, or <code>letin make --from</code>.</p>\n\
         <ul>\n",
    );
    for (from, what) in STARTS {
        let _ = writeln!(out, "<li><strong>{from}:</strong> {}</li>", what.join(" "));
    }
    out.push_str(
        "</ul>\n<p>Inside corners of the recess get the cutter's radius, outside corners the offset. Unplug the router \
         while you change bush or cutter. Make a trial in scrap before the board.</p>\n</main>\n</body>\n</html>\n",
    );
    out
}

fn write_pairs(out: &mut String, t: &OffsetTable) {
    let _ = writeln!(out, "<h2>Tools that let one opening serve both pieces</h2>\n<p>With a {}.</p>", xml(&t.gaps()));
    if t.pairs.is_empty() {
        out.push_str("<p>None.</p>\n");
        return;
    }
    out.push_str(
        "<div class=\"wide\">\n<table>\n<thead><tr><th scope=\"col\">Recess: bush</th><th \
         scope=\"col\">cutter</th><th scope=\"col\">Inlay: bush</th><th scope=\"col\">cutter</th><th \
         scope=\"col\">Opening outside, per side</th><th scope=\"col\">Gap per side</th></tr></thead>\n<tbody>\n",
    );
    for m in t.pairs.iter().take(LISTED) {
        out.push_str("<tr>");
        let (f, i) = (m.recess_called, m.inlay_called);
        for l in [tool(f.bush), tool(f.cutter), tool(i.bush), tool(i.cutter), offset(m.offset), gap(m.gap)] {
            let _ = write!(out, "<td>{}</td>", t.length(l));
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n</div>\n");
    if t.pairs.len() > LISTED {
        let _ = writeln!(out, "<p>And {} more.</p>", t.pairs.len() - LISTED);
    }
}

/// A tool with its measured size below it.
fn tool_cell(t: &OffsetTable, called: f64, measured: Option<f64>) -> String {
    let measured = measured.map(|m| format!("<br>measured {}", t.length(fixed(m)))).unwrap_or_default();
    t.length(tool(called)) + &measured
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::{file, generic};

    const BOUNDS: Bounds = Bounds { least: 0.0, most: 0.15, wanted: 0.05 };

    #[test]
    fn the_three_forms_tell_the_same() {
        let kit = file::parse(
            "[[bush]]\noutside = 20\nbore = 17\nmeasured = 19.87\n[[bush]]\noutside = 8\nbore = 6\n[[cutter]]\ndiameter = 6\nmeasured = 6.0\nshank = 8\n",
        )
        .unwrap();
        let shop = generic::metric().unwrap();
        let t = OffsetTable::new(&kit, "box <1>", &shop, BOUNDS);
        let said = terminal(&t);
        // The measured size below the cutter leaves the columns apart. Over all 19.87 − 6 and 19.87 + 6.
        assert!(said.contains("\n  measured 6.00 mm        13.87 mm"), "{said}");
        // (19.87 − 6)/2 and (19.87 + 6)/2, by hand.
        assert!(said.contains("6.94 mm") && said.contains("12.94 mm"), "{said}");
        assert!(said.contains("Not shown: 1 pair whose cutter does not pass the bush."), "{said}");
        let page = html(&t);
        assert!(page.contains("box &lt;1&gt;") && !page.contains("box <1>"));
        assert!(page.contains("measured 19.87 mm") && !page.contains("http://") && !page.contains("<script"));
        let v: serde_json::Value = serde_json::from_slice(&json(&t).unwrap()).unwrap();
        assert_eq!(v["offsets"].as_array().unwrap().len(), 2);
        assert_eq!(
            (&v["offsets"][1]["recess_offset_mm"], &v["offsets"][1]["inlay_offset_mm"]),
            (&6.935.into(), &12.935.into())
        );
        assert_eq!(
            (&v["offsets"][1]["recess_over_all_mm"], &v["offsets"][1]["inlay_over_all_mm"]),
            (&13.87.into(), &25.87.into())
        );
        // 25.87/25.4 by hand: 1.018504.
        let inch = v["offsets"][1]["inlay_over_all_in"].as_f64().unwrap();
        assert!((inch - 1.018_504).abs() < 1e-6, "{inch}");
        assert_eq!((&v["offsets"][0]["passes"], &v["offsets"][1]["shank_passes"]), (&"no".into(), &true.into()));
        // By nominal sizes no bush of the shop matches a bush of 19.87 mm: the inlay would be too large.
        assert!(v["buy"].is_null());
    }

    /// (5/8 − 1/4)/2 = 3/16 in, by hand.
    #[test]
    fn a_kit_in_inches_is_shown_in_inches() {
        let kit =
            file::parse("unit = \"in\"\n[[bush]]\noutside = \"5/8\"\nbore = \"1/2\"\n[[cutter]]\ndiameter = \"1/4\"\n")
                .unwrap();
        let t = OffsetTable::new(&kit, "inch", &generic::inch().unwrap(), BOUNDS);
        for text in [terminal(&t), html(&t)] {
            assert!(text.contains("0.188 in (3/16)") && text.contains("bore 0.500 in"), "{text}");
            assert!(!text.contains(" mm"), "{text}");
        }
    }

    #[test]
    fn tags_close() {
        let kit = generic::inch().unwrap();
        let page = html(&OffsetTable::new(&kit, "inch", &kit, BOUNDS));
        for tag in ["table", "thead", "tbody", "tr", "th", "td", "p", "div", "main", "body", "html"] {
            let open = page.matches(&format!("<{tag}>")).count() + page.matches(&format!("<{tag} ")).count();
            assert_eq!(open, page.matches(&format!("</{tag}>")).count(), "{tag}");
        }
    }
}
