//! Why a valid document still cannot be lit.

use crate::light::sun::SunError;

/// What stands in the way, and what to do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum FreezeError {
    /// Place or time.
    #[error("place or time: {0}")]
    Sun(#[from] SunError),
    /// A time was asked for that changes nothing.
    #[error(
        "the scene's sun is not made from a place and a time, so another time changes nothing; \
         leave the time out, or give `place` and `sun: Automatic`"
    )]
    TimeUnused,
    /// Only the hour was given, and there is no date to go with it.
    #[error("the scene has no date for {0}; give the time as \"YYYY-MM-DD HH:MM\"")]
    NoDate(String),
    /// A sky without what it is made from.
    #[error("the sky cannot be made: {0}; give `place` and `time`, or `sky: Given( ... )`")]
    Sky(String),
    /// A reference that leads nowhere.
    #[error("\"{from}\" points at \"{to}\", which is not in the scene; name something that is")]
    Target { from: String, to: String },
    /// A direction without length.
    #[error("\"{0}\" points at where it stands itself; move it or point it elsewhere")]
    NoDirection(String),
    /// A bounce straight on.
    #[error(
        "\"{0}\" would have to send light straight on: source and target lie on opposite sides \
         of it; move the panel to one side"
    )]
    StraightOn(String),
    /// A number or mark that validation should have refused.
    #[error("\"{name}\": {what}; check the document first")]
    Invalid { name: String, what: String },
}
