//! What each kind of mark looks like: line styles carry the meaning, colour repeats it.

/// The meaning of a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Class {
    /// Words and outlines.
    Ink,
    /// Secondary words and thin rules.
    Faint,
    /// The paper itself, and things drawn as its cut-outs.
    Paper,
    /// Frames and table rules.
    Frame,
    /// Crosses of the grid.
    Grid,
    /// Contour of light; the one at the camera's setting; one at whole stops.
    Contour,
    ContourZero,
    ContourWhole,
    /// The sun: arrows, ray.
    Sun,
    /// The day's curve of the shadow's tip.
    SunPath,
    /// Shadow of the sun on the ground: hatch and edge.
    Shadow,
    ShadowEdge,
    Water,
    WaterEdge,
    /// A zone of another ground.
    Zone,
    ZoneEdge,
    /// Wall or solid in the cut; lower things seen from above.
    Wall,
    WallHatch,
    Below,
    Canopy,
    CanopyHatch,
    /// Sitters in the cut, what of them is lower, their hair.
    Person,
    PersonLine,
    PersonLow,
    Hair,
    /// People who work, stands.
    Helper,
    HelperLine,
    /// A panel's face, its back and what is seen of it from above.
    PanelFace,
    Panel,
    Flash,
    BeamEven,
    BeamEnd,
    Camera,
    View,
    Horizon,
    Dimension,
    /// Solid marks in ink, and in the contour's colour.
    Mark,
    ContourMark,
    /// Leads from a name to its thing.
    Leader,
    Caution,
    /// A way of light to a face.
    Route,
}

/// Colours are sRGB in hexadecimal; lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Style {
    pub stroke: Option<&'static str>,
    pub width: f64,
    /// On and off, mm; empty for a whole line.
    pub dash: &'static [f64],
    pub fill: Option<&'static str>,
}

/// Colour of the paper.
pub const PAPER: &str = "#fbf7ec";
const INK: &str = "#1f1e1b";
const FAINT: &str = "#66625a";
const LIGHT: &str = "#1c6487";
const SUN: &str = "#a8560c";

impl Class {
    #[must_use]
    pub fn style(self) -> Style {
        let line = |stroke, width, dash| Style {
            stroke: Some(stroke),
            width,
            dash,
            fill: None,
        };
        let both = |stroke, width, fill| Style {
            stroke: Some(stroke),
            width,
            dash: &[],
            fill: Some(fill),
        };
        let fill = |fill| Style {
            stroke: None,
            width: 0.0,
            dash: &[],
            fill: Some(fill),
        };
        match self {
            Self::Ink => line(INK, 0.25, &[]),
            Self::Faint => line(FAINT, 0.15, &[]),
            Self::Paper => fill(PAPER),
            Self::Frame => line(INK, 0.4, &[]),
            Self::Grid => line("#9b968a", 0.15, &[]),
            Self::Contour => line(LIGHT, 0.18, &[]),
            Self::ContourWhole => line(LIGHT, 0.32, &[]),
            Self::ContourZero => line(LIGHT, 0.6, &[]),
            Self::Sun => line(SUN, 0.4, &[]),
            Self::SunPath => line(SUN, 0.3, &[0.3, 0.9]),
            Self::Shadow => line("#b3ab99", 0.18, &[]),
            Self::ShadowEdge => line("#b3ab99", 0.15, &[]),
            Self::Water => line("#9fb4ba", 0.2, &[]),
            Self::WaterEdge => line("#5d7e8a", 0.35, &[]),
            Self::Zone => line("#cdc6b4", 0.2, &[0.2, 1.4]),
            Self::ZoneEdge => line("#8b8576", 0.2, &[1.2, 0.8]),
            Self::Wall => both(INK, 0.35, PAPER),
            Self::WallHatch => line("#6f6b63", 0.15, &[]),
            Self::Below => both("#7d786d", 0.2, "#f3eee0"),
            Self::Canopy => line("#5f6b4a", 0.3, &[2.4, 0.7, 0.4, 0.7]),
            Self::CanopyHatch => line("#a9b096", 0.18, &[]),
            Self::Person => fill("#ffffff"),
            Self::PersonLine => line(INK, 0.7, &[]),
            Self::PersonLow => line(INK, 0.2, &[0.8, 0.5]),
            Self::Hair => fill("#8f897d"),
            Self::Helper => fill("#e9e3d3"),
            Self::HelperLine => line("#57534b", 0.55, &[]),
            Self::PanelFace => line(INK, 0.9, &[]),
            Self::Panel => both(INK, 0.2, "#e3dcc9"),
            Self::Flash => both(INK, 0.3, INK),
            Self::BeamEven => line(INK, 0.2, &[2.0, 0.6, 0.3, 0.6]),
            Self::BeamEnd => line(INK, 0.2, &[0.3, 0.7]),
            Self::Camera => both(INK, 0.35, PAPER),
            Self::View => line(INK, 0.22, &[2.2, 1.2]),
            Self::Horizon => line(FAINT, 0.2, &[3.0, 1.0, 0.4, 1.0]),
            Self::Dimension => line(FAINT, 0.18, &[]),
            Self::Mark => fill(INK),
            Self::ContourMark => fill(LIGHT),
            Self::Leader => line(FAINT, 0.15, &[]),
            Self::Caution => line(INK, 0.3, &[]),
            Self::Route => line("#7a1f5c", 0.45, &[]),
        }
    }

    /// Colour of words of this class.
    #[must_use]
    pub fn colour(self) -> &'static str {
        let style = self.style();
        style.stroke.or(style.fill).unwrap_or(INK)
    }
}
