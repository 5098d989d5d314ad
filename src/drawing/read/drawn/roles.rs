//! What is drawn can be to its piece.

/// What a shape is to its piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    Cut,
    Cutout,
    Net,
    Notch,
    Grain,
    Fold,
    Line,
    Dart,
    Drill,
    Label,
}

impl Role {
    /// The role that is called so; capitals do not matter.
    pub fn of(word: &str) -> Option<Self> {
        let roles = [
            ("cut", Self::Cut),
            ("cutout", Self::Cutout),
            ("net", Self::Net),
            ("notch", Self::Notch),
            ("grain", Self::Grain),
            ("fold", Self::Fold),
            ("line", Self::Line),
            ("dart", Self::Dart),
            ("drill", Self::Drill),
            ("label", Self::Label),
        ];
        let named = roles
            .iter()
            .find(|(name, _)| word.eq_ignore_ascii_case(name));
        named.map(|&(_, role)| role)
    }
}

/// What an element says its role is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told<'a> {
    Nothing,
    Role(Role),
    /// A `data-role` that is no word of ours.
    Unknown(&'a str),
}

impl Told<'_> {
    /// This, or what was handed down if this is nothing.
    pub fn or(self, handed_down: Self) -> Self {
        match self {
            Self::Nothing => handed_down,
            told => told,
        }
    }
}
