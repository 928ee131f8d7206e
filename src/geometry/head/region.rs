//! The named regions of a head's surface.

/// Where on a head a vertex lies. "Own" is the person's own side, not the viewer's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Region {
    Forehead,
    Brow,
    /// Lids and under-eye.
    EyeSocketOwnLeft,
    EyeSocketOwnRight,
    EyeballOwnLeft,
    EyeballOwnRight,
    /// Bridge and tip.
    Nose,
    NoseFlankOwnLeft,
    NoseFlankOwnRight,
    CheekOwnLeft,
    CheekOwnRight,
    /// Between nose and mouth.
    UpperLip,
    Lips,
    Chin,
    Jaw,
    TempleOwnLeft,
    TempleOwnRight,
    EarOwnLeft,
    EarOwnRight,
    Crown,
    BackOfHead,
    Neck,
}

impl Region {
    /// Every region, in the order of its number in an asset.
    pub const ALL: [Self; 22] = [
        Self::Forehead,
        Self::Brow,
        Self::EyeSocketOwnLeft,
        Self::EyeSocketOwnRight,
        Self::EyeballOwnLeft,
        Self::EyeballOwnRight,
        Self::Nose,
        Self::NoseFlankOwnLeft,
        Self::NoseFlankOwnRight,
        Self::CheekOwnLeft,
        Self::CheekOwnRight,
        Self::UpperLip,
        Self::Lips,
        Self::Chin,
        Self::Jaw,
        Self::TempleOwnLeft,
        Self::TempleOwnRight,
        Self::EarOwnLeft,
        Self::EarOwnRight,
        Self::Crown,
        Self::BackOfHead,
        Self::Neck,
    ];

    /// The region with a number of an asset, if there is one.
    #[must_use]
    pub fn from_number(number: u8) -> Option<Self> {
        Self::ALL.get(usize::from(number)).copied()
    }

    /// The same place on the other side of the head; itself for regions on the middle.
    #[must_use]
    pub fn mirrored(self) -> Self {
        match self {
            Self::EyeSocketOwnLeft => Self::EyeSocketOwnRight,
            Self::EyeSocketOwnRight => Self::EyeSocketOwnLeft,
            Self::EyeballOwnLeft => Self::EyeballOwnRight,
            Self::EyeballOwnRight => Self::EyeballOwnLeft,
            Self::NoseFlankOwnLeft => Self::NoseFlankOwnRight,
            Self::NoseFlankOwnRight => Self::NoseFlankOwnLeft,
            Self::CheekOwnLeft => Self::CheekOwnRight,
            Self::CheekOwnRight => Self::CheekOwnLeft,
            Self::TempleOwnLeft => Self::TempleOwnRight,
            Self::TempleOwnRight => Self::TempleOwnLeft,
            Self::EarOwnLeft => Self::EarOwnRight,
            Self::EarOwnRight => Self::EarOwnLeft,
            other => other,
        }
    }

    /// Bridge, tip or a flank of the nose.
    #[must_use]
    pub fn is_nose(self) -> bool {
        matches!(
            self,
            Self::Nose | Self::NoseFlankOwnLeft | Self::NoseFlankOwnRight
        )
    }

    /// Lids and under-eye of either side.
    #[must_use]
    pub fn is_eye_socket(self) -> bool {
        matches!(self, Self::EyeSocketOwnLeft | Self::EyeSocketOwnRight)
    }

    /// The visible part of either eyeball.
    #[must_use]
    pub fn is_eyeball(self) -> bool {
        matches!(self, Self::EyeballOwnLeft | Self::EyeballOwnRight)
    }

    /// Either cheek.
    #[must_use]
    pub fn is_cheek(self) -> bool {
        matches!(self, Self::CheekOwnLeft | Self::CheekOwnRight)
    }

    /// Either temple.
    #[must_use]
    pub fn is_temple(self) -> bool {
        matches!(self, Self::TempleOwnLeft | Self::TempleOwnRight)
    }

    /// Either ear.
    #[must_use]
    pub fn is_ear(self) -> bool {
        matches!(self, Self::EarOwnLeft | Self::EarOwnRight)
    }

    /// Name in plain words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Forehead => "forehead",
            Self::Brow => "brow",
            Self::EyeSocketOwnLeft => "eye socket, own left",
            Self::EyeSocketOwnRight => "eye socket, own right",
            Self::EyeballOwnLeft => "eye, own left",
            Self::EyeballOwnRight => "eye, own right",
            Self::Nose => "nose",
            Self::NoseFlankOwnLeft => "nose flank, own left",
            Self::NoseFlankOwnRight => "nose flank, own right",
            Self::CheekOwnLeft => "cheek, own left",
            Self::CheekOwnRight => "cheek, own right",
            Self::UpperLip => "upper lip",
            Self::Lips => "lips",
            Self::Chin => "chin",
            Self::Jaw => "jaw",
            Self::TempleOwnLeft => "temple, own left",
            Self::TempleOwnRight => "temple, own right",
            Self::EarOwnLeft => "ear, own left",
            Self::EarOwnRight => "ear, own right",
            Self::Crown => "crown",
            Self::BackOfHead => "back of the head",
            Self::Neck => "neck",
        }
    }
}
