//! Typed options become a checked [`Job`]. Errors name the options.

use super::args::{
    ChoiceArgs, Cli, CommonArgs, DRAWING, FileArgs, PanelArgs, ReadingArgs, ReportArgs, ToolArgs, WoodArgs,
};
use super::failure::Failure;
use super::jobfile::is_job_file;
use crate::app::{Job, Kind, Out, PlugAndShoulder, Selection, Task};
use crate::check::Code;
use crate::drawing::ReadSettings;
use crate::job::asides::Season;
use crate::kit::{Figures, Kit, KitError, Pair, Router, Tools};
use crate::panel::layout::PanelSettings;
use crate::panel::steps::Depths;
use crate::panel::{Setup, Turn};
use crate::template::ease::Corners;
use crate::template::start::Start;
use crate::text::{Show, terminal};
use crate::tolerance::JOIN;
use clap::CommandFactory;
use std::path::PathBuf;

/// Least strip of template beside an opening by default, whatever the template's thickness, mm. Common practice, no source.
const LEAST_WEB: f64 = 6.0;

/// Default gap per side around a plug, mm. Plug and shoulder are routed in two settings of the template, so both cannot be
/// tight. Common practice, no source.
const PLUG_GAP: f64 = 0.25;

/// The job. `files`: where to write them; `None` to check only.
///
/// # Errors
/// [`Failure`] for settings that do not go together.
pub fn convert(c: &CommonArgs, report: &ReportArgs, files: Option<&FileArgs>, kit: &Kit) -> Result<Job, Failure> {
    let task = files.map_or(Task::Check, |f| {
        let folder = f.out.clone();
        Task::Make(Out { folder, force: f.force, dry_run: f.dry_run, unit: f.write_unit, release: f.dxf })
    });
    let CommonArgs { tools, wood, panel, reading, .. } = c;
    let figures = Figures::new(kit, tools.base, panel.template_thickness, panel.template_cutter);
    // The maker reads in the unit that he types.
    let typed_in_inches = reading.width.is_some_and(|w| w.inches).then_some(Show::Inch);
    Ok(Job {
        task,
        read: read_settings(reading)?,
        show: report.show.or(typed_in_inches),
        assumed: Vec::new(),
        mirror: reading.mirror,
        flatten: files.and_then(|f| f.flatten),
        select: selection(&c.choice)?,
        kind: kind(c, &report.accept, kit)?,
        tools: tools_of_kit(tools, kit)?,
        kit: kit.clone(),
        auto_pair: tools.pair.is_some(),
        suggest: tools.suggest,
        season: wood.species.clone().zip(wood.moisture_change).map(|(species, percent)| Season { species, percent }),
        corners: corners(c)?,
        within: c.corners.within,
        panel: panel_settings(panel, figures)?,
        figures,
        router: Router { thickness: figures.thickness.mm, projection: tools.projection, pass: wood.pass_depth },
        depths: depths(wood, !c.plug.is_empty())?,
        accept: report.accept.clone(),
        drawing: drawing(&c.drawing)?,
        also_read: Vec::new(),
    })
}

/// The one drawing, without the job file that names it.
fn drawing(named: &[PathBuf]) -> Result<PathBuf, Failure> {
    let (files, drawings): (Vec<_>, Vec<_>) = named.iter().partition(|p| is_job_file(p));
    let names = |all: &[&PathBuf]| all.iter().map(|f| terminal(&f.to_string_lossy())).collect::<Vec<_>>();
    let wrong = |message: String, help: String| Err(Failure::usage(&[DRAWING], message, help));
    match &drawings[..] {
        [] => {
            let message = format!("{} is no drawing", names(&files).join(", "));
            wrong(message, "Give an SVG or DXF file in its place.".to_owned())
        }
        [one] => Ok(one.to_path_buf()),
        several => {
            let commands = Cli::command();
            let (before, others): (Vec<_>, Vec<_>) =
                names(several).into_iter().partition(|n| commands.find_subcommand(n).is_some());
            let help = match before.first() {
                Some(command) => format!("The command comes first: letin {command} {}", others.join(" ")),
                None => format!("Run letin once for each drawing: letin make {}", others[0]),
            };
            wrong(format!("{} drawings are named; letin takes one at a time", several.len()), help)
        }
    }
}

pub fn read_settings(r: &ReadingArgs) -> Result<ReadSettings, Failure> {
    if r.unit.is_some() && r.dpi.is_some() {
        return Failure::contradiction("unit", "dpi", "both set the length of the drawing's unit");
    }
    for (other, given) in [("unit", r.unit.is_some()), ("dpi", r.dpi.is_some())] {
        if r.width.is_some() && given {
            return Failure::contradiction("width", other, "each sets the size of the drawing by itself");
        }
    }
    let (width, join) = (r.width.map(|w| w.mm), r.join.unwrap_or(JOIN));
    Ok(ReadSettings { unit: r.unit, dpi: r.dpi, width, stroke: r.stroke, text: r.text, join })
}

fn selection(c: &ChoiceArgs) -> Result<Selection, Failure> {
    if c.only.iter().any(|n| c.skip.contains(n)) {
        return Failure::contradiction("only", "skip", "both hold the same name");
    }
    Ok(Selection { only: c.only.clone(), skip: c.skip.clone() })
}

fn tools_of_kit(t: &ToolArgs, kit: &Kit) -> Result<Tools, KitError> {
    let recess = Pair { bush: t.bush.mm, cutter: t.cutter.mm };
    let (bush, cutter) = (t.inlay_bush.unwrap_or(recess.bush), t.inlay_cutter.unwrap_or(recess.cutter));
    Tools::of_kit(kit, recess, Pair { bush, cutter }, t.gap)
}

/// What the drawing shows. A shoulder and something in hand exclude each other.
fn kind(c: &CommonArgs, accept: &[Code], kit: &Kit) -> Result<Kind, Failure> {
    Ok(match (shouldered(c, kit)?, start(c, accept)?) {
        (Some(order), _) => Kind::Shouldered(order),
        (None, Some(start)) => Kind::InHand(start),
        (None, None) => Kind::Flush,
    })
}

fn shouldered(c: &CommonArgs, kit: &Kit) -> Result<Option<PlugAndShoulder>, Failure> {
    if c.plug.is_empty() {
        return Ok(None);
    }
    let plug_gap = c.tools.plug_gap.unwrap_or(PLUG_GAP);
    let tools = tools_of_kit(&c.tools, kit)?;
    let radius = tools.recess.cutter_radius().min(tools.inlay.cutter_radius());
    if plug_gap >= radius {
        let message = format!("--plug-gap is {plug_gap} mm: it must be less than the cutter's radius, {radius} mm");
        return Err(Failure::usage(&["plug-gap"], message, "Give a smaller --plug-gap, such as 0.25."));
    }
    Ok(Some(PlugAndShoulder { plug: c.plug.clone(), shoulder: c.shoulder.clone(), plug_gap }))
}

/// Thicknesses and depths, as far as they are given.
fn depths(w: &WoodArgs, shouldered: bool) -> Result<Depths, Failure> {
    let depths = Depths { recess: w.recess_depth, board: w.board, stock: w.stock, plug_height: w.plug_height };
    if depths.shoulder().is_some_and(|rest| rest <= 0.0) {
        return Failure::contradiction(
            "stock",
            "plug-height",
            "a plug as high as the wood is thick leaves no shoulder",
        );
    }
    let Some(board) = depths.board else { return Ok(depths) };
    if depths.recess.is_some_and(|recess| recess > board || shouldered && recess >= board) {
        let why = if shouldered {
            "the rebate would go right through the board"
        } else {
            "the recess is deeper than the board is thick; a recess right through is as deep as the board"
        };
        return Failure::contradiction("board", "recess-depth", why);
    }
    if shouldered && depths.rebate().is_some_and(|rebate| rebate >= board) {
        let why = "the rebate is as deep as the shoulder is thick, and would go right through the board";
        return Failure::contradiction("board", "stock", why);
    }
    Ok(depths)
}

fn corners(c: &CommonArgs) -> Result<Corners, Failure> {
    let given = &c.corners;
    if let Corners::Ease { inside, outside } = given.corners {
        let (inside, outside) = (given.ease_inside.unwrap_or(inside), given.ease_outside.unwrap_or(outside));
        return Ok(Corners::Ease { inside, outside });
    }
    for (other, margin) in [("ease-inside", given.ease_inside), ("ease-outside", given.ease_outside)] {
        if margin.is_some() {
            return Failure::contradiction("corners", other, "the margins of easing apply to --corners ease only");
        }
    }
    Ok(given.corners)
}

fn start(c: &CommonArgs, accept: &[Code]) -> Result<Option<Start>, Failure> {
    if c.from.is_some() && accept.contains(&Code::Island) {
        let why = "a job that starts from something in hand makes no second inlay for an island";
        return Failure::contradiction("from", "accept", why);
    }
    if c.from == Some(Start::Recess) && c.tools.pair.is_some() {
        let why = "with a recess in hand only the inlay is made, with one bush and one cutter";
        return Failure::contradiction("from", "pair", why);
    }
    Ok(c.from)
}

fn panel_settings(p: &PanelArgs, figures: Figures) -> Result<PanelSettings, Failure> {
    if (p.turn, p.setup) == (Turn::None, Setup::One) {
        return Failure::contradiction("turn", "setup", "a panel that is not turned has one face, so one set-up");
    }
    if p.panel.zip(p.bed).is_some_and(|(panel, bed)| panel.0 > bed.0 || panel.1 > bed.1) {
        return Failure::contradiction("panel", "bed", "the panel is larger than the bed");
    }
    if p.at.zip(p.panel).is_some_and(|(at, panel)| at.0 >= panel.0 || at.1 >= panel.1) {
        return Failure::contradiction("at", "panel", "the centre mark would not lie on the panel");
    }
    let web = p.web.unwrap_or(LEAST_WEB.max(figures.thickness.mm));
    let (base, turn, setup) = (figures.base.mm, p.turn, p.setup);
    Ok(PanelSettings { base, web, at: p.at, size: p.panel, bed: p.bed, turn, setup })
}

#[cfg(test)]
mod tests {
    use super::super::args::Command;
    use super::super::usage::refused;
    use super::*;
    use crate::check::Severity;
    use clap::Parser;
    use std::ffi::OsString;

    /// The job, or the message.
    fn converted(args: &str) -> Result<Job, String> {
        let all: Vec<OsString> = ["letin"].into_iter().chain(args.split_whitespace()).map(OsString::from).collect();
        let job = match Cli::try_parse_from(&all).map(|cli| cli.command) {
            Ok(Command::Make(m)) => convert(&m.common, &m.report, Some(&m.files), &Kit::default()),
            Ok(Command::Check(c)) => convert(&c.common, &c.report, None, &Kit::default()),
            Ok(_) => panic!("{args}: takes no drawing"),
            Err(e) => Err(refused(&e, &all, &Cli::command())),
        };
        job.map_err(|e| e.message)
    }

    #[test]
    fn the_defaults_are_those_promised() {
        let job = converted("make key.svg").unwrap();
        assert_eq!((job.tools.recess.bush, job.tools.recess.cutter, job.tools.gap), (20.0, 6.0, 0.05));
        assert_eq!(job.tools.inlay, job.tools.recess);
        assert_eq!(job.corners, Corners::Ease { inside: 0.5, outside: 1.0 });
        assert_eq!((job.panel.base, job.panel.web, job.figures.template_cutter.mm), (75.0, 9.0, 6.0));
        let job = converted("check key.svg --template-thickness 4").unwrap();
        assert_eq!(job.panel.web, 6.0);
    }

    #[test]
    fn a_warning_fails_a_check() {
        let Ok(Command::Check(c)) = Cli::try_parse_from(["letin", "check", "key.svg"]).map(|c| c.command) else {
            panic!("no check");
        };
        let r = c.report;
        assert_eq!((r.json, r.all, r.full), (false, false, false));
        assert_eq!([false, true].map(|makes| r.fails_at(makes).0), [Some(Severity::Warning), Some(Severity::Error)]);
    }

    #[test]
    fn lengths_come_with_units_and_are_named_when_wrong() {
        let job = converted("make k.svg --bush 5/8in --cutter 6,35 --inlay-cutter 1/4in").unwrap();
        assert!((job.tools.recess.bush - 15.875).abs() < 1e-12);
        assert!((job.tools.inlay.cutter - job.tools.recess.cutter).abs() < 1e-12);
        for (args, says) in [
            ("make k.svg --bush 1/4", "--bush 1/4"),
            ("make k.svg --bush wide", "--bush wide"),
            ("make k.svg --cutter -6", "--cutter"),
            ("make k.svg --bush 6", "--bush 6 mm is not larger than --cutter 6 mm"),
            ("make k.svg --gap -0.1", "--gap"),
            ("make k.svg --gap 3", "--gap"),
            ("make k.svg --base 0", "--base 0"),
            ("make k.svg --pass-depth 0.01", "--pass-depth 0.01"),
            ("make k.svg --recess-depth 0", "--recess-depth 0"),
            ("make k.svg --recess-depth 21 --board 20", "--board and --recess-depth"),
            ("make k.svg --plug a --shoulder b --recess-depth 20 --board 20", "--board and --recess-depth"),
            ("make k.svg --web -1", "--web -1"),
            ("make k.svg --at 100", "--at 100"),
            ("make k.svg --panel -1x5", "--panel -1x5"),
            ("make k.svg --dpi 0", "--dpi 0"),
            ("make k.svg --unit furlong", "--unit furlong"),
            ("make k.svg --corners keep --ease-inside 1", "--corners and --ease-inside"),
            ("make k.svg --unit mm --dpi 90", "--unit and --dpi"),
            ("make k.svg --only a --skip a", "--only and --skip"),
            ("make k.svg --turn none --setup one", "--turn and --setup"),
            ("make k.svg --panel 400x300 --bed 300x400", "--panel and --bed"),
            ("make k.svg --at 400x100 --panel 300x300", "--at and --panel"),
            ("make k.svg --bed 0x400", "--bed 0x400"),
            ("make k.svg --flatten 0", "--flatten 0"),
            ("make k.svg --flatten 3", "--flatten 3"),
            ("make k.svg --flatten 0.00001", "--flatten 0.00001"),
            ("make k.svg --accept fit", "cannot be accepted"),
            ("make k.svg --accept nonsense", "no such code"),
            ("make k.svg --from part --accept island", "--from and --accept"),
            ("make k.svg --from recess --pair auto", "--from and --pair"),
            ("make k.svg --template-cutter 0", "--template-cutter 0"),
        ] {
            let message = converted(args).expect_err(args);
            assert!(message.contains(says), "{args}: {message}");
        }
    }

    #[test]
    fn settings_of_later_stages_are_not_taken_in_silence() {
        for args in [
            "make k.svg --plug a",
            "make k.svg --plug-height 8",
            "check k.svg --out d",
            "check k.svg --force",
            "check k.svg --from part --corners ease",
            "check k.svg --from recess --turn none",
            "check k.svg --from hand",
        ] {
            let all = ["letin"].into_iter().chain(args.split_whitespace());
            assert!(Cli::try_parse_from(all).is_err(), "{args}");
        }
    }
}
