//! What can be asked for.

use super::exit::HELP;
use super::new::NewArgs;
use crate::units::Stops;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  umbrette crew.ron                        the window, on a scene
  umbrette report                          the built-in rowing-crew scene, read
  umbrette report crew.ron --time 20:15    the same set-up at another time
  umbrette report crew.ron --json          for programs
  umbrette new -o crew.ron --people 3 --sun behind-left --panel white --flash 40
  umbrette set crew.ron --background -1    aperture, shutter, ISO, ND and power, and why
  umbrette correct crew.ron --reading 'shade f/5.6 1/200 ISO 100 dome at stroke'
  umbrette draw crew.ron -o crew.svg       the sheet: plan, side view, faces, settings
  umbrette check scenes/*.ron              exit code 0 or 1
  umbrette export crew.ron -o traced       surfaces, sources and our answers for a path tracer
";

/// Rehearses portrait light outdoors: what sun, sky, ground, walls, panels and flash put on every
/// face, and why.
#[derive(Parser, Debug)]
#[command(
    name = "umbrette",
    version,
    args_conflicts_with_subcommands = true,
    after_help = format!("{EXAMPLES}\n{HELP}"),
)]
pub struct Cli {
    #[command(subcommand)]
    pub(super) command: Option<Command>,
    #[command(flatten)]
    pub(super) home: HomeArgs,
}

#[derive(Subcommand, Debug)]
pub(super) enum Command {
    /// Say what every face and meter receives, which pattern shows, and why
    Report(ReportArgs),
    /// Give the camera and flash settings for a wanted background and face, and say why
    Set(SetArgs),
    /// Put the model right by readings taken on site, or by a test frame
    Correct(CorrectArgs),
    /// Draw the survey sheet: plan to scale, side view, faces, settings, cautions
    Draw(DrawArgs),
    /// Validate scene files; names every mistake with its place and what would be right
    Check(CheckArgs),
    /// Write all that a path tracer needs, with our own answers beside it
    Export(ExportArgs),
    /// Begin a scene from a few words
    New(NewArgs),
}

/// Which scene, and when.
#[derive(Args, Debug)]
pub(super) struct SceneArgs {
    /// Scene file; without one, the built-in rowing-crew scene
    pub scene: Option<PathBuf>,
    /// Another time than the scene's, on its own clocks: "HH:MM" or "YYYY-MM-DD HH:MM"
    #[arg(long, value_name = "T")]
    pub time: Option<String>,
    /// A file with a `kit` block, "( ... )", in place of the scene's own: lens, filters, and the bag's
    /// flashes, panels, stands and lenses; what the plan lacks is told
    #[arg(long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
}

/// The window.
#[derive(Args, Debug)]
pub(super) struct HomeArgs {
    #[command(flatten)]
    pub scene: SceneArgs,
    /// Write the window's own work of every frame here: CPU time of the main thread, milliseconds
    /// (of light in a drag, also milliseconds and frames since the hand moved)
    #[arg(long, value_name = "FILE")]
    pub frame_times: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub(super) struct ReportArgs {
    #[command(flatten)]
    pub scene: SceneArgs,
    /// For programs: one JSON object
    #[arg(long)]
    pub json: bool,
}

#[derive(Args, Debug)]
pub(super) struct SetArgs {
    #[command(flatten)]
    pub scene: SceneArgs,
    /// Background against the faces as both are rendered, stops: airy +1 to +2, natural 0 to -1,
    /// dramatic -2 and below; without it, what the scene wants, else where it falls
    #[arg(long, value_name = "STOPS", allow_hyphen_values = true)]
    pub background: Option<Stops>,
    /// Mean incident exposure of the faces against the setting, stops
    #[arg(
        long,
        value_name = "STOPS",
        allow_hyphen_values = true,
        default_value = "0"
    )]
    pub face: Stops,
    /// A dial that must stay as it is; may be given more than once
    #[arg(long, value_name = "DIAL", value_enum)]
    pub keep: Vec<KeepArg>,
    /// Leave out what to do when a cloud comes or goes or the shoot runs late
    #[arg(long)]
    pub no_plan_b: bool,
    /// For programs: one JSON object
    #[arg(long)]
    pub json: bool,
    /// Write the scene with these settings put in
    #[arg(short = 'o', long = "output", value_name = "FILE")]
    pub output: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub(super) struct CorrectArgs {
    #[command(flatten)]
    pub scene: SceneArgs,
    /// A reading, may be given more than once; beside those in the scene: f-number, time, ISO,
    /// then dome, flat, spot or face, ambient (unless told otherwise), flash or both, shade where
    /// the sun was kept off, "at" a person or meter, "towards" camera, light, sun, up or a thing
    #[arg(long, value_name = "TEXT")]
    pub reading: Vec<String>,
    /// A test frame, JPEG or TIFF with EXIF; with --face-reads or --grey-card
    #[arg(long, value_name = "FILE")]
    pub frame: Option<PathBuf>,
    /// What the face in the frame reads against a mid-tone, as rendered
    #[arg(
        long,
        value_name = "STOPS",
        allow_hyphen_values = true,
        requires = "frame"
    )]
    pub face_reads: Option<Stops>,
    /// Where a grey card is in the frame, shares of the picture: left,top,width,height
    #[arg(
        long,
        value_name = "REGION",
        requires = "frame",
        conflicts_with = "face_reads"
    )]
    pub grey_card: Option<String>,
    /// Whose face it is, or who holds the card; without it, who is in focus
    #[arg(long, value_name = "NAME", requires = "frame")]
    pub at: Option<String>,
    /// For programs: one JSON object
    #[arg(long)]
    pub json: bool,
    /// Write the scene with the correction put in
    #[arg(short = 'o', long = "output", value_name = "FILE")]
    pub output: Option<PathBuf>,
}

/// The dials that can be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum KeepArg {
    Aperture,
    Shutter,
    Iso,
    Power,
    Focus,
}

#[derive(Args, Debug)]
pub(super) struct DrawArgs {
    #[command(flatten)]
    pub scene: SceneArgs,
    /// File to write, ending in .svg or .png
    #[arg(short = 'o', long = "output", value_name = "FILE")]
    pub output: PathBuf,
    /// Dots an inch of a PNG; the page is A3
    #[arg(long, default_value_t = 150.0, value_name = "DPI")]
    pub dpi: f64,
}

#[derive(Args, Debug)]
pub(super) struct CheckArgs {
    /// Scene files
    #[arg(required = true, value_name = "SCENE")]
    pub scenes: Vec<PathBuf>,
}

#[derive(Args, Debug)]
pub(super) struct ExportArgs {
    #[command(flatten)]
    pub scene: SceneArgs,
    /// Folder to write into; made if it is not there
    #[arg(short = 'o', long = "output", value_name = "DIR")]
    pub output: PathBuf,
}
