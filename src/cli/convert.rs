//! Options as text become a checked [`Job`]. Errors name the option.

use super::args::{
    ChoiceArgs, Cli, CommonArgs, CornersArg, DxfArg, FailOn, JobCommand, ReadingArgs, ReportArgs, SetupArg, ShowArg,
    StartArg, StrokeArg, TextArg, TurnArg, WriteUnit,
};
use super::jobfile::{DRAWING, is_job_file};
use super::ranges::{self, length, number, pair};
use super::spelling::british;
use crate::app::{Job, Kind, Out, PlugAndShoulder, Selection, Task};
use crate::check::{Code, Severity};
use crate::drawing::{ReadSettings, Strokes, Texts};
use crate::kit::{Figures, Kit, KitError, Pair, Router, Tools, wood};
use crate::report::facts::Season;
use crate::template::ease::Corners;
use crate::template::layout::PanelSettings;
use crate::template::start::Start;
use crate::template::steps::Depths;
use crate::template::{Setup, Turn};
use crate::text::{Show, alike, terminal};
use crate::tolerance::{COARSEST_CHORDS, JOIN};
use crate::units::{Unit, parse_length};
use crate::write::FileUnit;
use crate::write::dxf::Release;
use clap::CommandFactory;
use std::path::PathBuf;

/// Least strip of template beside an opening by default, whatever the template's thickness, mm. Common practice, no source.
const LEAST_WEB: f64 = 6.0;
/// Default margins of easing, mm. A cutter in a corner of exactly its own radius dwells and burns. An outside corner of
/// exactly the offset's radius leaves a sharp point on the template. Common practice, no source.
const EASE_INSIDE: f64 = 0.5;
const EASE_OUTSIDE: f64 = 1.0;

/// Default gap per side around a plug, mm. Plug and shoulder are routed in two settings of the template, so both cannot be
/// tight. Common practice, no source.
const PLUG_GAP: f64 = 0.25;

/// Bounds of pixels per inch; no real file lies outside.
const LEAST_DPI: f64 = 1.0;
const MOST_DPI: f64 = 100_000.0;

/// Least tolerance of chords, mm: a tenth of the accuracy of the files.
const FINEST_CHORDS: f64 = 0.0005;

/// A setting with an impossible value, or settings that contradict each other.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum UsageError {
    #[error("{} {}: {why}", called(option), terminal(value))]
    Value { option: &'static str, value: String, why: String },
    #[error("--{one} and --{other} contradict each other: {why}")]
    Contradiction { one: &'static str, other: &'static str, why: &'static str },
    #[error("--accept {}: there is no such code", terminal(_0))]
    NoSuchCode(String),
    #[error("--accept {0}: this cannot be accepted")]
    NotAcceptable(Code),
    #[error("{} drawings are named; letin takes one at a time", _0.len())]
    SeveralDrawings(Vec<String>),
    #[error("{0} is no drawing")]
    NoDrawing(String),
    #[error(transparent)]
    Kit(#[from] KitError),
}

/// Options with their dashes; positional arguments have none and are in capitals.
fn called(option: &str) -> String {
    if option.starts_with(|c: char| c.is_ascii_uppercase()) { option.to_owned() } else { format!("--{option}") }
}

impl UsageError {
    /// Kebab-case, for programs.
    #[must_use]
    pub fn code(&self) -> &'static str {
        "usage"
    }

    /// The settings in question, by name; the first is the one to look at.
    #[must_use]
    pub fn settings(&self) -> Vec<&'static str> {
        match self {
            UsageError::Value { option, .. } => vec![option],
            UsageError::Contradiction { one, other, .. } => vec![other, one],
            UsageError::NoSuchCode(_) | UsageError::NotAcceptable(_) => vec!["accept"],
            UsageError::SeveralDrawings(_) | UsageError::NoDrawing(_) => vec![DRAWING],
            UsageError::Kit(e) => e.settings(),
        }
    }

    /// What to type instead, where the message does not say it.
    #[must_use]
    pub fn help(&self) -> Option<String> {
        Some(match self {
            UsageError::Value { option, .. } => return ranges::example(option),
            UsageError::Contradiction { one, other, .. } => format!("Change or leave out --{one} or --{other}."),
            UsageError::NoSuchCode(typed) => {
                let alike = alike(&british(typed), Code::ALL.iter().filter(|c| c.acceptable()).map(|c| c.name()));
                let meant = alike.first().map(|a| format!("Did you mean --accept {a}? ")).unwrap_or_default();
                format!("{meant}You can accept {}.", acceptable())
            }
            UsageError::NotAcceptable(code) => {
                format!("`letin explain {code}` says what to do. You can accept {}.", acceptable())
            }
            UsageError::SeveralDrawings(names) => {
                let commands = Cli::command();
                let is_command = |n: &&String| commands.find_subcommand(n.as_str()).is_some();
                let others: Vec<&str> = names.iter().filter(|n| !is_command(n)).map(String::as_str).collect();
                match names.iter().find(is_command) {
                    Some(command) => format!("The command comes first: letin {command} {}", others.join(" ")),
                    None => format!("Run letin once for each drawing: letin make {}", names.first()?),
                }
            }
            UsageError::NoDrawing(_) => "Give an SVG or DXF file in its place.".to_owned(),
            UsageError::Kit(e) => match e {
                KitError::NotPositive { setting, .. } => return ranges::example(setting),
                KitError::BushNotLarger { bush_setting, cutter_setting, .. } => {
                    format!("Give a larger --{bush_setting} or a smaller --{cutter_setting}.")
                }
                KitError::NegativeGap(_) | KitError::GapTooWide { .. } => return ranges::example("gap"),
            },
        })
    }
}

/// How to print the report.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Answer {
    pub json: bool,
    pub all: bool,
    /// The report with all its parts.
    pub full: bool,
    /// Findings of this severity or above give exit status 1.
    pub fail_on: Option<Severity>,
}

/// The unit of figures for people.
pub(super) fn shown(asked: ShowArg) -> Show {
    match asked {
        ShowArg::Mm => Show::Mm,
        ShowArg::In => Show::Inch,
    }
}

/// Inches where the width was given in them: the maker reads in the unit that he types.
fn typed_in_inches(reading: &ReadingArgs) -> Option<Show> {
    reading.width.as_deref().is_some_and(in_inches).then_some(Show::Inch)
}

/// Whether a length was typed in inches or feet.
pub(super) fn in_inches(length: &str) -> bool {
    let typed = length.trim_end().to_ascii_lowercase();
    ["in", "inch", "inches", "\"", "″", "ft", "feet"].iter().any(|unit| typed.ends_with(unit))
}

/// The job, and how to report it.
///
/// # Errors
/// [`UsageError`] for impossible values and contradictions.
pub fn convert(command: JobCommand, kit: &Kit) -> Result<(Job, Answer), UsageError> {
    let (common, report, task, flatten, fail) = match command {
        JobCommand::Make(m) => {
            let flatten = m.flatten.as_deref().map(flatten).transpose()?;
            let unit = if m.write_unit == WriteUnit::In { FileUnit::Inch } else { FileUnit::Mm };
            let release = if m.dxf == DxfArg::R12 { Release::R12 } else { Release::R2000 };
            let out = Out { folder: m.out, force: m.force, dry_run: m.dry_run, unit, release };
            (m.common, m.report, Task::Make(out), flatten, FailOn::Error)
        }
        JobCommand::Check(c) => (c.common, c.report, Task::Check, None, FailOn::Warning),
    };
    let fail_on = match report.fail_on.unwrap_or(fail) {
        FailOn::Error => Some(Severity::Error),
        FailOn::Warning => Some(Severity::Warning),
        FailOn::Never => None,
    };
    let figures = figures(&common, kit)?;
    let answer = Answer { json: report.json, all: report.all, full: report.full, fail_on };
    let job = Job {
        task,
        read: reading(&common.reading)?,
        show: report.show.map(shown).or_else(|| typed_in_inches(&common.reading)),
        assumed: Vec::new(),
        mirror: common.reading.mirror,
        flatten,
        select: selection(&common.choice)?,
        kind: kind(&common, &report, kit)?,
        tools: tools(&common, kit)?,
        kit: kit.clone(),
        auto_pair: common.pair.is_some(),
        suggest: common.suggest,
        season: season(&common)?,
        corners: corners(&common)?,
        within: common.within.as_deref().map(|t| length("within", t)).transpose()?,
        panel: panel(&common, figures)?,
        figures,
        router: Router {
            thickness: figures.thickness.mm,
            projection: common.projection.as_deref().map(|t| length("projection", t)).transpose()?,
            pass: common.pass_depth.as_deref().map(|t| length("pass-depth", t)).transpose()?,
        },
        depths: depths(&common)?,
        accept: report.accept.iter().map(|c| accepted(c)).collect::<Result<_, _>>()?,
        drawing: drawing(common.drawing)?,
        also_read: Vec::new(),
    };
    Ok((job, answer))
}

/// The one drawing, without the job file that names it.
fn drawing(named: Vec<PathBuf>) -> Result<PathBuf, UsageError> {
    let (files, mut drawings): (Vec<_>, Vec<_>) = named.into_iter().partition(|p| is_job_file(p));
    let names = |all: &[PathBuf]| all.iter().map(|f| terminal(&f.to_string_lossy())).collect::<Vec<_>>();
    match drawings.len() {
        0 => Err(UsageError::NoDrawing(names(&files).join(", "))),
        1 => Ok(drawings.remove(0)),
        _ => Err(UsageError::SeveralDrawings(names(&drawings))),
    }
}

fn value(option: &'static str, text: &str, why: impl Into<String>) -> UsageError {
    UsageError::Value { option, value: text.to_owned(), why: why.into() }
}

pub fn reading(c: &ReadingArgs) -> Result<ReadSettings, UsageError> {
    if c.unit.is_some() && c.dpi.is_some() {
        let why = "both set the length of the drawing's unit";
        return Err(UsageError::Contradiction { one: "unit", other: "dpi", why });
    }
    let unit = c.unit.as_deref().map(unit).transpose()?;
    let dpi = c.dpi.as_deref().map(|text| number("dpi", text, LEAST_DPI, MOST_DPI));
    let join = c.join.as_deref().map_or(Ok(JOIN), |t| length("join", t))?;
    let width = c.width.as_deref().map(|t| length("width", t)).transpose()?;
    for (other, given) in [("unit", &c.unit), ("dpi", &c.dpi)] {
        if width.is_some() && given.is_some() {
            let why = "each sets the size of the drawing by itself";
            return Err(UsageError::Contradiction { one: "width", other, why });
        }
    }
    let stroke = if c.stroke == StrokeArg::Outline { Strokes::Outline } else { Strokes::Centre };
    let text = if c.text == TextArg::Outline { Texts::Outline } else { Texts::Leave };
    Ok(ReadSettings { unit, dpi: dpi.transpose()?, width, stroke, text, join })
}

fn unit(text: &str) -> Result<Unit, UsageError> {
    Unit::parse(text).ok_or_else(|| value("unit", text, "this is no unit of a drawing"))
}

fn selection(c: &ChoiceArgs) -> Result<Selection, UsageError> {
    if c.only.iter().any(|n| c.skip.contains(n)) {
        let why = "both hold the same name";
        return Err(UsageError::Contradiction { one: "only", other: "skip", why });
    }
    Ok(Selection { only: c.only.clone(), skip: c.skip.clone() })
}

fn tools(c: &CommonArgs, kit: &Kit) -> Result<Tools, UsageError> {
    let (bush, cutter) = (length("bush", &c.bush)?, length("cutter", &c.cutter)?);
    let or = |option, given: &Option<String>, same| given.as_deref().map_or(Ok(same), |t| length(option, t));
    let inlay =
        Pair { bush: or("inlay-bush", &c.inlay_bush, bush)?, cutter: or("inlay-cutter", &c.inlay_cutter, cutter)? };
    Ok(Tools::of_kit(kit, Pair { bush, cutter }, inlay, length("gap", &c.gap)?)?)
}

/// What the drawing shows. A shoulder and something in hand exclude each other.
fn kind(c: &CommonArgs, report: &ReportArgs, kit: &Kit) -> Result<Kind, UsageError> {
    Ok(match (shouldered(c, kit)?, start(c, report)?) {
        (Some(order), _) => Kind::Shouldered(order),
        (None, Some(start)) => Kind::InHand(start),
        (None, None) => Kind::Flush,
    })
}

fn shouldered(c: &CommonArgs, kit: &Kit) -> Result<Option<PlugAndShoulder>, UsageError> {
    let (plug, shoulder) = (&c.plug, &c.shoulder);
    if plug.is_empty() || shoulder.is_empty() {
        return Ok(None);
    }
    let plug_gap = c.plug_gap.as_deref().map_or(Ok(PLUG_GAP), |t| length("plug-gap", t))?;
    let radius = tools(c, kit)?.recess.cutter_radius().min(tools(c, kit)?.inlay.cutter_radius());
    if plug_gap >= radius {
        let why = format!("it must be less than the cutter's radius, {radius} mm");
        return Err(value("plug-gap", c.plug_gap.as_deref().unwrap_or_default(), why));
    }
    Ok(Some(PlugAndShoulder { plug: plug.clone(), shoulder: shoulder.clone(), plug_gap }))
}

/// Thicknesses and depths, as far as they are given.
fn depths(c: &CommonArgs) -> Result<Depths, UsageError> {
    let some = |option, given: &Option<String>| given.as_deref().map(|t| length(option, t)).transpose();
    let depths = Depths {
        recess: some("recess-depth", &c.recess_depth)?,
        board: some("board", &c.board)?,
        stock: some("stock", &c.stock)?,
        plug_height: some("plug-height", &c.plug_height)?,
    };
    if let Some(rest) = depths.shoulder()
        && rest <= 0.0
    {
        let why = "a plug as high as the wood is thick leaves no shoulder";
        return Err(UsageError::Contradiction { one: "stock", other: "plug-height", why });
    }
    let shouldered = !c.plug.is_empty();
    if let (Some(recess), Some(board)) = (depths.recess, depths.board)
        && (recess > board || shouldered && recess >= board)
    {
        let why = if shouldered {
            "the rebate would go right through the board"
        } else {
            "the recess is deeper than the board is thick; a recess right through is as deep as the board"
        };
        return Err(UsageError::Contradiction { one: "board", other: "recess-depth", why });
    }
    if let (true, Some(rebate), Some(board)) = (shouldered, depths.rebate(), depths.board)
        && rebate >= board
    {
        let why = "the rebate is as deep as the shoulder is thick, and would go right through the board";
        return Err(UsageError::Contradiction { one: "board", other: "stock", why });
    }
    Ok(depths)
}

fn season(c: &CommonArgs) -> Result<Option<Season>, UsageError> {
    let (Some(name), Some(percent)) = (&c.species, &c.moisture_change) else { return Ok(None) };
    let names = || wood::all().into_iter().map(|s| s.name).collect::<Vec<_>>().join(", ");
    let species = wood::named(name).ok_or_else(|| value("species", name, format!("the species are {}", names())))?;
    // The coefficients hold between 6 and 14 per cent.
    let percent = number("moisture-change", percent.trim().trim_end_matches('%').trim_end(), -8.0, 8.0)?;
    Ok(Some(Season { species, percent }))
}

fn corners(c: &CommonArgs) -> Result<Corners, UsageError> {
    let margin = |option, given: &Option<String>, usual| given.as_deref().map_or(Ok(usual), |t| length(option, t));
    if c.corners == CornersArg::Ease {
        return Ok(Corners::Ease {
            inside: margin("ease-inside", &c.ease_inside, EASE_INSIDE)?,
            outside: margin("ease-outside", &c.ease_outside, EASE_OUTSIDE)?,
        });
    }
    for (other, given) in [("ease-inside", &c.ease_inside), ("ease-outside", &c.ease_outside)] {
        if given.is_some() {
            let why = "the margins of easing apply to --corners ease only";
            return Err(UsageError::Contradiction { one: "corners", other, why });
        }
    }
    Ok(if c.corners == CornersArg::Square { Corners::Square } else { Corners::Keep })
}

fn start(c: &CommonArgs, report: &ReportArgs) -> Result<Option<Start>, UsageError> {
    let Some(from) = c.from else { return Ok(None) };
    if report.accept.iter().any(|code| code == Code::Island.name()) {
        let why = "a job that starts from something in hand makes no second inlay for an island";
        return Err(UsageError::Contradiction { one: "from", other: "accept", why });
    }
    if from == StartArg::Recess && c.pair.is_some() {
        let why = "with a recess in hand only the inlay is made, with one bush and one cutter";
        return Err(UsageError::Contradiction { one: "from", other: "pair", why });
    }
    Ok(Some(match from {
        StartArg::Part => Start::Part,
        StartArg::Template => Start::Template,
        StartArg::Recess => Start::Recess,
    }))
}

fn figures(c: &CommonArgs, kit: &Kit) -> Result<Figures, UsageError> {
    let some = |option, given: &Option<String>| given.as_deref().map(|t| length(option, t)).transpose();
    Ok(Figures::new(
        kit,
        some("base", &c.base)?,
        some("template-thickness", &c.template_thickness)?,
        some("template-cutter", &c.template_cutter)?,
    ))
}

fn panel(c: &CommonArgs, figures: Figures) -> Result<PanelSettings, UsageError> {
    let turn = match c.turn {
        TurnArg::LeftRight => Turn::LeftRight,
        TurnArg::BottomTop => Turn::BottomTop,
        TurnArg::None => Turn::None,
    };
    let setup = if c.setup == SetupArg::One { Setup::One } else { Setup::Two };
    if (turn, setup) == (Turn::None, Setup::One) {
        let why = "a panel that is not turned has one face, so one set-up";
        return Err(UsageError::Contradiction { one: "turn", other: "setup", why });
    }
    let at = c.at.as_deref().map(|t| pair("at", t)).transpose()?;
    let size = c.panel.as_deref().map(|t| pair("panel", t)).transpose()?;
    let bed = c.bed.as_deref().map(|t| pair("bed", t)).transpose()?;
    if let (Some(panel), Some(bed)) = (size, bed)
        && (panel.0 > bed.0 || panel.1 > bed.1)
    {
        let why = "the panel is larger than the bed";
        return Err(UsageError::Contradiction { one: "panel", other: "bed", why });
    }
    if let (Some(at), Some(panel)) = (at, size)
        && (at.0 >= panel.0 || at.1 >= panel.1)
    {
        let why = "the centre mark would not lie on the panel";
        return Err(UsageError::Contradiction { one: "at", other: "panel", why });
    }
    let web = c.web.as_deref().map_or(Ok(LEAST_WEB.max(figures.thickness.mm)), |t| length("web", t))?;
    Ok(PanelSettings { base: figures.base.mm, web, at, size, bed, turn, setup })
}

/// The tolerance of chords: no machine follows a finer one, and the bush jolts over a coarser one.
fn flatten(text: &str) -> Result<f64, UsageError> {
    let mm = parse_length(text, Unit::MM).unwrap_or(f64::NAN);
    if (FINEST_CHORDS..=COARSEST_CHORDS).contains(&mm) {
        return Ok(mm);
    }
    Err(value("flatten", text, format!("it must be from {FINEST_CHORDS} to {COARSEST_CHORDS} mm")))
}

/// Names of the codes that can be accepted.
fn acceptable() -> String {
    Code::ALL.iter().filter(|c| c.acceptable()).map(|c| c.name()).collect::<Vec<_>>().join(", ")
}

fn accepted(name: &str) -> Result<Code, UsageError> {
    let code = Code::from_name(&british(name)).ok_or_else(|| UsageError::NoSuchCode(name.to_owned()))?;
    if code.acceptable() { Ok(code) } else { Err(UsageError::NotAcceptable(code)) }
}

#[cfg(test)]
mod tests {
    use super::super::args::Command;
    use super::*;
    use clap::Parser;

    fn converted(args: &str) -> Result<(Job, Answer), UsageError> {
        let all = ["letin"].into_iter().chain(args.split_whitespace());
        match Cli::try_parse_from(all).expect("parses").command {
            Command::Job(command) => convert(command, &Kit::default()),
            _ => panic!("{args}: takes no drawing"),
        }
    }

    #[test]
    fn the_defaults_are_those_promised() {
        let (job, answer) = converted("make key.svg").unwrap();
        assert_eq!((job.tools.recess.bush, job.tools.recess.cutter, job.tools.gap), (20.0, 6.0, 0.05));
        assert_eq!(job.tools.inlay, job.tools.recess);
        assert_eq!(job.corners, Corners::Ease { inside: 0.5, outside: 1.0 });
        assert_eq!((job.panel.base, job.panel.web, job.figures.template_cutter.mm), (75.0, 9.0, 6.0));
        assert_eq!(answer, Answer { json: false, all: false, full: false, fail_on: Some(Severity::Error) });
        let (_, answer) = converted("check key.svg").unwrap();
        assert_eq!(answer.fail_on, Some(Severity::Warning));
        let (job, _) = converted("check key.svg --template-thickness 4").unwrap();
        assert_eq!(job.panel.web, 6.0);
    }

    #[test]
    fn lengths_come_with_units_and_are_named_when_wrong() {
        let (job, _) = converted("make k.svg --bush 5/8in --cutter 6,35 --inlay-cutter 1/4in").unwrap();
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
            let message = converted(args).expect_err(args).to_string();
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
