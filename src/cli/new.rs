//! `new`: a valid, commented scene from a few words.

use super::exit::{CliError, Exit};
use super::run::print;
use crate::document::compose::{Brief, PanelWish, SunSide, SunWish, compose};
use crate::document::write_atomically;
use clap::Args;
use std::path::PathBuf;

#[derive(Args, Debug)]
#[command(allow_negative_numbers = true)]
pub(super) struct NewArgs {
    /// File to write
    #[arg(short = 'o', long = "output", value_name = "FILE")]
    output: PathBuf,
    /// Write over a file that is there
    #[arg(long)]
    force: bool,
    /// What the scene is called
    #[arg(long, default_value = "New scene")]
    title: String,
    /// How many people, 1 to 60
    #[arg(long, value_name = "N", default_value_t = 1)]
    people: usize,
    /// In how many rows, 1 to 6
    #[arg(long, value_name = "N", default_value_t = 1)]
    rows: usize,
    /// Where the sun stands as the camera sees it: behind, behind-left, behind-right, left, right,
    /// front, front-left, front-right, overhead, covered
    #[arg(long, value_name = "SIDE", conflicts_with_all = ["latitude", "longitude", "zone", "time"])]
    sun: Option<String>,
    /// Name of the place, with --latitude, --longitude, --zone and --time
    #[arg(long, value_name = "NAME", default_value = "")]
    place: String,
    /// Degrees north
    #[arg(long, value_name = "DEG", requires_all = ["longitude", "zone", "time"])]
    latitude: Option<f64>,
    /// Degrees east
    #[arg(long, value_name = "DEG", requires_all = ["latitude", "zone", "time"])]
    longitude: Option<f64>,
    /// IANA time zone, as "Europe/Lisbon"
    #[arg(long, requires_all = ["latitude", "longitude", "time"])]
    zone: Option<String>,
    /// Local time, "YYYY-MM-DD HH:MM"
    #[arg(long, value_name = "T", requires_all = ["latitude", "longitude", "zone"])]
    time: Option<String>,
    /// Compass bearing that the camera looks along, degrees
    #[arg(long, value_name = "DEG", default_value_t = 0.0)]
    looking: f64,
    /// A panel: white, silver, warm, black or translucent
    #[arg(long, value_name = "FINISH")]
    panel: Option<String>,
    /// Its width and height, metres
    #[arg(long, value_name = "M", default_value_t = 1.0, requires = "panel")]
    panel_size: f64,
    /// A flash of this guide number (metres, ISO 100)
    #[arg(long, value_name = "GN")]
    flash: Option<f64>,
}

impl NewArgs {
    fn brief(&self) -> Result<Brief, CliError> {
        let dated =
            (self.latitude.zip(self.longitude)).zip(self.zone.clone().zip(self.time.clone()));
        let sun = match (dated, &self.sun) {
            (Some(((latitude_deg, longitude_deg), (zone, time))), _) => SunWish::Dated {
                place: self.place.clone(),
                latitude_deg,
                longitude_deg,
                zone,
                time,
                looking_deg: self.looking,
            },
            (None, Some(side)) => SunWish::Side(side.parse::<SunSide>()?),
            (None, None) => Brief::default().sun,
        };
        let panel = match &self.panel {
            None => None,
            Some(word) => Some(PanelWish {
                finish: PanelWish::finish(word)?,
                size_m: self.panel_size,
            }),
        };
        Ok(Brief {
            title: self.title.clone(),
            people: self.people,
            rows: self.rows,
            sun,
            panel,
            flash_guide_m: self.flash,
        })
    }
}

pub(super) fn run(args: &NewArgs) -> Result<Exit, CliError> {
    let text = compose(&args.brief()?)?;
    if args.output.exists() && !args.force {
        return Err(CliError::Exists(args.output.clone()));
    }
    write_atomically(&args.output, text.as_bytes()).map_err(|source| CliError::Write {
        path: args.output.clone(),
        source,
    })?;
    let path = args.output.display();
    print(&format!(
        "{path}: written; change it as you like, then `umbrette report {path}`\n"
    ))?;
    Ok(Exit::Done)
}
