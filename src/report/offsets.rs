//! The kit's table, to read, to print, and for programs.
//!
//! In: a kit and what gaps will do, mm. Out: text for a terminal, a JSON document, an HTML page to hang on the wall. All
//! three show the same: every bush with every cutter and its offsets, the pairs that let one opening serve both pieces,
//! and the one tool to buy.

use super::json::{Number, SCHEMA, TOOL, Tool as Program, with_line_end};
use crate::kit::pairs::{Bounds, Matching, Offset, Tool, matching, offsets, to_buy};
use crate::kit::{Bush, Cutter, Kit, Pair, Passage, shank_passes};
use crate::text::xml;
use crate::units::{INCH, mm_and_inch};
use serde::Serialize;
use std::fmt::Write;

/// So many pairs are listed in a terminal and on the page; JSON has all.
const LISTED: usize = 20;

/// How the same figures serve makers who start from something else than a drawing. A bush that runs round a part leaves
/// an opening `P ⊕ (R + r)`; the rest are the sums of the table read backwards.
const STARTS: [(&str, &str); 3] = [
    (
        "From a part in hand",
        "rout the template round it, the bush against the part: the opening comes out larger than the part by the figure \
         for the inlay. A recess pair that is listed with that pair as its inlay pair then makes the recess for the \
         part, with the gap given there.",
    ),
    (
        "From a template that exists",
        "a recess comes out smaller than its opening by the figure for the recess, an inlay by the figure for the inlay.",
    ),
    (
        "From a recess that is there",
        "an opening for the inlay has to be larger than the recess by the figure for the inlay, less twice the gap over \
         all.",
    ),
];

/// What the table is made of.
pub struct Table<'a> {
    kit: &'a Kit,
    /// Where the kit is from, in words.
    name: &'a str,
    bounds: Bounds,
    rows: Vec<Offset>,
    pairs: Vec<Matching>,
    buy: Option<(Tool, usize)>,
}

impl<'a> Table<'a> {
    /// The table of `kit`, called `name`; `shop`: what could be bought.
    #[must_use]
    pub fn new(kit: &'a Kit, name: &'a str, shop: &Kit, bounds: Bounds) -> Table<'a> {
        let buy = to_buy(kit, shop, bounds);
        Table { kit, name, bounds, rows: offsets(kit), pairs: matching(kit, bounds), buy }
    }

    fn of(&self, r: &Offset) -> (&Bush, &Cutter) {
        (&self.kit.bushes[r.bush], &self.kit.cutters[r.cutter])
    }

    fn shown(&self) -> impl Iterator<Item = &Offset> {
        self.rows.iter().filter(|r| r.passage != Passage::No)
    }

    fn left_out(&self) -> usize {
        self.rows.iter().filter(|r| r.passage == Passage::No).count()
    }

    fn gaps(&self) -> String {
        format!("a gap of {} to {} mm per side, {} wanted", self.bounds.least, self.bounds.most, self.bounds.wanted)
    }

    fn advice(&self) -> Option<String> {
        let (tool, adds) = self.buy?;
        let tool = match tool {
            Tool::Bush(b) => format!("a bush of {}", mm_and_inch(b)),
            Tool::Cutter(c) => format!("a cutter of {}", mm_and_inch(c)),
        };
        let pairs = if adds == 1 { "one pair".to_owned() } else { format!("{adds} pairs") };
        Some(format!("If one tool were bought: {tool} would add {pairs}, more than any other of its kind."))
    }
}

fn passes(p: Passage) -> &'static str {
    match p {
        Passage::Free => "",
        Passage::Tight => "little room for chips",
        Passage::NotKnown => "bore not known, so not checked",
        Passage::No => "does not come through",
    }
}

fn about_shank(b: &Bush, c: &Cutter) -> &'static str {
    if shank_passes(b, c) == Some(false) { "shank does not come through" } else { "" }
}

fn remarks(r: &Offset, b: &Bush, c: &Cutter) -> String {
    [passes(r.passage), about_shank(b, c)].into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join("; ")
}

/// What a tool is called, and what it measures if that is known.
fn size(called: f64, measured: Option<f64>) -> String {
    let measured = measured.map(|m| format!(", measured {m:.2}")).unwrap_or_default();
    format!("{}{measured}", mm_and_inch(called))
}

fn two(p: Pair) -> String {
    format!("bush {}, cutter {}", mm_and_inch(p.bush), mm_and_inch(p.cutter))
}

/// For a terminal.
#[must_use]
pub fn terminal(t: &Table) -> String {
    let mut out = format!("Kit: {}\n", t.name);
    let mut last = None;
    for r in t.shown() {
        let (b, c) = t.of(r);
        if last != Some(r.bush) {
            last = Some(r.bush);
            let bore = b.bore.map_or("bore not known".to_owned(), |v| format!("bore {v:.2} mm"));
            // Writing to a string cannot fail, here and below.
            let _ = writeln!(out, "\nBush {}, {bore}", size(b.outside, b.measured));
            let _ = writeln!(out, "  {:24}{:24}{:24}", "cutter", "for the recess: per side", "for the inlay: per side");
            let _ = writeln!(out, "  {:24}{:24}{:24}", "", "and over all", "and over all");
        }
        let cells = [mm_and_inch(c.diameter), mm_and_inch(r.recess), mm_and_inch(r.inlay)];
        let _ = writeln!(out, "  {:24}{:24}{:24}{}", cells[0], cells[1], cells[2], remarks(r, b, c));
        // On the line of the cutter a measured size would run into the next column.
        let measured = c.measured.map(|m| format!("measured {m:.2}")).unwrap_or_default();
        let over_all = [mm_and_inch(2.0 * r.recess), mm_and_inch(2.0 * r.inlay)];
        let _ = writeln!(out, "  {measured:24}{:24}{}", over_all[0], over_all[1]);
    }
    if t.left_out() > 0 {
        let _ = writeln!(out, "\nNot shown: {} where the cutter does not come through the bush.", t.left_out());
    }
    let _ = writeln!(out, "\nTools that let one opening serve both pieces ({})", t.gaps());
    for m in t.pairs.iter().take(LISTED) {
        let _ = writeln!(out, "  recess: {}; inlay: {}", two(m.recess_called), two(m.inlay_called));
        let change = if m.same_cutter { "" } else { "; another cutter for the inlay" };
        let _ = writeln!(
            out,
            "    opening {} outside the outline, gap {:.3} mm per side, corners {:.2} mm inside and {:.2} mm outside{change}",
            mm_and_inch(m.offset),
            m.gap,
            m.recess.cutter_radius(),
            m.offset
        );
    }
    match t.pairs.len() {
        0 => _ = writeln!(out, "  none"),
        n if n > LISTED => _ = writeln!(out, "  and {} more: --json lists them", n - LISTED),
        _ => {}
    }
    if let Some(advice) = t.advice() {
        let _ = writeln!(out, "\n{advice}");
    }
    out.push_str("\nStarting from something in hand, with the figures over all (letin make --from works it out)\n");
    for (from, what) in STARTS {
        let _ = writeln!(out, "  {from}: {what}");
    }
    out
}

#[derive(Serialize)]
struct Document<'a> {
    schema: u32,
    tool: Program,
    kit: &'a str,
    offsets: Vec<Row>,
    bounds: Gaps,
    pairs: Vec<PairRow>,
    buy: Option<Buy>,
}

#[derive(Serialize)]
struct Gaps {
    gap_least_mm: Number,
    gap_most_mm: Number,
    gap_wanted_mm: Number,
}

#[derive(Serialize)]
struct Row {
    bush_mm: Number,
    bush_measured_mm: Option<Number>,
    bore_mm: Option<Number>,
    cutter_mm: Number,
    cutter_measured_mm: Option<Number>,
    recess_offset_mm: Number,
    inlay_offset_mm: Number,
    /// Both sides together.
    recess_over_all_mm: Number,
    inlay_over_all_mm: Number,
    recess_offset_in: Number,
    inlay_offset_in: Number,
    recess_over_all_in: Number,
    inlay_over_all_in: Number,
    passes: &'static str,
    shank_passes: Option<bool>,
}

#[derive(Serialize)]
struct Tools {
    bush_mm: Number,
    cutter_mm: Number,
}

impl From<Pair> for Tools {
    fn from(p: Pair) -> Tools {
        Tools { bush_mm: Number(p.bush), cutter_mm: Number(p.cutter) }
    }
}

#[derive(Serialize)]
struct PairRow {
    recess: Tools,
    inlay: Tools,
    gap_mm: Number,
    offset_mm: Number,
    inside_radius_mm: Number,
    same_cutter: bool,
    bore_room_mm: Option<Number>,
}

#[derive(Serialize)]
struct Buy {
    kind: &'static str,
    size_mm: Number,
    adds: usize,
}

/// For programs, with a line end. Bushes and cutters are named by what they are called; the sums are made with measured
/// diameters where there are some.
///
/// # Errors
/// Only what `serde_json` itself cannot write.
pub fn json(t: &Table) -> Result<Vec<u8>, serde_json::Error> {
    let row = |r: &Offset| {
        let (b, c) = t.of(r);
        Row {
            bush_mm: Number(b.outside),
            bush_measured_mm: b.measured.map(Number),
            bore_mm: b.bore.map(Number),
            cutter_mm: Number(c.diameter),
            cutter_measured_mm: c.measured.map(Number),
            recess_offset_mm: Number(r.recess),
            inlay_offset_mm: Number(r.inlay),
            recess_over_all_mm: Number(2.0 * r.recess),
            inlay_over_all_mm: Number(2.0 * r.inlay),
            recess_offset_in: Number(r.recess / INCH),
            inlay_offset_in: Number(r.inlay / INCH),
            recess_over_all_in: Number(2.0 * r.recess / INCH),
            inlay_over_all_in: Number(2.0 * r.inlay / INCH),
            passes: r.passage.name(),
            shank_passes: shank_passes(b, c),
        }
    };
    let pair = |m: &Matching| PairRow {
        recess: m.recess_called.into(),
        inlay: m.inlay_called.into(),
        gap_mm: Number(m.gap),
        offset_mm: Number(m.offset),
        inside_radius_mm: Number(m.recess.cutter_radius()),
        same_cutter: m.same_cutter,
        bore_room_mm: m.bore_room.map(Number),
    };
    let buy = t.buy.map(|(tool, adds)| match tool {
        Tool::Bush(b) => Buy { kind: "bush", size_mm: Number(b), adds },
        Tool::Cutter(c) => Buy { kind: "cutter", size_mm: Number(c), adds },
    });
    let bounds = Gaps {
        gap_least_mm: Number(t.bounds.least),
        gap_most_mm: Number(t.bounds.most),
        gap_wanted_mm: Number(t.bounds.wanted),
    };
    let document = Document {
        schema: SCHEMA,
        tool: TOOL,
        kit: t.name,
        offsets: t.rows.iter().map(row).collect(),
        bounds,
        pairs: t.pairs.iter().map(pair).collect(),
        buy,
    };
    Ok(with_line_end(serde_json::to_vec_pretty(&document)?))
}

/// Plain, in two inks, dark where the reader wants it, and black on white in print. Nothing is fetched.
const STYLE: &str = "\
:root{color-scheme:light dark;--ink:#1a1a1a;--paper:#fff;--line:#8a8a8a;--band:#f1f1ee;--a:#0067A3;--w:#B34700}\
@media (prefers-color-scheme:dark){:root{--ink:#eee;--paper:#161616;--line:#777;--band:#242424;--a:#6CC4FF;--w:#FFA14A}}\
*{box-sizing:border-box}body{font:16px/1.4 system-ui,sans-serif;color:var(--ink);background:var(--paper);margin:0 auto;\
padding:1.5rem;max-width:70rem}h1{font-size:1.5rem;margin:0}h2{font-size:1.15rem;margin:1.6rem 0 .4rem}\
.wide{overflow-x:auto}table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}\
th,td{border:1px solid var(--line);padding:.25rem .5rem;text-align:left;vertical-align:top}thead th{background:var(--band)}\
tbody.bush{break-inside:avoid}tbody.bush>tr:first-child>*{border-top:2px solid var(--ink)}\
.in{color:var(--a);display:block;white-space:nowrap}.warn{color:var(--w)}p{max-width:45rem}\
@media print{:root{--ink:#000;--paper:#fff;--line:#666;--band:#eee;--a:#000;--w:#000}body{padding:0;font-size:10pt}\
@page{margin:12mm}h2{break-after:avoid}tr{break-inside:avoid}}";

/// A page to print. Readable without a network and without script.
#[must_use]
pub fn html(t: &Table) -> String {
    let mut out = String::new();
    let _ = write!(
        out,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width, initial-scale=1\">\n<meta http-equiv=\"Content-Security-Policy\" \
         content=\"default-src 'none'; style-src 'unsafe-inline'\">\n<title>Offsets of the kit</title>\n\
         <style>{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>How far the opening lies outside the outline</h1>\n\
         <p>Kit: {}. By measured diameters where there are some.</p>\n",
        xml(t.name)
    );
    out.push_str(
        "<div class=\"wide\">\n<table>\n<thead>\n<tr><th scope=\"col\" rowspan=\"2\">Bush</th><th scope=\"col\" \
         rowspan=\"2\">Cutter</th><th scope=\"colgroup\" colspan=\"2\">For the recess</th><th scope=\"colgroup\" \
         colspan=\"2\">For the inlay, without a gap</th><th scope=\"col\" rowspan=\"2\">Mind</th></tr>\n<tr><th \
         scope=\"col\">a side</th><th scope=\"col\">over all</th><th scope=\"col\">a side</th><th scope=\"col\">over \
         all</th></tr>\n</thead>\n",
    );
    let rows: Vec<&Offset> = t.shown().collect();
    for of_bush in rows.chunk_by(|a, b| a.bush == b.bush) {
        out.push_str("<tbody class=\"bush\">\n");
        for (i, r) in of_bush.iter().enumerate() {
            let (b, c) = t.of(r);
            out.push_str("<tr>");
            if i == 0 {
                let bore = b.bore.map_or("bore not known".to_owned(), |v| format!("bore {v:.2}"));
                let called = cell(b.outside, b.measured);
                let _ = write!(out, "<th scope=\"rowgroup\" rowspan=\"{}\">{called}<br>{bore}</th>", of_bush.len());
            }
            let _ = write!(out, "<th scope=\"row\">{}</th>", cell(c.diameter, c.measured));
            for v in [r.recess, 2.0 * r.recess, r.inlay, 2.0 * r.inlay] {
                let _ = write!(out, "<td>{}</td>", cell(v, None));
            }
            let _ = writeln!(out, "<td class=\"warn\">{}</td></tr>", xml(&remarks(r, b, c)));
        }
        out.push_str("</tbody>\n");
    }
    out.push_str("</table>\n</div>\n");
    if t.left_out() > 0 {
        let _ = writeln!(out, "<p>Not shown: {} where the cutter does not come through the bush.</p>", t.left_out());
    }
    pairs(&mut out, t);
    if let Some(advice) = t.advice() {
        let _ = writeln!(out, "<p>{}</p>", xml(&advice));
    }
    out.push_str("<h2>Starting from something in hand</h2>\n<p>With the figures over all; <code>letin make --from</code> works it out.</p>\n<ul>\n");
    for (from, what) in STARTS {
        let _ = writeln!(out, "<li><strong>{from}:</strong> {what}</li>");
    }
    out.push_str(
        "</ul>\n<p>The recess's inside corners come out with the cutter's radius, outside corners with the offset. Router \
         unplugged while bush and cutter are changed; a trial in scrap before the board.</p>\n</main>\n</body>\n</html>\n",
    );
    out
}

fn pairs(out: &mut String, t: &Table) {
    let _ = writeln!(out, "<h2>Tools that let one opening serve both pieces</h2>\n<p>With {}.</p>", xml(&t.gaps()));
    if t.pairs.is_empty() {
        out.push_str("<p>None.</p>\n");
        return;
    }
    out.push_str(
        "<div class=\"wide\">\n<table>\n<thead><tr><th scope=\"col\">Recess: bush</th><th \
         scope=\"col\">cutter</th><th scope=\"col\">Inlay: bush</th><th scope=\"col\">cutter</th><th \
         scope=\"col\">Opening outside, per side</th><th scope=\"col\">Gap per side, mm</th></tr></thead>\n<tbody>\n",
    );
    for m in t.pairs.iter().take(LISTED) {
        out.push_str("<tr>");
        let (f, i) = (m.recess_called, m.inlay_called);
        for v in [f.bush, f.cutter, i.bush, i.cutter, m.offset] {
            let _ = write!(out, "<td>{}</td>", cell(v, None));
        }
        let _ = writeln!(out, "<td>{:.3}</td></tr>", m.gap);
    }
    out.push_str("</tbody>\n</table>\n</div>\n");
    if t.pairs.len() > LISTED {
        let _ = writeln!(out, "<p>And {} more.</p>", t.pairs.len() - LISTED);
    }
}

/// A length in mm with inches below it.
fn cell(mm: f64, measured: Option<f64>) -> String {
    let both = mm_and_inch(mm);
    let shown = match both.split_once(" (") {
        Some((mm, inch)) => format!("{mm} <span class=\"in\">{}</span>", inch.trim_end_matches(')')),
        None => both,
    };
    let measured = measured.map(|m| format!("<br>measured {m:.2}")).unwrap_or_default();
    shown + &measured
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
        let t = Table::new(&kit, "box <1>", &shop, BOUNDS);
        let said = terminal(&t);
        // Columns stay apart, with the measured size below the cutter: 19.87 − 6 and 19.87 + 6 over all.
        assert!(said.contains("\n  measured 6.00           13.87 mm"), "{said}");
        // (19.87 − 6)/2 and (19.87 + 6)/2, by hand.
        assert!(said.contains("6.93 mm") || said.contains("6.94 mm"), "{said}");
        assert!(said.contains("12.94 mm") || said.contains("12.93 mm"), "{said}");
        assert!(said.contains("Not shown: 1 where the cutter does not come through"), "{said}");
        let page = html(&t);
        assert!(page.contains("box &lt;1&gt;") && !page.contains("box <1>"));
        assert!(page.contains("measured 19.87") && !page.contains("http://") && !page.contains("<script"));
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
        // By nominal sizes no bush of the shop goes with one of 19.87: the inlay would be too large.
        assert!(v["buy"].is_null());
    }

    #[test]
    fn tags_close() {
        let kit = generic::inch().unwrap();
        let page = html(&Table::new(&kit, "inch", &kit, BOUNDS));
        for tag in ["table", "thead", "tbody", "tr", "th", "td", "p", "div", "main", "body", "html"] {
            let open = page.matches(&format!("<{tag}>")).count() + page.matches(&format!("<{tag} ")).count();
            assert_eq!(open, page.matches(&format!("</{tag}>")).count(), "{tag}");
        }
    }
}
